"""The show file as a JSON Schema (draft 2020-12), made from its declared words."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping
from typing import Any

from lineproof.base.quantity import Measure
from lineproof.kit.word import Holds
from lineproof.kit.word import Word as KindWord
from lineproof.kit.words import (
    CLOCK_WORDS,
    KIND_WORDS,
    LIKE,
    NUMBERING_WORDS,
    PORT_WORDS,
    SOCKET_WORDS,
)
from lineproof.show import words
from lineproof.show.words import Word

Schema = dict[str, Any]

#: YAML gives `number: 12` as a number; to us it is a text.
_TEXT: Schema = {"type": ["string", "number", "boolean"]}
_BLANK: Schema = {"type": "null"}
_NAME: Schema = {"type": ["string", "integer"], "pattern": r"^\s*[^\W_][\w\-]{0,63}\s*$"}
_WORDS: Schema = {"type": "array", "items": {"type": [*_TEXT["type"], "null"]}}
_NAMES: Schema = {"anyOf": [_TEXT, _WORDS]}
_METRE: Schema = {"type": ["number", "string"], "pattern": r"^\s*-?\d+([.,]\d+)?\s*m?\s*$"}
_POSITION: Schema = {"type": "array", "items": _METRE, "minItems": 3, "maxItems": 3}
_COUNT: Schema = {"type": ["integer", "string"], "minimum": 1, "pattern": r"^\s*[1-9]\d{0,3}\s*$"}


def show_schema() -> Schema:
    """Give the schema of `show.yaml`, with the meaning of every key beside it.

    It knows every key, its type, units and choices; names that must exist elsewhere in the show
    are beyond a schema and are looked up when the show is read.
    """
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "A Lineproof show",
        **_record(words.SHOW),
    }


def _record(section: Mapping[str, Word], *, free: bool = False, without: str = "") -> Schema:
    """Give the schema of a record; `free`: columns of people's own may stand in it."""
    properties = {key: _property(word) for key, word in section.items() if key != without}
    needed = [key for key, word in section.items() if word.needed and key != without]
    schema: Schema = {"type": "object", "properties": properties}
    if needed:
        schema["required"] = needed
    return {**schema, "additionalProperties": _or_blank(_TEXT) if free else False}


def _property(word: Word) -> Schema:
    value = _value(word)
    schema = {**(value if word.needed else _or_blank(value)), "description": word.meaning}
    return {**schema, "default": word.default} if word.default else schema


def _or_blank(schema: Schema) -> Schema:
    """Give the schema with nothing allowed as well: a key with nothing behind it says nothing."""
    if "type" not in schema:
        return {"anyOf": [*schema["anyOf"], _BLANK]}
    types = schema["type"] if isinstance(schema["type"], list) else [schema["type"]]
    allowed = {"pattern": f"{schema['pattern']}|^\\s*$"} if "pattern" in schema else {}
    return {**schema, **allowed, "type": [*types, "null"]}


def _value(word: Word) -> Schema:
    if word.measure is not None:
        return {"type": "string", "pattern": quantity_pattern(word.measure)}
    if word.choices:
        return {"type": "string", "pattern": _either(word.choices)}
    if word.type in ("map", "table"):
        return _NESTED[word.key]()
    return _PLAIN[word.type]


def quantity_pattern(measure: Measure) -> str:
    """Give the pattern of a figure with one of the measure's units, in either case.

    >>> from lineproof.base.quantity import RATE
    >>> bool(re.search(quantity_pattern(RATE), "44,1 khz")), bool(
    ...     re.search(quantity_pattern(RATE), "48")
    ... )
    (True, False)
    """
    return rf"^\s*[+\-−]?\d+([.,]\d+)?\s*{_either(measure.units).strip('^$')}$"


def _either(choices: Iterable[str]) -> str:
    """Give a pattern for one of the words in either case; schemas have no flag for that."""
    spelled = ("".join(_letter(mark) for mark in choice) for choice in choices)
    return rf"^\s*({'|'.join(spelled)})\s*$"


def _letter(mark: str) -> str:
    low, high = mark.lower(), mark.upper()
    return re.escape(mark) if low == high or len(high) > 1 else f"[{low}{high}]"


#: What yes and no are in a list, whichever language.
_SAID = tuple(sorted(words.YES | words.NO | words.NOTHING))
_PLAIN: Mapping[str, Schema] = {
    "text": _TEXT,
    "start": _TEXT,
    "name": _NAME,
    "names": _NAMES,
    "ends": _NAMES,
    "spots": _NAMES,
    "count": _COUNT,
    "yes-no": {
        "anyOf": [
            {"type": "boolean"},
            {"enum": [0, 1, 48]},
            {"type": "string", "pattern": _either(_SAID)},
        ]
    },
    "position": _POSITION,
}


# -- keys that hold records ----------------------------------------------------------------------


def _named(record: Schema) -> Schema:
    """Give the schema of a table of names, each with such a record."""
    names = {"pattern": _NAME["pattern"]}
    return {"type": "object", "propertyNames": names, "additionalProperties": record}


def _groups() -> Schema:
    some = {"anyOf": [_TEXT, {**_WORDS, "minItems": 1}]}
    return {"type": "object", "additionalProperties": some}


