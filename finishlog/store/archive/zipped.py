"""A whole log as one archive file that any unzip opens: the log, its files, and a manifest of their SHA-256.

Written and read a block at a time. Names in an archive are never used as paths: each file goes where its hash,
or the log's own name here, says.
"""

from __future__ import annotations

import hashlib
import json
import os
import re
import zipfile
from collections.abc import Iterable, Iterator
from contextlib import closing, contextmanager
from importlib.metadata import version
from itertools import chain
from pathlib import Path
from typing import IO, Any
from zlib import error as ZlibError

from finishlog.errors import InputError
from finishlog.store.disk import leavings
from finishlog.store.disk.attachments import FILE_MOST, Attachments, folder_of
from finishlog.store.disk.files import built_beside, cannot_be_made, folder_of_its_own
from finishlog.store.engine import opening
from finishlog.store.engine.backup import copied_but, files_in
from finishlog.store.engine.postgres.address import Address

MANIFEST = "manifest.json"
LOG = "log.finishlog"
FORMAT = "finishlog archive 1"
MANIFEST_MOST = 512 << 20
_BLOCK = 1 << 20
_SHA256 = re.compile(r"[0-9a-f]{64}")
_FAULTS = (
    zipfile.BadZipFile,
    zipfile.LargeZipFile,
    ZlibError,
    EOFError,
    NotImplementedError,
    RuntimeError,
    OSError,
)


def pack(where: Path | Address, target: Path) -> None:
    """Write a log and its files into a new archive, and read it back. The log may be written meanwhile.

    Raises LogError if the target exists; and once all else is written, if a file of the log could not be.
    """
    with built_beside(target, "archive") as part, closing(opening.at(where)) as engine:
        copy = part.with_name("copy")
        copy.touch(mode=0o600)
        engine.copy_into(copy)
        files: list[dict[str, Any]] = []
        lost = []
        with (
            zipfile.ZipFile(part, "w", zipfile.ZIP_STORED) as out,
            engine.connection(write=False) as connection,
        ):
            with copy.open("rb") as file:
                files.append(_written(out, LOG, _read(file), zipfile.ZIP_DEFLATED))
            kept = engine.files(connection)
            for sha256, _ in files_in(copy):
                blocks = kept.blocks(sha256)
                first = next(blocks, b"")
                if not first:
                    lost.append(sha256)
                    continue
                files.append(_written(out, _name(sha256), chain((first,), blocks), zipfile.ZIP_STORED))
                if files[-1]["sha256"] != sha256:
                    lost.append(sha256)
            told = {"format": FORMAT, "application": version("finishlog"), "files": files}
            out.writestr(MANIFEST, json.dumps(told, indent=0) + "\n", zipfile.ZIP_DEFLATED)
        copy.unlink()
        _verify(part)
    if lost:
        raise copied_but(target, lost)


def _name(sha256: str) -> str:
    return f"{LOG}.files/{sha256[:2]}/{sha256}"


def _read(file: IO[bytes]) -> Iterator[bytes]:
    while block := file.read(_BLOCK):
        yield block


def _written(out: zipfile.ZipFile, name: str, blocks: Iterable[bytes], how: int) -> dict[str, Any]:
    entry = zipfile.ZipInfo(name)
    entry.compress_type, entry.external_attr = how, 0o600 << 16
    digest, size = hashlib.sha256(), 0
    with out.open(entry, "w", force_zip64=True) as into:
        for block in blocks:
            digest.update(block)
            size += len(block)
            into.write(block)
    return {"path": name, "size": size, "sha256": digest.hexdigest()}


def _verify(part: Path) -> None:
    with _opened(part) as (archive, files):
        for one in files:
            for _ in _blocks(archive, one, part):
                pass


