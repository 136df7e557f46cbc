"""What every command owes whoever calls it: one clear line, the right exit status, no traceback."""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.conftest import Ran

Run = Callable[..., Ran]
REFERENCE = "bogglethwaite-front-yard"
YARDS = ("yards", "--rect", "24x18", "--depth", "4in", "--no-history")
FULL = Path("/dev/full")


def refused(ran: Ran, status: int) -> str:
    """The one line of a refusal."""
    assert ran.status == status, ran.err
    assert ran.out == ""
    (line,) = ran.err.splitlines()
    assert line.startswith("finishlog: ")
    return line


def real(*argv: str, **how: object) -> subprocess.CompletedProcess[str]:
    """The command as its own process: only that has an end of its own."""
    command = [sys.executable, "-m", "finishlog", *argv]
    streams = {"stdin": subprocess.DEVNULL, "stderr": subprocess.PIPE, "text": True, "timeout": 60}
    return subprocess.run(command, check=False, **{**streams, **how})  # type: ignore[call-overload,no-any-return]


@pytest.mark.parametrize(
    "argv",
    [
        ("yards", "--rect=24x18", "--depth=--"),
        ("yards", "--rect=--", "--depth=4in"),
        ("dose", "--yards=6", "--percent=--"),
        ("find", "--since=--"),
        ("find", "--limit=--"),
        ("match", REFERENCE, "--lot=--"),
        ("--log=--", "find"),
    ],
)
def test_two_hyphens_are_no_value(finishlog: Run, demo: str, argv: tuple[str, ...]) -> None:
    """argparse of Python 3.11 makes an empty list of `--depth=--`."""
    line = refused(finishlog(*(() if argv[0].startswith("--log") else ("--log", demo)), *argv), 2)
    assert "Two hyphens" in line


def test_after_the_end_of_the_options_hyphens_are_words(finishlog: Run, demo: str) -> None:
    assert finishlog("--log", demo, "find", "--json", "--", "--since=--").json() == []


@pytest.mark.parametrize(
    "argv", [("new", ""), ("demo", "--into", ""), ("backup", ""), ("import", ""), ("--log", "", "find")]
)
def test_an_empty_path_is_none(finishlog: Run, argv: tuple[str, ...]) -> None:
    assert "path is empty" in refused(finishlog(*argv), 2)
    assert not Path(os.environ["XDG_DATA_HOME"]).exists()


@pytest.mark.parametrize("now", ["0001-01-01T00:00+14:00", "9999-12-31T23:59Z", "1899-12-31T00:00Z"])
def test_a_clock_out_of_range(finishlog: Run, demo: str, monkeypatch: pytest.MonkeyPatch, now: str) -> None:
    monkeypatch.setenv("FINISHLOG_NOW", now)
    assert "FINISHLOG_NOW" in refused(finishlog("--log", demo, "match", REFERENCE, "--rect", "3x3"), 2)


def test_what_was_typed_without_end_is_said_in_short(finishlog: Run, demo: str) -> None:
    line = refused(finishlog("--log", demo, "match", REFERENCE, "--rect", "3x3", f"--{'a' * 100_000}"), 2)
    assert len(line) < 500
    line = refused(finishlog("--log", demo, "match", REFERENCE, "--rect", "3x3", "--round", "@ " * 50_000), 2)
    assert len(line) < 2000


@pytest.mark.parametrize("option", ["--area", "--plant", "--cement-kind", "--lot", "--maker", "--save"])
def test_a_name_of_100000_characters(finishlog: Run, demo: str, option: str) -> None:
    ran = finishlog("--log", demo, "match", REFERENCE, "--rect", "3x3", option, "a" * 100_000)
    assert refused(ran, 2).startswith(f"finishlog: {option}: ")


def test_a_blank_depth_is_not_the_old_slabs(finishlog: Run, demo: str) -> None:
    assert "--depth" in refused(finishlog("--log", demo, "match", REFERENCE, "--rect", "3x3", "--depth="), 2)


def test_without_a_terminal_there_are_no_screens(demo: str) -> None:
    ran = real("--log", demo, stdout=subprocess.PIPE)
    assert ran.returncode == 2
    assert ran.stdout == ""
    assert ran.stderr.count("\n") == 1
    assert "not a terminal" in ran.stderr


