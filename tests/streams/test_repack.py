"""Streams in use stay: a route more is an entry more, and nothing changes its kind unasked."""

from __future__ import annotations

import random
from collections.abc import Iterator
from dataclasses import replace

import pytest

from bench.streams_instance import make
from lineproof.decide.streams.asked import Needs, Sender
from lineproof.decide.streams.pack import pack
from lineproof.decide.streams.packing import Packing, Told, entries_changed, last_numbers
from lineproof.decide.streams.repack import repack
from lineproof.plan.network import Network, Retired
from tests.streams.served import wrong
from tests.streams.test_pack import USUAL, needs_of, wants


@pytest.fixture(scope="module")
def needs() -> Needs:
    return make(100, 4)


@pytest.fixture(scope="module")
def packed(needs: Needs) -> Packing:
    return pack(needs)


def added_routes(needs: Needs, count: int) -> Iterator[Needs]:
    """Give needs with one route more, each of a channel in use or of a further one."""
    chance = random.Random("added routes")
    units = sorted(needs.limits)
    for number in range(count):
        sender = chance.choice(needs.senders)
        channel = max(sender.wants) + 1 if number % 4 == 0 else chance.choice(sorted(sender.wants))
        heard = sender.wants.get(channel, frozenset())
        unit = chance.choice([u for u in units if u not in heard and u != sender.name])
        more = replace(sender, wants={**sender.wants, channel: heard | {unit}})
        others = tuple(s for s in needs.senders if s is not sender)
        yield replace(needs, senders=(*others, more))


def without(needs: Needs, chance: random.Random) -> Needs:
    """Give needs with one route less."""
    sender = chance.choice(needs.senders)
    channel, name = chance.choice(list(sender.needs()))
    fewer = {**sender.wants, channel: sender.wants[channel] - {name}}
    others = tuple(s for s in needs.senders if s is not sender)
    return replace(needs, senders=(*others, replace(sender, wants=fewer)))


def test_what_did_not_change_stays(needs: Needs, packed: Packing) -> None:
    again = repack(needs, packed.streams)
    assert again.streams == packed.streams
    assert (again.cost, again.over) == (packed.cost, packed.over)


def test_one_added_route_changes_one_or_two_entries(needs: Needs, packed: Packing) -> None:
    changed = []
    for more in added_routes(needs, 40):
        after = repack(more, packed.streams)
        assert wrong(more, after.streams) == []
        assert after.told == ()
        changed.append(entries_changed(packed.streams, after.streams))
    assert len(changed) == 40
    assert min(changed) >= 1
    assert max(changed) <= 2


def test_forty_changes_one_after_the_other_leave_every_need_served(
    needs: Needs, packed: Packing
) -> None:
    chance, streams = random.Random("many"), packed.streams
    numbers = last_numbers(Network(streams=streams))
    for _ in range(20):
        gone = without(needs, chance)
        (needs,) = added_routes(gone, 1)
        after = repack(needs, streams, last=numbers)
        assert wrong(needs, after.streams) == []
        fresh = {s.name for s in after.streams} - {s.name for s in streams}
        assert all(int(n.rpartition("/")[2]) > numbers[n.rpartition("/")[0]] for n in fresh)
        streams = after.streams
        numbers = {
            name: max(number, last_numbers(Network(streams=streams)).get(name, 0))
            for name, number in numbers.items()
        }


def test_a_second_listener_gets_a_copy_so_that_the_first_hears_nothing() -> None:
    sender = Sender(name="box", wants=wants(c1="desk"))
    before = pack(needs_of(sender)).streams
    more = needs_of(replace(sender, wants=wants(c1="desk side")))
    after = repack(more, before)
    assert after.streams[0] == before[0]
    assert [(s.name, s.receivers, s.multicast) for s in after.streams[1:]] == [
        ("box/2", ("side",), False)
    ]
    assert after.told == ()


def test_where_only_a_change_of_kind_keeps_the_limit_it_is_told() -> None:
    sender = Sender(name="box", wants=wants(c1="desk"))
    one = {"box": replace(USUAL, streams_send=1)}
    before = pack(needs_of(sender, one)).streams
    after = repack(needs_of(replace(sender, wants=wants(c1="desk side")), one), before)
    assert [(s.name, s.receivers, s.multicast) for s in after.streams] == [
        ("box/1", ("desk", "side"), True)
    ]
    assert after.told == (Told(stream="box/1", what="kind"),)


def test_a_multicast_stream_left_with_one_listener_stays_multicast() -> None:
    sender = Sender(name="box", wants=wants(c1="desk side"))
    before = pack(needs_of(sender)).streams
    after = repack(needs_of(replace(sender, wants=wants(c1="desk"))), before)
    assert [(s.name, s.receivers, s.multicast) for s in after.streams] == [
        ("box/1", ("desk",), True)
    ]


def test_a_line_that_became_private_is_left_by_who_must_not_hear_it() -> None:
    sender = Sender(name="box", wants=wants(c1="desk side", c2="desk side"))
    before = pack(needs_of(sender)).streams
    needs = needs_of(
        replace(sender, wants=wants(c1="desk", c2="desk side"), private=frozenset({1}))
    )
    after = repack(needs, before)
    assert wrong(needs, after.streams) == []


def test_a_name_that_was_retired_does_not_come_again() -> None:
    sender = Sender(name="box", wants=wants(c1="desk"))
    before = pack(needs_of(sender)).streams
    gone = Retired(what="stream", value="box/5", of="box")
    numbers = last_numbers(Network(streams=before, retired=(gone,)))
    more = needs_of(replace(sender, wants=wants(c1="desk", c2="side")))
    assert [s.name for s in repack(more, before, last=numbers).streams] == ["box/1", "box/6"]
