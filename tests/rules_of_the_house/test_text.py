"""What must stand nowhere in the tree, and what a module must not keep."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

#: Put together here, so that this file does not hold what it looks for.
LEFT_FOR_LATER = re.compile(r"\b(" + "|".join(("TO" + "DO", "FIX" + "ME", "X" * 3)) + r")\b")
MACHINE_PATH = re.compile(r"(?<![\w.~/$}-])/(?:work|root|home|Users)/\w")
ADDRESS = re.compile(
    r"https?:/" + r"/|(?:--|PIP_|UV_)(?:EXTRA_)?(?:extra-)?(?:index|find-links)", re.IGNORECASE
)

#: Made by other programs, or not ours to read.
PASSED_OVER = {"__pycache__", "node_modules", "out", "dist", "build"}
NOT_TEXT = {".pdf", ".png", ".jpg", ".xlsx", ".xls", ".ods", ".wav", ".pcap", ".ttf"}


def texts(root: Path) -> Iterator[tuple[str, str]]:
    """Give every text file of the tree with its name, hidden folders but .ci left out."""
    for path in sorted(root.rglob("*")):
        name = path.relative_to(root)
        hidden = any(part.startswith(".") and part != ".ci" for part in name.parts[:-1])
        if hidden or PASSED_OVER & set(name.parts) or path.suffix in NOT_TEXT or path.is_dir():
            continue
        yield name.as_posix(), path.read_text("utf-8", errors="replace")


def rows_with(pattern: re.Pattern[str], name: str, text: str) -> list[str]:
    """Give the rows of a text in which the pattern stands."""
    return [
        f"{name}:{number}: {row.strip()}"
        for number, row in enumerate(text.splitlines(), start=1)
        if pattern.search(row)
    ]


def test_nothing_is_left_for_later(root: Path) -> None:
    assert [row for file in texts(root) for row in rows_with(LEFT_FOR_LATER, *file)] == []


def test_no_path_of_one_machine_stands_in_the_tree(root: Path) -> None:
    assert [row for file in texts(root) for row in rows_with(MACHINE_PATH, *file)] == []


@pytest.mark.parametrize("folder", ["requirements/", "tools/", "bench/", ".ci/", "Makefile"])
def test_where_packages_come_from_is_the_machines_own_setting(root: Path, folder: str) -> None:
    files = [(name, text) for name, text in texts(root) if name.startswith(folder)]
    assert files
    assert [row for file in files for row in rows_with(ADDRESS, *file)] == []


@pytest.mark.parametrize(
    ("pattern", "row"),
    [
        (LEFT_FOR_LATER, "# " + "TO" + "DO: later"),
        (MACHINE_PATH, "open('/" + "work/x')"),
        (MACHINE_PATH, "see /" + "home/ann/show"),
        (ADDRESS, "--" + "index-url somewhere"),
        (ADDRESS, "--" + "find-links=wheels"),
        (ADDRESS, "export PIP_" + "EXTRA_INDEX_URL=x"),
        (ADDRESS, "http:/" + "/host/simple"),
    ],
)
def test_the_patterns_find_what_they_look_for(pattern: re.Pattern[str], row: str) -> None:
    assert rows_with(pattern, "file", row) == [f"file:1: {row}"]


CHANGERS = {"append", "extend", "insert", "add", "update", "setdefault", "pop", "clear", "remove"}


def changeable(text: str) -> list[str]:
    """Give the module-level names bound to a list or a set, or changed later on."""
    tree = ast.parse(text)
    bound = {name: value for node in tree.body for name, value in bindings(node)}
    found = [name for name, value in bound.items() if makes_list_or_set(value)]
    for node in ast.walk(tree):
        if isinstance(node, ast.Subscript) and isinstance(node.ctx, ast.Store | ast.Del):
            changed = node.value
        elif isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute):
            changed = node.func.value if node.func.attr in CHANGERS else None
        else:
            continue
        if isinstance(changed, ast.Name) and changed.id in bound and changed.id.isupper():
            found.append(changed.id)
    return found


def bindings(node: ast.stmt) -> Iterator[tuple[str, ast.expr]]:
    """Give the names a statement binds, with their values."""
    targets = node.targets if isinstance(node, ast.Assign) else [getattr(node, "target", None)]
    value = getattr(node, "value", None)
    if isinstance(node, ast.Assign | ast.AnnAssign) and isinstance(value, ast.expr):
        yield from ((t.id, value) for t in targets if isinstance(t, ast.Name))


def makes_list_or_set(value: ast.expr) -> bool:
    """Say whether an expression gives a list or a set that anybody could add to."""
    if isinstance(value, ast.Call):
        return isinstance(value.func, ast.Name) and value.func.id in {"list", "set", "sorted"}
    return isinstance(value, ast.List | ast.ListComp | ast.Set | ast.SetComp)


def test_what_a_module_keeps_for_all_can_not_change(root: Path) -> None:
    found = [
        f"{path.relative_to(root).as_posix()}: {name}"
        for path in sorted((root / "src").rglob("*.py"))
        for name in changeable(path.read_text("utf-8"))
        if name != "__all__"
    ]
    assert found == []


@pytest.mark.parametrize(
    ("text", "names"),
    [
        ("RULES = [a, b]", ["RULES"]),
        ("RULES: list[Rule] = []", ["RULES"]),
        ("KNOWN = {'a', 'b'}", ["KNOWN"]),
        ("KNOWN = {}\ndef add(x):\n    KNOWN[x] = 1", ["KNOWN"]),
        ("KNOWN = {}\ndef add(x):\n    KNOWN.update(x)", ["KNOWN"]),
        ("RULES = (a, b)\nKNOWN = frozenset({'a'})\nWORDS = {'a': 1}", []),
    ],
)
def test_what_could_change_is_found(text: str, names: list[str]) -> None:
    assert changeable(text) == names


def test_every_list_of_rules_is_a_tuple(root: Path) -> None:
    wrong = [
        path.relative_to(root).as_posix()
        for path in sorted((root / "src").rglob("*.py"))
        for node in ast.parse(path.read_text("utf-8")).body
        for name, value in bindings(node)
        if name == "RULES" and not is_tuple(value)
    ]
    assert wrong == []


def is_tuple(value: ast.expr) -> bool:
    """Say whether an expression gives a tuple, sums of tuples too."""
    if isinstance(value, ast.BinOp):
        return is_tuple(value.left) or is_tuple(value.right)
    made = isinstance(value, ast.Call) and isinstance(value.func, ast.Name)
    return isinstance(value, ast.Tuple) or (made and value.func.id == "tuple")
