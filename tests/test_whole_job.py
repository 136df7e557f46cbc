"""A whole job: field, border and stairs, two loads and a balance load, one truck over two areas,
corrections, a signed sample, a claim. Through the command line, through the desks that the forms
call, by a sheet, and back from an export: the logs hold the same.
"""

from __future__ import annotations

import csv
import io
import json
import shlex
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from finishlog.desk.jobs import edit
from finishlog.desk.record import record
from finishlog.desk.services import Services
from tests.conftest import Ran

Run = Callable[..., Ran]
JOB = "quagmire-terrace"

STORY = """
2026-06-03T18:00 job new --customer "Quagmire & Daughters [/b]" --phone 555-0117 --street "9 Puddle Row" --town Mudford --job terrace --areas "field 24x18 4in, border 76 ft2 4in, stairs 40 ft2 6in" --buried "gas line, 18 in, along the fence"
2026-06-04T07:40 record JOB load --at "2026-06-04 7:30a" --by Moss --set ticket=T-1 --set yards=4 --set returned_yd3=0 --set dumped_yd3=0 --product "Old Toast" --maker "Crumb & Co" --lot T-88 --amount "48 lb" --set slump_in=4.5 --set plant="Mudford plant" --set mix_number=M-4 --set cement_lb_per_yd3=480 --set scm_lb_per_yd3=84 --set cement_kind="Type I/II" --area field
2026-06-04T08:40 record JOB load --at "2026-06-04 8:30a" --by Moss --set ticket=T-2 --set yards=3 --set returned_yd3=0 --set dumped_yd3=0 --product "Old Toast" --maker "Crumb & Co" --lot T-88 --amount "33 lb" --map "field=2, border=1" --set plant="Mudford plant" --set mix_number=M-4 --set cement_lb_per_yd3=480 --set scm_lb_per_yd3=84 --set cement_kind="Type I/II"
2026-06-04T10:10 record JOB load --at "2026-06-04 10a" --by Moss --set ticket=T-3 --set yards=2 --set returned_yd3=1/2 --set dumped_yd3=0 --set is_balance=yes --product "Old Toast" --maker "Crumb & Co" --lot T-91 --amount "24 lb" --area stairs --set plant="Mudford plant" --set mix_number=M-4 --set cement_lb_per_yd3=480 --set scm_lb_per_yd3=84 --set cement_kind="Type I/II"
2026-06-04T11:30 record JOB pour --at "2026-06-04 11:20a" --by Moss --area all
2026-06-04T11:40 record JOB powder_release --about "2026-06-04 11:30a" --by Fern --product "Wet Hen" --maker "Crumb & Co" --lot H-7 --amount "16 lb" --area field
2026-06-04T12:30 record JOB stamp --about "2026-06-04 noon" --by Fern --area field --set pattern="ashlar slate"
2026-06-04T13:00 record JOB sample --at "2026-06-04 1p" --by Fern --set load=1 --set size="2x2 ft" --set half_sealed=yes --set kept_where="by the mixer"
2026-06-04T18:00 record JOB load --replaces 2 --set amount="36 lb"
2026-06-05T14:00 record JOB rinse --at "2026-06-05 1:20p" --by Fern --area field --set release_left_percent=20 --set pressure_psi=2000 --set swept=no
2026-07-03T09:00 record JOB reading --at "2026-07-03 9a" --by Moss --area field --set color=61,5,16
2026-07-03T09:05 record JOB approval --at "2026-07-03 9:05a" --by Moss --set sample=1 --set signed_by="Ada Quagmire" --set approved=yes
2026-07-04T09:00 record JOB seal --at "2026-07-04 8a" --by Fern --area field --product "Slow Duck 25" --amount "2 gal"
2026-08-01T09:00 record JOB claim --at "2026-08-01 9a" --by Moss --set complaint="the stairs look lighter" --set cause="another lot in the balance load"
2026-08-02T19:00 record JOB color_hardener --about "2026-06-04 9a" --by Fern --area border --product "Bread Crust" --amount "46 lb" --lot B-2
2026-08-02T19:02 record JOB liquid_release --about "2026-06-04 11:30a" --area stairs --product "Slick Eel" --amount "0.25 gal"
2026-08-02T19:04 record JOB bag_mix --at "2026-06-20" --area border --product "Thin Pelt" --amount "2 bags" --set water_per_bag_gal=1.25
2026-08-05T10:00 record JOB antiquing_wash --at "2026-08-05 9a" --by Fern --area stairs --product "Dark Broth" --amount "20 fl oz" --note "two panels first"
2026-08-05T10:05 record JOB stain --at "2026-08-05 9:30a" --by Fern --area border --product "Rust Water" --amount "1 gal" --because "the border was sealed by nobody"
2026-08-07T09:00 record JOB seal --at "2026-08-07 8a" --by Fern --area stairs --product "Slow Duck 25" --amount "1 qt" --set number=1 --set area_ft2=40
2026-08-09T09:00 record JOB claim --replaces 13 --set action="antiquing wash on the stairs" --set settled=yes
"""  # noqa: E501


