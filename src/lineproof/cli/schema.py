"""`lineproof schema`: the show file's JSON Schema, for editors that help while one writes."""

from __future__ import annotations

import argparse
import json

from lineproof.cli.tell import Tell
from lineproof.show.schema import show_schema


def arguments(parser: argparse.ArgumentParser) -> None:
    """Add this command's arguments: it has none of its own."""
    del parser


def run(args: argparse.Namespace, tell: Tell) -> int:
    """Print the schema; as an answer in JSON it stands under `schema`."""
    del args
    schema = show_schema()
    tell.line(json.dumps(schema, ensure_ascii=False, indent=1))
    tell.answer("schema", {"schema": schema})
    return 0
