"""Whether words that stand for somebody's yes say whose it is."""

from __future__ import annotations

from holdtrue.domain.errors import InputError

NAME_REMEDY = "type the name of who says yes, and their role, e.g. Mara, maker"
NAMELESS = frozenset(
    (
        *("a", "an", "the", "yes", "no", "not", "ok", "okay", "fine", "good", "he", "she", "they"),
        *("it", "agree", "agreed", "agrees", "say", "says", "said", "maker", "artist", "curator"),
        *("lead", "owner", "venue"),
    )
)
"""What is typed where a name belongs and names nobody; ``app/reading.js`` has the same."""


def is_named(text: str) -> bool:
    """Whether a word of it may be a name.

    >>> is_named("Mara, maker"), is_named("the maker: yes"), is_named("ok"), is_named("李")
    (True, False, False, True)
    """
    words = "".join(c if c.isalpha() else " " for c in text.lower()).split()
    # one letter alone is no name, but where letters have no case one may be
    return any((len(w) > 1 or w == w.upper()) and w not in NAMELESS for w in words)


def require_name(path: str, text: str) -> str:
    """The text as it is; InputError where it names nobody."""
    if not is_named(text):
        raise InputError(path, text or None, NAME_REMEDY)
    return text
