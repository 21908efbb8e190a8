"""Settings from the environment and the command line."""

from __future__ import annotations

from pathlib import Path

import pytest

from holdtrue.settings import EVERYWHERE, SettingsError, read_settings


def test_it_works() -> None:
    settings = read_settings(
        {
            "HOLDTRUE_DATA": "/srv/holdtrue",
            "HOLDTRUE_HOST": "192.168.7.2",
            "HOLDTRUE_PORT": "9000",
            "HOLDTRUE_PUBLIC_URL": "https://hang.example.org/",
            "PATH": "/usr/bin",
        }
    )

    assert settings.data_dir == Path("/srv/holdtrue")
    assert (settings.host, settings.port) == ("192.168.7.2", 9000)
    assert settings.public_url == "https://hang.example.org"
    assert settings.secret_file == Path("/srv/holdtrue/secret.key")


def test_the_default_is_loopback_only() -> None:
    settings = read_settings({})

    assert (settings.host, settings.port, settings.lan) == ("127.0.0.1", 8000, False)


def test_lan_listens_to_every_interface() -> None:
    assert read_settings({"HOLDTRUE_LAN": "yes"}).host == EVERYWHERE
    assert read_settings({}, {"--lan": "1"}).host == EVERYWHERE


def test_the_command_line_overrules_the_environment() -> None:
    assert read_settings({"HOLDTRUE_PORT": "9000"}, {"--port": "9001"}).port == 9001


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("HOLDTRUE_PORT", "eighty"),
        ("HOLDTRUE_PORT", "65536"),
        ("HOLDTRUE_PORT", "-1"),
        ("HOLDTRUE_PORT", "8 0"),
        ("HOLDTRUE_PORT", "\u0668\u0660"),
        ("HOLDTRUE_HOST", "no host"),
        ("HOLDTRUE_HOST", "http://127.0.0.1"),
        ("HOLDTRUE_LAN", "maybe"),
        ("HOLDTRUE_PUBLIC_URL", "hang.example.org"),
        ("HOLDTRUE_PUBLIC_URL", "ftp://hang.example.org"),
        ("HOLDTRUE_PUBLIC_URL", "https://hang.example.org/below"),
        ("HOLDTRUE_PUBLIC_URL", "https://me@hang.example.org"),
        ("HOLDTRUE_PUBLIC_URL", "https://hang.example.org:99999"),
        ("HOLDTRUE_PUBLIC_URL", "https://[half"),
        ("HOLDTRUE_DATA", "a\0b"),
        ("HOLDTRUE_PROT", "8000"),
    ],
)
def test_an_odd_value_stops_the_start_and_names_the_variable(name: str, value: str) -> None:
    with pytest.raises(SettingsError, match=name):
        read_settings({name: value})


def test_an_odd_option_is_named_as_the_option() -> None:
    with pytest.raises(SettingsError, match="--port"):
        read_settings({}, {"--port": "x"})


def test_a_host_and_the_whole_network_cannot_both_be_asked_for() -> None:
    with pytest.raises(SettingsError, match="HOLDTRUE_HOST"):
        read_settings({"HOLDTRUE_HOST": "127.0.0.1", "HOLDTRUE_LAN": "1"})
