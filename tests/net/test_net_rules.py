"""Rules on the network's figures, beyond their own examples: faults, both nets, who is told."""

from __future__ import annotations

from lineproof.base.finding import Finding, Grade
from lineproof.base.rule import EXAMPLE_SHOW, Example
from lineproof.check import net_access, net_clock, net_delay, net_loads, net_power, net_tree
from lineproof.check.net_facts import ring, with_switches
from lineproof.decide.whole import decide_whole
from lineproof.outcome import Outcome, work_out
from lineproof.show.read import read_files


def worked(example: Example) -> Outcome:
    reading = read_files(example.files())
    assert reading.show is not None, reading.findings
    plan = decide_whole(reading.show).plan
    assert plan is not None
    return work_out(reading, plan)


def told(example: Example, rule: str) -> list[Finding]:
    return [finding for finding in worked(example).findings if finding.rule == rule]


MANY = "number,name,from,source,to\n" + "".join(
    f"{n},Voice {n},stage,dynamic mic,desk rec-1\n" for n in range(1, 17)
)


def in_ring(speed_mbit: int, kinds: str = "") -> Example:
    """Give three switches in a ring: the way round over the third one is slow, and spared."""
    hung = "b: {from: 'box-1:1', to: 'sw-1:1'}, d: {from: 'desk:1', to: 'sw-2:1'}, "
    hung += "r: {from: 'rec-1:1', to: 'sw-2:2'}"
    runs = f"{ring('sw-1', 'sw-2', 'sw-3')}, {hung}"
    show = with_switches(3, runs, addresses="root-a: sw-1 sw-2")
    slow = (
        f"slow: {{like: switch-8, ports: [{{count: 8, medium: copper, speed-mbit: {speed_mbit}}}]}}"
    )
    show = show.replace("sw-3: {kind: switch-8,", "sw-3: {kind: slow,")
    if kinds:
        show = show.replace("kind: computer-32,", "kind: odd,")
    return Example(show=show.replace("lines:", f"kinds: {{{slow}{kinds}}}\nlines:"), lines=MANY)


def test_a_run_that_is_full_only_after_a_fault_is_a_risk_and_names_the_fault() -> None:
    (finding,) = told(in_ring(10), "run-over-speed")
    assert finding.grade is Grade.RISK
    assert finding.what.startswith("once t1 is lost, more is sent on net a than fits: t2 (sw-")
    assert told(in_ring(100), "run-over-speed") == []


def test_a_delay_without_bound_only_after_a_fault_is_a_risk() -> None:
    found = told(in_ring(10), "no-delay-bound")
    assert {finding.grade for finding in found} == {Grade.RISK}
    assert {finding.of for finding in found} == {("desk", "t1"), ("rec-1", "t1")}


def test_a_buffer_that_is_long_enough_until_something_breaks_is_a_risk() -> None:
    outcome = worked(in_ring(100))
    assert outcome.network is not None
    (need,) = {b.need for b in outcome.network.buffers if b.units == ("rec-1",)}
    assert need.fault == "t1"
    assert need.ns is not None
    assert need.undisturbed_ns is not None
    assert need.ns > need.undisturbed_ns + 100_000
    for ns, grades in (
        (need.ns + 10_000, []),
        (need.ns - 10_000, [Grade.RISK]),
        (need.undisturbed_ns + 10_000, [Grade.RISK]),
        (need.undisturbed_ns - 10_000, [Grade.STOP]),
    ):
        odd = f", odd: {{like: computer-32, buffers-ms: [{ns / 1e6:.3f}]}}"
        found = told(in_ring(100, odd), "no-buffer-fits")
        assert [finding.grade for finding in found] == grades


def test_a_full_run_is_told_with_its_figures() -> None:
    (finding,) = told(net_loads.OVER_SPEED.fails, "run-over-speed")
    assert "of 1000 Mbit/s" in finding.what
    assert "sw-1 to sw-2" in finding.what
    assert "sw-2 to sw-1" in finding.what


