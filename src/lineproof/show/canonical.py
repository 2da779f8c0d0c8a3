"""The canonical show: the same meaning gives the same text, and the mark made from it."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Hashable, Mapping
from dataclasses import fields, is_dataclass
from enum import Enum
from functools import cache
from typing import Any

from lineproof.base.spot import LineKey, Spot
from lineproof.kit.kinds import Kind, Kit, Source
from lineproof.show.model import Show

#: Letters and digits that can't be taken for each other when read out: no I, L, O, U (practice).
_ALPHABET = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"


def mark(show: Show) -> str:
    """Give eight characters that change when the show or a kind it uses changes.

    It covers the canonical show, not file bytes: another order of rows, other blanks or another
    spelling of the same thing keep the mark, and so does the picture behind the room.
    """
    kinds = {unit.kind.name: _plain(unit.kind, whole=True) for unit in show.units.values()}
    text = json.dumps([_plain(show), kinds], sort_keys=True, ensure_ascii=False)
    digest = int.from_bytes(hashlib.sha256(text.encode()).digest()[:5], "big")
    letters = "".join(_ALPHABET[digest >> shift & 31] for shift in range(35, -1, -5))
    return f"{letters[:4]}-{letters[4:]}"


def _plain(value: Any, *, whole: bool = False) -> Any:
    """Give `value` as JSON knows it, without what equality leaves out (positions in the text)."""
    if isinstance(value, Kit | Kind | Source) and not whole:
        return getattr(value, "name", None)
    if isinstance(value, Spot | LineKey):
        return str(value)
    if isinstance(value, Enum):
        return value.value
    return _plain_parts(value)


@cache
def _compared(type_: Hashable) -> tuple[str, ...]:
    """Give the fields of a frozen value that count for equality, none for what is no such value."""
    return tuple(f.name for f in fields(type_) if f.compare) if is_dataclass(type_) else ()


def _plain_parts(value: Any) -> Any:
    if isinstance(value, str | int | float | None):
        return value
    kind: type = type(value)
    if names := _compared(kind):
        return {name: _plain(getattr(value, name)) for name in names}
    if isinstance(value, Mapping):
        return {str(k): _plain(v) for k, v in value.items()}
    if isinstance(value, tuple | list):
        return [_plain(v) for v in value]
    return value
