"""Everything out and back: the export of what came back is the same, byte for byte."""

import csv
import io
import itertools
import json
import os
import shutil
import string
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, Phase, assume, given, settings
from hypothesis import strategies as st

from finishlog.errors import InputError, LogError
from finishlog.plain import has_ink
from finishlog.records.files import Photo
from finishlog.records.log import Approval, Claim, Reading
from finishlog.records.writing import (
    NewAdvice,
    NewArea,
    NewBuried,
    NewCustomer,
    NewEntry,
    NewFile,
    NewJob,
    NewLoad,
    NewMaterialUse,
    NewMix,
    NewProduct,
    NewRecipe,
    NewSample,
    NewSite,
    NewStage,
    NewStockMove,
)
from finishlog.store import Log, Writer
from finishlog.store.archive import csv_text
from finishlog.store.archive.export import dump, restore
from finishlog.store.schema import revisions

NOW = datetime(2026, 6, 16, 12, tzinfo=UTC)
FORMULAS = ("=1+1", "+1", "-1", "@SUM(A1)", "\t=1", "\r=1", "\0=1", "'=1", "''", "'", "", "=", "\n=1", "＝1")


def opened(where: Path) -> Log:
    uids = iter(range(10**6))
    return Log.open(where, clock=lambda: NOW, new_uid=lambda: f"new-{next(uids)}")


def bytes_of(folder: Path) -> dict[str, bytes]:
    files = (path for path in folder.rglob("*") if path.is_file())
    return {str(path.relative_to(folder)): path.read_bytes() for path in files}


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory, release: Any) -> Path:
    """A log with a row in every table, a file, and its export: made once, each test has a copy."""
    folder = tmp_path_factory.mktemp("made")
    log = opened(release.made(folder))
    dump(log, folder / "out")
    log.close()
    return folder


@pytest.fixture
def whole(made: Path, tmp_path: Path) -> Path:
    """That log."""
    shutil.copytree(made, tmp_path, dirs_exist_ok=True, ignore=shutil.ignore_patterns("out"))
    return tmp_path / "made.finishlog"


@pytest.fixture
def out(made: Path, whole: Path, tmp_path: Path) -> Path:
    """Its export."""
    return Path(shutil.copytree(made / "out", tmp_path / "out"))


def test_the_export_of_what_came_back_is_the_same(
    whole: Path, out: Path, tmp_path: Path, release: Any
) -> None:
    made = restore(out, tmp_path / "again.finishlog")
    assert (made.jobs, made.files, made.notes) == (2, 2, ())
    log, before = opened(tmp_path / "again.finishlog"), opened(whole)
    assert log.check().problems == ()
    dump(log, tmp_path / "again")
    assert bytes_of(tmp_path / "again") == bytes_of(out)
    with log.reading() as reader, before.reading() as old:
        assert made.entries == sum(
            len(reader.job(line.handle).history) for line in reader.lines(archived=True)
        )
        for line in old.lines(archived=True):
            assert reader.job(line.handle) == old.job(line.handle)
        assert reader.lines(words="biscuit") == old.lines(words="biscuit")
        kept = [file for entry in reader.job("ines-puddlecombe-back-patio").entries for file in entry.files]
    assert [log.file_path(file.sha256).read_bytes() for file in kept] == [release.TICKET, release.PICTURE]
    assert kept[1].photo == Photo("PNG", 4, 3, "2025-05-20T10:00:00", "-05:00")
    with log.writing() as writer:  # it goes on as any log does
        writer.add_entry("ines-puddlecombe-back-patio", NewEntry("note", NOW))
    log.close()
    before.close()


