"""Photos as they are kept: a picture of readable size, without what else the camera wrote in it.

Where and when a photo was taken, by which device and for whom, stands in its EXIF, XMP and other
blocks. Only what is needed to show the picture is carried over, and of EXIF the orientation.
Pixels are never touched. JPEG: ITU-T T.81, Annex B; PNG: W3C, third edition, section 11; WebP:
RFC 9649; EXIF: CIPA DC-008, 4.6.
"""

from __future__ import annotations

import struct
import zlib
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from struct import pack, unpack_from

from holdtrue.domain.errors import InputError

MOST_PIXELS = 50_000_000
"""Our choice: what a phone's camera gives, and a phone that looks at it can still hold."""

_PNG = b"\x89PNG\r\n\x1a\n"
_PNG_KEPT = frozenset(
    (b"tRNS", b"gAMA", b"cHRM", b"sRGB", b"iCCP", b"cICP", b"sBIT", b"bKGD", b"pHYs")
)
_WEBP_KEPT = frozenset((b"VP8X", b"VP8 ", b"VP8L", b"ALPH", b"ANIM", b"ANMF", b"ICCP"))
_WEBP_HAS_EXIF, _WEBP_HAS_XMP = 0x08, 0x04
_EXIF = b"Exif\0\0"
_ORIENTATION = 0x0112
_RESTARTS = range(0xD0, 0xD8)
_SIZES = frozenset(range(0xC0, 0xD0)) - {0xC4, 0xC8, 0xCC}
"""Markers of JPEG frames, which hold the picture's size."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Picture:
    data: bytes
    kind: str
    """Its media type."""


def read_picture(data: bytes) -> Picture:
    """The photo without its metadata; InputError when it is none, or too large to show."""
    for is_one, kind, cleaned in _KINDS:
        if is_one(data):
            try:
                kept, width, height = cleaned(data)
            except (struct.error, IndexError, ValueError) as error:
                raise _refused("is damaged: how large it is cannot be read") from error
            if not width or not height:
                raise _refused("is damaged: how large it is cannot be read")
            if width * height > MOST_PIXELS:
                raise _refused(
                    f"has {width} x {height} pixels, and at most {MOST_PIXELS // 10**6} million "
                    "are kept; set the camera to a smaller size"
                )
            return Picture(data=kept, kind=kind)
    raise _refused("is not a JPEG, PNG or WebP picture")


def _refused(why: str) -> InputError:
    return InputError("photo", None, f"{why}; take it again with the camera")


# -- JPEG ------------------------------------------------------------------------------------------


def _jpeg(data: bytes) -> tuple[bytes, int, int]:
    kept: list[bytes] = []
    width = height = 0
    turned = 1
    for marker, whole, content in _jpeg_segments(data):
        if marker in _SIZES:
            height, width = unpack_from(">HH", content, 1)
        if marker == 0xE1 and content.startswith(_EXIF):
            turned = _orientation(content[len(_EXIF) :]) or turned
        if _is_shown(marker, content):
            kept.append(whole)
    about = _EXIF + _oriented(turned)
    exif = pack(">BBH", 0xFF, 0xE1, len(about) + 2) + about if turned > 1 else b""
    return b"\xff\xd8" + exif + b"".join(kept), width, height


def _is_shown(marker: int, content: bytes) -> bool:
    """All but application blocks and comments; of those, what says how colours are meant."""
    if marker == 0xE2:
        return content.startswith(b"ICC_PROFILE\0")
    return marker in (0xE0, 0xEE) or not (0xE0 <= marker <= 0xEF or marker == 0xFE)


def _jpeg_segments(data: bytes) -> Iterator[tuple[int, bytes, bytes]]:
    """Marker, bytes and content of every segment; scans with their data; nothing behind the end."""
    at, has_scan = 2, False
    while at < len(data) or not has_scan:
        if data[at] != 0xFF:
            raise ValueError(f"no marker at byte {at}")
        while data[at + 1] == 0xFF:
            at += 1
        marker = data[at + 1]
        if marker == 0xD9:
            yield marker, b"\xff\xd9", b""
            return
        (length,) = unpack_from(">H", data, at + 2)
        end = at + 2 + length
        if length < 2 or end > len(data):
            raise ValueError(f"a block at byte {at} ends nowhere")
        content = data[at + 4 : end]
        if marker == 0xDA:
            has_scan, end = True, _scan_end(data, end)
        yield marker, data[at:end], content
        at = end


def _scan_end(data: bytes, at: int) -> int:
    """Where the next marker after a scan's data stands."""
    while (at := data.find(b"\xff", at)) >= 0 and at + 1 < len(data):
        if data[at + 1] not in (0, 0xFF, *_RESTARTS):
            return at
        at += 1 if data[at + 1] == 0xFF else 2
    return len(data)


