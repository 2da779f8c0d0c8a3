"""A kind of equipment: its sockets, channels, ports and habits, stated apart."""

from __future__ import annotations

import enum
import functools
from collections.abc import Mapping
from dataclasses import dataclass, field

from lineproof.base.spot import Side
from lineproof.kit.tokens import word_tokens


class Does(enum.Enum):
    """What a unit is for; papers and rules go by it, never by a kind's name."""

    BOX = "box"  # microphones and outputs on stage, to and from the network
    DROP_BOX = "drop-box"  # sockets at the far end of a multicore; passive
    TIE_PANEL = "tie-panel"  # a numbered set of passive lines
    SPLIT = "split"  # one microphone, several ways on; passive
    MIXER = "mixer"
    LOUDSPEAKER = "loudspeaker"
    AMPLIFIER = "amplifier"
    PROCESSOR = "processor"  # matrix, rate converter, change-over: in and out, no strips
    CHANGEOVER = "changeover"
    CONVERTER = "converter"
    COMPUTER = "computer"
    RECORDER = "recorder"
    RADIO = "radio"  # wireless microphones, in-ear transmitters
    BRIDGE = "bridge"  # conference room, interpreter, stream encoder, uplink: people elsewhere
    DRIVER = "driver"  # assistive listening
    ALARM = "alarm"
    SWITCH = "switch"
    CLOCK = "clock"


class Signal(enum.Enum):
    """What an audio socket carries."""

    MIC = "mic"  # microphone or line
    LINE = "line"
    SPEAKER = "speaker"
    DIGITAL = "digital"  # two channels on one connector


@dataclass(frozen=True, kw_only=True)
class Socket:
    """One audio connector of a unit.

    `phantom`: gives 48 V (IEC 61938). Levels in dBu; None where the kind doesn't say: `most_dbu`
    is full scale (0 dBFS) at the least gain, `noise_dbu` the noise against its own input or at its
    output (20 Hz to 20 kHz). On an output of a passive kind `joins` is the number of the input it
    is wired to, and `isolated` says that a transformer lies between the two.
    """

    number: int
    side: Side
    signal: Signal
    connector: str
    phantom: bool = False
    most_dbu: float | None = None
    noise_dbu: float | None = None
    joins: int | None = None
    isolated: bool = False


@dataclass(frozen=True, kw_only=True)
class Port:
    """One network connector. `feeds_w`: what it can feed over the cable, 0 for nothing."""

    number: int
    medium: str  # copper | fibre
    speed_mbit: int
    feeds_w: float = 0.0


@dataclass(frozen=True, kw_only=True)
class Numbering:
    """What the number of a unit implies (common practice).

    Unit n's input sockets land on receive channels `inputs * (n - 1) + 1` and up of a mixer,
    its outputs are fed from send channels `outputs * (n - 1) + 1` and up.

    >>> Numbering(inputs=16, outputs=8).receive_channel(unit_number=2, socket=3)
    19
    """

    inputs: int
    outputs: int

    def receive_channel(self, *, unit_number: int, socket: int) -> int:
        """Give the mixer's receive channel for input `socket` of unit `unit_number`."""
        return self.inputs * (unit_number - 1) + socket

    def send_channel(self, *, unit_number: int, socket: int) -> int:
        """Give the mixer's send channel for output `socket` of unit `unit_number`."""
        return self.outputs * (unit_number - 1) + socket


@dataclass(frozen=True, kw_only=True)
class ClockFacts:
    """What a unit tells about its clock (IEEE 1588); None for one that can't be grandmaster."""

    clock_class: int
    accuracy: str
    priority1: int = 128
    priority2: int = 128


