"""``holdtrue serve``: one process, one store, loopback unless asked for more."""

from __future__ import annotations

import argparse
import io
import os
import socket
import sys
from typing import TYPE_CHECKING, Any

from holdtrue.commands import _out
from holdtrue.settings import LOOPBACK, Settings, SettingsError, read_settings

if TYPE_CHECKING:
    from pathlib import Path

    from holdtrue.service.services import Services

THREADS = 8
MOST_CONNECTIONS = 800
"""A system's usual 1024 open files, less those of the store."""
IDLE_SECONDS = 20
"""A connection that sends nothing for so long is closed; phones open a new one."""
LARGEST_BODY = 32 * 1024 * 1024
"""Above this waitress refuses by itself; below it the application answers with its own page."""


def add_parser(sub: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    parser = sub.add_parser("serve", help="run the server", description=__doc__)
    parser.add_argument("--data", metavar="DIR", help="folder the data is kept in (default: data)")
    parser.add_argument("--port", metavar="N", help="port (default 8000; 0: any free one)")
    parser.add_argument(
        "--host", metavar="ADDRESS", help="address to listen on (default: loopback)"
    )
    parser.add_argument(
        "--lan", action="store_true", help="listen to the whole network and print a QR code"
    )
    parser.add_argument(
        "--public-url", metavar="URL", help="the address people use, when a proxy stands in front"
    )
    parser.add_argument(
        "--lead-link", action="store_true", help="print a new one-time lead link, if all are lost"
    )
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    from holdtrue.bootstrap import StartError, services_for
    from holdtrue.store.port import StoreError

    try:
        settings = read_settings(os.environ, _asked(args))
        services = services_for(settings)
    except (SettingsError, StartError, StoreError) as error:
        _out.tell(f"holdtrue serve: {error}")
        return 1
    _say_odd_logs(settings.data_dir)
    try:
        return _serve(settings, services, new_link=args.lead_link)
    finally:
        services.store.close()


def _say_odd_logs(folder: Path) -> None:
    """What a start passes over must not pass unseen."""
    from holdtrue.commands.check import say_unknown
    from holdtrue.store.layout import empty_files

    say_unknown(folder)
    for path in empty_files(folder):
        _out.tell(f"holdtrue: {path}: holds no entry; run `holdtrue check`")


def _asked(args: argparse.Namespace) -> dict[str, str]:
    options = {
        "--data": args.data,
        "--port": args.port,
        "--host": args.host,
        "--public-url": args.public_url,
        "--lan": "1" if args.lan else None,
    }
    return {name: value for name, value in options.items() if value is not None}


def _serve(settings: Settings, services: Services, *, new_link: bool) -> int:
    from waitress.server import create_server

    from holdtrue import create_app
    from holdtrue.service import accounts

    app = create_app(services)
    try:
        # waitress itself says of a name it cannot look up that it is "invalid", and not why
        socket.getaddrinfo(settings.host, settings.port)
        server = create_server(app, **_server_options(settings))
    except OSError as error:
        where = f"{settings.host}:{settings.port}"
        _out.tell(f"holdtrue serve: cannot listen on {where}: {error.strerror}")
        return 1
    address = settings.public_url or _address(settings, server)
    issue = accounts.issue_system_link if new_link else accounts.issue_first_link
    token = issue(services, services.ids.key())
    try:
        _announce(address, token, with_qr=settings.lan)
        server.run()
    except KeyboardInterrupt:
        _out.tell("stopped")
    return 0


def _server_options(settings: Settings) -> dict[str, Any]:
    options: dict[str, Any] = {
        "host": settings.host,
        "port": settings.port,
        "threads": THREADS,
        "connection_limit": MOST_CONNECTIONS,
        "asyncore_use_poll": True,  # select() ends at 1024 files, and so would the server
        "channel_timeout": IDLE_SECONDS,
        "cleanup_interval": IDLE_SECONDS // 2,
        "max_request_body_size": LARGEST_BODY,
        "ident": None,
        "clear_untrusted_proxy_headers": True,
    }
    if settings.public_url:
        # A proxy on this machine hands on who really asks; nobody else's word is taken for it.
        options["trusted_proxy"] = LOOPBACK
        options["trusted_proxy_count"] = 1
        options["trusted_proxy_headers"] = {"x-forwarded-for", "x-forwarded-proto"}
    return options


def _address(settings: Settings, server: Any) -> str:
    host = lan_address() if settings.lan else settings.host
    shown = f"[{host}]" if ":" in host else host
    return f"http://{shown}:{server.effective_port}"


def lan_address() -> str:
    """This machine's address in the network it would use to reach others.

    Connecting a datagram socket sends nothing; it only makes the system choose a way out. The
    address is one reserved for documentation.
    """
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(("192.0.2.1", 9))
        except OSError:
            return socket.gethostname()
        found: str = probe.getsockname()[0]
    return found


def _announce(address: str, token: str | None, *, with_qr: bool) -> None:
    _out.write(f"holdtrue is at {address}/")
    link = f"{address}/lead/{token}" if token else None
    if link:
        _out.write(f"One-time lead link: {link}")
        _out.write("Whoever opens it first becomes lead. It works once, for seven days.")
    if with_qr:
        print_qr(link or f"{address}/")
    _out.write("Stop with Ctrl-C.")


def print_qr(text: str) -> None:
    """The text as a QR code of half blocks, light on dark as terminals mostly are."""
    import qrcode

    try:
        "█▀▄".encode(sys.stdout.encoding or "ascii")
    except UnicodeEncodeError:
        _out.write("(This terminal cannot show a QR code.)")
        return
    code = qrcode.QRCode(border=2)
    code.add_data(text)
    code.make(fit=True)
    drawn = io.StringIO()
    code.print_ascii(out=drawn, invert=True)
    _out.write(drawn.getvalue().rstrip("\n"))
