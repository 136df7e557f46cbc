"""The files of a log on a server in a folder that its machines share: kept, missed, moved, stopped in between."""

from __future__ import annotations

import os
import random
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

import psycopg
import pytest

from finishlog import paths, settings
from finishlog.errors import InputError, LogError
from finishlog.records.writing import NewCustomer, NewEntry, NewFile, NewJob, NewSite
from finishlog.store import Log
from finishlog.store.archive import files_place
from finishlog.store.archive.copying import copy_to
from finishlog.store.disk.attachments import folder_of
from finishlog.store.engine.postgres.files import placing
from finishlog.store.engine.postgres.files.places import MARKER
from tests import pg
from tests.conftest import Ran
from tests.store.conftest import START, Ticking

MOVER = "from finishlog.wiring import run; import sys; print('on', flush=True); sys.exit(run(sys.argv[1:]))"


def quiet(_what: str, _share: float | None) -> None:
    """Nobody looks."""


def add(log: Log, name: str, data: bytes, folder: Path) -> str:
    """An entry with a file; its hash."""
    source = folder / name
    source.write_bytes(data)
    with log.writing() as writer:
        entry = writer.add_entry("patio", NewEntry("note", START, files=(NewFile(source),)))
    return str(entry.files[0].sha256)


@pytest.fixture
def log(address: str, ticking: Ticking, tmp_path: Path) -> Log:
    """A log on a server with three files, one of them of several pieces."""
    log = ticking.open(address)
    with log.writing() as writer:
        writer.add_job(
            NewJob("Patio", NewCustomer("Ines Quagmire"), NewSite("1 Teakettle Lane"), handle="patio")
        )
    for number, size in enumerate((3, 2_500_000, 40_000)):
        add(log, f"{number}.txt", bytes([65 + number]) * size, tmp_path)
    return log


def pieces(address: str) -> int:
    with psycopg.connect(address) as raw:
        row = raw.execute("SELECT count(DISTINCT sha256) FROM finishlog.file_piece").fetchone()
    assert row is not None
    return int(row[0])


def hashes(folder: Path) -> set[str]:
    return {path.name for path in folder.rglob("*") if path.is_file()} - {MARKER}


def named(log: Log) -> set[str]:
    with log._engine.connection(write=False) as connection:
        return {row[0] for row in connection.exec_driver_sql("SELECT sha256 FROM file")}


def lost(log: Log) -> list[str]:
    """The files that are not whole."""
    with log._engine.connection(write=False) as connection:
        files = log._engine.files(connection)
        rows = connection.exec_driver_sql("SELECT sha256, size FROM file")
        return [sha256 for sha256, size in rows if files.wrong_with(sha256, size)]


def move(log: Log, to: Path | str) -> None:
    files_place.move(log, str(to), progress=quiet)


def test_files_go_to_a_shared_folder_are_kept_there_and_come_back(
    log: Log, address: str, tmp_path: Path, ticking: Ticking, finishlog: Callable[..., Ran]
) -> None:
    def files(*argv: str) -> Ran:
        return finishlog("--log", address, "files", *argv)

    assert files("--json").json()["kept_in"] == "database"
    shared = tmp_path / "shared"
    shared.mkdir()
    shared.chmod(0o770)
    ran = files("--move-to", str(shared))
    assert (ran.status, f"in the shared folder {shared}" in ran.out) == (0, True), ran
    assert (hashes(shared), pieces(address)) == (named(log), 0)
    new = add(log, "new.txt", b"swept", tmp_path)
    assert (hashes(shared), pieces(address)) == (named(log), 0)
    assert (shared / new[:2] / new).stat().st_mode & 0o777 == 0o660
    assert (shared / new[:2]).stat().st_mode & 0o777 == 0o770
    assert log.file_path(new).read_bytes() == b"swept"
    assert (log.check().problems, files_place.told(log).unfinished) == ((), False)
    back = tmp_path / "back.finishlog"
    assert copy_to(log, back).files == 4
    assert hashes(folder_of(back)) == named(log)
    log.backup(tmp_path / "drawer.finishlog")
    assert hashes(folder_of(tmp_path / "drawer.finishlog")) == named(log)
    said = finishlog("--log", str(back), "files", "--json").json()
    assert (said["kept_in"], said["files"]) == ("beside the log", 4)
    refused = finishlog("--log", str(back), "files", "--move-to", str(tmp_path / "x"))
    assert (refused.status, "stay beside it" in refused.err) == (2, True)
    (shared / new[:2] / new).write_bytes(b"noise")
    assert [new[:12] in one for one in log.check().problems] == [True]
    refused = files("--move-to", "database")
    assert (refused.status, "--without-missing" in refused.err) == (3, True), refused.err
    (shared / new[:2] / new).write_bytes(b"swept")
    assert files("--move-to", "database", "--json").json() == {
        "kept_in": "database", "folder": None, "here": None, "files": 4, "bytes": 2_540_008,
        "fault": "", "unfinished": False,
    }  # fmt: skip
    assert (os.listdir(shared), pieces(address)) == ([], 4)
    assert log.check().problems == ()


