"""`import` as a person or a program calls it."""

from __future__ import annotations

import gc
import io
import json
import os
import shlex
from collections.abc import Callable
from pathlib import Path

import pytest

from finishlog.__main__ import main
from finishlog.cli.logs.exchange import Progress

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


def test_an_import_leaves_the_garbage_collector_as_it_was(call: Call) -> None:
    before = gc.get_threshold()
    assert call("import", "--new", sheet(HEADER + GOOD))[0] == 0
    assert gc.get_threshold() == before
    assert call("import", "nowhere.csv")[0] != 0
    assert gc.get_threshold() == before


def test_from_paper_to_found(call: Call) -> None:
    status, out, err = call("import", "--new", sheet(HEADER + GOOD))
    assert (status, err) == (0, "")
    assert out == "Imported 1 pour: 1 new job.\n"
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
    assert first == "finishlog: nothing imported; 2 things to fix:"
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


def test_check_writes_nothing_and_shows_what_was_understood(call: Call) -> None:
    status, out, _ = call("import", "--check", "--new", sheet(HEADER + GOOD))
    assert status == 0
    assert out.splitlines() == [
        "Would import 1 pour: 1 new job.",
        "The first few, as understood:",
        "  Jun 16 2025 · Hollis Numbletoft, back patio · 9 Snail Stair · 6.75 yd³ · Wednesday Toast 7 lb/yd3",
    ]
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
    assert "already exists" in err
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
        (HEADER + GOOD).encode("utf-16")[:-1],
        (HEADER + GOOD).encode() + b"\x81,",
        b"PK\x03\x04 is no workbook",
        (HEADER + GOOD).encode() + b"\0",
        b"customer,customer,poured_on\n",
        b"customer,zzz\nBo,1\n",
        b"\x1b[31mzzz,poured_on\nBo,2025-06-16\n",
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


# a foreign sheet

FOREIGN = (
    "Client,Address,Date Poured,Cu Yds,Lb/Yd,Color,Office use\n"
    "Ottoline Quillfeather,12 Teakettle Lane,6/16/2025,6.75,7,Wet Biscuit,x1\n"
)
TOLD = (
    *("--map", "customer=Client", "--map", "street=Address", "--map", "poured_on=Date Poured"),
    *("--map", "yards=Cu Yds", "--map", "dose=Lb/Yd", "--map", "base=Color"),
    *("--unit", "poured_on=m/d/y", "--unit", "dose=lb/yd3", "--ignore", "Office use"),
)


def test_a_foreign_sheet_comes_in_and_says_what_each_column_became(call: Call) -> None:
    status, out, err = call("import", "--new", sheet(FOREIGN))
    assert status == 0
    assert out == "Imported 1 pour: 1 new job.\n1 cell kept as a note on the job, under its header.\n"
    first, *columns = err.splitlines()
    assert first == "finishlog: columns, as understood:"
    assert columns[0].split() == ["“Client”", "customer", "its", "name;", "like", "Ottoline", "Quillfeather"]
    assert any("“Lb/Yd”" in line and "dose, lb/yd3" in line for line in columns)
    assert any("“Office use”" in line and "a note on the job" in line for line in columns)
    status, _, err = call("import", sheet(FOREIGN.replace("12 Teakettle Lane", "1 Fern Row")))
    assert (status, err.splitlines()[0][:36]) == (0, "finishlog: columns same as last time")


def test_what_a_foreign_sheet_became_stands_in_the_json(call: Call) -> None:
    _, out, _ = call("import", "--new", "--json", sheet(FOREIGN))
    answer = json.loads(out)
    assert [(guess["header"], guess["column"]) for guess in answer["guesses"]] == [
        ("Client", "customer"), ("Address", "street"), ("Date Poured", "poured_on"), ("Cu Yds", "yards"),
        ("Lb/Yd", "dose"), ("Color", "base"), ("Office use", None),
    ]  # fmt: skip
    assert answer["guesses"][2]["dates"] == "m/d/y"
    assert answer["guesses"][4]["unit"] == "lb/yd3"
    assert answer["kept"] == [{"line": 2, "column": "Office use", "what": "x1", "example": ""}]
    assert answer["cells"] == 7


