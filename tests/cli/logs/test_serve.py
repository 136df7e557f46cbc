"""`serve` and `people`: what is wrong is said in one line before anybody can come in."""

from __future__ import annotations

import socket
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from finishlog import paths
from finishlog.web.gate.place import Place
from tests.cli.test_manners import refused
from tests.conftest import Ran

Run = Callable[..., Ran]


@pytest.mark.parametrize(("argv", "said"), [
    (("serve", "--port", "99999"), "no such port"),
    (("serve", "--port", "-1"), "no such port"),
    (("serve", "--host", "192.0.2.7"), "needs TLS"),
    (("serve", "--host", "0.0.0.0"), "needs TLS"),
    (("serve", "--host", "0.0.0.0", "--insecure-lan"), "an address to call"),
    (("serve", "--host", "::", "--insecure-lan"), "an address to call"),
    (("serve", "--cert", "none.pem"), "go together"),
    (("serve", "--key", "none.pem"), "go together"),
    (("serve", "--cert", "none.pem", "--key", "none.pem"), "no file"),
    (("serve", "--host", "0.0.0.0", "--insecure-lan", "--name", "a b/c"), "no name of a machine"),
    (("serve", "--link", "Nobody"), "Nobody comes in"),
    (("people", "add"), "Who?"),
    (("people", "add", "   "), "1 to 60"),
    (("people", "add", "x" * 61), "1 to 60"),
    (("people", "add", "Bo\x1b[2J"), "1 to 60"),
    (("people", "add", "Bo", "--as", "king"), "is no role"),
    (("people", "link", "Nobody"), "Nobody comes in"),
    (("people", "remove", "Nobody"), "Nobody comes in"),
    (("people", "out", "Nobody"), "Nobody comes in"),
])  # fmt: skip
def test_a_wrong_input_is_one_line(finishlog: Run, demo: str, argv: tuple[str, ...], said: str) -> None:
    assert said in refused(finishlog("--log", demo, *argv), 2)


def test_a_certificate_that_is_none_is_said(finishlog: Run, demo: str, tmp_path: Path) -> None:
    (tmp_path / "cert.pem").write_text("no certificate")
    given = ("--cert", str(tmp_path / "cert.pem"), "--key", str(tmp_path / "cert.pem"))
    assert "cannot be used" in refused(finishlog("--log", demo, "serve", *given), 2)


def test_a_port_that_is_taken_is_said(finishlog: Run, demo: str) -> None:
    with socket.create_server(("127.0.0.1", 0)) as taken:
        port = str(taken.getsockname()[1])
        assert "Cannot serve" in refused(finishlog("--log", demo, "serve", "--port", port), 3)


@pytest.mark.parametrize("table", ['proxy = "shop"', 'address = "https://a.example.com"', "proxy = 5",
                                   'proxy = "127.0.0.1"\naddress = "http://a.example.com"'])  # fmt: skip
def test_a_proxy_that_is_wrong_is_said(finishlog: Run, demo: str, table: str) -> None:
    where = paths.settings_file()
    where.parent.mkdir(parents=True)
    where.write_text(f"[serve]\n{table}\n")
    assert "serve" in refused(finishlog("--log", demo, "serve"), 2)


def test_without_the_extra_it_says_how_to_get_it(
    finishlog: Run, demo: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(sys.modules, "uvicorn", None)
    assert 'pip install "finishlog[serve]"' in refused(finishlog("--log", demo, "serve"), 3)


def test_all_ways_to_call_it() -> None:
    assert Place("192.0.2.7", 443, Path("c"), Path("k"), name="Log.example.com").origins == (
        "https://log.example.com",
    )
    assert Place("192.0.2.7", 8021, insecure_lan=True).origins == ("http://192.0.2.7:8021",)
    assert "http://[::1]:8021" in Place().origins
    assert Place(proxy="127.0.0.1", outside="https://log.example.com/").origins == (
        "https://log.example.com",
    )


def test_the_code_for_a_phone_fits_the_terminal(capsys: pytest.CaptureFixture[str]) -> None:
    from finishlog.cli.logs.serve import _show_link

    _show_link(Place("192.168.100.200", 8021, insecure_lan=True, name="finishlog.example.com"), "x" * 43)
    lines = [
        line for line in capsys.readouterr().out.splitlines() if "http" not in line and "lets in" not in line
    ]
    assert max(map(len, lines)) <= 80
    assert len(lines) <= 40
    code = [line for line in lines if line.startswith("█")]
    assert set(code[0]) == set(code[1]) == {"█"}  # four squares of light all around
    assert all(line.startswith("████") and line.endswith("████") for line in code[:-1])
