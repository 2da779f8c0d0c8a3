"""The pages as other programs read them: nothing cut off, nothing too small, all of it marked."""

from __future__ import annotations

import itertools
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from lineproof.outcome import Outcome
from lineproof.paper import fit
from lineproof.paper.book import book
from lineproof.paper.edition import Edition
from lineproof.paper.fonts import printable
from lineproof.paper.pdf import MARGIN_MM, PAPERS, _table_data, draw_book, draw_labels
from lineproof.paper.sheet import Cell, Column, Look, Row, Sheet, Table
from lineproof.paper.sheets.labels import FLAG_MM, SOCKET_MM, label_strips
from tests.paper.press import LINES, edition_of, issued_of, outcome_of, sheet_named, small, wired
from tests.paper.reading_pdf import Page, pages, scan, sizes

pytestmark = pytest.mark.needs("pdftotext", "poppler-utils")

#: Names people could write, or mean to break things with.
HOSTILE = (
    "#panic() *bold* _under_ $x$ @ref <label>",
    "<script>alert(1)</script> &amp; \\u{41}",
    "Donaudampfschifffahrtsgesellschaftskapitänsmützenhalterung" * 2,
    "W" * 64,
    "\"quoted\", 'single'; {braces} [brackets] // comment /* open",
    "rtl \u202e\u05e9\u05dc\u05d5\u05dd name",
    "笛 flute",
    "=1+1",
    "",
)


def hostile() -> Outcome:
    """Give the two acts with every hostile name in turn on lines and units."""
    lines = LINES
    for old, new in zip(("Kick", "Lute", "Choir", "Cue", "Host", "Main"), HOSTILE, strict=False):
        quoted = '"' + new.replace('"', '""') + '"'
        lines = lines.replace(f",{old},", f",{quoted},")
    return outcome_of(lines=lines)


def books() -> Iterator[tuple[str, Edition, str]]:
    for name, outcome in (("small", small()), ("acts", outcome_of()), ("hostile", hostile())):
        for language in ("en", "de"):
            for paper in ("a4", "letter"):
                yield f"{name}-{language}-{paper}", edition_of(outcome, language=language), paper


BOOKS = {name: (edition, paper) for name, edition, paper in books()}
BOOKS["wired-en-a4"] = (edition_of(wired()), "a4")
BOOKS["wired-de-letter"] = (edition_of(wired(), language="de"), "letter")


@pytest.mark.parametrize("name", BOOKS)
def test_no_word_leaves_the_page_or_its_margin(name: str, tmp_path: Path) -> None:
    edition, paper = BOOKS[name]
    found = pages(draw_book(edition, book(edition), PAPERS[paper]), tmp_path)
    assert found
    for page in found:
        outside = [
            word
            for word in page.words
            if word.left < MARGIN_MM - 0.2
            or word.right > page.width - MARGIN_MM + 0.2
            or word.top < 5
            or word.bottom > page.height - 5
        ]
        assert outside == []


def boundaries(table: Table, width_mm: float) -> list[float]:
    """Give where one column ends and the next begins, in millimetres from the paper's edge."""
    data = _table_data(table, width_mm, 1.0)
    at = MARGIN_MM + data["change-width"]
    found = [at] if data["changed"] else []
    for column in data["columns"]:
        at += column["width"]
        found.append(at)
    return found


def straddling(page: Page, bounds: list[float]) -> list[str]:
    """Give the words that lie across a boundary; head and foot of the page left out."""
    inner = [w for w in page.words if 24 < w.top < page.height - 17]
    return [
        f"{word.text} {word.left:.1f}-{word.right:.1f}"
        for word in inner
        for bound in bounds
        if word.left < bound - 0.3 and word.right > bound + 0.3
    ]


