"""What the drill says arrives after a cut, against the bridges of the Linux kernel.

Small shows' planned nets are built as often as there are faults, and each is struck: a run or port
cut, a unit or switch without power, all runs of a duct, two of these at once. Real RTP tells what
is still heard, end by end and net by net. Waits for real timers.
"""

from __future__ import annotations

import itertools
import json
import random
import subprocess
import sys
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from lineproof.drill.calm import Calm, calm
from lineproof.drill.lose import lose
from lineproof.drill.verdict import State
from lineproof.graph.faults import Fault, things
from lineproof.graph.signal import By, ways
from tests.drill.shows import text_planned
from tests.net.planned_shows import RING, TWO, Planned
from tests.net.test_planned_kernel import asked

pytestmark = [
    pytest.mark.needs("unshare", "util-linux"),
    pytest.mark.needs("ip", "iproute2"),
]
#: What goes to a mixer, to two, to a recorder; the shows have mixes besides.
LINES = "\n".join(
    f"  - {{number: {n}, name: Reed {n}, from: stage, source: dynamic mic, to: {to}}}"
    for n, to in enumerate(("desk side rec-1", "desk rec-1", "desk side", "desk", "side"), start=1)
)
SHOWS = (RING.replace("LINES", LINES), TWO.replace("LINES", LINES))
PACKETS = 20
Faults = tuple[Fault, ...]
#: Who hears which stream on a net: (stream, receiver).
Heard = frozenset[tuple[str, str]]


@cache
def ready(text: str) -> Calm:
    return calm(*text_planned(text))


@dataclass(frozen=True)
class Cut:
    """What faults take of one net of a show: runs and units, by name."""

    text: str
    net: str
    runs: frozenset[str] = frozenset()
    units: frozenset[str] = frozenset()

    def question(self) -> dict[str, Any]:
        known = ready(self.text)
        assert known.figures is not None
        figures = known.figures.nets
        planned = Planned(show=known.show, network=known.network, nets=dict(figures))
        fabric = figures[self.net].fabric
        return {
            **asked(planned, self.net, "").question,
            "cuts": [fabric.run_index[name] for name in sorted(self.runs)],
            "kills": [fabric.index[name] for name in sorted(self.units)],
        }

    def named(self, heard: Mapping[str, int]) -> Heard:
        """Give what is heard by name: in full, as what comes in part is neither lost nor well."""
        assert set(heard.values()) <= {PACKETS}, heard
        paths = ready(self.text).nets[self.net].bounds.paths
        keys = [tuple(map(int, key.split())) for key in heard]
        nodes = paths.tree.fabric.nodes
        return frozenset((paths.flows[i].name, nodes[receiver].name) for i, receiver in keys)

    def meant(self) -> Heard:
        """Give what is to be heard with nothing broken: every stream at all its receivers there."""
        paths = ready(self.text).nets[self.net].bounds.paths
        nodes = paths.tree.fabric.nodes
        return frozenset((f.name, nodes[at].name) for f in paths.flows for at in f.receivers)


def cut(text: str, net: str, faults: Faults) -> Cut:
    """Give what faults take of a net by what is written in the plan: runs, ducts, units."""
    known = ready(text)
    names = {(fault.what, fault.name) for fault in faults}
    return Cut(
        text,
        net,
        runs=frozenset(
            run.name
            for run in known.network.runs_on(net)
            if ("run", run.name) in names
            or any(("duct", duct) in names for duct in run.ducts)
            or any(("port", str(end)) in names for end in run.ends)
        ),
        units=frozenset(
            node.name for node in known.nets[net].tree.fabric.nodes if ("unit", node.name) in names
        ),
    )


