"""A log on a server is backed up, restored, exported and brought back as one in a file is."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import psycopg
import pytest

from tests.conftest import Ran

JOB = "fizzlewick-side-walk"
Run = Callable[..., Ran]


def bytes_of(folder: Path) -> dict[str, bytes]:
    return {str(path.relative_to(folder)): path.read_bytes() for path in folder.rglob("*") if path.is_file()}


def schemas(address: str) -> list[str]:
    with psycopg.connect(address) as raw:
        found = raw.execute("SELECT nspname FROM pg_namespace WHERE nspname LIKE 'finishlog%' ORDER BY 1")
        return [row[0] for row in found.fetchall()]


def test_what_is_backed_up_comes_back_and_the_old_log_is_kept(
    finishlog: Run, demo: str, bare_address: str, tmp_path: Path
) -> None:
    def on(*argv: str, log: str = bare_address) -> str:
        ran = finishlog("--log", log, *argv)
        assert (ran.status, ran.err) == (0, ""), argv
        return ran.out

    on("copy-to", bare_address, log=demo)
    on("export", str(tmp_path / "there"))
    on("backup", str(tmp_path / "copy.finishlog"))
    on("backup", str(tmp_path / "drawer.zip"))
    on("export", str(tmp_path / "here"), log=str(tmp_path / "copy.finishlog"))
    assert bytes_of(tmp_path / "there") == bytes_of(tmp_path / "here")
    shown = on("show", JOB, "--json")
    on("record", JOB, "note", "--note", "logged after the backup")
    assert str(tmp_path / "drawer.zip") in on("restore")
    for copy in ("drawer.zip", "copy.finishlog"):
        said = on("restore", str(tmp_path / copy))
        assert "The old log is kept as schema finishlog_before_" in said
        assert on("show", JOB, "--json") == shown
        assert "The log is sound." in on("check")
    assert [name[:16] for name in schemas(bare_address)] == ["finishlog", *["finishlog_before"] * 2]


def test_an_export_comes_back_on_a_server(
    finishlog: Run, demo: str, bare_address: str, tmp_path: Path
) -> None:
    assert finishlog("--log", demo, "export", str(tmp_path / "first")).status == 0
    for status in (0, 3):
        ran = finishlog("--log", bare_address, "import", str(tmp_path / "first"), "--new")
        assert ran.status == status, ran.err
    assert finishlog("--log", bare_address, "export", str(tmp_path / "last")).status == 0
    assert bytes_of(tmp_path / "first") == bytes_of(tmp_path / "last")


def test_a_restore_that_cannot_be_changes_nothing(
    finishlog: Run, demo: str, address: str, tmp_path: Path
) -> None:
    other = tmp_path / "other.finishlog"
    other.write_bytes(b"no log")

    def refused(copy: str) -> str:
        ran = finishlog("--log", address, "restore", copy)
        assert (ran.status, ran.out, len(ran.err.splitlines())) == (3, "", 1)
        assert schemas(address) == ["finishlog"]
        return ran.err

    assert "Nothing was changed" in refused(str(other))
    assert "No copy at" in refused(str(tmp_path / "none"))
    with psycopg.connect(address, application_name="finishlog"):
        assert "Another program has the log open" in refused(demo)
    lost = next(path for path in Path(f"{demo}.files").rglob("*") if path.is_file())
    lost.unlink()
    assert "The copy is incomplete" in refused(demo)


@pytest.mark.parametrize("where", ["nowhere", "foreign"])
def test_what_is_no_log_of_ours_is_left_alone(
    finishlog: Run, demo: str, bare_address: str, where: str
) -> None:
    """Where there is no log one is put; a schema of that name by another program stays."""
    if where == "foreign":
        with psycopg.connect(bare_address, autocommit=True) as raw:
            raw.execute("CREATE SCHEMA finishlog")
    ran = finishlog("--log", bare_address, "restore", demo)
    assert ran.status == (3 if where == "foreign" else 0), ran.err
    assert ("kept" in ran.out, schemas(bare_address)) == (False, ["finishlog"])
