"""All checks, gathered."""

from __future__ import annotations

from lineproof.base.finding import Finding
from lineproof.base.rule import Rule
from lineproof.check import (
    accept,
    addresses,
    cabling,
    ends,
    groups,
    leaders,
    leads,
    mixes,
    net_access,
    net_clock,
    net_delay,
    net_loads,
    net_power,
    net_tree,
    numbers,
    planned,
    power,
    room,
    sessions,
    sockets,
    standby,
    standing_in,
    starts,
    streams,
)
from lineproof.check.check import Check, Facts

CHECKS: tuple[Check, ...] = (
    *planned.CHECKS,
    *sockets.CHECKS,
    *numbers.CHECKS,
    *leads.CHECKS,
    *power.CHECKS,
    *mixes.CHECKS,
    *room.CHECKS,
    *starts.CHECKS,
    *ends.CHECKS,
    *standby.CHECKS,
    *standing_in.CHECKS,
    *cabling.CHECKS,
    *streams.CHECKS,
    *addresses.CHECKS,
    *groups.CHECKS,
    *leaders.CHECKS,
    *sessions.CHECKS,
    *net_tree.CHECKS,
    *net_loads.CHECKS,
    *net_delay.CHECKS,
    *net_clock.CHECKS,
    *net_power.CHECKS,
    *net_access.CHECKS,
)

RULES: tuple[Rule, ...] = (*(check.rule for check in CHECKS), accept.IDLE)


def find_all(facts: Facts) -> list[Finding]:
    """Give what every check finds."""
    return [finding for check in CHECKS for finding in check.find(facts)]
