"""Every key is declared once, and what people read of the catalogue comes from there."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import fields

import pytest

from lineproof.base.spot import Side
from lineproof.kit import words
from lineproof.kit.explain import explain_kind, kit_page, list_kinds
from lineproof.kit.kinds import ClockFacts, Does, Kind, Numbering, Port, Socket, Source
from lineproof.kit.load import load_kit
from lineproof.kit.word import Word

KIT = load_kit()


@pytest.mark.parametrize(
    ("of", "table", "beside"),
    [
        # `name` is the table's own; `number` follows from the order; `count` is the group's.
        (Kind, words.KIND_WORDS, {"name"}),
        (Socket, words.SOCKET_WORDS, {"number"}),
        (Port, words.PORT_WORDS, {"number"}),
        (Numbering, words.NUMBERING_WORDS, set()),
        (ClockFacts, words.CLOCK_WORDS, set()),
        (Source, words.SOURCE_WORDS, {"name"}),
    ],
)
def test_every_field_has_its_key(
    of: type[Kind], table: Mapping[str, Word], beside: set[str]
) -> None:
    keys = {word.into for word in table.values() if word.key != "count"}
    assert keys == {field.name for field in fields(of)} - beside


def test_figures_belong_to_groups_that_practice_can_name() -> None:
    tables = (words.KIND_WORDS, words.SOCKET_WORDS, words.PORT_WORDS)
    groups = {word.group for table in tables for word in table.values() if word.group}
    assert groups == set(words.GROUPS)


def test_power_over_the_cable_is_as_the_standard_has_it() -> None:
    # IEEE 802.3 clauses 33 and 145, device side, in W (from memory).
    expected = [12.95, 3.84, 6.49, 12.95, 25.5, 40.0, 51.0, 62.0, 71.3]
    assert [words.POE_DEVICE_W[c] for c in range(9)] == expected


def test_a_split_is_explained_leg_by_leg() -> None:
    rows = explain_kind(KIT.kinds["split-1-3"])
    assert [text for key, text in rows if key == "sockets"] == [
        "in-1: mic, XLR 3, at most 10 dBu",
        "out-1: mic, XLR 3, wired to in-1",
        "out-2: mic, XLR 3, wired to in-1, through a transformer",
        "out-3: mic, XLR 3, wired to in-1, through a transformer",
    ]


def test_an_explanation_speaks_of_every_key_but_those_of_nothing() -> None:
    rows = dict(explain_kind(KIT.kinds["switch-8-poe"]))
    assert rows["ports"] == "8 copper, 1000 Mbit/s, feeds 30 W"
    assert rows["poe-budget-w"] == "120 W"
    assert rows["managed"] == "yes"
    assert "send" not in rows


def test_supplies_are_told_even_where_they_are_usual() -> None:
    rows = dict(explain_kind(KIT.kinds["box-16-8"]))
    assert rows["supplies"] == "1"


def test_kinds_are_listed_by_purpose() -> None:
    names = [name for name, _, _ in list_kinds(KIT, Does.CLOCK)]
    assert names == ["grandmaster-clock", "house-clock"]
    assert [row[0] for row in list_kinds(KIT)] == list(KIT.kinds)


def test_the_list_counts_what_the_kind_has() -> None:
    (row,) = [row for row in list_kinds(KIT) if row[0] == "mixer-16"]
    assert row[2] == "16 in, 8 out, 16 send at 48 kHz, 16 receive at 48 kHz, 32 strips, 2 ports"


def test_the_page_names_every_kind_key_and_word() -> None:
    page = kit_page(KIT)
    assert [kind for kind in KIT.kinds if f"| `{kind}` |" not in page] == []
    assert [key for key in words.KIND_WORDS if f"| `{key}` |" not in page] == []
    assert [w for s in KIT.sources.values() for w in s.words if w not in page] == []


def test_every_row_of_a_table_on_the_page_has_as_many_cells() -> None:
    for block in kit_page(KIT).split("\n\n"):
        if block.startswith("|"):
            assert len({row.count(" | ") for row in block.strip().split("\n")}) == 1


def test_a_kind_can_be_a_key() -> None:
    box = KIT.kinds["box-16-8"]
    assert {box: "here"}[box] == "here"
    assert box.count(Side.SEND, 48_000) == 16
