"""What each wish of the planner came to, beside what it is proven to be at least."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, kw_only=True)
class Term:
    """One wish: its value and its proven bound, both in `unit` ("" for a count).

    `bound` is None for a part of a sum that has a bound only as a whole.
    """

    name: str
    value: float
    bound: float | None
    unit: str

    @property
    def proven(self) -> bool:
        """Say whether nothing better exists."""
        return self.bound is not None and self.value <= self.bound + 1e-9
