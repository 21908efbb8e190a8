"""How long a sign-in lasts, by the server's clock, which may be put back."""

from __future__ import annotations

import time

import pytest

from holdtrue.web.app import SESSION_DAYS
from tests.web.conftest import Visitor

DAY = 24 * 3600


@pytest.mark.parametrize(
    ("seconds", "is_kept"),
    [
        (-1, True),
        (-400 * DAY, True),
        (0, True),
        ((SESSION_DAYS - 1) * DAY, True),
        ((SESSION_DAYS + 1) * DAY, False),
    ],
)
def test_a_sign_in_outlasts_a_clock_put_back_and_ends_in_time(
    lead: Visitor, monkeypatch: pytest.MonkeyPatch, seconds: int, is_kept: bool
) -> None:
    real = time.time
    monkeypatch.setattr("itsdangerous.timed.time.time", lambda: real() + seconds)

    assert lead.get("/people").status_code == (200 if is_kept else 303)


def test_a_cookie_of_another_hand_signs_nobody_in_whatever_the_clock_says(
    lead: Visitor, stranger: Visitor, monkeypatch: pytest.MonkeyPatch
) -> None:
    cookie = lead.client.get_cookie("holdtrue")
    assert cookie is not None
    stranger.client.set_cookie("holdtrue", cookie.value[:-4] + "AAAA")
    real = time.time
    monkeypatch.setattr("itsdangerous.timed.time.time", lambda: real() - 5)

    assert stranger.get("/people").status_code == 303
