"""What is made from one value, made once, however many threads ask for it at the same time."""

from __future__ import annotations

import threading
from collections.abc import Callable, Hashable
from typing import TypeVar, cast

Made = TypeVar("Made")


class Once:
    """Keeps what was made, by key.

    Ten pages that follow a change ask for the same within a moment. Made ten times side by side it
    would take ten times the memory (measured with a large show: 260 MB more), so that the others
    wait for the first. What one key's making asks for under other keys is made in the same way; no
    making asks for itself.
    """

    def __init__(self) -> None:
        self._made: dict[Hashable, object] = {}
        self._recent: dict[str, dict[Hashable, object]] = {}
        self._making: dict[tuple[int, Hashable], threading.Lock] = {}
        self._changing = threading.Lock()

    def forget(self) -> None:
        """Let go of all that was made; who asks for it again has it made anew.

        >>> once = Once()
        >>> once.made("page", lambda: 1), once.forget(), once.made("page", lambda: 2)
        (1, None, 2)
        """
        with self._changing:
            self._made = {}
            self._recent = {}

    def made(self, key: Hashable, make: Callable[[], Made]) -> Made:
        """Give what `make` gives, made once."""
        return self._from(self._made, key, make)

    def recent(self, what: str, key: Hashable, make: Callable[[], Made], *, most: int) -> Made:
        """Give what `make` gives; of all that is `what` the last `most` asked for are kept.

        It is for what people can ask for without end, as things broken together.

        >>> once = Once()
        >>> [once.recent("letter", "a", lambda: n, most=2) for n in (1, 2)]
        [1, 1]
        >>> _ = [once.recent("letter", key, str, most=2) for key in "bc"]
        >>> once.recent("letter", "a", lambda: 3, most=2)
        3
        """
        with self._changing:
            kept = self._recent.setdefault(what, {})
        found = self._from(kept, key, make)
        with self._changing:
            # Taken out and put back, it stands last.
            kept.pop(key, None)
            kept[key] = found
            for old in list(kept)[:-most]:
                del kept[old]
        return found

    def _from(self, kept: dict[Hashable, object], key: Hashable, make: Callable[[], Made]) -> Made:
        missing = object()
        found = kept.get(key, missing)
        if found is not missing:
            return cast("Made", found)
        place = (id(kept), key)
        with self._changing:
            making = self._making.setdefault(place, threading.Lock())
        with making:
            found = kept.get(key, missing)
            if found is missing:
                found = kept[key] = make()
        with self._changing:
            self._making.pop(place, None)
        return cast("Made", found)