def _units() -> Schema:
    return {"anyOf": [_named(_record(words.UNIT, free=True, without="name")), _NAMES]}


def _lines() -> Schema:
    table = _record(words.TABLE)
    table["properties"]["defaults"] = _or_blank(_default_cells())
    row = _record(words.LINE, free=True)
    described = {"if": {"required": ["table"]}, "then": table, "else": row}
    item = {"anyOf": [_TEXT, {"type": "object", **described}]}
    return {"anyOf": [_TEXT, {"type": "array", "items": item}]}


def _kinds() -> Schema:
    like = {"type": "string", "description": "the kind of the catalogue it starts from"}
    record = _kind_record(KIND_WORDS)
    # What `like` brings need not be said again.
    del record["required"]
    return _named({**record, "properties": {LIKE: like, **record["properties"]}})


def _defaults() -> Schema:
    return {"type": "object", "additionalProperties": _default_cells()}


def _default_cells() -> Schema:
    cells = _record(words.LINE)
    del cells["required"]
    return cells


def _accept() -> Schema:
    record = _record(words.ACCEPT)
    return {"anyOf": [record, {"type": "array", "items": record}]}


def _pins() -> Schema:
    spots = {"start": _or_blank(_NAMES), "ends": _or_blank(_groups())}
    pin = {"type": "object", "properties": spots}
    return {"type": "object", "additionalProperties": {**pin, "additionalProperties": False}}


# -- kinds ---------------------------------------------------------------------------------------


def _kind_record(section: Mapping[str, KindWord]) -> Schema:
    return {
        "type": "object",
        "properties": {word.key: _kind_property(word) for word in section.values()},
        "required": [word.key for word in section.values() if word.needed],
        "additionalProperties": False,
    }


def _kind_property(word: KindWord) -> Schema:
    schema = _KIND_VALUES[word.holds](word)
    if word.none:
        schema = {"anyOf": [schema, {"type": "string", "pattern": _either(("none",))}]}
    return {**schema, "description": word.meaning}


def _one_of(word: KindWord) -> Schema:
    return {"type": "string", "pattern": _either(word.choices)}


def _several_of(word: KindWord) -> Schema:
    return {"anyOf": [{"type": "string"}, {"type": "array", "items": _one_of(word)}]}


def _figure(word: KindWord) -> Schema:
    """Give the schema of a figure; as a text it may carry any unit of its measure."""
    units = f"({_either(word.measure.units).strip('^$')})?" if word.measure else r"\s*"
    pattern = rf"^\s*[+\-−]?\d+([.,]\d+)?\s*{units}$"
    kind = "integer" if word.holds is Holds.COUNT and word.measure is None else "number"
    return {
        "type": [kind, "string"],
        "minimum": word.low,
        "maximum": word.high,
        "pattern": pattern,
    }


def _figures(word: KindWord) -> Schema:
    return {"anyOf": [_figure(word), {"type": "array", "items": _figure(word)}]}


def _groups_of(section: Mapping[str, KindWord]) -> Schema:
    return {"type": "array", "items": _kind_record(section)}


_CHANNELS: Schema = {"type": "object", "additionalProperties": {"type": ["integer", "string"]}}

_KIND_VALUES: Mapping[Holds, Callable[[KindWord], Schema]] = {
    Holds.TEXT: lambda _: {"type": ["string", "number", "null"]},
    Holds.TEXTS: lambda _: {"type": "array", "items": {"type": ["string", "number"]}},
    Holds.CHOICE: _one_of,
    Holds.CHOICES: _several_of,
    Holds.YES_NO: lambda _: {
        "type": ["boolean", "string"],
        "pattern": _either(("yes", "no", "true", "false")),
    },
    Holds.COUNT: _figure,
    Holds.FIGURE: _figure,
    Holds.FIGURES: _figures,
    Holds.CHANNELS: lambda _: _CHANNELS,
    Holds.SOCKETS: lambda _: _groups_of(SOCKET_WORDS),
    Holds.PORTS: lambda _: _groups_of(PORT_WORDS),
    Holds.NUMBERING: lambda _: _kind_record(NUMBERING_WORDS),
    Holds.CLOCK: lambda _: _kind_record(CLOCK_WORDS),
}


#: Keys that hold more than one value; `ends` is that of a pin.
_NESTED: Mapping[str, Callable[[], Schema]] = {
    "air": lambda: _record(words.AIR),
    "weights": lambda: _record(words.WEIGHTS),
    "places": lambda: _named(_record(words.PLACE)),
    "ducts": lambda: _named(_record(words.DUCT)),
    "circuits": lambda: _named(_record(words.CIRCUIT)),
    "units": _units,
    "runs": lambda: _named(_record(words.RUN)),
    "ties": lambda: _named(_record(words.TIE)),
    "acts": lambda: _named(_record(words.ACT)),
    "zones": _groups,
    "lists": _groups,
    "arrangements": _groups,
    "addresses": _groups,
    "lines": _lines,
    "defaults": _defaults,
    "pins": _pins,
    "kinds": _kinds,
    "accept": _accept,
}
