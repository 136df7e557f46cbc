"""The schema: made by the migrations, the same as the mapped tables, every released one still opens."""

import hashlib
import sqlite3
from collections.abc import Callable
from contextlib import closing
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy.exc import IntegrityError

from finishlog.errors import LogError
from finishlog.records.log import Approval, Attachment, Claim, Sample
from finishlog.records.writing import NewCustomer, NewEntry, NewJob, NewSite
from finishlog.store import Log
from finishlog.store.engine import drift, header, sqlite, upgrade
from finishlog.store.schema import revisions

RELEASED = Path(__file__).parent / "released"
Future = Callable[[str], None]


def opened(where: Path) -> Log:
    uids = iter(range(10**6))
    return Log.open(
        where, clock=lambda: datetime(2026, 6, 16, tzinfo=UTC), new_uid=lambda: f"new-{next(uids)}"
    )


def released(revision: str, folder: Path) -> Path:
    """The saved log of a released schema, as a file."""
    path = folder / f"{revision}.finishlog"
    with closing(sqlite3.connect(path)) as raw:
        raw.executescript((RELEASED / f"{revision}.sql").read_text())
        raw.execute("PRAGMA journal_mode=WAL")
    return path


def test_every_released_schema_has_its_saved_log() -> None:
    assert sorted(path.stem for path in RELEASED.glob("*.sql")) == list(revisions.known())


@pytest.mark.parametrize("revision", ["0006", "0008"])
def test_a_search_text_that_an_older_program_left_behind_is_made_anew(tmp_path: Path, revision: str) -> None:
    where = released(revision, tmp_path)
    with closing(sqlite3.connect(where)) as raw:
        raw.execute("UPDATE job_text SET rest = 'gas line' WHERE rowid = 1")
        raw.commit()
    log = opened(where)
    with log.reading() as reader:
        assert [line.handle for line in reader.lines(words="0101")] == ["ines-puddlecombe-back-patio"]
    assert not any("out of date" in line for line in log.check().problems)  # the saved log has no files
    log.close()


def test_what_no_migration_changed_is_left_and_checked_as_it_is(tmp_path: Path) -> None:
    """To make all of it anew takes a minute of 20,000 jobs."""
    where = released(revisions.PROJECTED, tmp_path)
    with closing(sqlite3.connect(where)) as raw:
        raw.execute("UPDATE job_text SET rest = 'gas line' WHERE rowid = 1")
        raw.commit()
    log = opened(where)
    assert log.upgraded_from is not None
    with log.reading() as reader:
        assert reader.lines(words="0101") == ()
    assert any("out of date" in line or "changed" in line for line in log.check().problems)
    log.close()


@pytest.mark.parametrize("revision", revisions.known())
def test_the_saved_log_has_the_schema_of_its_revision(tmp_path: Path, revision: str) -> None:
    made = tmp_path / "made"
    made.touch()
    upgrade.migrate(made, revision)
    with (
        closing(sqlite.open_raw(released(revision, tmp_path), "ro")) as saved,
        closing(sqlite.open_raw(made, "ro")) as today,
    ):
        assert drift.differences(drift.schema_of(saved), drift.schema_of(today)) == []


def test_a_log_of_0001_opens_and_says_what_it_said(tmp_path: Path) -> None:
    log = opened(released("0001", tmp_path))
    with log.reading() as reader:
        job = reader.job("ines-puddlecombe-back-patio")
        assert [line.handle for line in reader.lines(words="teakettle")] == [
            "ines-puddlecombe-addition",
            "ines-puddlecombe-back-patio",
        ]
    assert [entry.number for entry in job.history] == [1, 2, 3, 4, 5, 6, 7, 8]
    assert [entry.number for entry in job.entries] == [1, 2, 4, 5, 6]
    assert job.entries[0].load is not None
    assert job.entries[0].load.placed_yd3 == 5.25
    assert job.entries[2].facts == {"pressure_psi": 1500, "release_left_percent": 18}
    assert log.check().ok
    log.close()


_ANEW = ("job_text", "job_word", "alembic", "due", "shelf", "log_state", "seal")