@dataclass(frozen=True, kw_only=True)
class Kind:
    """One type in the catalogue.

    `send` and `receive` give the channels to and from the network per sample rate in Hz;
    `inside_patch`: any input or receive channel can go to any output, send channel or strip
    (in a box without it socket n is channel n); `follows_numbers`: a mixer on which numbered
    boxes land by themselves. Times in ms, power in W, rack height in units of 44.45 mm,
    0 of which means not made for a rack. `failures_per_year` is an assumption. `practice` says
    which groups of figures are typical practice. `passive`: needs no power, and what goes in comes
    out; `poe_budget_w` is what all its ports together can feed, `sound_db` the level in dB at 1 m
    with the input at its most, `channels_per_stream` the most at any packet (a long packet or a
    high rate may hold fewer).
    """

    name: str
    label: str
    does: Does
    sockets: tuple[Socket, ...] = ()
    passive: bool = False
    # Left out of the hash, so that a kind can be a key; equality still looks at them.
    send: Mapping[int, int] = field(default_factory=dict, hash=False)
    receive: Mapping[int, int] = field(default_factory=dict, hash=False)
    strips: int = 0
    inside_patch: bool = False
    numbering: Numbering | None = None
    follows_numbers: bool = False
    ports: tuple[Port, ...] = ()
    port_modes: tuple[str, ...] = ()  # pair | chain
    streams_send: int = 0
    streams_receive: int = 0
    channels_per_stream: int = 0
    packet_ms: tuple[float, ...] = ()
    buffers_ms: tuple[float, ...] = ()
    convert_in_ms: float = 0.0
    convert_out_ms: float = 0.0
    process_ms: float = 0.0
    clock: ClockFacts | None = None
    start_s: float = 0.0
    clock_lock_s: float = 0.0
    supplies: int = 1
    worst_w: float = 0.0
    programme_w: float = 0.0
    poe_class: int | None = None  # the class it draws when fed over its cable
    poe_budget_w: float = 0.0
    rack_units: float = 0.0
    mass_kg: float = 0.0
    failures_per_year: float | None = None
    disk_gbyte: float = 0.0
    writes_mbyte_s: float = 0.0
    sound_db: float | None = None
    spare_takes_over: str = ""  # name | hand
    snooping: bool = False  # a switch: multicast to members only
    managed: bool = False  # a switch: can be configured
    multicast_groups: int = 0  # a switch: the most it remembers, 0 where nobody says
    forward_us: float = 0.0  # a switch or a chained unit: to hand a frame on, 0 where nobody says
    converts_rate: bool = False  # changes the sample rate of what it receives
    practice: tuple[str, ...] = ()
    note: str = ""

    def sockets_on(self, side: Side) -> tuple[Socket, ...]:
        """Give the sockets of one side (IN or OUT) by number."""
        return self._by_side.get(side, ())

    @functools.cached_property
    def _by_side(self) -> Mapping[Side, tuple[Socket, ...]]:
        # Asked for hundreds of thousands of times in a plan.
        sides = dict.fromkeys(s.side for s in self.sockets)
        return {side: tuple(s for s in self.sockets if s.side is side) for side in sides}

    def rates(self) -> tuple[int, ...]:
        """Give the sample rates in Hz at which the kind carries network audio, lowest first."""
        return tuple(sorted(set(self.send) | set(self.receive)))

    @property
    def networked(self) -> bool:
        """Say whether the kind carries audio over its network port."""
        return any(self.send.values()) or any(self.receive.values())

    def count(self, side: Side, rate_hz: int) -> int:
        """Give how many spots the kind has on a side at a sample rate (0 at one it can't do)."""
        match side:
            case Side.IN | Side.OUT:
                return len(self.sockets_on(side))
            case Side.SEND:
                return self.send.get(rate_hz, 0)
            case Side.RECEIVE:
                return self.receive.get(rate_hz, 0)
            case Side.STRIP:
                return self.strips

    def sole_side(self, sides: tuple[Side, ...], rate_hz: int) -> Side | None:
        """Give the one side of `sides` on which the kind has spots, or None if not just one."""
        there = [s for s in sides if self.count(s, rate_hz)]
        return there[0] if len(there) == 1 else None

    def phantom_passes(self, output: int) -> bool:
        """Say whether 48 V given to an output of a passive kind reaches the input it is wired to.

        A transformer keeps it back; a wire lets it through.
        """
        return self.passive and any(
            s.joins is not None and not s.isolated
            for s in self.sockets_on(Side.OUT)
            if s.number == output
        )


@dataclass(frozen=True, kw_only=True)
class Source:
    """A kind of source: what is plugged in.

    `words` are what people write in the list for it, in any language we know. `phantom`:
    needs 48 V. `harm`: what phantom does to it ("" for nothing). `level_dbu`: its usual level
    at the socket for loud use (practice), `sensitivity_mv_pa` a microphone's in mV/Pa (94 dB).
    `mix`: a sum of other lines. `before`: the sources it wins over when a text names both, as a
    wireless receiver does over the capsule in the hand.
    """

    name: str
    label: str
    words: tuple[str, ...]
    signal: Signal
    phantom: bool = False
    harm: str = ""
    level_dbu: float | None = None
    sensitivity_mv_pa: float | None = None
    content: str = ""  # speech | music | effects
    microphone: bool = False
    direct_box: bool = False
    mix: bool = False
    before: tuple[str, ...] = ()
    practice: str = ""


@dataclass(frozen=True, kw_only=True)
class Kit:
    """The catalogue: kinds and sources by name."""

    kinds: Mapping[str, Kind]
    sources: Mapping[str, Source]

    @functools.cached_property
    def phrases(self) -> Mapping[tuple[str, ...], Source]:
        """Give the source for every word people write for one, as `find_source` compares them."""
        return {
            word_tokens(text): source
            for source in self.sources.values()
            for text in (source.name, *source.words)
        }

    @functools.cached_property
    def longest_phrase(self) -> int:
        """Give the most words that one of `phrases` has."""
        return max(map(len, self.phrases), default=0)