def by_kernel(cuts: Iterable[Cut], root: Path) -> dict[Cut, Heard]:
    """Give what is heard on each net once it is struck; nets struck alike are built once."""
    if subprocess.run(["unshare", "-Urn", "true"], capture_output=True, check=False).returncode:
        pytest.skip("network namespaces (not allowed here)")
    listed = list(dict.fromkeys(cuts))
    question = {"nets": [each.question() for each in listed], "packets": PACKETS}
    done = subprocess.run(
        ["unshare", "-Urn", sys.executable, "-m", "tests.net.kernel_cuts"],
        cwd=root,
        input=json.dumps(question),
        capture_output=True,
        text=True,
        check=False,
        timeout=300,
    )
    assert done.returncode == 0, done.stderr
    answer = json.loads(done.stdout)
    for each, before in zip(listed, answer["before"], strict=True):
        assert each.named(before) == each.meant()
    return {e: e.named(after) for e, after in zip(listed, answer["after"], strict=True)}


Told = dict[tuple[str, str], State]


def by_drill(text: str, faults: Faults) -> Told:
    """Give how each end stands that does not stand as with nothing broken."""
    known = ready(text)
    drilled = lose(known.show, known.plan, faults, ready=known, only_arrival=True)
    return {
        (str(v.line), each.end): each.standing.state for v in drilled.verdicts for each in v.ends
    }


def by_ear(text: str, heard: Mapping[str, Heard]) -> Told:
    """Give the same by what is heard on each net: on none, or on fewer than with nothing broken."""
    known, found = ready(text), {}
    meant = {net: Cut(text, net).meant() for net in known.nets}
    streams = {
        (stream.sender, channel, receiver): (stream.name, receiver)
        for stream in known.network.streams
        for channel in stream.channels
        for receiver in stream.receivers
    }
    for decided in known.plan.lines:
        for way in ways(known.show, decided):
            for hop in way.hops():
                if hop.by is By.NETWORK:
                    send = hop.from_spot
                    stream = streams[send.unit, send.number, hop.to_spot.unit]
                    before = [net for net in known.nets if stream in meant[net]]
                    after = [net for net in before if stream in heard[net]]
                    if after != before:
                        state = State.OTHER_NET if after else State.LOST
                        found[str(decided.key), way.end] = state
    return found


def struck(text: str) -> list[Fault]:
    known = ready(text)
    kinds = ("unit", "run", "port", "duct")
    return [fault for fault in things(known.show, known.network) if fault.what in kinds]


def hold(sets: Sequence[tuple[str, Faults]], root: Path) -> list[tuple[Faults, Told]]:
    """Assert for each set of faults that the kernel hears what the drill says; give what it was."""
    cuts = {
        (text, faults, net): cut(text, net, faults)
        for text, faults in sets
        for net in ready(text).nets
    }
    heard = by_kernel(cuts.values(), root)
    found = []
    for text, faults in sets:
        told = by_ear(text, {net: heard[cuts[text, faults, net]] for net in ready(text).nets})
        assert told == by_drill(text, faults), faults
        found.append((faults, told))
    return found


def test_after_each_cut_and_each_dead_unit_the_kernel_hears_what_the_drill_says(root: Path) -> None:
    found = hold([(text, (fault,)) for text in SHOWS for fault in struck(text)], root)
    states = {state for _, told in found for state in told.values()}
    assert states == {State.LOST, State.OTHER_NET}
    # A ring holds when one of its runs is cut, and what is chained behind a unit does not.
    by_name = {str(fault): told for (fault,), told in found}
    assert not by_name["run:t-1"]
    assert by_name["pa-left"][("42", "pa-right")] is State.LOST


@pytest.mark.soak
def test_so_it_does_after_two_at_once(root: Path, seed: int) -> None:
    rng = random.Random(f"cuts-{seed}")
    sets = []
    for text in SHOWS:
        between = [
            fault for fault in struck(text) if fault.name[:3] in ("sw-", "t-1", "t-2", "u-1")
        ]
        pairs = list(itertools.combinations(between, 2))
        drawn = [tuple(rng.sample(struck(text), 2)) for _ in range(20)]
        sets += [(text, pair) for pair in (*rng.sample(pairs, min(20, len(pairs))), *drawn)]
    hold(sets, root)
