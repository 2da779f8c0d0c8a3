"""Every word papers print stands in every language, and every word that stands there is printed."""

from __future__ import annotations

import ast
import re
from dataclasses import fields
from pathlib import Path
from string import Formatter

import pytest

from lineproof.base.finding import Grade
from lineproof.kit.load import load_kit
from lineproof.paper.book import book
from lineproof.paper.fonts import unprintable
from lineproof.paper.sheet import Text
from lineproof.paper.translate import LANGUAGES, OWN, words_of
from lineproof.reckon.order import STAGES
from lineproof.show.model import Circuit, Duct, Line, Place, Run, Show, Tie, Unit
from tests.paper.press import (
    DECIDED,
    LINES,
    SHOW,
    edition_of,
    issued_of,
    outcome_of,
    rows_of,
    sheet_named,
    small,
)

ENGLISH = words_of("en").texts
#: The catalogue has its English words itself.
CATALOGUE = ("kind.", "source.")


def places(text: str) -> set[str]:
    """Give what is put into a text."""
    return {name for _, name, _, _ in Formatter().parse(text) if name is not None}


@pytest.mark.parametrize("language", LANGUAGES)
def test_all_languages_have_the_same_keys_with_the_same_parts(language: str) -> None:
    texts = {k: t for k, t in words_of(language).texts.items() if not k.startswith(CATALOGUE)}
    assert set(texts) == set(ENGLISH)
    assert {k for k in texts if places(texts[k]) != places(ENGLISH[k])} == set()


@pytest.mark.parametrize("language", LANGUAGES)
def test_no_word_is_empty_and_the_fonts_print_them_all(language: str) -> None:
    texts = words_of(language).texts
    assert [key for key, text in texts.items() if not text.strip()] == []
    assert {key: unprintable(text) for key, text in texts.items() if unprintable(text)} == {}


def test_a_missing_word_is_an_error_and_never_an_empty_text() -> None:
    with pytest.raises(KeyError):
        words_of("en")("column.no-such-word")


def keys_asked_for(root: Path) -> set[str]:
    """Give every key that stands in the source, parts not known there as a star."""
    found = set()
    for path in sorted((root / "src/lineproof/paper").rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text("utf-8"))):
            if isinstance(node, ast.Constant) and isinstance(node.value, str):
                found.add(node.value)
            if isinstance(node, ast.JoinedStr):
                found.add(
                    "".join(
                        part.value if isinstance(part, ast.Constant) else "*"
                        for part in node.values
                    )
                )
    return {key for key in found if re.fullmatch(r"[a-z-]+\.[a-z*-]+", key)}


def test_every_key_the_source_asks_for_is_there(root: Path) -> None:
    tables = {key.partition(".")[0] for key in ENGLISH}
    asked = {key for key in keys_asked_for(root) if key.partition(".")[0] in tables}
    assert asked
    whole = {key for key in asked if "*" not in key}
    assert sorted(whole - set(ENGLISH)) == []


def test_every_word_is_asked_for_somewhere(root: Path) -> None:
    asked = keys_asked_for(root)
    stars = {key.partition(".")[0] for key in asked if "*" in key}
    # By the words of the outcome, the catalogue, the changes.
    stars |= {"not-tried", "key"}
    idle = [key for key in ENGLISH if key not in asked and key.partition(".")[0] not in stars]
    assert idle == []


def test_what_comes_from_elsewhere_has_its_words() -> None:
    for what in small().not_tried:
        assert f"not-tried.{what}" in ENGLISH
    for stage in STAGES:
        assert f"stage.{stage}" in ENGLISH
    for grade in Grade:
        assert f"grade.{grade.value}" in ENGLISH


@pytest.mark.parametrize("language", [x for x in LANGUAGES if x != OWN])
def test_every_kind_and_source_of_the_catalogue_has_its_words(language: str) -> None:
    texts, kit = words_of(language).texts, load_kit()
    wanted = {f"kind.{kind.label}" for kind in kit.kinds.values()}
    wanted |= {f"source.{source.label}" for source in kit.sources.values()}
    assert wanted == {key for key in texts if key.startswith(CATALOGUE)}


def test_everything_that_can_change_in_a_show_has_its_word() -> None:
    apart = {"kit", "unread", "places", "ducts", "circuits", "units", "runs", "ties", "zones"}
    apart |= {"lists", "lines"}
    kinds = (Show, Place, Duct, Circuit, Unit, Run, Tie, Line)
    held = {f.name for kind in kinds for f in fields(kind) if f.compare} - apart
    assert sorted(n for n in held if f"key.{n.replace('_', '-')}" not in ENGLISH) == []


@pytest.mark.parametrize("language", LANGUAGES)
def test_a_change_of_the_show_is_told_in_the_papers_language(language: str) -> None:
    said = {
        "en": ["the show changed: rate", "unit box-1 changed: kind", "line late/3 new"],
        "de": ["die Show geändert: Abtastrate", "Gerät box-1 geändert: Art", "Leitung late/3 neu"],
    }
    before = issued_of(
        SHOW.replace("48 kHz", "96 kHz").replace("box-16-8", "box-32-16"),
        "".join(row for row in LINES.splitlines(keepends=True) if not row.startswith("3,late")),
        {key: value for key, value in DECIDED.items() if key != "late/3"},
    )
    edition = edition_of(outcome_of(issued=before), before=before, language=language)
    sheet = sheet_named(book(edition), "changes")
    (table,) = [t for t in sheet.tables if t.name == "reworded"]
    assert rows_of(table) == said[language]


def test_what_stays_english_is_said_to_be_english() -> None:
    said = {}
    for language in LANGUAGES:
        sheet = sheet_named(book(edition_of(outcome_of(), language=language)), "findings")
        said[language] = [p for b in sheet.blocks if isinstance(b, Text) for p in b.paragraphs]
    assert said["en"] == []
    assert "Englisch" in said["de"][0]


def test_a_kind_of_the_catalogue_is_told_in_german_and_one_of_the_shows_own_as_it_is() -> None:
    own = "kinds:\n  my-box: {like: box-16-8, label: The old box}\n"
    outcome = outcome_of(own + SHOW.replace("{kind: box-16-8", "{kind: my-box"))
    sheet = sheet_named(book(edition_of(outcome, language="de")), "equipment")
    kinds = {row.cells[0].text: row.cells[1].text for row in sheet.tables[0].rows}
    assert kinds["box-1"] == "The old box"
    assert kinds["sw-1"] == "Switch, 8 Kupferanschlüsse"
