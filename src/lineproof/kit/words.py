"""Every key of the catalogue, declared once."""

from __future__ import annotations

import enum
from collections.abc import Mapping
from types import MappingProxyType

from lineproof.base.quantity import BITRATE, LEVEL, MASS, POWER, TIME, Measure
from lineproof.base.spot import Side
from lineproof.kit.kinds import Does, Signal
from lineproof.kit.word import Holds, Word

#: Groups of figures, as `practice` names them.
GROUPS = (
    "channels",
    "levels",
    "streams",
    "delays",
    "clock",
    "power",
    "size",
    "failures",
    "storage",
    "sound",
    "numbering",
)

#: The accuracy codes of IEEE 1588-2008 Table 6 (through RFC 8173): 0x20 (25 ns) to 0x31, unknown.
ACCURACIES = (*(f"0x{code:02X}" for code in range(0x20, 0x32)), "0xFE")

#: The power in W that a device of each class may draw (IEEE 802.3 clauses 33 and 145; memory).
POE_DEVICE_W = MappingProxyType(
    {0: 12.95, 1: 3.84, 2: 6.49, 3: 12.95, 4: 25.5, 5: 40.0, 6: 51.0, 7: 62.0, 8: 71.3}
)

#: The key by which a table says which kind it starts from.
LIKE = "like"

#: No kind has more sockets of one side, or more ports: a figure above is a slip of the pen.
MOST = 1024


def _values(words: type[enum.Enum]) -> tuple[str, ...]:
    return tuple(str(word.value) for word in words)


def _figure(
    key: str, meaning: str, high: float, group: str, unit: str = "", measure: Measure | None = None
) -> Word:
    return Word(
        key=key,
        holds=Holds.FIGURE,
        meaning=meaning,
        high=high,
        group=group,
        unit=unit,
        measure=measure,
    )


def _count(key: str, meaning: str, high: float, group: str) -> Word:
    return Word(key=key, holds=Holds.COUNT, meaning=meaning, high=high, group=group)


def _yes_no(key: str, meaning: str) -> Word:
    return Word(key=key, holds=Holds.YES_NO, meaning=meaning)


def _by_key(*words: Word) -> Mapping[str, Word]:
    return MappingProxyType({word.key: word for word in words})


