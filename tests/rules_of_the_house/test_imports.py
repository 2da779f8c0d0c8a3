"""Imports point one way, towards base; starting the command line loads nothing heavy."""

from __future__ import annotations

import ast
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

#: From the ground up. Parts on one step do not know each other.
STEPS = (
    ("base",),
    ("kit",),
    ("show",),
    ("plan",),
    ("graph",),
    ("reckon",),
    ("decide",),
    ("check", "drill"),
    ("rescue",),
    ("outcome",),
    ("paper", "site"),
    ("cli", "web"),
)
STEP_OF = {part: step for step, parts in enumerate(STEPS) for part in parts}

#: They take from a tenth of a second to several to load: only what uses them may wait for them.
HEAVY = ("ortools", "typst", "xlsxwriter", "numpy", "scipy", "pandas", "fastapi")


def imports_of(module: str, text: str, *, package: bool = False) -> Iterator[str]:
    """Give every module that `text` imports, anywhere in it, by its full name."""
    home = module if package else module.rpartition(".")[0]
    for node in ast.walk(ast.parse(text)):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            base = node.module or ""
            if node.level:
                above = home.split(".")[: len(home.split(".")) - node.level + 1]
                base = ".".join([*above, *([base] if base else [])])
            yield from (f"{base}.{alias.name}" for alias in node.names)


def wrong_imports(module: str, text: str, *, package: bool = False) -> list[str]:
    """Say which imports of a module of ours point the wrong way."""
    mine = part_of(module)
    wrong = []
    for name in imports_of(module, text, package=package):
        if name.partition(".")[0] != "lineproof" or name == "lineproof.__version__":
            continue
        theirs = part_of(name)
        if theirs not in STEP_OF:
            wrong.append(f"{module} imports {name}: nobody imports from the package root")
        elif theirs != mine and STEP_OF[theirs] >= STEP_OF[mine]:
            wrong.append(f"{module} imports {name}, which stands on no lower step")
    return wrong


def part_of(module: str) -> str:
    """Give the part a module belongs to; what starts the program belongs to cli."""
    part = module.removeprefix("lineproof").removeprefix(".").partition(".")[0]
    return "cli" if part == "__main__" else part


def modules(root: Path) -> list[tuple[str, Path]]:
    """Give every module of ours with its file, the root left out, which holds only the version."""
    found = []
    for path in sorted((root / "src" / "lineproof").rglob("*.py")):
        parts = path.relative_to(root / "src").with_suffix("").parts
        name = ".".join(parts[:-1] if parts[-1] == "__init__" else parts)
        if name != "lineproof":
            found.append((name, path))
    return found


def test_every_module_belongs_to_a_part_that_has_a_step(root: Path) -> None:
    assert [name for name, _ in modules(root) if part_of(name) not in STEP_OF] == []


def test_imports_point_towards_base(root: Path) -> None:
    wrong = [
        sentence
        for name, path in modules(root)
        if part_of(name) in STEP_OF
        for sentence in wrong_imports(
            name, path.read_text("utf-8"), package=path.name == "__init__.py"
        )
    ]
    assert wrong == []


@pytest.mark.parametrize(
    ("module", "text"),
    [
        ("lineproof.base.spot", "from lineproof.kit.kinds import Kind"),
        ("lineproof.base.spot", "def f():\n    import lineproof.show.model"),
        ("lineproof.check.power", "from lineproof.drill import sweep"),
        ("lineproof.cli.main", "from lineproof.web import app"),
        ("lineproof.paper.sheet", "from lineproof import outcome, site"),
        ("lineproof.paper.sheet", "from lineproof import Show"),
        ("lineproof.paper.sheet", "import lineproof"),
        ("lineproof.plan.model", "from ..drill import lose"),
    ],
)
def test_an_import_that_points_up_or_sideways_is_found(module: str, text: str) -> None:
    assert len(wrong_imports(module, text)) == 1


@pytest.mark.parametrize(
    ("module", "text"),
    [
        ("lineproof.kit.load", "from lineproof.base.spot import Spot\nimport tomllib"),
        ("lineproof.cli.main", "from lineproof import __version__, outcome"),
        ("lineproof.drill.sweep", "from .verdict import Verdict\nfrom ..graph import faults"),
        ("lineproof.paper.sheets.lines", "from lineproof.paper.sheet import Sheet"),
    ],
)
def test_an_import_that_points_down_is_left_alone(module: str, text: str) -> None:
    assert wrong_imports(module, text) == []


def test_starting_the_command_line_loads_nothing_heavy() -> None:
    ask = f"import lineproof.cli.main, sys; print(*sorted(sys.modules.keys() & {set(HEAVY)!r}))"
    done = subprocess.run([sys.executable, "-c", ask], capture_output=True, text=True, check=False)
    assert (done.returncode, done.stdout.split(), done.stderr) == (0, [], "")
