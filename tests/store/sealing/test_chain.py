"""Every stored row has its hash, made alike by migration and program; what is altered or gone is named."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest

from finishlog.records.writing import NewCustomer, NewEntry, NewFile, NewJob, NewSite
from finishlog.store import Log
from finishlog.store.engine.ddl import MAPPED
from finishlog.store.schema.base import Base
from finishlog.store.schema.tables_seal import MARKED
from finishlog.store.sealing import form
from tests import raw

RELEASED = Path(__file__).parents[2] / "migrations" / "released"
MORNING = datetime(2026, 6, 16, 12, tzinfo=UTC)
NOT_HASHED = {
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
}
"""The first five are hashed as they are kept (`stored.kept`, `shelved.kept`); the others are the hashes."""


def a_log(log: Log) -> Log:
    """A job with two entries."""
    with log.writing() as writer:
        writer.add_job(NewJob("patio", NewCustomer("Ines Puddlecombe"), NewSite("12 Teakettle Lane")))
        for note in ("swept twice", "puddles at the drain"):
            writer.add_entry(_handle(log), NewEntry("note", MORNING, note=note))
    return log


def _handle(_log: Log) -> str:
    return "ines-puddlecombe-patio"


def altered(log: Log, *statements: str) -> None:
    """Change the log behind the program's back: no trigger notices, as with a bit that flips."""
    log.close()
    raw.damage(log.where, *statements)


def test_every_column_of_the_log_is_hashed() -> None:
    """A column that the form forgets could change unseen; a new one belongs at the end of its row."""
    hashed: dict[str, set[str]] = {"entry": set(form.ENTRY), "file": {"sha256", *form.FILE}}
    hashed |= {name: {"entry_id", *columns} for name, columns in form.DETAILS.items()}
    hashed |= {name: set(columns) for name, (_, columns) in (form.PLAIN | form.WHOLE).items()}
    hashed |= {"stage": set(form.STAGE), "stage_material": set(form.STAGE_MATERIAL), "shape": set(form.SHAPE)}
    hashed["photo"] = set(form.PHOTO)
    assert MAPPED  # importing it maps all tables
    mapped = {name: {column.name for column in table.columns} for name, table in Base.metadata.tables.items()}
    assert hashed == {name: columns for name, columns in mapped.items() if name not in NOT_HASHED}


def test_every_row_that_may_change_is_marked_under_its_own_number() -> None:
    numbers = {name: number for name, (number, _) in (form.PLAIN | form.WHOLE).items()}
    parts = {
        "stage": form.PLAIN["recipe"][0],
        "stage_material": form.PLAIN["recipe"][0],
        "shape": form.PLAIN["area"][0],
    }
    assert {name: number for name, (number, _) in MARKED.items()} == numbers | parts


@pytest.mark.parametrize("revision", ["0002", "0006"])
def test_an_upgrade_hashes_as_the_program_does(tmp_path: Path, revision: str) -> None:
    """The migration's frozen copy and the program give the same hashes, of every table."""
    where = tmp_path / "old.finishlog"
    with closing(sqlite3.connect(where)) as made:
        made.executescript((RELEASED / f"{revision}.sql").read_text())
        made.execute("PRAGMA journal_mode=WAL")
        entries = made.execute("SELECT count(*) FROM entry").fetchone()[0]
    log = Log.open(where, clock=lambda: MORNING, new_uid=lambda: "x")
    problems = [line for line in log.check().problems if not line.startswith("The file ")]
    log.close()
    assert problems == []  # its files are not beside it
    assert raw.rows(where, "SELECT count(*) FROM chain") == [(entries,)]
    assert entries > 5
    assert {row[0] for row in raw.rows(where, "SELECT DISTINCT what FROM seal")} >= {3, 4, 5, 8, 11, 12, 13}


def test_a_log_keeps_its_identity_and_no_two_share_one(ticking: Any, tmp_path: Path) -> None:
    one, other = ticking.create(tmp_path / "one.finishlog"), ticking.create(tmp_path / "other.finishlog")
    assert one.identity() != other.identity()
    one.backup(tmp_path / "copy.finishlog")
    assert ticking.open(tmp_path / "copy.finishlog").identity() == one.identity()