def test_the_export_holds_everything(out: Path, release: Any) -> None:
    """A table or column that the export forgets would be lost: the JSON is held against the schema itself."""
    said = json.loads((out / "finishlog.json").read_text("utf-8"))
    assert (said["format"], said["schema"]) == ("finishlog export", revisions.head())
    assert set(said) == {"format", "application", "schema", "tables"}
    from finishlog.store.schema.base import Base

    mapped = {
        name: table
        for name, table in Base.metadata.tables.items()
        if name
        not in (
            "job_line",
            "job_facet",
            "due",
            "care",
            "shelf",
            "learned",
            "log_state",
            "chain",
            "seal",
            "unsealed",
        )
    }
    assert set(said["tables"]) == set(mapped)
    for name, table in said["tables"].items():
        assert set(table["columns"]) == {column.name for column in mapped[name].columns}
        assert table["rows"], name
        header, rows = csv_of(out / f"{name}.csv")
        assert header == table["columns"]
        assert len(rows) == len(table["rows"])
    assert {path.read_bytes() for path in (out / "files").iterdir()} == {release.TICKET, release.PICTURE}
    assert {path.name for path in out.iterdir()} == {
        "finishlog.json", "files", *(f"{name}.csv" for name in mapped)
    }  # fmt: skip


def csv_of(path: Path) -> tuple[list[str], list[list[str]]]:
    lines = list(csv.reader(io.StringIO(path.read_bytes().decode("utf-8-sig"), newline="")))
    return lines[0], lines[1:]


def test_an_export_never_mixes_with_what_is_there(whole: Path, tmp_path: Path) -> None:
    log = opened(whole)
    empty, full, file = tmp_path / "empty", tmp_path / "full", tmp_path / "file"
    empty.mkdir()
    full.mkdir()
    (full / "letter").write_text("precious")
    file.write_text("precious")
    dump(log, empty)
    assert (empty / "finishlog.json").is_file()
    before = sorted(path.name for path in tmp_path.iterdir())
    for folder in (full, file, empty, tmp_path / "no" / "such"):
        with pytest.raises(LogError, match="export"):
            dump(log, folder)
    link = tmp_path / "link"
    link.symlink_to(tmp_path / "nowhere")
    with pytest.raises(LogError, match="already"):
        dump(log, link)
    link.unlink()
    assert sorted(path.name for path in tmp_path.iterdir()) == before
    assert bytes_of(full) == {"letter": b"precious"}
    log.close()


def test_an_export_without_one_of_its_files_is_not_made(whole: Path, tmp_path: Path) -> None:
    log = opened(whole)
    kept, _ = (path for path in Path(f"{whole}.files").rglob("*") if path.is_file())
    kept.write_bytes(b"noise")
    with pytest.raises(LogError, match="missing or damaged"):
        dump(log, tmp_path / "out")
    kept.unlink()
    with pytest.raises(LogError, match="missing or damaged"):
        dump(log, tmp_path / "out")
    log.close()
    assert not (tmp_path / "out").exists()
    assert [path.name for path in tmp_path.iterdir() if path.name.startswith(".")] == []


# what is no export


def said(out: Path, change: Callable[[dict[str, Any]], object]) -> None:
    path = out / "finishlog.json"
    held = json.loads(path.read_text("utf-8"))
    change(held)
    path.write_text(json.dumps(held), "utf-8")


def cell(table: str, column: str, value: object, row: int = 0) -> Callable[[Path], None]:
    def change(held: dict[str, Any]) -> None:
        place = held["tables"][table]["columns"].index(column)
        held["tables"][table]["rows"][row][place] = value

    return lambda out: said(out, change)


def no_file(out: Path) -> None:
    shutil.rmtree(out / "files")


def changed_file(out: Path) -> None:
    next((out / "files").iterdir()).write_bytes(b"noise")


def piped_file(out: Path) -> None:
    path = next((out / "files").iterdir())
    path.unlink()
    os.mkfifo(path)


def piped_json(out: Path) -> None:
    (out / "finishlog.json").unlink()
    os.mkfifo(out / "finishlog.json")


