"""What each wish of the planner came to, beside what it is proven to be at least."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, kw_only=True)
class Term:
    """One wish: its value and its proven bound, both in `unit` ("" for a count)."""

    name: str
    value: float
    bound: float
    unit: str

    @property
    def proven(self) -> bool:
        """Say whether nothing better exists."""
        return self.value <= self.bound + 1e-9
