"""`match … --pdf` and `sheet`, as a person or another program calls them."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Callable
from importlib.resources import files
from pathlib import Path

import pytest

from tests.conftest import Ran
from tests.papers import reading
from tests.papers.conftest import REFERENCE

Run = Callable[..., Ran]
PLAN = ("match", REFERENCE, "--rect", "20x12", "--on", "2027-04-12")


def test_match_writes_its_sheet_and_says_where(finishlog: Run, demo: str, tmp_path: Path) -> None:
    target = tmp_path / "plan.pdf"
    ran = finishlog("--log", demo, *PLAN, "--pdf", str(target))
    assert (ran.status, ran.err) == (0, "")
    assert ran.out.rstrip().endswith(f"PDF saved to {target}.")
    assert [page.split()[:2] for page in reading.pages(target.read_bytes())] == [["Match", "sheet"]] * 2
    assert reading.reader(target.read_bytes()).metadata.creation_date_raw == "D:20260616074000-05'00'"


@pytest.mark.parametrize(
    ("sheet", "titles"),
    [("batch", ["Batch"]), ("daycard", ["Day"]), ("all", ["Match", "Match", "Batch", "Day"])],
)
def test_the_sheets_by_name(finishlog: Run, demo: str, tmp_path: Path, sheet: str, titles: list[str]) -> None:
    target = tmp_path / "plan.pdf"
    answer = finishlog(
        "--log", demo, *PLAN, "--pdf", str(target), "--sheet", sheet, "--paper", "a4", "--json"
    ).json()
    assert answer["pdf"] == str(target)
    assert [page.split()[0] for page in reading.pages(target.read_bytes())] == titles


def test_without_pdf_the_answer_has_none(finishlog: Run, demo: str) -> None:
    assert finishlog("--log", demo, *PLAN, "--json").json()["pdf"] is None


@pytest.mark.parametrize("option", [("--sheet", "batch"), ("--paper", "a4"), ("--force",)])
def test_options_of_paper_need_a_file(finishlog: Run, demo: str, option: tuple[str, ...]) -> None:
    ran = finishlog("--log", demo, *PLAN, *option)
    assert ran.status == 2
    assert "--pdf" in ran.err
    assert ran.err.count("\n") == 1


def test_a_file_in_the_way_stops_the_plan_from_being_kept(finishlog: Run, demo: str, tmp_path: Path) -> None:
    target = tmp_path / "plan.pdf"
    target.write_text("old")
    before = len(finishlog("--log", demo, "find", "--json").json())
    ran = finishlog("--log", demo, *PLAN, "--save", "back yard", "--pdf", str(target))
    assert (ran.status, ran.out) == (2, "")
    assert "already exists" in ran.err
    assert ran.err.count("\n") == 1
    assert target.read_text() == "old"
    assert len(finishlog("--log", demo, "find", "--json").json()) == before
    assert finishlog("--log", demo, *PLAN, "--pdf", str(target), "--force").status == 0
    assert target.read_bytes().startswith(b"%PDF")


def test_a_full_disk_keeps_neither_sheet_nor_plan(
    finishlog: Run, demo: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from finishlog import private

    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(private, "write", full)
    before = len(finishlog("--log", demo, "find", "--json").json())
    ran = finishlog("--log", demo, *PLAN, "--save", "back yard", "--pdf", str(tmp_path / "plan.pdf"))
    assert ran.status == 3
    assert "The disk is full." in ran.err
    assert len(finishlog("--log", demo, "find", "--json").json()) == before
    assert not list(tmp_path.glob("*.pdf"))
    assert not list(tmp_path.glob(".finishlog*"))


def test_a_plan_that_fails_leaves_no_sheet(finishlog: Run, demo: str, tmp_path: Path) -> None:
    ran = finishlog("--log", demo, *PLAN[:2], "--rect", "20xtwelve", "--pdf", str(tmp_path / "plan.pdf"))
    assert ran.status == 2
    assert not list(tmp_path.glob("*.pdf"))


def test_a_kept_plan_has_its_sheets_under_its_own_name(finishlog: Run, demo: str, tmp_path: Path) -> None:
    first, later = tmp_path / "first.pdf", tmp_path / "later.pdf"
    saved = finishlog(
        "--log", demo, *PLAN, "--cement", "564", "--lot", "W-391", "--probe", "1/4in", "--save", "back yard",
        "--pdf", str(first), "--sheet", "batch", "--json",
    ).json()["saved_as"]  # fmt: skip
    answer = finishlog("--log", demo, "sheet", saved, "batch", "--pdf", str(later), "--json").json()
    assert answer == {"job": saved, "sheet": "batch", "file": str(later)}
    assert "front yard → back yard" in reading.text(first.read_bytes())
    assert first.read_bytes() == later.read_bytes()


@pytest.mark.parametrize("sheet", ["match", "batch", "daycard"])
def test_a_kept_plan_is_printed_as_it_was_given(
    finishlog: Run, demo: str, tmp_path: Path, sheet: str
) -> None:
    """The shop's waste is another by now: the order that was given stands."""
    from finishlog import wiring

    given = finishlog("--log", demo, *PLAN, "--save", "back yard", "--json").json()
    services = wiring.build(demo)
    with services.log().writing() as log:
        log.set_setting("waste_percent", "20")
    services.close()
    ran = finishlog("--log", demo, "sheet", given["saved_as"], sheet, "--pdf", str(tmp_path / "sheet.pdf"))
    assert ran.status == 0
    printed = reading.text((tmp_path / "sheet.pdf").read_bytes())
    assert f"{given['concrete']['order_yd3']:.2f} yd³" in printed
    assert (
        finishlog("--log", demo, *PLAN, "--json").json()["concrete"]["order_yd3"]
        > given["concrete"]["order_yd3"]
    )


