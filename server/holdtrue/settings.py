"""Settings: ``HOLDTRUE_*`` from the environment, overruled by what the command line says.

Odd values stop the start-up with the variable's name; so does an unknown ``HOLDTRUE_*``, because a
mistyped name would otherwise be a setting silently not made.
"""

from __future__ import annotations

import ipaddress
import re
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from urllib.parse import urlsplit

LOOPBACK = "127.0.0.1"
EVERYWHERE = "0.0.0.0"  # noqa: S104 - only when the person asks for it with --lan
SECRET_FILE = "secret.key"  # noqa: S105 - a file name

_TRUE = frozenset({"1", "true", "yes", "on"})
_FALSE = frozenset({"", "0", "false", "no", "off"})
_HOST_NAME = re.compile(r"[A-Za-z0-9]([A-Za-z0-9.-]{0,251}[A-Za-z0-9])?")


class SettingsError(ValueError):
    """A setting that cannot be used: which one, what it held, what to give."""

    def __init__(self, name: str, value: str, remedy: str) -> None:
        self.name = name
        super().__init__(f"{name}={value!r}: {remedy}")


@dataclass(frozen=True, slots=True, kw_only=True)
class Settings:
    data_dir: Path = Path("data")
    host: str = LOOPBACK
    port: int = 8000
    public_url: str | None = None
    """Where people reach the server when that is not its own address (a proxy with HTTPS)."""
    lan: bool = False

    @property
    def secret_file(self) -> Path:
        return self.data_dir / SECRET_FILE


def read_settings(environ: Mapping[str, str], asked: Mapping[str, str] | None = None) -> Settings:
    """Settings of ``environ``, overruled by ``asked`` (``{"--port": "9000"}``)."""
    given = _given(environ, asked or {})
    lan = _flag(*given["LAN"])
    return Settings(
        data_dir=_folder(*given["DATA"]),
        host=_host(*given["HOST"], lan=lan),
        port=_port(*given["PORT"]),
        public_url=_public_url(*given["PUBLIC_URL"]),
        lan=lan,
    )


OPTIONS = {
    "DATA": "--data",
    "HOST": "--host",
    "PORT": "--port",
    "PUBLIC_URL": "--public-url",
    "LAN": "--lan",
}
"""The option that overrules each variable, by the variable's name without ``HOLDTRUE_``."""


def _given(environ: Mapping[str, str], asked: Mapping[str, str]) -> dict[str, tuple[str, str]]:
    """Per setting the name it was given under and its text; "" where it was not given."""
    names = {f"HOLDTRUE_{short}": short for short in OPTIONS}
    for name, value in environ.items():
        if name.startswith("HOLDTRUE_") and name not in names:
            known = ", ".join(sorted(names))
            raise SettingsError(name, value, f"there is no such setting; there are {known}")
    given: dict[str, tuple[str, str]] = {}
    for short, option in OPTIONS.items():
        variable = f"HOLDTRUE_{short}"
        given[short] = (
            (option, asked[option]) if option in asked else (variable, environ.get(variable, ""))
        )
    return given


def _flag(name: str, text: str) -> bool:
    lowered = text.strip().lower()
    if lowered in _TRUE:
        return True
    if lowered in _FALSE:
        return False
    raise SettingsError(name, text, "give 1 or 0")


def _folder(name: str, text: str) -> Path:
    if "\0" in text:
        raise SettingsError(name, text, "give the folder the data is kept in")
    return Path(text).expanduser() if text.strip() else Settings().data_dir


def _host(name: str, text: str, *, lan: bool) -> str:
    host = text.strip()
    if not host:
        return EVERYWHERE if lan else LOOPBACK
    if lan and host != EVERYWHERE:
        raise SettingsError(name, text, "give either a host or --lan, not both")
    if not (_HOST_NAME.fullmatch(host) or _is_address(host)):
        raise SettingsError(name, text, "give an address such as 127.0.0.1 or a host name")
    return host


def _is_address(text: str) -> bool:
    try:
        ipaddress.ip_address(text)
    except ValueError:
        return False
    return True


def _port(name: str, text: str) -> int:
    """0 lets the system choose; the address printed at start says which."""
    if not text.strip():
        return Settings().port
    if not re.fullmatch(r"[0-9]{1,5}", text.strip()) or int(text) > 65535:
        raise SettingsError(name, text, "give a port from 0 to 65535")
    return int(text)


def _public_url(name: str, text: str) -> str | None:
    if not text.strip():
        return None
    remedy = "give an address such as https://hang.example.org, without a path"
    try:
        parts = urlsplit(text.strip())
        is_plain = parts.scheme in ("http", "https") and bool(parts.hostname)
        extra = parts.path.strip("/") or parts.query or parts.fragment or parts.username
        port = f":{parts.port}" if parts.port else ""
    except ValueError:
        raise SettingsError(name, text, remedy) from None
    if not is_plain or extra or not re.fullmatch(r"[\[\]A-Za-z0-9.:-]+", parts.netloc):
        raise SettingsError(name, text, remedy)
    host = parts.hostname or ""
    shown = f"[{host}]" if ":" in host else host
    return f"{parts.scheme}://{shown}{port}"
