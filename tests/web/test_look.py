"""Every colour can be read on what it stands on, light and dark, and is never alone in telling."""

from __future__ import annotations

import re

import pytest

from lineproof.web.files import static_files
from lineproof.web.look import (
    DARK,
    DRAWN,
    LEAST_DRAWN,
    LEAST_WRITTEN,
    LIGHT,
    WRITTEN,
    contrast,
)

STYLE = static_files()["style.css"].data.decode()
RULES = STYLE.partition("@font-face")[2]


@pytest.mark.parametrize("palette", [LIGHT, DARK], ids=["light", "dark"])
@pytest.mark.parametrize("pair", WRITTEN, ids="-on-".join)
def test_text_can_be_read(palette: dict[str, str], pair: tuple[str, str]) -> None:
    ink, ground = pair
    assert contrast(palette[ink], palette[ground]) >= LEAST_WRITTEN


@pytest.mark.parametrize("palette", [LIGHT, DARK], ids=["light", "dark"])
@pytest.mark.parametrize("pair", DRAWN, ids="-on-".join)
def test_lines_that_mean_something_can_be_seen(
    palette: dict[str, str], pair: tuple[str, str]
) -> None:
    line, ground = pair
    assert contrast(palette[line], palette[ground]) >= LEAST_DRAWN


@pytest.mark.parametrize(
    ("one", "other", "wanted"),
    [
        # From WCAG's own understanding of 1.4.3: #777777 on white fails, #767676 passes.
        ("#767676", "#ffffff", 4.54),
        ("#777777", "#ffffff", 4.48),
        ("#ffffff", "#ffffff", 1.0),
    ],
)
def test_contrast_is_as_the_guidelines_reckon_it(one: str, other: str, wanted: float) -> None:
    assert contrast(one, other) == pytest.approx(wanted, abs=0.005)


def test_both_palettes_name_the_same_colours() -> None:
    assert set(LIGHT) == set(DARK)


def test_the_style_sheet_uses_no_colour_that_was_not_weighed() -> None:
    used = set(re.findall(r"var\(--([\w-]+)\)", RULES))
    assert used <= set(LIGHT)
    # White behind a drawing that is made for paper, and behind print.
    assert set(re.findall(r"#[0-9a-f]{3,6}\b", RULES)) <= {"#fff"}


def test_every_ink_and_ground_of_the_style_sheet_stands_in_a_weighed_pair() -> None:
    inks = set(re.findall(r"(?<![\w-])(?:color|fill): var\(--([\w-]+)\)", RULES))
    grounds = set(re.findall(r"background(?:-color)?: var\(--([\w-]+)\)", RULES))
    # Filled shapes are not written with; they stand here, each drawn with a rim that is weighed.
    shapes = {"panel", "shade"}
    assert inks - {ink for ink, _ in WRITTEN} - shapes == set()
    assert grounds - {ground for _, ground in WRITTEN} == set()


@pytest.mark.parametrize("shape", ["stroke-dasharray", "line-through", ".cross"])
def test_what_is_dead_is_told_by_shape_too(shape: str) -> None:
    assert re.search(rf"\.dead[^}}]*{re.escape(shape)}", RULES)
