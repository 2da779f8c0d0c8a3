"""Values of a table, read word by word; every mistake is kept and none raises."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from lineproof.base.names import nearest
from lineproof.base.quantity import RATE, QuantityError, read_quantity
from lineproof.kit.word import Holds, Word
from lineproof.kit.words import MOST

LONGEST_TEXT = 500
MOST_ITEMS = 256

Path = tuple[str | int, ...]


@dataclass(frozen=True, kw_only=True)
class Mistake:
    """One thing that can't be read: its keys on the way down, what was read, what was expected.

    >>> print(Mistake(path=("sockets", 0, "side"), what="sockets[0].side is 'inn'",
    ...               expected="one of in or out, perhaps 'in'"))
    sockets[0].side is 'inn'; expected one of in or out, perhaps 'in'
    """

    path: Path
    what: str
    expected: str

    def __str__(self) -> str:
        return f"{self.what}; expected {self.expected}"


def way_down(path: Path) -> str:
    """Give a path as one text.

    >>> way_down(("sockets", 0, "side"))
    'sockets[0].side'
    """
    text = "".join(f"[{step}]" if isinstance(step, int) else f".{step}" for step in path)
    return text.removeprefix(".")


class ReadError(ValueError):
    """A value that is not what its word holds; caught by `read_table`, never seen by a user."""

    def __init__(self, expected: str, *, path: Path = (), value: object = None) -> None:
        super().__init__(expected)
        self.expected = expected
        self.path = path
        self.value = value


#: How the values that are tables themselves are read: value, path, mistakes -> the value made.
Nested = Mapping[Holds, Callable[[Any, Path, list[Mistake]], Any]]


def read_table(
    table: object,
    words: Mapping[str, Word],
    path: Path,
    mistakes: list[Mistake],
    *,
    about: str,
    nested: Nested | None = None,
    needed: bool = True,
) -> dict[str, Any]:
    """Give the fields that could be read from `table`; what couldn't is added to `mistakes`.

    `about` names what the keys belong to; `needed` is False when a base fills what is left out.
    """
    if not isinstance(table, Mapping):
        mistakes.append(_wrong_value(path, table, f"a table of keys of {about}"))
        return {}
    fields: dict[str, Any] = {}
    for key, value in table.items():
        word = words.get(key)
        if word is None:
            mistakes.append(_unknown(path, key, words, about))
        else:
            _read_into(fields, word, value, (*path, key), mistakes, nested or {})
    if needed:
        mistakes += [
            _missing(path, w, about) for w in words.values() if w.needed and w.key not in table
        ]
    return fields


def _read_into(
    fields: dict[str, Any],
    word: Word,
    value: object,
    path: Path,
    mistakes: list[Mistake],
    nested: Nested,
) -> None:
    if word.none and isinstance(value, str) and value.strip().casefold() == "none":
        fields[word.into] = "" if word.holds is Holds.CHOICE else None
    elif word.holds in nested:
        if (made := nested[word.holds](value, path, mistakes)) is not None:
            fields[word.into] = made
    else:
        try:
            fields[word.into] = _READERS[word.holds](value, word)
        except ReadError as wrong:
            read = wrong.value if wrong.path else value
            mistakes.append(_wrong_value((*path, *wrong.path), read, wrong.expected))


def read_list(value: object, path: Path, mistakes: list[Mistake], what: str) -> Iterable[object]:
    """Give the items of a list, none when it is no list or too long a one (a mistake then)."""
    if isinstance(value, list | tuple) and len(value) <= MOST_ITEMS:
        return value
    mistakes.append(_wrong_value(path, value, f"{what}, at most {MOST_ITEMS} of them"))
    return ()


def perhaps(text: str, known: Iterable[str]) -> str:
    """Give the nearest right word as a message ends with it, or nothing.

    >>> perhaps("inn", ["in", "out"])
    ", perhaps 'in'"
    """
    word = nearest(text, known)
    return f", perhaps {word!r}" if word else ""


def _unknown(path: Path, key: object, known: Iterable[str], about: str) -> Mistake:
    text = str(key)
    return Mistake(
        path=(*path, text),
        what=f"unknown key {shown(way_down((*path, text)))}",
        # People write inside_patch as often as inside-patch.
        expected=f"a key of {about}{perhaps(text.replace('_', '-'), known)}",
    )


def _missing(path: Path, word: Word, about: str) -> Mistake:
    return Mistake(
        path=(*path, word.key),
        what=f"{way_down(path) or about} has no {word.key}",
        expected=word.expected(),
    )


def _wrong_value(path: Path, value: object, expected: str) -> Mistake:
    return Mistake(path=path, what=f"{way_down(path) or 'it'} is {shown(value)}", expected=expected)


def shown(value: object) -> str:
    """Give a value as a message shows it: short, and in quotes if it is text.

    >>> shown("x" * 100), shown(True), shown({}), shown([1, 2])
    ("'xxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxx…'", 'yes', 'an empty table', 'a list of 2')
    """
    match value:
        case bool():
            text = "yes" if value else "no"
        case None:
            text = "nothing"
        case str():
            text = repr(_short(value))
        case int() if abs(value) >= 10**15:
            text = "a very large number"
        case Mapping():
            text = f"a table of {len(value)}" if value else "an empty table"
        case list() | tuple():
            text = f"a list of {len(value)}" if value else "an empty list"
        case _:
            text = _short(str(value))
    return text


def _short(text: str) -> str:
    return text if len(text) <= 40 else text[:38] + "…"


def _read_text(value: object, word: Word) -> str:
    # A number may stand for a text: a label "12" written without quotes.
    if not isinstance(value, str) and _number(value) is None:
        raise ReadError(word.expected())
    text = " ".join(str(value).split())
    if len(text) > LONGEST_TEXT:
        raise ReadError(f"{word.expected()} of at most {LONGEST_TEXT} characters")
    return text


def _read_texts(value: object, word: Word) -> tuple[str, ...]:
    if not isinstance(value, list | tuple) or len(value) > MOST_ITEMS:
        raise ReadError(word.expected())
    return tuple(dict.fromkeys(_read_text(item, word) for item in value))


def _read_choice(value: object, word: Word) -> str:
    if not isinstance(value, str):
        raise ReadError(word.expected())
    for choice in word.choices:
        if choice.casefold() == value.strip().casefold():
            return choice
    raise ReadError(word.expected() + perhaps(value, word.choices))


def _read_choices(value: object, word: Word) -> tuple[str, ...]:
    # One word alone, or several in one text, as lists are written elsewhere in a show.
    items = value.replace(",", " ").split() if isinstance(value, str) else value
    if not isinstance(items, list | tuple):
        raise ReadError(word.expected())
    chosen = [_read_choice(item, word) for item in items]
    return tuple(choice for choice in word.choices if choice in chosen)


def _read_yes_no(value: object, word: Word) -> bool:
    if isinstance(value, bool):
        return value
    said = {"yes": True, "true": True, "no": False, "false": False}
    if isinstance(value, str) and value.strip().casefold() in said:
        return said[value.strip().casefold()]
    raise ReadError(word.expected())


def _read_figure(value: object, word: Word) -> float:
    """Give a figure in the unit of the key; a text may carry any unit of the measure."""
    figure = _number(value)
    if figure is None and isinstance(value, str) and word.measure is not None:
        try:
            figure = read_quantity(value, word.measure) / word.measure.units[word.unit]
        except QuantityError:
            figure = None
    if figure is None or not word.low <= figure <= word.high:
        raise ReadError(word.expected())
    # Whole figures stay whole however they were written: 24 dBu, not 24.0.
    return round(figure, 9)


def _number(value: object) -> float | None:
    if isinstance(value, bool):
        return None
    if isinstance(value, str):
        try:
            value = float(value.strip().replace(",", "."))
        except ValueError:
            return None
    if not isinstance(value, int | float) or not abs(value) < 1e15 or not math.isfinite(value):
        return None
    return float(value)


def _read_count(value: object, word: Word) -> int:
    figure = _read_figure(value, word)
    if figure != int(figure):
        raise ReadError(word.expected())
    return int(figure)


def _read_figures(value: object, word: Word) -> tuple[float, ...]:
    items = value if isinstance(value, list | tuple) else [value]
    if len(items) > MOST_ITEMS:
        raise ReadError(word.expected())
    return tuple(sorted({_read_figure(item, word) for item in items}))


def _read_channels(value: object, word: Word) -> dict[int, int]:
    if not isinstance(value, Mapping):
        raise ReadError(word.expected())
    return dict(sorted((_read_rate(r), _read_channel_count(r, n)) for r, n in value.items()))


def _read_rate(key: object) -> int:
    figure = _number(key)
    if figure is None and isinstance(key, str):
        try:
            figure = read_quantity(key, RATE)
        except QuantityError:
            figure = None
    if figure is None or figure != int(figure) or not RATE.low <= figure <= RATE.high:
        raise ReadError("sample rates before the colons, as in 48000", path=(str(key),), value=key)
    return int(figure)


def _read_channel_count(key: object, value: object) -> int:
    figure = _number(value)
    if figure is None or figure != int(figure) or not 0 <= figure <= MOST:
        expected = f"a whole number of channels from 0 to {MOST}"
        raise ReadError(expected, path=(str(key),), value=value)
    return int(figure)


_READERS: Mapping[Holds, Callable[[Any, Word], Any]] = {
    Holds.TEXT: _read_text,
    Holds.TEXTS: _read_texts,
    Holds.CHOICE: _read_choice,
    Holds.CHOICES: _read_choices,
    Holds.YES_NO: _read_yes_no,
    Holds.COUNT: _read_count,
    Holds.FIGURE: _read_figure,
    Holds.FIGURES: _read_figures,
    Holds.CHANNELS: _read_channels,
}
