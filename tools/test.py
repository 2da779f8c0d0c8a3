"""Format, lint, types and tests: the same at home and in CI."""

from __future__ import annotations

import os
import random
from collections.abc import Sequence

from tools import venv
from tools.shell import say

#: Two processes, each taking the next file as it is done with one.
_SIDE_BY_SIDE = ("-n", "2", "--dist", "loadfile")
#: pytest's exit code when it found no test.
_NO_TESTS = 5


def test(arguments: Sequence[str]) -> int:
    """Run everything, tests last, on two processors; with arguments pytest alone, as given."""
    python = venv.ready("develop").python
    unclean = [] if arguments else _unclean()
    code = python("-m", "pytest", *(arguments or _SIDE_BY_SIDE))
    if unclean:
        say(f"not clean, as said before the tests: {', '.join(unclean)}")
    return code or int(bool(unclean))


def lint(arguments: Sequence[str]) -> int:
    """Run format, lint and types; `--fix` mends what can be mended first."""
    python = venv.ready("develop").python
    if "--fix" in arguments:
        python("-m", "ruff", "check", "--fix", "--quiet", ".")
        python("-m", "ruff", "format", "--quiet", ".")
    return int(bool(_unclean()))


def _unclean() -> list[str]:
    """Give the names of the looks at the text that found something; all of them are taken."""
    looks = (("ruff", "check", "."), ("ruff", "format", "--check", "."), ("mypy",))
    return [" ".join(look) for look in looks if venv.VENV.python("-m", *look) != 0]


def soak(arguments: Sequence[str]) -> int:
    """Run the long tests with LINEPROOF_SEED, or with a seed drawn now; it is said first."""
    python = venv.ready("develop").python
    seed = os.environ.get("LINEPROOF_SEED") or str(random.SystemRandom().randrange(2**32))
    say(f"LINEPROOF_SEED={seed} makes this run again")
    code = python(
        *("-m", "pytest", "-m", "soak", f"--hypothesis-seed={seed}", *arguments),
        more={"LINEPROOF_SEED": seed, "HYPOTHESIS_PROFILE": "soak"},
    )
    if code == _NO_TESTS:
        say("there are no soak tests here")
        return 0
    return code
