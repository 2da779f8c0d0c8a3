"""A picture is known by its first bytes; its size is what other programs say it is."""

from __future__ import annotations

from contextlib import suppress
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lineproof.show.picture import MOST_BYTES, NotDrawn, picture_of
from tests.picture.made import by_ffmpeg, chunk, held_so, png

#: As ffmpeg is asked to write them: what they are, and how.
WRITTEN = {
    "grey.png": ("image/png", "-frames:v", "1", "-pix_fmt", "gray"),
    "colour.png": ("image/png", "-frames:v", "1", "-pix_fmt", "rgba"),
    "camera.jpg": ("image/jpeg", "-frames:v", "1"),
    "plain.webp": ("image/webp", "-frames:v", "1", "-c:v", "libwebp", "-pix_fmt", "yuv420p"),
    "whole.webp": ("image/webp", "-frames:v", "1", "-c:v", "libwebp", "-lossless", "1"),
    "clear.webp": (
        *("image/webp", "-vf", "format=yuva420p,colorchannelmixer=aa=0.5"),
        *("-frames:v", "1", "-c:v", "libwebp"),
    ),
}


@pytest.mark.needs("ffmpeg", "ffmpeg")
@pytest.mark.parametrize("size", [(123, 77), (300, 1000), (1, 1)])
@pytest.mark.parametrize("name", WRITTEN)
def test_type_and_size_are_what_the_writer_was_asked_for(
    tmp_path: Path, name: str, size: tuple[int, int]
) -> None:
    media_type, *how = WRITTEN[name]
    data = by_ffmpeg(tmp_path, name, size, *how)
    picture = picture_of(data)
    assert (picture.media_type, picture.size) == (media_type, size)
    assert picture.data == data


@pytest.mark.needs("ffmpeg", "ffmpeg")
def test_the_three_ways_of_a_webp_are_all_tried(tmp_path: Path) -> None:
    names = [name for name in WRITTEN if name.endswith("webp")]
    begun = {by_ffmpeg(tmp_path, name, (60, 40), *WRITTEN[name][1:])[12:16] for name in names}
    assert begun == {b"VP8 ", b"VP8L", b"VP8X"}


@pytest.mark.needs("ffmpeg", "ffmpeg")
@pytest.mark.parametrize("order", ["<", ">"])
@pytest.mark.parametrize("orientation", range(1, 9))
def test_a_picture_taken_upright_is_high(tmp_path: Path, orientation: int, order: str) -> None:
    jpeg = by_ffmpeg(tmp_path, "held.jpg", (80, 60), "-frames:v", "1")
    size = picture_of(held_so(jpeg, orientation, order)).size
    # 5 to 8 are the quarter turns (CIPA DC-008, 4.6.4); a browser's word is asked in tests/web.
    assert size == ((60, 80) if orientation >= 5 else (80, 60))


@pytest.mark.needs("ffmpeg", "ffmpeg")
@pytest.mark.parametrize(
    ("name", "how"),
    [
        ("moving.png", ("-t", "1", "-f", "apng")),
        ("moving.webp", ("-t", "1", "-c:v", "libwebp_anim", "-loop", "0")),
    ],
)
def test_what_moves_is_not_drawn(tmp_path: Path, name: str, how: tuple[str, ...]) -> None:
    with pytest.raises(NotDrawn) as told:
        picture_of(by_ffmpeg(tmp_path, name, (64, 48), *how))
    assert told.value.what == "is a moving picture"


OTHERS = {
    b'<svg xmlns="http://www.w3.org/2000/svg"/>': "an SVG drawing",
    b"\xef\xbb\xbf\n <?xml version='1.0'?><!-- --><svg onload='x()'/>": "an SVG drawing",
    b"<!doctype html><script>x()</script>": "a text of marks, such as SVG or HTML",
    b"%PDF-1.7\n": "a PDF",
    b"GIF89a\1\0\1\0": "a GIF",
    b"RIFF\0\0\0\0WAVEfmt ": "something else",
    b"BM\0\0": "something else",
    b"\x1f\x8b\x08\0": "something else",
    b"": "empty",
}


@pytest.mark.parametrize("data", OTHERS)
def test_anything_else_is_told_by_what_it_is(data: bytes) -> None:
    with pytest.raises(NotDrawn) as told:
        picture_of(data)
    assert told.value.what == f"is {OTHERS[data]}, no PNG, JPEG or WebP, whatever its name says"


def test_a_picture_is_refused_that_would_fill_a_browsers_memory() -> None:
    # Few bytes, many pixels: only the first chunk says so.
    head = b"\0\1\0\0" + b"\0\1\0\0" + b"\x08\0\0\0\0"
    with pytest.raises(NotDrawn) as told:
        picture_of(b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head))
    assert told.value.what == "has 65,536 × 65,536 pixels; at most 24 million are drawn"


def test_a_file_is_refused_that_takes_long_to_fetch() -> None:
    with pytest.raises(NotDrawn) as told:
        picture_of(png(4, 4) + b"\0" * MOST_BYTES)
    assert told.value.what == "is larger than 8 MB"


@pytest.mark.needs("ffmpeg", "ffmpeg")
@pytest.mark.parametrize("name", WRITTEN)
def test_a_file_cut_off_anywhere_is_a_picture_of_its_size_or_refused(
    tmp_path: Path, name: str
) -> None:
    data = by_ffmpeg(tmp_path, name, (50, 40), *WRITTEN[name][1:])
    sizes = set()
    for length in range(1, min(len(data), 1_500)):
        with suppress(NotDrawn):
            sizes.add(picture_of(data[:length]).size)
    assert sizes <= {(50, 40)}


BEGINNINGS = (b"", b"\x89PNG\r\n\x1a\n", b"\xff\xd8\xff", b"\xff\xd8\xff\xe1\0\x20Exif\0\0MM\0*")


@given(
    begins=st.sampled_from([*BEGINNINGS, *(b"RIFF\0\0\0\0WEBP" + k for k in (b"VP8X", b"VP8L"))]),
    data=st.binary(max_size=200),
)
def test_any_bytes_are_a_picture_or_refused(begins: bytes, data: bytes) -> None:
    try:
        wide, high = picture_of(begins + data).size
    except NotDrawn:
        return
    assert wide >= 1
    assert high >= 1
