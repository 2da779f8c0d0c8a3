"""Findings that somebody takes on, with a reason and a name."""

from __future__ import annotations

from lineproof.show import rules, words
from lineproof.show.fields import Fields
from lineproof.show.model import Accepted
from lineproof.show.tree import Entries, Items


def build_accepted(top: Fields) -> tuple[Accepted, ...]:
    """Give what is accepted, in the order written."""
    node = top.nodes.get("accept")
    if node is None:
        return ()
    items = node.items if isinstance(node, Items) else (node,)
    accepted = []
    for item in items:
        if not isinstance(item, Entries):
            what = "each acceptance needs keys: finding, of, reason, by"
            top.findings.append(rules.WRONG_VALUE.finding(what=what, where=item.where))
            continue
        fields = Fields(item, words.ACCEPT, top.findings, title="acceptance")
        accepted.append(
            Accepted(
                finding=fields.name("finding"),
                of=tuple(word.value for word in fields.names("of")),
                reason=fields.text("reason"),
                by=fields.text("by"),
                where=item.where,
            )
        )
    return tuple(accepted)
