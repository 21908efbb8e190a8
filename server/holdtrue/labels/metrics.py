"""How wide text can become, on the wide side: printing shops and phones bring their own fonts.

The shares are those of the bold cut of the widest common sans serif, so a label laid out with them
has room to spare in any other.
"""

from __future__ import annotations

_NARROW = frozenset("iljtfI.,:;'|!()[]/- ")
_WIDE = frozenset("mwMW@%×")


def text_width_mm(text: str, size_mm: float) -> float:
    """An upper bound of the width of one line."""
    return sum(_share(char) for char in text) * size_mm


def _share(char: str) -> float:
    if char in _NARROW:
        return 0.5
    if char in _WIDE or ord(char) >= 0x2E80:
        return 1.12
    if char.isupper() or ord(char) > 0x7F:
        return 0.86
    return 0.74


def fitting(text: str, room_mm: float, largest_mm: float, least_mm: float) -> tuple[str, float]:
    """The text and the size at which it fits: first smaller, then cut with an ellipsis."""
    width = text_width_mm(text, 1.0)
    if width <= 0:
        return "", largest_mm
    size = min(largest_mm, room_mm / width)
    if size >= least_mm:
        return text, size
    left_mm = room_mm - text_width_mm("…", least_mm)
    kept = 0
    for char in text:
        left_mm -= _share(char) * least_mm
        if left_mm < 0:
            break
        kept += 1
    return text[:kept].rstrip() + "…", least_mm


def wrapped(text: str, room_mm: float, size_mm: float, most_lines: int) -> list[str]:
    """Lines of whole words; what does not fit the last line is cut with an ellipsis."""
    lines = [""]
    for word in text.split():
        longer = f"{lines[-1]} {word}".strip()
        if text_width_mm(longer, size_mm) <= room_mm or not lines[-1]:
            lines[-1] = longer
        else:
            lines.append(word)
    kept = lines[:most_lines]
    if len(lines) > most_lines:
        kept[-1] = " ".join(lines[most_lines - 1 :])
    return [fitting(line, room_mm, size_mm, size_mm)[0] for line in kept if line]