BAD: dict[str, tuple[Callable[[Path], object], str]] = {
    "no json": (lambda out: (out / "finishlog.json").unlink(), "It has no finishlog.json"),
    "a pipe": (piped_json, "It has no finishlog.json"),
    "cut short": (lambda out: os.truncate(out / "finishlog.json", 900), "is damaged"),
    "empty": (lambda out: os.truncate(out / "finishlog.json", 0), "is damaged"),
    "noise": (lambda out: (out / "finishlog.json").write_bytes(b"\xff\xfe\0"), "is damaged"),
    "a list": (lambda out: (out / "finishlog.json").write_text("[]"), "belongs to another program"),
    "deep": (lambda out: (out / "finishlog.json").write_text("[" * 100_000), "is damaged"),
    "foreign": (lambda out: said(out, lambda held: held.update(format="x")), "belongs to another program"),
    "newer": (lambda out: said(out, lambda held: held.update(schema="0999")), "0999"),
    "older than any export": (lambda out: said(out, lambda held: held.update(schema="0001")), "not those of"),
    "no schema": (lambda out: said(out, lambda held: held.pop("schema")), "None"),
    "a schema that is no text": (lambda out: said(out, lambda held: held.update(schema=[])), "newest"),
    "no tables": (lambda out: said(out, lambda held: held.update(tables=[])), "no tables"),
    "a table less": (lambda out: said(out, lambda held: held["tables"].pop("claim")), "claim"),
    "a table more": (
        lambda out: said(out, lambda held: held["tables"].update(x={"columns": [], "rows": []})),
        "x",
    ),
    "no columns": (lambda out: said(out, lambda held: held["tables"]["job"].pop("columns")), "no columns"),
    "other columns": (
        lambda out: said(out, lambda held: held["tables"]["job"]["columns"].reverse()),
        "columns of job",
    ),
    "a short row": (
        lambda out: said(out, lambda held: held["tables"]["job"]["rows"][0].pop()),
        "Row 1 of job",
    ),
    "a row that is none": (
        lambda out: said(out, lambda held: held["tables"].update(job={"columns": [], "rows": [{}]})),
        "Row 1 of job",
    ),
    "a value that is none": (cell("job", "note", {"a": 1}), "Row 1 of job"),
    "broken character": (cell("job", "note", "\ud800"), "Row 1 of job"),
    "a number in a text": (cell("load", "yards", "much"), "Row 1 of load"),
    "a huge number": (cell("entry", "number", 10**30), "Row 1 of entry"),
    "a key twice": (cell("entry", "id", 2), "Row 2 of entry"),
    "out of range": (cell("reading", "lightness", 101.0), "Row 1 of reading"),
    "a row that is not there": (cell("job", "customer_id", 99), "not there"),
    "a day that is none": (cell("job", "planned_on", "2025-02-30", 1), "planned_on"),
    "facts that are none": (cell("entry", "facts", "{1}"), "facts"),
    "a setting that is none": (cell("setting", "value", "much"), "is inconsistent"),
    "a file that is not there": (no_file, "cannot be read"),
    "a changed file": (changed_file, "changed after the export"),
    "a piped file": (piped_file, "cannot be read"),
}


@pytest.mark.parametrize("how", BAD)
def test_what_is_no_export_is_refused_and_leaves_nothing(out: Path, tmp_path: Path, how: str) -> None:
    spoil, expected = BAD[how]
    spoil(out)
    before = sorted(path.name for path in tmp_path.iterdir())
    with pytest.raises(InputError) as error:
        restore(out, tmp_path / "again.finishlog")
    assert expected in error.value.line()
    assert "\n" not in error.value.line()
    assert sorted(path.name for path in tmp_path.iterdir()) == before


def test_nan_is_no_number(out: Path, tmp_path: Path) -> None:
    path = out / "finishlog.json"
    path.write_text(path.read_text("utf-8").replace("62.0", "NaN"), "utf-8")
    with pytest.raises(InputError, match="damaged"):
        restore(out, tmp_path / "again.finishlog")


