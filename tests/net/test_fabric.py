"""A net as a graph follows from show and plan; what a fault takes along; buffers that follow."""

from __future__ import annotations

from dataclasses import replace

import pytest

from lineproof.graph.net import Fabric, fabric, fabrics
from lineproof.graph.net_faults import NetFault, felt, network_faults
from lineproof.kit.kinds import Kind
from lineproof.plan.network import PortAt
from lineproof.reckon.delay_buffers import buffers, heard_together, needed
from lineproof.reckon.delay_faults import sweep
from lineproof.reckon.delay_figures import network_figures
from lineproof.reckon.loads import loads
from lineproof.reckon.tree import spanning_tree
from lineproof.reckon.tree_paths import flows_on, paths
from tests.net.hand_made import NETWORK, plan, run, show, stream


def built() -> Fabric:
    return fabric(show(), NETWORK, "a")


def test_switches_and_chained_units_are_bridges_and_only_switches_elect() -> None:
    net = built()
    assert [n.name for n in net.nodes if n.bridge] == ["pa-left", "sw-1", "sw-2", "sw-3"]
    assert [n.name for n in net.nodes if n.elects] == ["sw-1", "sw-2", "sw-3"]
    assert {n.name: n.priority for n in net.nodes if n.elects} == {
        "sw-1": 32768,
        "sw-2": 4096,
        "sw-3": 8192,
    }


def test_the_planned_root_is_elected_and_the_tree_is_the_planned_one() -> None:
    tree = spanning_tree(built())
    assert tree.roots == ("sw-2",)
    # sw-1 reaches the root as cheaply either way round; both sw-2 and sw-3 are a run away from it.
    assert tree.discarding == ("sw-1:8",)
    assert tree.loops == ()


def test_a_stream_goes_through_a_chained_unit() -> None:
    net = built()
    ways = paths(spanning_tree(net), flows_on(show(), net, NETWORK.streams))
    carried = {f"{x.from_unit} {x.to_unit}": x.streams for x in loads(ways) if x.streams}
    assert carried == {
        "box-1 sw-1": ("box-1/1",),
        "desk sw-2": ("desk/1", "desk/2"),
        "sw-2 desk": ("box-1/1",),
        "pa-left pa-right": ("desk/2",),
        "sw-1 pa-left": ("desk/1", "desk/2"),
        "sw-2 rec-1": ("box-1/1",),
        "sw-1 sw-2": ("box-1/1",),
        "sw-2 sw-1": ("desk/1", "desk/2"),
    }


def test_runs_side_by_side_are_kept_apart() -> None:
    twice = replace(NETWORK, runs=(*NETWORK.runs, run("second", "sw-1:5", "sw-2:5")))
    tree = spanning_tree(fabric(show(), twice, "a"))
    # The lower port of the upstream switch wins: sw-2:5 beats sw-2:7, and sw-2 beats sw-3.
    assert set(tree.discarding) == {"sw-1:7", "sw-1:8"}
    assert "second" not in tree.blocked_runs


@pytest.mark.parametrize(
    ("without", "lacking"),
    [
        ({"units": ["sw-1"]}, {"box-1", "pa-left", "pa-right"}),
        ({"runs": ["pa-left"]}, {"pa-left", "pa-right"}),
        ({"ports": [PortAt(unit="sw-1", number=2)]}, {"pa-left", "pa-right"}),
        ({"units": ["nobody"], "runs": ["nothing"]}, set()),
    ],
)
def test_what_is_dead_takes_along_what_hangs_on_it(
    without: dict[str, list[str]], lacking: set[str]
) -> None:
    net = built()
    tree = spanning_tree(net.without(**without))  # type: ignore[arg-type]
    root = tree.root[net.index["desk"]]
    away = {n.name for i, n in enumerate(net.nodes) if tree.root[i] != root}
    assert away - {"sw-1"} == lacking


def test_faults_of_a_network() -> None:
    faults = {str(f): f for f in network_faults(show(), NETWORK)}
    assert faults["duct:floor"].runs == ("trunk-1",)
    assert faults["circuit:other"].units == ("sw-3",)
    assert faults["rack:r-1"].units == ("sw-1",)
    assert set(faults["place:front"].units) == {"desk", "rec-1", "clock", "sw-2", "sw-3"}
    assert "trunk-2" in faults


def test_only_bridges_and_runs_between_them_move_the_tree() -> None:
    net = built()
    moving = [str(f) for f in network_faults(show(), NETWORK) if felt(net, f).moves]
    assert {"sw-1", "pa-left", "trunk-1", "duct:floor"} <= set(moving)
    assert not {"desk", "rec-1", "box-1", "pa-right"} & set(moving)


