"""holdtrue: plan, log and recompute the hanging of heavy wall works of several panels."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from flask import Flask

    from holdtrue.service.services import Services

__all__ = ["create_app"]


def create_app(services: Services) -> Flask:
    """The web application over ``services`` (see ``bootstrap``).

    Flask is imported only here, so that ``holdtrue plan`` and the core work without it.
    """
    from holdtrue.web.app import create_app as create

    return create(services)
