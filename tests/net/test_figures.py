"""All figures of a network at once, and the same whatever order things are written in."""

from __future__ import annotations

import subprocess
import sys
from dataclasses import replace
from pathlib import Path

from lineproof.reckon.delay_figures import NetworkFigures, network_figures
from tests.net.hand_made import NETWORK, plan, show


def told(found: NetworkFigures) -> str:
    """Give the figures that people see as one text."""
    net = found.nets["a"]
    rows = [f"{x.run} {x.from_unit} {x.to_unit} {x.total_bps} {x.streams}" for x in net.loads]
    rows += [f"{x.run} {x.from_unit} {x.to_unit} {x.total_bps} {x.streams}" for x in net.flooded]
    rows += [f"{pair} {each}" for pair, each in net.swept.delay_ns.items()]
    rows += [str(found.buffers), str(net.reigns), str(net.groups), str(net.tree.discarding)]
    return "\n".join(rows)


def test_all_figures_of_a_small_show() -> None:
    this = show()
    found = network_figures(this, plan(this), NETWORK)
    net = found.nets["a"]
    assert net.tree.roots == ("sw-2",)
    assert net.by_name == ()
    assert net.trusted == ()
    assert net.reigns[0].grandmaster == "clock"
    assert net.hand_over is not None
    assert found.clock.one
    assert found.crossings == ()
    assert found.feeds == ()
    assert {name for buffer in found.buffers for name in buffer.units} == {
        "desk",
        "pa-left",
        "pa-right",
        "rec-1",
    }
    for load, flooded in zip(net.loads, net.flooded, strict=True):
        assert load.way == flooded.way
        assert load.total_bps <= flooded.total_bps


def test_the_order_of_runs_and_streams_changes_nothing() -> None:
    this = show()
    turned = replace(NETWORK, runs=NETWORK.runs[::-1])
    decided = plan(this)
    assert told(network_figures(this, decided, NETWORK)) == told(
        network_figures(this, decided, turned)
    )


def test_no_hash_seed_changes_a_byte(root: Path) -> None:
    ask = (
        "from tests.net.hand_made import NETWORK, plan, show\n"
        "from tests.net.test_figures import told\n"
        "from lineproof.reckon.delay_figures import network_figures\n"
        "this = show()\n"
        "print(told(network_figures(this, plan(this), NETWORK)))\n"
    )
    said = {
        subprocess.run(
            [sys.executable, "-c", ask],
            cwd=root,
            env={"PYTHONHASHSEED": number, "PYTHONPATH": f"{root / 'src'}:{root}"},
            capture_output=True,
            text=True,
            check=True,
        ).stdout
        for number in ("0", "1", "77")
    }
    assert len(said) == 1