KIND_WORDS = _by_key(
    Word(key="label", holds=Holds.TEXT, meaning="What papers print for the kind."),
    Word(
        key="does",
        holds=Holds.CHOICE,
        choices=_values(Does),
        needed=True,
        meaning="What a unit of it is for; rules and papers go by this, never by the name.",
    ),
    Word(
        key="sockets",
        holds=Holds.SOCKETS,
        meaning="Its audio connectors, in groups; numbers run on from group to group, by side.",
    ),
    _yes_no("passive", "Needs no power; what goes in comes out."),
    Word(
        key="send",
        holds=Holds.CHANNELS,
        group="channels",
        meaning="Channels to the network at each sample rate in Hz.",
    ),
    Word(
        key="receive",
        holds=Holds.CHANNELS,
        group="channels",
        meaning="Channels from the network at each sample rate in Hz.",
    ),
    _count("strips", "Inputs of its own mixing.", 1024, "channels"),
    _yes_no(
        "inside-patch",
        "Any input or receive channel can go to any output, send channel or strip; "
        "without it socket n is channel n.",
    ),
    Word(
        key="numbering",
        holds=Holds.NUMBERING,
        group="numbering",
        none=True,
        meaning="What the number of a unit implies: unit n takes so many channels from "
        "that many times n - 1, plus 1.",
    ),
    _yes_no("follows-numbers", "A mixer on which numbered boxes land by themselves."),
    Word(
        key="ports",
        holds=Holds.PORTS,
        meaning="Its network connectors, in groups; numbers run on from group to group.",
    ),
    Word(
        key="port-modes",
        holds=Holds.CHOICES,
        choices=("pair", "chain"),
        meaning="What its two ports can be: a pair on two nets, or a small switch for a chain.",
    ),
    _count("streams-send", "The most streams it sends.", 4096, "streams"),
    _count("streams-receive", "The most streams it receives.", 4096, "streams"),
    _count(
        "channels-per-stream",
        "The most channels in one stream; a long packet or a high rate may hold fewer.",
        80,
        "streams",
    ),
    Word(
        key="packet-ms",
        holds=Holds.FIGURES,
        measure=TIME,
        unit="ms",
        high=20,
        group="streams",
        meaning="The packet times it offers, at 48 kHz.",
    ),
    Word(
        key="buffers-ms",
        holds=Holds.FIGURES,
        measure=TIME,
        unit="ms",
        high=1000,
        group="streams",
        meaning="The receive buffers (link offsets) it offers.",
    ),
    _figure("convert-in-ms", "Delay from socket to digital.", 100, "delays", "ms", TIME),
    _figure("convert-out-ms", "Delay from digital to socket.", 100, "delays", "ms", TIME),
    _figure("process-ms", "Delay of its own working, inside.", 10_000, "delays", "ms", TIME),
    Word(
        key="clock",
        holds=Holds.CLOCK,
        none=True,
        group="clock",
        meaning="What it announces as a clock; none for one that can't be grandmaster.",
    ),
    _figure("start-s", "From power on until it passes audio.", 3600, "power", "s", TIME),
    _figure("clock-lock-s", "From a new clock until it is in step.", 600, "clock", "s", TIME),
    _count("supplies", "Mains inlets, each able to carry it alone.", 4, "power"),
    _figure("worst-w", "The most power it draws.", 100_000, "power", "W", POWER),
    _figure("programme-w", "The power it draws in use.", 100_000, "power", "W", POWER),
    Word(
        key="poe-class",
        holds=Holds.COUNT,
        high=8,
        none=True,
        group="power",
        meaning="The class it draws when fed over its network cable (IEEE 802.3).",
    ),
    _figure("poe-budget-w", "What all its ports together can feed.", 10_000, "power", "W", POWER),
    _figure("rack-units", "Rack height in units of 44.45 mm; 0: not for a rack.", 60, "size"),
    _figure("mass-kg", "Mass.", 10_000, "size", "kg", MASS),
    Word(
        key="failures-per-year",
        holds=Holds.FIGURE,
        high=100,
        none=True,
        group="failures",
        meaning="How often one unit fails in a year of use: an assumption.",
    ),
    _figure("disk-gbyte", "Room for recordings, in units of 10^9 bytes.", 1_000_000, "storage"),
    _figure(
        "writes-mbyte-s", "What its disk takes for hours, in 10^6 bytes/s.", 100_000, "storage"
    ),
    Word(
        key="sound-db",
        holds=Holds.FIGURE,
        high=160,
        none=True,
        group="sound",
        meaning="Sound level in dB at 1 m with the input at its most; loud enough to hurt.",
    ),
    Word(
        key="spare-takes-over",
        holds=Holds.CHOICE,
        choices=("name", "hand"),
        none=True,
        meaning="How a spare of this kind comes in: by taking the name, or by hand.",
    ),
    _yes_no("snooping", "A switch that gives multicast to members only."),
    _count(
        "multicast-groups",
        "The most multicast groups a switch remembers; 0: not known.",
        65_536,
        "streams",
    ),
    _figure(
        "forward-us",
        "What a switch, or a unit between its two chained ports, takes to hand a frame on, the "
        "frame's own time not counted; 0: not known.",
        1000,
        "delays",
        "us",
    ),
    _yes_no("converts-rate", "Changes the sample rate of what it receives."),
    _yes_no("managed", "A switch that can be set up: priorities, spanning tree, querier."),
    Word(
        key="practice",
        holds=Holds.CHOICES,
        choices=GROUPS,
        meaning="The groups of figures that are typical practice, not somebody's data.",
    ),
    Word(key="note", holds=Holds.TEXT, meaning="What else the crew should know."),
)

