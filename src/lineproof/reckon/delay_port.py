"""The longest that a frame of the top classes can wait and take at one port."""

from __future__ import annotations

import heapq
import math
from collections.abc import Sequence
from dataclasses import dataclass

#: More steps than that are not looked at one by one; a straight bound stands in.
_MOST_STEPS = 2_000
#: Periods are compared with this much to spare (ns), so that rounding never flatters.
SPARE_NS = 1e-6


@dataclass(frozen=True, slots=True)
class Bundle:
    """Streams that reach a port together, from one sender: their bits, period and lateness.

    `late_ns`: by how much a packet may come later than another of the same stream.
    """

    bits: int
    packet_ns: int
    late_ns: float


@dataclass(frozen=True, slots=True)
class Input:
    """What reaches a port over one run, or (speed 0) from the unit itself."""

    bundles: tuple[Bundle, ...]
    longest_bits: int
    bits_per_ns: float


def port_delay_ns(inputs: Sequence[Input], bits_per_ns: float, ahead_bits: float) -> float:
    """Give the most from a frame's arrival at a port to its end on the wire, in ns.

    `ahead_bits`: what may go first whatever the streams do: a frame of a lower class that has just
    begun, and the clock's frames. `bits_per_ns` is what the port has left for the streams. Infinite
    where more comes than the port can send.

    In a time t a stream of period T that may be J late brings at most 1 + floor((t + J) / T)
    packets, and a run of C bit/ns no more than its longest packet + C t (network calculus: total
    flow analysis with line shaping; Le Boudec and Thiran, Network Calculus, 1.4; Mifdaoui and
    Leydier 2017, from memory). The delay is the largest distance between that and the service.
    """
    total, room, rate = 0, math.inf, 0.0
    for each in inputs:
        for bundle in each.bundles:
            total += bundle.bits
            rate += bundle.bits / bundle.packet_ns
            room = min(room, bundle.packet_ns - bundle.late_ns)
    if rate >= bits_per_ns or room == -math.inf:
        return math.inf
    if (ahead_bits + total) / bits_per_ns < room - SPARE_NS:
        # The queue is empty again before any stream can bring a second packet.
        parts = [(_bits(each), each.longest_bits, each.bits_per_ns) for each in inputs]
        backlog = peak(parts, bits_per_ns)
    else:
        backlog = _stepped(inputs, bits_per_ns)
    return (ahead_bits + backlog) / bits_per_ns


def _bits(each: Input) -> int:
    return sum(bundle.bits for bundle in each.bundles)


def peak(
    parts: Sequence[tuple[float, int, float]],
    service: float,
    start: float = 0.0,
    stop: float = math.inf,
) -> float:
    """Give the most of sum(min(bits, longest + speed t)) - service t for t in [start, stop].

    A part is (bits, longest packet, speed of its run); speed 0 brings all at once.
    """
    value, slope, turns = -service * start, -service, []
    for bits, longest, speed in parts:
        line = longest + speed * start
        if speed <= 0.0 or line >= bits:
            value += bits
        else:
            value += line
            slope += speed
            turns.append(((bits - longest) / speed, speed))
    turns.sort()
    at = start
    for turn, speed in turns:
        if slope <= 0.0:
            break
        step = min(turn, stop) - at
        value += slope * step
        at += step
        if turn >= stop:
            break
        slope -= speed
    return value


def _stepped(inputs: Sequence[Input], service: float) -> float:
    """Give the backlog where streams may bring several packets while the queue lasts."""
    held, burst, rate, jumps = [], 0.0, 0.0, []
    for i, each in enumerate(inputs):
        now = 0
        for bundle in each.bundles:
            period, late = bundle.packet_ns, bundle.late_ns
            # Closed windows: two packets exactly T - J apart both count.
            first = math.floor((late + SPARE_NS) / period) + 1
            now += bundle.bits * first
            burst += bundle.bits * (1 + late / period)
            rate += bundle.bits / period
            jumps.append((first * period - late, i, bundle.bits, period))
        held.append(now)
    heapq.heapify(jumps)
    return _over_steps(inputs, service, held, jumps, (burst, service - rate))


def _over_steps(
    inputs: Sequence[Input],
    service: float,
    held: list[int],
    jumps: list[tuple[float, int, int, int]],
    envelope: tuple[float, float],
) -> float:
    """Give the most over all steps; `envelope`: the backlog is below first - second x t at t."""
    shapes = [(each.longest_bits, each.bits_per_ns) for each in inputs]
    best, start = 0.0, 0.0
    burst, fall = envelope
    for _ in range(_MOST_STEPS):
        at = jumps[0][0]
        parts = [(h, longest, speed) for h, (longest, speed) in zip(held, shapes, strict=True)]
        best = max(best, peak(parts, service, start, at))
        if burst - fall * at <= best:
            return best
        while jumps[0][0] == at:
            _, i, bits, period = jumps[0]
            held[i] += bits
            heapq.heapreplace(jumps, (at + period, i, bits, period))
        start = at
    return _straight(inputs, service)


def _straight(inputs: Sequence[Input], service: float) -> float:
    """Give a backlog that is never too small, each stream a burst and a steady rate."""
    value, slope, turns = 0.0, -service, []
    for each in inputs:
        rate = sum(bundle.bits / bundle.packet_ns for bundle in each.bundles)
        burst = sum(b.bits * (1 + b.late_ns / b.packet_ns) for b in each.bundles)
        if each.bits_per_ns <= rate or each.longest_bits >= burst:
            value += burst
            slope += rate
        else:
            value += each.longest_bits
            slope += each.bits_per_ns
            gain = each.bits_per_ns - rate
            turns.append(((burst - each.longest_bits) / gain, gain))
    at = 0.0
    for turn, gain in sorted(turns):
        if slope <= 0.0:
            break
        value += slope * (turn - at)
        at, slope = turn, slope - gain
    return value
