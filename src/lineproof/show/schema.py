"""The show file as a JSON Schema (draft 2020-12), made from its declared words."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from typing import Any

from lineproof.base.quantity import Measure
from lineproof.kit.words import KIND_WORDS, LIKE
from lineproof.show import words
from lineproof.show.words import Word

Schema = dict[str, Any]

#: YAML gives `number: 12` as a number; to us it is a text.
_TEXT: Schema = {"type": ["string", "number", "boolean"]}
_NAME: Schema = {"type": ["string", "integer"], "pattern": r"^\s*[^\W_][\w\-]{0,63}\s*$"}
_NAMES: Schema = {"anyOf": [_TEXT, {"type": "array", "items": _TEXT}]}
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
    return schema if free else {**schema, "additionalProperties": False}


def _property(word: Word) -> Schema:
    schema = {**_value(word), "description": word.meaning}
    return {**schema, "default": word.default} if word.default else schema


def _value(word: Word) -> Schema:
    if word.measure is not None:
        return {"type": "string", "pattern": quantity_pattern(word.measure)}
    if word.choices:
        return {"type": "string", "pattern": _either(word.choices)}
    made = _NESTED.get(word.key) if word.type in ("map", "table") else None
    return made() if made is not None else _PLAIN.get(word.type, {})


_PLAIN: Mapping[str, Schema] = {
    "text": _TEXT,
    "start": _TEXT,
    "name": _NAME,
    "names": _NAMES,
    "ends": _NAMES,
    "spots": _NAMES,
    "count": _COUNT,
    "yes-no": _TEXT,
    "position": _POSITION,
}


def quantity_pattern(measure: Measure) -> str:
    """Give the pattern of a figure with one of the measure's units, in either case.

    >>> from lineproof.base.quantity import RATE
    >>> bool(re.search(quantity_pattern(RATE), "44,1 khz")), bool(
    ...     re.search(quantity_pattern(RATE), "48")
    ... )
    (True, False)
    """
    return rf"^\s*[+\-−]?\d+([.,]\d+)?\s*{_either(measure.units).strip('^$')}$"


def _either(choices: Mapping[str, float] | tuple[str, ...]) -> str:
    """Give a pattern for one of the words in either case; schemas have no flag for that."""
    spelled = ("".join(_letter(mark) for mark in choice) for choice in choices)
    return rf"^\s*({'|'.join(spelled)})\s*$"


def _letter(mark: str) -> str:
    low, high = mark.lower(), mark.upper()
    return re.escape(mark) if low == high or len(high) > 1 else f"[{low}{high}]"


# -- keys that hold records ----------------------------------------------------------------------


def _named(record: Schema) -> Schema:
    """Give the schema of a table of names, each with such a record."""
    names = {"pattern": _NAME["pattern"]}
    return {"type": "object", "propertyNames": names, "additionalProperties": record}


def _groups() -> Schema:
    return {"type": "object", "additionalProperties": _NAMES}


def _units() -> Schema:
    return {"anyOf": [_named(_record(words.UNIT, free=True, without="name")), _NAMES]}


def _lines() -> Schema:
    table = _record(words.TABLE)
    table["properties"]["defaults"] = _default_cells()
    row = _record(words.LINE, free=True)
    described = {"if": {"required": ["table"]}, "then": table, "else": row}
    item = {"anyOf": [_TEXT, {"type": "object", **described}]}
    return {"anyOf": [_TEXT, {"type": "array", "items": item}]}


def _kinds() -> Schema:
    keys = {word.key: {"description": word.meaning} for word in KIND_WORDS.values()}
    like = {"type": "string", "description": "the kind of the catalogue it starts from"}
    record = {"type": "object", "properties": {LIKE: like, **keys}, "additionalProperties": False}
    return _named(record)


def _defaults() -> Schema:
    return {"type": "object", "additionalProperties": _default_cells()}


def _default_cells() -> Schema:
    return {"type": "object", "properties": _record(words.LINE)["properties"]}


def _accept() -> Schema:
    record = _record(words.ACCEPT)
    return {"anyOf": [record, {"type": "array", "items": record}]}


def _pins() -> Schema:
    pin = {"type": "object", "properties": {"start": _NAMES, "ends": _groups()}}
    return {"type": "object", "additionalProperties": {**pin, "additionalProperties": False}}


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
