"""The face over an arena, as people serve it: first page, its weight, breaking a thing."""

from __future__ import annotations

import gzip
import json
import os
import re
import signal
import statistics
import subprocess
import tempfile
import time
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from http.client import HTTPConnection
from pathlib import Path

from bench.measure import LONGEST_S, BenchError, Measure, run_whole
from bench.program import WORKED, lineproof

#: Broken one after the other, each for the first time: nothing of them can be known beforehand.
TIMES = 15


def measure() -> Iterable[Measure]:
    """Give the first page of a server just started whose show was worked out before, and more."""
    with tempfile.TemporaryDirectory() as name:
        show = Path(name) / "arena"
        run_whole((lineproof(), "new", "--size", "arena", "--seed", "1", show))
        run_whole((lineproof(), "plan", show, "--quiet"), good=WORKED)
        run_whole((lineproof(), "issue", show, "--by", "bench"), good=WORKED)
        environment = {**os.environ, "XDG_CACHE_HOME": str(Path(name) / "cache")}
        with served(show, environment) as (port, _):
            until_worked(port)
        with served(show, environment) as (port, process):
            began = time.perf_counter()
            page = got(port, "/")
            first = time.perf_counter() - began
            yield Measure(name="face: first page of an arena", value=first, unit="s", goal=1.0)
            yield Measure(
                name="face: its weight", value=weight_kb(port, page), unit="kB", goal=150.0
            )
            until_worked(port)
            yield Measure(name="face: break a thing", value=broken_ms(port), unit="ms", goal=150.0)
            yield Measure(name="face: memory", value=memory_mb(process), unit="MB", goal=300.0)


@contextmanager
def served(show: Path, environment: dict[str, str]) -> Iterator[tuple[int, int]]:
    """Give the port of a server and its process, from when it answers."""
    command = (lineproof(), "open", show, "--port", "0", "--no-browser", "--json")
    process = subprocess.Popen(command, stdout=subprocess.PIPE, text=True, env=environment)
    try:
        assert process.stdout is not None
        told = "".join(iter(process.stdout.readline, "}\n")) + "}"
        yield int(json.loads(told)["address"].rstrip("/").rpartition(":")[2]), process.pid
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
    """Wait until all is worked out, and the pages are kept."""
    ends = time.monotonic() + LONGEST_S
    while json.loads(got(port, "/api/ready"))["head"]["to_come"]:
        if time.monotonic() > ends:
            raise BenchError("the arena was not worked out in time")
        time.sleep(0.5)
    time.sleep(5)


def weight_kb(port: int, page: bytes) -> float:
    """Give what a first visit brings over the wire: the page and all that it asks for."""
    paths = {"/", *re.findall(r'(?:src|href)="(/static/[^"]+)"', page.decode())}
    paths |= {f"/static/{name}" for name in ("follow.js", "filter.js", "room.js")}
    paths |= {f"/static/{name}" for name in ("regular.ttf", "bold.ttf")}
    return sum(len(asked(port, path)[0]) for path in paths) / 1000


def broken_ms(port: int) -> float:
    """Give the median over units of asking what breaking one does, before its gaps and reasons.

    A browser's painting is not in it.
    """
    names = json.loads(got(port, "/api/room"))["names"]
    step = max(1, len(names) // TIMES)
    taken = []
    for name in names[::step][:TIMES]:
        began = time.perf_counter()
        got(port, f"/room/broken?cut={name}&soon=1")
        taken.append(time.perf_counter() - began)
    return statistics.median(taken) * 1000


def memory_mb(process: int) -> float:
    """Give what the server holds in memory (proc(5))."""
    status = Path(f"/proc/{process}/status").read_text("utf-8")
    found = re.search(r"VmRSS:\s+(\d+) kB", status)
    if found is None:
        raise BenchError("the kernel does not tell the server's memory")
    return int(found[1]) / 1000
