"""Changes to words of a YAML file that leave every other byte as it was."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import NamedTuple

import yaml

from lineproof.base.errors import Refused

_MARK = b"\xef\xbb\xbf"


class _Word(NamedTuple):
    """A scalar: where it begins, what of the text it is inside its quotes, and what it says."""

    row: int
    column: int
    start: int
    end: int
    value: str


def patch_yaml(
    data: bytes, changes: Mapping[tuple[int, int], Callable[[str], str]], *, file: str
) -> bytes:
    r"""Give the file with words changed, by the row and column (from 1) in which each begins.

    What a word is written in stays: quotes, blanks, newlines, comments, a byte order mark. The
    result is read again before it is given; raises Refused where a word can't be changed so.

    >>> patch_yaml(b"a: 'x'  # x\r\n", {(1, 4): lambda word: "y"}, file="show.yaml")
    b"a: 'y'  # x\r\n"
    """
    mark = _MARK if data.startswith(_MARK) else b""
    text = data[len(mark) :].decode("utf-8")
    words = _words(text)
    expected = []
    pieces = []
    for word in words:
        change = changes.get((word.row, word.column))
        expected.append(change(word.value) if change else word.value)
        if change and expected[-1] != word.value:
            pieces.append((word.start, word.end, change(text[word.start : word.end])))
    for start, end, new in reversed(pieces):
        text = text[:start] + new + text[end:]
    for word, (value, wanted) in zip(words, _compared(text, expected), strict=True):
        if value != wanted:
            where = f"{file}:{word.row}:{word.column}"
            raise Refused(f"{where}: write {word.value!r} without escapes first")
    return mark + text.encode()


def _words(text: str) -> list[_Word]:
    """Give every scalar; YAML's own count of letters tells where, whatever ends its rows."""
    loader = yaml.CSafeLoader if yaml.__with_libyaml__ else yaml.SafeLoader
    found = []
    for event in yaml.parse(text, Loader=loader):
        if isinstance(event, yaml.ScalarEvent):
            at, end = event.start_mark, event.end_mark
            assert at is not None
            assert end is not None
            quote = event.style in ("'", '"')
            inside = (at.index + quote, end.index - quote)
            found.append(_Word(at.line + 1, at.column + 1, *inside, event.value.strip()))
    return found


def _compared(text: str, expected: list[str]) -> list[tuple[str, str]]:
    try:
        values = [word.value for word in _words(text)]
    except yaml.YAMLError:
        values = []
    if len(values) != len(expected):
        values = [""] * len(expected)
    return list(zip(values, expected, strict=True))
