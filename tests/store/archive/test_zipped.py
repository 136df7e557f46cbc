"""A log in one archive file: whole, readable by anything, and trusted in nothing when it comes back."""

import hashlib
import json
import os
import shutil
import sqlite3
import subprocess
import sys
import zipfile
from collections.abc import Callable
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest

from finishlog.errors import InputError, LogError
from finishlog.store.archive import zipped
from finishlog.store.disk.attachments import Attachments
from tests.conftest import Ran


@pytest.fixture(scope="module")
def archive(made_demo: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demo's archive, packed once."""
    packed = tmp_path_factory.mktemp("packed") / "shop.zip"
    zipped.pack(made_demo, packed)
    return packed


@pytest.fixture
def packed(archive: Path, tmp_path: Path) -> Path:
    return Path(shutil.copy(archive, tmp_path))


def tree(folder: Path) -> dict[str, bytes]:
    return {str(path.relative_to(folder)): path.read_bytes() for path in folder.rglob("*") if path.is_file()}


def test_what_is_packed_comes_out(
    packed: Path, made_demo: Path, tmp_path: Path, finishlog: Callable[..., Ran]
) -> None:
    log = zipped.unpack(packed, tmp_path / "out")
    assert tree(Path(f"{log}.files")) == tree(Path(f"{made_demo}.files"))
    assert sorted(path.name for path in log.parent.iterdir()) == ["log.finishlog", "log.finishlog.files"]
    assert finishlog("--log", str(log), "check", "--json").json()["problems"] == []
    shows = [finishlog("--log", str(where), "find", "--json").json() for where in (log, made_demo)]
    assert shows[0] == shows[1]


def test_any_unzip_reads_it_and_photos_are_stored(packed: Path, tmp_path: Path) -> None:
    with zipfile.ZipFile(packed) as archive:
        assert archive.testzip() is None
        told = json.loads(archive.read("manifest.json"))
        for one in told["files"]:
            assert hashlib.sha256(archive.read(one["path"])).hexdigest() == one["sha256"]
        ways = {entry.compress_type for entry in archive.infolist() if ".files/" in entry.filename}
    assert ways == {zipfile.ZIP_STORED}
    assert packed.stat().st_mode & 0o077 == 0


def test_the_command_makes_one(demo: str, tmp_path: Path, finishlog: Callable[..., Ran]) -> None:
    target = tmp_path / "drawer.zip"
    assert finishlog("--log", demo, "backup", str(target)).status == 0
    assert zipped.is_archive(target)
    again = finishlog("--log", demo, "backup", str(target))
    assert (again.status, "already exists" in again.err) == (3, True)


def test_a_lost_file_is_said_and_the_rest_is_packed(demo: str, tmp_path: Path) -> None:
    lost = next(path for path in Path(f"{demo}.files").rglob("*") if path.is_file())
    lost.unlink()
    with pytest.raises(LogError, match="one of its files could not be"):
        zipped.pack(Path(demo), tmp_path / "shop.zip")
    log = zipped.unpack(tmp_path / "shop.zip", tmp_path / "out")
    assert lost.name not in {path.name for path in Path(f"{log}.files").rglob("*")}


def rewritten(packed: Path, change: Callable[[dict[str, Any], dict[str, bytes]], None]) -> Path:
    """The archive with another manifest and other files."""
    with zipfile.ZipFile(packed) as archive:
        told = json.loads(archive.read("manifest.json"))
        files = {name: archive.read(name) for name in archive.namelist() if name != "manifest.json"}
    change(told, files)
    target = packed.with_name("evil.zip")
    with zipfile.ZipFile(target, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, data in files.items():
            archive.writestr(name, data)
        archive.writestr("manifest.json", json.dumps(told))
    return target


def _set(**values: object) -> Callable[[dict[str, Any], dict[str, bytes]], None]:
    return lambda told, files: told["files"][-1].update(values)


def _swap(told: dict[str, Any], files: dict[str, bytes]) -> None:
    files[told["files"][-1]["path"]] = b"something else"


def _climb(told: dict[str, Any], files: dict[str, bytes]) -> None:
    files["../../evil"] = b"x"
    told["files"].append({"path": "../../evil", "size": 1, "sha256": hashlib.sha256(b"x").hexdigest()})


def _bomb(told: dict[str, Any], files: dict[str, bytes]) -> None:
    files[told["files"][-1]["path"]] = bytes(50 << 20)


EVIL: dict[str, Callable[[dict[str, Any], dict[str, bytes]], None]] = {
    "path up": _set(path="../evil"), "absolute": _set(path="/tmp/evil"), "hash": _set(sha256="../../evil"),
    "size": _set(size="many"), "huge": _set(size=2**40), "negative": _set(size=-1), "climb": _climb,
    "swapped": _swap, "bomb": _bomb, "missing": lambda told, files: files.popitem() and None,
    "twice": lambda told, files: told["files"].append(told["files"][0]),
    "no log": lambda told, files: told["files"].pop(0) and None,
    "format": lambda told, files: told.update(format="another"),
    "no list": lambda told, files: told.update(files=3),
}  # fmt: skip


@pytest.mark.parametrize("how", EVIL)
def test_an_archive_is_not_trusted(packed: Path, tmp_path: Path, how: str) -> None:
    evil = rewritten(packed, EVIL[how])
    before = sorted(path.name for path in tmp_path.iterdir())
    with pytest.raises(InputError, match="not a finishlog archive, or it is damaged"):
        zipped.unpack(evil, tmp_path / "out")
    assert sorted(path.name for path in tmp_path.iterdir()) == before


def test_what_the_manifest_does_not_name_stays_in(packed: Path, tmp_path: Path) -> None:
    evil = rewritten(
        packed, lambda told, files: files.update({"../../evil": b"x", "log.finishlog-wal": b"x"})
    )
    log = zipped.unpack(evil, tmp_path / "out")
    assert sorted(path.name for path in log.parent.iterdir()) == ["log.finishlog", "log.finishlog.files"]


@pytest.mark.parametrize("content", [b"", b"PK\x03\x04", b"no archive"])
def test_no_archive(tmp_path: Path, content: bytes) -> None:
    where = tmp_path / "odd.zip"
    where.write_bytes(content)
    with pytest.raises(InputError, match="not a finishlog archive"):
        zipped.unpack(where, tmp_path / "out")


def test_every_flipped_bit_is_found_or_harmless(packed: Path, made_demo: Path, tmp_path: Path) -> None:
    """Whatever bit is flipped: refused, or what comes out is what went in."""
    data = packed.read_bytes()
    whole = tree(zipped.unpack(packed, tmp_path / "whole").parent)
    flipped = tmp_path / "flipped.zip"
    for number in range(12):
        place = (number * 2654435761 + 97) % len(data)
        flipped.write_bytes(data[:place] + bytes([data[place] ^ 1 << number % 8]) + data[place + 1 :])
        try:
            out = zipped.unpack(flipped, tmp_path / f"out-{number}")
        except InputError:
            continue
        assert tree(out.parent) == whole


PEAK = """
import resource, sys
from pathlib import Path
from finishlog.store.archive import zipped
from finishlog.store import Log
before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
zipped.pack(Path(sys.argv[1]), Path(sys.argv[2]))
zipped.unpack(Path(sys.argv[2]), Path(sys.argv[3]))
print(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before)
"""


@pytest.mark.long
def test_memory_is_flat(demo: str, tmp_path: Path) -> None:
    """A file of 60 MB takes no more than one of 1."""
    large = tmp_path / "large.pdf"
    with large.open("wb") as out:
        for _ in range(60):
            out.write(os.urandom(1 << 20))
    kept = Attachments(Path(f"{demo}.files")).keep(large)
    with closing(sqlite3.connect(demo)) as raw:
        raw.execute(
            "INSERT INTO file SELECT ?, ?, media_type, added FROM file LIMIT 1", (kept.sha256, kept.size)
        )
        raw.commit()
    words = [demo, str(tmp_path / "large.zip"), str(tmp_path / "out")]
    took = subprocess.run([sys.executable, "-c", PEAK, *words], check=True, capture_output=True, text=True)
    assert (tmp_path / "large.zip").stat().st_size > 60 << 20
    assert int(took.stdout) < 30_000
