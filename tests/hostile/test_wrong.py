"""What came in wrong, or broke what it met: each was a fault once. One clear line, the right status, nothing made."""

from __future__ import annotations

import json
import os
import shutil
import sqlite3
import subprocess
import sys
from collections.abc import Callable
from contextlib import closing
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy.engine import RootTransaction
from sqlalchemy.exc import OperationalError

from finishlog import settings
from finishlog.errors import LogError
from finishlog.papers.files import file_name
from finishlog.papers.reminders import send
from finishlog.records.writing import NewEntry, NewFile
from finishlog.store import Log
from finishlog.store.engine import upgrade
from tests.conftest import Ran
from tests.hostile import shop

Run = Callable[..., Ran]
_MADE: dict[str, Any] = {}


@pytest.fixture
def base(finishlog: Run, release: Any, tmp_path_factory: pytest.TempPathFactory) -> tuple[shop.Data, Path]:
    """The small shop's export and its attached files, made once."""
    if not _MADE:
        folder = tmp_path_factory.mktemp("shop")
        _MADE["base"] = shop.export(finishlog, release, folder), folder / "out" / "files"
    made: tuple[shop.Data, Path] = _MADE["base"]
    return made


@pytest.fixture
def bring_in(finishlog: Run, base: tuple[shop.Data, Path], tmp_path: Path) -> Callable[[shop.Data], Ran]:
    """Imports an export as `in.finishlog`."""

    def into(data: shop.Data) -> Ran:
        folder = shop.write(data, base[1], tmp_path / "export")
        return finishlog("--log", str(tmp_path / "in.finishlog"), "import", "--new", str(folder))

    return into


@pytest.fixture
def log(base: tuple[shop.Data, Path], tmp_path: Path) -> Path:
    """A copy of the small shop's log."""
    made = base[1].parent.parent / "made.finishlog"
    shutil.copytree(f"{made}.files", tmp_path / "shop.finishlog.files")
    return Path(shutil.copy(made, tmp_path / "shop.finishlog"))


def refused(ran: Ran, *words: str, status: int = 2) -> None:
    assert (ran.status, ran.out, ran.err.count("\n")) == (status, "", 1), ran
    assert all(word in ran.err for word in words), ran.err


# handles


BAD_HANDLES = (
    "../../evil",
    "/tmp/evil",
    "a" * 10_000,
    "a\0b",
    "a\nb",
    "..",
    ".",
    "-x",
    "a/b",
    "A B",
    "\u200b",
    "é",
    "",
)


@pytest.mark.parametrize("handle", BAD_HANDLES, ids=lambda handle: ascii(handle[:12]))
def test_an_export_with_another_hands_handle_makes_no_log(
    base: tuple[shop.Data, Path], bring_in: Callable[[shop.Data], Ran], tmp_path: Path, handle: str
) -> None:
    data = json.loads(json.dumps(base[0]))
    columns, rows = shop.table(data, "job")
    rows[0][columns.index("handle")] = handle
    refused(bring_in(data), "Nothing was made")
    assert sorted(path.name for path in tmp_path.iterdir()) == ["export"]


@pytest.mark.parametrize("handle", [handle for handle in BAD_HANDLES if "\ud800" not in handle])
def test_no_door_takes_such_a_handle(finishlog: Run, log: Path, tmp_path: Path, handle: str) -> None:
    """A new job's, a sheet's job: what is no handle is refused or only a name to search by."""
    before = sorted(tmp_path.rglob("*"))
    if handle:
        made = finishlog("--log", str(log), "job", "new", "--customer", "Bo", f"--handle={handle}")
        assert made.status == 2, made
    for argv in (
        ("show", "--", handle),
        ("sheet", "--pdf", "x.pdf", "--", handle, "customer"),
        ("care", "--", handle, "contacted"),
        ("move", "--", shop.JOB, "1", handle),
    ):
        assert finishlog("--log", str(log), *argv).status == 2
    assert sorted(tmp_path.rglob("*")) == before


