"""`export DIR` and `import DIR --new`: everything out, and back as it was."""

from __future__ import annotations

import csv
import json
import os
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

Finishlog = Callable[..., Any]


def contents(folder: Path) -> dict[str, bytes]:
    return {str(path.relative_to(folder)): path.read_bytes() for path in folder.rglob("*") if path.is_file()}


@pytest.fixture
def out(finishlog: Finishlog, demo: str, tmp_path: Path) -> Path:
    """The demo's export, with a file attached."""
    ticket = tmp_path / "ticket.txt"
    ticket.write_bytes(b"\x00\xffticket\r\n")
    job = finishlog("--log", demo, "find", "--json").json()[0]["job"]
    finishlog("--log", demo, "record", job, "note", "--note", "=SUM(A1)", "--attach", str(ticket))
    folder = tmp_path / "out"
    ran = finishlog("--log", demo, "export", str(folder))
    assert (ran.status, ran.err) == (0, "")
    assert ran.out.startswith(f"Everything is in {folder}: ")
    assert ran.out.endswith(", 12 attached files.\n")
    return folder


def test_out_and_back_is_the_same_byte_for_byte(finishlog: Finishlog, out: Path, tmp_path: Path) -> None:
    new = str(tmp_path / "new.finishlog")
    ran = finishlog("--log", new, "import", "--new", str(out))
    assert (ran.status, ran.err) == (0, "")
    assert ran.out.startswith("The log is made: ")
    assert finishlog("--log", new, "check").status == 0
    again = tmp_path / "again"
    assert finishlog("--log", new, "export", str(again)).status == 0
    assert contents(again) == contents(out)
    assert any(name.startswith("files/") for name in contents(out))


def test_the_same_jobs_are_found(finishlog: Finishlog, demo: str, out: Path, tmp_path: Path) -> None:
    new = str(tmp_path / "new.finishlog")
    finishlog("--log", new, "import", "--new", str(out))
    for ask in (("find", "--json"), ("find", "ashlar", "--json")):
        assert finishlog("--log", new, *ask).json() == finishlog("--log", demo, *ask).json()


def test_formulas_are_no_formulas_in_the_sheets(out: Path) -> None:
    for path in out.glob("*.csv"):
        for row in csv.reader(path.read_text(encoding="utf-8-sig").splitlines()):
            assert not any(cell.startswith(("=", "@", "+")) for cell in row)
    assert b"'=SUM(A1)" in (out / "entry.csv").read_bytes()


def test_as_json(finishlog: Finishlog, demo: str, out: Path, tmp_path: Path) -> None:
    folder, new = tmp_path / "other", str(tmp_path / "new.finishlog")
    told = finishlog("--log", demo, "export", "--json", str(folder)).json()
    assert (told["folder"], told["files"]) == (str(folder), 12)
    back = finishlog("--log", new, "import", "--new", "--json", str(folder)).json()
    assert (back["jobs"], back["files"], back["written"], back["notes"]) == (told["jobs"], 12, True, [])
    assert back["entries"] > back["jobs"]


def test_a_check_makes_no_log(finishlog: Finishlog, out: Path, tmp_path: Path) -> None:
    new = tmp_path / "new.finishlog"
    ran = finishlog("--log", str(new), "import", "--new", "--check", str(out))
    assert ran.status == 0
    assert ran.out.startswith("The export is whole: ")
    assert not list(tmp_path.glob("new*"))


def test_an_empty_folder_is_taken(finishlog: Finishlog, demo: str, tmp_path: Path) -> None:
    folder = tmp_path / "empty"
    folder.mkdir()
    assert finishlog("--log", demo, "export", str(folder)).status == 0
    assert (folder / "finishlog.json").is_file()


@pytest.mark.parametrize("make", ["full", "file", "no parent", "link", "long", "under a file"])
def test_where_an_export_has_no_place(finishlog: Finishlog, demo: str, tmp_path: Path, make: str) -> None:
    folder = tmp_path / "out"
    if make == "full":
        folder.mkdir()
        (folder / "mine.txt").write_text("x")
    elif make == "file":
        folder.write_text("x")
    elif make == "no parent":
        folder = folder / "deep"
    elif make == "link":
        folder.symlink_to(tmp_path / "nowhere")
    elif make == "long":
        folder = tmp_path / ("x" * 5000)
    else:
        folder.write_text("x")
        folder = folder / "deep"
    before = sorted(tmp_path.rglob("*"))
    ran = finishlog("--log", demo, "export", str(folder))
    assert (ran.status, ran.out) == (2, "")
    assert len(ran.err.splitlines()) == 1
    assert [path for path in sorted(tmp_path.rglob("*")) if "demo" not in path.name] == [
        path for path in before if "demo" not in path.name
    ]


def test_without_a_log_there_is_nothing_to_export(finishlog: Finishlog, tmp_path: Path) -> None:
    ran = finishlog("--log", str(tmp_path / "none.finishlog"), "export", str(tmp_path / "out"))
    assert ran.status == 3
    assert list(tmp_path.iterdir()) == []


def test_a_lost_file_stops_the_export_and_leaves_nothing(
    finishlog: Finishlog, demo: str, out: Path, tmp_path: Path
) -> None:
    kept = next(path for path in Path(f"{demo}.files").rglob("*") if path.is_file())
    kept.unlink()
    ran = finishlog("--log", demo, "export", str(tmp_path / "other"))
    assert ran.status == 3
    assert len(ran.err.splitlines()) == 1
    assert not (tmp_path / "other").exists()


