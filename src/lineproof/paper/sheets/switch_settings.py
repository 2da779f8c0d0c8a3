"""How a switch is set, in the neutral words of the standards."""

from __future__ import annotations

from ipaddress import IPv4Network

from lineproof.paper.edition import Edition
from lineproof.paper.sheet import Row, Table
from lineproof.paper.sheets.net_parts import network_of
from lineproof.paper.sheets.parts import cells, columns
from lineproof.paper.translate import Words
from lineproof.plan.network import NetPlan
from lineproof.reckon.delay_figures import NetFigures
from lineproof.reckon.poe import FeedBudget
from lineproof.show.model import Unit

#: Classes in the order in which they are served; the delay bounds are reckoned with it.
QUEUES = ("clock", "audio", "rest")


def settings_table(
    edition: Edition, unit: Unit, figures: NetFigures, plan: NetPlan, feeds: FeedBudget | None
) -> Table:
    """Give what is set on a switch, one row for each setting; one that can't be set says so."""
    words = edition.words
    if unit.theirs:
        set_up = [(words("set.whose"), words("said.not-ours"))]
    elif unit.kind.managed:
        set_up = _settings(edition, unit, figures, plan)
    else:
        set_up = [(words("set.tree"), words("said.not-managed"))]
    if feeds is not None:
        budget = words("said.budget", asks=f"{feeds.asks_w:g}", budget=f"{feeds.budget_w:g}")
        set_up.append((words("set.feeds"), budget))
    rows = tuple(Row(cells=cells(*row)) for row in set_up)
    head = columns(words, "setting", "value")
    title = words("part.switch-settings")
    return Table(name="switch-settings", of=unit.name, title=title, columns=head, rows=rows)


def _settings(
    edition: Edition, unit: Unit, figures: NetFigures, plan: NetPlan
) -> list[tuple[str, str]]:
    words, network = edition.words, network_of(edition)
    node = figures.fabric.nodes[figures.fabric.index[unit.name]]
    groups = figures.groups.get(unit.name, 0)
    vlans = ", ".join(f"{words(f'vlan.{use}')} {n}" for use, n in plan.vlans.items())
    return [
        (words("set.address"), address_and_mask(network.address(unit.name, plan.name), plan)),
        (words("set.tree"), words("said.rapid", priority=node.priority) + _rank(words, unit, plan)),
        (words("set.querier"), _querier(words, unit, plan)),
        (words("set.snooping"), words("said.snooping", groups=groups)),
        (words("set.vlans"), vlans),
        (words("set.queues"), queues_text(edition)),
        (words("set.shut"), words("said.shut")),
    ]


def address_and_mask(address: str, plan: NetPlan) -> str:
    """Give an address with its mask, both ways people write it; "" where there is none."""
    if not address:
        return ""
    net = IPv4Network(plan.range)
    return f"{address}/{net.prefixlen} ({net.netmask})"


def _rank(words: Words, unit: Unit, plan: NetPlan) -> str:
    if unit.name not in plan.roots[:2]:
        return ""
    key = "said.root" if plan.roots[0] == unit.name else "said.second-root"
    return f", {words(key)}"


def _querier(words: Words, unit: Unit, plan: NetPlan) -> str:
    if unit.name not in plan.queriers[:2]:
        return words("said.no-querier")
    return words("said.querier" if plan.queriers[0] == unit.name else "said.second-querier")


def queues_text(edition: Edition) -> str:
    """Give the marks in the order in which they are served: strict priority, as is reckoned."""
    dscp = network_of(edition).dscp
    each = [f"{edition.words(f'dscp.{name}')} {dscp[name]}" for name in QUEUES if name in dscp]
    return edition.words("said.queues", order=", ".join(each))
