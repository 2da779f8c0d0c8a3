"""`lineproof open` as people run it: it answers, follows the folder, and stops when told."""

from __future__ import annotations

import http.client
import json
import signal
import socket
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

#: Far more than anything takes here; only a server that hangs is meant.
LONGEST_S = 60


@contextmanager
def opened(folder: Path, *more: str) -> Iterator[tuple[subprocess.Popen[str], int]]:
    """Give the process that serves a folder, and its port."""
    command = [sys.executable, "-m", "lineproof", "open", str(folder), "--no-browser", "--json"]
    process = subprocess.Popen(
        [*command, *more], stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True
    )
    try:
        assert process.stdout is not None
        told = ""
        while not told.rstrip().endswith("}"):
            row = process.stdout.readline()
            assert row, process.stderr.read() if process.stderr else ""
            told += row
        address = json.loads(told)["address"]
        yield process, int(address.rstrip("/").rpartition(":")[2])
    finally:
        process.kill()
        process.communicate()


def get(port: int, path: str) -> tuple[int, str]:
    connection = http.client.HTTPConnection("127.0.0.1", port, timeout=LONGEST_S)
    connection.request("GET", path)
    answer = connection.getresponse()
    text = answer.read().decode()
    connection.close()
    return answer.status, text


@contextmanager
def events(port: int, since: str = "") -> Iterator[Iterator[dict[str, str]]]:
    """Give the events of the stream as they come."""
    connection = http.client.HTTPConnection("127.0.0.1", port, timeout=LONGEST_S)
    connection.request("GET", f"/events?since={since}")
    answer = connection.getresponse()
    assert answer.headers["Content-Type"].startswith("text/event-stream")
    assert answer.headers.get("Content-Encoding") is None
    try:
        yield parsed(answer)
    finally:
        answer.close()
        connection.close()


def parsed(answer: http.client.HTTPResponse) -> Iterator[dict[str, str]]:
    """Read rows `key: value`; an empty row ends an event (HTML standard, 9.2)."""
    event: dict[str, str] = {}
    while True:
        row = answer.readline().decode().rstrip("\n")
        if row:
            key, _, value = row.partition(": ")
            event[key] = value
        elif event:
            yield event
            event = {}


def worked(stream: Iterator[dict[str, str]], stage: str) -> dict[str, str]:
    """Give the next event that tells that everything was worked out so far."""
    for event in stream:
        if event.get("event") == "worked" and json.loads(event["data"])["stage"] == stage:
            return event
    raise AssertionError("the stream ended")


def test_a_page_is_told_when_the_folder_changes_and_then_shows_it(folder: Path) -> None:
    with opened(folder, "--port", "0") as (_, port), events(port) as stream:
        assert "Harbour Revue" in get(port, "/")[1]
        first = worked(stream, "pairs")
        show = folder / "show.yaml"
        show.write_text(show.read_text("utf-8").replace("Harbour Revue", "Quay Revue"), "utf-8")
        second = worked(stream, "pairs")
        assert second["id"] != first["id"]
        assert "Quay Revue" in get(port, "/lines")[1]
        # A page that has slept hears of it as soon as it asks again.
        with events(port, first["id"]) as later:
            assert worked(later, "pairs")["id"] == second["id"]


def test_a_slip_while_typing_ends_nothing(folder: Path) -> None:
    with opened(folder, "--port", "0") as (_, port), events(port) as stream:
        worked(stream, "pairs")
        show = folder / "show.yaml"
        good = show.read_text("utf-8")
        show.write_text(good + "units: [\n", "utf-8")
        assert next(e for e in stream if e.get("event") == "worked")
        status, text = get(port, "/")
        assert status == 200
        assert "can&#39;t be read" in text
        show.write_text(good, "utf-8")
        worked(stream, "pairs")
        assert "can&#39;t be read" not in get(port, "/")[1]


@pytest.mark.parametrize("stop", [signal.SIGINT, signal.SIGTERM])
def test_it_stops_when_told_though_a_page_is_open(folder: Path, stop: signal.Signals) -> None:
    with opened(folder, "--port", "0") as (process, port), events(port) as stream:
        worked(stream, "pairs")
        process.send_signal(stop)
        process.wait(LONGEST_S)
        assert process.returncode == (0 if stop is signal.SIGINT else -signal.SIGTERM)
        assert process.stderr is not None
        assert "Traceback" not in process.stderr.read()


def test_it_listens_on_this_computer_only(folder: Path) -> None:
    with opened(folder, "--port", "0") as (_, port):
        rows = Path("/proc/net/tcp").read_text().splitlines()[1:]
        rows6 = Path("/proc/net/tcp6").read_text().splitlines()[1:]
        # Local address as hexadecimal, least byte first; state 0A: listening (proc(5)).
        listening = [
            row.split()[1]
            for row in rows + rows6
            if row.split()[1].endswith(f":{port:04X}") and row.split()[3] == "0A"
        ]
        assert listening == [f"0100007F:{port:04X}"]


def test_a_port_that_is_taken_is_told(folder: Path) -> None:
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        port = taken.getsockname()[1]
        command = [sys.executable, "-m", "lineproof", "open", str(folder), "--port", str(port)]
        done = subprocess.run(command, capture_output=True, text=True, check=False)
    assert done.returncode == 4
    assert done.stderr == f"lineproof: port {port} is taken: choose another\n"


def test_what_is_no_port_or_no_show_is_told(folder: Path, tmp_path: Path) -> None:
    for words, what in (
        ([str(folder), "--port", "70000"], "--port 70000: a port is a number up to 65535"),
        ([str(tmp_path / "nothing")], "there is no folder"),
    ):
        command = [sys.executable, "-m", "lineproof", "open", *words]
        done = subprocess.run(command, capture_output=True, text=True, check=False)
        assert done.returncode == 4
        assert what in done.stderr