SOCKET_WORDS = _by_key(
    Word(
        key="side",
        holds=Holds.CHOICE,
        choices=(Side.IN.value, Side.OUT.value),
        needed=True,
        meaning="Into the unit, or out of it.",
    ),
    Word(key="count", holds=Holds.COUNT, low=1, high=MOST, meaning="How many; 1 if not said."),
    Word(
        key="signal",
        holds=Holds.CHOICE,
        choices=_values(Signal),
        needed=True,
        meaning="What they carry; mic takes line as well, digital is two channels.",
    ),
    Word(key="connector", holds=Holds.TEXT, needed=True, meaning="The connector, by its shape."),
    _yes_no("phantom", "Gives 48 V (IEC 61938)."),
    Word(
        key="most-dbu",
        holds=Holds.FIGURE,
        measure=LEVEL,
        unit="dBu",
        low=-60,
        high=60,
        none=True,
        group="levels",
        meaning="The most it takes or gives: 0 dBFS at the least gain.",
    ),
    Word(
        key="noise-dbu",
        holds=Holds.FIGURE,
        measure=LEVEL,
        unit="dBu",
        # 150 ohm at 20 C makes -130.9 dBu in 20 kHz by itself (facts 06); below is a slip.
        low=-131,
        high=0,
        none=True,
        group="levels",
        meaning="Noise of an input against its own input, of an output as it leaves it.",
    ),
    Word(
        key="joins",
        holds=Holds.COUNT,
        low=1,
        high=MOST,
        none=True,
        meaning="Of a passive kind: the input that the first output of the group is wired to.",
    ),
    _yes_no("isolated", "Of a passive kind: through a transformer, which keeps phantom back."),
)

PORT_WORDS = _by_key(
    Word(key="count", holds=Holds.COUNT, low=1, high=MOST, meaning="How many; 1 if not said."),
    Word(
        key="medium",
        holds=Holds.CHOICE,
        choices=("copper", "fibre"),
        needed=True,
        meaning="Copper (8P8C) or fibre (LC duplex).",
    ),
    Word(
        key="speed-mbit",
        holds=Holds.COUNT,
        measure=BITRATE,
        unit="Mbit/s",
        low=10,
        high=400_000,
        needed=True,
        meaning="Speed of the port.",
    ),
    _figure("feeds-w", "What the port can feed over the cable.", 90, "power", "W", POWER),
)

NUMBERING_WORDS = _by_key(
    Word(key="inputs", holds=Holds.COUNT, high=MOST, needed=True, meaning="Inputs of one unit."),
    Word(key="outputs", holds=Holds.COUNT, high=MOST, needed=True, meaning="Outputs of one unit."),
)

CLOCK_WORDS = _by_key(
    Word(
        key="class",
        field="clock_class",
        holds=Holds.COUNT,
        high=255,
        needed=True,
        meaning="6 locked to a primary reference, 248 by default (IEEE 1588 clockClass).",
    ),
    Word(
        key="accuracy",
        holds=Holds.CHOICE,
        choices=ACCURACIES,
        needed=True,
        meaning="0x21 is within 100 ns, 0xFE unknown (IEEE 1588 clockAccuracy).",
    ),
    _count("priority1", "Decides first; the lower wins (IEEE 1588 priority1).", 255, ""),
    _count("priority2", "Decides between equals (priority2).", 255, ""),
)

SOURCE_WORDS = _by_key(
    Word(key="label", holds=Holds.TEXT, meaning="What papers print for the source."),
    Word(
        key="words",
        holds=Holds.TEXTS,
        needed=True,
        meaning="What people write for it in a list, in any language we know.",
    ),
    Word(
        key="signal",
        holds=Holds.CHOICE,
        choices=_values(Signal),
        needed=True,
        meaning="What it gives.",
    ),
    _yes_no("phantom", "Needs 48 V."),
    Word(key="harm", holds=Holds.TEXT, meaning="What phantom does to it."),
    Word(
        key="level-dbu",
        holds=Holds.FIGURE,
        measure=LEVEL,
        unit="dBu",
        low=-80,
        high=40,
        none=True,
        meaning="Its usual level at the socket in loud use.",
    ),
    Word(
        key="sensitivity-mv-pa",
        holds=Holds.FIGURE,
        high=1000,
        none=True,
        meaning="A microphone's sensitivity in mV/Pa (94 dB SPL).",
    ),
    Word(
        key="content",
        holds=Holds.CHOICE,
        choices=("speech", "music", "effects"),
        none=True,
        meaning="What it carries, where that is plain.",
    ),
    _yes_no("microphone", "Is a microphone."),
    _yes_no("direct-box", "Comes out of a direct box."),
    _yes_no("mix", "Is a sum of other lines."),
    Word(
        key="before",
        holds=Holds.TEXTS,
        meaning="The sources it wins over when a text names both.",
    ),
    Word(key="practice", holds=Holds.TEXT, meaning="What of it is typical practice, and why."),
)
