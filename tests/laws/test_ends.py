"""Every line ends in exactly its ends, by hops that exist, and no spot carries two lines."""

from __future__ import annotations

from hypothesis import assume, event, given, settings

from lineproof.base.spot import Side, Spot
from lineproof.decide.decide import decide
from lineproof.graph.signal import By, Way, ways
from lineproof.kit.kinds import Does
from lineproof.plan.model import Plan
from lineproof.show.model import Line, Show
from tests.second.draw import Text, roomy_texts, texts


def plan_of(show: Show) -> Plan:
    plan = decide(show).plan
    assume(plan is not None)
    assert plan is not None
    return plan


def ends_rightly(show: Show, end: str, last: Spot) -> bool:
    """Say whether a way that ends at `last` has arrived at `end`, as the show means it."""
    unit = show.units.get(end)
    if unit is None:
        return last.side is Side.OUT
    if unit.kind.does is Does.BOX:
        return (last.unit, last.side) == (end, Side.OUT)
    if show.count(unit, Side.RECEIVE):
        side = Side.STRIP if unit.kind.strips else Side.RECEIVE
        return (last.unit, last.side) == (end, side)
    return (last.unit, last.side) == (end, Side.IN)


def starts_rightly(show: Show, line: Line, way: Way) -> bool:
    unit = show.units.get(line.starts[0].name)
    first = way.spots[0]
    if unit is None:
        return first.side is Side.IN
    if unit.kind.does is Does.BOX:
        return (first.unit, first.side) == (unit.name, Side.IN)
    if not show.count(unit, Side.SEND):
        return (first.unit, first.side) == (unit.name, Side.OUT)
    # Inside a mixer: it leaves by a send channel, or by the mixer's own sockets.
    leaves = first.side is Side.SEND or {s.unit for s in way.spots[:1]} == {unit.name}
    return first.unit == unit.name and leaves


def hop_exists(hop_by: By, a: Spot, b: Spot) -> bool:
    match hop_by:
        case By.LEAD:
            return a.unit != b.unit and (a.side, b.side) == (Side.OUT, Side.IN)
        case By.NETWORK:
            return a.unit != b.unit and (a.side, b.side) == (Side.SEND, Side.RECEIVE)
        case By.INSIDE:
            into = (Side.IN, Side.RECEIVE)
            return a.unit == b.unit and a.side in into and b.side not in into


def holds(show: Show, plan: Plan) -> None:
    assert [line.key for line in plan.lines] == [line.key for line in show.lines]
    for line, decided in zip(show.lines, plan.lines, strict=True):
        wanted = {str(m) for e in line.ends for m in e.members}
        may_go = {str(m) for e in line.ends for m in e.members if e.want or line.need.can_go}
        left_out = set(decided.left_out)
        assert left_out <= may_go
        found = list(ways(show, decided))
        assert sorted(way.end for way in found) == sorted(wanted - left_out)
        for way in found:
            assert way.start == str(line.starts[0])
            assert starts_rightly(show, line, way), way
            assert ends_rightly(show, way.end, way.spots[-1]), way
            assert all(hop_exists(h.by, h.from_spot, h.to_spot) for h in way.hops()), way
            assert all(1 <= s.number <= show.count(show.units[s.unit], s.side) for s in way.spots)


@settings(max_examples=60)
@given(text=texts())
def test_every_line_ends_in_exactly_its_ends(text: Text) -> None:
    show = text.show()
    holds(show, plan_of(show))


@settings(max_examples=40)
@given(text=roomy_texts())
def test_with_room_nothing_is_left_out(text: Text) -> None:
    show = text.show()
    plan = plan_of(show)
    holds(show, plan)
    assert not [line for line in plan.lines if line.left_out]


@settings(max_examples=60)
@given(text=texts())
def test_no_spot_carries_two_lines(text: Text) -> None:
    show = text.show()
    carried: dict[Spot, str] = {}
    for decided in plan_of(show).lines:
        # Channels that a box's sockets imply count as well as those written down.
        spots = {*decided.spots(), *(s for way in ways(show, decided) for s in way.spots)}
        for spot in spots:
            assert spot not in carried, f"{spot} carries {carried[spot]} and {decided.key}"
            carried[spot] = str(decided.key)


@settings(max_examples=40)
@given(text=texts(pins=True))
def test_pins_are_kept(text: Text) -> None:
    assume(text.pins)
    show = text.show()
    plan = plan_of(show)
    for pin in show.pins:
        line = plan.line(pin.line)
        assert line is not None
        if pin.spot.side is Side.IN and line.start:
            assert pin.spot in list(line.spots())
            event("a socket")
        elif pin.spot.side is Side.RECEIVE and "desk" in line.ends:
            assert pin.spot in line.ends["desk"]
            event("a channel")
