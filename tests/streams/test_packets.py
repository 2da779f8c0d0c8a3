"""Packet sizes against the table of facts: 1 to 64 channels, 3 rates, 2 depths, 5 packet times.

Source of both tables: RFC 3550 5.1, RFC 3551 4.5, RFC 3190 4, RFC 791, IEEE 802.3, RFC 2544
Appendix B; packet times and the payload's limit after AES67, from memory.
"""

from __future__ import annotations

import csv
from fractions import Fraction
from pathlib import Path

from lineproof.reckon.packets import Packet

HERE = Path(__file__).parent
NOMINAL_US = {"125us": 125, "250us": 250, "333us": 333, "1ms": 1000, "4ms": 4000}


def table(name: str) -> list[dict[str, str]]:
    with (HERE / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def packet(row: dict[str, str], depth_bits: int = 24) -> Packet:
    return Packet(
        rate_hz=int(row["rate_hz"]),
        packet_us=NOMINAL_US[row["packet_time"]],
        depth_bits=int(row.get("bits", depth_bits)),
    )


def sizes(row: dict[str, str]) -> dict[str, Fraction]:
    made, n = packet(row), int(row["channels"])
    found = {
        "samples_per_packet": made.samples,
        "payload_bytes": made.payload_bytes(n),
        "packets_per_s": made.packets_s,
        "fits_1440_payload": int(n <= made.most_channels),
        "streams_needed_at_1440": -(-n // made.most_channels),
        "ip_packet_bytes": made.ip_bytes(n),
        "frame_bytes": made.frame_bytes(n, tagged=False),
        "wire_bytes": made.wire_bytes(n, tagged=False),
        "wire_bits_per_s": made.wire_bits_s(n, tagged=False),
        "tagged_frame_bytes": made.frame_bytes(n),
        "tagged_wire_bytes": made.wire_bytes(n),
        "tagged_wire_bits_per_s": made.wire_bits_s(n),
    }
    return {name: Fraction(value) for name, value in found.items()}


def test_every_stream_of_the_table_has_its_sizes() -> None:
    rows = table("01_rtp_streams.csv")
    assert len(rows) == 1920
    wrong = [
        (row["rate_hz"], row["bits"], row["packet_time"], row["channels"], name)
        for row in rows
        for name, value in sizes(row).items()
        if row[name] and Fraction(row[name]) != value  # over the MTU the table leaves gaps
    ]
    assert wrong == []


def test_the_exact_time_and_the_most_channels_of_every_packet_time() -> None:
    for row in table("01_packet_times.csv"):
        made = packet(row)
        assert round(float(made.exact_us) / 1000, 6) == float(row["exact_ms"])
        assert made.most_channels == int(row["max_ch_L24_1440"])
        assert packet(row, 16).most_channels == int(row["max_ch_L16_1440"])


def test_header_and_channels_make_the_stream() -> None:
    for row in table("01_rtp_streams.csv"):
        made, n = packet(row), int(row["channels"])
        parts = made.header_bits_s + n * made.channel_bits_s
        assert 0 <= parts - made.wire_bits_s(n) < 1
