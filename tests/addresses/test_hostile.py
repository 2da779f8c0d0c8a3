"""Whatever stands under `addresses`, the plan is made and every slip is told; nothing breaks."""

from __future__ import annotations

from dataclasses import replace

from hypothesis import given
from hypothesis import strategies as st

from lineproof.check import addresses, groups, leaders, sessions
from lineproof.check.check import Facts
from lineproof.decide.addresses import plan_addresses
from lineproof.paper.sdp import session_files
from lineproof.plan.model import Plan
from lineproof.reckon.figures import Figures
from tests.addresses.nets import network_of, show_of
from tests.addresses.test_addresses import STREAMS

SHOW = show_of()
NETWORK = network_of(SHOW, *STREAMS)

KEYS = st.sampled_from(
    [
        *("a", "b", "groups-a", "groups-b", "root-a", "querier-b", "grandmaster", "clock-domain"),
        *("vlan-audio-a", "dscp-clock", "desk", "desk:b", "rec-1", "rec-1:b", "sw-a1", "box-1/1"),
        *("box-1/1:b", "desk/1", "box-9", "box-1/99", "", ":", "/", "a:a", "GROUPS-A"),
    ]
) | st.text(max_size=12)
ADDRESSES = st.builds(
    "{}.{}.{}.{}{}".format,
    *(st.sampled_from([0, 1, 10, 61, 62, 127, 128, 192, 224, 232, 239, 255, 256]) for _ in "1234"),
    st.sampled_from(["", "", "/8", "/9", "/16", "/24", "/28", "/29", "/31", "/32", "/33", "/x"]),
)
VALUES = st.one_of(
    ADDRESSES,
    st.lists(ADDRESSES, max_size=3).map(" ".join),
    st.sampled_from(["desk", "sw-a1 sw-a2", "sw-b1", "none", "7", "-1", "4094", "99999"]),
    st.text(max_size=12),
)


@given(st.dictionaries(KEYS, VALUES, max_size=6))
def test_any_addresses_give_a_plan_and_findings(entries: dict[str, str]) -> None:
    show = replace(SHOW, addresses=entries)
    first = plan_addresses(show, NETWORK, None)
    plan = Plan(network=first)
    facts = Facts(show=show, plan=plan, figures=Figures(ways={}, leads=(), routes=()))
    for check in (*addresses.CHECKS, *groups.CHECKS, *leaders.CHECKS, *sessions.CHECKS):
        assert all(f.what and f.do for f in check.find(facts))
    session_files(show, first)
    assert plan_addresses(show, NETWORK, first, revision=1) == first
    # And back to nothing given: whatever was decided stays, or gives way without a fault.
    plan_addresses(SHOW, NETWORK, first, revision=1)
