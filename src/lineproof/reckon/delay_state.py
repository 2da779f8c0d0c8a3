"""What is kept while delays are worked out port by port."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Source:
    """What one sender sends at one packet time: its shortest and longest packet."""

    node: int
    packet_ns: int
    shortest_bits: int
    longest_bits: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """What a way can do, in bit/ns: what is left for streams at least, and its fastest.

    `onward_ns`: cable, and the bridge that hands a frame on into it.
    """

    left: float
    fastest: float
    cable_ns: float
    onward_ns: float


@dataclass(frozen=True, kw_only=True)
class Ports:
    """What was worked out port by port. Sources and ways go by index.

    `bits`: of each source on each way; `came`: by which way it comes there; `wait_ns`: the most
    from entering a port to the end of the frame; `busy_ns`: until when it is busy at most, where
    no stream can bring a second packet by then; `late_ns`: how late a packet may be against
    another of its stream once past; `sum_ns`: the most since it was sent.
    """

    bits: dict[int, dict[int, int]]
    came: dict[int, dict[int, int]]
    wait_ns: dict[int, float]
    busy_ns: dict[int, float]
    late_ns: dict[int, dict[int, float]]
    sum_ns: dict[int, dict[int, float]]

    def copy(self) -> Ports:
        """Give a copy whose entries may be replaced, not changed."""
        return Ports(
            bits=dict(self.bits),
            came=dict(self.came),
            wait_ns=dict(self.wait_ns),
            busy_ns=dict(self.busy_ns),
            late_ns=dict(self.late_ns),
            sum_ns=dict(self.sum_ns),
        )

    def lay(self, source: int, steps: Mapping[int, int], bits: int) -> None:
        """Put a stream on its ways; with bits below 0 take it off."""
        for way, came in steps.items():
            on = self.bits.setdefault(way, {})
            now = on.get(source, 0) + bits
            if now:
                on[source] = now
            else:
                del on[source]
            if bits > 0:
                self.came.setdefault(way, {})[source] = came

    def drop(self, way: int) -> None:
        """Forget a way that nothing uses."""
        for kept in (self.bits, self.came, self.late_ns, self.sum_ns):
            kept.pop(way, None)
        for figure in (self.wait_ns, self.busy_ns):
            figure.pop(way, None)
