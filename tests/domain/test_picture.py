"""Photos lose what the camera wrote about them, and nothing else; read back with Pillow."""

from __future__ import annotations

import zlib
from contextlib import suppress
from io import BytesIO
from struct import pack
from typing import Any

import pytest
from PIL import Image, ImageOps

from holdtrue.domain.errors import InputError
from holdtrue.domain.picture import MOST_PIXELS, read_picture

KINDS = ("jpeg", "png", "webp")
SECRET = b"Place-of-the-lender"
GPS, ORIENTATION, MAKE = 0x8825, 0x0112, 0x010F


def drawn(kind: str, *, turned: int = 0, **more: Any) -> bytes:
    """A small picture whose corners differ; with everything a camera writes, when it is turned."""
    image = Image.new("RGB", (24, 16), (200, 30, 30))
    image.paste((20, 20, 220), (0, 0, 8, 8))
    if turned:
        exif = Image.Exif()
        exif[ORIENTATION] = turned
        exif[MAKE] = SECRET.decode()
        exif.get_ifd(GPS).update({1: "N", 2: (47.0, 22.0, 0.0), 29: SECRET.decode()})
        more = {"exif": exif, **more}
    written = BytesIO()
    image.save(written, kind, **more)
    return written.getvalue()


def opened(data: bytes) -> Image.Image:
    image = Image.open(BytesIO(data))
    image.load()
    return image


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("turned", range(1, 9))
def test_place_and_camera_go_and_the_turn_stays(kind: str, turned: int) -> None:
    data = drawn(kind, turned=turned)
    assert SECRET in data

    picture = read_picture(data)

    assert picture.kind == f"image/{kind}"
    assert SECRET not in picture.data
    exif = opened(picture.data).getexif()
    assert exif.get(ORIENTATION, 1) == turned
    assert set(exif) <= {ORIENTATION}
    assert not exif.get_ifd(GPS)
    before, after = (ImageOps.exif_transpose(opened(one)) for one in (data, picture.data))
    assert before.tobytes() == after.tobytes()


@pytest.mark.parametrize("kind", KINDS)
def test_what_was_cleaned_is_left_as_it_is(kind: str) -> None:
    once = read_picture(drawn(kind, turned=6)).data
    assert read_picture(once).data == once


@pytest.mark.parametrize("kind", KINDS)
def test_packets_and_what_hangs_behind_the_picture_go_too(kind: str) -> None:
    packet = b"<x:xmpmeta>" + SECRET + b"</x:xmpmeta>"
    options: dict[str, Any] = {"jpeg": {"comment": SECRET}, "png": {}, "webp": {}}[kind]
    data = drawn(kind, xmp=packet, **options) if kind != "png" else with_text(drawn(kind))
    data += SECRET
    assert data.count(SECRET) >= 2

    kept = read_picture(data).data

    assert SECRET not in kept
    assert opened(kept).tobytes() == opened(data).tobytes()


def with_text(png: bytes) -> bytes:
    text = b"tEXtComment\0" + SECRET
    chunk = pack(">I", len(text) - 4) + text + pack(">I", zlib.crc32(text))
    return png[:33] + chunk + png[33:]


@pytest.mark.parametrize("kind", KINDS)
def test_colours_stay_as_they_were_meant(kind: str) -> None:
    data = drawn(kind, icc_profile=b"a profile of colours", turned=3)
    assert opened(read_picture(data).data).info["icc_profile"] == b"a profile of colours"


def test_a_picture_sent_line_by_line_stays_whole() -> None:
    data = drawn("jpeg", progressive=True, turned=8)
    assert opened(read_picture(data).data).tobytes() == opened(data).tobytes()


@pytest.mark.parametrize("kind", KINDS)
def test_a_picture_cut_before_its_size_is_refused_at_every_length(kind: str) -> None:
    """And one cut later is never a fault of ours."""
    data = drawn(kind, turned=6)
    for cut in range(12, len(data)):
        with suppress(InputError):
            assert read_picture(data[:cut]).data
    with pytest.raises(InputError, match="damaged: how large it is cannot be read"):
        read_picture(data[:20])


@pytest.mark.parametrize("kind", KINDS)
def test_one_changed_byte_is_never_a_fault_of_ours(kind: str) -> None:
    data = drawn(kind, turned=6)
    for at in range(12, len(data)):
        for value in (0, 0xFF, data[at] ^ 1):
            changed = data[:at] + bytes([value]) + data[at + 1 :]
            with suppress(InputError):
                assert read_picture(changed).data


@pytest.mark.parametrize(("width", "is_kept"), [(MOST_PIXELS // 5000, True), (10_001, False)])
@pytest.mark.parametrize("kind", KINDS)
def test_a_picture_no_phone_can_hold_is_refused(kind: str, width: int, is_kept: bool) -> None:
    """Fifty million pixels are kept, one column more is not."""
    data = sized(kind, width, 5000)
    if is_kept:
        assert read_picture(data).kind == f"image/{kind}"
        return
    with pytest.raises(InputError, match="at most 50 million are kept"):
        read_picture(data)


def sized(kind: str, width: int, height: int) -> bytes:
    """A picture that says it is so large."""
    data = drawn(kind)
    if kind == "png":
        return data[:16] + pack(">II", width, height) + data[24:]
    if kind == "webp":
        at = data.index(b"\x9d\x01\x2a") + 3
        return data[:at] + pack("<HH", width, height) + data[at + 4 :]
    at = data.index(b"\xff\xc0") + 5
    return data[:at] + pack(">HH", height, width) + data[at + 4 :]


@pytest.mark.parametrize(
    "data", [b"", b"GIF89a", b"\xff\xd8\xff", b"RIFF\0\0\0\0WEBP", b"\x89PNG\r\n\x1a\n"]
)
def test_what_is_no_picture_is_refused(data: bytes) -> None:
    with pytest.raises(InputError, match="take it again with the camera"):
        read_picture(data)


def test_a_lossless_picture_says_its_size_too() -> None:
    data = drawn("webp", lossless=True)
    assert b"VP8L" in data
    assert opened(read_picture(data).data).tobytes() == opened(data).tobytes()