@pytest.mark.parametrize(
    "name", ["small-de-a4", "acts-en-letter", "hostile-en-a4", "wired-de-letter"]
)
def test_no_word_leaves_its_cell(name: str, tmp_path: Path) -> None:
    edition, paper_name = BOOKS[name]
    paper = PAPERS[paper_name]
    tables = [(s, t) for s in book(edition) for t in s.tables if t.rows]
    # Every table by itself and without titles, so that all words of the page are its own.
    for sheet, table in tables:
        bare = Table(name=table.name, columns=table.columns, rows=table.rows)
        alone = Sheet(
            name=sheet.name, title="x", for_whom="x", blocks=(bare,), landscape=sheet.landscape
        )
        if any(cell.page_of for row in table.rows for cell in row.cells):
            continue
        across = paper.height_mm if sheet.landscape else paper.width_mm
        bounds = boundaries(table, across - 2 * MARGIN_MM)
        assert bounds[-1] == pytest.approx(across - MARGIN_MM, abs=0.01)
        for page in pages(draw_book(edition, [alone], paper), tmp_path):
            assert straddling(page, bounds) == [], table.name


def test_a_word_too_wide_for_its_cell_is_found_to_be_so(tmp_path: Path) -> None:
    edition = edition_of(outcome_of())
    column = Column(title="A")
    table = Table(
        name="t",
        columns=(column, column),
        rows=(Row(cells=(Cell(text="short"), Cell(text="W" * 30))),),
    )
    sheet = Sheet(name="t", title="x", for_whom="x", blocks=(table,))
    (page,) = pages(draw_book(edition, [sheet], PAPERS["a4"]), tmp_path)
    middle = [word for word in page.words if "WWW" in word.text]
    assert middle
    assert straddling(page, [(middle[0].left + middle[0].right) / 2]) != []


@pytest.mark.parametrize("name", ["small-en-a4", "hostile-de-a4"])
def test_nothing_is_set_below_10_points_and_names_and_spots_in_14(
    name: str, tmp_path: Path
) -> None:
    edition, paper = BOOKS[name]
    sheets = [sheet for sheet in book(edition) if not sheet.pictures]
    found = sizes(draw_book(edition, sheets, PAPERS[paper]), tmp_path)
    assert min(size for used in found.values() for size in used) >= 10
    if name.startswith("small"):
        for text in ("box-1:in-9", "Accordion", "side:in-2", "Voice right"):
            assert 14 in found[text], text


def test_on_a3_all_type_is_a_quarter_larger(tmp_path: Path) -> None:
    edition = edition_of(small())
    sheets = [sheet for sheet in book(edition) if not sheet.pictures]
    found = sizes(draw_book(edition, sheets, PAPERS["a3"]), tmp_path)
    assert min(size for used in found.values() for size in used) >= 12
    # 14 points times 1.25; the program that reads them back gives whole points.
    assert max(found["box-1:in-9"]) in (17, 18)


@pytest.mark.parametrize("name", ["small-en-a4", "small-de-letter", "acts-en-a4"])
def test_every_page_is_numbered_and_says_revision_mark_and_show(name: str, tmp_path: Path) -> None:
    edition, paper = BOOKS[name]
    found = pages(draw_book(edition, book(edition), PAPERS[paper]), tmp_path)
    for number, page in enumerate(found, start=1):
        said = edition.words("said.page", number=number, count=len(found))
        assert said in page.text
        assert page.text.count(edition.status) >= 2
        assert edition.outcome.mark in page.text
        assert edition.show.title in page.text


def test_a_table_that_goes_on_repeats_its_headings(tmp_path: Path) -> None:
    edition = edition_of(small())
    rows = tuple(Row(cells=(Cell(text=f"row-{n}"), Cell(text="x"))) for n in range(200))
    columns = (Column(title="Headword", look=Look.BIG), Column(title="Other"))
    sheet = Sheet(
        name="long",
        title="Long",
        for_whom="us",
        blocks=(Table(name="t", columns=columns, rows=rows),),
    )
    found = pages(draw_book(edition, [sheet], PAPERS["a4"]), tmp_path)
    assert len(found) > 2
    assert all("Headword" in page.text for page in found)
    assert sum(page.text.count("row-") for page in found) == 200


