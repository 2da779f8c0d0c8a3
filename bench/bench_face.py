"""The face over an arena, as people serve it: first page, its weight, breaking a thing, memory."""

from __future__ import annotations

import gzip
import json
import os
import re
import signal
import subprocess
import tempfile
import threading
import time
from collections.abc import Iterable, Iterator
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass
from http.client import HTTPConnection
from pathlib import Path

from playwright.sync_api import Browser

from bench.browser import broken_ms, chromium, usable_s
from bench.measure import LONGEST_S, BenchError, Measure, run_whole
from bench.program import WORKED, lineproof

#: So many browsers of as many people look at one show.
CLIENTS = 10
#: From this stage on all is there but rescues, which take minutes in a process of their own.
WORKED_OUT = ("pairs", "rescue")
#: What each of them opens.
PAGES = ("/", "/lines", "/room", "/drill", "/nets", "/papers", "/revisions", "/room?cut=net:a")


def measure() -> Iterable[Measure]:
    """Give the first page of a server just started whose show was worked out before, and more.

    What a browser does is measured where there is one (`bench/browser.py`).
    """
    with tempfile.TemporaryDirectory() as name:
        show = Path(name) / "arena"
        run_whole((lineproof(), "new", "--size", "arena", "--seed", "1", show))
        run_whole((lineproof(), "plan", show, "--quiet"), good=WORKED)
        run_whole((lineproof(), "issue", show, "--by", "bench"), good=WORKED)
        environment = {**os.environ, "XDG_CACHE_HOME": str(Path(name) / "cache")}
        with served(show, environment) as server:
            until_worked(server.port)
        with served(show, environment) as server:
            port = server.port
            began = time.perf_counter()
            page = got(port, "/")
            first = time.perf_counter() - began
            yield Measure(name="face: first page of an arena", value=first, unit="s", goal=1.0)
            yield Measure(
                name="face: its weight", value=weight_kb(port, page), unit="kB", goal=150.0
            )
            until_worked(port)
            with clients(port):
                held, most = memory_mb(server.process)
                beside = sum(memory_mb(each)[0] for each in started_by(server.process))
            yield Measure(name="face: memory, 10 clients", value=held, unit="MB", goal=300.0)
            yield Measure(name="face: memory at its most", value=most, unit="MB")
            yield Measure(name="face: memory beside it, of rescues", value=beside, unit="MB")
        with chromium() as browser, served(show, environment) as server:
            usable = usable_s(browser, server.address)
            yield Measure(name="face: first page in a browser", value=usable, unit="s", goal=1.0)
            until_worked(server.port)
            yield from painted(browser, f"{server.address}room")


def painted(browser: Browser, address: str) -> Iterator[Measure]:
    """Give the medians from a click in the room to what is seen of it, over units."""
    soon, whole, more = broken_ms(browser, address)
    yield Measure(name="face: break a thing, seen", value=soon, unit="ms", goal=150.0)
    yield Measure(name="face: with gaps and reasons", value=whole, unit="ms")
    yield Measure(name="face: break one thing more", value=more, unit="ms")


@dataclass(frozen=True, kw_only=True)
class Server:
    """A server at work: where it answers, and its process."""

    address: str
    process: int

    @property
    def port(self) -> int:
        """Give the port it listens on."""
        return int(self.address.rstrip("/").rpartition(":")[2])


@contextmanager
def served(show: Path, environment: dict[str, str]) -> Iterator[Server]:
    """Give a server, from when it answers."""
    command = (lineproof(), "open", show, "--port", "0", "--no-browser", "--json")
    process = subprocess.Popen(command, stdout=subprocess.PIPE, text=True, env=environment)
    try:
        assert process.stdout is not None
        told = "".join(iter(process.stdout.readline, "}\n")) + "}"
        yield Server(address=json.loads(told)["address"], process=process.pid)
    finally:
        process.send_signal(signal.SIGTERM)
        process.communicate(timeout=LONGEST_S)


def got(port: int, path: str) -> bytes:
    """Give what the server answers, unpacked."""
    data, packed = asked(port, path)
    return gzip.decompress(data) if packed else data


def asked(port: int, path: str) -> tuple[bytes, bool]:
    """Give what comes over the wire, and whether it is packed."""
    connection = HTTPConnection("127.0.0.1", port, timeout=LONGEST_S)
    connection.request("GET", path, headers={"Accept-Encoding": "gzip"})
    answer = connection.getresponse()
    data = answer.read()
    connection.close()
    if answer.status != 200:
        raise BenchError(f"{path} was answered with {answer.status}")
    return data, answer.headers.get("Content-Encoding") == "gzip"


def until_worked(port: int) -> None:
    """Wait until all but the rescues is worked out, and the pages are kept."""
    connection = HTTPConnection("127.0.0.1", port, timeout=LONGEST_S)
    connection.request("GET", "/events")
    ends = time.monotonic() + LONGEST_S
    for row in connection.getresponse():
        if row.startswith(b"data: {") and json.loads(row[6:])["stage"] in WORKED_OUT:
            break
        if time.monotonic() > ends:
            raise BenchError("the arena was not worked out in time")
    connection.close()
    time.sleep(5)


def weight_kb(port: int, page: bytes) -> float:
    """Give what a first visit brings over the wire: the page and all that it asks for."""
    paths = {"/", *re.findall(r'(?:src|href)="(/static/[^"]+)"', page.decode())}
    paths |= {f"/static/{name}" for name in ("follow.js", "filter.js", "room.js", "rescue.js")}
    paths |= {f"/static/{name}" for name in ("regular.ttf", "bold.ttf")}
    return sum(len(asked(port, path)[0]) for path in paths) / 1000


@contextmanager
def clients(port: int) -> Iterator[None]:
    """Keep so many clients at the server, each with its stream; all open every page at once."""
    with ExitStack() as held:
        for _ in range(CLIENTS):
            connection = HTTPConnection("127.0.0.1", port, timeout=LONGEST_S)
            held.callback(connection.close)
            connection.request("GET", "/events")
            held.callback(connection.getresponse().close)
        looking = [threading.Thread(target=look_at_all, args=(port,)) for _ in range(CLIENTS)]
        for each in looking:
            each.start()
        for each in looking:
            each.join()
        yield


def look_at_all(port: int) -> None:
    """Open every page once."""
    for path in PAGES:
        asked(port, path)


def started_by(process: int) -> Iterator[int]:
    """Give the processes that a server has started and that are at work (proc(5))."""
    for told in Path(f"/proc/{process}/task").glob("*/children"):
        yield from map(int, told.read_text("utf-8").split())


def memory_mb(process: int) -> tuple[float, float]:
    """Give what the server holds in memory now, and the most it ever held (proc(5))."""
    status = Path(f"/proc/{process}/status").read_text("utf-8")
    found = [re.search(rf"{key}:\s+(\d+) kB", status) for key in ("VmRSS", "VmHWM")]
    now, most = (int(each[1]) / 1000 if each else 0.0 for each in found)
    if not now:
        raise BenchError("the kernel does not tell the server's memory")
    return now, most
