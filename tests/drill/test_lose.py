"""What a dead unit or circuit does to lines, on shows small enough to see it."""

from __future__ import annotations

from itertools import pairwise
from pathlib import Path

import networkx as nx

from lineproof.base.spot import LineKey
from lineproof.decide.decide import decide
from lineproof.drill.lose import lose
from lineproof.drill.verdict import State
from lineproof.graph.faults import Fault, dead_units, faults
from lineproof.graph.signal import ways
from lineproof.kit.kinds import Does
from lineproof.plan.model import Plan
from lineproof.show.model import Show
from lineproof.show.read import read_files, read_show

SHOW = """\
title: Drill
rate: 48 kHz
places:
  stage: {at: [0, 0, 0]}
  front: {at: [0, 20, 0]}
circuits:
  feed: {supply: 230 V}
  left: {fed-by: feed, supply: 230 V}
  other: {supply: 230 V}
units:
  box-1: {kind: box-16-8, place: stage, number: 1, circuit: left}
  desk: {kind: mixer-32, place: front, circuit: [left, other]}
  rec-1: {kind: computer-32, place: front, circuit: left}
  rec-2: {kind: computer-32, place: front, circuit: other}
  sw-1: {kind: switch-8, place: front, circuit: other}
lines:
  - {number: 1, name: Kick, from: box-1, source: dynamic mic, to: desk rec-1|rec-2}
"""


def planned(text: str) -> tuple[Show, Plan]:
    show = read_files({"show.yaml": text}).show
    assert show is not None
    plan = decide(show).plan
    assert plan is not None
    return show, plan


def state(name: str) -> State:
    show, plan = planned(SHOW)
    what, _, bare = name.rpartition(":")
    return lose(show, plan, Fault(what=what or "unit", name=bare)).verdicts[0].state


def test_a_dead_box_takes_its_lines() -> None:
    assert state("box-1") is State.LOST


def test_one_of_two_recorders_will_do() -> None:
    assert state("rec-2") is State.OTHER_END


def test_a_dead_feed_takes_what_hangs_on_what_it_feeds() -> None:
    assert state("circuit:feed") is State.LOST


def test_a_unit_with_two_supplies_lives_on_either() -> None:
    show, _ = planned(SHOW)
    assert "desk" not in dead_units(show, Fault(what="circuit", name="feed"))


def test_behind_a_dead_switch_nothing_is_promised() -> None:
    assert state("sw-1") is State.UNKNOWN


def test_lost_ends_are_those_that_networkx_cannot_reach(root: Path) -> None:
    """The same by general-purpose graph search: units as nodes, hops as edges."""
    for name in ("small", "hall"):
        show = read_show(root / "shows" / name).show
        assert show is not None
        plan = decide(show).plan
        assert plan is not None
        for fault in faults(show):
            dead = dead_units(show, fault)
            if any(show.units[u].kind.does is Does.SWITCH for u in dead):
                continue
            lost = {(v.line, end) for v in lose(show, plan, fault).verdicts for end in v.lost}
            assert lost == _unreachable(show, plan, dead)


def _unreachable(show: Show, plan: Plan, dead: frozenset[str]) -> set[tuple[LineKey, str]]:
    found = set()
    for line in show.lines:
        decided = plan.line(line.key)
        assert decided is not None
        graph = nx.DiGraph()
        for way in ways(show, decided):
            spots = [("start", way.start), *way.spots, ("end", way.end)]
            graph.add_edges_from(pairwise(spots))
        graph.remove_nodes_from([n for n in list(graph) if getattr(n, "unit", "") in dead])
        for end in line.ends:
            members = [("end", str(m)) for m in end.members if str(m) in decided.ends]
            starts = [("start", start) for start in decided.start]
            reached = any(nx.has_path(graph, s, m) for s in starts for m in members if m in graph)
            if members and not reached:
                found.add((line.key, str(end)))
    return found
