"""Sign-ins kept in a signed cookie, also when the server's clock was put back."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

from flask import Flask
from flask.sessions import SecureCookieSessionInterface
from itsdangerous import SignatureExpired, TimestampSigner, URLSafeTimedSerializer


class _Signer(TimestampSigner):
    """What was signed later than now is new: a clock put back by a second signs nobody out."""

    def unsign(
        self, signed_value: Any, max_age: int | None = None, *more: Any, **named: Any
    ) -> Any:
        try:
            return super().unsign(signed_value, max_age, *more, **named)
        except SignatureExpired as error:
            now = datetime.fromtimestamp(self.get_timestamp(), tz=UTC)
            if error.date_signed is None or error.date_signed <= now:
                raise
            return super().unsign(signed_value, None, *more, **named)


class Sessions(SecureCookieSessionInterface):
    def get_signing_serializer(self, app: Flask) -> URLSafeTimedSerializer | None:
        made = super().get_signing_serializer(app)
        if made is not None:
            made.signer = _Signer
        return made