def test_a_folder_that_is_not_there(tmp_path: Path) -> None:
    for folder in (tmp_path / "no", tmp_path):
        with pytest.raises(InputError, match="not a finishlog export"):
            restore(folder, tmp_path / "again.finishlog")


def test_an_existing_log_is_not_written_over(whole: Path, out: Path, tmp_path: Path) -> None:
    before = whole.read_bytes()
    with pytest.raises(LogError, match="already"):
        restore(out, whole)
    assert whole.read_bytes() == before
    files = tmp_path / "again.finishlog.files"
    files.mkdir()
    with pytest.raises(LogError, match="already"):
        restore(out, tmp_path / "again.finishlog")
    assert list(files.iterdir()) == []


def test_a_csv_that_says_something_else_is_named(out: Path, tmp_path: Path) -> None:
    """The CSVs are for people: what somebody changed in one of them does not come in, and is said."""
    path = out / "person.csv"
    path.write_text(path.read_text("utf-8-sig").replace("Ada", "Bo"), "utf-8")
    (out / "plant.csv").write_bytes(b"\xff")
    (out / "maker.csv").unlink()
    calculated = (out / "load.csv").read_text("utf-8-sig").replace("5.0,", "5,")  # a spreadsheet's way
    (out / "load.csv").write_text(calculated, "utf-8")
    made = restore(out, tmp_path / "again.finishlog")
    assert [note.split()[0] for note in made.notes] == ["person.csv", "plant.csv"]
    log = opened(tmp_path / "again.finishlog")
    with log.reading() as reader:
        assert reader.people() == ("Ada",)
    log.close()


# formulas (trap 16)


@pytest.mark.parametrize("text", FORMULAS)
def test_no_cell_is_a_formula_and_every_text_comes_back(text: str) -> None:
    written = csv_text.write(["a", "b"], [(text, None)])
    shown = next(itertools.islice(csv.reader(io.StringIO(written, newline="")), 1, None))
    assert shown == ["'" + text, ""]
    assert csv_text.read(written, [str, str]) == (["a", "b"], [(text, None)])


TEXTS = st.one_of(
    st.text(st.characters(exclude_categories=["Cs"]), max_size=12),
    st.builds(
        lambda first, rest: first + rest, st.sampled_from(FORMULAS), st.text(string.printable, max_size=5)
    ),
    st.sampled_from(
        [
            *FORMULAS,
            "\U0001f600\ufe0f",
            "e\u0301",
            '"',
            ",",
            "a\r\nb",
            "\u2028",
            " ",
            "NULL",
            "None",
            "1",
            "1.5",
        ]
    ),
)
NUMBERS = st.floats(allow_nan=False, allow_infinity=False)


@settings(max_examples=300, deadline=None)
@given(
    rows=st.lists(
        st.tuples(st.none() | TEXTS, st.none() | st.integers(-(2**63), 2**63 - 1), st.none() | NUMBERS)
    )
)
def test_any_rows_come_back_from_a_csv(rows: list[tuple[Any, ...]]) -> None:
    kinds = [str, int, float]
    written = csv_text.write(["t", "i", "r"], rows)
    header, found = csv_text.read(written, kinds)
    assert (header, found) == (["t", "i", "r"], rows)
    assert [[type(value) for value in row] for row in found] == [
        [type(value) for value in row] for row in rows
    ]
    for line in list(csv.reader(io.StringIO(written, newline="")))[1:]:
        assert not line[0].startswith(("=", "+", "-", "@", "\t", "\r", "\0"))


# random logs


def is_text(text: str) -> bool:
    """What a field takes: no NUL, something that shows."""
    return has_ink(text) and "\0" not in text


