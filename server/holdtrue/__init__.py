"""holdtrue: plan, log and recompute the hanging of heavy wall works of several panels."""

from __future__ import annotations

import os
from typing import TYPE_CHECKING

# A job's matrices are small: the linear algebra's own threads only wait for each other and for
# whatever else the machine does (folding a log of 120 seats: 3 s with one, 47 s with two beside a
# busy process). Read once, when numpy is loaded; who set it keeps theirs.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

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
