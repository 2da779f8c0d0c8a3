"""A show in which every name stands everywhere it may, written as people write."""

from __future__ import annotations

from pathlib import Path

SHOW = """\
# box-1 in a comment is the writer's own
title: Names of box-1
rate: 48 kHz
packet: 1 ms
nets: one
routes: per-act
places:
  stage:   {at: [0, 0, 0], label: box-1 stands here}
  'wings': {at: [8, 2, 0]}
  front:   {at: [0, 20, 0]}
ducts:
  floor: {between: [stage, front], length: 25 m}
  side:  {between: [ stage , "wings" ], length: 9 m}
ties:
  wall: {between: [stage, wings], count: 8}
circuits:
  stage: {supply: 230 V, limit: 32 A}
units:
  box-1: {kind: box-16-8, place: stage, number: 1, circuit: stage, note: box-1 is heavy}
  box-10: {kind: box-16-8, place: wings, number: 2, circuit: stage, covers: [box-1]}
  desk: {kind: mixer-32, place: front, circuit: stage, here: [late, act-1]}
  rec-1: {kind: computer-32, place: front, circuit: stage, standby: rec-2, by: changeover:swap}
  rec-2: {kind: computer-32, place: front, circuit: stage}
  swap:  {kind: change-over, place: front, circuit: stage}
  pa-1: {kind: powered-loudspeaker, place: stage, circuit: stage, muted-by: sw-1}
  pa-2: {kind: powered-loudspeaker, place: stage, circuit: stage}
  sw-1: {kind: switch-8, place: front, circuit: stage}
runs:
  trunk: {from: 'sw-1:1', to: 'box-1:1', along: [floor]}
acts:
  act-1: {stage: main}
  late:  {stage: main}
zones:
  house: [pa-1, pa-2]
lists:
  both-recorders: [rec-1|rec-2]
  more:
    - desk
    - rec-1?
arrangements:
  joined: [stage, wings]
defaults:
  late: {with: act-1/1}
lines:
  - lines.csv
  - {table: late.csv, act: late}
pins:
  act-1/1: {start: box-1:in-5, ends: {desk: desk:strip-7, rec-1: [rec-1:receive-9]}}
accept:
  - {finding: long-lead, of: [act-1/1, stage], reason: box-1 is far, by: desk}
  - {finding: pair-apart, of: ["box-1:in-5", act-1/3, late], reason: so be it, by: us}
"""

#: Semicolons, a quoted cell, blanks around a cell, a section row for the act, an extra column.
LINES = """\
Nr;Name;von;Quelle;an;pair;stereo;socket;also;minus;back-to;never;asset
--- act-1 ---;;;;;;;;;;;;
1;Kick;stage;dynamic mic;"desk, rec-1|rec-2";;;;;;;;box-1
2;Voice of box-1; box-10 ;dynamic mic;more pa-1..pa-2;;;box-10:3;box-1:in-9;;;rec-2;
3;Keys L;stage;line;desk rec-1?;4;L;;;;;;
4;Keys R;stage;line;desk;act-1/3;R;;;;1;;
"""
LATE = """\
number,name,from,source,to,minus,with
1,Kick,wings,dynamic mic,desk both-recorders,,
41,Main,desk,main mix,house,"late/1",
42,Feed,desk,main mix,rec-2,act-1/3 drums,act-1/4
"""
FOUND = """\
line,spot,at,by,note,name
late/1,box-1:in-12,2026-05-01T19:02:00Z,ab,box-1 it is,Kick
"""


def write(folder: Path, *, newline: str = "\n", mark: bool = False, codec: str = "utf-8") -> Path:
    """Write the show into the folder: which newlines, a byte order mark, the table's letters."""
    folder.mkdir()
    begin = "\ufeff" if mark else ""
    for name, text in {"show.yaml": SHOW, "late.csv": LATE, "found.csv": FOUND}.items():
        (folder / name).write_bytes((begin + text).replace("\n", newline).encode())
    table = LINES.replace("asset", "Gerät")
    (folder / "lines.csv").write_bytes(table.replace("\n", newline).encode(codec))
    return folder