def rows_of(where: Path, revision: str) -> dict[str, list[tuple[object, ...]]]:
    """Every row of every table of a revision, its columns those of that revision; but for what every
    upgrade makes anew: the search index, what falls due, and their hashes."""
    with closing(sqlite3.connect(":memory:")) as old, closing(sqlite.open_raw(where, "ro")) as raw:
        old.executescript((RELEASED / f"{revision}.sql").read_text())
        names = [row[0] for row in old.execute("SELECT name FROM sqlite_schema WHERE type = 'table'")]
        tables = [name for name in names if not name.startswith(_ANEW)]
        columns = {name: [row[1] for row in old.execute(f"PRAGMA table_info({name})")] for name in tables}
        return {
            name: raw.execute(f"SELECT {', '.join(columns[name])} FROM {name} ORDER BY 1, 2").fetchall()
            for name in tables
        }


@pytest.mark.parametrize("revision", revisions.known()[:-1])
def test_an_upgrade_keeps_every_row(tmp_path: Path, revision: str) -> None:
    """0002, 0003 and 0004 make tables anew, two of them parents of others (trap 1)."""
    where = released(revision, tmp_path)
    before = rows_of(where, revision)
    assert sum(len(rows) for rows in before.values()) > 40
    assert before["customer"]
    assert before["material_use"]
    log = opened(where)
    assert log.upgraded_from == tmp_path / f"{revision}.before-upgrade-{revision}.finishlog"
    assert rows_of(where, revision) == before == rows_of(log.upgraded_from, revision)
    with closing(sqlite.open_raw(where, "ro")) as raw:
        assert raw.execute("PRAGMA foreign_key_check").fetchall() == []
    for table in ("material_use", "reading"):
        with log._connection(write=True) as connection, pytest.raises(IntegrityError, match="append-only"):
            connection.exec_driver_sql(f"DELETE FROM {table}")
    log.close()


@pytest.mark.parametrize("revision", [one for one in revisions.known() if one < revisions.PROJECTED])
def test_what_falls_due_is_there_after_an_upgrade(tmp_path: Path, revision: str) -> None:
    where = released(revision, tmp_path)
    with closing(sqlite.open_raw(where, "rw")) as raw:  # that log has loads, and no end of a pour
        raw.execute(
            "UPDATE job SET state = 'planned', planned_on = '2027-04-12' WHERE handle GLOB '*addition'"
        )
    log = opened(where)
    with log.reading() as reader:
        due = reader.due(datetime(2028, 1, 1, tzinfo=UTC))
        planned = {handle for handle, line in due if line.key == "pour"}
        assert [line.key for handle, line in due if handle in planned] == ["pour"]
        assert {line.key for handle, line in due if handle not in planned} >= {
            "pour_end",
            "joint",
            "second_coat",
        }
    log.close()


def test_a_log_of_0002_opens_and_says_what_it_said(tmp_path: Path, release: Any) -> None:
    where = released("0002", tmp_path)
    sha256 = hashlib.sha256(release.TICKET).hexdigest()
    kept = tmp_path / "0002.finishlog.files" / sha256[:2] / sha256
    kept.parent.mkdir(parents=True)
    kept.write_bytes(release.TICKET)
    log = opened(where)
    with log.reading() as reader:
        job = reader.job("ines-puddlecombe-back-patio")
        addition = reader.job("ines-puddelcombe-addition")
        found = [line.handle for line in reader.lines(words="quillfeather", archived=True)]
    assert addition.customer == job.customer
    assert (addition.state, addition.reference) == ("archived", job.handle)
    assert sorted(found) == [addition.handle, job.handle]
    assert [(owner.customer.name, owner.since) for owner in job.owners] == [
        ("Barnaby Quillfeather", date(2026, 3, 1))
    ]
    by_kind = {entry.kind: entry for entry in job.entries}
    assert by_kind["sample"].sample == Sample(1, 1, "2x2 ft", "behind the shed", True)
    assert by_kind["approval"].approval == Approval(1, "Ines Puddlecombe", True)
    assert by_kind["claim"].claim == Claim("white haze", "sealed damp", "stripped a corner")
    assert by_kind["load"].files == (Attachment(sha256, "ticket.txt", len(release.TICKET), "text/plain"),)
    assert by_kind["material"].materials[0].unit == "bag"
    assert by_kind["change"].note == "a darker border"
    border = job.areas[1].recipe
    assert border is not None
    assert (border.version, border.reason) == (2, "a darker border")
    assert log.file_path(sha256).read_bytes() == release.TICKET
    assert log.check().problems == ()
    log.close()