def test_who_asks_for_members_counts_as_a_part_of_the_net() -> None:
    net = built()
    asks = replace(net, queriers=(net.index["desk"],))
    desk = NetFault(what="unit", name="desk", units=("desk",))
    assert not felt(net, desk).moves
    assert felt(asks, desk).moves


def test_loads_in_bits_on_the_wire_with_what_the_show_declares() -> None:
    this = show()
    net = fabric(this, NETWORK, "a")
    ways = paths(spanning_tree(net), flows_on(this, net, NETWORK.streams))
    found = {(x.from_unit, x.to_unit): x for x in loads(ways, other_mbit=this.other_mbit)}
    trunk, own = found["sw-2", "sw-1"], found["desk", "sw-2"]
    # Two streams of 2 channels: 48 x 2 x 3 bytes and 82 beside, 1000 packets a second (facts 1).
    assert trunk.streams_bps == own.streams_bps == 2 * (48 * 2 * 3 + 82) * 8 * 1000
    assert (trunk.other_bps, own.other_bps) == (50_000_000, 0)
    assert trunk.total_bps == trunk.streams_bps + trunk.other_bps + trunk.clock_bps
    assert trunk.share == trunk.total_bps / 1e9
    # The blocked run, and the one to a chained loudspeaker.
    assert found["sw-3", "sw-1"].other_bps == 0
    assert found["sw-1", "pa-left"].other_bps == 0


def test_fabrics_of_all_nets() -> None:
    assert list(fabrics(show(), NETWORK)) == ["a"]


def test_both_halves_of_a_pair_get_one_buffer_large_enough_for_the_farther() -> None:
    this = show()
    net = fabric(this, NETWORK, "a")
    flows = flows_on(this, net, NETWORK.streams)
    swept = [sweep(net, flows, network_faults(this, NETWORK))]
    needs = needed(swept)
    far, near = needs["pa-right"].ns, needs["pa-left"].ns
    assert far is not None
    assert near is not None
    assert far > near > 1_000_000
    found = {buffer.units: buffer for buffer in buffers(this, plan(this), swept)}
    pair = found["pa-left", "pa-right"]
    assert pair.need == needs["pa-right"]
    kind: Kind = this.units["pa-right"].kind
    assert pair.offset_ms == min(ms for ms in kind.buffers_ms if ms * 1e6 >= far)
    assert pair.margin_ns == round((pair.offset_ms or 0) * 1e6) - far
    assert ("desk",) in found
    assert ("rec-1",) in found


def test_a_detour_after_a_fault_counts() -> None:
    this = show()
    net = fabric(this, NETWORK, "a")
    swept = [sweep(net, flows_on(this, net, NETWORK.streams), network_faults(this, NETWORK))]
    need = needed(swept)["pa-right"]
    # The ring cut beside the root: one switch more on the way.
    assert need.fault in ("trunk-1", "duct:floor")
    assert need.undisturbed_ns is not None
    assert need.ns is not None
    assert need.ns > need.undisturbed_ns


def test_loudspeakers_of_one_act_are_heard_together_without_being_a_pair() -> None:
    this = show((", pair: 42", ""), (", pair: 41", ""))
    sets = heard_together(this, plan(this), ["desk", "pa-left", "pa-right", "rec-1"])
    assert sets == (("desk",), ("pa-left", "pa-right"), ("rec-1",))


def test_a_buffer_that_no_kind_offers_is_told() -> None:
    this = show()
    net = fabric(this, NETWORK, "a")
    slow = replace(net, nodes=tuple(replace(n, forward_ns=10**9) for n in net.nodes))
    swept = [sweep(slow, flows_on(this, net, NETWORK.streams), ())]
    assert {b.offset_ms for b in buffers(this, plan(this), swept)} == {None}


def test_a_fault_of_another_net_moves_nothing() -> None:
    fault = NetFault(what="run", name="elsewhere", runs=("b-trunk",))
    assert not felt(built(), fault).moves


def test_a_plan_older_than_the_show_is_no_trouble() -> None:
    less = show(
        ("  rec-1: {kind: computer-32, place: front, circuit: house}\n", ""),
        ("desk rec-1}", "desk}"),
    )
    found = network_figures(less, plan(less), NETWORK)
    assert "rec-1" not in found.nets["a"].fabric.index
    assert {n for b in found.buffers for n in b.units} == {"desk", "pa-left", "pa-right"}


def test_multicast_without_receivers_on_this_net_still_counts() -> None:
    net = built()
    flows = flows_on(show(), net, [stream("box-1/3", multicast=True)])
    ways = paths(spanning_tree(net), flows)
    assert {x.from_unit for x in loads(ways) if x.streams} == {"box-1", "sw-1"}
