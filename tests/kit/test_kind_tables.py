"""A show adds a kind or changes one, and every mistake in it is told at once."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lineproof.base.spot import Side
from lineproof.kit.kinds import Does, Kind, Port, Signal, Socket
from lineproof.kit.load import (
    KitError,
    kind_for_show,
    kind_from_table,
    kind_to_table,
    load_kit,
    read_kinds,
)

KIT = load_kit()
every_kind = pytest.mark.parametrize("kind", KIT.kinds.values(), ids=lambda kind: kind.name)

anything = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=8),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=8), inner),
    max_leaves=6,
)


def told(table: object, base: Kind | None = None) -> list[str]:
    _, mistakes = kind_from_table("mine", table, base)
    return [str(mistake) for mistake in mistakes]


@every_kind
def test_a_kind_comes_back_from_its_table(kind: Kind) -> None:
    assert kind_from_table(kind.name, kind_to_table(kind)) == (kind, [])


@every_kind
def test_a_kind_comes_back_from_what_it_changes_in_another(kind: Kind) -> None:
    base = KIT.kinds["recorder-64"]
    assert kind_from_table(kind.name, kind_to_table(kind, base), base) == (kind, [])


def test_a_show_changes_one_figure_and_keeps_the_rest() -> None:
    kind, mistakes = kind_for_show(KIT, "box-16-8", {"supplies": 2})
    usual = KIT.kinds["box-16-8"]
    assert mistakes == []
    assert kind is not None
    assert (kind.supplies, kind.sockets, kind.worst_w) == (2, usual.sockets, usual.worst_w)
    assert usual.supplies == 1


def test_a_show_starts_a_kind_from_another() -> None:
    kind, mistakes = kind_for_show(KIT, "our-box", {"like": "BOX-16-8", "poe-class": 8})
    assert mistakes == []
    assert kind is not None
    assert (kind.name, kind.poe_class, kind.does) == ("our-box", 8, Does.BOX)


def test_a_show_describes_a_kind_from_nothing() -> None:
    table = {
        "label": "Pulpit plate",
        "does": "box",
        "sockets": [
            {"side": "in", "count": 2, "signal": "mic", "connector": "XLR 3", "phantom": "yes"},
            {"side": "out", "signal": "line", "connector": "XLR 3", "most-dbu": "18 dBu"},
            {"side": "in", "signal": "line", "connector": "jack 6.3 mm"},
        ],
        "send": {"48 kHz": 3},
        "receive": {48000: 1},
        "ports": {"medium": "copper", "speed-mbit": 100},
    }
    table["ports"] = [table["ports"]]
    kind, mistakes = kind_from_table("plate", table)
    assert mistakes == []
    assert kind is not None
    assert [(s.side, s.number, s.phantom) for s in kind.sockets] == [
        (Side.IN, 1, True),
        (Side.IN, 2, True),
        (Side.OUT, 1, False),
        (Side.IN, 3, False),
    ]
    assert kind.sockets[2].most_dbu == 18
    assert (kind.send, kind.receive) == ({48_000: 3}, {48_000: 1})
    assert kind.ports == (Port(number=1, medium="copper", speed_mbit=100),)


@pytest.mark.parametrize(
    ("key", "written", "field", "read"),
    [
        ("worst-w", "1,2 kW", "worst_w", 1200),
        ("start-s", "1.5 min", "start_s", 90),
        ("packet-ms", ["125 us", 1], "packet_ms", (0.125, 1)),
        ("mass-kg", "800 g", "mass_kg", 0.8),
        ("practice", "size power", "practice", ("power", "size")),
        ("clock", "none", "clock", None),
        ("spare-takes-over", "none", "spare_takes_over", ""),
        ("inside-patch", "no", "inside_patch", False),
        ("supplies", "2", "supplies", 2),
        ("send", {"44.1 kHz": 4}, "send", {44_100: 4}),
    ],
)
def test_figures_are_read_as_people_write_them(
    key: str, written: object, field: str, read: object
) -> None:
    kind, mistakes = kind_from_table(
        "mine", {key: written, "programme-w": 0}, KIT.kinds["box-16-8"]
    )
    assert mistakes == []
    assert getattr(kind, field) == read


BOX = KIT.kinds["box-16-8"]


@pytest.mark.parametrize(
    ("table", "message"),
    [
        ({"suplies": 2}, "unknown key 'suplies'; expected a key of a kind, perhaps 'supplies'"),
        (
            {"inside_patch": True},
            "unknown key 'inside_patch'; expected a key of a kind, perhaps 'inside-patch'",
        ),
        ({"supplies": 9}, "supplies is 9; expected a whole number from 0 to 4"),
        ({"supplies": 1.5}, "supplies is 1.5; expected a whole number from 0 to 4"),
        ({"supplies": True}, "supplies is yes; expected a whole number from 0 to 4"),
        ({"mass-kg": "heavy"}, "mass-kg is 'heavy'; expected a figure in kg from 0 to 10000"),
        ({"mass-kg": "3 m"}, "mass-kg is '3 m'; expected a figure in kg from 0 to 10000"),
        ({"mass-kg": float("nan")}, "mass-kg is nan; expected a figure in kg from 0 to 10000"),
        ({"mass-kg": None}, "mass-kg is nothing; expected a figure in kg from 0 to 10000"),
        ({"managed": "maybe"}, "managed is 'maybe'; expected yes or no"),
        (
            {"port-modes": ["chian"]},
            "port-modes is a list of 1; expected words of pair or chain, perhaps 'chain'",
        ),
        (
            {"send": {"fast": 8}},
            "send.fast is 'fast'; expected sample rates before the colons, as in 48000",
        ),
        (
            {"send": {48000: "many"}},
            "send.48000 is 'many'; expected a whole number of channels from 0 to 1024",
        ),
        ({"sockets": {}}, "sockets is an empty table; expected a list of sockets, at most 256"),
        (
            {"sockets": [{"side": "inn", "signal": "mic", "connector": "XLR 3"}]},
            "sockets[0].side is 'inn'; expected one of in or out, perhaps 'in'",
        ),
        (
            {"sockets": [{"side": "in", "signal": "mic"}]},
            "sockets[0] has no connector; expected a text",
        ),
        (
            {"sockets": [{"side": "in", "signal": "mic", "connector": "XLR 3", "count": 5000}]},
            "sockets[0].count is 5000; expected a whole number from 1 to 1024",
        ),
        (
            {"sockets": [{"side": "out", "signal": "mic", "connector": "XLR 3", "joins": 3}]},
            "out-1 joins input 3; expected an input to join",
        ),
        (
            {"ports": [{"medium": "copper", "speed-mbit": 1000, "count": 600}] * 2},
            "ports[1].count is 600; expected at most 1024 in all its groups together",
        ),
        ({"numbering": {"inputs": 16}}, "numbering has no outputs; expected a whole number"),
        ({"clock": {"class": 6, "accuracy": "good"}}, "clock.accuracy is 'good'; expected one of"),
        ({"programme-w": 61}, "programme-w is 61; expected at most worst-w, which is 60"),
        (
            {"poe-class": 3},
            "worst-w is 60; expected at most 12.95, which is what a device of poe-class 3 may draw",
        ),
        ({"ports": []}, "it sends or receives and has no ports; expected a port for its channels"),
        (
            {"ports": [{"medium": "copper", "speed-mbit": 1000}]},
            "port-modes is pair chain and it has 1 port; expected two ports for a pair or a chain",
        ),
        ({"passive": True}, "passive is yes; expected no for a kind with power, ports or channels"),
        ([1], "it is a list of 1; expected a table of keys of a kind"),
    ],
)
def test_a_mistake_says_what_was_read_and_what_was_expected(table: object, message: str) -> None:
    assert told(table, BOX)[0].startswith(message)


def test_all_mistakes_are_told_at_once_with_the_way_to_each() -> None:
    table = {
        "like": "box-16-9",
        "sockets": [{"side": "in", "signal": "mike", "connector": "XLR 3"}, 7],
        "supplies": -1,
    }
    kind, mistakes = kind_for_show(KIT, "mine", table)
    assert [mistake.path for mistake in mistakes] == [
        ("like",),
        ("sockets", 0, "signal"),
        ("sockets", 1),
        ("supplies",),
    ]
    assert mistakes[0].expected == "a kind of the catalogue, perhaps 'box-16-8'"
    assert kind is None


def test_a_slip_in_one_key_leaves_the_kind_usable() -> None:
    kind, mistakes = kind_from_table("mine", {"supplies": "two", "rack-units": 4}, BOX)
    assert len(mistakes) == 1
    assert kind is not None
    assert (kind.supplies, kind.rack_units) == (BOX.supplies, 4)


def test_a_kind_from_nothing_must_say_what_it_does() -> None:
    kind, mistakes = kind_from_table("mine", {"label": "Something"})
    assert kind is None
    assert [str(mistake)[:38] for mistake in mistakes] == ["a kind has no does; expected one of bo"]


@given(table=anything | st.dictionaries(st.sampled_from(list(kind_to_table(BOX))), anything))
def test_whatever_a_show_holds_nothing_raises(table: object) -> None:
    kind, mistakes = kind_from_table("mine", table, BOX)
    assert mistakes or isinstance(kind, Kind)


@given(
    groups=st.lists(
        st.tuples(st.sampled_from([Side.IN, Side.OUT]), st.booleans(), st.integers(1, 4)),
        max_size=6,
    )
)
def test_sockets_come_back_whatever_their_order(groups: list[tuple[Side, bool, int]]) -> None:
    reached = {Side.IN: 0, Side.OUT: 0}
    sockets: list[Socket] = []
    for side, phantom, count in groups:
        for _ in range(count):
            reached[side] += 1
            sockets.append(
                Socket(
                    number=reached[side],
                    side=side,
                    signal=Signal.MIC,
                    connector="XLR 3",
                    phantom=phantom,
                )
            )
    kind = Kind(name="mine", label="Mine", does=Does.BOX, sockets=tuple(sockets))
    assert kind_from_table("mine", kind_to_table(kind)) == (kind, [])


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ('[a]\ndoes = "box"\nsuplies = 2', "[a] unknown key 'suplies'; expected a key of a kind"),
        ('[a]\nlike = "b"', "[a] like: 'b' stands in no table before it"),
        ('["a b"]\ndoes = "box"', "[a b]: a name can't hold ' '"),
        ('[box-16-8]\ndoes = "box"', "[box-16-8]: stands twice in the catalogue"),
        ("[a]", "[a] a kind has no does"),
    ],
)
def test_a_bug_in_the_catalogue_is_named_by_table_and_key(text: str, message: str) -> None:
    with pytest.raises(KitError) as caught:
        read_kinds(text, dict(KIT.kinds))
    assert message in str(caught.value)
