"""Every dependency has its reason on record, an exact version and hashes of its files."""

from __future__ import annotations

import ast
import re
import tomllib
from pathlib import Path
from typing import Any

import pytest
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

LOCKS = ("run", "build", "develop")


def project(root: Path) -> dict[str, Any]:
    return tomllib.loads((root / "pyproject.toml").read_text("utf-8"))


def group(root: Path, name: str) -> list[Requirement]:
    """Give what a group asks for, the groups it includes too."""
    if name == "run":
        return [Requirement(each) for each in project(root)["project"]["dependencies"]]
    found = []
    for each in project(root)["dependency-groups"][name]:
        included = isinstance(each, dict)
        found += group(root, each["include-group"]) if included else [Requirement(each)]
    return found


def pinned(root: Path, name: str) -> dict[str, set[str]]:
    """Give the exact versions of a lock file; one may differ from Python to Python."""
    found: dict[str, set[str]] = {}
    for row in (root / f"requirements/{name}.txt").read_text("utf-8").splitlines():
        if match := re.match(r"([\w.-]+)==(\S+)", row):
            found.setdefault(canonicalize_name(match[1]), set()).add(match[2])
    return found


@pytest.mark.parametrize("name", LOCKS)
def test_every_dependency_is_told_in_the_decisions(root: Path, name: str) -> None:
    told = "\n".join(
        path.read_text("utf-8").casefold() for path in (root / "docs/decisions").glob("*.md")
    )
    names = {requirement.name.casefold() for requirement in group(root, name)}
    assert sorted(each for each in names if f"`{each}`" not in told) == []


@pytest.mark.parametrize("name", LOCKS)
def test_the_lock_holds_each_dependency_within_its_range(root: Path, name: str) -> None:
    versions = pinned(root, name)
    assert [
        str(requirement)
        for requirement in group(root, name)
        if not versions.get(canonicalize_name(requirement.name))
        or not all(
            v in requirement.specifier for v in versions[canonicalize_name(requirement.name)]
        )
    ] == []


def test_what_is_developed_with_is_what_is_run_with(root: Path) -> None:
    develop = pinned(root, "develop")
    for name in ("run", "build"):
        assert {each: develop.get(each) for each in pinned(root, name)} == pinned(root, name)


@pytest.mark.parametrize("name", LOCKS)
def test_every_pin_is_followed_by_hashes_and_nothing_comes_by_address(
    root: Path, name: str
) -> None:
    text = (root / f"requirements/{name}.txt").read_text("utf-8")
    rows = [row.strip() for row in text.splitlines() if row.strip() and row.lstrip()[0] != "#"]
    pins = [number for number, row in enumerate(rows) if not row.startswith("--hash=")]
    assert pins
    assert [rows[n] for n in pins if not re.match(r"[\w.-]+==[\w.]+ (; .+ )?\\$", rows[n])] == []
    assert [rows[n] for n in pins if not rows[n + 1].startswith("--hash=sha256:")] == []


def test_every_package_that_a_test_needs_is_installed_in_ci(root: Path) -> None:
    listed = {
        row.partition("#")[0].strip()
        for row in (root / "tools/debian.txt").read_text("utf-8").splitlines()
    }
    asked = {
        str(call.args[1].value)
        for path in (root / "tests").rglob("*.py")
        for call in ast.walk(ast.parse(path.read_text("utf-8")))
        if isinstance(call, ast.Call) and ast.unparse(call.func) == "pytest.mark.needs"
    }
    assert asked - listed == set()