def test_days_that_may_be_two_are_asked_once_for_the_file(call: Call) -> None:
    two_ways = FOREIGN.replace("6/16/2025", "6/5/2025")
    status, out, err = call("import", "--new", sheet(two_ways))
    assert (status, out) == (2, "")
    assert "nothing imported; 1 question first" in err
    assert "Date Poured: 6/5/2025 can be read two ways" in err
    assert not Path("shop.finishlog").exists()
    assert call("import", "--new", sheet(two_ways), "--dates", "dmy")[0] == 0
    _, out, _ = call("find", "--json")
    assert json.loads(out)[0]["poured_on"] == "2025-05-06"
    assert call("import", sheet(two_ways), "--dates", "yes")[0] == 2


def test_the_guess_is_the_command_to_use(call: Call) -> None:
    status, out, err = call("import", "--new", sheet(FOREIGN), "--guess")
    assert (status, err) == (0, "")
    assert not Path("shop.finishlog").exists()
    words = shlex.split(out.splitlines()[-1])
    assert words[:3] == ["finishlog", "--log", "shop.finishlog"]
    assert words[-1] == "--check"
    status, checked, _ = call(*words[3:])
    assert status == 0
    assert (
        "Jun 16 2025 · Ottoline Quillfeather · 12 Teakettle Lane · 6.75 yd³ · Wet Biscuit 7 lb/yd3" in checked
    )
    assert not Path("shop.finishlog").exists()
    said = call(*words[3:-1])[1].splitlines()
    assert said == ["Imported 1 pour: 1 new job.", "1 cell kept as a note on the job, under its header."]


def test_the_guess_as_json(call: Call) -> None:
    _, out, _ = call("import", sheet(FOREIGN), "--guess", "--json")
    answer = json.loads(out)
    assert {match["column"]: match["header"] for match in answer["matches"]}["yards"] == "Cu Yds"
    assert answer["left_out"] == ["Office use"]
    assert answer["command"].startswith("finishlog --log shop.finishlog import pours.csv --map")


def test_a_sheet_of_our_own_needs_no_guess(call: Call) -> None:
    status, out, _ = call("import", sheet(HEADER + GOOD), "--guess")
    assert (status, out) == (0, "Every column of this sheet is ours; nothing to map.\n")


def test_a_mapping_is_used_remembered_and_forgotten(call: Call) -> None:
    status, out, err = call("import", "--new", sheet(FOREIGN), *TOLD)
    assert (status, out, err) == (0, "Imported 1 pour: 1 new job.\n", "")
    status, out, err = call("import", sheet(FOREIGN.replace("12 Teakettle Lane", "1 Fern Row")))
    assert status == 0
    assert err.startswith("finishlog: columns same as last time: customer = “Client”")
    _, out, _ = call("import", "--json", sheet(FOREIGN))
    assert json.loads(out)["columns"]["yards"] == "Cu Yds"
    assert json.loads(out)["remembered"] is True
    assert call("import", "--map-forget", sheet(FOREIGN))[1] == "Forgotten: 1 mapping of columns.\n"
    assert call("import", "--map-forget")[1] == "Nothing was remembered for any sheet's columns.\n"
    assert "same as last time" not in call("import", sheet(FOREIGN))[2]


@pytest.mark.parametrize(
    ("options", "said"),
    [
        (("--map", "yards"), "--map"),
        (("--map", "moons=Cu Yds"), "--map"),
        (("--map", "yards=Cu Yd"), "Cu Yds"),
        (("--unit", "dose=gal"), "--unit"),
        (("--ignore", "Moon"), "--ignore"),
    ],
)
def test_an_option_that_does_not_fit_is_one_clear_line(
    call: Call, options: tuple[str, ...], said: str
) -> None:
    status, out, err = call("import", "--new", sheet(FOREIGN), *options)
    assert (status, out) == (2, "")
    assert len(err.splitlines()) == 1
    assert said in err
    assert not Path("shop.finishlog").exists()


# progress


class Terminal(io.StringIO):
    def isatty(self) -> bool:
        return True


def test_progress_is_said_at_most_ten_times_a_second_and_wiped_away() -> None:
    out, times = Terminal(), iter(tick / 64 for tick in range(300))  # 4.67 s in steps that are exact
    with Progress(out, lambda: next(times)) as progress:
        for done in range(1, 301):
            progress(done * 10, 3000)
    said = out.getvalue().split("\r")
    told = [part for part in said if "of" in part]
    assert told[0] == "10 of 3,000"
    assert all(part.endswith(" of 3,000") for part in told)
    assert any(part.startswith("1,") for part in told)
    assert 40 <= len(told) <= 47
    assert said[-2].strip() == said[-1] == ""


def test_no_progress_is_said_where_nobody_watches() -> None:
    out = io.StringIO()
    with Progress(out) as progress:
        progress(1, 3000)
    assert out.getvalue() == ""
