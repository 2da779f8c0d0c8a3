"""What all tests share: programs they need, what was left out, the seed, how hypothesis draws."""

from __future__ import annotations

import os
import shutil
from collections import defaultdict
from pathlib import Path

import hypothesis
import pytest

ROOT = Path(__file__).resolve().parent.parent

#: Set in CI: a test left out fails the run.
LEAVE_NOTHING_OUT = "LINEPROOF_LEAVE_NOTHING_OUT"
SEED = "LINEPROOF_SEED"

# No deadline: a test must not fail because the machine is busy. The same examples every time: a
# run that fails must fail again. `make soak` draws others.
hypothesis.settings.register_profile("test", deadline=None, derandomize=True, database=None)
hypothesis.settings.register_profile("soak", deadline=None, max_examples=2_000, print_blob=True)
hypothesis.settings.load_profile(os.environ.get("HYPOTHESIS_PROFILE", "test"))


@pytest.fixture(scope="session")
def root() -> Path:
    """Give the project's folder."""
    return ROOT


@pytest.fixture(scope="session")
def seed() -> int:
    """Give the seed of this run: another each time in `make soak`, the same otherwise."""
    return int(os.environ.get(SEED, "1"))


class LeftOut:
    """Counts the tests that were not run, by reason, and tells them at the end."""

    def __init__(self) -> None:
        self.skipped: dict[str, int] = defaultdict(int)
        self.soak = 0

    def pytest_runtest_setup(self, item: pytest.Item) -> None:
        """Skip a test marked `needs` whose program is not on this machine."""
        for mark in item.iter_markers("needs"):
            tool, package = needed(mark)
            if shutil.which(tool) is None:
                pytest.skip(f"{tool} ({package})")

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        """Note a test that skipped itself, or was skipped; an expected failure was run."""
        if report.skipped and not hasattr(report, "wasxfail"):
            self.note(report)

    def pytest_collectreport(self, report: pytest.CollectReport) -> None:
        """Note a whole file that skipped itself."""
        if report.skipped:
            self.note(report)

    def note(self, report: pytest.TestReport | pytest.CollectReport) -> None:
        """Count one under its reason."""
        reason = report.longrepr
        text = str(reason[2]) if isinstance(reason, tuple) else str(reason)
        self.skipped[text.removeprefix("Skipped: ")] += 1

    @pytest.hookimpl(optionalhook=True)
    def pytest_testnodedown(self, node: object) -> None:
        """Take over what one of several processes left to `make soak`; each sees the same tests."""
        told = getattr(node, "workeroutput", {})
        self.soak = max(self.soak, int(told.get("soak", 0)))

    def pytest_deselected(self, items: list[pytest.Item]) -> None:
        """Note the long tests that plain runs leave to `make soak`."""
        self.soak += sum(item.get_closest_marker("soak") is not None for item in items)

    @pytest.hookimpl(tryfirst=True)
    def pytest_sessionfinish(self, session: pytest.Session) -> None:
        """Fail the run when it was to leave nothing out and did."""
        told = getattr(session.config, "workeroutput", None)
        if told is not None:
            told["soak"] = self.soak
        if self.skipped and nothing_may_be_left_out() and session.exitstatus == pytest.ExitCode.OK:
            session.exitstatus = pytest.ExitCode.TESTS_FAILED

    def pytest_terminal_summary(self, terminalreporter: pytest.TerminalReporter) -> None:
        """Tell what was left out and why, just above pytest's closing line."""
        write = terminalreporter.write_line
        for reason, count in sorted(self.skipped.items()):
            write(f"left out: {in_words(count)}: {reason}")
        if self.skipped and nothing_may_be_left_out():
            write(f"nothing may be left out here ({LEAVE_NOTHING_OUT} is set): failed", red=True)
        if self.soak:
            write(f"not in this run: {in_words(self.soak)} of `make soak`")


def needed(mark: pytest.Mark) -> tuple[str, str]:
    """Give the program and the Debian package of `needs("pdftotext", "poppler-utils")`."""
    tool, package = mark.args
    return str(tool), str(package)


def nothing_may_be_left_out() -> bool:
    """Say whether this run must leave nothing out."""
    return os.environ.get(LEAVE_NOTHING_OUT, "") not in {"", "0"}


def in_words(count: int) -> str:
    """Give the count in words."""
    return "1 test" if count == 1 else f"{count} tests"


def pytest_configure(config: pytest.Config) -> None:
    """Count what is left out, for the whole run."""
    config.pluginmanager.register(LeftOut(), "left-out")


def pytest_report_header() -> str | None:
    """Say the seed where one is set."""
    return f"seed: {SEED}={os.environ[SEED]}" if SEED in os.environ else None
