"""The command line's front door: finds the command, keeps its manners, gives its exit code.

Exit codes: 0 done, 1 a *stop* stands, 2 the show can't be read or planned, 3 refused to change,
4 wrong command, 130 interrupted.
"""

from __future__ import annotations

import argparse
import importlib
import os
import sys
import traceback
from pathlib import Path
from typing import NoReturn

from lineproof import __version__
from lineproof.base.collecting import seldom_collecting
from lineproof.base.errors import CannotPlan, CannotRead, LineproofError, WrongCommand
from lineproof.base.names import nearest
from lineproof.cli.tell import Tell, findings_data, tell_findings

#: Every command: its name, the module that does it, and what it does.
COMMANDS: tuple[tuple[str, str, str], ...] = (
    ("new", "new", "write a commented starter show into a new folder"),
    ("plan", "plan", "work out a draft plan, moving nothing that is already labelled"),
    ("issue", "issue", "make the draft a numbered revision"),
    ("diff", "diff", "say what differs between two plans"),
    ("check", "check", "look for everything wrong or risky"),
    ("drill", "drill", "break everything, one thing or two at a time, and say what falls silent"),
    ("papers", "papers", "print what a crew needs"),
    ("open", "open", "show it in the browser on this computer, to look at and to break"),
    ("rename", "rename", "rename a unit, place, act or line in show and plan together"),
    ("found", "found", "take what the crew has really plugged as a pin, or list it"),
    ("schema", "schema", "print the JSON Schema of show.yaml, for editors"),
    ("stream", "stream", "read streams that others describe (SDP files)"),
    ("kit", "kit", "list and explain the kinds of equipment"),
)

INTERRUPTED = 130


class _Parser(argparse.ArgumentParser):
    def error(self, message: str) -> NoReturn:
        raise WrongCommand(f"{message}\n{self.format_usage().strip()}")


def main(argv: list[str] | None = None) -> int:
    """Run a command; gives its exit code and never shows a traceback."""
    words = sys.argv[1:] if argv is None else argv
    try:
        with seldom_collecting():
            return _guarded(words)
    except OSError as error:
        return _told(CannotRead(f"{error.strerror or error}: {error.filename or ''}"), Tell())
    except Exception as error:  # noqa: BLE001 - the last guard: nobody at a show reads tracebacks
        return _our_bug(error)


def _guarded(words: list[str]) -> int:
    try:
        return _run(words)
    except SystemExit as end:
        return end.code if isinstance(end.code, int) else 0
    except LineproofError as error:
        return _told(error, Tell(as_json="--json" in words))
    except KeyboardInterrupt:
        print("interrupted; nothing half-done was left behind", file=sys.stderr)
        return INTERRUPTED
    except BrokenPipeError:
        # Whoever read our output has gone; there is nobody left to tell.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 0


def _run(words: list[str]) -> int:
    parser = _Parser(
        prog="lineproof",
        description="Plan, prove and break a networked sound system before the doors open.",
        epilog="exit codes: 0 done, 1 a stop stands, 2 can't read or plan, 3 refused, "
        "4 wrong command, 130 interrupted",
    )
    parser.add_argument("--version", action="version", version=f"lineproof {__version__}")
    subparsers = parser.add_subparsers(dest="command", metavar="command", parser_class=_Parser)
    asked = next((w for w in words if not w.startswith("-")), "")
    for name, module, about in COMMANDS:
        command = subparsers.add_parser(name, help=about, description=about.capitalize() + ".")
        if name == asked:
            # Only the command that is asked for is imported: the others may be heavy.
            found = importlib.import_module(f"lineproof.cli.{module}")
            found.arguments(command)
            command.add_argument("--json", action="store_true", help="answer as JSON")
            command.add_argument("--quiet", action="store_true", help="no progress")
            command.set_defaults(run=found.run)
    _refuse_unknown(asked)
    args = parser.parse_args(words)
    if not args.command:
        parser.print_help()
        return 0
    return int(args.run(args, Tell(as_json=args.json, quiet=args.quiet)))


def _refuse_unknown(asked: str) -> None:
    known = [name for name, _, _ in COMMANDS]
    if asked and asked not in known:
        near = nearest(asked, known)
        hint = f"; did you mean {near!r}?" if near else ""
        raise WrongCommand(f"there is no command {asked!r}{hint} (commands: {', '.join(known)})")


def _told(error: LineproofError, tell: Tell) -> int:
    findings = error.findings if isinstance(error, CannotRead | CannotPlan) else ()
    if findings and not tell.as_json:
        tell_findings(tell, findings)
    data = {"error": str(error), "findings": findings_data(findings)}
    tell.answer("error", data)
    print(f"lineproof: {error}", file=sys.stderr)
    return error.exit_code


def _our_bug(error: Exception) -> int:
    if os.environ.get("LINEPROOF_DEBUG"):
        traceback.print_exc()
    frame = traceback.extract_tb(error.__traceback__)[-1]
    place = f"{Path(frame.filename).name}:{frame.lineno}"
    print(
        f"lineproof: this is a mistake of ours ({type(error).__name__} at {place}: {error}). "
        "Your show and plans are untouched. Set LINEPROOF_DEBUG=1 to see more.",
        file=sys.stderr,
    )
    return LineproofError.exit_code
