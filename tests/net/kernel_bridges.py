"""Lets the Linux kernel's own bridges elect trees, in a network namespace, and tells what they did.

Run by `unshare -Urn`, with JSON on stdin: {"bridges": [[name, priority, mac]], "links": [[one,
other, cost]], "cut": [link, ...]}; the ports of a bridge count up in the order of links. Tells root
path cost by bridge and the state of every port by link and end, before and after the cut.
"""

from __future__ import annotations

import json
import subprocess
import sys
import time
from typing import Any

#: Of a bridge port; the others are listening and learning.
SETTLED = frozenset({"disabled", "forwarding", "blocking"})
#: The shortest that the kernel takes, in hundredths of a second.
TIMES = "forward_delay 200 hello_time 100 max_age 600"


def ip(rows: list[str]) -> None:
    subprocess.run(["ip", "-batch", "-"], input="\n".join(rows) + "\n", text=True, check=True)


def build(asked: dict[str, Any]) -> None:
    rows = []
    for name, priority, mac in asked["bridges"]:
        rows.append(f"link add {name} address {mac} type bridge {TIMES} priority {priority}")
        rows.append(f"link set {name} type bridge stp_state 1")
        rows.append(f"link set {name} up")
    for n, (one, other, _) in enumerate(asked["links"]):
        rows.append(f"link add l{n}a type veth peer name l{n}b")
        rows += [f"link set l{n}a master {one}", f"link set l{n}b master {other}"]
    for n, (_, _, cost) in enumerate(asked["links"]):
        for end in "ab":
            rows.append(f"link set l{n}{end} type bridge_slave cost {cost}")
            rows.append(f"link set l{n}{end} up")
    ip(rows)


def seen(asked: dict[str, Any]) -> dict[str, dict[str, Any]]:
    done = subprocess.run(
        ["ip", "-json", "-details", "link", "show"], capture_output=True, text=True, check=True
    )
    facts = {each["ifname"]: each.get("linkinfo", {}) for each in json.loads(done.stdout)}
    costs = {name: facts[name]["info_data"]["root_path_cost"] for name, _, _ in asked["bridges"]}
    ports = {
        f"{n}{end}": facts[f"l{n}{end}"]["info_slave_data"]["state"]
        for n in range(len(asked["links"]))
        for end in "ab"
    }
    return {"costs": costs, "ports": ports}


def settled(asked: dict[str, Any]) -> dict[str, dict[str, Any]]:
    """Wait until nothing has changed for longer than any timer runs, or a minute has gone."""
    before, since = seen(asked), time.monotonic()
    end = since + 60
    while time.monotonic() < end:
        time.sleep(0.25)
        now = seen(asked)
        if now != before or set(now["ports"].values()) - SETTLED:
            before, since = now, time.monotonic()
        elif time.monotonic() - since > 7:
            break
    return before


def main() -> None:
    """Build, wait, tell; cut, wait, tell."""
    asked = json.load(sys.stdin)
    build(asked)
    first = settled(asked)
    ip([f"link set l{n}a down" for n in asked["cut"]])
    json.dump([first, settled(asked)], sys.stdout)


if __name__ == "__main__":
    main()
