"""Every kind of the catalogue is sane by itself and fits what standards and the trade say."""

from __future__ import annotations

import math

import pytest

from lineproof.base.spot import Side
from lineproof.kit.kinds import Does, Kind, Signal
from lineproof.kit.load import load_kit
from lineproof.kit.table import groups_of

KIT = load_kit()
KINDS = tuple(KIT.kinds.values())
every_kind = pytest.mark.parametrize("kind", KINDS, ids=lambda kind: kind.name)

# IEEE 802.3, clause 33 (af, at) and clause 145 (bt): what a device may draw, class by class, in W.
# From memory, as marked in the facts table of power over the cable.
DEVICE_W = {0: 12.95, 1: 3.84, 2: 6.49, 3: 12.95, 4: 25.5, 5: 40.0, 6: 51.0, 7: 62.0, 8: 71.3}

# AES67 7.1 (memory): an RTP payload of at most 1440 bytes; with IPv4 alone 1460 would fit.
# Samples in a packet at 48 kHz, by the name of its time in ms (AES67 7.2, memory).
PAYLOAD_BYTES = 1440
SAMPLES_AT_48K = {0.125: 6, 0.25: 12, 0.333: 16, 1.0: 48, 4.0: 192}
BYTES_L24 = 3

# IEC 61938 and Johnson noise: 150 ohm at 20 C over 20 kHz, sqrt(4 k T R B), k = 1.380649e-23 J/K.
THERMAL_DBU = 20 * math.log10(math.sqrt(4 * 1.380649e-23 * 293.15 * 150 * 20_000) / math.sqrt(0.6))


def named(*names: str) -> tuple[Kind, ...]:
    return tuple(KIT.kinds[name] for name in names)


def test_the_example_shows_find_their_kinds() -> None:
    used = {"box-16-8", "mixer-16", "mixer-32", "computer-32", "powered-loudspeaker", "switch-8"}
    assert used - set(KIT.kinds) == set()


def test_there_is_a_kind_for_every_purpose() -> None:
    assert {kind.does for kind in KINDS} == set(Does)


@every_kind
def test_it_draws_no_more_in_use_than_at_worst(kind: Kind) -> None:
    assert 0 <= kind.programme_w <= kind.worst_w


@every_kind
def test_it_is_passive_or_has_a_way_to_be_fed(kind: Kind) -> None:
    fed = kind.supplies > 0 or kind.poe_class is not None
    assert kind.passive != fed
    assert kind.passive == (kind.worst_w == 0)


@every_kind
def test_what_is_fed_over_its_cable_fits_its_class(kind: Kind) -> None:
    if kind.poe_class is not None:
        assert kind.worst_w <= DEVICE_W[kind.poe_class]
        assert any(port.medium == "copper" for port in kind.ports)


@every_kind
def test_what_it_feeds_comes_out_of_its_own_supply(kind: Kind) -> None:
    # Twice the class-4 feed of 30 W is beyond what any of ours gives from one port.
    assert all(port.feeds_w <= 30 for port in kind.ports)
    assert kind.poe_budget_w <= sum(port.feeds_w for port in kind.ports)
    assert kind.poe_budget_w < kind.worst_w or kind.poe_budget_w == 0


@every_kind
def test_channels_have_streams_packets_and_ports_to_travel_by(kind: Kind) -> None:
    if kind.networked:
        assert kind.ports
        assert kind.packet_ms
        assert kind.channels_per_stream > 0
        assert kind.clock_lock_s > 0
    else:
        assert kind.packet_ms == ()
        assert (kind.streams_send, kind.streams_receive) == (0, 0)