NAMES = TEXTS.filter(is_text)
NOTES = st.none() | NAMES
AMOUNTS = st.none() | st.floats(0, 1e9)
DAYS = st.dates(date(1990, 1, 1), date(2090, 1, 1))
FACTS = st.dictionaries(
    NAMES, st.one_of(NAMES, st.integers(-(2**53), 2**53), NUMBERS, st.booleans()), max_size=3
)
MIXES = st.builds(NewMix, plant=NOTES, number=NOTES, admixtures=NOTES, cement_lb_per_yd3=AMOUNTS)
PRODUCTS = st.builds(
    NewProduct, NAMES, st.sampled_from(["pigment", "sealer"]), NOTES, pack_lb=AMOUNTS, safety=NOTES
)
USES = st.builds(NewMaterialUse, PRODUCTS, AMOUNTS, st.sampled_from(["lb", "bag", "L"]), NOTES, st.booleans())
RECIPES = st.builds(
    NewRecipe,
    NAMES,
    st.lists(st.builds(NewStage, st.just("stamp"), FACTS), max_size=2).map(tuple),
    reason=NOTES,
)
LOADS = st.builds(NewLoad, AMOUNTS, AMOUNTS, AMOUNTS, NOTES, st.none() | MIXES, AMOUNTS, NOTES)
ENTRIES = st.builds(
    NewEntry,
    st.sampled_from(["load", "rinse", "claim", "sample", "pour"]),
    st.datetimes(datetime(1990, 1, 1), datetime(2090, 1, 1), timezones=st.just(UTC)),  # noqa: DTZ001
    st.sampled_from(["exact", "about", "day"]),
    person=NOTES,
    note=NOTES,
    facts=FACTS,
    materials=st.lists(USES, max_size=2).map(tuple),
    load=st.none() | LOADS,
    reading=st.none() | st.builds(Reading, st.floats(0, 100), st.floats(-200, 200), st.floats(-200, 200)),
    sample=st.none()
    | st.builds(
        NewSample,
        size=NOTES,
        half_sealed=st.none() | st.booleans(),
        cement=NOTES,
        doses=st.lists(st.tuples(PRODUCTS, st.floats(0, 100)), max_size=2).map(tuple),
    ),
    claim=st.none() | st.builds(Claim, NAMES, NOTES, NOTES, NOTES, st.booleans()),
)
CUSTOMERS = st.builds(NewCustomer, NAMES, NOTES, NOTES, NOTES, st.booleans())
MOVES = st.builds(
    NewStockMove,
    PRODUCTS,
    st.sampled_from(["bought", "opened", "counted", "reclaimed", "spoiled", "thrown"]),
    st.datetimes(datetime(1990, 1, 1), datetime(2090, 1, 1), timezones=st.just(UTC)),  # noqa: DTZ001
    AMOUNTS,
    st.sampled_from(["lb", "bag", "fl oz"]),
    NOTES,
    AMOUNTS,
    NOTES,
    note=NOTES,
)
PHOTOS = st.builds(
    Photo,
    st.sampled_from(["JPEG", "PNG", "TIFF", "WebP", "HEIC"]),
    st.integers(1, 10**9),
    st.integers(1, 10**9),
    NOTES,
    NOTES,
    st.sampled_from(["camera offset", "site wall time", "told", "unknown"]),
)
JOBS = st.builds(
    NewJob,
    NAMES,
    CUSTOMERS,
    st.builds(NewSite, NAMES, NOTES, map_note=NOTES),
    st.sampled_from(["planned", "poured", "archived"]),
    st.none() | DAYS,
    NOTES,
    areas=st.just(()) | RECIPES.map(lambda recipe: (NewArea("field", recipe=recipe),)),
    buried=st.lists(st.builds(NewBuried, NAMES, NOTES, AMOUNTS), max_size=1).map(tuple),
)
LOGS = st.lists(
    st.tuples(JOBS, st.lists(ENTRIES, max_size=4), st.none() | st.tuples(CUSTOMERS, DAYS, NOTES)), max_size=4
)
ANY = st.dictionaries(TEXTS, TEXTS, max_size=5)
FILES = st.lists(st.tuples(st.binary(min_size=1, max_size=50), st.none() | PHOTOS), max_size=2)
SHELF = st.lists(MOVES, max_size=3)
Kept = list[tuple[Path, Photo | None]]


