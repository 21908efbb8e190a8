"""``holdtrue serve`` as people start it: a process of its own, a real port, data on disk."""

from __future__ import annotations

import http.cookiejar
import os
import re
import signal
import socket
import subprocess
import sys
import urllib.error
import urllib.parse
import urllib.request
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path

import pytest

from holdtrue.cli import build_parser, command_names, main
from holdtrue.commands import serve


def command(data: Path, *options: str) -> list[str]:
    return [
        sys.executable, "-m", "holdtrue.cli", "serve", "--data", str(data), "--port", "0", *options
    ]  # fmt: skip


def clean_environment(**more: str) -> dict[str, str]:
    kept = {k: v for k, v in os.environ.items() if not k.startswith("HOLDTRUE_")}
    return {**kept, "PYTHONIOENCODING": "utf-8", **more}


@contextmanager
def running(data: Path, *options: str) -> Iterator[str]:
    """A server; gives what it printed up to its last line of greeting."""
    process = subprocess.Popen(
        command(data, *options), stdout=subprocess.PIPE, env=clean_environment(), encoding="utf-8"
    )
    assert process.stdout
    try:
        said = ""
        while "Stop with Ctrl-C" not in said:
            line = process.stdout.readline()
            assert line, f"the server ended: {said}"
            said += line
        yield said
    finally:
        process.send_signal(signal.SIGINT)
        process.wait(10)
        process.stdout.close()


def address(said: str) -> str:
    found = re.search(r"holdtrue is at (http://\S+)/", said)
    assert found
    return found[1]


def lead_link(said: str) -> str:
    found = re.search(r"One-time lead link: (https?://\S+)", said)
    assert found, said
    return found[1]


def browser() -> urllib.request.OpenerDirector:
    jar = http.cookiejar.CookieJar()
    return urllib.request.build_opener(urllib.request.HTTPCookieProcessor(jar))


def sign_in(opener: urllib.request.OpenerDirector, link: str) -> str:
    with opener.open(link) as answer:
        page = answer.read().decode()
    fields = dict(re.findall(r'name="(csrf|key)" value="([^"]*)"', page))
    body = urllib.parse.urlencode({**fields, "name": "Ines"}).encode()
    with opener.open(link, data=body) as answer:
        text: str = answer.read().decode()
    return text


def test_it_works(tmp_path: Path) -> None:
    with running(tmp_path / "data") as said:
        assert address(said).startswith("http://127.0.0.1:")

        assert "No job yet" in sign_in(browser(), lead_link(said))


def test_the_link_is_printed_until_there_is_a_lead(tmp_path: Path) -> None:
    with running(tmp_path) as first:
        pass
    with running(tmp_path) as second:
        assert lead_link(first).rsplit("/", 1)[1] != lead_link(second).rsplit("/", 1)[1]
        sign_in(browser(), lead_link(second))
    with running(tmp_path) as third:
        assert "lead link" not in third
    with running(tmp_path, "--lead-link") as fourth:
        assert lead_link(fourth)


def test_a_sign_in_outlasts_a_restart(tmp_path: Path) -> None:
    opener = browser()
    with running(tmp_path) as said:
        sign_in(opener, lead_link(said))
    with running(tmp_path) as said, opener.open(address(said) + "/people") as answer:
        assert "Ines" in answer.read().decode()


def test_many_slow_connections_shut_nobody_out(tmp_path: Path) -> None:
    with running(tmp_path) as said, ExitStack() as slow:
        where = urllib.parse.urlsplit(address(said))
        for _ in range(150):
            one = slow.enter_context(socket.create_connection((where.hostname, where.port), 10))
            one.sendall(b"GET /health HTTP/1.1\r\n")
        with urllib.request.urlopen(address(said) + "/health", timeout=10) as answer:
            assert answer.status == 200


@pytest.mark.parametrize("size", [10_000_000, 20_000_000])
def test_a_large_upload_is_answered_with_a_page(tmp_path: Path, size: int) -> None:
    with running(tmp_path) as said:
        opener = browser()
        sign_in(opener, lead_link(said))
        with pytest.raises(urllib.error.HTTPError) as caught:
            opener.open(address(said) + "/jobs/upload", data=b"x=" + b" " * size)
        assert caught.value.code == 413
        assert b"larger than" in caught.value.read()
        caught.value.close()


