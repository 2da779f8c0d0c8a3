"""Streams that others describe: read, told in words, mistakes with their row."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from lineproof.cli.main import main

#: RFC 8866 and RFC 7273, put together by hand.
GOOD = """\
v=0
o=- 3910 2 IN IP4 192.0.2.10
s=choir
t=0 0
m=audio 5004 RTP/AVP 98
c=IN IP4 239.10.20.30/32
a=rtpmap:98 L24/48000/6
a=ptime:1
a=ts-refclk:ptp=IEEE1588-2008:00-00-5E-FF-FE-00-00-10:0
a=mediaclk:direct=0
"""


def test_a_stream_is_told_in_words(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file = tmp_path / "choir.sdp"
    file.write_text(GOOD.replace("\n", "\r\n"), newline="")
    assert main(["stream", str(file)]) == 0
    out = capsys.readouterr().out
    assert "choir, from 192.0.2.10, session 3910, version 2" in out
    assert "239.10.20.30:5004: L24, 48 kHz, 6 channels, 1 ms packets" in out


def test_a_mistake_is_told_with_its_row(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file = tmp_path / "choir.sdp"
    file.write_text(GOOD.replace("239.10.20.30/32", "239.10.20.30"))
    assert main(["stream", str(file), "--json"]) == 1
    told = json.loads(capsys.readouterr().out)
    assert told["streams"][0]["legs"] == []
    assert any(f["grade"] == "stop" for f in told["findings"])


def test_what_is_no_file_is_said_so(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["stream", str(tmp_path / "none.sdp")]) == 2
    assert "can't be read" in capsys.readouterr().err
