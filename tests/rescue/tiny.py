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
      - {{side: in, count: 3, signal: mic, connector: XLR 3, phantom: {phantom}, most-dbu: 24, noise-dbu: -127}}
      - {{side: out, count: 2, signal: line, connector: XLR 3, most-dbu: 24, noise-dbu: -86}}
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


def tiny(seed: int) -> str:
    """Give the text of one show drawn by chance."""
    rng = random.Random(seed)

    def maybe(part: float = 0.5) -> bool:
        return rng.random() < part

    def circuit() -> str:
        return f"circuit: {rng.choice(('left', 'right'))}"

    head = HEAD.format(
        phantom=rng.choice(("true", "true", "false")),
        apron=rng.choice((9, 12, 14)),
        wall=rng.choice((28, 66)),
    )
    if maybe(0.3):
        head += "stock:\n  reel: {cable: copper, length: 80 m, count: %d}\n" % rng.randint(8, 12)
    acts = ["early", "late"] if maybe(0.3) else [""]
    if acts != [""]:
        head += "acts:\n" + "".join(f"  {act}: {{stage: main}}\n" for act in acts)
    units = [
        f"  box-1: {{kind: box-8-4, place: stage, {circuit()}}}",
        f"  box-2: {{kind: nook, place: {rng.choice(('stage', 'side'))}, {circuit()}}}",
    ]
    if maybe():
        theirs = ", theirs: yes" if maybe(0.2) else ""
        units.append(f"  box-3: {{kind: nook, place: side, {circuit()}{theirs}}}")
    side_desk = maybe(0.3)
    if side_desk:
        units.append(f"  side-desk: {{kind: mixer-32, place: side, {circuit()}}}")
    units.append(f"  desk: {{kind: mixer-32, place: front, {circuit()}}}")
    rec = maybe()
    if rec:
        units.append(f"  rec-1: {{kind: computer-32, place: front, {circuit()}}}")
        units.append(f"  rec-2: {{kind: computer-32, place: front, {circuit()}}}")
    fill = maybe(0.6)
    if fill:
        units.append(f"  fill: {{kind: analogue-loudspeaker, place: stage, {circuit()}}}")
    play = maybe(0.4)
    if play:
        units.append(
            f"  play-1: {{kind: computer-16, place: front, standby: play-2, by: hand, {circuit()}}}"
        )
        units.append(f"  play-2: {{kind: computer-16, place: front, {circuit()}}}")
    units.append(f"  sw-1: {{kind: switch-8, place: stage, {circuit()}}}")
    units.append(f"  sw-2: {{kind: switch-24, place: front, {circuit()}}}")
    if maybe(0.3):
        units.append(f"  sw-3: {{kind: switch-8, place: stage, {circuit()}}}")
    rows, number = [], 0
    for act in acts:
        for _ in range(rng.randint(1, 4 - len(acts))):
            number += 1
            to = ["desk"]
            to += ["side-desk"] if side_desk and maybe() else []
            to += [rng.choice(("rec-1|rec-2", "rec-1?", "rec-1"))] if rec and maybe() else []
            keys = [
                f"number: {number}, name: {rng.choice(('Oboe', 'Tuba', 'Harp'))} {number % 2}",
                f"from: {rng.choice(('stage', 'stage', 'side'))}",
                f"source: {rng.choice(('dynamic mic', 'condenser mic'))}",
                f"to: {' '.join(to)}",
                f"need: {rng.choice(('must', 'must', 'want', 'spare', 'safety'))}",
                *([f"act: {act}"] if act else []),
            ]
            rows.append(f"  - {{{', '.join(keys)}}}")
    if fill:
        rows.append("  - {number: 41, name: Main, from: desk, source: main mix, to: fill}")
    if play:
        rows.append("  - {number: 42, name: Track, from: play-1, source: playback, to: desk}")
    return "\n".join([*head.splitlines(), "units:", *units, "lines:", *rows]) + "\n"
