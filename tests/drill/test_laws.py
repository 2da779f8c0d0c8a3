"""What holds for every show: nothing broken, nothing lost; more broken, never less lost."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path

from hypothesis import given, settings
from hypothesis import strategies as st

from lineproof.drill.lose import lose
from lineproof.drill.sweep import Sight, swept
from lineproof.graph.faults import things
from tests.drill.shows import ROOM, ready
from tests.drill.test_sweep import MORE
from tests.net.planned_shows import RING

#: Loudspeakers chained one behind the other, on one net.
CHAINED = RING.replace(
    "LINES", "  - {number: 1, name: Reed, from: stage, source: dynamic mic, to: desk side rec-1}"
)


@settings(max_examples=100)
@given(data=st.data(), name=st.sampled_from(["small", "hall", ROOM, MORE, CHAINED]))
def test_more_faults_never_rescue_a_line(data: st.DataObject, name: str) -> None:
    """For arrival without load and clock, among failures of things."""
    known = ready(name)
    listed = things(known.show, known.network)
    few = data.draw(st.lists(st.sampled_from(listed), max_size=3, unique=True))
    more = data.draw(st.lists(st.sampled_from(listed), max_size=2, unique=True))
    before = lose(known.show, known.plan, few, ready=known, only_arrival=True)
    after = lose(known.show, known.plan, [*few, *more], ready=known, only_arrival=True)
    for one, two in zip(before.verdicts, after.verdicts, strict=True):
        assert set(one.lost) <= set(two.lost)
        assert one.state.arrives or not two.state.arrives


def test_no_fault_and_no_plane_has_a_bit() -> None:
    for name in ("small", "hall", ROOM, MORE, CHAINED):
        fast = swept(ready(name))
        sight = Sight(swept=fast, planes=fast.cases([[]]))
        assert all(stands == (0, 0, 0, 0, 0) for stands in sight.shapes)


def test_the_answer_is_the_same_whatever_the_hash_seed(root: Path, tmp_path: Path) -> None:
    show = Path(shutil.copytree(root / "shows" / "small", tmp_path / "show"))
    subprocess.run(
        [sys.executable, "-m", "lineproof", "plan", show], check=True, capture_output=True
    )
    answers = set()
    for seed in ("1", "2"):
        done = subprocess.run(
            [sys.executable, "-m", "lineproof", "drill", show, "--pairs", "--more", "--json"],
            capture_output=True,
            env={**os.environ, "PYTHONHASHSEED": seed},
            check=False,
        )
        assert done.returncode == 1
        answers.add(done.stdout)
    assert len(answers) == 1
