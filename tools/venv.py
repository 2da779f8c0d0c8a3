"""The project's own Python in .venv: made once, and again when a lock file has changed."""

from __future__ import annotations

import hashlib
import os
import shutil
import sys
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from types import MappingProxyType

from tools.shell import ROOT, Trouble, hear, run, say

FOLDER = ROOT / ".venv"

#: What each level of .venv is installed from; a later level can do all that an earlier one can.
LEVELS: Mapping[str, tuple[str, ...]] = MappingProxyType(
    {
        "run": ("requirements/run.txt", "requirements/build.txt"),
        "develop": ("requirements/develop.txt",),
    }
)

NO_VENV = """\
This Python can't make a virtual environment. On Debian and its kin:
    apt install python3 python3-venv make git"""

NO_PACKAGES = """\
pip could not install the project's packages; the rows above are its own words. Most often there
is no way to the package index from here, or a proxy is not set. Then run the same command again."""

NO_LINEPROOF = """\
Its packages are there, but Lineproof itself could not be installed; the rows above say why.
Most often pyproject.toml or a file that it names is wrong."""


@dataclass(frozen=True, kw_only=True)
class Venv:
    """A .venv that is ready for use."""

    folder: Path

    @property
    def programs(self) -> Path:
        """Give the folder of its programs."""
        return self.folder / ("Scripts" if os.name == "nt" else "bin")

    def program(self, name: str) -> Path:
        """Give the path of one of its programs, there or not."""
        return self.programs / (f"{name}.exe" if os.name == "nt" else name)

    def python(self, *arguments: str | Path, more: Mapping[str, str] | None = None) -> int:
        """Give the exit code of its Python run with these arguments."""
        return run(self.program("python"), *arguments, more=more)


VENV = Venv(folder=FOLDER)
_STAMP = FOLDER / "lineproof-stamp.txt"


def ready(level: str) -> Venv:
    """Give a .venv in which everything of `level` is installed as the lock files say.

    Nothing is done when its stamp says so already. Raises Trouble when it can't be made.
    """
    levels = list(LEVELS)
    enough = {_stamp(each) for each in levels[levels.index(level) :]}
    if _stamped() in enough:
        return VENV
    made()
    _STAMP.unlink(missing_ok=True)
    _install(level)
    _STAMP.write_text(_stamp(level), "utf-8")
    return VENV


def made() -> None:
    """Make .venv unless there is one that can be added to: one that was moved can't."""
    stamp = _stamped()
    moved = stamp and not stamp.startswith(f"{_place()}\n")
    if moved or _version_inside() != sys.version_info[:2]:
        _make()


def _stamped() -> str:
    return _STAMP.read_text("utf-8") if _STAMP.is_file() else ""


def _stamp(level: str) -> str:
    """Say what a .venv of this level was made from: where, by which Python, of what."""
    digest = hashlib.sha256()
    for file in LEVELS[level]:
        path = ROOT / file
        if not path.is_file():
            raise Trouble(f"{file} is missing; `python3 -m tools lock` makes it")
        digest.update(path.read_bytes())
    # Of pyproject.toml only the names of our own programs are installed.
    project = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]
    digest.update(repr(sorted(project["scripts"].items())).encode())
    return f"{_place()}\n{level} {digest.hexdigest()}\n"


def _place() -> str:
    return f"{ROOT} Python {sys.version_info.major}.{sys.version_info.minor}"


def _version_inside() -> tuple[int, ...]:
    """Give the version of .venv's Python, or () if it can't run pip."""
    if not VENV.program("python").exists():
        return ()
    probe = "import pip, sys; print(*sys.version_info[:2])"
    code, words = hear(VENV.program("python"), "-c", probe)
    return tuple(int(part) for part in words.split()) if code == 0 else ()


def _make() -> None:
    say("making .venv")
    code, words = hear(sys.executable, "-m", "venv", "--clear", FOLDER)
    if code == 0:
        return
    # Half a .venv would be taken for a whole one next time.
    shutil.rmtree(FOLDER, ignore_errors=True)
    if "ensurepip" in words or "No module named venv" in words:
        raise Trouble(NO_VENV)
    raise Trouble(f"{words.rstrip()}\n.venv can't be made; the rows above say why")


def _install(level: str) -> None:
    files = LEVELS[level]
    say(f"installing what {' and '.join(files)} name; the first time takes a minute or two")
    lists = [part for file in files for part in ("-r", file)]
    pip("install", "--require-hashes", *lists)
    pip("install", "--no-deps", "--no-build-isolation", "--editable", ".", trouble=NO_LINEPROOF)


def pip(*arguments: str, trouble: str = NO_PACKAGES) -> None:
    """Let .venv's pip do something, silently unless it fails; then raise the trouble told."""
    manners = ("--disable-pip-version-check", "--no-input", "-qq")
    if VENV.python("-m", "pip", *manners, *arguments) != 0:
        raise Trouble(trouble)
