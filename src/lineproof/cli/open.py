"""`lineproof open`: the show in a browser on this computer, to look at and to break."""

from __future__ import annotations

import argparse
import importlib
import sys
import webbrowser

from lineproof.base.errors import WrongCommand
from lineproof.cli.folder import add_draft, add_show, folder_of
from lineproof.cli.tell import Tell

MOST = 65_535


def arguments(parser: argparse.ArgumentParser) -> None:
    """Add this command's arguments."""
    add_show(parser)
    add_draft(parser)
    parser.add_argument("--port", type=int, metavar="N", help="the port to listen on")
    parser.add_argument("--no-browser", action="store_true", help="don't open the browser")


def run(args: argparse.Namespace, tell: Tell) -> int:
    """Serve the folder until interrupted."""
    folder = folder_of(args)
    if args.port is not None and not 0 <= args.port <= MOST:
        raise WrongCommand(f"--port {args.port}: a port is a number up to {MOST}")

    def ready(address: str) -> None:
        tell.line(f"{folder} is open at {address}")
        tell.aside("only this computer can see it; press Ctrl+C to close it")
        tell.answer("open", {"address": address, "folder": str(folder)})
        sys.stdout.flush()
        if not args.no_browser:
            webbrowser.open(address)

    # The faces don't know each other, and this one takes a second to load: it is found by name.
    web = importlib.import_module("lineproof.web.serve")
    web.serve(folder, port=args.port, draft=args.draft, ready=ready)
    return 0