def test_an_older_log_is_copied_then_brought_up_to_date(tmp_path: Path, future: Future) -> None:
    where = released("0001", tmp_path)
    newest = int(revisions.head())
    future("op.add_column('person', sa.Column('phone', sa.Text()))")
    log = opened(where)
    assert log.upgraded_from == tmp_path / "0001.before-upgrade-0001.finishlog"
    assert sqlite.schema_of(log.upgraded_from) == "0001"
    assert sqlite.schema_of(where) == f"{newest + 1:04d}"
    with log.writing() as writer:
        writer.add_entry("ines-puddlecombe-back-patio", NewEntry("note", datetime(2026, 6, 1, tzinfo=UTC)))
    log.close()
    again = opened(where)
    assert again.upgraded_from is None
    assert again.check().ok
    again.close()


def test_a_second_upgrade_keeps_the_first_copy(tmp_path: Path, future: Future) -> None:
    first = tmp_path / "0001.before-upgrade-0001.finishlog"
    first.write_bytes(b"precious")
    future("op.add_column('person', sa.Column('phone', sa.Text()))")
    log = opened(released("0001", tmp_path))
    assert log.upgraded_from == tmp_path / "0001.before-upgrade-0001-2.finishlog"
    assert first.read_bytes() == b"precious"
    log.close()


def test_an_older_log_may_be_left_alone(tmp_path: Path, future: Future) -> None:
    where = released("0001", tmp_path)
    before = where.read_bytes()
    future("op.add_column('person', sa.Column('phone', sa.Text()))")
    with pytest.raises(LogError, match="older than this program"):
        Log.open(where, clock=lambda: datetime.now(UTC), new_uid=lambda: "", upgrade=False)
    assert where.read_bytes() == before


def test_a_migration_that_fails_half_way_leaves_the_log_as_it_was(tmp_path: Path, future: Future) -> None:
    """Trap 2: the default driver mode would keep the new column."""
    where = released("0001", tmp_path)
    add = "op.add_column('person', sa.Column('phone', sa.Text()))"
    future(f"{add}\nop.execute('UPDATE person SET phone = 1')\n1 / 0")
    with pytest.raises(LogError, match="Could not upgrade") as error:
        opened(where)
    copy = tmp_path / "0001.before-upgrade-0001.finishlog"
    assert str(copy) in error.value.line()
    for path in (where, copy):
        assert sqlite.schema_of(path) == "0001"
        with closing(sqlite.open_raw(path, "ro")) as raw:
            assert "phone" not in [row[1] for row in raw.execute("PRAGMA table_info(person)")]
            assert raw.execute("SELECT count(*) FROM entry").fetchone() == (8,)


PARENT = """
op.create_table("parent", sa.Column("id", sa.Integer(), primary_key=True), sa.Column("x", sa.Text()))
op.create_table("child", sa.Column("id", sa.Integer(), primary_key=True),
    sa.Column("parent", sa.Integer(), sa.ForeignKey("parent.id", ondelete="CASCADE")))
op.execute("INSERT INTO parent VALUES (1, 'a')")
op.execute("INSERT INTO child VALUES (7, 1)")
"""
REBUILD = """
with op.batch_alter_table("parent", recreate="always") as batch:
    batch.alter_column("x", nullable=False, server_default="-")
with op.batch_alter_table("job", recreate="always") as batch:
    batch.alter_column("note", existing_type=sa.Text(), nullable=True)
"""


@pytest.mark.parametrize(
    "revision", [one for one in revisions.known() if one >= revisions.PROJECTED], ids=lambda one: one
)
def test_what_a_release_kept_that_is_not_made_anew_is_what_would_be_kept_now(
    tmp_path: Path, revision: str
) -> None:
    """A rule of what is due, found or shown that has changed since needs a migration, named in `PROJECTED`."""
    log = opened(released(revision, tmp_path))
    assert [problem for problem in log.check().problems if "out of date" in problem] == []
    log.close()


def test_rebuilding_a_parent_table_keeps_its_children(tmp_path: Path, future: Future) -> None:
    """Trap 1: with foreign keys on, the rebuild deletes every child row by ON DELETE CASCADE."""
    where = released("0001", tmp_path)
    future(PARENT)
    future(REBUILD)
    log = opened(where)
    with closing(sqlite.open_raw(where, "ro")) as raw:
        assert raw.execute("SELECT id, parent FROM child").fetchall() == [(7, 1)]
        assert raw.execute("SELECT count(*) FROM entry").fetchone() == (8,)
    assert log.check().problems == ()
    log.close()


