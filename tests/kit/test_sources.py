"""What people write in a list finds the source they mean, and nothing else."""

from __future__ import annotations

import math

import pytest

from lineproof.kit.kinds import Signal, Source
from lineproof.kit.load import KitError, find_source, load_kit, read_sources
from lineproof.kit.tokens import word_tokens

KIT = load_kit()
SOURCES = tuple(KIT.sources.values())
every_source = pytest.mark.parametrize("source", SOURCES, ids=lambda source: source.name)


def found(text: str) -> str | None:
    source = find_source(KIT, text)
    return source.name if source is not None else None


@every_source
def test_each_of_its_words_means_this_source(source: Source) -> None:
    wrong = {text: found(text) for text in source.words if found(text) != source.name}
    assert wrong == {}


@every_source
def test_its_own_name_means_it(source: Source) -> None:
    assert found(source.name) == source.name


def test_no_word_stands_for_two_sources() -> None:
    owner: dict[tuple[str, ...], str] = {}
    for source in SOURCES:
        for text in source.words:
            assert owner.setdefault(word_tokens(text), source.name) == source.name


@pytest.mark.parametrize(
    ("text", "name"),
    [
        ("dynamic mic", "dynamic-mic"),
        ("Kick DYN", "dynamic-mic"),
        ("mic (dyn)", "dynamic-mic"),
        ("microphone dynamique", "dynamic-mic"),
        ("Micro statique", "condenser-mic"),
        ("MICRÓFONO DE CONDENSADOR", "condenser-mic"),
        ("microfono de condensador", "condenser-mic"),
        ("condenser mic overhead", "condenser-mic"),
        ("Kondensator, kleine Kapsel", "condenser-mic"),
        ("2x DI aktiv", "active-di"),
        ("D.I.", "active-di"),
        ("DI", "active-di"),
        ("passive  DI", "passive-di"),
        ("DI (passiv)", "passive-di"),
        ("click DI", "active-di"),
        ("Bändchen", "ribbon-mic"),
        ("Bandchen", "ribbon-mic"),
        ("active ribbon", "active-ribbon-mic"),
        ("HF", "wireless-receiver"),
        ("Funk-Handsender dyn", "wireless-receiver"),
        ("wireless condenser", "wireless-receiver"),
        ("inalambrico", "wireless-receiver"),
        ("main mix", "main-mix"),
        ("in-ear mix wireless", "monitor-mix"),
        ("ｌｉｎｅ", "line"),  # full-width, as some input methods write
        ("line\u00a0level", "line"),
        ("talkback mic dynamic", "dynamic-mic"),
    ],
)
def test_words_are_found_in_what_people_write(text: str, name: str) -> None:
    assert found(text) == name


@pytest.mark.parametrize("text", ["", "  ", "?", "tbc", "banana", "dynamite", "12", "indigo"])
def test_nothing_is_guessed_from_nothing(text: str) -> None:
    assert found(text) is None


def test_the_longest_words_win_then_the_first() -> None:
    kit = type(KIT)(
        kinds={},
        sources={
            "a": Source(name="a", label="A", words=("red",), signal=Signal.LINE),
            "b": Source(name="b", label="B", words=("blue",), signal=Signal.LINE),
            "c": Source(name="c", label="C", words=("red blue",), signal=Signal.LINE),
            "d": Source(name="d", label="D", words=("tan",), signal=Signal.LINE),
        },
    )
    texts = ["red and blue", "red blue", "tan red", "red tan"]
    sources = [find_source(kit, text) for text in texts]
    assert [s.name for s in sources if s is not None] == ["b", "c", "d", "a"]


def test_no_two_sources_go_before_each_other() -> None:
    above = {source.name: set(source.before) for source in SOURCES}
    assert [(a, b) for a in above for b in above[a] if a in above[b]] == []


@every_source
def test_what_phantom_harms_does_not_ask_for_it(source: Source) -> None:
    assert not (source.phantom and source.harm)


@every_source
def test_a_microphones_level_is_its_sensitivity_at_a_sound_it_may_meet(source: Source) -> None:
    # 94 dB SPL is 1 Pa and 0 dBu is sqrt(0.6) V, so the sound behind a level follows.
    if source.sensitivity_mv_pa is not None and source.level_dbu is not None:
        at_94_dbu = 20 * math.log10(source.sensitivity_mv_pa / 1000 / math.sqrt(0.6))
        assert 85 <= 94 + source.level_dbu - at_94_dbu <= 125


def test_condensers_and_active_boxes_need_phantom_and_ribbons_must_not_have_it() -> None:
    needing = {source.name for source in SOURCES if source.phantom}
    assert {"condenser-mic", "active-di", "measurement-mic"} <= needing
    assert not needing & {"dynamic-mic", "ribbon-mic", "passive-di", "line"}
    assert KIT.sources["ribbon-mic"].harm


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ('[a]\nsignal = "lime"', "[a] signal is 'lime'; expected one of mic, line, speaker or "),
        ('[a]\nsignal = "line"\nwords = []\nbefore = ["b"]', "[a] before: 'b' is no source"),
        ("a = 1", "a: is no table"),
    ],
)
def test_a_bug_in_the_sources_is_named_by_table_and_key(text: str, message: str) -> None:
    with pytest.raises(KitError) as caught:
        read_sources(text)
    assert message in str(caught.value)