def test_the_cover_gives_the_page_on_which_each_sheet_begins(tmp_path: Path) -> None:
    edition = edition_of(outcome_of())
    sheets = book(edition)
    found = pages(draw_book(edition, sheets, PAPERS["a4"]), tmp_path)
    for title in ("Line check", "Analogue cables", "Equipment"):
        (at,) = [n for n, page in enumerate(found, start=1) if n > 1 and _headed(page, title)]
        assert re.search(rf"{title} .*?\b{at}\b", found[0].text)


def _headed(page: Page, title: str) -> bool:
    """Say whether a page begins with the title, below its running head."""
    top = " ".join(word.text for word in page.words if 20 < word.top < 33)
    return top.startswith(title)


def test_what_people_wrote_is_printed_and_never_run(tmp_path: Path) -> None:
    edition = edition_of(hostile())
    whole = draw_book(edition, [sheet_named(book(edition), "inputs")], PAPERS["a4"])
    text = "".join(page.text for page in pages(whole, tmp_path)).replace(" ", "")
    for name in HOSTILE[:3]:
        assert printable(name).replace(" ", "") in text.replace("\u200b", ""), name


def test_the_same_outcome_gives_the_same_bytes() -> None:
    edition = edition_of(outcome_of())
    first = draw_book(edition, book(edition), PAPERS["a4"])
    again = edition_of(outcome_of())
    assert draw_book(again, book(again), PAPERS["a4"]) == first


def test_only_the_fonts_of_the_package_are_used(tmp_path: Path) -> None:
    import subprocess

    edition = edition_of(hostile())
    path = tmp_path / "book.pdf"
    path.write_bytes(draw_book(edition, book(edition), PAPERS["a4"]))
    done = subprocess.run(["pdffonts", str(path)], capture_output=True, text=True, check=True)
    names = [row.split()[0].partition("+")[2] for row in done.stdout.splitlines()[2:]]
    assert names
    assert all(name.startswith("AtkinsonHyperlegible") for name in names)


# -- labels to scale -----------------------------------------------------------------------------


def test_the_rule_is_100_mm_long_and_labels_have_their_size(tmp_path: Path) -> None:
    edition = edition_of(small())
    pdf = draw_labels(edition, label_strips(edition), PAPERS["a4"])
    (first, *_) = pages(pdf, tmp_path)
    drawn = scan(pdf, tmp_path)
    said = next(word for word in first.words if word.text == "print")
    runs = [run for y in steps(said.bottom, said.bottom + 4) for run in drawn.dark_runs(y)]
    longest = max(right - left for left, right in runs)
    assert longest == pytest.approx(100.0, abs=0.3)
    # The rims of the first strip: eight sockets, 24 mm each.
    box = next(word for word in first.words if word.text == "box-1:")
    rims = drawn.dark_runs(box.bottom + 5.0)
    middles = [(left + right) / 2 for left, right in rims if right - left < 0.6]
    pitch = [b - a for a, b in itertools.pairwise(middles)]
    assert len([gap for gap in pitch if gap == pytest.approx(SOCKET_MM[0], abs=0.1)]) >= 1


def steps(low: float, high: float) -> list[float]:
    return [low + n * 0.04 for n in range(int((high - low) / 0.04))]


@pytest.mark.parametrize("paper", ["a4", "letter"])
@pytest.mark.parametrize("outcome", [small(), hostile()], ids=["small", "hostile"])
def test_no_word_leaves_the_label_sheet(outcome: Outcome, paper: str, tmp_path: Path) -> None:
    edition = edition_of(outcome)
    for page in pages(draw_labels(edition, label_strips(edition), PAPERS[paper]), tmp_path):
        assert [w for w in page.words if w.left < 7.8 or w.right > page.width - 7.8] == []


def test_both_ends_of_a_cable_get_the_same_flag_with_both_places() -> None:
    edition = edition_of(small())
    (flags,) = [s for s in label_strips(edition) if s.of == "flags"]
    assert (flags.width_mm, flags.height_mm) == FLAG_MM
    said = [(label.big, label.small, label.below) for label in flags.labels]
    assert said.count(("9 Fiddle", "Stage left", "side:in-3 Wings")) == 2
    assert len(said) == 2 * len({(lead.place, lead.spot) for lead in small().figures.leads})


