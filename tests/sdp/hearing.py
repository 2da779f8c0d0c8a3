"""Sends the packets that an SDP file promises and lets another program hear them from the file.

Run inside a network namespace of its own (`unshare -Urn`), where the sender's and the listeners'
addresses are those of the plan and nothing reaches the world outside:

    hearing.py WORK_FOLDER LEGS_AS_JSON -- COMMAND OF THE LISTENER

Ends with the listener's exit code, at most after `MOST_S` seconds.
"""

from __future__ import annotations

import ipaddress
import json
import socket
import struct
import subprocess
import sys
import time
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

MOST_S = 20.0
#: RFC 3550 5.1: version 2, no padding, no extension, no further sources.
_FIRST_BYTE = 0x80


@dataclass(frozen=True, kw_only=True)
class Leg:
    """Where packets go, from where, and what is in them."""

    to: str
    port: int
    source: str
    channels: int
    samples: int
    payload_type: int


def sample(channel: int) -> bytes:
    """Give one channel's 24 bits, first the most significant; no two of its bytes are alike.

    Every channel has its own, so that one in another's place, or bytes turned round, are heard.
    """
    return bytes((0x81 + 3 * channel & 255, 0x12 + channel & 255, 0x60 + channel & 255))


def frame(channels: int) -> bytes:
    """Give one instant of all channels."""
    return b"".join(sample(channel) for channel in range(channels))


def packets(leg: Leg, start: int) -> Iterator[bytes]:
    """Give RTP packets without end (RFC 3550 5.1, RFC 3190 4)."""
    payload = frame(leg.channels) * leg.samples
    number, stamp = start, start * leg.samples
    while True:
        head = (_FIRST_BYTE, leg.payload_type, number & 0xFFFF, stamp & 0xFFFFFFFF, 0x51D3)
        yield struct.pack(">BBHII", *head) + payload
        number, stamp = number + 1, stamp + leg.samples


def prepare(legs: Sequence[Leg]) -> None:
    """Give this namespace the addresses of senders and listeners, and a way for groups."""
    own = {leg.source for leg in legs}
    own |= {leg.to for leg in legs if not ipaddress.IPv4Address(leg.to).is_multicast}
    steps = ["link set lo up", "link add heard type veth peer name far", "link set far up"]
    steps += ["link set heard up", *(f"addr add {ip}/16 dev heard" for ip in sorted(own))]
    steps += ["route add 224.0.0.0/4 dev heard"]
    for step in steps:
        subprocess.run(["ip", *step.split()], check=True)


def send(legs: Sequence[Leg], listener: subprocess.Popen[bytes]) -> None:
    """Send on all legs until the listener has ended or the time is up."""
    senders = []
    for leg in legs:
        out = socket.socket(socket.AF_INET, socket.SOCK_DGRAM)
        out.bind((leg.source, 0))
        out.setsockopt(socket.IPPROTO_IP, socket.IP_MULTICAST_IF, socket.inet_aton(leg.source))
        out.setsockopt(socket.IPPROTO_IP, socket.IP_MULTICAST_TTL, 1)
        senders.append((out, (leg.to, leg.port), packets(leg, start=100)))
    until = time.monotonic() + MOST_S
    while listener.poll() is None and time.monotonic() < until:
        for out, to, made in senders:
            try:
                out.sendto(next(made), to)
            except OSError:
                # Nobody listens there yet: a port unreachable came back.
                continue
        time.sleep(0.001)


def main(folder: str, legs_text: str, _: str, *command: str) -> int:
    """Send and listen; say what the listener said."""
    legs = [Leg(**leg) for leg in json.loads(legs_text)]
    prepare(legs)
    with (Path(folder) / "said.txt").open("wb") as said:
        listener = subprocess.Popen(
            command, cwd=folder, stdin=subprocess.DEVNULL, stdout=said, stderr=said
        )
        try:
            send(legs, listener)
        finally:
            if listener.poll() is None:
                listener.kill()
            listener.wait()
    return listener.returncode


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:]))
