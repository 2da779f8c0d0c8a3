"""How far a tree reaches: bridges between a root and the farthest, and from one end to another."""

from __future__ import annotations

from lineproof.reckon.tree import Tree

#: A message older than that is thrown away; it ages by 1 at every bridge (IEEE 802.1D-2004 17.13.8
#: and table 17-1; facts 03).
MOST_AGE = 20
#: Bridges on the longest way that the standard's timers were made for (IEEE 802.1D-1998 8.10.2).
MOST_ACROSS = 7


def _bridges_down(tree: Tree) -> list[int]:
    """Give the living bridges, roots first."""
    nodes = tree.fabric.nodes
    living = (i for i, root in enumerate(tree.root) if root >= 0 and nodes[i].bridge)
    return sorted(living, key=lambda i: tree.depth[i])


def farthest(tree: Tree) -> int:
    """Give how old the root's messages are at most where they arrive: bridges passed, plus 1.

    Bridges without a spanning tree are taken to pass them on as they are.
    """
    nodes, head = tree.fabric.nodes, tree.fabric.head
    age: dict[int, int] = {}
    for i in _bridges_down(tree):
        above = age[head[tree.up[i]]] if tree.up[i] >= 0 else -1
        age[i] = above + nodes[i].elects
    return max((age[i] for i in age if nodes[i].elects), default=0)


def across(tree: Tree) -> int:
    """Give the most bridges that a frame passes from one unit to another."""
    head = tree.fabric.head
    below: dict[int, int] = {}
    most = 0
    for i in reversed(_bridges_down(tree)):
        deep = below.get(i, 0) + 1
        most = max(most, deep)
        if tree.up[i] >= 0:
            above = head[tree.up[i]]
            # Down one branch and up another, and the bridge where they meet.
            most = max(most, below.get(above, 0) + deep + 1)
            below[above] = max(below.get(above, 0), deep)
    return most
