"""Cuts runs and switches of planned nets in the Linux kernel, and tells who still hears what.

Run by `unshare -Urn python -m tests.net.kernel_cuts`, with JSON on stdin: {"nets": [as
`kernel_planned` takes them, with "cuts": runs and "kills": nodes by index], "packets"}. All nets
stand side by side, each struck once all have settled; all ends with the process. Prints, for each
net, how many packets each receiver heard of each stream, by "stream receiver", before and after.
"""

from __future__ import annotations

import json
import os
import resource
import sys
import time
from typing import Any

from tests.net.kernel_planned import LEARNS_S, SETTLES_S, Net, ip

#: Bridges that hear of a cut only by silence wait 6 s, then listen and learn for 2 s each.
AGREES_S = 16


class Struck(Net):
    """A net whose runs and nodes are cut."""

    def strike(self) -> list[str]:
        """Give what cuts the runs, and what leaves a node without power: its ports go dark."""
        dark = {self._plug(r) for r in self.asked["cuts"]}
        rows = []
        for node in self.asked["kills"]:
            if self.nodes[node]["kind"] != "host":
                rows.append(f"link set {self.bridge(node)} down")
            mine = [r for r, run in enumerate(self.runs) if node in run["ends"]]
            dark |= {self._plug(r) for r in mine}
        return [*rows, *(f"link set {plug} down" for plug in sorted(dark))]

    def _plug(self, run: int) -> str:
        """Give an end of a run that is at a bridge: the other goes dark with it."""
        kinds = [self.nodes[end]["kind"] for end in self.runs[run]["ends"]]
        return self.plug(run, 0 if kinds[0] != "host" else 1)


def heard(nets: list[Struck], packets: int) -> list[dict[str, int]]:
    """Send so many packets of every stream, and give how many each receiver got."""
    for net in nets:
        net.speak()
    time.sleep(0.5)
    found: list[dict[str, list[int]]] = [{} for _ in nets]
    for net in nets:
        net.hear({})
    for tick in range(packets):
        for net, each in zip(nets, found, strict=True):
            net.send(tick)
            net.hear(each)
        time.sleep(0.005)
    time.sleep(0.5)
    for net, each in zip(nets, found, strict=True):
        net.hear(each)
    return [{key: len(set(numbers)) for key, numbers in each.items()} for each in found]


def main() -> None:
    """Build all; count, cut, wait, count."""
    asked: dict[str, Any] = json.load(sys.stdin)
    most = resource.getrlimit(resource.RLIMIT_NOFILE)[1]
    resource.setrlimit(resource.RLIMIT_NOFILE, (most, most))
    own = os.open("/proc/self/ns/net", os.O_RDONLY)
    nets = [Struck(i, each, own) for i, each in enumerate(asked["nets"])]
    for net in nets:
        net.build()
        net.listen()
    time.sleep(SETTLES_S)
    for net in nets:
        net.ask()
    time.sleep(LEARNS_S)
    before = heard(nets, asked["packets"])
    ip([row for net in nets for row in net.strike()])
    for _ in range(AGREES_S):
        time.sleep(1)
        # Or bridges send what is for one host the old way.
        for net in nets:
            net.speak()
    json.dump({"before": before, "after": heard(nets, asked["packets"])}, sys.stdout)


if __name__ == "__main__":
    main()