def test_a_draft_lies_in_its_folder_whatever_an_older_log_calls_the_job(
    finishlog: Run, log: Path, tmp_path: Path
) -> None:
    """A log that took such a handle before it was checked: names of files are made, never taken."""
    for number, handle in enumerate(("../../evil", str(tmp_path / "evil"), "con", "é")):
        with closing(sqlite3.connect(log)) as raw, raw:
            raw.execute("UPDATE job SET handle = ? WHERE id = 1", (handle,))
            raw.execute("UPDATE job_line SET handle = ? WHERE job_id = 1", (handle,))
            raw.execute("UPDATE customer SET email = 'o@example.com'")
        out = tmp_path / f"out{number}"
        out.mkdir()
        there = {path for path in tmp_path.rglob("*") if path.parent != out}
        ran = finishlog("--log", str(log), "care", "--by", "2040-01-01", "--again", "--mail", str(out / "m"))
        assert ran.status == 0, ran
        new = {path for path in tmp_path.rglob("*") if "shop.finishlog" not in path.name} - there
        assert all(out in path.parents for path in new), new
        [draft] = (out / "m").iterdir()
        assert draft.suffix == ".eml"
        assert draft.stem.casefold() != "con"


@pytest.mark.parametrize(
    ("text", "name"),
    [
        ("bo-patio", "bo-patio"),
        ("../../evil", "evil"),
        ("/etc/passwd", "etc-passwd"),
        ("con", "job-con"),
        ("Lpt1", "job-Lpt1"),
        ("", "job"),
        ("\u202e", "job"),
        ("a\0b\nc", "a-b-c"),
        ("...", "job"),
        ("x" * 10_000, "x" * 100),
    ],
)
def test_a_file_is_called_after_anything_safely(text: str, name: str) -> None:
    assert file_name(text, ".eml") == f"{name}.eml"


def test_two_jobs_whose_file_names_are_alike_have_a_draft_each() -> None:
    made: dict[str, bytes] = {}
    for job in ("a/b", "A-b", "a b"):
        made[send._free(job, made)] = b""
    assert list(made) == ["a-b.eml", "A-b-2.eml", "a-b-3.eml"]


# values of an export


@pytest.mark.parametrize(
    ("table", "column", "value"),
    [
        ("site", "zone", "../../etc/passwd"),
        ("site", "zone", "\x1b[31m"),
        ("site", "zone", "a" * 500),
        ("site", "zone", ""),
        ("job", "planned_on", "9999-12-31"),
        ("job", "planned_on", "0001-01-01"),
        ("job", "planned_on", "2026-W01-1"),
        ("entry", "happened", "9999-12-31T23:59:59.999999Z"),
        ("entry", "happened", "0001-01-01T00:00:00.000000Z"),
        ("entry", "happened", "2025-05-14"),
        ("entry", "happened", "2025-05-14T15:00:00"),
        ("entry", "logged", "soon"),
        ("ownership", "since", "9999-12-31"),
        ("stock_move", "happened", "2025-02-30T00:00:00.000000Z"),
        ("entry", "facts", '{"a": [1]}'),
        ("entry", "facts", "{NaN}"),
        ("entry", "facts", '{"a": 1e999}'),
        ("entry", "facts", '{"a":' * 3000 + "1" + "}" * 3000),
        ("stage", "params", '{"a": {"b": 1}}'),
        ("customer", "name", "\u200b\u2060"),
        ("product", "name", "\u3164"),
        ("lot", "code", "\u2800"),
        ("area", "name", "\ufeff"),
        ("recipe", "name", "\u00ad"),
        ("job", "name", "\u200b"),
        ("customer", "note", "a\0b"),
        ("job", "note", "x" * 1_000_001),
        ("file", "sha256", "../" * 21 + "x"),
        ("file", "sha256", "A" * 64),
    ],
)
def test_a_value_that_no_log_of_ours_would_hold_is_refused(
    base: tuple[shop.Data, Path],
    bring_in: Callable[[shop.Data], Ran],
    tmp_path: Path,
    table: str,
    column: str,
    value: str,
) -> None:
    data = json.loads(json.dumps(base[0]))
    columns, rows = shop.table(data, table)
    rows[0][columns.index(column)] = value
    ran = bring_in(data)
    refused(ran, "Nothing was made")
    assert len(ran.err) < 1000
    assert sorted(path.name for path in tmp_path.iterdir()) == ["export"]