@pytest.mark.skipif(not FULL.exists(), reason="this system has no /dev/full")
@pytest.mark.parametrize("argv", [YARDS, (*YARDS, "--json"), ("import", "--template")])
def test_a_full_disk_behind_standard_output(argv: tuple[str, ...]) -> None:
    with FULL.open("w") as full:
        ran = real(*argv, stdout=full)
    assert ran.returncode == 1
    assert ran.stderr == "finishlog: Could not write the answer: No space left on device.\n"


@pytest.mark.skipif(not FULL.exists(), reason="this system has no /dev/full")
def test_a_full_disk_behind_standard_error_changes_no_status() -> None:
    with FULL.open("w") as full:
        assert real("yards", stdout=subprocess.PIPE, stderr=full).returncode == 2


@pytest.mark.parametrize("argv", [YARDS, ("import", "--template"), ("--help",)])
def test_a_reader_that_leaves_early(argv: tuple[str, ...]) -> None:
    reading, writing = os.pipe()
    os.close(reading)
    try:
        ran = real(*argv, stdout=writing)
    finally:
        os.close(writing)
    assert (ran.returncode, ran.stderr) == (0, "")


@pytest.mark.parametrize(
    "argv", [("yards",), ("import", "--template"), pytest.param(("demo",), marks=pytest.mark.long), YARDS]
)
def test_closed_streams(argv: tuple[str, ...]) -> None:
    shell = 'exec "$@" <&- >&- 2>&-'
    command = ["sh", "-c", shell, "sh", sys.executable, "-m", "finishlog", *argv]
    assert subprocess.run(command, check=False, timeout=60).returncode == (2 if argv == ("yards",) else 0)


def test_a_fault_of_ours_is_one_line(finishlog: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    def fail(*_: object) -> None:
        raise RuntimeError("\x1b[31mred\u202e")

    monkeypatch.setattr("finishlog.desk.bench.yards.yards", fail)
    monkeypatch.delenv("FINISHLOG_TRACEBACK")
    line = refused(finishlog(*YARDS), 1)
    assert "RuntimeError: \\x1b[31mred\\u202e (test_manners.py, line " in line
    monkeypatch.setenv("FINISHLOG_TRACEBACK", "1")
    with pytest.raises(RuntimeError):
        finishlog(*YARDS)


def test_a_folder_of_ours_that_cannot_be_made(
    finishlog: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "data").write_text("a file")
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    assert "cannot be made" in refused(finishlog("new"), 3)


@pytest.mark.parametrize("argv", [("find",), ("new",), ("import", "pours.csv", "--new")])
def test_the_home_of_somebody_unknown(finishlog: Run, tmp_path: Path, argv: tuple[str, ...]) -> None:
    sheet = tmp_path / "pours.csv"
    sheet.write_text("customer,poured_on\nBo,2025-05-14\n")
    words = [str(sheet) if word == "pours.csv" else word for word in argv]
    assert "No such home" in refused(finishlog("--log", "~nobody-of-that-name/x.finishlog", *words), 3)


def test_a_file_that_opens_and_cannot_be_read(finishlog: Run, demo: str) -> None:
    memory = Path("/proc/self/mem")
    if not memory.exists():
        pytest.skip("this system has no /proc/self/mem")
    assert str(memory) in refused(finishlog("--log", demo, "import", str(memory)), 2)


@pytest.mark.parametrize(
    ("words", "job"),
    [
        ("wilhelmina", REFERENCE),
        ("wilhelmna boglethwaite", REFERENCE),
        ("Tumbledown Lane", "pilchpenny-front-steps"),
        ("bogglethwaite-frnt-yard", REFERENCE),
        ("mumblethorpe-porchh", "mumblethorpe-porch"),
    ],
)
def test_a_job_that_is_none_names_what_may_be_meant(finishlog: Run, demo: str, words: str, job: str) -> None:
    assert job in refused(finishlog("--log", demo, "show", words), 2)


@pytest.mark.parametrize("words", ["", "zzzzqqq", '"', "🙂"])
def test_a_job_like_no_other(finishlog: Run, demo: str, words: str) -> None:
    assert "no such handle" in refused(finishlog("--log", demo, "show", words), 2)


def test_two_long_shades_make_one_recipe(finishlog: Run, tmp_path: Path) -> None:
    """What the sheet's check lets pass, the log must take."""
    sheet = tmp_path / "pours.csv"
    sheet.write_text(
        f"customer,street,poured_on,base,release\nBo,1 Lane,2025-05-14,{'b' * 200},{'r' * 200}\n"
    )
    words = ("--log", str(tmp_path / "shop.finishlog"), "import", str(sheet), "--new")
    assert finishlog(*words, "--check").status == 0
    assert finishlog(*words).status == 0