# back in


def damage_json(folder: Path, change: Callable[[dict[str, Any]], Any]) -> None:
    path = folder / "finishlog.json"
    whole = json.loads(path.read_text(encoding="utf-8"))
    change(whole)
    path.write_text(json.dumps(whole), encoding="utf-8")


def attached(folder: Path) -> Path:
    return min((folder / "files").iterdir())


def no_json(folder: Path) -> None:
    (folder / "finishlog.json").unlink()


def pipe(folder: Path) -> None:
    no_json(folder)
    os.mkfifo(folder / "finishlog.json")


DAMAGE: dict[str, tuple[Callable[[Path], Any], str]] = {
    "no JSON": (no_json, "not an export"),
    "a folder for it": (lambda f: (no_json(f), (f / "finishlog.json").mkdir()), "not an export"),
    "a pipe for it": (pipe, "not an export"),
    "cut off": (lambda f: os.truncate(f / "finishlog.json", 5000), "damaged"),
    "empty": (lambda f: os.truncate(f / "finishlog.json", 0), "damaged"),
    "not JSON": (lambda f: (f / "finishlog.json").write_bytes(b"\xff\xfe\x1b[31m"), "damaged"),
    "another's JSON": (lambda f: (f / "finishlog.json").write_text("[1]"), "another program"),
    "newer": (lambda f: damage_json(f, lambda whole: whole.update(schema="9999")), "newer"),
    "a table gone": (lambda f: damage_json(f, lambda whole: whole["tables"].pop("customer")), "tables"),
    "a row cut": (lambda f: damage_json(f, lambda whole: whole["tables"]["job"]["rows"][0].pop()), "Row 1"),
    "a job's customer gone": (
        lambda f: damage_json(f, lambda whole: whole["tables"]["customer"]["rows"].pop(0)),
        "a row of customer that is not there",
    ),
    "file gone": (lambda f: attached(f).unlink(), "cannot be read"),
    "file changed": (lambda f: attached(f).write_bytes(b"other"), "changed"),
    "file emptied": (lambda f: attached(f).write_bytes(b""), "cannot be read"),
}


@pytest.mark.parametrize("damage", list(DAMAGE))
def test_an_export_that_is_not_whole_is_one_clear_line(
    finishlog: Finishlog, out: Path, tmp_path: Path, damage: str
) -> None:
    make, said = DAMAGE[damage]
    make(out)
    for options in ((), ("--check",)):
        ran = finishlog("--log", str(tmp_path / "new.finishlog"), "import", "--new", *options, str(out))
        assert (ran.status, ran.out) == (2, "")
        assert len(ran.err.splitlines()) == 1
        assert said in ran.err
        assert "\x1b" not in ran.err
        assert not [path for path in tmp_path.iterdir() if path.name.startswith((".new", "new"))]


def test_a_changed_sheet_is_named_and_the_rest_comes_back(
    finishlog: Finishlog, out: Path, tmp_path: Path
) -> None:
    with (out / "customer.csv").open("a", encoding="utf-8") as sheet:
        sheet.write("99,x\n")
    ran = finishlog("--log", str(tmp_path / "new.finishlog"), "import", "--new", str(out))
    assert ran.status == 0
    assert "customer.csv" in ran.err


def test_an_export_does_not_come_over_a_log_that_is_there(finishlog: Finishlog, demo: str, out: Path) -> None:
    before = Path(demo).read_bytes()
    ran = finishlog("--log", demo, "import", "--new", str(out))
    assert ran.status == 3
    assert len(ran.err.splitlines()) == 1
    assert Path(demo).read_bytes() == before


def test_a_folder_needs_new_and_takes_no_options_of_a_sheet(
    finishlog: Finishlog, out: Path, tmp_path: Path
) -> None:
    new = ("--log", str(tmp_path / "new.finishlog"), "import")
    ran = finishlog(*new, str(out))
    assert (ran.status, "--new" in ran.err) == (2, True)
    ran = finishlog(*new, "--new", str(out / "finishlog.json"))
    assert (ran.status, "folder" in ran.err) == (2, True)
    for option in (("--map", "yards=x"), ("--guess",), ("--ignore", "x"), ("--unit", "dose=%")):
        ran = finishlog(*new, "--new", *option, str(out))
        assert ran.status == 2
        assert option[0] in ran.err
    assert not (tmp_path / "new.finishlog").exists()


def test_an_empty_log_goes_out_and_comes_back(finishlog: Finishlog, tmp_path: Path) -> None:
    log, new = str(tmp_path / "a.finishlog"), str(tmp_path / "b.finishlog")
    finishlog("--log", log, "new")
    finishlog("--log", log, "export", str(tmp_path / "one"))
    assert finishlog("--log", new, "import", "--new", str(tmp_path / "one")).status == 0
    finishlog("--log", new, "export", str(tmp_path / "two"))
    assert contents(tmp_path / "one") == contents(tmp_path / "two")
    shutil.rmtree(tmp_path / "one")


def test_the_usual_place_is_made_for_a_log_that_comes_back(
    finishlog: Finishlog, out: Path, tmp_path: Path
) -> None:
    ran = finishlog("import", "--new", str(out))
    assert (ran.status, ran.err) == (0, "")
    assert finishlog("find", "--json").json()
