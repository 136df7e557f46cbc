"""What a careless or hostile hand may do with the commands of color and of the office: each was a fault once."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable
from pathlib import Path

import pytest

from finishlog.trade.due import put_off_until
from finishlog.trade.upkeep.care import day_of
from tests.conftest import Ran
from tests.desk.photo_making import jpeg

Run = Callable[..., Ran]
JOB = "wobblestone-back-patio"


_MADE: dict[str, bytes] = {}


@pytest.fixture
def run(finishlog: Run, tmp_path: Path) -> Run:
    """The command line on a log with one job, poured in spring; made once, since migrations take their time."""
    log = tmp_path / "shop.finishlog"

    def on_log(*argv: str) -> Ran:
        return finishlog("--log", str(log), *argv)

    if not _MADE:
        assert on_log("new").status == 0
        assert on_log("job", "new", "--customer", "Prudence Wobblestone", "--handle", JOB).status == 0
        assert on_log("record", JOB, "pour", "--at", "2026-03-02 10a").status == 0
        assert on_log("record", JOB, "seal", "--at", "2026-04-02 10a").status == 0
        _MADE["log"] = log.read_bytes()
    log.write_bytes(_MADE["log"])
    return on_log


def refused(ran: Ran, *words: str, status: int = 2) -> None:
    assert (ran.status, ran.out, ran.err.count("\n")) == (status, "", 1), ran
    assert all(word in ran.err for word in words), ran.err


# files


def test_force_never_writes_over_a_log(run: Run, tmp_path: Path) -> None:
    log = tmp_path / "shop.finishlog"
    other = tmp_path / "ledger.db"
    with sqlite3.connect(other) as made:
        made.execute("CREATE TABLE t (a)")
    for target in (log, other):
        before = target.read_bytes()
        for argv in (("care", "--ics"), ("care", "--csv"), ("sheet", JOB, "customer", "--pdf")):
            refused(run(*argv, str(target), "--force"), "is a log", "Like ")
        assert target.read_bytes() == before
    assert run("check").status == 0


def test_two_reminders_do_not_share_a_file(run: Run, tmp_path: Path) -> None:
    out = tmp_path / "out"
    refused(
        run("care", "--ics", str(out), "--csv", f"{tmp_path}/./out", "--force"),
        "--csv",
        "already used for --ics",
    )
    assert not out.exists()


def test_a_template_that_is_there_is_not_said_to_take_force(run: Run, tmp_path: Path) -> None:
    target = tmp_path / "samples.csv"
    target.write_text("mine")
    ran = run("blend", "--template", str(target), "--pigments", "Rust,Straw")
    refused(ran, "already exists")
    assert "--force" not in ran.err
    refused(run("blend", "--template", "no/such/x.csv", "--pigments", "Rust"), "Like --template samples.csv")


# what was said is heeded or refused, never dropped


@pytest.mark.parametrize(
    ("argv", "words"),
    [
        (("care", "--plan", "--ics", "never.ics"), "writes no file"),
        (("care", "--plan", "--force"), "writes no file"),
        (("care", JOB, "--on", "2026-08-14"), "What was done"),
        (("care", JOB, "--note", "hi"), "What was done"),
        (("care", JOB, "contacted", "--per-week", "3"), "by itself"),
        (("care", JOB, "contacted", "--force"), "by itself"),
        (("today", "--ahead", JOB, "--by", "2026-08-14"), "--ahead alone"),
        (("today", "--ahead", JOB, "--not-for", JOB, "joint"), "--ahead alone"),
        (("today", "--not-for", JOB, "joint", "--all"), "for the list"),
        (("shelf", "moves", "Otter Back"), "PRODUCT"),
        (("shelf", "--lot", "0329"), "--lot"),
        (("shelf", "cost", "--amount", "3 lb"), "--amount"),
        (("shelf", "undo", "--note", "why"), "--note"),
    ],
)
def test_an_option_that_is_not_heeded_is_refused(run: Run, argv: tuple[str, ...], words: str) -> None:
    before = run("find", "--json").out
    refused(run(*argv), words, "Like ")
    assert run("find", "--json").out == before


def test_photo_alone_names_the_days_where_several_are_due(run: Run) -> None:
    refused(
        run("today", "--not-for", JOB, "photo"), "More than one photo", "photo 14", "photo 28", "Like photo"
    )
    assert "day 14" in run("today", "--not-for", JOB, "photo 14").out


# days outside the calendar


@pytest.mark.parametrize(
    "until", ["9999-12-31T23:59:59-12:00", "9999-12-31", "0001-01-01T00:00", "zzz", "NaN"]
)
def test_a_put_off_is_until_a_day(run: Run, until: str) -> None:
    wrong = ("--set", "what=photo", "--set", "age_days=28", "--set", f"until={until}")
    refused(run("record", JOB, "put_off", *wrong), "does not fit Until", "Like 2026-08-14")
    assert run("today").status == 0


@pytest.mark.parametrize("on", ["9999-12-31", "0001-01-01", "2026-13-01", "2027-02-29", "zzz"])
def test_a_booking_is_for_a_day(run: Run, on: str) -> None:
    refused(
        run("record", JOB, "care", "--set", "state=booked", "--set", f"on={on}"),
        "does not fit On",
        "Like 2026",
    )


def test_a_booking_may_be_said_as_days_are(run: Run) -> None:
    kept = run("record", JOB, "care", "--set", "state=booked", "--set", "on=Aug 14 2026")
    assert "2026-08-14" in kept.out


def test_a_put_off_ends_with_the_calendar_and_says_its_year(run: Run) -> None:
    refused(run("today", "--put-off", JOB, "photo 180", "--until", "in 99999 days"), "--until", "2199")
    refused(run("today", "--put-off", JOB, "photo 180", "--until", "tomorrow 25:00"), "--until:")
    assert "Jan 4, 2027" in run("today", "--put-off", JOB, "photo 180", "--until", "2027-01-04").out


def test_a_camera_at_the_end_of_time_is_asked_about_and_holds_up_no_other(run: Run, tmp_path: Path) -> None:
    folder = tmp_path / "phone"
    folder.mkdir()
    (folder / "a.jpg").write_bytes(jpeg("9999:12:31 23:59:59", "-12:00", seed=1))
    (folder / "b.jpg").write_bytes(jpeg("2026:06:15 09:00:00", "-05:00", seed=2))
    done = run("photo", JOB, str(folder), "--json").json()
    assert [kept["file"] for kept in done["kept"]] == ["b.jpg"]
    [asked] = done["asked"]
    assert asked["file"] == "a.jpg"
    assert "clock was never set" in asked["doubts"][0]


def test_what_an_older_program_kept_of_such_days_puts_nothing_off() -> None:
    for text in ("9999-12-31T23:59:59-12:00", "0001-01-01T00:00+14:00", "zzz"):
        assert put_off_until(text) is None
    assert day_of("9999-12-31") is None


def test_a_name_with_half_a_character_is_no_photo(run: Run, tmp_path: Path) -> None:
    ran = run("photo", JOB, str(tmp_path / "\ud800.jpg"))
    assert ran.status == 2
    assert "No photos added" in ran.err


def test_a_photos_time_is_named_by_its_option(run: Run, tmp_path: Path) -> None:
    (tmp_path / "a.jpg").write_bytes(jpeg())
    refused(run("photo", JOB, str(tmp_path / "a.jpg"), "--taken", "NaN"), "taken: ", "Like ")


# people


@pytest.mark.parametrize(
    "email", ["o@example.com\nBcc: x@example.com", "o@example.com\r\nX: y", "\x1b@example.com", "no at sign", "@",
              "o@", "o@a@example.com", "o@example.com, p@example.com"],
)  # fmt: skip
def test_an_e_mail_is_one_address_in_one_line(run: Run, email: str) -> None:
    for argv in (
        ("job", "customer", JOB, f"--email={email}"),
        ("job", "new", "--customer", "Barnaby Crumpet", f"--email={email}"),
        ("job", "owner", JOB, "Barnaby Crumpet", f"--email={email}"),
    ):
        refused(run(*argv), "email: ", "Like ottoline@example.com")
    refused(run("job", "customer", JOB, "--phone=555-0100\n555-0101"), "phone: ", "line break")
    assert len(run("find", "--json").json()) == 1
    assert "ö@example.com" in run("job", "customer", JOB, "--email=ö@example.com").out


@pytest.mark.parametrize("bad", ["", "   ", "\ud800", "a\udcff", "a\0b"])
def test_a_merge_needs_two_names(run: Run, bad: str) -> None:
    refused(run("job", "merge", bad, JOB), "double: ", "Like Ottoline Quillfeather")
    refused(run("job", "merge", JOB, bad), "keep: ", "Like Ottoline Quillfeather")
    refused(run("job", "customer", bad, "--phone", "555-0100"), "customer: ", "Like Ottoline Quillfeather")


def test_a_job_that_is_not_there_is_refused_with_one_that_is(run: Run) -> None:
    for name in ("", "0x10", "\ud800", "'; drop table job;--"):
        refused(run("color", name), "No job", f"Like {JOB}.")


# weather, blend


def test_limits_of_a_sealer_that_leave_nothing(run: Run) -> None:
    at = ("weather", "--seal", JOB, "--air", "70", "--humidity", "50", "--slab", "70")
    refused(run(*at, "--sealer-low", "90F", "--sealer-high", "50F"), "--sealer-low", "No slab")
    refused(run("weather", "--air", "80F", "--humidity", "130"), "Like 50 %.")


@pytest.mark.parametrize(
    ("header", "words"),
    [
        ("sample,Rust", "no column L"),
        ("sample,Rust,rust,L,a,b", "is in the header twice"),
        ("sample,Rust %,Rust,L,a,b", "is in the header twice"),
    ],
)
def test_a_samples_header_must_be_a_samples_header(run: Run, tmp_path: Path, header: str, words: str) -> None:
    sheet = tmp_path / "s.csv"
    cells = ["1"] * len(header.split(","))
    sheet.write_text(f"{header}\n{','.join(cells)}\n")
    ran = run("blend", "--target", "58,9,17", "--samples", str(sheet))
    refused(ran, words, "Like ")
    assert "import" not in ran.err


@pytest.mark.parametrize("pigments", ["L,Rust", "Rust,cement", "Rust,rust", "Rust,Rust %"])
def test_a_template_can_be_read_back(run: Run, tmp_path: Path, pigments: str) -> None:
    target = tmp_path / "t.csv"
    refused(run("blend", "--template", str(target), "--pigments", pigments), "--pigments", "already")
    assert not target.exists()


def test_a_sheet_of_entries_without_its_times_is_known_as_one(run: Run, tmp_path: Path) -> None:
    sheet = tmp_path / "entries.csv"
    sheet.write_text(f"job,kind,note\n{JOB},note,hello\n")
    refused(run("import", str(sheet)), "no column at")
