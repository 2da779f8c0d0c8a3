"""What is written is read back to an equal show, whatever people wrote."""

from __future__ import annotations

from hypothesis import given, settings

from lineproof.decide.decide import decide
from lineproof.plan.text import read_plan, write_plan
from lineproof.show.canonical import mark
from lineproof.show.model import Show
from lineproof.show.read import read_files
from lineproof.show.words import SECTIONS
from lineproof.show.write import write_show
from tests.second.draw import Text, texts
from tests.second.whole_show import ELSEWHERE, SPECIAL, whole_shows


def read(files: dict[str, str]) -> Show:
    reading = read_files(files)
    stops = [str(f) for f in reading.findings if f.grade.value == "stop"]
    assert reading.show is not None
    assert not stops, "\n".join(stops)
    return reading.show


@settings(max_examples=50)
@given(text=whole_shows())
def test_what_is_written_is_read_back(text: str) -> None:
    show = read({"show.yaml": text})
    files = write_show(show)
    again = read(files)
    assert again == show
    assert mark(again) == mark(show)
    # What is written is one form: written again it is the same.
    assert write_show(again) == files


def test_the_words_drawn_are_words() -> None:
    declared = {(section, key) for section, words in SECTIONS.items() for key in words}
    assert set(SPECIAL) <= declared
    assert set(ELSEWHERE) <= declared


@settings(max_examples=60)
@given(text=texts())
def test_a_plan_is_read_back(text: Text) -> None:
    plan = decide(text.show()).plan
    if plan is not None:
        assert read_plan(write_plan(plan), file="plan/draft.json") == plan
