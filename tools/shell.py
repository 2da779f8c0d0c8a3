"""Running other programs, and saying plainly what came of it."""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Mapping
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent


class Trouble(Exception):
    """Something outside is not as it must be; the message says what, and what to do."""


def say(text: str) -> None:
    """Write to the person at the desk, in order with what the programs we run write."""
    print(text, file=sys.stderr, flush=True)


def run(*command: str | Path, more: Mapping[str, str] | None = None) -> int:
    """Give the exit code of a command run in the project's folder, its words passed through.

    `more` goes into its environment. Raises Trouble when there is no such program.
    """
    sys.stdout.flush()
    environment = {**os.environ, **(more or {})}
    try:
        return subprocess.run(command, cwd=ROOT, env=environment, check=False).returncode
    except FileNotFoundError as error:
        raise Trouble(f"there is no program {command[0]}") from error


def hear(*command: str | Path, more: Mapping[str, str] | None = None) -> tuple[int, str]:
    """Give the exit code of a command and all it said, which nobody has seen yet."""
    try:
        done = subprocess.run(
            command,
            cwd=ROOT,
            env={**os.environ, **(more or {})},
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            stdin=subprocess.DEVNULL,
            text=True,
            encoding="utf-8",
            errors="replace",
            check=False,
        )
    except FileNotFoundError as error:
        raise Trouble(f"there is no program {command[0]}") from error
    return done.returncode, done.stdout
