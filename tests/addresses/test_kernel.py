"""The Linux kernel takes the address plan, and listens to the hardware addresses we say."""

from __future__ import annotations

import ipaddress
import json
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from lineproof.base.sdp_groups import mac_of_group
from lineproof.decide.addresses import plan_addresses
from tests.addresses.nets import shipped

pytestmark = [
    pytest.mark.needs("unshare", "util-linux"),
    pytest.mark.needs("ip", "iproute2"),
]


def in_kernel(nets: dict[str, Any], groups: list[str]) -> dict[str, Any]:
    tried = subprocess.run(["unshare", "-Urn", "true"], capture_output=True, check=False)
    if tried.returncode:
        pytest.skip("this machine allows no user namespaces")
    script = Path(__file__).with_name("in_kernel.py")
    done = subprocess.run(
        ["unshare", "-Urn", sys.executable, str(script)],
        input=json.dumps({"nets": nets, "groups": groups}),
        capture_output=True,
        text=True,
        timeout=120,
        check=True,
    )
    found: dict[str, Any] = json.loads(done.stdout)
    return found


@pytest.mark.parametrize("name", ["small", "hall"])
def test_the_kernel_takes_every_address_once_and_listens_to_the_groups_as_reckoned(
    name: str,
) -> None:
    plan = plan_addresses(*shipped(name), None)
    nets = {
        net: {
            "prefix": ipaddress.ip_network(of_net.range).prefixlen,
            "ips": [a.ip for a in plan.addresses if a.net == net],
        }
        for net, of_net in plan.nets.items()
    }
    groups = [ip for s in plan.streams if s.multicast for ip in s.to.values()]
    said = in_kernel(nets, groups)
    assert said["refused"] == []
    macs = [mac.upper().replace(":", "-") for mac in said["macs"]]
    assert macs == [mac_of_group(group) for group in groups]


def test_the_kernel_refuses_an_address_given_twice() -> None:
    said = in_kernel({"a": {"prefix": 24, "ips": ["10.61.0.9", "10.61.0.9"]}}, [])
    assert len(said["refused"]) == 1