def test_a_folder_that_is_not_mounted_or_is_anothers_is_said_and_nothing_is_written(
    log: Log, address: str, tmp_path: Path, finishlog: Callable[..., Ran]
) -> None:
    shared, away = tmp_path / "shared", tmp_path / "away"
    move(log, shared)
    marked = (shared / MARKER).read_text()
    os.rename(shared, away)
    for marker, said in (
        ("", "is not there"),
        (marked.replace('"token": "', '"token": "0'), "another log's files"),
    ):
        shared.mkdir(exist_ok=True)  # where a share is mounted, an empty folder stands meanwhile
        if marker:
            (shared / MARKER).write_text(marker)
        there = hashes(shared)
        with pytest.raises(LogError, match=said) as refused:
            add(log, "new.txt", b"swept", tmp_path)
        assert "Nothing was written" in refused.value.line()
        assert (hashes(shared), len(named(log))) == (there, 3)
        with pytest.raises(LogError, match=said):
            log.file_path(next(iter(named(log))))
        assert [said in one for one in log.check().problems] == [True]
        with pytest.raises(LogError, match=said):
            log.mendable()
        with pytest.raises(LogError, match=said):
            move(log, "database")
        ran = finishlog("--log", address, "export", str(tmp_path / "out"))
        assert (ran.status, said in ran.err, (tmp_path / "out").exists()) == (3, True, False), ran
    with log.writing() as writer:
        writer.add_entry("patio", NewEntry("note", START, note="what has no file is kept as ever"))

    wrong = finishlog("--log", address, "files", "--here", str(tmp_path))
    assert (wrong.status, "--here" in wrong.err) == (2, True)
    ran = finishlog("--log", address, "files", "--here", str(away))
    assert (ran.status, f"On this machine it is {away}" in ran.out) == (0, True), ran
    assert settings.read(paths.settings_file()) == (settings.Machine(files={str(shared): str(away)}), "")
    add(log, "new.txt", b"swept", tmp_path)
    assert (log.check().problems, hashes(away)) == ((), named(log))
    move(log, away)  # the same folder, by its path here
    assert files_place.told(log).folder == str(shared)
    move(log, "database")
    assert (log.check().problems, os.listdir(away), pieces(address)) == ((), [], 4)


def test_a_folder_that_will_not_do_is_refused(
    log: Log, address: str, ticking: Ticking, tmp_path: Path
) -> None:
    full, file = tmp_path / "full", tmp_path / "file"
    full.mkdir()
    (full / "mine").touch()
    file.touch()
    log.close()
    move(ticking.open(pg.copied(address)), tmp_path / "copys")
    for folder, why in (
        ("shared", "whole path"), (full, "not empty"), (file, "no such folder"), ("/proc/shared", "No such file"),
        (tmp_path / "no" / "such", "no such folder"), (tmp_path / "copys", "a copy of this log"),
        ("/a\0b", "null byte"),
    ):  # fmt: skip
        with pytest.raises(InputError, match="cannot go") as refused:
            move(log, folder)
        assert why in refused.value.line()
    assert files_place.told(log).kept_in == "database"
    assert (os.listdir(full), pieces(address)) == (["mine"], 3)


class _Stopped(Exception):
    """As a killed program: nothing after it is done."""


@pytest.mark.parametrize(
    ("start", "to"),
    [
        ("database", "a"),
        pytest.param("a", "database", marks=pytest.mark.long),
        pytest.param("a", "b", marks=pytest.mark.long),
    ],
)
def test_stopped_at_every_step_nothing_is_lost_and_the_same_again_finishes(
    log: Log, address: str, tmp_path: Path, start: str, to: str
) -> None:
    def at(place: str) -> str:
        return place if place == "database" else str(tmp_path / place)

    steps = 0
    while True:
        move(log, at(start))
        left = steps

        def tell(_what: str, _share: float | None) -> None:
            nonlocal left
            if left == 0:
                raise _Stopped
            left -= 1

        try:
            files_place.move(log, at(to), progress=tell)
            break
        except _Stopped:
            steps += 1
        assert lost(log) == [], steps
        add(log, "late.txt", b"late" * (1 + steps % 2), tmp_path)  # somebody goes on working meanwhile
        assert lost(log) == [], steps
        if steps % 2:
            move(log, at(to))
            _all_in(log, address, tmp_path, to)
    assert steps >= 6
    _all_in(log, address, tmp_path, to)


def _all_in(log: Log, address: str, tmp_path: Path, place: str) -> None:
    assert (lost(log), files_place.told(log).unfinished) == ([], False)
    assert pieces(address) == (len(named(log)) if place == "database" else 0)
    for folder in ("a", "b"):
        assert hashes(tmp_path / folder) == (named(log) if place == folder else set())
        assert (tmp_path / folder / MARKER).exists() == (place == folder)


def test_two_do_not_move_files_at_once(log: Log, address: str, tmp_path: Path) -> None:
    with psycopg.connect(address, autocommit=True) as raw:
        raw.execute(placing._MOVING)
        with pytest.raises(LogError, match="Another program is moving"):
            move(log, tmp_path / "a")
    assert not (tmp_path / "a").exists()


@pytest.mark.long
def test_killed_at_any_moment_nothing_is_lost(log: Log, address: str, tmp_path: Path) -> None:
    """A sweep of kill -9 over moves between three places, while files go on coming in."""
    for number in range(40):
        add(log, f"more{number}", os.urandom(300_000), tmp_path)
    chance, took, whole = random.Random(14), 3.0, 0
    places = ["database", str(tmp_path / "a"), str(tmp_path / "b")]
    for cycle in range(60):
        to = chance.choice(places)
        command = (sys.executable, "-c", MOVER, "--log", address, "files", "--move-to", to)
        run = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True)
        assert run.stdout is not None
        run.stdout.readline()
        began = time.monotonic()
        add(log, f"during{cycle}", os.urandom(1000), tmp_path)
        time.sleep(chance.uniform(0, took))
        run.send_signal(signal.SIGKILL)
        run.stdout.close()
        if run.wait() == 0:
            whole += 1
            took = min(took, time.monotonic() - began)
        assert log.check().problems == (), cycle
    move(log, to)
    assert (log.check().problems, files_place.told(log).unfinished) == ((), False)
    assert 0 < whole < 60, whole
    print(f"\n60 kills, {whole} moves were done before; {len(named(log))} files, none lost")
