"""The commands by name, and how each ends: with its exit code, never with a traceback."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from tools import demo, lock, test, venv, wheels
from tools.shell import Trouble, say


@dataclass(frozen=True, kw_only=True)
class Command:
    """One command: what it is for, and what does it; the arguments given after it go in."""

    name: str
    purpose: str
    do: Callable[[Sequence[str]], int]


def _bench(arguments: Sequence[str]) -> int:
    return venv.ready("develop").python("-m", "bench", *arguments)


def _docs(arguments: Sequence[str]) -> int:
    return venv.ready("develop").python("-m", "tools.pages", *arguments)


COMMANDS = (
    Command(name="demo", purpose="plan and print the small show, into out/", do=demo.demo),
    Command(name="test", purpose="format, lint, types and tests, or pytest alone", do=test.test),
    Command(name="lint", purpose="format, lint and types alone; --fix mends", do=test.lint),
    Command(name="bench", purpose="measure, into bench/latest.json", do=_bench),
    Command(name="soak", purpose="the long tests, with another seed each time", do=test.soak),
    Command(name="docs", purpose="make the pages of docs/reference; --check compares", do=_docs),
    Command(name="lock", purpose="settle exact versions and hashes; --upgrade", do=lock.lock),
    Command(name="wheels", purpose="is there a wheel of everything, everywhere?", do=wheels.wheels),
)


def usage() -> str:
    """Give the list of commands."""
    rows = "\n".join(f"  {c.name:<8} {c.purpose}" for c in COMMANDS)
    return f"python3 -m tools COMMAND [ARGUMENTS]\n\n{rows}"


def main(arguments: Sequence[str]) -> int:
    """Run the command named first; give its exit code, 2 when there is none of that name."""
    name = arguments[0] if arguments else ""
    command = next((c for c in COMMANDS if c.name == name), None)
    if command is None:
        print(usage())
        return 0 if name in {"-h", "--help", "help"} else 2
    try:
        return command.do(arguments[1:])
    except Trouble as trouble:
        say(str(trouble))
        return 1
    except KeyboardInterrupt:
        return 130
