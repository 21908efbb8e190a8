"""Codes and tokens as they are issued, typed and stored."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from holdtrue.domain.tokens import ALPHABET, CODE_LENGTH, digest, encode, normalise


@given(st.binary(min_size=5, max_size=32))
def test_an_issued_code_reads_back_as_itself(data: bytes) -> None:
    code = encode(data, CODE_LENGTH)

    assert len(code) == CODE_LENGTH
    assert normalise(code, CODE_LENGTH) == code


@given(st.binary(min_size=5, max_size=5), st.integers(0, 255))
def test_a_code_keeps_all_its_forty_bits(data: bytes, other: int) -> None:
    changed = bytes([other]) + data[1:]

    assert (encode(data, 8) == encode(changed, 8)) == (data == changed)


@given(st.text(alphabet=ALPHABET, min_size=8, max_size=8))
def test_what_people_mistype_is_forgiven(code: str) -> None:
    typed = code.lower().replace("0", "o").replace("1", "l")

    assert normalise(f" {typed[:4]}-{typed[4:]} ", 8) == code


@pytest.mark.parametrize(
    "text", ["", "1234567", "123456789", "ABCDEFGU", "ABCDEFG!", "²2345678", "0" * 99]
)
def test_what_cannot_be_a_code_is_none(text: str) -> None:
    assert normalise(text, 8) is None


@given(st.text())
def test_any_text_is_read_or_refused(text: str) -> None:
    read = normalise(text, 8)

    assert read is None or (len(read) == 8 and set(read) <= set(ALPHABET))


def test_too_few_bits_are_a_fault_of_the_caller() -> None:
    with pytest.raises(ValueError, match="40 bits"):
        encode(b"1234", 8)


def test_the_digest_is_sha256() -> None:
    assert digest("ABC") == "b5d4045c3f466fa91fe2cc6abe79232a1a57cdf104f7a26e716e0a1e2789df78"
