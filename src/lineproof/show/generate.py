"""Generated shows of a size: sites with many stages, for measuring and for trying things out."""

from __future__ import annotations

import csv
import io
import random
from collections.abc import Iterable, Mapping, Sequence
from types import MappingProxyType

from lineproof.show.generate_lines import LINE_HEADING, area_rows, stage_rows
from lineproof.show.generate_room import Area, areas, room_yaml
from lineproof.show.generate_units import UNIT_HEADING, unit_rows

#: How many areas of eight stages a size has.
SIZES: Mapping[str, int] = MappingProxyType({"arena": 1, "campus": 4})

SHOW_FILE = "show.yaml"
UNITS_FILE = "units.csv"


def generate(size: str, seed: int) -> dict[str, str]:
    """Give the files of a generated show by name: one of `SIZES`, drawn from `seed`.

    The same size and seed give the same bytes everywhere: integers alone, and one source of
    chance. An arena has 500 lines, 400 units, 120 switches and about 6,000 routes; a campus four
    times that. Everything in it is invented.

    >>> files = generate("arena", 1)
    >>> sorted(files)[:3], len(files["units.csv"].splitlines()) - 1
    (['area-1.csv', 'harbour.csv', 'lantern.csv'], 520)
    """
    # The seed as text: random draws the same from it in every version and on every machine.
    chance = random.Random(f"lineproof {size} {seed}")  # noqa: S311 - shows, not secrets
    site = areas(SIZES[size], chance)
    files = {UNITS_FILE: _csv(UNIT_HEADING, unit_rows(site))}
    tables: list[str] = []
    for area in site:
        for stage in area.stages:
            tables.append(f"{stage.name}.csv")
            files[tables[-1]] = _csv(LINE_HEADING, stage_rows(area, stage, chance))
        tables.append(f"area-{area.number}.csv")
        files[tables[-1]] = _csv(LINE_HEADING, area_rows(area))
    files[SHOW_FILE] = _yaml(size, seed, site, tables)
    return files


def _yaml(size: str, seed: int, site: Sequence[Area], tables: Iterable[str]) -> str:
    rows = [
        f"# Generated: `lineproof new --size {size} --seed {seed}`. Everything here is invented.",
        f"title: Generated {size}, seed {seed}",
        "rate: 48 kHz",
        "packet: 1 ms",
        "nets: two",
        "air: {temperature: 18 C, humidity: 60 %}",
        *room_yaml(site),
        f"units: {UNITS_FILE}",
        "lines:",
        *(f"  - {table}" for table in tables),
    ]
    return "\n".join(rows) + "\n"


def _csv(heading: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(heading)
    writer.writerows(rows)
    return text.getvalue()