def test_an_unknown_zone_comes_in_is_said_and_is_read_as_utc(
    finishlog: Run, base: tuple[shop.Data, Path], bring_in: Callable[[shop.Data], Ran], tmp_path: Path
) -> None:
    ran = bring_in(shop.put(base[0], "site", "zone", "Mars/Olympus"))
    assert ran.status == 0
    assert "This machine does not know the time zone Mars/Olympus" in ran.err
    log = str(tmp_path / "in.finishlog")
    assert "May 31 2025, 3p" in finishlog("--log", log, "show", shop.JOB).out
    for argv in (("today", "--all"), ("care", "--by", "2040-01-01"), ("check",), ("color", shop.JOB)):
        assert finishlog("--log", log, *argv).status == 0


@pytest.mark.parametrize(
    ("zone", "year", "day"),
    [
        ("Pacific/Kiritimati", "2199", "12-31"),  # each end in the zone whose day is beyond it
        ("Pacific/Niue", "1900", "01-02"),
        ("America/Chicago", "2196", "02-29"),
        *(
            pytest.param(*each, marks=pytest.mark.long)
            for each in (
                ("America/Chicago", "2199", "12-31"),
                ("Pacific/Niue", "2199", "12-31"),
                ("America/Chicago", "1900", "01-02"),
                ("Pacific/Kiritimati", "1900", "01-02"),
                ("Pacific/Kiritimati", "2196", "02-29"),
                ("Pacific/Niue", "2196", "02-29"),
            )
        ),
    ],
)
def test_a_slab_at_either_end_of_the_calendar_is_read_everywhere(
    finishlog: Run,
    base: tuple[shop.Data, Path],
    bring_in: Callable[[shop.Data], Ran],
    tmp_path: Path,
    zone: str,
    year: str,
    day: str,
) -> None:
    """Five years to a reseal, 45 days to a final color: no sum leaves the calendar."""
    data = shop.put(base[0], "site", "zone", zone)
    columns, rows = shop.table(data, "entry")
    for row in rows:
        row[columns.index("happened")] = f"{year}-{day}T12:00:00.000000Z"
    assert bring_in(data).status == 0
    log, out = str(tmp_path / "in.finishlog"), tmp_path / "out"
    out.mkdir()
    for argv in (
        ("today", "--all"),
        ("care", "--by", "2199-12-31", "--again", "--csv", str(out / "a.csv"), "--ics", str(out / "a.ics")),
        ("show", shop.JOB),
        ("color", shop.JOB),
        ("sheet", shop.JOB, "customer", "--pdf", str(out / "a.pdf")),
        ("find", "--since", "1900-01-01"),
        ("check",),
    ):
        assert finishlog("--log", log, *argv).status == 0, argv


@pytest.mark.parametrize(
    ("kind", "answer"),
    [
        ("plan", "{}"),
        ("plan", '{"plan": {}}'),
        ("plan", '{"plan": 5, "pigment": 5}'),
        ("plan", '{"plan": {"request": []}}'),
        ("forecast", '{"spot": "base", "forecast": 5}'),
        ("forecast", '{"spot": "base", "area": "field", "forecast": [{}, {}]}'),
        ("calendar", '{"day": "zzz"}'),
        ("reseal", "{}"),
    ],
)
def test_advice_of_another_hand_is_as_good_as_none(
    finishlog: Run,
    base: tuple[shop.Data, Path],
    bring_in: Callable[[shop.Data], Ran],
    tmp_path: Path,
    kind: str,
    answer: str,
) -> None:
    data = shop.put(shop.put(base[0], "advice", "answer", answer), "advice", "kind", kind)
    assert bring_in(shop.put(data, "advice", "inputs", '{"uid": [], "probes_in": 5}')).status == 0
    log = str(tmp_path / "in.finishlog")
    for argv in (
        ("show", shop.PLANNED),
        ("color", shop.JOB),
        ("shelf",),
        ("today", "--ahead", shop.PLANNED),
        ("care", "--by", "2040-01-01", "--ics", str(tmp_path / "a.ics")),
    ):
        assert finishlog("--log", log, *argv).status == 0, argv
    refused(finishlog("--log", log, "sheet", shop.PLANNED, "match", "--pdf", str(tmp_path / "a.pdf")))


