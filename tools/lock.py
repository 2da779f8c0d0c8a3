"""The lock files: exact versions and hashes of everything, good on every platform."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping, Sequence
from pathlib import Path
from types import MappingProxyType

from tools import venv
from tools.shell import ROOT, Trouble, hear, say

#: What each file is settled from. The later ones hold to what run.txt says.
FILES: Mapping[str, tuple[str, ...]] = MappingProxyType(
    {
        "requirements/run.txt": ("pyproject.toml",),
        "requirements/build.txt": ("--group", "build", "-c", "requirements/run.txt"),
        "requirements/develop.txt": (
            *("pyproject.toml", "--group", "develop"),
            *("-c", "requirements/run.txt", "-c", "requirements/build.txt"),
        ),
    }
)

HEAD = """\
# Made by `make lock` from pyproject.toml: exact versions, hashes for every platform.
"""

#: The machine's own settings name the index; nothing of them may be written down.
MANNERS = (
    "--no-config",
    "--system-certs",
    "--universal",
    "--python-version=3.11",
    "--generate-hashes",
    "--no-header",
    "--quiet",
)


def lock(arguments: Sequence[str]) -> int:
    """Settle the lock files anew; versions stay where they can, unless `--upgrade` is given."""
    uv = _uv()
    for file, sources in FILES.items():
        say(f"settling {file}")
        _settle(uv, file, (*sources, *arguments))
    return 0


def _settle(uv: Path, file: str, sources: Sequence[str]) -> None:
    path = ROOT / file
    path.parent.mkdir(exist_ok=True)
    # uv keeps the versions that stand in its output file.
    code, words = hear(uv, "pip", "compile", *MANNERS, "-o", file, *sources)
    if code != 0:
        raise Trouble(f"{words.rstrip()}\n{file} can't be settled; the rows above say why")
    path.write_text(HEAD + path.read_text("utf-8"), "utf-8")


def _uv() -> Path:
    """Give the program that settles versions, installed alone where there is no lock file yet."""
    uv = venv.VENV.program("uv")
    if not uv.is_file():
        venv.made()
        venv.pip("install", _wanted_uv())
    return uv


def _wanted_uv() -> str:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))
    group = project["dependency-groups"]["develop"]
    return next(str(each) for each in group if str(each).startswith("uv>"))
