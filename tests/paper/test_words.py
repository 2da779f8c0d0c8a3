"""Every word papers print stands in every language, and every word that stands there is printed."""

from __future__ import annotations

import ast
import re
from pathlib import Path
from string import Formatter

import pytest

from lineproof.base.finding import Grade
from lineproof.paper.fonts import unprintable
from lineproof.paper.translate import LANGUAGES, words_of
from lineproof.reckon.order import STAGES
from tests.paper.press import small

ENGLISH = words_of("en").texts


def places(text: str) -> set[str]:
    """Give what is put into a text."""
    return {name for _, name, _, _ in Formatter().parse(text) if name is not None}


@pytest.mark.parametrize("language", LANGUAGES)
def test_all_languages_have_the_same_keys_with_the_same_parts(language: str) -> None:
    texts = words_of(language).texts
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
    stars.add("not-tried")  # by the outcome's own words
    idle = [key for key in ENGLISH if key not in asked and key.partition(".")[0] not in stars]
    assert idle == []


def test_what_comes_from_elsewhere_has_its_words() -> None:
    for what in small().not_tried:
        assert f"not-tried.{what}" in ENGLISH
    for stage in STAGES:
        assert f"stage.{stage}" in ENGLISH
    for grade in Grade:
        assert f"grade.{grade.value}" in ENGLISH
