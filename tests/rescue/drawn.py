"""Small shows drawn by chance, each with some of all that a rescue has to do with."""

from __future__ import annotations

import random

HEAD = """\
title: Drawn by Chance
rate: 48 kHz
nets: {nets}
places:
  stage: {{at: [0, 0, 0]}}
  side: {{at: [8, 2, 0]}}
  back: {{at: [0, -9, 0]}}
  front: {{at: [0, 20, 0]}}
ducts:
  apron: {{between: [stage, side], length: {apron} m}}
  rear: {{between: [stage, back], length: {rear} m}}
  corner: {{between: [side, back], length: 16 m}}
  floor: {{between: [stage, front], length: 26 m}}
  wall: {{between: [side, front], length: 31 m}}
circuits:
  feed: {{supply: 230 V}}
  left: {{fed-by: feed, supply: 230 V}}
  right: {{supply: 230 V}}
"""
SMALL, LARGE = ("box-8-4", "box-8-8", "box-4-4"), ("box-16-8", "box-16-16")
SOURCES = ("dynamic mic", "condenser mic", "active DI", "wireless receiver")


class Drawn:
    """One show, written row by row."""

    def __init__(self, seed: int) -> None:
        self.rng, self.number_of = random.Random(seed), seed
        self.two = self.maybe()
        self.acts = ["early", "late"] if self.maybe() else []
        self.rows: list[str] = []
        self.units: list[str] = []
        self.number = 0

    def maybe(self, part: float = 0.5) -> bool:
        return self.rng.random() < part

    def text(self) -> str:
        self._units()
        self._lines()
        text = HEAD.format(
            nets="two" if self.two else "one",
            apron=self.rng.choice((9, 12, 20)),
            rear=self.rng.choice((9, 14)),
        )
        if self.maybe(0.3):
            text += "stock:\n  short: {cable: copper, length: 20 m, count: 60}\n"
            text += "  long: {cable: copper, length: 60 m, count: 24}\n"
        if self.acts and self.number_of % 4 == 0:
            text += "routes: per act\n"
        if self.ties:
            text += "ties:\n  snake: {between: [side, back], count: 4}\n"
        if self.acts:
            text += "acts:\n" + "".join(f"  {act}: {{stage: main}}\n" for act in self.acts)
        return text + "units:\n" + "".join(self.units) + "lines:\n" + "".join(self.rows)

    # -- units -----------------------------------------------------------------------------------

    def _unit(self, name: str, kind: str, place: str, *more: str, circuit: str = "") -> None:
        keys = [f"kind: {kind}", f"place: {place}", *more]
        if circuit != "none":
            keys.append(f"circuit: {circuit or self.rng.choice(('left', 'right'))}")
        self.units.append(f"  {name}: {{{', '.join(keys)}}}\n")

    def _units(self) -> None:
        draw = self.rng.choice
        self.ties = self.maybe(0.3)
        self.boxes = ["box-1", "box-2", *(["box-3"] if self.maybe() else [])]
        for n, box in enumerate(self.boxes, start=1):
            kind = draw(LARGE if n == 1 else (*SMALL, *LARGE))
            power = ("power: network",) if kind == "box-4-4" else ()
            spare = ("covers: box-1",) if n == 3 and self.maybe(0.3) else ()
            if self.acts and n == 2 and self.number_of % 5 == 0:
                spare = ("here: [late]",)
            place = "stage" if n == 1 else draw(("stage", "side", "back"))
            self._unit(
                box,
                kind,
                place,
                f"number: {2 * n - 1}",
                *power,
                *spare,
                circuit="none" if power else "",
            )
        self.drop = self.maybe(0.4)
        if self.drop:
            self._unit("drop", "drop-box-8", "side", "sockets-of: 'box-1:9-16'", circuit="none")
        self.wings = self.maybe(0.6)
        by = ("standby: side-desk", "by: hand") if self.wings and self.maybe() else ()
        self._unit("desk", draw(("mixer-32", "mixer-64")), "front", *by, circuit="[left, right]")
        if self.wings:
            covers = ("covers: desk",) if not by and self.maybe() else ()
            self._unit("side-desk", "mixer-32", "side", *covers)
        self.guest = bool(self.acts) and self.maybe(0.4)
        if self.guest:
            self._unit("guest", "mixer-16", "front", "here: [late]", "theirs: yes")
        by = ("standby: play-2", *(("by: hand",) if self.maybe() else ()))
        if self.number_of % 7 == 0:
            self._unit("co", "change-over-network", "front")
            by = ("standby: play-2", "by: 'changeover:co'")
        self._unit("play-1", "computer-16", "front", *by, circuit="left")
        self._unit("play-2", "computer-16", "front", circuit="right")
        self._unit("rec-1", "computer-32", "front", circuit="left")
        self._unit("rec-2", "computer-32", draw(("front", "side")), circuit="right")
        self.talk = self.maybe()
        if self.talk:
            self._unit("gong", "powered-column", "front")
            self._unit(
                "talk", "paging-station", draw(("front", "side")), "power: network", circuit="none"
            )
        self._loudspeakers()
        for net in "ab" if self.two else "a":
            for n, place in enumerate(("front", "stage", "side")[: draw((2, 3))], start=1):
                self._unit(
                    f"sw-{net}{n}",
                    draw(("switch-24-poe", "switch-8")) if n > 1 else "switch-24-poe",
                    place,
                    *((f"net: {net}",) if self.two else ()),
                )

    def _loudspeakers(self) -> None:
        draw = self.rng.choice
        self._unit("pa", "powered-loudspeaker", "stage")
        self._unit("fill", "analogue-loudspeaker", draw(("stage", "side")))
        self.amplifier, second = self.number_of % 3 == 0, self.number_of % 2 == 0
        if self.amplifier:
            self._unit("amp", "amplifier-4", "side")
        if second:
            self._unit("fill-2", "analogue-loudspeaker", "side", "covers: fill")
        if self.amplifier and second:
            self._unit("amp-2", "amplifier-4", "side", "covers: amp")
        self.ears = self.maybe()
        if self.ears:
            self._unit("ears", "in-ear-rack-2", "side")

    # -- lines -----------------------------------------------------------------------------------

    def _line(self, name: str, start: str, source: str, to: str, *more: str) -> int:
        self.number += 1
        keys = [
            f"number: {self.number}",
            f"name: {name} {self.number}",
            f"from: {start}",
            f"source: {source}",
            f"to: {to}",
            *more,
        ]
        self.rows.append(f"  - {{{', '.join(keys)}}}\n")
        return self.number

    def _lines(self) -> None:
        draw = self.rng.choice
        desks = "desk side-desk" if self.wings else "desk"
        first: list[int] = []
        for act in self.acts or [""]:
            in_act = (f"act: {act}",) if act else ()
            for _ in range(self.rng.randint(3, 7)):
                to = draw((desks, "desk", f"{desks} rec-1|rec-2", "desk rec-1?"))
                if self.guest and act == "late" and self.maybe():
                    to += " guest"
                need = draw(("must", "must", "must", "want", "spare"))
                start = draw(("stage", "stage", "side", "back"))
                name = draw(("Reed", "Drum", "Voice", "Horn"))
                more = (f"need: {need}", *in_act, *self._manners())
                number = self._line(name, start, draw(SOURCES), to, *more)
                first += [number] if not in_act else []
        if self.maybe(0.4):
            self._line("Piano", draw(self.boxes), "condenser mic", desks)
        self._line("Track", "play-1", "playback", draw(("desk", desks)))
        if self.talk:
            self._line("Call", "talk", "dynamic mic", "gong", "need: safety")
        if self.wings and self.maybe():
            self._line("Split", "side", "dynamic mic", "desk side-desk", "also: 'side-desk:in-8'")
        if self.maybe(0.3) and first:
            self._line("Back", "rec-2", "playback", "desk", f"back-to: {first[0]}")
        within = (f"with: {' '.join(map(str, first[:3]))}",) if first and self.maybe() else ()
        self._line("Main", "desk", "main mix", "pa fill", *within)
        if self.amplifier:
            self._line("Subs", "desk", "main mix", "amp:1 amp:2")
        if self.ears:
            self._line("Ears", "side-desk" if self.wings else "desk", "monitor mix", "ears")

    def _manners(self) -> tuple[str, ...]:
        """Give what a row says of who may hear it, in every fifth show."""
        if self.number_of % 5 or not self.maybe(0.3):
            return ()
        return (self.rng.choice(("private: yes", "never: rec-2", "never: side-desk")),)


def drawn(seed: int) -> str:
    """Give the text of one show."""
    return Drawn(seed).text()
