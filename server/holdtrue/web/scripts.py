"""The phone's script modules as one file: joined in the order they need each other, no comments.

The modules run as they are; this only spares a phone on a slow network one request for each of
them, and the comments. It knows the few forms our own modules keep to: named imports and exports
at the start of a line, no default, no ``export *``, no cycle; anything else is an error at start.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

_IMPORT = re.compile(r'^import ?(?:\{([^}]*)\} ?from ?)?"(\.[^"]+)";$', re.MULTILINE)
_EXPORT = re.compile(
    r"^export (?=(?:async function\*?|function\*?|class|const) (\w+))", re.MULTILINE
)
_LIST = re.compile(r"^export ?\{([^}]*)\};$", re.MULTILINE)
_TAKEN = re.compile(r"^const\{[^}]*\}=m(\d+);", re.MULTILINE)
_LEFT = re.compile(r"^(?:import|export)\b.*", re.MULTILINE)
_REGEX_AFTER = frozenset("(,=:[!&|?{};+-*%~^<>\n")
_WORDS_BEFORE_REGEX = ("return", "typeof", "case", "in", "of", "void", "delete")


LONGEST_WORD = 12
"""Signs before a slash that are looked at to tell a pattern from a division."""


class ScriptError(Exception):
    """A module that cannot be joined."""


def joined(entry: Path, later: Path | None = None, *, name: str = "") -> tuple[str, str]:
    """One module text with everything ``entry`` imports, each module once; and one for ``later``.

    ``later`` is what ``entry`` imports while it runs (``import("./later.js")``): its text holds
    only what the first has not, and takes the rest from it, by ``name``.
    """
    first = list(_in_order(entry.resolve(), done=set(), open_=()))
    number = {path: i for i, path in enumerate(first)}
    if later is None:
        return "".join(_wrapped(path, number) for path in first), ""
    rest = list(_in_order(later.resolve(), done=set(first), open_=()))
    number |= {path: len(first) + i for i, path in enumerate(rest)}
    texts = [_wrapped(path, number) for path in rest]
    needed = sorted(
        {int(n) for text in texts for n in _TAKEN.findall(text)} & set(range(len(first)))
    )
    shared = ",".join(f"m{n}" for n in needed)
    own = "".join(_wrapped(path, number) for path in first) + f"export{{{shared}}};\n"
    last = number[later.resolve()]
    exported = ",".join(_exports(bare(later.read_text("utf-8"))))
    more = "".join((f'import{{{shared}}}from"./{name}";\n', *texts))
    return own, f"{more}export const{{{exported}}}=m{last};\n"


def _in_order(path: Path, *, done: set[Path], open_: tuple[Path, ...]) -> Iterator[Path]:
    """Modules, each after all it imports."""
    if path in done:
        return
    if path in open_:
        raise ScriptError(f"{path.name} imports itself by way of {open_[-1].name}")
    for _, target in _IMPORT.findall(bare(path.read_text("utf-8"))):
        yield from _in_order((path.parent / target).resolve(), done=done, open_=(*open_, path))
    done.add(path)
    yield path


def _wrapped(path: Path, number: dict[Path, int]) -> str:
    """A module as a function that is called once; what it exports is its result.

    Its own imports stand at its head, one line each: ``const{what}=m7;``.
    """
    text = bare(path.read_text("utf-8"))
    names = _exports(text)
    text = _LIST.sub("", _EXPORT.sub("", text))

    def taken(found: re.Match[str]) -> str:
        at = number[(path.parent / found[2]).resolve()]
        wanted = " ".join((found[1] or "").split()).rstrip(",")
        return f"const{{{wanted.replace(' as ', ':')}}}=m{at};" if wanted else ""

    text = _IMPORT.sub(taken, text)
    left = _LEFT.search(text)
    if left:
        raise ScriptError(f"{path.name}: cannot join {left[0]!r}")
    return f"const m{number[path]}=(()=>{{\n{text.strip()}\nreturn{{{','.join(names)}}}}})();\n"


def _exports(text: str) -> list[str]:
    names = _EXPORT.findall(text)
    for listed in _LIST.findall(text):
        names += [name.strip() for name in listed.split(",") if name.strip()]
    return names


# -- without comments ------------------------------------------------------------------------------


def bare(source: str) -> str:
    """The same script without comments, indentation and empty lines.

    >>> bare('let a = 1; // one\\n\\n  /* two */ let b = "//";\\n')
    'let a=1;\\nlet b="//";\\n'
    """
    kept: list[str] = []
    code = ""
    for piece, is_code in _pieces(source):
        if is_code:
            code += piece
            continue
        kept += [_tidy(code), piece]
        code = ""
    return re.sub(r"\n{2,}", "\n", "".join(kept) + _tidy(code)).lstrip("\n")


_IDLE = re.compile(r" ?([=(),{};:?<>&|*]) ?")
"""Signs that need no space beside them; not + and -, which would run together with another."""


def _tidy(code: str) -> str:
    return _IDLE.sub(r"\1", re.sub(r"[ \t]*\n\s*", "\n", code))


def _pieces(source: str) -> Iterator[tuple[str, bool]]:
    """Texts (strings, templates, patterns) as they are, and the code between, comments left out."""
    at, before = 0, "\n"
    while at < len(source):
        end = _end_of_text(source, at, before)
        if source.startswith("//", at):
            at = _find(source, "\n", at)
        elif source.startswith("/*", at):
            at = _find(source, "*/", at) + 2
        elif end:
            yield source[at:end], False
            at, before = end, "x"
        else:
            yield source[at], True
            before = (
                (before + source[at])[-12:] if source[at].strip() or before[-1] != " " else before
            )
            at += 1


def _find(source: str, what: str, at: int) -> int:
    found = source.find(what, at)
    return len(source) if found < 0 else found


def _end_of_text(source: str, at: int, before: str) -> int:
    """Where the string, template or pattern that starts here ends; 0 when none starts here."""
    sign = source[at]
    if sign in "\"'`":
        return _closed(source, at + 1, sign)
    if sign != "/" or source[at + 1 : at + 2] in ("/", "*", ""):
        return 0
    last = before.rstrip(" ")
    is_regex = not last or last[-1] in _REGEX_AFTER or last.endswith(_WORDS_BEFORE_REGEX)
    return _closed(source, at + 1, "/") if is_regex else 0


def _closed(source: str, at: int, sign: str) -> int:
    in_class = False
    while at < len(source):
        char = source[at]
        if char == "\\":
            at += 1
        elif sign == "/" and char in "[]":
            in_class = char == "["
        elif sign == "`" and source.startswith("${", at):
            at = _closed_brace(source, at + 2)
            continue
        elif char == sign and not in_class:
            return at + 1
        at += 1
    raise ScriptError(f"a {sign} is never closed")


def _closed_brace(source: str, at: int) -> int:
    """Behind the brace that ends a template's expression."""
    while source[at] != "}":
        if source[at] in "\"'`":
            at = _closed(source, at + 1, source[at])
        elif source[at] == "{":
            at = _closed_brace(source, at + 1)
        else:
            at += 1
    return at + 1
