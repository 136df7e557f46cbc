"""A entry sheet: each row as `record` would keep it, all or none, and never twice."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from itertools import count
from pathlib import Path
from typing import Any

import pytest

from finishlog.desk.exchange import archive, exchange
from finishlog.desk.jobs import edit
from finishlog.desk.record import record
from finishlog.store import Log
from tests.conftest import Ran
from tests.desk.conftest import NOW, SheetShop

Run = Callable[..., Ran]
HEADER = (
    "job,kind,at,area,by,note,replaces,because,customer,handle,areas,product,amount,yards,number,pressure_psi"
)


@pytest.fixture
def sheet(finishlog: Run, tmp_path: Path) -> Callable[..., Ran]:
    log = str(tmp_path / "log.finishlog")
    assert finishlog("new", log).status == 0

    def bring_in(*rows: str, header: str = HEADER, options: tuple[str, ...] = ()) -> Ran:
        path = tmp_path / "entries.csv"
        path.write_text("\n".join((header, *rows)) + "\n", encoding="utf-8")
        return finishlog("--log", log, "import", str(path), "--json", *options)

    bring_in.log = log  # type: ignore[attr-defined]
    return bring_in


NEW = "terrace,job,,,,,,,Ada Quagmire,pond,field 10x10 4in,,,,,"
LOAD = "pond,load,2026-06-04 7:30a,,Moss,,,,,,,Old Toast,12 lb,2,,"


def entries(finishlog: Run, sheet: Any) -> list[dict[str, Any]]:
    found: list[dict[str, Any]] = finishlog("--log", sheet.log, "show", "pond", "--json").json()["record"][
        "entries"
    ]
    return found


def test_a_job_and_its_entries(finishlog: Run, sheet: Any) -> None:
    told = sheet(NEW, LOAD, "terrace,rinse,about 2026-06-05 2p,,Fern,=SUM(A1),,,,,,,,,,2000").json()
    assert (told["jobs_added"], told["entries_added"], told["written"]) == (1, 2, True)
    load, rinse = entries(finishlog, sheet)
    assert (load["load"]["yards"], load["materials"][0]["amount"], load["person"]) == (2, 12, "Moss")
    assert (rinse["exactness"], rinse["note"], rinse["facts"]["pressure_psi"]) == ("about", "=SUM(A1)", 2000)


def test_two_coats_told_alike_are_two_and_come_in_once(finishlog: Run, sheet: Any) -> None:
    coat = "pond,seal,2026-06-10,,,,,,,,,Slow Duck 25,1 gal,,,"
    rows = (NEW, LOAD, coat, coat)
    assert sheet(*rows).json()["entries_added"] == 3
    again = sheet(*rows).json()
    assert (again["skipped"], again.get("entries_added", 0), again["jobs_added"]) == (4, 0, 0)
    assert sheet(*rows, coat).json()["entries_added"] == 1
    assert len(entries(finishlog, sheet)) == 4


def test_a_job_of_which_little_is_known_is_the_same_the_next_time(sheet: Any) -> None:
    rows = ("terrace,job,,,,,,,Ada Quagmire,,,,,,,", "terrace,load,2026-06-04 7:30a,,,,,,,,,,,2,,")
    assert sheet(*rows).json()["entries_added"] == 1
    assert sheet(*rows).json()["skipped"] == 2


def test_a_correction_comes_in_once(finishlog: Run, sheet: Any) -> None:
    rows = (NEW, LOAD, "pond,load,,,,,1,,,,,,13 lb,,,")
    assert sheet(*rows).json()["entries_added"] == 2
    assert sheet(*rows).json()["skipped"] == 3
    (load,) = entries(finishlog, sheet)
    assert (load["materials"][0]["amount"], load["load"]["yards"], load["replaces"]) == (13, 2, 1)


@pytest.mark.parametrize(
    ("row", "column", "words"),
    [
        ("pond,load,7:30a,,,,,,,,,,,2,,", "at", "Of which day?"),
        ("pond,load,yesterday 2p,,,,,,,,,,,2,,", "at", "Of which day?"),
        ("pond,load,,,,,,,,,,,,2,,", "at", "When was it?"),
        ("pond,,2026-06-04 8a,,,,,,,,,,,2,,", "kind", "What happened?"),
        (",load,2026-06-04 8a,,,,,,,,,,,2,,", "job", "Which job?"),
        ("puddle,load,2026-06-04 8a,,,,,,,,,,,2,,", "job", "puddle"),
        ("pond,pourr,2026-06-04 8a,,,,,,,,,,,2,,", "", "is not logged"),
        ("pond,rinse,2026-06-05 8a,,,,,,,,,,,2,,", "yards", "No such field"),
        ("pond,load,2026-06-04 8a,,,,,,,,,,,two,,", "yards", "two"),
        ("pond,load,2026-06-04 8a,lawn,,,,,,,,,,2,,", "area", "lawn"),
        ("pond,load,2026-06-04 8a,,,,7,,,,,,,2,,", "", "has no entry 7"),
        ("pond,load,2026-06-04 8a,,,,x,,,,,,,2,,", "replaces", "x"),
        ("pond,load,2026-06-04 8a,,,,,,,,,,,40,,", "because", "more than a truck holds"),
    ],
)
def test_what_is_wrong_is_named_by_line_and_nothing_is_kept(
    finishlog: Run, sheet: Any, row: str, column: str, words: str
) -> None:
    ran = sheet(NEW, LOAD, row)
    assert ran.status == 2
    assert f"line 4, {column}: " in ran.err if column else "line 4: " in ran.err
    assert words in ran.err
    assert finishlog("--log", sheet.log, "find", "--json").json() == []


def test_what_is_odd_has_its_reason_in_the_sheet(finishlog: Run, sheet: Any) -> None:
    row = "pond,load,2026-06-04 8a,,,,,a very long truck,,,,,,40,,"
    assert sheet(NEW, row).json()["written"]
    assert sheet(NEW, row).json()["skipped"] == 2
    assert "a very long truck" in entries(finishlog, sheet)[0]["note"]


def test_entries_of_a_job_that_is_wrong_say_no_more(sheet: Any) -> None:
    ran = sheet(NEW.replace("field 10x10", "10x10"), LOAD, LOAD)
    assert ran.status == 2
    assert "line 2, areas" in ran.err
    assert "line 3" not in ran.err


@pytest.mark.parametrize(
    ("row", "where"), [(",job,,,,,,,,,,,,,,", "customer"), (",job,2026-06-04,,,,,,Ada,,,,,,,", "at")]
)
def test_a_job_that_says_too_little_or_too_much(sheet: Any, row: str, where: str) -> None:
    assert f"line 2, {where}: " in sheet(row).err


def test_the_columns_of_a_sheet_of_entries_are_ours(sheet: Any) -> None:
    assert sheet(LOAD, options=("--map", "yards=yards")).status == 2
    assert "entry sheet" in sheet(LOAD, options=("--map", "yards=yards")).err
    assert "No column “colour”" in sheet(LOAD + ",x", header=HEADER + ",colour").err


def test_the_template_is_a_sheet_without_rows(finishlog: Run, tmp_path: Path) -> None:
    empty = tmp_path / "template.csv"
    assert finishlog("import", "--template", "--entries", str(empty)).status == 0
    log = str(tmp_path / "log.finishlog")
    told = finishlog("--log", log, "import", str(empty), "--new", "--json").json()
    assert (told["rows"], told["written"]) == (0, True)
    header = empty.read_text(encoding="utf-8").splitlines()[-1].split(",")
    assert {"product_3", "accelerator", "color", "signed_by", "complaint", "dilution", "sample"} <= set(
        header
    )


TOGETHER = (
    (NEW, {}),
    (LOAD, {"at": "2026-06-04 7:30a", "by": "Moss", "product": "Old Toast", "amount": "12 lb", "yards": "2"}),
    ("pond,load,2026-06-04 7:00a,,,,,,,,,Old Toast,14 lb,2,,", {
        "at": "2026-06-04 7:00a", "product": "Old Toast", "amount": "14 lb", "yards": "2"}),
    ("pond,load,,,,,1,,,,,,13 lb,,,", {"replaces": 1, "amount": "13 lb"}),
    ("pond,pour,2026-06-04 9a,,,,,,,,,,,,,", {"at": "2026-06-04 9a"}),
    ("pond,seal,2026-06-10,,,,,,,,,Slow Duck 25,1 gal,,,", {
        "at": "2026-06-10", "product": "Slow Duck 25", "amount": "1 gal"}),
    ("pond,rinse,about 2026-06-05 2p,,,,,,,,,,,,,2000", {"at": "about 2026-06-05 2p", "pressure_psi": "2000"}),
)  # fmt: skip


def test_a_sheet_keeps_what_one_by_one_would_have_kept(tmp_path: Path) -> None:
    """The two exports are the same to the last byte, uids and all."""
    together, singly = SheetShop(tmp_path / "a"), SheetShop(tmp_path / "b")
    for shop in (together, singly):
        shop.folder.mkdir()
        uids = (f"u{number}" for number in count())
        shop.services.open_log = _opener(shop.log, uids)
        Log.create(shop.log, clock=lambda: NOW, new_uid=lambda: "none").close()
    together.path.write_text("\n".join((HEADER, *(row for row, _ in TOGETHER))) + "\n", encoding="utf-8")
    assert exchange.bring_in(together.services, together.path).entries_added == 6
    edit.new_job(singly.services, {"job": "terrace", "customer": "Ada Quagmire", "handle": "pond",
                                   "areas": "field 10x10 4in"})  # fmt: skip
    for row, texts in TOGETHER[1:]:
        told: dict[str, Any] = dict(texts)
        replaces = told.pop("replaces", None)
        record.record(singly.services, "pond", row.split(",")[1], told, replaces=replaces)
    exports = []
    for shop in (together, singly):
        archive.export(shop.services, shop.folder / "out")
        exports.append((shop.folder / "out" / "finishlog.json").read_bytes())
        shop.services.close()
    assert exports[0] == exports[1]


def _opener(path: Path, uids: Iterator[str]) -> Callable[[], Log]:
    return lambda: Log.open(path, clock=lambda: NOW, new_uid=lambda: next(uids))


def test_what_a_load_makes_of_its_pour_is_said_by_the_whole_sheet(sheet: Any) -> None:
    """The load that ran light beside the two that came after it, which were heavy by none."""
    second, third = (LOAD.replace("7:30a", at).replace("12 lb", "16 lb") for at in ("8a", "8:30a"))
    told = sheet(NEW, LOAD, second, third).json()
    assert [(each["line"], each["what"]) for each in told["flagged"]] == [
        (3, "This load ran 18 % light in pigment."),
        (4, "This load ran 9 % heavy in pigment."),
        (5, "This load ran 9 % heavy in pigment."),
    ]
