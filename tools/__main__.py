"""Run one of the project's commands: `python3 -m tools test`; `make test` does the same."""

from __future__ import annotations

import sys

if sys.version_info < (3, 11):  # noqa: UP036 - said here, before a newer word is met
    sys.exit(
        "Lineproof needs Python 3.11 or newer; this is {}.{} ({}).".format(
            *sys.version_info[:2], sys.executable
        )
    )

from tools.commands import main

sys.exit(main(sys.argv[1:]))
