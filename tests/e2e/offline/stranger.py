"""Somebody else's server on our port: a portal, a proxy, a router's own page."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from threading import Thread

PORTAL = "<!doctype html><title>Station wifi</title><main id='main'><h1>Welcome</h1></main>"


@contextmanager
def stranger(
    address: str, *, status: int = 200, page: str = PORTAL, headers: Mapping[str, str] | None = None
) -> Iterator[list[str]]:
    """Answers everything alike; gives the requests it had, as "GET /path"."""
    asked: list[str] = []

    class Handler(BaseHTTPRequestHandler):
        def do_GET(self) -> None:
            asked.append(f"{self.command} {self.path}")
            self.rfile.read(int(self.headers.get("Content-Length", "0")))
            body = page.encode()
            self.send_response(status)
            named = {"Content-Type": "text/html; charset=utf-8", "Connection": "close"}
            for name, value in {**named, **(headers or {})}.items():
                self.send_header(name, value)
            self.send_header("Content-Length", str(len(body)))
            self.end_headers()
            self.wfile.write(body)

        do_POST = do_HEAD = do_GET

        def log_message(self, *_said: object) -> None:
            """Nothing to standard error."""

    host, _, port = address.removeprefix("http://").rpartition(":")
    with ThreadingHTTPServer((host, int(port)), Handler) as server:
        thread = Thread(target=server.serve_forever, daemon=True)
        thread.start()
        try:
            yield asked
        finally:
            server.shutdown()
            thread.join()
