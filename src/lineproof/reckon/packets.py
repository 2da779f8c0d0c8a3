"""How large RTP packets of linear audio are, on every layer, and how much they load a run."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

#: RFC 3550 5.1 without contributing sources; RFC 768; RFC 791 without options.
RTP_BYTES, UDP_BYTES, IP_BYTES = 12, 8, 20
#: IEEE 802.3: addresses and type 14, frame check 4; IEEE 802.1Q: tag 4.
FRAME_BYTES, TAG_BYTES = 18, 4
#: IEEE 802.3: preamble with start delimiter 8, gap 12; RFC 2544 Appendix B reckons with both.
LINE_BYTES = 20
#: What a packet occupies on the wire beside its payload, tagged.
HEADER_BYTES = RTP_BYTES + UDP_BYTES + IP_BYTES + FRAME_BYTES + TAG_BYTES + LINE_BYTES
#: The largest RTP payload (AES67 7.1, from memory; SMPTE ST 2110-10 arrives at the same).
MOST_PAYLOAD_BYTES = 1440


@dataclass(frozen=True, kw_only=True)
class Packet:
    """A packet time at a rate and depth; what is fixed is its count of samples.

    `packet_us` is the nominal time in microseconds: 1000 at 44.1 kHz really lasts 1088.4.

    >>> packet = Packet(rate_hz=48000, packet_us=1000, depth_bits=24)
    >>> packet.samples, packet.payload_bytes(8), packet.wire_bytes(8), packet.most_channels
    (48, 1152, 1234, 10)
    """

    rate_hz: int
    packet_us: int
    depth_bits: int = 24

    @property
    def samples(self) -> int:
        """Give the samples of one channel in a packet (AES67 7.2, from memory): 48 in 1 ms.

        At 44.1 kHz the counts of 48 kHz hold, at 88.2 kHz those of 96 kHz.
        """
        per_ms = 48 * max(1, round(self.rate_hz / 48_000))
        return max(1, round(Fraction(self.packet_us * per_ms, 1000)))

    @property
    def exact_us(self) -> Fraction:
        """Give how long a packet really lasts, in microseconds."""
        return Fraction(self.samples * 1_000_000, self.rate_hz)

    @property
    def packets_s(self) -> Fraction:
        """Give the packets a second."""
        return Fraction(self.rate_hz, self.samples)

    @property
    def channel_bytes(self) -> int:
        """Give the bytes that one channel takes in a packet."""
        return self.samples * self.depth_bits // 8

    @property
    def most_channels(self) -> int:
        """Give the channels that a payload of at most 1440 bytes can hold."""
        return MOST_PAYLOAD_BYTES // self.channel_bytes

    def payload_bytes(self, channels: int) -> int:
        """Give the RTP payload: samples x channels x bytes a sample."""
        return channels * self.channel_bytes

    def ip_bytes(self, channels: int) -> int:
        """Give the IPv4 packet."""
        return self.payload_bytes(channels) + RTP_BYTES + UDP_BYTES + IP_BYTES

    def frame_bytes(self, channels: int, *, tagged: bool = True) -> int:
        """Give the Ethernet frame from the first address to the frame check."""
        return self.ip_bytes(channels) + FRAME_BYTES + (TAG_BYTES if tagged else 0)

    def wire_bytes(self, channels: int, *, tagged: bool = True) -> int:
        """Give what the packet occupies on a run, preamble and gap counted."""
        return self.frame_bytes(channels, tagged=tagged) + LINE_BYTES

    def wire_bits_s(self, channels: int, *, tagged: bool = True) -> Fraction:
        """Give the bits a second that the stream takes of a run."""
        return self.wire_bytes(channels, tagged=tagged) * 8 * self.packets_s

    @property
    def channel_bits_s(self) -> int:
        """Give the bits a second that each channel adds on every run: whatever the packet."""
        return self.rate_hz * self.depth_bits

    @property
    def header_bits_s(self) -> int:
        """Give the bits a second of a stream without its channels, rounded up (4 ms, 44.1 kHz)."""
        return -(-HEADER_BYTES * 8 * self.rate_hz // self.samples)