def test_where_acts_have_other_names_each_act_has_its_own_strip() -> None:
    strips = [s for s in label_strips(edition_of(outcome_of())) if s.of == "box-1"]
    said = {s.title: [(x.corner, x.big) for x in s.labels if x.big] for s in strips}
    assert said == {
        "box-1: Sockets in, 24 mm a socket · Early set": [
            ("1", "Kick"),
            ("2", "Lute"),
            ("3", "Host"),
        ],
        "box-1: Sockets in, 24 mm a socket · late": [
            ("1", "Kick"),
            ("2", "Choir"),
            ("3", "Host"),
            ("4", "Cue"),
        ],
        "box-1: Sockets out, 24 mm a socket": [("1", "Main")],
    }


def test_labels_that_changed_have_a_thick_rim() -> None:
    before = issued_of(lines=LINES.replace("Host", "Guest"))
    edition = edition_of(outcome_of(issued=before), before=before)
    marked = {
        label.big for strip in label_strips(edition) for label in strip.labels if label.change
    }
    assert marked == {"Host", "9 Host"}


# -- for readers who don't see -------------------------------------------------------------------


@pytest.mark.parametrize("name", ["small-en-a4", "hostile-de-a4"])
def test_the_book_is_valid_pdf_ua(name: str) -> None:
    page = pytest.importorskip("page", reason="page-validation (a validator of PDF/UA)")
    edition, paper = BOOKS[name]
    for pdf in (
        draw_book(edition, book(edition), PAPERS[paper]),
        draw_labels(edition, label_strips(edition), PAPERS[paper]),
    ):
        report = page.validate_pdf_bytes(pdf, profile="ua1")
        assert [failure.message for failure in report.failures] == []
        assert report.is_compliant


def test_the_validator_finds_a_file_without_tags() -> None:
    import typst

    page = pytest.importorskip("page", reason="page-validation (a validator of PDF/UA)")
    untagged = typst.Compiler().compile(b"= Title", format="pdf", pdf_tags=False)
    assert not page.validate_pdf_bytes(untagged, profile="ua1").is_compliant


def luminance(colour: str) -> float:
    """Give the relative luminance of a colour (WCAG 2.2, from memory)."""
    parts = [int(colour[n : n + 2], 16) / 255 for n in (1, 3, 5)]
    linear = [p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(a: str, b: str) -> float:
    light, dark = sorted((luminance(a), luminance(b)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def test_all_type_has_a_contrast_of_7_to_1_in_grey(root: Path) -> None:
    template = (root / "src/lineproof/paper/book.typ").read_text("utf-8")
    colours = dict(re.findall(r'#let ([\w-]+) = rgb\("(#[0-9a-f]{6})"\)', template))
    assert {re.sub("[0-9a-f#]", "", c) for c in colours.values()} == {""}
    # Rules are no type; everything else is either type on white, or what black type stands on.
    assert contrast(colours["quiet"], "#ffffff") >= 7
    assert contrast("#000000", colours["head-fill"]) >= 7
    assert all(len({c[1:3], c[3:5], c[5:7]}) == 1 for c in colours.values()), "grey only"
    assert "rgb(" not in re.sub(r'#let [\w-]+ = rgb\("#[0-9a-f]{6}"\)', "", template)


def test_the_template_fetches_nothing(root: Path) -> None:
    template = (root / "src/lineproof/paper/book.typ").read_text("utf-8")
    assert "import" not in template
    assert "eval" not in template
    assert "read(" not in template


# -- widths --------------------------------------------------------------------------------------


def test_widths_fill_the_sheet_and_no_column_is_narrower_than_its_words() -> None:
    for sheet in book(edition_of(small())):
        for table in sheet.tables:
            widths = fit.column_widths(table, 186.0)
            assert sum(widths) == pytest.approx(186.0)
            least = [fit._wish(c, table, n).least for n, c in enumerate(table.columns)]
            if sum(least) <= 186.0:
                assert all(w >= m - 1e-6 for w, m in zip(widths, least, strict=True))