def test_a_host_that_is_not_there_is_said_in_one_line(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The name is one that never is (RFC 6761, section 6.4)."""
    status = main(["serve", "--data", str(tmp_path), "--host", "no.such.invalid", "--port", "0"])

    said = capsys.readouterr()
    assert (status, said.out) == (1, "")
    assert said.err.startswith("holdtrue serve: cannot listen on no.such.invalid:0: ")
    assert said.err.count("\n") == 1


def test_data_in_use_is_said_and_nothing_starts(tmp_path: Path) -> None:
    with running(tmp_path):
        second = subprocess.run(
            command(tmp_path), capture_output=True, text=True, env=clean_environment(), timeout=30
        )

    assert second.returncode == 1
    assert second.stdout == ""
    assert str(tmp_path) in second.stderr
    assert "Traceback" not in second.stderr


def test_a_port_in_use_is_said(tmp_path: Path) -> None:
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        port = str(taken.getsockname()[1])
        started = subprocess.run(
            command(tmp_path, "--port", port),
            capture_output=True, text=True, env=clean_environment(), timeout=30,
        )  # fmt: skip

    assert started.returncode == 1
    assert f"cannot listen on 127.0.0.1:{port}" in started.stderr
    assert "Traceback" not in started.stderr


def test_an_odd_setting_is_said(tmp_path: Path) -> None:
    started = subprocess.run(
        command(tmp_path), capture_output=True, text=True, timeout=30,
        env=clean_environment(HOLDTRUE_LAN="perhaps"),
    )  # fmt: skip

    assert started.returncode == 1
    assert "HOLDTRUE_LAN" in started.stderr


def test_the_network_gets_a_code_to_scan(tmp_path: Path) -> None:
    with running(tmp_path, "--lan") as said:
        assert "\u2588" in said
        port = address(said).rsplit(":", 1)[1]
        with urllib.request.urlopen(f"http://127.0.0.1:{port}/health") as answer:
            assert answer.read() == b"ok\n"


def test_the_code_reads_as_the_link(capsys: pytest.CaptureFixture[str]) -> None:
    import zxingcpp
    from PIL import Image

    serve.print_qr("http://192.168.7.2:8000/lead/ABC")

    rows = capsys.readouterr().out.splitlines()
    picture = Image.new("L", (len(rows[0]) * 8, len(rows) * 16), 0)
    light = {"\u2588": (0, 1), "\u2580": (0,), "\u2584": (1,)}
    for y, row in enumerate(rows):
        for x, sign in enumerate(row):
            for half in light.get(sign, ()):
                top = y * 16 + half * 8
                picture.paste(255, (x * 8, top, x * 8 + 8, top + 8))
    (found,) = zxingcpp.read_barcodes(picture)
    assert found.text == "http://192.168.7.2:8000/lead/ABC"


def test_the_public_address_is_the_one_printed(tmp_path: Path) -> None:
    with running(tmp_path, "--public-url", "https://hang.example.org") as said:
        assert lead_link(said).startswith("https://hang.example.org/lead/")


def test_every_command_can_be_asked_for_help(capsys: pytest.CaptureFixture[str]) -> None:
    assert "serve" in command_names()
    for module in command_names():
        name = "import" if module == "importing" else module  # no module can be called import
        with pytest.raises(SystemExit) as caught:
            main([name, "--help"])
        assert caught.value.code == 0
        assert "usage: holdtrue" in capsys.readouterr().out


def test_wrong_usage_is_2(capsys: pytest.CaptureFixture[str]) -> None:
    for wrong in ([], ["fly"], ["serve", "--wings"]):
        with pytest.raises(SystemExit) as caught:
            build_parser().parse_args(wrong)
        assert caught.value.code == 2
    assert capsys.readouterr().out == ""


def test_commands_that_need_no_server_load_none() -> None:
    code = (
        "import sys, holdtrue, holdtrue.core, holdtrue.cli; holdtrue.cli.build_parser(); "
        "sys.exit(bool({'flask', 'waitress', 'tinydb'} & set(sys.modules)))"
    )

    assert subprocess.run([sys.executable, "-c", code], timeout=30).returncode == 0
