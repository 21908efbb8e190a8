"""Trusted https on the venue's network, by a name that is not this machine's own: the worker runs.

A small proxy speaks TLS in front of the server. Its certificate is made for the test, and the
browser is told to trust its key, as it would trust an authority's that was installed.
"""

from __future__ import annotations

import shutil
import socket
import ssl
import subprocess
import threading
from base64 import b64encode
from collections.abc import Iterator
from contextlib import closing, suppress
from hashlib import sha256
from pathlib import Path

import pytest
from playwright.sync_api import Browser

from tests.conftest import CHROMIUM_FLAGS, find_chromium
from tests.e2e.offline.fieldwork import (
    all_sent,
    has_the_job,
    installer,
    log_of,
    open_task,
    prepared,
    recorded,
    switch_off,
    unsent,
)
from tests.e2e.people import Crew, crew_of
from tests.e2e.server import Server

NAME = "wall.lan"
MEASURE = "fasteners.measure:C1"


class OnTls(Server):
    """The same server, behind a proxy of its own name."""

    front_port = 0

    @property
    def address(self) -> str:
        return f"https://{NAME}:{self.front_port}"

    def start(self, *options: str) -> None:
        super().start("--public-url", self.address, *options)

    def stand_behind(self, proxy: TlsProxy) -> None:
        with closing(socket.create_server(("127.0.0.1", 0))) as free:
            self._port = proxy.to = free.getsockname()[1]
        self.front_port = proxy.port


@pytest.fixture
def certificate(tmp_path: Path) -> Path:
    """Key and certificate in one file."""
    openssl = shutil.which("openssl")
    if openssl is None:
        pytest.skip("no openssl here; install it (Debian, Ubuntu: apt-get install openssl)")
    both = tmp_path / "wall.pem"
    key, made = tmp_path / "key.pem", tmp_path / "cert.pem"
    subprocess.run(
        [
            *(openssl, "req", "-x509", "-newkey", "rsa:2048", "-nodes", "-days", "2"),
            *("-subj", f"/CN={NAME}", "-addext", f"subjectAltName=DNS:{NAME}"),
            *("-keyout", str(key), "-out", str(made)),
        ],
        check=True,
        capture_output=True,
    )
    both.write_text(key.read_text() + made.read_text())
    return both


def key_hash(certificate: Path) -> str:
    """Of the public key, as the browser names one it is to trust."""
    asked = ("openssl", "x509", "-pubkey", "-noout", "-in", str(certificate))
    pem = subprocess.run(asked, check=True, capture_output=True).stdout
    der = ("openssl", "pkey", "-pubin", "-outform", "der")
    public = subprocess.run(der, input=pem, check=True, capture_output=True).stdout
    return b64encode(sha256(public).digest()).decode()


class TlsProxy:
    """What is said to it in TLS is passed on to a port of this machine; nobody there, no answer."""

    def __init__(self, certificate: Path) -> None:
        self.to = 0
        self._context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
        self._context.load_cert_chain(certificate)
        self._listening = socket.create_server(("127.0.0.1", 0))
        self.port = self._listening.getsockname()[1]
        threading.Thread(target=self._accept, daemon=True).start()

    def _accept(self) -> None:
        with suppress(OSError):
            while True:
                caller, _ = self._listening.accept()
                threading.Thread(target=self._serve, args=(caller,), daemon=True).start()

    def _serve(self, caller: socket.socket) -> None:
        # a caller that does not like the certificate, a server that is off: both are meant here
        with suppress(OSError), closing(caller):
            inside = self._context.wrap_socket(caller, server_side=True)
            with closing(inside), socket.create_connection(("127.0.0.1", self.to)) as server:
                back = threading.Thread(target=_pass_on, args=(server, inside), daemon=True)
                back.start()
                _pass_on(inside, server)
                back.join()

    def close(self) -> None:
        self._listening.close()


def _pass_on(one: socket.socket, other: socket.socket) -> None:
    with suppress(OSError):
        while data := one.recv(65_536):
            other.sendall(data)
    with suppress(OSError):
        other.shutdown(socket.SHUT_WR)


@pytest.fixture
def on_tls(server: Server, certificate: Path) -> Iterator[OnTls]:
    proxy = TlsProxy(certificate)
    server.__class__ = OnTls
    assert isinstance(server, OnTls)
    server.stand_behind(proxy)
    yield server
    proxy.close()


@pytest.fixture
def trusting(chromium: Browser, certificate: Path) -> Iterator[Crew]:
    flags = [
        *CHROMIUM_FLAGS,
        "--no-sandbox",
        f"--host-resolver-rules=MAP {NAME} 127.0.0.1",
        f"--ignore-certificate-errors-spki-list={key_hash(certificate)}",
    ]
    browser = chromium.browser_type.launch(args=flags, executable_path=find_chromium())
    with crew_of(browser) as crew:
        yield crew
    browser.close()


def test_a_reload_with_the_server_off_goes_on_over_trusted_https(
    on_tls: OnTls, trusting: Crew
) -> None:
    job = prepared(on_tls, until=MEASURE)
    on_tls.start()
    assert on_tls.address.startswith(f"https://{NAME}:")
    ivo = installer(trusting, on_tls, job)
    open_task(ivo, on_tls, job, MEASURE)
    ivo.page.evaluate("navigator.serviceWorker.ready.then(() => null)")
    ivo.page.reload()
    has_the_job(ivo)
    assert ivo.page.evaluate("navigator.serviceWorker.controller !== null")
    on_tls.kill()
    with ivo.watch.cut_off():
        ivo.do(MEASURE, {"above": "5 1/16"})
        assert ivo.heading == "C1 is set"
        ivo.page.reload()
        ivo.page.wait_for_selector('html[data-app="ready"]', state="attached")
        assert ivo.heading == "C1 is set"
        assert unsent(ivo) == 1
        on_tls.start()
        all_sent(ivo)
    switch_off(on_tls, trusting)
    assert recorded(log_of(on_tls, job))[-1] == MEASURE