def unpack(archive: Path, folder: Path) -> Path:
    """Unpack an archive into a new folder, every byte checked against the manifest; the path of its log.

    All or nothing. Raises InputError for what is no archive or is damaged, LogError for the folder.
    """
    with folder_of_its_own(folder, "unpacked archive") as part, _opened(archive) as (packed, files):
        for one in files:
            place = (
                part / LOG if one["path"] == LOG else Attachments(folder_of(part / LOG)).path(one["sha256"])
            )
            place.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
            with open(place, "xb", opener=_private) as into:
                into.writelines(_blocks(packed, one, archive))
                into.flush()
                os.fsync(into.fileno())
    return folder / LOG


@contextmanager
def as_log(copy: Path, target: Path) -> Iterator[Path]:
    """The path of a copy's log: an archive is unpacked beside the target meanwhile, any other copy is as it is.

    Killed, it leaves what the next to open the target sweeps. Raises like `unpack`.
    """
    if not is_archive(copy):
        yield copy
        return
    try:
        with leavings.workshop(target) as place:
            yield unpack(copy, place / "unpacked")
    except OSError as error:
        raise cannot_be_made(target, "log", error) from None


def _private(path: str, flags: int) -> int:
    return os.open(path, flags, 0o600)


def is_archive(path: Path) -> bool:
    """Whether a file looks like an archive; its contents are not read."""
    try:
        with path.open("rb") as file:
            return path.is_file() and file.read(4) == b"PK\x03\x04"
    except OSError:
        return False


@contextmanager
def _opened(path: Path) -> Iterator[tuple[zipfile.ZipFile, list[dict[str, Any]]]]:
    """The archive and what its manifest says, in good order: the log once, each file by its hash."""
    if not path.is_file():  # a named pipe would hang
        raise bad(path, "It is not a regular file.")
    try:
        archive = zipfile.ZipFile(path)
    except _FAULTS as error:
        raise bad(path, f"{str(error)[:100]}.") from None
    with archive:
        yield archive, _manifest(archive, path)


def _manifest(archive: zipfile.ZipFile, path: Path) -> list[dict[str, Any]]:
    try:
        if archive.getinfo(MANIFEST).file_size > MANIFEST_MOST:
            raise bad(path, "Its manifest is too large.")
        told = json.loads(archive.read(MANIFEST))
        files = [{"path": one["path"], "size": one["size"], "sha256": one["sha256"]} for one in told["files"]]
        if told["format"] != FORMAT:
            raise bad(path, f"Its format is {str(told['format'])[:40]}; this program reads {FORMAT}.")
    except (KeyError, TypeError, ValueError, *_FAULTS):
        raise bad(path, "It has no finishlog manifest.") from None
    names = [one["path"] for one in files]
    for one in files:
        if not (
            isinstance(one["sha256"], str)
            and _SHA256.fullmatch(one["sha256"])
            and isinstance(one["size"], int)
        ):
            raise bad(path, "Its manifest is damaged.")
        if one["path"] not in (LOG, _name(one["sha256"])) or (one["path"] != LOG and one["size"] > FILE_MOST):
            raise bad(path, "Its manifest names a file that belongs to no log.")
    if names.count(LOG) != 1 or len(set(names)) != len(names):
        raise bad(path, "Its manifest does not name one log.")
    return files


def _blocks(archive: zipfile.ZipFile, one: dict[str, Any], path: Path) -> Iterator[bytes]:
    """The bytes of one file, no more than it was said to have. Raises InputError at the end if they are others."""
    digest, left = hashlib.sha256(), one["size"]
    try:
        with archive.open(one["path"]) as file:
            while block := file.read(min(_BLOCK, left + 1)):
                left -= len(block)
                if left < 0:
                    break
                digest.update(block)
                yield block
    except (KeyError, *_FAULTS) as error:
        raise bad(path, f"{str(error)[:100]}.") from None
    if left or digest.hexdigest() != one["sha256"]:
        raise bad(path, f"{one['path'][:80]} in it was changed after packing.")


def bad(path: Path, cause: str) -> InputError:
    """The refusal of a file that is no archive of ours, or a damaged one."""
    return InputError(
        f"This is not a finishlog archive, or it is damaged: {path}.",
        f"{cause} Nothing was unpacked.",
        example="the file that finishlog backup FILE.zip made",
    )
