"""Headings that are one slip of the pen from a word we know."""

from __future__ import annotations

import difflib
from collections.abc import Iterator, Mapping
from functools import lru_cache
from types import MappingProxyType

from lineproof.show.headings import Column, fold_heading
from lineproof.show.table_header import Header, Heading

#: Shorter words are too near to each other: `no` is one letter from `in` and `to`.
_SHORTEST = 4
_LONGEST = 40


def slips_in(header: Header, columns: tuple[Column, ...]) -> Iterator[tuple[Heading, str, str]]:
    """Give each such heading, the word it was meant to be, and the column that word stands for.

    Only columns that the table lacks are looked at; a column's own name goes before what else it
    is called.
    """
    for heading in header.headings.values():
        if not (heading.name or heading.twice or len(heading.text) > _LONGEST):
            text = fold_heading(heading.text)
            near = [word for word in _near(text, columns) if word[3] not in header.known]
            if near:
                _, _, word, name = min(near)
                yield heading, word, name


#: A word's rank (names before synonyms), its form for comparing, itself, its column.
_Word = tuple[int, str, str, str]


def _near(text: str, columns: tuple[Column, ...]) -> Iterator[_Word]:
    known = _by_shorter(columns)
    for form in _shorter(text):
        yield from (word for word in known.get(form, ()) if is_one_slip(text, word[1]))


@lru_cache(maxsize=8)
def _by_shorter(columns: tuple[Column, ...]) -> Mapping[str, tuple[_Word, ...]]:
    """Give the words by each form that one letter left out makes of them, and their own.

    Words one slip apart have such a form in common, so that few have to be compared.
    """
    found: dict[str, list[_Word]] = {}
    for place, column in enumerate(columns):
        for n, word in enumerate(column.words):
            fold = fold_heading(word)
            if len(fold) >= _SHORTEST:
                # Names of columns go before what else they are called.
                rank = place + (len(columns) if n else 0)
                for form in _shorter(fold):
                    found.setdefault(form, []).append((rank, fold, word, column.name))
    return MappingProxyType({form: tuple(words) for form, words in found.items()})


def _shorter(text: str) -> frozenset[str]:
    return frozenset({text, *(text[:n] + text[n + 1 :] for n in range(len(text)))})


def near_heading(text: str, columns: tuple[Column, ...]) -> tuple[str, str] | None:
    """Give the word a heading is most like, and the column that word stands for; or None."""
    words = _by_fold(columns)
    if len(text) > _LONGEST:
        return None
    fold = fold_heading(text)
    longer = [f for f in words if len(fold) > 2 and f.startswith(fold)]
    close = longer if len(longer) == 1 else difflib.get_close_matches(fold, words, n=1)
    return words[close[0]] if close and close[0] != fold else None


@lru_cache(maxsize=8)
def _by_fold(columns: tuple[Column, ...]) -> dict[str, tuple[str, str]]:
    found: dict[str, tuple[str, str]] = {}
    for column in columns:
        for word in column.words:
            found.setdefault(fold_heading(word), (word, column.name))
    return found


def is_one_slip(text: str, word: str) -> bool:
    """Say whether one letter too many, too few or wrong, or two swapped, lie between two words.

    That is a distance of one as Damerau counts it (Communications of the ACM 7, 1964).

    >>> [is_one_slip(t, "from") for t in ("form", "fro", "frrom", "fron", "from", "mood")]
    [True, True, True, True, False, False]
    """
    if text == word or abs(len(text) - len(word)) > 1:
        return False
    same = next((n for n, (a, b) in enumerate(zip(text, word, strict=False)) if a != b), None)
    first = min(len(text), len(word)) if same is None else same
    rest, right = text[first:], word[first:]
    swapped = len(rest) > 1 and rest[1::-1] + rest[2:] == right
    return swapped or rest[1:] == right[1:] or rest[1:] == right or rest == right[1:]
