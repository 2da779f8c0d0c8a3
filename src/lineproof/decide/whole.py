"""The whole plan: spots first, then the network that carries them."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from lineproof.base.finding import in_order
from lineproof.base.spot import LineKey
from lineproof.decide import rules
from lineproof.decide.addresses_told import address_findings
from lineproof.decide.decide import Decision, decide
from lineproof.decide.network import plan_network
from lineproof.plan.model import Issued
from lineproof.show.model import Show


def _quiet(_: str) -> None:
    """Say nothing."""


def decide_whole(
    show: Show,
    issued: Issued | None = None,
    *,
    renew: frozenset[LineKey] = frozenset(),
    renew_all: bool = False,
    follow: str = "",
    progress: Callable[[str], None] = _quiet,
) -> Decision:
    """Give the best plan for the show, network included, that moves nothing it needn't.

    As `decide`, of which this is the whole: what has to be cabled, addressed and set up as well.
    """
    decision = decide(
        show, issued, renew=renew, renew_all=renew_all, follow=follow, progress=progress
    )
    if decision.plan is None:
        return decision
    earlier = issued.plan.network if issued and not renew_all else None
    found = plan_network(
        show,
        decision.plan,
        earlier,
        revision=issued.revision if issued else 0,
        progress=progress,
    )
    told = [
        *rules.streams_told(found.told),
        *address_findings(show, found.network, earlier),
    ]
    return replace(
        decision,
        plan=replace(decision.plan, network=found.network),
        terms=(*decision.terms, *found.terms),
        findings=in_order((*decision.findings, *told)),
    )