# names that show nothing


@pytest.mark.parametrize(
    "blank", ["\u200b", "\u200d\u2060", "\ufeff", "\u00ad", "\u3164", "\u2800", "\u0301\u0336"]
)
def test_a_name_of_invisible_characters_is_none(finishlog: Run, log: Path, blank: str) -> None:
    before = finishlog("--log", str(log), "find", "--json").out
    for argv in (
        ("job", "new", "--customer", blank),
        ("job", "new", "--customer", "Bo", "--job", blank),
        ("job", "new", "--customer", "Bo", "--areas", blank),
        ("job", "owner", shop.JOB, blank),
        ("job", "area", shop.JOB, blank),
        ("shelf", "buy", blank, "--amount", "5 lb", "--kind", "pigment"),
        ("shelf", "buy", "Wet Biscuit", "--amount", "5 lb", "--lot", blank),
        ("record", shop.JOB, "note", "--set", f"note={blank}"),
        ("record", shop.JOB, "rinse", "--by", blank),
        ("match", shop.JOB, "--rect", "9x9", "--depth", "4in", "--save", blank),
    ):
        ran = finishlog("--log", str(log), *argv)
        refused(ran)
    assert finishlog("--log", str(log), "find", "--json").out == before


def test_a_name_in_any_script_or_of_a_picture_is_one(finishlog: Run, log: Path) -> None:
    for name in ("田中", "ไทย", "👷‍♀️", "Ñandú", "é"):
        assert finishlog("--log", str(log), "job", "new", "--customer", name).status == 0


# what cannot be right is asked


@pytest.mark.parametrize(
    "now", ["2199-06-16T07:40:00-05:00", "2026-06-14T07:40:00-05:00", "2033-01-01T00:00:00-06:00"]
)
def test_a_clock_far_from_the_last_entry_is_asked_once(
    finishlog: Run, log: Path, monkeypatch: pytest.MonkeyPatch, now: str
) -> None:
    logged = ("--log", str(log), "record", shop.JOB, "note", "--set", "note=hello")
    assert finishlog(*logged).status == 0
    monkeypatch.setenv("FINISHLOG_NOW", now)
    refused(finishlog(*logged), "This machine's clock says", "check the clock", "--because")
    assert finishlog(*logged, "--because", "the log lay in a drawer").status == 0
    assert finishlog(*logged[:-1], "note=again").status == 0


