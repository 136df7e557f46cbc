"""The schema: made by the migrations, the same as the mapped tables, every released one still opens."""

import sqlite3
from collections.abc import Callable
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path

import pytest

from finishlog.errors import LogError
from finishlog.records.writing import NewCustomer, NewEntry, NewJob, NewSite
from finishlog.store import Log, drift, sqlite, upgrade

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
    assert sorted(path.stem for path in RELEASED.glob("*.sql")) == list(upgrade.revisions())


def test_the_saved_log_has_the_schema_of_its_revision(tmp_path: Path) -> None:
    with closing(sqlite.open_raw(released("0001", tmp_path), "ro")) as raw:
        assert drift.differences(drift.schema_of(raw), drift.migrated()) == []


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


def test_an_older_log_is_copied_then_brought_up_to_date(tmp_path: Path, future: Future) -> None:
    where = released("0001", tmp_path)
    future("op.add_column('person', sa.Column('phone', sa.Text()))")
    log = opened(where)
    assert log.upgraded_from == tmp_path / "0001.before-upgrade-0001.finishlog"
    assert sqlite.schema_of(log.upgraded_from) == "0001"
    assert sqlite.schema_of(where) == "0002"
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
    with pytest.raises(LogError, match="could not be brought up to date") as error:
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
def test_the_drift_check_sees(tmp_path: Path, change: str) -> None:
    with closing(sqlite3.connect(released("0001", tmp_path))) as raw:
        raw.execute(change)
        assert drift.differences(drift.mapped(), drift.schema_of(raw)) != []


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
        (package / "store").mkdir(parents=True)
        if folder:
            (package / folder).mkdir()
        monkeypatch.setattr(upgrade, "__file__", str(package / "store" / "upgrade.py"))
        upgrade.migrations.cache_clear()
        assert upgrade.migrations() == tmp_path / str(folder) / expected
    monkeypatch.undo()
    upgrade.migrations.cache_clear()
    assert (upgrade.migrations() / "versions" / "0001_first_schema.py").is_file()


def test_a_log_made_today_is_a_copy_of_the_released_schema(tmp_path: Path) -> None:
    where = tmp_path / "new.finishlog"
    log = Log.create(where, clock=lambda: datetime.now(UTC), new_uid=iter("abcdefghij").__next__)
    with log.writing() as writer:
        writer.add_job(NewJob("patio", NewCustomer("Bo"), NewSite("s")))
    log.close()
    with closing(sqlite.open_raw(where, "ro")) as raw:
        assert raw.execute("PRAGMA application_id").fetchone() == (sqlite.APPLICATION_ID,)
        assert raw.execute("PRAGMA journal_mode").fetchone() == ("wal",)
