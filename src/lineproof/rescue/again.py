"""The show once more with other decisions, its buffers left as they are set."""

from __future__ import annotations

from dataclasses import replace

from lineproof.drill.bearing import resting
from lineproof.drill.calm import Calm, CalmNet, calm_net
from lineproof.drill.dead import shared
from lineproof.graph.net import fabric
from lineproof.plan.model import Plan
from lineproof.reckon.delay import bounds
from lineproof.reckon.tree import spanning_tree
from lineproof.reckon.tree_paths import flows_on, paths
from lineproof.show.model import Show


def again(known: Calm, show: Show, plan: Plan) -> Calm:
    """Give a show ready to be drilled after moves: nobody sets a buffer or a clock anew for them.

    Trees and loads are worked out for the runs and streams there are now.
    """
    same_runs = plan.network.runs == known.network.runs
    network = plan.network
    # Multicores are never moved, so that what lines rest on only changes with their rows.
    rewired = same_runs and show.units == known.show.units
    return replace(
        known,
        show=show,
        plan=plan,
        lines=resting(show, plan, known.lines),
        shared=known.shared if rewired else shared(show, network),
        nets={net: _net(known, show, plan, net, same_runs=same_runs) for net in known.nets},
    )


def _net(known: Calm, show: Show, plan: Plan, net: str, *, same_runs: bool) -> CalmNet:
    before = known.nets[net]
    if same_runs and plan.network.streams == known.network.streams:
        return before
    tree = before.tree if same_runs else spanning_tree(fabric(show, plan.network, net))
    flows = flows_on(show, tree.fabric, plan.network.streams)
    return calm_net(show, plan.network, bounds(paths(tree, flows)), known.offsets_ns)
