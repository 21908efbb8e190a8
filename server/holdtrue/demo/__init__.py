"""The demo job: an invented work on an invented wall, complete enough to be released."""

from __future__ import annotations

import json
from importlib.resources import files
from typing import Any


def demo_document() -> dict[str, Any]:
    text = files(__name__).joinpath("tidewrack.job.json").read_text(encoding="utf-8")
    document: dict[str, Any] = json.loads(text)
    return document
