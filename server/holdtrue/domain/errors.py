"""Errors a person can meet, each with the status the web answers and what to do about it."""

from __future__ import annotations

from collections.abc import Mapping


class AppError(Exception):
    """Base of every error shown to a person; ``status`` is the web's answer."""

    status = 500


class InputError(AppError, ValueError):
    """Something typed or sent is wrong and the person can mend it.

    ``path`` names the place (``panels[1].hangers[0].in``), ``value`` what stood there and
    ``remedy`` what to type instead.
    """

    status = 422

    def __init__(self, path: str, value: object, remedy: str) -> None:
        self.path = path
        self.value = value
        self.remedy = remedy
        shown = "" if value is None else f"{_shown(value)}: "
        super().__init__(f"{path}: {shown}{remedy}")


def _shown(value: object) -> str:
    """A value as a person recognises it; never all of what may be large or deep."""
    if isinstance(value, Mapping):
        return "{...}" if value else "{}"
    if isinstance(value, list | tuple):
        return "[...]" if value else "[]"
    if isinstance(value, int) and value.bit_length() > 128:
        return "a very large number"
    text = value if isinstance(value, str) else repr(value)
    if not text.strip():
        return f'"{text[:57]}"'
    short = text if len(text) <= 60 else text[:57] + "..."
    # what does not print could change what a terminal shows
    return short if short.isprintable() else ascii(short)


def shown_key(key: object) -> str:
    """A key that somebody misspelt, as it can stand in a path on any page."""
    text = str(key)[:80]
    return text if text and text.isprintable() else ascii(text)


class ConflictError(AppError):
    """What was asked does not fit what has happened meanwhile; nothing was changed."""

    status = 409


class NotFoundError(AppError):
    """There is no such thing, or it is not this person's to see."""

    status = 404


class UnreadableEntryError(AppError):
    """A stored entry that this version cannot take: written by another version, or damaged.

    Nothing is passed over: a log read in part would show a job that never was.
    """

    status = 501

    def __init__(self, seq: int, kind: str, why: str) -> None:
        self.seq = seq
        self.why = why[:200]
        super().__init__(
            f"Entry {seq} of this job's log ({kind[:40]}) cannot be read: {self.why}. Nothing was "
            "changed. It may be from another version of holdtrue: use that one, or bring the job "
            "back from a backup."
        )


class NotAllowedError(AppError):
    """The person is known but may not do this."""

    status = 403
