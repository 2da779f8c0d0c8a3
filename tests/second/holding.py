"""Holding a decision of the planner against everything that was tried."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from lineproof.base.spot import Side, Spot
from lineproof.decide.decide import Decision
from lineproof.plan.model import Plan
from tests.second.exhaustive import Case, Score, read_off
from tests.second.running import previous
from tests.second.wires import Wire

#: The terms that have a bound only together.
METRES = ("leads", "groups", "off number", "moves")


def claimed(decision: Decision) -> Score:
    """Give what the planner says its plan comes to."""
    terms = {term.name: term.value for term in decision.terms}
    return Score(
        left_out=round(terms["left out"]),
        moved=round(terms["labels moved"]),
        apart=round(terms["pairs apart"]),
        bunched=round(terms["bunched"]),
        leads_mm=round(terms["leads"] * 1000),
        groups_mm=round(terms["groups"] * 1000),
        off_number_mm=round(terms["off number"] * 1000),
        moves_mm=round(terms.get("moves", 0) * 1000),
    )


def hold_against_everything(case: Case, decision: Decision) -> str:
    """Fail where the planner's answer is not legal, not true or not the best; gives which it is."""
    best = case.best()
    if not best:
        assert decision.plan is None, "there is no plan, but here is one"
        assert any(f.grade.value == "stop" for f in decision.findings)
        return "no plan"
    assert decision.plan is not None, [str(f) for f in decision.findings]
    says = claimed(decision)
    # What it says of its plan is true of the plan as written, numbers and all …
    placing, gone, channels = read_off(case, decision.plan)
    written = case.score(placing, gone, channels)
    routes_mm = round(case.show.weights.move_m * 1000) * routes_moved(case, decision.plan)
    written = replace(written, moves_mm=written.moves_mm + routes_mm)
    if case.earlier.lines and not case.show.acts:
        # It reckons with a channel kept for a line that went, or had to go, as if nobody else
        # could get it; where no other is left somebody does, and may even be on number by it.
        assert written.off_number_mm <= says.off_number_mm
        written = replace(written, off_number_mm=says.off_number_mm)
    assert replace(says, roles_apart=written.roles_apart) == written, (says, written)
    # … the plan is legal, and nothing better is.
    assert_each_hears_one(case, decision.plan)
    assert any(dict(p) == dict(placing) for p in case.placings(gone)), placing
    assert written.wishes() == best[0].wishes(), (written, best)
    if not (case.show.acts and case.earlier.lines):
        # What a channel kept for a socket costs whoever follows in it depends on who goes where.
        assert written.order() == best[0].order(), (written, best)
    if not case.show.acts:
        assert written in best
    for term in decision.terms:
        if term.name == "sum" and case.show.acts:
            # Between acts the bound may stay below the best, but never above it.
            assert term.bound is not None
            assert term.bound <= term.value + 1e-6, term
        else:
            assert term.name in METRES or term.proven, term
    return "planned"


# -- routes, read off the plan as written ------------------------------------------------------


def assert_each_hears_one(case: Case, plan: Plan) -> None:
    """Fail where a receive channel would hear two sends at once, or in one night."""
    moments = [{act.name for act in case.show.acts} | {""}]
    if case.show.routes == "per-act":
        moments = [set(moment) for moment in case.time.moments]
    for moment in moments:
        heard: dict[Spot, Spot] = {}
        for wire in case.wires:
            for receiver, sender in _routes(wire, plan) if wire.line.key.act in moment else ():
                assert heard.setdefault(receiver, sender) == sender, (receiver, sender)


def routes_moved(case: Case, plan: Plan) -> int:
    """Give how often a receive channel last heard another send, before an act that follows one."""
    if case.show.routes != "per-act":
        return 0
    last: dict[Spot, Spot] = {}
    count = 0
    for act in case.show.acts:
        wires = [w for w in case.wires if w.line.key.act in ("", act.name)]
        now = dict(route for wire in wires for route in _routes(wire, plan))
        if previous(case.show, act) is not None:
            count += sum(1 for to, at in now.items() if last.get(to, at) != at)
        last.update(now)
    return count


def _routes(wire: Wire, plan: Plan) -> Iterator[tuple[Spot, Spot]]:
    """Give (receive channel, send channel) of every route of a line; socket n is channel n."""
    decided = plan.line(wire.line.key)
    assert decided is not None
    start = decided.start.get(wire.strand or str(wire.line.starts[0]), ())
    if not start:
        return
    sender = _channel(start[-1])
    for part in wire.parts:
        spots = decided.ends.get(part, ())
        if spots and spots[0].unit != sender.unit:
            yield _channel(spots[0]), sender


def _channel(spot: Spot) -> Spot:
    channels = {Side.IN: Side.SEND, Side.OUT: Side.RECEIVE}
    return replace(spot, side=channels.get(spot.side, spot.side))