def test_one_unknown_address_is_enough_for_the_note_and_is_the_one_named() -> None:
    text = net_tree.NAMES_FOR_MACS.fails.show
    one_known = text.replace(
        "sw-2: {kind: switch-8,", "sw-2: {kind: switch-8, mac: '02:00:5E:00:53:02',"
    )
    (finding,) = told(Example(show=one_known), "names-for-macs")
    assert finding.what.endswith("the order of names stood in for that of sw-4")


def test_a_rate_converter_between_two_rates_is_no_crossing() -> None:
    text = net_clock.CROSSING.fails.show
    assert told(Example(show=text), "rate-crossing")
    changes = text.replace("kind: computer-128,", "kind: changes,").replace(
        "lines:", "kinds: {changes: {like: computer-128, converts-rate: true}}\nlines:"
    )
    assert told(Example(show=changes), "rate-crossing") == []


def test_nobody_to_follow_the_grandmaster_is_a_risk_a_lesser_clock_a_note() -> None:
    (lesser,) = told(net_clock.HAND_OVER.fails, "hand-over-audible")
    assert lesser.grade is Grade.NOTE
    text = net_clock.HAND_OVER.fails.show
    for row in ("box-16-8", "mixer-32"):
        text = text.replace(f"kind: {row},", f"kind: follower-{row},")
    kinds = ", ".join(f"follower-{k}: {{like: {k}, clock: none}}" for k in ("box-16-8", "mixer-32"))
    (none,) = told(
        Example(show=text.replace("lines:", f"kinds: {{{kinds}}}\nlines:")), "hand-over-audible"
    )
    assert none.grade is Grade.RISK
    assert "nobody follows; noticed within 6 s" in none.what


def test_the_margin_that_is_left_is_told() -> None:
    (finding,) = told(net_delay.MARGIN_THIN.fails, "buffer-margin-thin")
    assert finding.what.startswith("of 1.3 ms ")
    assert finding.of == ("rec-1",)


def test_a_chain_hop_takes_what_its_kind_says() -> None:
    row = "pa: {kind: powered-loudspeaker, place: stage, circuit: house}"
    more = "pa: {kind: hop, place: stage, circuit: house, ports: chain}\n  pb: " + row[4:]
    text = EXAMPLE_SHOW.replace(row, more).replace(
        "lines:",
        "runs: {p: {from: 'pa:1', to: 'sw-1:8'}, c: {from: 'pa:2', to: 'pb:1'}}\nKIND\nlines:",
    )
    lines = "number,name,from,source,to\n1,Main,desk,main mix,pa\n2,Far,desk,main mix,pb\n"

    def delay_ns(forward_us: int) -> int:
        kind = f"kinds: {{hop: {{like: powered-loudspeaker, forward-us: {forward_us}}}}}"
        outcome = worked(Example(show=text.replace("KIND", kind), lines=lines))
        assert outcome.network is not None
        swept = outcome.network.nets["a"].swept
        far = swept.fabric.index["pb"]
        return max(d.worst for (_, to), d in swept.delay_ns.items() if to == far)

    # The same way and the same queues: only the hop's own time differs.
    assert abs(delay_ns(150) - delay_ns(30) - 120_000) <= 1


def test_what_hangs_on_a_plain_switch_is_told_with_the_switch() -> None:
    (finding,) = told(net_access.NOT_APART.fails, "guests-not-kept-apart")
    assert finding.of == ("sw-1", "net-out")


def test_circuits_whose_breaker_may_fall_are_told_as_one() -> None:
    # 60 + 180 + 100 + 1800 + 12 W at 230 V: 9.36 A, ten times that in the first moment.
    (finding,) = told(net_power.ALL_AT_ONCE.fails, "switch-on-in-steps")
    assert "house 94 A on 16 A" in finding.what
