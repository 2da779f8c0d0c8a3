"""What the fonts can print is found as other programs find it; what they can't is a finding."""

from __future__ import annotations

import unicodedata
from pathlib import Path

import pytest
import typst

from lineproof.base.rule import Rule
from lineproof.paper.fonts import folder, printable, regular, unprintable
from lineproof.paper.rules import RULES, find_all
from lineproof.show.read import read_files
from tests.paper.press import LINES, SHOW, edition_of, outcome_of
from tests.paper.reading_pdf import pages


def typeset(text: str) -> bytes:
    """Give a page with the text as the typesetter makes it; PDF/UA allows no missing glyph."""
    source = b"""
        #set document(title: "t")
        #set text(font: "Atkinson Hyperlegible", fallback: false)
        #sys.inputs.text
        #strong(sys.inputs.text)
    """
    fonts = typst.Fonts(include_system_fonts=False, font_paths=[str(folder())])
    pdf = typst.Compiler(font_paths=fonts).compile(
        source, format="pdf", pdf_standards=["ua-1"], sys_inputs={"text": text}
    )
    assert isinstance(pdf, bytes)
    return pdf


def test_the_typesetter_prints_every_mark_that_counts_as_printable() -> None:
    every = [chr(code) for code in range(0x20, 0x3000)]
    marks = [m for m in every if not unprintable(m) and unicodedata.category(m)[0] not in "CZM"]
    assert len(marks) > 250
    assert typeset(" ".join(marks))


@pytest.mark.parametrize("mark", ["笛", "\u05e9", "Ж", "Σ", "→", "✓", "ạ", "ㅏ", "⅓"])
def test_the_typesetter_has_no_glyph_for_a_mark_that_counts_as_not_printable(mark: str) -> None:
    assert unprintable(mark) == unicodedata.normalize("NFC", mark)
    with pytest.raises(typst.TypstError):
        typeset(mark)


@pytest.mark.needs("pdftotext", "poppler-utils")
def test_a_text_comes_out_as_wide_as_reckoned(tmp_path: Path) -> None:
    text = "Hamburgefonstiv-0123456789"
    fonts = typst.Fonts(include_system_fonts=False, font_paths=[str(folder())])
    source = f'#set text(font: "Atkinson Hyperlegible", size: 14pt, kerning: false)\n{text}'
    pdf = typst.Compiler(font_paths=fonts).compile(source.encode(), format="pdf")
    assert isinstance(pdf, bytes)
    (word,) = [w for w in pages(pdf, tmp_path)[0].words if w.text == text]
    assert word.right - word.left == pytest.approx(regular().width_mm(text, 14), abs=0.05)


@pytest.mark.parametrize(
    ("text", "comes_out"),
    [
        ("Łódź, Göteborg, Besançon", "Łódź, Göteborg, Besançon"),
        ("笛子", "??"),
        ("\u05e9\u05dc\u05d5\u05dd", "????"),
        ("a\u202eb", "ab"),  # what steers direction is dropped, or names could read backwards
        ("two\nrows\tone", "two rows one"),
        ("e\u0301", "é"),
    ],
)
def test_a_text_as_it_is_printed(text: str, comes_out: str) -> None:
    assert printable(text) == comes_out
    assert unprintable(comes_out) == ""


def test_a_name_the_fonts_can_not_print_is_a_finding_with_its_row() -> None:
    outcome = outcome_of(lines=LINES.replace("Lute", "二胡"))
    (finding,) = [f for f in edition_of(outcome).findings if f.rule == "name-not-printable"]
    assert str(finding) == (
        "risk: lines.csv:3:1 (number): line early/2 is printed as '二胡', "
        "but the fonts lack 二 (U+4E8C) 胡 (U+80E1): '?' stands there [name-not-printable]\n"
        "    do: give it a label in Latin letters; the name in the show can stay as it is"
    )


def test_a_label_mends_it() -> None:
    lines = LINES.replace("player\n", "player,label\n").replace(",Bo\n", ",Bo,Erhu\n")
    outcome = outcome_of(lines=lines.replace("Lute", "二胡"))
    assert [f for f in edition_of(outcome).findings if f.rule == "name-not-printable"] == []


def test_it_can_be_accepted() -> None:
    accept = 'accept: [{finding: name-not-printable, of: ["early/2"], reason: known, by: Mo}]'
    outcome = outcome_of(SHOW + accept + "\n", LINES.replace("Lute", "二胡"))
    (finding,) = [f for f in edition_of(outcome).findings if f.rule == "name-not-printable"]
    assert finding.accepted == "by Mo: known"


@pytest.mark.parametrize("rule", RULES, ids=lambda rule: rule.name)
def test_the_examples_of_a_rule_fail_and_pass(rule: Rule) -> None:
    for example, stands in ((rule.fails, True), (rule.passes, False)):
        show = read_files({"show.yaml": example.show, "lines.csv": example.lines}).show
        assert show is not None
        assert any(f.rule == rule.name for f in find_all(show)) is stands
