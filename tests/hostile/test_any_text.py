"""Any text at all, and any tree of our own words, reads as a show or is told about."""

from __future__ import annotations

import json
import tempfile
from pathlib import Path
from typing import Any

import pytest
import yaml
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from lineproof.base.rule import EXAMPLE_LINES, EXAMPLE_SHOW
from lineproof.cli.tell import findings_data
from lineproof.show.canonical import mark
from lineproof.show.read import Reading, read_show
from lineproof.show.words import LINE, SECTIONS
from tests.hostile.test_mangled import hold

KEYS = sorted({key for section in SECTIONS.values() for key in section})
VALUES = (
    *("stage", "front", "desk", "desk:1-2", "rec-1|desk", "box-1:in-3", "box-1..box-3", "pa?"),
    *("box-16-8", "mixer-32", "48 kHz", "3 m", "yes", "no", "must", "want", "one", "two", "1"),
    *("5/6", "L", "stereo", "tbc", "n/a", "lines.csv", "house", "a", "?", "|", ":", "..", "0x1"),
)
words = st.one_of(st.sampled_from(VALUES), st.text(max_size=8))
trees = st.recursive(
    words,
    lambda inner: st.one_of(
        st.lists(inner, max_size=3),
        st.dictionaries(st.one_of(st.sampled_from(KEYS), words), inner, max_size=4),
    ),
    max_leaves=12,
)
shows = st.dictionaries(st.sampled_from(sorted(SECTIONS["show"])), trees, min_size=1, max_size=5)
cells = st.one_of(
    words, st.text(st.sampled_from("\"'#;,|\t \r\0\ufeff\u202e\x1b=~<>é🥁"), max_size=4)
)
rows = st.lists(st.lists(cells, max_size=6), max_size=6)


def read(show: bytes, lines: bytes) -> Reading:
    """Read such a show; what is told of it is good JSON, and good text."""
    with tempfile.TemporaryDirectory() as folder:
        (Path(folder) / "show.yaml").write_bytes(show)
        (Path(folder) / "lines.csv").write_bytes(lines)
        reading = read_show(Path(folder))
    hold(reading)
    told = json.dumps(findings_data(reading.findings), ensure_ascii=False).encode()
    assert len(json.loads(told)) == len(reading.findings)
    assert reading.show is None or len(mark(reading.show)) == 9
    return reading


@given(show=st.binary(max_size=200), lines=st.binary(max_size=200))
def test_any_bytes(show: bytes, lines: bytes) -> None:
    read(show, EXAMPLE_LINES.encode())
    read(EXAMPLE_SHOW.encode(), lines)


@given(show=shows)
def test_any_tree_of_our_words_beside_a_good_show(show: dict[str, Any]) -> None:
    whole = {**yaml.load(EXAMPLE_SHOW, Loader=yaml.BaseLoader), **show}
    read(yaml.safe_dump(whole, allow_unicode=True).encode(), EXAMPLE_LINES.encode())


@given(rows=rows, heading=st.lists(st.sampled_from(sorted(LINE)), max_size=6))
def test_any_rows_under_any_headings(rows: list[list[str]], heading: list[str]) -> None:
    table = "\n".join(",".join(row) for row in [["number", *heading], *rows])
    read(EXAMPLE_SHOW.encode(), table.encode("utf-8", "surrogatepass"))


@pytest.mark.soak
@settings(max_examples=20_000, suppress_health_check=list(HealthCheck))
@given(show=shows, rows=rows, heading=st.lists(st.sampled_from(sorted(LINE)), max_size=6))
def test_any_tree_with_any_rows(
    show: dict[str, Any], rows: list[list[str]], heading: list[str]
) -> None:
    whole = {**yaml.load(EXAMPLE_SHOW, Loader=yaml.BaseLoader), **show}
    table = "\n".join(",".join(row) for row in [["number", *heading], *rows])
    read(yaml.safe_dump(whole, allow_unicode=True).encode(), table.encode("utf-8", "surrogatepass"))