def fill(writer: Writer, jobs: list[Any], kept: dict[str, str], files: Kept) -> None:
    for key, value in kept.items():
        writer.set_setting(key, value)
        writer.save_draft(key, value)
    for new, entries, owner in jobs:
        handle = writer.add_job(new).handle
        for entry in entries:
            made = writer.add_entry(handle, entry)
            if made.sample is not None:
                yes = Approval(made.sample.number, "Bo")
                writer.add_entry(handle, NewEntry("approval", NOW, replaces=None, approval=yes))
        if entries:
            writer.undo(handle)
        if owner is not None and not writer.job(handle).owners:
            writer.add_owner(handle, *owner)
        for path, photo in files:
            new = NewFile(path, "=x", photo=photo)
            (file,) = writer.add_entry(handle, NewEntry("note", NOW + timedelta(1), files=(new,))).files
            if file.photo is not None:
                read = Reading(
                    50,
                    0,
                    0,
                    photo=file.sha256,
                    box="0,0,2,2",
                    camera="Plum 7",
                    card="8f7a61 " * 23 + "8f7a61",
                )
                writer.add_entry(handle, NewEntry("reading", NOW + timedelta(1), reading=read))
        for key, value in kept.items():
            writer.add_advice(handle, NewAdvice("plan", "m", key, value))


def stock(writer: Writer, moves: list[NewStockMove]) -> None:
    """The first corrected, the last taken back."""
    made = [writer.add_stock_move(move) for move in moves]
    if made:
        writer.undo_stock_move(writer.add_stock_move(replace(moves[-1], replaces=made[0].uid)).uid)


@pytest.mark.parametrize("examples", [6, pytest.param(60, marks=pytest.mark.long)])
def test_any_log_comes_back(
    fresh: Callable[[], Log], tmp_path_factory: pytest.TempPathFactory, examples: int, engine_name: str
) -> None:
    @settings(
        max_examples=examples,
        deadline=None,
        suppress_health_check=list(HealthCheck),
        phases=(Phase.generate,),  # a log is slow to make: nobody waits for the smallest
    )
    @given(jobs=LOGS, kept=ANY, files=FILES, shelf=SHELF)
    def holds(jobs: list[Any], kept: dict[str, str], files: list[Any], shelf: list[NewStockMove]) -> None:
        assume(engine_name == "sqlite" or "\\x00" not in repr((jobs, kept, shelf)))  # a server refuses it
        check_comes_back(fresh(), tmp_path_factory.mktemp("any"), (jobs, kept, files, shelf))

    holds()


def check_comes_back(
    log: Log, folder: Path, told: tuple[list[Any], dict[str, str], list[Any], list[Any]]
) -> None:
    jobs, kept, files, shelf = told
    paths = []
    for number, (content, photo) in enumerate(files):
        paths.append((folder / f"file {number}", photo))
        paths[-1][0].write_bytes(content)
    with log.writing() as writer:
        fill(writer, jobs, kept, paths)
        stock(writer, shelf)
    dump(log, folder / "out")
    made = restore(folder / "out", folder / "again.finishlog")
    assert made.notes == ()
    again = opened(folder / "again.finishlog")
    assert again.check().problems == ()
    dump(again, folder / "again")
    assert bytes_of(folder / "again") == bytes_of(folder / "out")
    with log.reading() as old, again.reading() as new:
        assert new.settings() == old.settings() == kept
        assert new.stock_moves(history=True) == old.stock_moves(history=True)
        assert new.material_uses() == old.material_uses()
        assert new.learning_rows() == old.learning_rows()
        assert new.due(datetime.max.replace(tzinfo=UTC)) == old.due(datetime.max.replace(tzinfo=UTC))
        lines = old.lines(archived=True)
        assert new.lines(archived=True) == lines
        assert [new.job(line.handle) for line in lines] == [old.job(line.handle) for line in lines]
    again.close()
