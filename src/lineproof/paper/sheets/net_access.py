"""Who may be on a switch's port: audio, control, guests, other switches, a rescue, nobody.

Guests and control stay off the audio VLAN (common practice): a broadcast storm or a wrong setting
there must not reach the microphones.
"""

from __future__ import annotations

import enum
from collections.abc import Collection

from lineproof.kit.kinds import Does
from lineproof.plan.network import Network
from lineproof.show.model import Unit


class Use(enum.Enum):
    """What a port is for; `audio`, `control` and `guests` are VLANs of the plan."""

    TRUNK = "trunk"  # to another switch: all VLANs, tagged
    AUDIO = "audio"
    CONTROL = "control"
    GUESTS = "guests"
    RESCUE = "rescue"  # open for a rescue only, on the audio VLAN
    SHUT = "shut"


def in_streams(network: Network) -> frozenset[str]:
    """Give every unit that sends or receives a stream."""
    return frozenset(n for s in network.streams for n in (s.sender, *s.receivers))


def use_of(unit: Unit, audio: Collection[str]) -> Use:
    """Give what the port is for on which a unit hangs; `audio` are the units with streams.

    A guest's equipment is let onto the audio VLAN only where the plan gives it a stream.
    """
    if unit.kind.does is Does.SWITCH:
        return Use.TRUNK
    if unit.name in audio or unit.kind.does is Does.CLOCK:
        return Use.AUDIO
    if unit.theirs:
        return Use.GUESTS
    return Use.AUDIO if unit.kind.networked else Use.CONTROL