CASES = {
    "UPDATE entry SET note = 'swept once' WHERE number = 1": (
        "Entry 1 of patio (ines-puddlecombe-patio), note on 2026-06-16, is not as it was logged.",
    ),
    "UPDATE customer SET name = 'Inez Puddlecombe'": (
        "The customer Inez Puddlecombe is not as it was saved.",
    ),
    "DELETE FROM entry WHERE number = 2": (
        "An entry logged next after entry 1 of patio (ines-puddlecombe-patio), is gone.",
    ),
    "UPDATE chain SET hash = 'x' WHERE entry_id = 1": (
        "Entry 1 of patio (ines-puddlecombe-patio), note on 2026-06-16, is whole; "
        "only the hash that is kept of it is damaged.",
    ),
    "UPDATE chain SET hash = 'x' WHERE entry_id = 2": (
        "Entry 2 of patio (ines-puddlecombe-patio), note on 2026-06-16, is whole; "
        "only the hash that is kept of it is damaged.",
    ),
    "UPDATE log_state SET uid = 'x'": (
        "What the log says of itself (its identity, how many entries it has) is damaged.",
    ),
    "UPDATE job SET planned_on = '2026-13-45'": (
        "The job patio (ines-puddlecombe-patio) is not as it was saved.",
    ),
    "UPDATE entry SET facts = '{oops}' WHERE number = 1": (
        "Entry 1 of patio (ines-puddlecombe-patio), note on 2026-06-16, is not as it was logged.",
    ),
    "UPDATE entry SET note = CAST(x'ff41' AS TEXT) WHERE number = 2": (
        "Entry 2 of patio (ines-puddlecombe-patio), note on 2026-06-16, cannot be read.",
    ),
    "UPDATE job_line SET sort_on = 'soon'": (
        "The list or the search is out of date for 1 job; the entries are intact. "
        "finishlog check --mend rebuilds it.",
    ),
}


@pytest.mark.parametrize(("damage", "told"), CASES.items(), ids=CASES)
def test_what_is_altered_is_named(log: Log, damage: str, told: tuple[str, ...]) -> None:
    """A damaged date or JSON was a traceback, and a changed note was sound."""
    assert a_log(log).check().problems == ()
    if "x'ff41'" in damage and log.is_on_server:
        pytest.skip("a server keeps no text that cannot be read")
    altered(log, damage)
    assert log.check().problems == told


def test_a_lost_hash_is_told(log: Log) -> None:
    altered(a_log(log), "DELETE FROM chain WHERE entry_id = 2")
    assert "has no hash" in " ".join(log.check().problems)


def test_a_photo_is_named_with_its_entry(log: Log, tmp_path: Path) -> None:
    picture = tmp_path / "gate.jpg"
    picture.write_bytes(b"as good as a picture")
    with a_log(log).writing() as writer:
        writer.add_entry(_handle(log), NewEntry("note", MORNING, files=(NewFile(picture),)))
    altered(log, "UPDATE entry_file SET sha256 = replace(sha256, 'a', 'b')")
    (told,) = [line for line in log.check().problems if line.startswith("Entry")] or [""]
    assert (
        told
        == "Entry 3 of patio (ines-puddlecombe-patio), note on 2026-06-16, with gate.jpg, is not as it was logged."
    )


def test_another_programs_change_is_a_note(log: Log) -> None:
    """Whoever writes with the database's own means does no accident; the next entry takes it as it is."""
    with a_log(log)._connection(write=True) as connection:
        connection.exec_driver_sql("INSERT INTO draft VALUES ('load', '{}', '2026-06-16T12:00:00.000000Z')")
    report = log.check()
    assert report.problems == ()
    assert any(note.startswith("Another program wrote 1 row;") for note in report.notes)
    with log.writing() as writer:
        writer.update_note(_handle(log), "x")
    assert not any("another program" in note for note in log.check().notes)


def test_a_stopped_check_goes_on_and_forgets_nothing(log: Log) -> None:
    a_log(log)
    altered(log, "UPDATE entry SET note = 'swept once' WHERE number = 1")
    looked: list[str] = []

    def stop_at(part: str) -> Callable[[str, float | None], None]:
        def tell(what: str, _share: float | None) -> None:
            looked.append(what)
            if what == part:
                raise KeyboardInterrupt

        return tell

    with pytest.raises(KeyboardInterrupt):
        log.check(stop_at("customer"))
    assert list(dict.fromkeys(looked))[:3] == ["pages", "names", "entries"]
    looked.clear()
    again = log.check(stop_at("no part"))
    assert "pages" not in looked
    assert "Entry 1 of patio" in again.problems[0]  # found before it was stopped
    looked.clear()
    log.check(stop_at("no part"))
    assert looked[0] == "pages"  # one that ended begins anew