@pytest.mark.parametrize("name", ["customer", "history"])
def test_a_job_s_sheet(finishlog: Run, demo: str, tmp_path: Path, name: str) -> None:
    target = tmp_path / "sheet.pdf"
    ran = finishlog("--log", demo, "sheet", "bogglethwaite-f", name, "--pdf", str(target))
    assert (ran.status, ran.out, ran.err) == (0, f"Sheet saved to {target}.\n", "")
    assert "Wilhelmina Bogglethwaite" in reading.text(target.read_bytes())


@pytest.mark.parametrize(
    "argv",
    [
        (REFERENCE, "batch", "--pdf", "new.pdf"),
        (REFERENCE, "poster", "--pdf", "new.pdf"),
        (REFERENCE, "customer"),
        ("nobody-here", "customer", "--pdf", "new.pdf"),
        (REFERENCE, "customer", "--pdf", "no/such/folder/new.pdf"),
        (REFERENCE, "customer", "--pdf", "new.pdf", "--paper", "legal"),
    ],
)
def test_what_cannot_be_says_so_in_one_line(
    finishlog: Run, demo: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, argv: tuple[str, ...]
) -> None:
    monkeypatch.chdir(tmp_path)
    ran = finishlog("--log", demo, "sheet", *argv)
    assert (ran.status, ran.out) == (2, "")
    assert ran.err.count("\n") == 1
    assert not list(tmp_path.glob("*.pdf"))


@pytest.mark.parametrize(
    "code",
    [
        "import finishlog.cli.plan.sheet, finishlog.cli.plan.match, finishlog.papers.make, finishlog.papers.files",
        "from finishlog.__main__ import main; main(['--log', {demo!r}, 'match', {reference!r}, '--rect', '9x9'])",
    ],
)
def test_the_pdf_library_waits_until_a_sheet_is_made(demo: str, code: str) -> None:
    code = code.format(demo=demo, reference=REFERENCE)
    tail = "\nimport sys; print('LOADED', *[m for m in ('fpdf', 'fontTools') if m in sys.modules])"
    done = subprocess.run([sys.executable, "-c", code + tail], capture_output=True, text=True, check=True)
    assert done.stdout.rsplit("LOADED", 1)[1].split() == []


def test_the_font_travels_with_its_license() -> None:
    fonts = files("finishlog").joinpath("data/fonts")
    names = {each.name for each in fonts.iterdir()}
    assert {"DejaVuSansCondensed.ttf", "DejaVuSansCondensed-Bold.ttf", "LICENSE"} <= names
    assert "Permission is hereby granted" in fonts.joinpath("LICENSE").read_text(encoding="utf-8")
