"""Codes and tokens a person may have to type: Crockford base32 and its reading back.

Crockford's alphabet leaves out I, L, O and U. Reading forgives what people mistype: lower case,
O for 0, I or L for 1, blanks and hyphens. Only a token's digest is ever stored.
"""

from __future__ import annotations

import hashlib

ALPHABET = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"
CODE_LENGTH = 8
"""Installer codes, job and person ids: 40 bits, short enough to type with gloves."""
TOKEN_LENGTH = 26
"""Lead links and cards: 130 bits, never typed if it can be helped."""

_FORGIVEN = str.maketrans({"O": "0", "I": "1", "L": "1", " ": None, "-": None, "\u00a0": None})


def encode(data: bytes, length: int) -> str:
    """The first ``length`` base32 digits of ``data``; it must hold at least 5 bits for each.

    >>> encode(bytes(5), 8)
    '00000000'
    """
    bits = len(data) * 8
    if bits < length * 5:
        raise ValueError(f"{length} digits need {length * 5} bits, there are {bits}")
    number = int.from_bytes(data, "big") >> (bits - length * 5)
    return "".join(ALPHABET[number >> (5 * place) & 31] for place in reversed(range(length)))


def normalise(text: str, length: int) -> str | None:
    """``text`` as it was issued, or None when it cannot be one of ours.

    >>> normalise("abcd-o1il", 8)
    'ABCD0111'
    """
    if len(text) > 4 * length:
        return None
    read = text.upper().translate(_FORGIVEN)
    is_ours = len(read) == length and all(letter in ALPHABET for letter in read)
    return read if is_ours else None


def digest(token: str) -> str:
    """What is stored in place of a token or code: the SHA-256 of its issued form, in hex."""
    return hashlib.sha256(token.encode("ascii")).hexdigest()
