"""The show file as a JSON Schema (draft 2020-12), made from its declared words."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping
from types import MappingProxyType
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
_POINT: Schema = {"type": "array", "items": _METRE, "minItems": 2, "maxItems": 3}
_DOTS: Schema = {
    "type": ["integer", "string"],
    "minimum": 0,
    "maximum": 99_999,
    "pattern": r"^\s*\d{1,5}\s*$",
}
_PIXEL: Schema = {"type": "array", "items": _DOTS, "minItems": 2, "maxItems": 2}
_COUNT: Schema = {"type": ["integer", "string"], "minimum": 1, "pattern": r"^\s*[1-9]\d{0,3}\s*$"}


def show_schema() -> Schema:
    """Give the schema of `show.yaml`, with the meaning of every key beside it.

    It knows every key, its type, units and choices; names that must exist elsewhere in the show
    are beyond a schema and are looked up when the show is read.
    """
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "A Lineproof show",
        **_record("#", words.SHOW),
        "$defs": {name: make(f"#/$defs/{name}") for name, make in _RECORDS.items()},
    }


def _record(
    at: str,
    section: Mapping[str, Word],
    *,
    free: bool = False,
    whole: bool = True,
    values: Mapping[str, Schema] = MappingProxyType({}),
) -> Schema:
    """Give the schema of a record that stands `at` that place in the whole schema.

    Its keys stand in small letters, which editors offer, and in any others, which the reader
    takes as well. `free`: columns of people's own may stand in it; `whole`: what is needed must
    be there; `values`: what a key holds where its word alone doesn't tell.
    """
    properties = {key: _property(word, values.get(key)) for key, word in section.items()}
    capitals = {
        f"^(?!{re.escape(key)}$){_either((key,))[1:]}": {"$ref": f"{at}/properties/{key}"}
        for key in properties
    }
    needed = [_has(key) for key, word in section.items() if word.needed and whole]
    return {
        "type": "object",
        "properties": properties,
        "patternProperties": capitals,
        **({"allOf": needed} if needed else {}),
        "additionalProperties": _or_blank(_TEXT) if free else False,
    }


def _has(key: str) -> Schema:
    """Give the schema of a table that has the key, however it is spelled in capitals."""
    others = {"not": {"pattern": _either((key,))}}
    return {"anyOf": [{"required": [key]}, {"not": {"propertyNames": others}}]}


def _ref(name: str) -> Schema:
    return {"$ref": f"#/$defs/{name}"}


def _property(word: Word, value: Schema | None = None) -> Schema:
    value = value or _value(word)
    schema = {**(value if word.needed else _or_blank(value)), "description": word.meaning}
    return {**schema, "default": word.default} if word.default else schema


def _or_blank(schema: Schema) -> Schema:
    """Give the schema with nothing allowed as well: a key with nothing behind it says nothing."""
    if "type" not in schema:
        return {"anyOf": [*schema.get("anyOf", [schema]), _BLANK]}
    types = schema["type"] if isinstance(schema["type"], list) else [schema["type"]]
    allowed = {"pattern": f"{schema['pattern']}|^\\s*$"} if "pattern" in schema else {}
    return {**schema, **allowed, "type": [*types, "null"]}


def _value(word: Word) -> Schema:
    if word.measure is not None:
        return {"type": "string", "pattern": quantity_pattern(word.measure)}
    if word.choices:
        pattern = _either(word.choices).replace(r"\-", r"(-|\s+)")
        return {"type": "string", "pattern": pattern}
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
    "point": _POINT,
    "pixel": _PIXEL,
}


# -- keys that hold records ----------------------------------------------------------------------


def _named(name: str) -> Schema:
    """Give the schema of a table of names, each with such a record."""
    names = {"pattern": _NAME["pattern"]}
    return {"type": "object", "propertyNames": names, "additionalProperties": _ref(name)}


def _groups() -> Schema:
    some = {"anyOf": [_TEXT, {**_WORDS, "contains": {**_TEXT, "pattern": r"\S"}}]}
    return {"type": "object", "additionalProperties": some}


def _lines() -> Schema:
    described = {"if": _has("table"), "then": _ref("tables"), "else": _ref("lines")}
    item = {"anyOf": [_TEXT, {"type": "object", **described}]}
    return {"anyOf": [_TEXT, {"type": "array", "items": item}]}


def _accept() -> Schema:
    return {"anyOf": [_ref("accept"), {"type": "array", "items": _ref("accept")}]}


def _kind(_: str) -> Schema:
    like = {"type": "string", "description": "the kind of the catalogue it starts from"}
    record = _kind_record(KIND_WORDS)
    # What `like` brings need not be said again.
    del record["required"]
    return {**record, "properties": {LIKE: like, **record["properties"]}}


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


#: Keys that hold more than one value.
_NESTED: Mapping[str, Callable[[], Schema]] = {
    "air": lambda: _ref("air"),
    "weights": lambda: _ref("weights"),
    "places": lambda: _named("places"),
    "picture": lambda: _ref("picture"),
    "first": lambda: _ref("point"),
    "second": lambda: _ref("point"),
    "ducts": lambda: _named("ducts"),
    "circuits": lambda: _named("circuits"),
    "units": lambda: {"anyOf": [_named("units"), _NAMES]},
    "runs": lambda: _named("runs"),
    "ties": lambda: _named("ties"),
    "acts": lambda: _named("acts"),
    "zones": _groups,
    "lists": _groups,
    "arrangements": _groups,
    "addresses": _groups,
    "stock": lambda: _named("stock"),
    "lines": _lines,
    "defaults": lambda: {"type": "object", "additionalProperties": _ref("defaults")},
    "pins": lambda: {"type": "object", "additionalProperties": _ref("pins")},
    "kinds": lambda: _named("kinds"),
    "accept": _accept,
}

#: The records that stand under these keys, each from the place at which it stands.
_RECORDS: Mapping[str, Callable[[str], Schema]] = {
    "air": lambda at: _record(at, words.AIR),
    "weights": lambda at: _record(at, words.WEIGHTS),
    "places": lambda at: _record(at, words.PLACE),
    "picture": lambda at: _record(at, words.PICTURE),
    "point": lambda at: _record(at, words.POINT),
    "ducts": lambda at: _record(at, words.DUCT),
    "circuits": lambda at: _record(at, words.CIRCUIT),
    "units": lambda at: _record(
        at, {key: word for key, word in words.UNIT.items() if key != "name"}, free=True
    ),
    "runs": lambda at: _record(at, words.RUN),
    "stock": lambda at: _record(at, words.STOCK),
    "ties": lambda at: _record(at, words.TIE),
    "acts": lambda at: _record(at, words.ACT),
    "tables": lambda at: _record(at, words.TABLE, values={"defaults": _ref("defaults")}),
    "lines": lambda at: _record(at, words.LINE, free=True),
    "defaults": lambda at: _record(at, words.LINE, whole=False),
    "pins": lambda at: _record(at, words.PIN, values={"start": _NAMES, "ends": _groups()}),
    "kinds": _kind,
    "accept": lambda at: _record(at, words.ACCEPT),
}
