"""Gives the Linux kernel an address plan, in a namespace of its own, and tells what it says.

Run by `unshare -Urn`, with JSON on stdin: {"nets": {net: {"prefix": 24, "ips": [...]}},
"groups": [...]}. Prints JSON: what was refused, and the hardware address of each group joined.
"""

from __future__ import annotations

import json
import re
import socket
import subprocess
import sys


def ip(*words: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(["ip", *words], capture_output=True, text=True, check=False)


def main() -> None:
    """Add every address to its net's interface, join every group on the first."""
    asked = json.load(sys.stdin)
    refused: list[str] = []
    for net, plan in asked["nets"].items():
        # A bridge of its own stands for each net; nothing hangs on it.
        ip("link", "add", f"net-{net}", "type", "bridge")
        ip("link", "set", f"net-{net}", "up")
        for address in plan["ips"]:
            done = ip("addr", "add", f"{address}/{plan['prefix']}", "dev", f"net-{net}")
            refused += [f"{address}: {done.stderr.strip()}"] if done.returncode else []
    macs = [mac_joined(group) for group in asked["groups"]]
    sys.stdout.write(json.dumps({"refused": refused, "macs": macs}))


def mac_joined(group: str) -> str:
    """Give the one hardware address that the kernel listens to when the group is joined."""
    before = listened()
    joined = socket.socket(socket.AF_INET, socket.SOCK_DGRAM)
    index = socket.if_nametoindex("net-a").to_bytes(4, sys.byteorder)
    request = socket.inet_aton(group) + socket.inet_aton("0.0.0.0") + index
    joined.setsockopt(socket.IPPROTO_IP, socket.IP_ADD_MEMBERSHIP, request)
    now = listened() - before
    joined.close()
    return ",".join(sorted(now))


def listened() -> set[str]:
    """Give the hardware addresses of groups that the interface listens to."""
    return set(re.findall(r"link\s+(01:00:5e\S+)", ip("maddr", "show", "dev", "net-a").stdout))


if __name__ == "__main__":
    main()
