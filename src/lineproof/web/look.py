"""The colours of the face, light and dark, as data: a test holds every pair to its contrast."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

#: Names say what a colour is for. Grounds are written on, inks are written with.
LIGHT: Mapping[str, str] = MappingProxyType(
    {
        "ground": "#f4f3ee",
        "panel": "#ffffff",
        "shade": "#e9e7df",
        "ink": "#1b2225",
        "quiet": "#4c565b",
        "rule": "#7b807d",
        "hair": "#d3d1c8",
        "link": "#0a4f63",
        "stop": "#96290a",
        "risk": "#6d4a00",
        "note": "#36505f",
        "good": "#0a4f86",
        "stop-fill": "#96290a",
        "risk-fill": "#f0cf7a",
        "note-fill": "#d5e1e8",
        "good-fill": "#cfe3f5",
        "stop-ink": "#ffffff",
        "fill-ink": "#1b2225",
        "net-a": "#0a4f86",
        "net-b": "#7a3d00",
        "duct": "#cbc7b8",
    }
)
DARK: Mapping[str, str] = MappingProxyType(
    {
        "ground": "#121618",
        "panel": "#1a2023",
        "shade": "#252d31",
        "ink": "#e9e6dd",
        "quiet": "#aeb6b8",
        "rule": "#78838a",
        "hair": "#343d42",
        "link": "#86cfe2",
        "stop": "#ffa07a",
        "risk": "#ecc25c",
        "note": "#b3c8d5",
        "good": "#8cc4f2",
        "stop-fill": "#ffa07a",
        "risk-fill": "#5c4712",
        "note-fill": "#2f4350",
        "good-fill": "#1f4566",
        "stop-ink": "#1b0d06",
        "fill-ink": "#f3f0e8",
        "net-a": "#8cc4f2",
        "net-b": "#f0b45c",
        "duct": "#3b4447",
    }
)
#: How much of a picture behind the room is seen: so much that lines on it keep their contrast,
#: whatever it shows (a test weighs them on black and on white).
SEEN_LIGHT, SEEN_DARK = 0.34, 0.28
#: Which ink is written on which ground, wherever the style sheet does so.
WRITTEN: tuple[tuple[str, str], ...] = (
    *(
        (ink, ground)
        for ink in ("ink", "quiet", "link", "stop", "risk", "note", "good", "net-a", "net-b")
        for ground in ("ground", "panel", "shade")
    ),
    ("stop-ink", "stop-fill"),
    ("fill-ink", "risk-fill"),
    ("fill-ink", "note-fill"),
    ("fill-ink", "good-fill"),
    ("panel", "ink"),
    ("panel", "link"),
)
#: Rims and lines that carry meaning, against what they stand on.
DRAWN: tuple[tuple[str, str], ...] = tuple(
    (line, ground)
    for line in ("rule", "stop", "net-a", "net-b", "link", "ink")
    for ground in ("ground", "panel")
)
#: What text needs (WCAG 2.2, 1.4.3, level AA) and what lines need (1.4.11).
LEAST_WRITTEN, LEAST_DRAWN = 4.5, 3.0


def contrast(one: str, other: str) -> float:
    """Give the contrast of two colours as WCAG 2.2 defines it, 1 to 21.

    >>> round(contrast("#000000", "#ffffff"), 1)
    21.0
    """
    light, dark = sorted((_luminance(one), _luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def _luminance(colour: str) -> float:
    """Give the relative luminance of `#rrggbb` (WCAG 2.2, from IEC 61966-2-1)."""
    parts = [int(colour[n : n + 2], 16) / 255 for n in (1, 3, 5)]
    linear = [p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def colours_css() -> str:
    """Give the colours as rows of a style sheet: dark where the system asks for it.

    Beside them how much is seen of what lies behind the room: it hangs on the ground's colour.
    """
    light, dark = (
        "".join(f"--{name}:{value};" for name, value in each.items()) for each in (LIGHT, DARK)
    )
    return (
        f":root{{color-scheme:light dark;{light}}}.backdrop{{opacity:{SEEN_LIGHT}}}\n"
        "@media screen and (prefers-color-scheme:dark)"
        f"{{:root{{{dark}}}.backdrop{{opacity:{SEEN_DARK}}}}}\n"
    )
