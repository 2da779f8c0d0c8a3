"""Shows tiny enough to try every way out: two or three boxes, a few lines, few sockets free."""

from __future__ import annotations

import random

HEAD = """\
title: Nutshell
rate: 48 kHz
nets: one
kinds:
  nook:
    like: box-8-4
    sockets:
      - {{side: in, count: 3, signal: mic, connector: XLR 3, phantom: {phantom}, most-dbu: 24}}
      - {{side: out, count: 2, signal: line, connector: XLR 3, most-dbu: 24}}
    send: {{48000: 3}}
    receive: {{48000: 2}}
    numbering: none
places:
  stage: {{at: [0, 0, 0]}}
  side: {{at: [8, 0, 0]}}
  front: {{at: [0, 20, 0]}}
ducts:
  apron: {{between: [stage, side], length: {apron} m}}
  floor: {{between: [stage, front], length: 26 m}}
  wall: {{between: [side, front], length: {wall} m}}
circuits:
  left: {{supply: 230 V}}
  right: {{supply: 230 V}}
"""


class Tiny:
    """One show, written row by row."""

    def __init__(self, seed: int) -> None:
        self.rng = random.Random(seed)
        self.acts = ["early", "late"] if self.maybe(0.3) else [""]
        self.side_desk, self.recorders = self.maybe(0.3), self.maybe()
        self.fill, self.play = self.maybe(0.6), self.maybe(0.4)
        self.units: list[str] = []
        self.lines: list[str] = []

    def maybe(self, part: float = 0.5) -> bool:
        return self.rng.random() < part

    def text(self) -> str:
        head = HEAD.format(
            phantom=self.rng.choice(("true", "true", "false")),
            apron=self.rng.choice((9, 12, 14)),
            wall=self.rng.choice((28, 66)),
        )
        if self.maybe(0.3):
            count = self.rng.randint(8, 12)
            head += f"stock:\n  reel: {{cable: copper, length: 80 m, count: {count}}}\n"
        if self.acts != [""]:
            head += "acts:\n" + "".join(f"  {act}: {{stage: main}}\n" for act in self.acts)
        self._units()
        self._lines()
        return head + "units:\n" + "".join(self.units) + "lines:\n" + "".join(self.lines)

    def _unit(self, name: str, kind: str, place: str, more: str = "") -> None:
        circuit = self.rng.choice(("left", "right"))
        row = f"  {name}: {{kind: {kind}, place: {place}, circuit: {circuit}{more}}}\n"
        self.units.append(row)

    def _units(self) -> None:
        self._unit("box-1", "box-8-4", "stage")
        self._unit("box-2", "nook", self.rng.choice(("stage", "side")))
        if self.maybe():
            self._unit("box-3", "nook", "side", ", theirs: yes" if self.maybe(0.2) else "")
        if self.side_desk:
            self._unit("side-desk", "mixer-32", "side")
        self._unit("desk", "mixer-32", "front")
        for name in ("rec-1", "rec-2") if self.recorders else ():
            self._unit(name, "computer-32", "front")
        if self.fill:
            self._unit("fill", "analogue-loudspeaker", "stage")
        if self.play:
            self._unit("play-1", "computer-16", "front", ", standby: play-2, by: hand")
            self._unit("play-2", "computer-16", "front")
        self._unit("sw-1", "switch-8", "stage")
        self._unit("sw-2", "switch-24", "front")
        if self.maybe(0.3):
            self._unit("sw-3", "switch-8", "stage")

    def _lines(self) -> None:
        draw = self.rng.choice
        for act in self.acts:
            for _ in range(self.rng.randint(1, 4 - len(self.acts))):
                number = len(self.lines) + 1
                keys = [
                    f"number: {number}, name: {draw(('Oboe', 'Tuba', 'Harp'))} {number % 2}",
                    f"from: {draw(('stage', 'stage', 'side'))}",
                    f"source: {draw(('dynamic mic', 'condenser mic'))}",
                    f"to: {' '.join(self._ends())}",
                    f"need: {draw(('must', 'must', 'want', 'spare', 'safety'))}",
                    *([f"act: {act}"] if act else []),
                ]
                self.lines.append(f"  - {{{', '.join(keys)}}}\n")
        row = "  - {{number: {0}, name: {1}, from: {2}, source: {3}, to: {4}}}\n"
        if self.fill:
            self.lines.append(row.format(41, "Main", "desk", "main mix", "fill"))
        if self.play:
            self.lines.append(row.format(42, "Track", "play-1", "playback", "desk"))

    def _ends(self) -> list[str]:
        ends = ["desk"]
        ends += ["side-desk"] if self.side_desk and self.maybe() else []
        recorder = self.rng.choice(("rec-1|rec-2", "rec-1?", "rec-1"))
        return [*ends, *([recorder] if self.recorders and self.maybe() else [])]


def tiny(seed: int) -> str:
    """Give the text of one show drawn by chance."""
    return Tiny(seed).text()
