"""Cautions, one line each, shown where they matter."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

CAUTIONS: Mapping[str, tuple[str, ...]] = MappingProxyType(
    {
        "cautions": (
            "Hidden cables and pipes: check before drilling; stop when in doubt.",
            "Never lift from a ladder: platform, or two ladders and a third person steadying.",
            "Nobody below a panel until it is secured.",
            "Nobody works within 2 m of drilling near uncovered work.",
            "Old paint and plaster may hold lead or asbestos: ask first.",
            "Glass: tape it, wear gloves, carry it upright. Dust: mask and glasses.",
            "Over doors and stairs, seismic or public places: fixings as local codes ask.",
            "Local codes, the hardware maker's figures and a licensed professional prevail.",
        ),
        "loads": (
            "This tool computes; it does not certify.",
            "Local codes, the hardware maker's figures and a licensed professional prevail.",
        ),
        "lifting": (
            "Never lift from a ladder. Platform, or two ladders and a third person steadying.",
            "Nobody below until the panel is secured.",
        ),
        "old_walls": ("Old paint and plaster may hold lead or asbestos: ask the venue first.",),
        "services": (
            "Cables run up, down and sideways from every outlet and switch. In doubt: stop.",
        ),
        "not_references": ("Ceilings, cornices, skirtings and door frames are never references.",),
        "marking": (
            "Laser or low-tack tape on a finished wall; pencil only where a panel covers it.",
        ),
        "drilling": (
            "Eyes and dust: glasses, mask. Cable or pipe suspected: stop.",
            "Nobody and no uncovered work within 2 m.",
        ),
        "lift_now": (
            "Never from a ladder. Nobody below. One person calls the lift.",
            "Glass: taped, upright, gloves on.",
        ),
        "public": ("Public or seismic places: as local codes and the venue ask.",),
    }
)
