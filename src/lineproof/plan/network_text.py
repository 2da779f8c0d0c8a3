"""The network of a plan as JSON data and back: sorted, one thing a row."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from lineproof.plan.network import (
    Address,
    ClockRank,
    NetPlan,
    Network,
    PlannedRun,
    PortAt,
    RescuePort,
    Retired,
    Stream,
)


def network_data(network: Network) -> dict[str, Any]:
    """Give the JSON data of a network; what is empty is left out."""
    data: dict[str, Any] = {
        "switch-nets": dict(network.switch_nets),
        "runs": [_run_data(run) for run in network.runs],
        "rescue-ports": [
            {"name": r.name, "port": str(r.port), "net": r.net} for r in network.rescue_ports
        ],
        "streams": [_stream_data(stream) for stream in network.streams],
        "addresses": [_address_data(address) for address in network.addresses],
        "nets": {name: _net_data(net) for name, net in network.nets.items()},
        "clock": [_rank_data(rank) for rank in network.clock],
        "clock-domain": network.clock_domain,
        "dscp": dict(network.dscp),
        "retired": [_retired_data(retired) for retired in network.retired],
    }
    return {key: value for key, value in data.items() if value}


def _run_data(run: PlannedRun) -> dict[str, Any]:
    data: dict[str, Any] = {
        "run": run.name,
        "net": run.net,
        "from": str(run.ends[0]),
        "to": str(run.ends[1]),
        "along": " ".join(run.ducts),
        "medium": run.medium,
        "length-m": run.length_m,
    }
    if run.stock:
        data["stock"] = run.stock
    if run.given:
        data["given"] = True
    return data


def _stream_data(stream: Stream) -> dict[str, Any]:
    return {
        "stream": stream.name,
        "sender": stream.sender,
        "channels": " ".join(map(str, stream.channels)),
        "receivers": " ".join(stream.receivers),
        "multicast": stream.multicast,
        "packet-us": stream.packet_us,
        "depth-bits": stream.depth_bits,
        "to": dict(stream.to),
        "udp-port": stream.udp_port,
        "session": stream.session,
        "changed-in": stream.changed_in,
        "described": stream.described,
    }


def _address_data(address: Address) -> dict[str, Any]:
    data: dict[str, Any] = {"unit": address.unit, "net": address.net, "ip": address.ip}
    return {**data, "given": True} if address.given else data


def _net_data(net: NetPlan) -> dict[str, Any]:
    return {
        "range": net.range,
        "groups": net.groups,
        "roots": " ".join(net.roots),
        "queriers": " ".join(net.queriers),
        "vlans": dict(net.vlans),
    }


def _rank_data(rank: ClockRank) -> dict[str, Any]:
    return {
        "unit": rank.unit,
        "net": rank.net,
        "priority1": rank.priority1,
        "priority2": rank.priority2,
        "rank": rank.rank,
    }


def _retired_data(retired: Retired) -> dict[str, Any]:
    return {
        "what": retired.what,
        "value": retired.value,
        "of": retired.of,
        "net": retired.net,
        "revision": retired.revision,
    }


def read_network(data: Mapping[str, Any]) -> Network:
    """Give the network in JSON data; KeyError, TypeError or ValueError where it is none."""
    return Network(
        switch_nets=_texts(data.get("switch-nets", {})),
        runs=tuple(_run(item) for item in data.get("runs", ())),
        rescue_ports=tuple(
            RescuePort(
                name=str(item["name"]), port=PortAt.parse(item["port"]), net=str(item["net"])
            )
            for item in data.get("rescue-ports", ())
        ),
        streams=tuple(_stream(item) for item in data.get("streams", ())),
        addresses=tuple(
            Address(
                unit=str(item["unit"]),
                net=str(item["net"]),
                ip=str(item["ip"]),
                given=bool(item.get("given", False)),
            )
            for item in data.get("addresses", ())
        ),
        nets={str(name): _net(str(name), item) for name, item in data.get("nets", {}).items()},
        clock=tuple(
            ClockRank(
                unit=str(item["unit"]),
                net=str(item["net"]),
                priority1=int(item["priority1"]),
                priority2=int(item["priority2"]),
                rank=int(item["rank"]),
            )
            for item in data.get("clock", ())
        ),
        clock_domain=int(data.get("clock-domain", 0)),
        dscp={str(k): int(v) for k, v in data.get("dscp", {}).items()},
        retired=tuple(
            Retired(
                what=str(item["what"]),
                value=str(item["value"]),
                of=str(item["of"]),
                net=str(item["net"]),
                revision=int(item["revision"]),
            )
            for item in data.get("retired", ())
        ),
    )


def _texts(data: Mapping[str, Any]) -> dict[str, str]:
    return {str(key): str(value) for key, value in data.items()}


def _run(item: Mapping[str, Any]) -> PlannedRun:
    return PlannedRun(
        name=str(item["run"]),
        net=str(item["net"]),
        ends=(PortAt.parse(item["from"]), PortAt.parse(item["to"])),
        ducts=tuple(str(item["along"]).split()),
        medium=str(item["medium"]),
        length_m=float(item["length-m"]),
        stock=str(item.get("stock", "")),
        given=bool(item.get("given", False)),
    )


def _stream(item: Mapping[str, Any]) -> Stream:
    return Stream(
        name=str(item["stream"]),
        sender=str(item["sender"]),
        channels=tuple(int(word) for word in str(item["channels"]).split()),
        receivers=tuple(str(item["receivers"]).split()),
        multicast=bool(item["multicast"]),
        packet_us=int(item["packet-us"]),
        depth_bits=int(item["depth-bits"]),
        to=_texts(item["to"]),
        udp_port=int(item["udp-port"]),
        session=int(item["session"]),
        changed_in=int(item["changed-in"]),
        described=str(item.get("described", "")),
    )


def _net(name: str, item: Mapping[str, Any]) -> NetPlan:
    return NetPlan(
        name=name,
        range=str(item["range"]),
        groups=str(item["groups"]),
        roots=tuple(str(item["roots"]).split()),
        queriers=tuple(str(item["queriers"]).split()),
        vlans={str(use): int(number) for use, number in item["vlans"].items()},
    )
