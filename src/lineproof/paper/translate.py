"""The words papers are printed in: a table for each language, every word under its key."""

from __future__ import annotations

import functools
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field
from importlib import resources

LANGUAGES = ("en", "de")
#: The language in which catalogue and findings are written.
OWN = "en"


@dataclass(frozen=True, kw_only=True)
class Words:
    """The words of one language, by key: `sheet.inputs`, `column.name`."""

    language: str
    texts: Mapping[str, str] = field(repr=False)

    def __call__(self, key: str, **parts: object) -> str:
        """Give the words of a key with the parts put in. Raises KeyError: a mistake of ours.

        >>> words_of("en")("said.page", number=3, count=7)
        'sheet 3 of 7'
        """
        return self.texts[key].format(**parts)

    def told(self, table: str, text: str) -> str:
        """Give the words for a text that comes from elsewhere; the text itself where none are.

        >>> words_of("en").told("not-tried", "the weather")
        'the weather'
        """
        return self.texts.get(f"{table}.{text}", text)


@functools.cache
def words_of(language: str) -> Words:
    """Give the words of a language, one of LANGUAGES."""
    texts = _read(f"{language}.toml")
    # The catalogue has its English words itself.
    more = {} if language == OWN else _read(f"{language}-catalogue.toml")
    return Words(language=language, texts={**more, **texts})


def _read(name: str) -> dict[str, str]:
    file = resources.files("lineproof.paper") / "words" / name
    return _flat(tomllib.loads(file.read_text("utf-8")))


def _flat(tables: Mapping[str, Mapping[str, str]]) -> dict[str, str]:
    return {
        f"{table}.{key}": text for table, texts in tables.items() for key, text in texts.items()
    }
