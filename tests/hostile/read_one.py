"""Reads one show within its means and prints, as JSON, how it went: a process of its own."""

from __future__ import annotations

import json
import resource
import sys
import time
from pathlib import Path

from lineproof.cli.tell import findings_data
from lineproof.show.read import read_show

#: Bytes it may take, code and libraries included.
MOST = 500_000_000


def main(folder: str) -> None:
    resource.setrlimit(resource.RLIMIT_AS, (MOST, MOST))
    began = time.process_time()
    reading = read_show(Path(folder))
    seconds = time.process_time() - began
    most = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    data = findings_data(reading.findings[:1000])
    told = {"seconds": seconds, "mbyte": most, "stops": reading.stops, "findings": data, "count": len(reading.findings)}
    print(json.dumps(told, ensure_ascii=False))


if __name__ == "__main__":
    main(sys.argv[1])
