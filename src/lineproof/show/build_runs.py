"""From the tree to the runs given by hand, and to the cables on the truck."""

from __future__ import annotations

from lineproof.show import words
from lineproof.show.build_room import by_name, records
from lineproof.show.fields import Fields, Names
from lineproof.show.model import Run, Stock


def build_runs(top: Fields) -> dict[str, Run]:
    """Give the runs given by hand, their ends and ducts as written: the checks look them up."""
    runs = [
        Run(
            name=name,
            ends=(f.text("from"), f.text("to")),
            along=tuple(w.value for w in f.names("along")),
            cable=f.text("cable"),
            length_m=f.quantity("length"),
            couplers=f.count("couplers") or 0,
            label=f.text("label"),
            where=text.where,
        )
        for name, text, f in records(top, "runs", words.RUN, Names(top.findings), "run")
    ]
    return by_name(runs, lambda r: r.name)


def build_stock(top: Fields) -> dict[str, Stock]:
    """Give the cables on the truck by name; one without length or count is left out."""
    stock = []
    for name, text, fields in records(top, "stock", words.STOCK, Names(top.findings), "stock"):
        length, count = fields.quantity("length"), fields.count("count")
        if length is not None and count is not None:
            one = Stock(
                name=name,
                cable=fields.choice("cable"),
                length_m=length,
                count=count,
                label=fields.text("label"),
                where=text.where,
            )
            stock.append(one)
    return by_name(stock, lambda s: s.name)
