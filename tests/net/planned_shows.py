"""Small shows whose planned networks are built in the kernel: a ring, and two nets."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from lineproof.decide.whole import decide_whole
from lineproof.outcome import work_out
from lineproof.plan.network import Network
from lineproof.reckon.delay_figures import NetFigures
from lineproof.show.model import Show
from lineproof.show.read import read_files

#: Three switches in a ring, one loudspeaker chained behind another, and a switch that can't be set
#: up with a loudspeaker behind it.
RING = """\
title: Weathercock Night
rate: 48 kHz
places:
  stage: {at: [0, 0, 0]}
  wings: {at: [-9, 3, 0]}
  front: {at: [0, 20, 0]}
ducts:
  edge: {between: [stage, wings], length: 12 m}
  floor: {between: [stage, front], length: 25 m}
  wall: {between: [wings, front], length: 35 m}
circuits: {house: {supply: 230 V}}
units:
  box-1: {kind: box-16-8, place: stage, number: 1, circuit: house}
  desk: {kind: mixer-32, place: front, circuit: house}
  side: {kind: mixer-16, place: wings, circuit: house}
  rec-1: {kind: computer-32, place: front, circuit: house}
  pa-left: {kind: powered-loudspeaker, place: wings, circuit: house, ports: chain}
  pa-right: {kind: powered-loudspeaker, place: wings, circuit: house, ports: chain}
  fill: {kind: powered-loudspeaker, place: front, circuit: house}
  sw-1: {kind: switch-8, place: stage, circuit: house, mac: '02:00:5E:00:53:01'}
  sw-2: {kind: switch-8, place: wings, circuit: house, mac: '02:00:5E:00:53:02'}
  sw-3: {kind: switch-8, place: front, circuit: house, mac: '02:00:5E:00:53:03'}
  sw-4: {kind: switch-8-plain, place: front, circuit: house, mac: '02:00:5E:00:53:04'}
runs:
  t-1: {from: 'sw-1:8', to: 'sw-2:8'}
  t-2: {from: 'sw-2:7', to: 'sw-3:8'}
  t-3: {from: 'sw-3:7', to: 'sw-1:7'}
  spur: {from: 'sw-3:6', to: 'sw-4:1'}
  c-1: {from: 'sw-2:1', to: 'pa-left:1'}
  c-2: {from: 'pa-left:2', to: 'pa-right:1'}
  f-1: {from: 'sw-4:2', to: 'fill:1'}
addresses: {root-a: sw-3 sw-1, querier-a: sw-1 sw-3}
lines:
LINES
  - {number: 41, name: Main left, from: desk, source: main mix, to: pa-left, pair: 42}
  - {number: 42, name: Main right, from: desk, source: main mix, to: pa-right, pair: 41}
  - {number: 43, name: Fill, from: desk, source: main mix, to: fill}
"""
#: Two nets: a ring of three switches on a, two switches with two runs between them on b.
TWO = """\
title: Copper Kettle Matinee
rate: 48 kHz
nets: two
places:
  stage: {at: [0, 0, 0]}
  front: {at: [0, 20, 0]}
ducts:
  floor: {between: [stage, front], length: 25 m}
  wall: {between: [stage, front], length: 35 m}
circuits: {house: {supply: 230 V}}
units:
  box-1: {kind: box-16-8, place: stage, number: 1, circuit: house}
  box-2: {kind: box-8-8, place: stage, number: 2, circuit: house}
  desk: {kind: mixer-32, place: front, circuit: house}
  side: {kind: mixer-16, place: stage, circuit: house}
  rec-1: {kind: recorder-64, place: front, circuit: house}
  pa: {kind: powered-loudspeaker, place: stage, circuit: house}
  wedge: {kind: powered-monitor, place: stage, circuit: house, net: a}
  sw-1: {kind: switch-8, place: stage, circuit: house, net: a, mac: '02:00:5E:00:53:11'}
  sw-2: {kind: switch-8, place: front, circuit: house, net: a, mac: '02:00:5E:00:53:12'}
  sw-3: {kind: switch-8, place: front, circuit: house, net: a, mac: '02:00:5E:00:53:13'}
  sw-4: {kind: switch-8, place: stage, circuit: house, net: b, mac: '02:00:5E:00:53:14'}
  sw-5: {kind: switch-8, place: front, circuit: house, net: b, mac: '02:00:5E:00:53:15'}
runs:
  t-1: {from: 'sw-1:8', to: 'sw-2:8', along: [floor]}
  t-2: {from: 'sw-2:7', to: 'sw-3:8'}
  t-3: {from: 'sw-3:7', to: 'sw-1:7', along: [wall]}
  u-1: {from: 'sw-4:7', to: 'sw-5:7', along: [floor]}
  u-2: {from: 'sw-4:8', to: 'sw-5:8', along: [wall]}
addresses: {root-a: sw-2 sw-1, querier-a: sw-1 sw-2, root-b: sw-5 sw-4, querier-b: sw-4 sw-5}
lines:
LINES
  - {number: 41, name: Main, from: desk, source: main mix, to: pa}
  - {number: 42, name: Wedge, from: side, source: main mix, to: wedge}
"""


def _rows(count: int) -> str:
    row = "  - {{number: {n}, name: Reed {n}, from: stage, source: dynamic mic, to: {to}}}"
    to = ("desk side rec-1", "desk rec-1", "desk side", "desk", "side")
    return "\n".join(row.format(n=n, to=to[n % len(to)]) for n in range(1, count + 1))


@dataclass(frozen=True, kw_only=True)
class Planned:
    """A show planned as any other, and what Lineproof says of its nets."""

    show: Show
    network: Network
    nets: dict[str, NetFigures]


@cache
def planned(text: str, lines: int) -> Planned:
    reading = read_files({"show.yaml": text.replace("LINES", _rows(lines))})
    assert reading.show is not None, reading.findings
    plan = decide_whole(reading.show).plan
    assert plan is not None
    outcome = work_out(reading, plan)
    assert outcome.network is not None
    return Planned(show=outcome.show, network=plan.network, nets=dict(outcome.network.nets))
