"""GET /health: whether the server answers and its store can be read. Says nothing else."""

from __future__ import annotations

from flask import Blueprint

from holdtrue.web.context import services
from holdtrue.web.security import anyone

blueprint = Blueprint("health", __name__)


@blueprint.get("/health")
@anyone
def health() -> tuple[str, int, dict[str, str]]:
    services().store.streams()
    return "ok\n", 200, {"Content-Type": "text/plain; charset=utf-8"}
