"""A test that is left out is told, and fails the run where nothing may be left out."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

TESTS = """\
import pytest

@pytest.mark.needs("no-such-program", "no-such-package")
def test_with_a_program(): ...

@pytest.mark.needs("no-such-program", "no-such-package")
def test_with_it_too(): ...

@pytest.mark.soak
def test_all_night(): ...

def test_the_rest(): ...

@pytest.mark.xfail(strict=True)
def test_known_to_fail(): assert False
"""


def run(folder: Path, root: Path, **more: str) -> subprocess.CompletedProcess[str]:
    """Run the tests above in a folder of their own, by the house's conftest and settings."""
    shutil.copy(root / "tests/conftest.py", folder)
    (folder / "test_it.py").write_text(TESTS, "utf-8")
    environment = {**os.environ, "LINEPROOF_LEAVE_NOTHING_OUT": "", "NO_COLOR": "1", **more}
    command = [sys.executable, "-m", "pytest", "-c", str(root / "pyproject.toml"), "--rootdir=."]
    return subprocess.run(
        [*command, "-p", "no:cacheprovider", "test_it.py"],
        cwd=folder,
        env=environment,
        capture_output=True,
        text=True,
        check=False,
    )


def test_what_is_left_out_is_told_just_above_the_closing_line(tmp_path: Path, root: Path) -> None:
    done = run(tmp_path, root)
    *_, left_out, soak, closing = done.stdout.splitlines()
    assert left_out == "left out: 2 tests: no-such-program (no-such-package)"
    assert soak == "not in this run: 1 test of `make soak`"
    assert "1 passed, 2 skipped, 1 deselected, 1 xfailed" in closing
    assert done.returncode == 0


def test_in_ci_a_test_left_out_fails_the_run(tmp_path: Path, root: Path) -> None:
    done = run(tmp_path, root, LINEPROOF_LEAVE_NOTHING_OUT="1")
    assert "nothing may be left out here" in done.stdout
    assert done.returncode == pytest.ExitCode.TESTS_FAILED


def test_where_the_program_is_there_the_test_is_run(tmp_path: Path, root: Path) -> None:
    program = tmp_path / "no-such-program"
    program.write_text("#!/bin/sh\n", "utf-8")
    program.chmod(0o755)
    path = f"{tmp_path}{os.pathsep}{os.environ['PATH']}"
    done = run(tmp_path, root, LINEPROOF_LEAVE_NOTHING_OUT="1", PATH=path)
    assert "3 passed, 1 deselected, 1 xfailed" in done.stdout.splitlines()[-1]
    assert done.returncode == 0
