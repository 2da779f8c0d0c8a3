"""What checks tell of addresses, groups, leaders and descriptions; and what `addresses` may say."""

from __future__ import annotations

import pytest

from lineproof.base.finding import Finding
from lineproof.base.rule import Example, Rule
from lineproof.check import addresses, groups, leaders, sessions
from lineproof.check.check import Check, Facts
from lineproof.decide import addresses_told
from lineproof.decide.addresses import nets_by_unit, plan_addresses
from lineproof.plan.model import Plan
from lineproof.plan.network import Stream
from lineproof.reckon.figures import Figures
from lineproof.show.build_addresses import asked
from lineproof.show.model import Show
from lineproof.show.read import read_files
from tests.addresses.nets import network_of, show_of, stream

CHECKS: tuple[Check, ...] = (
    *addresses.CHECKS,
    *groups.CHECKS,
    *leaders.CHECKS,
    *sessions.CHECKS,
)


def streams_of(show: Show) -> tuple[Stream, ...]:
    """Give the two streams of the little show that rules' examples change."""
    last = show.lines[-1]
    heard = [member.name for _, member in last.end_members()]
    box = stream("box-1/1", "desk rec-1", channels=(1, 2))
    name = f"{last.starts[0].name}/1"
    other = stream(name, " ".join(heard), channels=(1,), multicast=len(heard) > 1)
    return (box, other) if "box-1" in show.units else (other,)


def found(example: Example, check: Check) -> list[Finding]:
    show = read_files(example.files()).show
    assert show is not None
    network = plan_addresses(show, network_of(show, *streams_of(show)), None)
    figures = Figures(ways={}, leads=(), routes=())
    return list(check.find(Facts(show=show, plan=Plan(network=network), figures=figures)))


@pytest.mark.parametrize("check", CHECKS, ids=lambda check: check.rule.name)
def test_the_failing_example_is_found_and_the_passing_one_is_not(check: Check) -> None:
    rule: Rule = check.rule
    told = found(rule.fails, check)
    assert told
    assert {f.rule for f in told} == {rule.name}
    assert all(f.what and f.do for f in told)
    assert found(rule.passes, check) == []


@pytest.mark.parametrize("rule", addresses_told.RULES, ids=lambda rule: rule.name)
def test_what_changes_for_people_is_told_in_the_failing_example_alone(rule: Rule) -> None:
    for example, told in ((rule.fails, True), (rule.passes, False)):
        assert example.before is not None
        before, after = (read_files(e.files()).show for e in (example.before, example))
        assert before is not None
        assert after is not None
        first = plan_addresses(before, network_of(before), None)
        second = plan_addresses(after, network_of(after), first, revision=1)
        found = addresses_told.address_findings(after, second, first)
        assert {f.rule for f in found} == ({rule.name} if told else set())
        assert all(f.what and f.do for f in found)


def test_the_little_show_raises_nothing_but_the_clocks_missing_address() -> None:
    told = {f.rule for check in CHECKS for f in found(Example(), check)}
    assert told == {"no-clock-identity"}


def test_without_a_network_nothing_is_said() -> None:
    show = show_of()
    facts = Facts(show=show, plan=Plan(), figures=Figures(ways={}, leads=(), routes=()))
    assert [f for check in CHECKS for f in check.find(facts)] == []


@pytest.mark.parametrize(
    ("entry", "what", "do"),
    [
        ("a: 10.20.0.1/22", "'10.20.0.1/22' is no IPv4 range", "with nothing after the prefix"),
        ("a: 10.20.0.0", "is one address, not a range", "10.20.0.0/22"),
        ("a: 10.20.0.0/31", "holds 2 addresses", "between /8 and /29"),
        ("a: 239.192.0.0/16", "is no range for units", "10.20.0.0/22"),
        ("a: 127.0.0.0/24", "is no range for units", "10.20.0.0/22"),
        ("groups-a: 10.20.0.0/22", "holds no multicast groups", "239.192.0.0/14"),
        ("groups-a: 239.0.0.0/8", "every hardware address twice", "one half"),
        ("desk: 10.20.0.300", "'10.20.0.300' is no IPv4 address", "10.20.0.7"),
        ("dusk: 10.20.0.7", "no unit is named 'dusk'", "did you mean 'desk'?"),
        ("group-a: 239.192.0.0/16", "no setting or unit", "did you mean 'groups-a'?"),
        ("rec-1: 10.61.0.7 10.62.0.7", "2 addresses for rec-1, which has 1 net", "each net"),
        ("'rec-1:b': 10.62.0.7", "rec-1 is not on net b", "a net that it is on"),
        ("desk: 239.192.0.7", "no address for a unit", "10.20.0.7"),
        ("box-1/1: 10.61.0.7", "is no multicast group", "239.192.0.0/14"),
        ("vlan-audio-a: 4095", "VLAN reads '4095'", "from 1 to 4094"),
        ("dscp-clock: EF", "DSCP reads 'EF'", "from 0 to 63"),
        ("clock-domain: 128", "clock domain reads '128'", "from 0 to 127"),
        ("root-a: sw-9", "no unit is named 'sw-9'", "sw-"),
        ("'x y': 1", "'x y' is no setting, unit or stream", "manual"),
    ],
)
def test_a_slip_is_told_with_what_to_do(entry: str, what: str, do: str) -> None:
    show = show_of(("lines: lines.csv", f"addresses: {{{entry}}}\nlines: lines.csv"))
    wrong = asked(show, nets_by_unit(show, network_of(show))).wrong
    assert len(wrong) == 1
    assert what in wrong[0].what
    assert do in wrong[0].do


def test_a_unit_named_like_a_setting_is_reached_by_its_net() -> None:
    show = show_of(
        ("  rec-1:", "  grandmaster: {kind: house-clock, place: front}\n  rec-1:"),
        ("lines: lines.csv", "addresses: {'grandmaster:a': 10.61.0.99}\nlines: lines.csv"),
    )
    plan = plan_addresses(show, network_of(show), None)
    assert plan.address("grandmaster", "a") == "10.61.0.99"


def test_net_b_in_a_show_of_one_net_is_passed_over() -> None:
    show = show_of(("nets: two", "nets: one"))
    plan = plan_addresses(show, network_of(show, stream("desk/1", "side")), None)
    assert {a.net for a in plan.addresses} == {"a"}
