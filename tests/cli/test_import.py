"""`import` as a person or a program calls it."""

from __future__ import annotations

import json
import os
from collections.abc import Callable
from pathlib import Path

import pytest

from finishlog.__main__ import main

HEADER = "customer,job,street,poured_on,yards,base,dose\n"
GOOD = "Hollis Numbletoft,back patio,9 Snail Stair,2025-06-16,6.75,Wednesday Toast,7 lb/yd3\n"

Called = tuple[int, str, str]
Call = Callable[..., Called]


@pytest.fixture
def call(tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> Call:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("FINISHLOG_NOW", "2026-06-16T12:00-05:00")
    monkeypatch.delenv("FINISHLOG_LOG", raising=False)

    def run(*argv: str) -> Called:
        status = main(["--log", "shop.finishlog", *argv])
        out, err = capsys.readouterr()
        assert "\x1b" not in out + err
        return status, out, err

    return run


def sheet(text: str | bytes) -> str:
    path = Path("pours.csv")
    path.write_bytes(text.encode() if isinstance(text, str) else text)
    return str(path)


def test_from_paper_to_found(call: Call) -> None:
    status, out, err = call("import", "--new", sheet(HEADER + GOOD))
    assert (status, err) == (0, "")
    assert out == "Brought in 1 pour: 1 new job.\n"
    status, out, _ = call("find", "numbletoft", "--json")
    assert status == 0
    [hit] = json.loads(out)
    assert (hit["customer"], hit["poured_on"], hit["base"]) == (
        "Hollis Numbletoft",
        "2025-06-16",
        "Wednesday Toast",
    )


def test_the_report_as_json(call: Call) -> None:
    call("import", "--new", sheet(HEADER + GOOD))
    status, out, _ = call("import", "--json", sheet(HEADER + GOOD + GOOD.replace("back patio", "steps")))
    assert status == 0
    assert json.loads(out) == {
        "rows": 2,
        "jobs_added": 1,
        "pours_added": 1,
        "skipped": 1,
        "written": True,
        "flagged": [],
        "bad": [],
    }


def test_every_bad_line_is_named_with_line_column_what_and_an_example(call: Call) -> None:
    wrong = GOOD.replace("2025-06-16", "03/04/2025").replace("7 lb/yd3", "7")
    status, out, err = call("import", "--new", sheet(HEADER + GOOD + wrong))
    assert (status, out) == (2, "")
    first, *lines = err.splitlines()
    assert first == "finishlog: nothing was brought in; 2 things to put right:"
    assert lines[0].startswith("  line 3, poured_on: “03/04/2025”")
    assert lines[1].startswith("  line 3, dose: “7”")
    assert lines[1].endswith("Like 7 lb/yd3, 1.5 lb/sack, 4 % or 13 kg/m3.")
    assert not Path("shop.finishlog").exists()


def test_bad_lines_as_json(call: Call) -> None:
    status, out, _ = call("import", "--new", "--json", sheet(HEADER + GOOD.replace("6.75", "6_5")))
    assert status == 2
    [bad] = json.loads(out)["bad"]
    assert (bad["line"], bad["column"]) == (2, "yards")
    assert bad["what"]
    assert bad["example"]


def test_a_sheet_full_of_mistakes_does_not_flood_the_screen(call: Call) -> None:
    wrong = GOOD.replace("6.75", "x")
    status, _, err = call("import", "--new", sheet(HEADER + wrong * 120))
    assert status == 2
    assert len(err.splitlines()) == 52
    assert err.splitlines()[-1] == "  and 70 more"


def test_flags_are_told_and_the_pour_kept(call: Call) -> None:
    status, out, err = call("import", "--new", sheet("slump," + HEADER + "9 in," + GOOD))
    assert (status, err) == (0, "")
    assert "line 2, slump" in out


def test_check_writes_nothing(call: Call) -> None:
    status, out, _ = call("import", "--check", "--new", sheet(HEADER + GOOD))
    assert (status, out) == (0, "Would bring in 1 pour: 1 new job.\n")
    assert not Path("shop.finishlog").exists()


def test_the_template_goes_to_the_screen_or_to_a_new_file(call: Call) -> None:
    status, out, _ = call("import", "--template")
    assert status == 0
    assert out.splitlines()[-1].startswith("customer,job,")
    status, _, _ = call("import", "--template", "empty.csv")
    assert status == 0
    assert Path("empty.csv").read_text(encoding="utf-8") == out
    status, _, err = call("import", "--template", "empty.csv")
    assert status == 2
    assert "exists already" in err
    status, _, err = call("import", "--template", "no/such/folder.csv")
    assert status == 2
    status, said, _ = call("import", "--new", "empty.csv")
    assert (status, said) == (0, "The sheet has no rows.\n")


def test_without_a_log_there_is_nothing_to_bring_it_into(call: Call) -> None:
    status, _, err = call("import", sheet(HEADER + GOOD))
    assert status == 3
    assert len(err.splitlines()) == 1
    assert not Path("shop.finishlog").exists()


def test_new_refuses_what_exists(call: Call) -> None:
    call("import", "--new", sheet(HEADER + GOOD))
    before = Path("shop.finishlog").read_bytes()
    status, _, err = call("import", "--new", sheet(HEADER + GOOD.replace("back", "side")))
    assert status in (2, 3)
    assert len(err.splitlines()) == 1
    assert Path("shop.finishlog").read_bytes() == before


@pytest.mark.parametrize(
    "data",
    [
        b"",
        (HEADER + GOOD).encode("utf-16"),
        (HEADER + GOOD).encode() + b"\xff,",
        (HEADER + GOOD).encode() + b"\0",
        b"customer,customer,poured_on\n",
        b"customer,poured_off\n",
        b"\x1b[31mcustomer,poured_on\n",
    ],
)
def test_a_file_that_is_no_sheet_is_one_clear_line(call: Call, data: bytes) -> None:
    status, out, err = call("import", "--new", sheet(data))
    assert (status, out) == (2, "")
    assert len(err.splitlines()) == 1
    assert "pours.csv" in err
    assert not Path("shop.finishlog").exists()


@pytest.mark.parametrize("make", ["folder", "missing", "loop", "pipe"])
def test_what_is_no_file_is_one_clear_line(call: Call, make: str) -> None:
    path = Path("odd.csv")
    if make == "folder":
        path.mkdir()
    elif make == "loop":
        path.symlink_to(path)
    elif make == "pipe":
        if not hasattr(os, "mkfifo"):
            pytest.skip("this system has no named pipes")
        os.mkfifo(path)
    status, _, err = call("import", "--new", str(path))
    assert status == 2
    assert len(err.splitlines()) == 1


@pytest.mark.parametrize(
    "line",
    [
        'Bo,"never closed,1 Row,2025-06-16,1,,\n',
        "Bo,ragged,1 Row\n",
        "\x1b[31mBo,x,1 Row,2025-06-16,-\x1b[0m1,,\n",
        "Bo,x,1 Row,2025-06-16,\u202e1,,\n",
        "x" * 100_000 + ",x,1 Row,2025-06-16,1,,\n",
    ],
)
def test_a_bad_line_is_named_and_nothing_raw_reaches_the_terminal(call: Call, line: str) -> None:
    status, _, err = call("import", "--new", sheet(HEADER + GOOD + line))
    assert status == 2
    assert "line 3" in err
    assert "\u202e" not in err
    assert max(map(len, err.splitlines())) < 300


def test_odd_text_is_kept_as_typed(call: Call) -> None:
    name = '[/nope] \x1b[31m\u202e"O\'Dell"'
    quoted = '"' + name.replace('"', '""') + '"'
    status, _, _ = call("import", "--new", sheet(HEADER + f"{quoted},x,1 Row,2025-06-16,1,,\n"))
    assert status == 0
    _, out, _ = call("find", "--json")
    assert json.loads(out)[0]["customer"] == name


def test_a_file_must_be_named(call: Call) -> None:
    status, _, err = call("import")
    assert status == 2
    assert "import pours.csv" in err