def test_a_migration_that_breaks_a_reference_is_refused(tmp_path: Path, future: Future) -> None:
    where = released("0001", tmp_path)
    future("op.execute('DELETE FROM customer')")
    with pytest.raises(LogError) as error:
        opened(where)
    assert "would point nowhere; nothing was changed" in error.value.cause
    assert sqlite.schema_of(where) == "0001"
    with closing(sqlite.open_raw(where, "ro")) as raw:
        assert raw.execute("SELECT count(*) FROM customer").fetchone() == (1,)


def test_tables_and_migrations_agree() -> None:
    assert drift.differences(drift.mapped(), drift.migrated()) == []
    assert drift.main() == 0


@pytest.fixture(scope="module")
def mapped() -> drift.Schema:
    """The schema that the mapped tables give."""
    return drift.mapped()


@pytest.mark.parametrize(
    "change",
    [
        "ALTER TABLE person ADD COLUMN nick TEXT",
        "CREATE INDEX ix_person_name ON person (name)",
        "DROP INDEX uq_product_shade",
        "DROP TRIGGER entry_no_update",
        "DROP TABLE draft",
        "DROP TABLE job_word",
        "ALTER TABLE setting RENAME COLUMN value TO worth",
    ],
)
def test_the_drift_check_sees(tmp_path: Path, mapped: drift.Schema, change: str) -> None:
    with closing(sqlite3.connect(released(revisions.head(), tmp_path))) as raw:
        raw.execute(change)
        assert drift.differences(mapped, drift.schema_of(raw)) != []


def test_the_drift_check_sees_a_lost_check_and_a_lost_strict() -> None:
    with closing(sqlite3.connect(":memory:")) as one, closing(sqlite3.connect(":memory:")) as other:
        one.execute("CREATE TABLE t (a TEXT, CONSTRAINT c CHECK (a <> ','))")
        other.execute("CREATE TABLE t (a TEXT) STRICT")
        assert drift.differences(drift.schema_of(one), drift.schema_of(other)) == [
            "t: only in the tables: ",
            "t: only in the tables: CONSTRAINT c CHECK (a <> ',')",
            "t: only in the migrations: STRICT",
        ]


def test_the_migrations_lie_in_the_package_or_else_in_the_checkout(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Trap 3: an editable install has no packaged copy."""
    for folder, expected in (("_migrations", "finishlog/_migrations"), (None, "migrations")):
        package = tmp_path / str(folder) / "finishlog"
        (package / "store" / "schema").mkdir(parents=True)
        if folder:
            (package / folder).mkdir()
        monkeypatch.setattr(revisions, "__file__", str(package / "store" / "schema" / "revisions.py"))
        revisions.migrations.cache_clear()
        assert revisions.migrations() == tmp_path / str(folder) / expected
    monkeypatch.undo()
    revisions.migrations.cache_clear()
    assert (revisions.migrations() / "versions" / "0001_first_schema.py").is_file()


def test_a_log_with_a_row_in_every_table_is_sound(tmp_path: Path, release: Any) -> None:
    """What `release.py` saves for the next revision: it must exercise every table to be worth saving."""
    where = release.made(tmp_path)
    with closing(sqlite.open_raw(where, "ro")) as raw:
        names = [row[0] for row in raw.execute("SELECT name FROM sqlite_schema WHERE type = 'table'")]
        empty = [name for name in names if not raw.execute(f"SELECT 1 FROM {name}").fetchone()]
        assert empty == ["unsealed"]  # nothing is left unhashed
    log = opened(where)
    assert log.check().problems == ()
    log.close()


def test_a_log_made_today_is_a_copy_of_the_released_schema(tmp_path: Path) -> None:
    where = tmp_path / "new.finishlog"
    log = Log.create(where, clock=lambda: datetime.now(UTC), new_uid=iter("abcdefghij").__next__)
    with log.writing() as writer:
        writer.add_job(NewJob("patio", NewCustomer("Bo"), NewSite("s")))
    log.close()
    with closing(sqlite.open_raw(where, "ro")) as raw:
        assert raw.execute("PRAGMA application_id").fetchone() == (header.APPLICATION_ID,)
        assert raw.execute("PRAGMA journal_mode").fetchone() == ("wal",)
