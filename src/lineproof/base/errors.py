"""What ends a command, apart from its work done: each with its exit code and a plain sentence."""

from __future__ import annotations

from lineproof.base.finding import Finding


class LineproofError(Exception):
    """A command can't go on; the message is for an engineer under pressure."""

    exit_code = 2


class CannotRead(LineproofError):
    """The show, or a plan beside it, can't be read; `findings` say where and why."""

    def __init__(self, message: str, findings: tuple[Finding, ...] = ()) -> None:
        super().__init__(message)
        self.findings = findings


class CannotPlan(LineproofError):
    """No plan exists; `findings` hold each clash as a chain of the user's own rows."""

    def __init__(self, message: str, findings: tuple[Finding, ...] = ()) -> None:
        super().__init__(message)
        self.findings = findings


class Refused(LineproofError):
    """Lineproof refuses to change something (a lock, an issued plan, a name in use)."""

    exit_code = 3


class WrongCommand(LineproofError):
    """The command itself is wrong: an unknown option, a missing folder."""

    exit_code = 4
