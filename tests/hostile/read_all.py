"""Reads shows within its means and prints, as a row of JSON each, how it went."""

from __future__ import annotations

import json
import re
import resource
import sys
import time
from pathlib import Path
from typing import Any

from lineproof.cli.tell import findings_data
from lineproof.show.read import read_show

#: Bytes this process may ask for, code and libraries included.
MOST = 500_000_000


def read(folder: Path) -> dict[str, Any]:
    """Read one show; gives seconds of work, the most memory so far, and what was found."""
    began = time.process_time()
    reading = read_show(folder)
    seconds = time.process_time() - began
    # Not getrusage: that counts what this process was before it began.
    (most,) = re.findall(r"VmHWM:\s+(\d+) kB", Path("/proc/self/status").read_text())
    return {
        "seconds": seconds,
        "mbyte": int(most) / 1000,
        "stops": reading.stops,
        "findings": findings_data(reading.findings),
    }


if __name__ == "__main__":
    resource.setrlimit(resource.RLIMIT_AS, (MOST, MOST))
    for name in sys.argv[1:]:
        print(json.dumps(read(Path(name)), ensure_ascii=False), flush=True)  # noqa: T201