@every_kind
@pytest.mark.parametrize("rate_hz", [44_100, 48_000, 96_000])
def test_all_its_channels_fit_its_streams(kind: Kind, rate_hz: int) -> None:
    def needed(side: Side) -> int:
        count = kind.count(side, rate_hz)
        # AES67 7.1 again: at 96 kHz twice the samples, so half the channels in a packet.
        samples = SAMPLES_AT_48K[max(kind.packet_ms)] * (2 if rate_hz == 96_000 else 1)
        most = min(kind.channels_per_stream, PAYLOAD_BYTES // (samples * BYTES_L24))
        return math.ceil(count / most)

    if kind.networked:
        assert needed(Side.SEND) <= kind.streams_send
        assert needed(Side.RECEIVE) <= kind.streams_receive


@every_kind
def test_a_full_stream_fits_its_packet(kind: Kind) -> None:
    for packet_ms in kind.packet_ms:
        payload = SAMPLES_AT_48K[packet_ms] * BYTES_L24 * kind.channels_per_stream
        assert payload <= PAYLOAD_BYTES


@every_kind
def test_every_sender_and_receiver_knows_the_packet_of_1_ms(kind: Kind) -> None:
    # AES67 7.2: the one packet time everybody must support (memory).
    if kind.networked:
        assert 1.0 in kind.packet_ms


@every_kind
def test_its_buffers_hold_at_least_a_packet(kind: Kind) -> None:
    assert bool(kind.buffers_ms) == any(kind.receive.values())
    if kind.buffers_ms:
        assert min(kind.buffers_ms) >= min(kind.packet_ms)
        # AES67 7.4: room for three packets at least (memory).
        assert max(kind.buffers_ms) >= 3 * max(kind.packet_ms)


@every_kind
def test_at_96_khz_it_carries_all_its_channels_or_half_of_them(kind: Kind) -> None:
    # Common practice: channel counts often halve at 96 kHz. One that carries none is at one rate.
    for channels in (kind.send, kind.receive):
        usual = channels.get(48_000, 0)
        assert channels.get(96_000, 0) in (usual, usual // 2, 0)
        assert channels.get(44_100, usual) == usual


@every_kind
def test_no_input_is_quieter_than_a_resistor(kind: Kind) -> None:
    assert pytest.approx(-130.92, abs=0.01) == THERMAL_DBU
    quiet = [s.noise_dbu for s in kind.sockets if s.noise_dbu is not None]
    assert all(noise > THERMAL_DBU for noise in quiet)


@every_kind
def test_sockets_and_ports_are_numbered_from_one(kind: Kind) -> None:
    for side in (Side.IN, Side.OUT):
        numbers = [socket.number for socket in kind.sockets_on(side)]
        assert numbers == list(range(1, len(numbers) + 1))
    assert [port.number for port in kind.ports] == list(range(1, len(kind.ports) + 1))


@every_kind
def test_phantom_comes_only_from_powered_microphone_inputs(kind: Kind) -> None:
    givers = [socket for socket in kind.sockets if socket.phantom]
    assert all(s.side is Side.IN and s.signal is Signal.MIC for s in givers)
    assert not (kind.passive and givers)


@every_kind
def test_conversion_takes_time_where_sockets_meet_the_network(kind: Kind) -> None:
    if kind.networked:
        assert (kind.convert_in_ms > 0) >= bool(kind.sockets_on(Side.IN))
        assert (kind.convert_out_ms > 0) >= bool(kind.sockets_on(Side.OUT))


@every_kind
def test_it_says_which_of_its_figures_are_practice(kind: Kind) -> None:
    assert set(kind.practice) == set(groups_of(kind))


@every_kind
def test_it_says_how_heavy_it_is_and_how_often_it_fails(kind: Kind) -> None:
    assert kind.mass_kg > 0
    assert kind.failures_per_year is not None
    assert 0 < kind.failures_per_year < 10


@every_kind
def test_powered_equipment_takes_time_to_start(kind: Kind) -> None:
    assert (kind.start_s > 0) != kind.passive


@pytest.mark.parametrize(
    "kind", [k for k in KINDS if k.does is Does.BOX and k.sockets], ids=lambda k: k.name
)
def test_a_stage_box_carries_all_its_sockets_at_48_khz(kind: Kind) -> None:
    assert kind.count(Side.SEND, 48_000) == len(kind.sockets_on(Side.IN))
    assert kind.count(Side.RECEIVE, 48_000) == len(kind.sockets_on(Side.OUT))
    assert all(s.phantom for s in kind.sockets_on(Side.IN))


def test_a_box_is_named_by_its_inputs_and_outputs() -> None:
    for kind in KINDS:
        match kind.name.split("-"):
            case ["box", inputs, outputs, *_]:
                assert len(kind.sockets_on(Side.IN)) == int(inputs)
                assert len(kind.sockets_on(Side.OUT)) == int(outputs)


@pytest.mark.parametrize("unit", [1, 2, 3, 7])
def test_a_numbered_box_of_16_and_8_lands_where_the_trade_expects(unit: int) -> None:
    # Common practice: unit n takes inputs 16(n-1)+1 to 16n and outputs 8(n-1)+1 to 8n.
    numbering = KIT.kinds["box-16-8"].numbering
    assert numbering is not None
    inputs = [numbering.receive_channel(unit_number=unit, socket=s) for s in range(1, 17)]
    outputs = [numbering.send_channel(unit_number=unit, socket=s) for s in range(1, 9)]
    assert inputs == list(range(16 * (unit - 1) + 1, 16 * unit + 1))
    assert outputs == list(range(8 * (unit - 1) + 1, 8 * unit + 1))


@every_kind
def test_numbering_counts_the_sockets_there_are(kind: Kind) -> None:
    if kind.numbering is not None:
        assert kind.numbering.inputs == len(kind.sockets_on(Side.IN))
        assert kind.numbering.outputs == len(kind.sockets_on(Side.OUT))


@pytest.mark.parametrize(
    ("name", "inputs", "outputs", "channels", "at_96_khz", "strips"),
    [
        # Common practice: 16 each way in the compact one, 32, 64 or 128 in larger ones.
        ("mixer-16", 16, 8, 16, 8, 32),
        ("mixer-32", 32, 16, 32, 16, 48),
        ("mixer-64", 64, 32, 64, 32, 96),
        ("mixer-128", 64, 32, 128, 64, 192),
    ],
)
def test_a_mixer_states_sockets_channels_and_strips_apart(
    name: str, inputs: int, outputs: int, channels: int, at_96_khz: int, strips: int
) -> None:
    kind = KIT.kinds[name]
    assert kind.count(Side.IN, 48_000) == inputs
    assert kind.count(Side.OUT, 48_000) == outputs
    for side in (Side.SEND, Side.RECEIVE):
        assert kind.count(side, 48_000) == channels
        assert kind.count(side, 96_000) == at_96_khz
    assert kind.count(Side.STRIP, 48_000) == strips
    assert kind.inside_patch
    assert kind.follows_numbers


def test_a_loudspeaker_with_a_network_port_has_an_analogue_way_in_as_well() -> None:
    for kind in named("powered-loudspeaker", "powered-subwoofer"):
        assert kind.sole_side((Side.SEND, Side.RECEIVE), 48_000) is Side.RECEIVE
        assert kind.count(Side.RECEIVE, 48_000) == kind.count(Side.IN, 48_000) == 1


def test_half_of_all_equipment_has_only_sockets() -> None:
    sockets_only = named(
        "analogue-loudspeaker",
        "analogue-subwoofer",
        "analogue-amplifier-2",
        "analogue-radio-rack-4",
        "in-ear-rack-4",
        "listening-driver",
        "alarm-interface",
        "remote-codec",
    )
    assert all(kind.sockets and not kind.networked for kind in sockets_only)


def test_in_ear_sockets_come_in_pairs() -> None:
    for kind in named("in-ear-rack-2", "in-ear-rack-4"):
        assert len(kind.sockets_on(Side.IN)) % 2 == 0


def test_a_split_passes_phantom_on_its_direct_legs_only() -> None:
    split = KIT.kinds["split-8-2"]
    assert [split.phantom_passes(leg) for leg in (1, 8, 9, 16)] == [True, True, False, False]
    assert {s.joins for s in split.sockets_on(Side.OUT)} == set(range(1, 9))


def test_every_leg_of_a_split_or_panel_is_wired_to_an_input() -> None:
    for kind in KINDS:
        if kind.does in (Does.SPLIT, Does.TIE_PANEL):
            inputs = {s.number for s in kind.sockets_on(Side.IN)}
            assert {s.joins for s in kind.sockets_on(Side.OUT)} == inputs


def test_there_is_a_slow_switch_that_floods_and_cannot_be_set_up() -> None:
    trap = KIT.kinds["switch-5-slow"]
    assert {port.speed_mbit for port in trap.ports} == {100}
    assert not trap.snooping
    assert not trap.managed


def test_a_grandmaster_beats_every_other_kind_by_its_class() -> None:
    # IEEE 1588-2008 7.6.2.4 (through RFC 8173): 6 is locked to a primary reference, 248 by default.
    ranks = {k.name: k.clock.clock_class for k in KINDS if k.clock is not None}
    assert min(ranks, key=ranks.__getitem__) == "grandmaster-clock"
    assert set(ranks.values()) == {6, 13, 248}


def test_no_connector_goes_by_a_brand() -> None:
    shapes = {s.connector for kind in KINDS for s in kind.sockets}
    assert shapes <= {"XLR 3", "jack 6.3 mm", "multipin", "screw terminal", "locking 4-pole"}


@every_kind
def test_it_says_when_it_is_up_what_it_weighs_how_it_fails_and_who_replaces_it(kind: Kind) -> None:
    assert kind.mass_kg > 0
    assert kind.failures_per_year
    if not kind.passive:
        assert kind.start_s > 0
        assert kind.spare_takes_over in ("name", "hand")


@every_kind
def test_every_socket_that_makes_or_takes_a_level_says_its_limit_and_noise(kind: Kind) -> None:
    # A wire has no noise of its own, and what goes in by numbers has no level in dBu.
    for socket in kind.sockets:
        if not kind.passive and socket.signal is not Signal.DIGITAL:
            assert socket.most_dbu is not None
            assert socket.noise_dbu is not None
            assert socket.noise_dbu < socket.most_dbu - 80


def test_an_amplifier_for_100_v_lines_gives_100_v() -> None:
    # 0 dBu is sqrt(0.6) V (facts 06); common practice: the line's volts are those at full power.
    for kind in named("line-amplifier-4"):
        for socket in kind.sockets_on(Side.OUT):
            assert socket.most_dbu is not None
            volts = math.sqrt(0.6) * 10 ** (socket.most_dbu / 20)
            assert volts == pytest.approx(100, rel=0.01)


#: What a sound system is put together from, each with what tells it from its like.
WANTED = {
    "stage boxes": ("box-2-2", "box-4-4", "box-8-4", "box-8-8", "box-16-8", "box-32-16"),
    "drop boxes": ("drop-box-8", "drop-box-12-4", "drop-box-16-8"),
    "tie panels": ("tie-panel-8", "tie-panel-16", "tie-panel-32"),
    "splits": ("split-1-3", "split-8-2", "split-16-3"),
    "mixers": ("mixer-16", "mixer-32", "mixer-64", "mixer-128"),
    "loudspeakers": ("powered-loudspeaker", "analogue-loudspeaker"),
    "subwoofers": ("powered-subwoofer", "analogue-subwoofer"),
    "amplifiers": ("amplifier-2", "amplifier-4", "amplifier-8"),
    "processors": ("matrix-processor", "rate-converter", "change-over", "change-over-network"),
    "people elsewhere": ("conference-bridge", "interpreter-console", "stream-encoder"),
    "in the house": ("listening-driver", "alarm-interface", "internet-uplink"),
    "radio": ("radio-rack-4", "radio-rack-8", "in-ear-rack-2", "in-ear-rack-4"),
    "computers": ("computer-16", "computer-32", "computer-64", "computer-128"),
    "recorders": ("recorder-64",),
    "switches": ("switch-8", "switch-24", "switch-24-poe", "switch-8-fibre", "switch-5-slow"),
    "clocks": ("grandmaster-clock", "house-clock"),
}


@pytest.mark.parametrize("what", WANTED)
def test_there_is_one_of_each(what: str) -> None:
    assert set(WANTED[what]) - set(KIT.kinds) == set()
