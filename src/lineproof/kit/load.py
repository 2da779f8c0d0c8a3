"""The catalogue from its files, read once and strictly."""

from __future__ import annotations

import functools
import tomllib
from collections.abc import Mapping
from dataclasses import replace
from importlib import resources
from typing import Any

from lineproof.base.names import wrong_with_name
from lineproof.kit.find import find_source
from lineproof.kit.kinds import Kind, Kit, Signal, Source
from lineproof.kit.read import Mistake, read_table
from lineproof.kit.table import groups_of, kind_for_show, kind_from_table, kind_to_table
from lineproof.kit.words import LIKE, SOURCE_WORDS

__all__ = [
    "FILES",
    "KitError",
    "Mistake",
    "find_source",
    "kind_for_show",
    "kind_from_table",
    "kind_to_table",
    "load_kit",
    "read_kinds",
    "read_sources",
]

#: The files of the catalogue, in the order in which kinds are listed.
FILES = (
    "boxes",
    "passive",
    "mixers",
    "loudspeakers",
    "processors",
    "people",
    "radio",
    "recording",
    "network",
)


class KitError(Exception):
    """A bug of ours in the catalogue's files: the message names table and key."""


@functools.cache
def load_kit() -> Kit:
    """Give the catalogue that ships with Lineproof.

    Raises KitError when one of its files is wrong, which is a bug of ours and never the user's.
    """
    folder = resources.files("lineproof.kit") / "data"
    kinds: dict[str, Kind] = {}
    for file in FILES:
        read_kinds((folder / f"{file}.toml").read_text("utf-8"), kinds)
    return Kit(kinds=kinds, sources=read_sources((folder / "sources.toml").read_text("utf-8")))


def read_kinds(text: str, kinds: dict[str, Kind]) -> None:
    """Add the kinds of one file to `kinds`, which those that say `like` start from.

    Figures are typical practice unless a kind names in `practice` which of them are.
    """
    for name, table in _tables(text):
        if name in kinds:
            raise KitError(f"[{name}]: stands twice in the catalogue")
        kind, mistakes = kind_from_table(name, table, _base(name, table, kinds))
        if kind is None or mistakes:
            raise KitError(_told(name, mistakes))
        said = "practice" in table
        kinds[name] = kind if said else replace(kind, practice=groups_of(kind))


def _tables(text: str) -> list[tuple[str, Mapping[str, Any]]]:
    tables = tomllib.loads(text)
    for name, table in tables.items():
        if not isinstance(table, dict):
            raise KitError(f"{name}: is no table")
    return list(tables.items())


def _base(name: str, table: Mapping[str, Any], kinds: Mapping[str, Kind]) -> Kind | None:
    if (wrong := wrong_with_name(name)) is not None:
        raise KitError(f"[{name}]: {wrong}")
    if LIKE not in table:
        return None
    if table[LIKE] not in kinds:
        raise KitError(f"[{name}] {LIKE}: {table[LIKE]!r} stands in no table before it")
    return kinds[table[LIKE]]


def read_sources(text: str) -> dict[str, Source]:
    """Give the sources of a file by name; raises KitError with table and key of what is wrong."""
    sources: dict[str, Source] = {}
    for name, table in _tables(text):
        mistakes: list[Mistake] = []
        read = read_table(table, SOURCE_WORDS, (), mistakes, about="a source")
        if mistakes:
            raise KitError(_told(name, mistakes))
        read["signal"] = Signal(read["signal"])
        sources[name] = Source(name=name, **{"label": name, **read})
    for source in sources.values():
        if lost := [other for other in source.before if other not in sources]:
            raise KitError(f"[{source.name}] before: {lost[0]!r} is no source")
    return sources


def _told(name: str, mistakes: list[Mistake]) -> str:
    return "\n".join(f"[{name}] {mistake}" for mistake in mistakes) or f"[{name}] is no kind"