# -- PNG -------------------------------------------------------------------------------------------


def _png(data: bytes) -> tuple[bytes, int, int]:
    width, height = unpack_from(">II", data, 16)
    kept: list[bytes] = []
    at, turned, kind = len(_PNG), 1, b""
    while kind != b"IEND":
        length, kind = unpack_from(">I4s", data, at)
        end = at + 12 + length
        if end > len(data) or (at == len(_PNG) and kind != b"IHDR"):
            raise ValueError(f"a chunk at byte {at} is not what it says")
        if kind == b"eXIf":
            turned = _orientation(data[at + 8 : end - 4]) or turned
        elif kind in _PNG_KEPT or kind[:1].isupper():
            kept.append(data[at:end])
        at = end
    if turned > 1:
        kept.insert(1, _png_chunk(b"eXIf", _oriented(turned)))
    return _PNG + b"".join(kept), width, height


def _png_chunk(kind: bytes, content: bytes) -> bytes:
    return pack(">I", len(content)) + kind + content + pack(">I", zlib.crc32(kind + content))


# -- WebP ------------------------------------------------------------------------------------------


def _webp(data: bytes) -> tuple[bytes, int, int]:
    (length,) = unpack_from("<I", data, 4)
    end, at, turned = min(len(data), 8 + length), 12, 1
    width = height = 0
    kept: list[tuple[bytes, bytes]] = []
    while at < end:
        kind, size = unpack_from("<4sI", data, at)
        content = data[at + 8 : at + 8 + size]
        if len(content) < size:
            raise ValueError(f"a chunk at byte {at} ends nowhere")
        if kind == b"EXIF":
            turned = _orientation(content.removeprefix(_EXIF)) or turned
        elif kind in _WEBP_KEPT:
            kept.append((kind, content))
            if not width:
                width, height = _webp_size(kind, content)
        at += 8 + size + size % 2
    return _webp_of(kept, turned), width, height


def _webp_size(kind: bytes, content: bytes) -> tuple[int, int]:
    if kind == b"VP8X":
        width, height = (int.from_bytes(content[i : i + 3], "little") + 1 for i in (4, 7))
        return width, height
    if kind == b"VP8 " and content[3:6] == b"\x9d\x01\x2a":
        width, height = unpack_from("<HH", content, 6)
        return width & 0x3FFF, height & 0x3FFF
    if kind == b"VP8L" and content[:1] == b"\x2f":
        (bits,) = unpack_from("<I", content, 1)
        return (bits & 0x3FFF) + 1, (bits >> 14 & 0x3FFF) + 1
    return 0, 0


def _webp_of(kept: list[tuple[bytes, bytes]], turned: int) -> bytes:
    """Only an extended file, which begins with VP8X, may say how it is turned."""
    if kept and kept[0][0] == b"VP8X":
        flags = kept[0][1][0] & ~(_WEBP_HAS_EXIF | _WEBP_HAS_XMP)
        flags |= _WEBP_HAS_EXIF if turned > 1 else 0
        kept[0] = (b"VP8X", bytes([flags]) + kept[0][1][1:])
        if turned > 1:
            kept.append((b"EXIF", _oriented(turned)))
    body = b"".join(
        kind + pack("<I", len(content)) + content + b"\0" * (len(content) % 2)
        for kind, content in kept
    )
    return b"RIFF" + pack("<I", len(body) + 4) + b"WEBP" + body


# -- EXIF ------------------------------------------------------------------------------------------


def _orientation(tiff: bytes) -> int:
    """How the picture is to be turned, 1 to 8; 0 when that cannot be read."""
    order = {b"II": "<", b"MM": ">"}.get(tiff[:2])
    if order is None:
        return 0
    try:
        (at,) = unpack_from(f"{order}I", tiff, 4)
        (count,) = unpack_from(f"{order}H", tiff, at)
        for i in range(count):
            tag, _kind, _many, value = unpack_from(f"{order}HHIH", tiff, at + 2 + 12 * i)
            if tag == _ORIENTATION:
                return value if 1 <= value <= 8 else 0
    except struct.error:
        return 0
    return 0


def _oriented(turned: int) -> bytes:
    """The shortest EXIF that says so."""
    return b"MM\0*" + pack(">IHHHIHHI", 8, 1, _ORIENTATION, 3, 1, turned, 0, 0)


_KINDS: tuple[tuple[Callable[[bytes], bool], str, Callable[[bytes], tuple[bytes, int, int]]], ...]
_KINDS = (
    (lambda data: data.startswith(b"\xff\xd8\xff"), "image/jpeg", _jpeg),
    (lambda data: data.startswith(_PNG), "image/png", _png),
    (lambda data: data[:4] == b"RIFF" and data[8:12] == b"WEBP", "image/webp", _webp),
)