def test_a_clock_that_went_on_as_clocks_do_is_not_asked(
    finishlog: Run, log: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    logged = ("--log", str(log), "record", shop.JOB, "note")
    assert finishlog(*logged, "--set", "note=0").status == 0
    for number, now in enumerate(
        ("2026-06-16T02:00:00-05:00", "2027-05-01T07:00:00-05:00", "2028-05-01T07:00:00-05:00"), 1
    ):
        monkeypatch.setenv("FINISHLOG_NOW", now)
        assert finishlog(*logged, "--at", "2026-06-16", "--set", f"note={number}").status == 0


@pytest.mark.parametrize(
    ("cement", "asked"), [("1.350 lb", True), ("1350", True), ("6", True), ("564", False), ("376", False)]
)
def test_a_cement_no_mix_has_is_asked(finishlog: Run, log: Path, cement: str, asked: bool) -> None:
    load = (
        "--log",
        str(log),
        "record",
        shop.JOB,
        "load",
        "--at",
        "2026-06-16 07:00",
        "--set",
        "yards=5",
        "--set",
        "area=all",
    )
    ran = finishlog(*load, "--set", f"cement_lb_per_yd3={cement}", "--json")
    assert ("of cement: a mix has 200 to 1200" in ran.err) == asked, ran
    plan = finishlog(
        "--log", str(log), "match", shop.JOB, "--rect", "9x9", "--depth", "4in", "--cement", cement
    )
    assert ("of cement: a mix has" in " ".join((plan.out + plan.err).split())) == asked, plan
    dose = finishlog("dose", "--yards", "6", "--percent", "4", "--cement", cement)
    assert ("of cement: a mix has" in " ".join(dose.out.split())) == asked


# this machine's settings


def _pipe(path: Path) -> None:
    os.mkfifo(path)


def _huge(path: Path) -> None:
    path.touch()
    os.truncate(path, 2**30)


def _endless(path: Path) -> None:
    path.symlink_to("/dev/zero")


BAD_SETTINGS: dict[str, Callable[[Path], object]] = {
    "pipe": _pipe,
    "folder": Path.mkdir,
    "huge": _huge,
    "endless": _endless,
    "binary": lambda path: path.write_bytes(bytes(range(256))),
    "deep": lambda path: path.write_text("a=" + "[" * 50_000),
}


@pytest.mark.parametrize("how", BAD_SETTINGS)
def test_settings_of_any_kind_neither_hang_nor_stop_the_program(tmp_path: Path, how: str) -> None:
    """In a process of its own: a pipe hung it for ever."""
    path = tmp_path / "settings.toml"
    BAD_SETTINGS[how](path)
    code = "import sys, pathlib; from finishlog import settings; print(settings.read(pathlib.Path(sys.argv[1]))[1])"
    done = subprocess.run(
        [sys.executable, "-c", code, str(path)], capture_output=True, text=True, timeout=20, check=True
    )
    assert done.stdout.startswith("settings.toml cannot be read: ")
    assert done.stdout.count("\n") == 1
    settings.write(path, settings.Machine(theme="full-sun"))
    assert settings.read(path) == (settings.Machine(theme="full-sun"), "")


# disks


def test_a_new_log_on_a_full_disk_is_said(
    finishlog: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(part: Path) -> None:
        raise OperationalError("", {}, _full())

    monkeypatch.setattr(upgrade, "make", full)
    refused(finishlog("new", str(tmp_path / "a.finishlog")), "The disk is full", "a.finishlog", status=3)
    assert list(tmp_path.iterdir()) == []


def _full() -> sqlite3.OperationalError:
    error = sqlite3.OperationalError("database or disk is full")
    error.sqlite_errorname = "SQLITE_FULL"
    return error


@pytest.mark.parametrize("kept", [False, True])
def test_a_photo_goes_where_its_commit_fails_and_stays_where_it_did_not(
    log: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, kept: bool
) -> None:
    """A commit may fail and be kept all the same: the log itself says which files it names."""
    opened = Log.open(log, clock=lambda: datetime.now(UTC), new_uid=lambda: "uid-new-1")
    before = sorted(path for path in Path(f"{log}.files").rglob("*") if path.is_file())
    picture = tmp_path / "new.txt"
    picture.write_text("a new ticket")
    commit, failing = RootTransaction.commit, [True]

    def fails(self: RootTransaction) -> None:
        if kept or not failing:
            commit(self)
        if failing and failing.pop():
            raise OperationalError("", {}, _full())

    monkeypatch.setattr(RootTransaction, "commit", fails)
    with pytest.raises(LogError, match="disk is full"), opened.writing() as writer:
        writer.add_entry(
            shop.JOB, NewEntry("note", datetime.now(UTC) - timedelta(days=1), files=(NewFile(picture),))
        )
    left = [path for path in Path(f"{log}.files").rglob("*") if path.is_file() and path not in before]
    assert len(left) == kept
    report = opened.check()
    assert (report.problems, report.notes[:1] if "No entry names" in " ".join(report.notes) else ()) == (
        (),
        (),
    )
    opened.close()
