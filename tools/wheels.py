"""Can everybody install it? Wheels of what we need on every platform, and a pure one of ours."""

from __future__ import annotations

import tempfile
import zipfile
from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path

from tools import venv
from tools.shell import ROOT, hear

#: The oldest system of each kind that we promise; names as uv has them.
PLATFORMS = (
    "x86_64-pc-windows-msvc",
    "aarch64-apple-darwin",
    "x86_64-apple-darwin",
    "x86_64-manylinux_2_28",
    "aarch64-manylinux_2_28",
)
OLDEST_MACOS = "11.0"
PYTHONS = ("3.11", "3.12", "3.13")

#: Endings of what a processor runs: none may be in our own wheel.
NATIVE = (".so", ".pyd", ".dll", ".dylib", ".a", ".o")


@dataclass(frozen=True, kw_only=True)
class Answer:
    """What was tried, and what is wrong with it; nothing wrong is an empty text."""

    tried: str
    wrong: str


def wheels(arguments: Sequence[str]) -> int:
    """Say for every platform and Python whether wheels suffice; 1 unless they all do."""
    del arguments
    uv = venv.ready("develop").program("uv")
    pairs = [(platform, python) for platform in PLATFORMS for python in PYTHONS]
    # Two at a time: the work is waiting for the index, and one cache serves all.
    with ThreadPoolExecutor(max_workers=2) as pool:
        answers = list(pool.map(lambda pair: _dependencies(uv, *pair), pairs))
    answers.append(_own_wheel())
    for answer in answers:
        print(f"{'no ' if answer.wrong else 'yes'}  {answer.tried}")
        if answer.wrong:
            print(f"     {answer.wrong}")
    bad = sum(bool(answer.wrong) for answer in answers)
    print(f"wheels: {len(answers) - bad} of {len(answers)} are there")
    return 1 if bad else 0


def _dependencies(uv: Path, platform: str, python: str) -> Answer:
    """Settle requirements/run.txt as if on another machine; nothing is built or installed."""
    with tempfile.TemporaryDirectory() as folder:
        code, words = hear(
            *(uv, "pip", "install", "--no-config", "--system-certs", "--dry-run"),
            *("--target", folder, "--python-platform", platform, "--python-version", python),
            *("--only-binary", ":all:", "--require-hashes", "-r", "requirements/run.txt"),
            more={"MACOSX_DEPLOYMENT_TARGET": OLDEST_MACOS},
        )
    tried = f"Python {python} on {platform}"
    return Answer(tried=tried, wrong="" if code == 0 else " ".join(words.split()))


def _own_wheel() -> Answer:
    """Build our wheel and look into it: for any Python 3 and any machine, with all its data."""
    tried = "Lineproof's own wheel"
    with tempfile.TemporaryDirectory() as folder:
        code, words = hear(
            *(venv.VENV.program("python"), "-m", "pip", "wheel", "-q", "--no-deps"),
            *("--no-build-isolation", "--wheel-dir", folder, str(ROOT)),
        )
        made = list(Path(folder).glob("*.whl"))
        if code != 0 or len(made) != 1:
            return Answer(tried=tried, wrong=f"it can't be built: {' '.join(words.split())}")
        return Answer(tried=tried, wrong=wrong_with_wheel(made[0], ROOT / "src"))


def wrong_with_wheel(wheel: Path, source: Path) -> str:
    """Say what keeps a wheel from being pure and whole against its source, or give ""."""
    if not wheel.name.endswith("-py3-none-any.whl"):
        return f"{wheel.name} is not for every Python and machine"
    inside = set(zipfile.ZipFile(wheel).namelist())
    native = sorted(name for name in inside if name.endswith(NATIVE))
    if native:
        return f"it holds {', '.join(native)}"
    missing = sorted(_files_under(source) - inside)
    return f"it lacks {', '.join(missing)}" if missing else ""


def _files_under(source: Path) -> set[str]:
    return {
        path.relative_to(source).as_posix()
        for path in source.rglob("*")
        if path.is_file() and "__pycache__" not in path.parts and path.suffix != ".pyc"
    }
