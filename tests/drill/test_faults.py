"""Names of faults: read, printed, and mended where they are nearly right."""

from __future__ import annotations

import pytest

from lineproof.drill.dead import Shared, what_dies
from lineproof.graph.faults import Fault, FaultError, faults, mistakes, parse_fault, things
from tests.drill.shows import ROOM, ready


@pytest.mark.parametrize("name", ["small", "hall", ROOM])
def test_every_fault_is_read_back_from_its_name(name: str) -> None:
    known = ready(name)
    listed = (*faults(known.show, known.network), *mistakes(known.show, known.plan))
    assert len(set(map(str, listed))) == len(listed)
    for fault in listed:
        assert parse_fault(str(fault).upper(), known.show, known.plan) == fault


def test_only_dips_are_not_things_that_stay_broken() -> None:
    known = ready(ROOM)
    listed = faults(known.show, known.network)
    rest = set(listed) - set(things(known.show, known.network))
    assert {fault.what for fault in rest} == {"dip"}


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("box-12", "there is no unit 'box-12'; did you mean 'box-"),
        ("left", "there is no unit 'left'; did you mean circuit:left?"),
        ("circuit:rihgt", "there is no circuit 'rihgt'; did you mean 'circuit:right'?"),
        ("supply:box-1/1", "there is no supply 'box-1/1'; there are desk/1, desk/2"),
        ("circut:left", "'circut:left' is no fault: 'circut' is nothing that fails; "),
        ("net:c", "there is no net 'c'; there are a, b"),
    ],
)
def test_a_wrong_name_says_what_was_perhaps_meant(text: str, message: str) -> None:
    known = ready(ROOM)
    with pytest.raises(FaultError) as caught:
        parse_fault(text, known.show, known.plan)
    assert str(caught.value).startswith(message)


def test_any_two_numbered_boxes_can_be_given_one_number() -> None:
    known = ready("hall")
    text = "mistake:same-number:box-1/box-3"
    assert str(parse_fault(text, known.show, known.plan)) == text


def test_what_two_switches_feed_dies_with_both_and_takes_along_what_it_feeds() -> None:
    """A station fed from both nets, and a light that the station feeds on."""
    shared = Shared(
        sources={
            "station": (("feed", "run-a", "sw-a"), ("feed", "run-b", "sw-b")),
            "light": (("feed", "run-c", "station"),),
        },
        leaning={
            ("run", "run-a"): ("station",),
            ("unit", "sw-a"): ("station",),
            ("run", "run-b"): ("station",),
            ("unit", "sw-b"): ("station",),
            ("unit", "station"): ("light",),
            ("run", "run-c"): ("light",),
        },
        takes={},
        downstream={},
    )
    one = Fault(what="unit", name="sw-a")
    other = Fault(what="run", name="run-b")
    assert what_dies(shared, [one]).unpowered == frozenset()
    assert what_dies(shared, [other]).unpowered == frozenset()
    assert what_dies(shared, [one, other]).unpowered == {"station", "light"}