def steps() -> Iterator[tuple[str, list[str]]]:
    for line in STORY.strip().splitlines():
        moment, command = line.split(" ", 1)
        yield f"{moment}:00-05:00", shlex.split(command.replace("JOB", JOB, 1))


@pytest.fixture(scope="module")
def told_once(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Where the story is told once; each test has a copy of its log."""
    return tmp_path_factory.mktemp("story") / "commands.finishlog"


@pytest.fixture
def by_command(finishlog: Run, monkeypatch: pytest.MonkeyPatch, told_once: Path, tmp_path: Path) -> str:
    with monkeypatch.context() as patch:
        _tell(finishlog, patch, str(told_once))
    monkeypatch.setenv("FINISHLOG_NOW", [moment for moment, _ in steps()][-1])
    return str(shutil.copy(told_once, tmp_path))


def _tell(finishlog: Run, monkeypatch: pytest.MonkeyPatch, log: str) -> None:
    if Path(log).exists():
        return
    monkeypatch.setenv("FINISHLOG_NOW", "2026-06-01T08:00:00-05:00")
    assert finishlog("new", log).status == 0
    for moment, argv in steps():
        monkeypatch.setenv("FINISHLOG_NOW", moment)
        extra = ["--handle", JOB] if argv[0] == "job" else []
        ran = finishlog("--log", log, *argv, *extra, "--json")
        assert ran.status == 0, (argv, ran.err)


def exported(finishlog: Run, log: str, folder: Path) -> dict[str, Any]:
    ran = finishlog("--log", log, "export", str(folder))
    assert ran.status == 0, ran.err
    data: dict[str, Any] = json.loads((folder / "finishlog.json").read_text())
    return data


def contents(folder: Path) -> dict[str, bytes]:
    return {str(p.relative_to(folder)): p.read_bytes() for p in sorted(folder.rglob("*")) if p.is_file()}


def test_what_the_log_says_of_it(finishlog: Run, by_command: str) -> None:
    shown = finishlog("--log", by_command, "show", JOB, "--json").json()
    placed = {area["area"]: area for area in shown["as_placed"]}
    assert placed["field"]["dose_lb_per_yd3"] == 12  # 48 lb in 4 yd and, corrected, 2/3 of 36 lb in 2 yd
    assert placed["border"]["dose_lb_per_yd3"] == 12
    assert (placed["stairs"]["dose_lb_per_yd3"], placed["stairs"]["balance_loads"]) == (12, 1)
    assert placed["stairs"]["placed_yd3"] == 1.5
    assert placed["field"]["rinse_age_h"] == 26
    record = shown["record"]
    assert len(record["history"]) == len(record["entries"]) + 2
    assert [e["claim"]["settled"] for e in record["entries"] if e["claim"]] == [True]
    assert [e["approval"]["by"] for e in record["entries"] if e["approval"]] == ["Ada Quagmire"]
    assert finishlog("--log", by_command, "check", "--json").json()["ok"]


def test_an_entry_is_not_replaced_twice(finishlog: Run, by_command: str) -> None:
    again = finishlog("--log", by_command, "record", JOB, "load", "--replaces", "2", "--set", "yards=5")
    assert again.status == 2
    assert "entry 8" in again.err  # the entry that took its place


def test_undo_brings_the_original_back(finishlog: Run, by_command: str) -> None:
    assert finishlog("--log", by_command, "undo", JOB).status == 0
    record = finishlog("--log", by_command, "show", JOB, "--json").json()["record"]
    assert not [e for e in record["entries"] if e["claim"] and e["claim"]["settled"]]


def test_every_sheet_says_it(finishlog: Run, by_command: str, tmp_path: Path) -> None:
    from pypdf import PdfReader

    def text(path: Path) -> str:
        return " ".join(" ".join(page.extract_text() for page in PdfReader(path).pages).split())

    plan = tmp_path / "plan.pdf"
    ran = finishlog(
        "--log", by_command, "match", JOB, "--rect", "20x12", "--pdf", str(plan), "--sheet", "all", "--json"
    )
    made = ran.json()
    said = text(plan)
    for figure in (
        "Old Toast",
        "T-88",
        "Wet Hen",
        "gas line",
        "[/b]",
        f"{made['concrete']['order_yd3']:.2f} yd³",
    ):
        assert figure in said, figure
    for name, words in (("customer", "Close, within normal variation"), ("history", "12.00 lb/yd³")):
        path = tmp_path / f"{name}.pdf"
        assert finishlog("--log", by_command, "sheet", JOB, name, "--pdf", str(path)).status == 0
        assert words in text(path)
    assert "in 10" not in text(tmp_path / "customer.pdf")


def test_an_export_comes_back_byte_for_byte(finishlog: Run, by_command: str, tmp_path: Path) -> None:
    first, second = tmp_path / "out", tmp_path / "again"
    exported(finishlog, by_command, first)
    back = str(tmp_path / "back.finishlog")
    ran = finishlog("--log", back, "import", str(first), "--new")
    assert ran.status == 0, ran.err
    exported(finishlog, back, second)
    assert contents(first) == contents(second)
    assert finishlog("--log", back, "check", "--json").json()["ok"]


def test_the_forms_desks_keep_the_same(
    finishlog: Run, by_command: str, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """The texts a person types into the forms, handed to the desks as the screens hand them."""
    from finishlog.wiring import build

    log = str(tmp_path / "forms.finishlog")
    monkeypatch.setenv("FINISHLOG_NOW", "2026-06-01T08:00:00-05:00")
    assert finishlog("new", log).status == 0
    for moment, argv in steps():
        monkeypatch.setenv("FINISHLOG_NOW", moment)
        services = build(log)
        try:
            typed_in(services, argv)
        finally:
            services.close()
    theirs, ours = (
        exported(finishlog, one, tmp_path / name) for one, name in ((by_command, "a"), (log, "b"))
    )
    assert without_uids(ours) == without_uids(theirs)


def test_a_sheet_brings_in_the_same(
    finishlog: Run, by_command: str, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """All in one evening: the instants of logging differ, and nothing else."""
    sheet = tmp_path / "entries.csv"
    sheet.write_text(as_sheet(), encoding="utf-8")
    log = str(tmp_path / "sheet.finishlog")
    monkeypatch.setenv("FINISHLOG_NOW", "2026-08-10T20:00:00-05:00")
    seen = finishlog("--log", log, "import", str(sheet), "--new", "--check", "--json").json()
    assert (seen["entries_added"], seen["jobs_added"], seen["written"]) == (20, 1, False)
    assert not Path(log).exists()
    assert finishlog("--log", log, "import", str(sheet), "--new", "--json").json()["written"]
    theirs, ours = (
        exported(finishlog, one, tmp_path / name) for one, name in ((by_command, "a"), (log, "b"))
    )
    assert without_uids(ours, "logged") == without_uids(theirs, "logged")
    assert len(theirs["tables"]["entry"]["rows"]) == 20  # corrections and what they replace are among them
    again = finishlog("--log", log, "import", str(sheet), "--json").json()
    assert (again["skipped"], again.get("entries_added", 0)) == (21, 0)


def as_sheet() -> str:
    """The story as a person would type it into a spreadsheet."""
    rows = [{"kind": "job", **texts_of(argv)} for _, argv in steps() if argv[0] == "job"]
    rows += [{"kind": argv[2], "job": JOB, **texts_of(argv)} for _, argv in steps() if argv[0] == "record"]
    written = io.StringIO()
    sheet = csv.DictWriter(written, list(dict.fromkeys(key for row in rows for key in row)))
    sheet.writeheader()
    sheet.writerows(rows)
    return written.getvalue()


def texts_of(argv: list[str]) -> dict[str, str]:
    """One step of the story as texts by key."""
    texts: dict[str, str] = {}
    options = argv[2:] if argv[0] == "job" else argv[3:]
    for name, value in zip(options[::2], options[1::2], strict=True):
        if name == "--set":
            key, _, text = value.partition("=")
            texts[key] = text
        elif name == "--about":
            texts["at"] = f"about {value}"
        else:
            texts[name.removeprefix("--")] = value
    return {**texts, "handle": JOB} if argv[0] == "job" else texts


def typed_in(services: Services, argv: list[str]) -> None:
    """One step of the story as the screens hand it to the desks."""
    texts = texts_of(argv)
    if argv[0] == "job":
        edit.new_job(services, texts)
    else:
        replaces, because = texts.pop("replaces", None), texts.pop("because", None)
        number = int(replaces) if replaces else None
        record.record(services, JOB, argv[2], texts, replaces=number, because=because)


def without_uids(export: dict[str, Any], *further: str) -> dict[str, Any]:
    """The tables without what differs by nature: the random identity of each row, and `further` columns."""
    left_out = {"uid", *further}
    return {
        name: [
            {c: v for c, v in zip(table["columns"], row, strict=True) if c not in left_out}
            for row in table["rows"]
        ]
        for name, table in export["tables"].items()
    }
