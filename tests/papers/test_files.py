"""A new file: whole or not at all, never over another one."""

from __future__ import annotations

import errno
import os
from pathlib import Path

import pytest

from finishlog.errors import FinishlogError, InputError
from finishlog.papers import files


def left(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.iterdir())


def put(target: Path | str, data: bytes = b"new", *, force: bool = False) -> None:
    with files.new_file(str(target), data, force=force):
        pass


def test_it_is_there_when_the_block_has_ended(tmp_path: Path) -> None:
    with files.new_file(str(tmp_path / "a.pdf"), b"new") as target:
        assert not target.exists()
    assert target.read_bytes() == b"new"
    assert left(tmp_path) == ["a.pdf"]


@pytest.mark.parametrize("mask", [0, 0o022, 0o077])
def test_it_may_be_read_by_its_owner_alone(tmp_path: Path, mask: int) -> None:
    old = os.umask(mask)
    try:
        put(tmp_path / "a.pdf")
    finally:
        os.umask(old)
    assert (tmp_path / "a.pdf").stat().st_mode & 0o777 == 0o600


def test_a_file_that_is_there_is_kept(tmp_path: Path) -> None:
    (tmp_path / "a.pdf").write_bytes(b"old")
    with pytest.raises(InputError, match="already exists") as refused:
        put(tmp_path / "a.pdf")
    assert "--force" in refused.value.line()
    assert (tmp_path / "a.pdf").read_bytes() == b"old"
    put(tmp_path / "a.pdf", force=True)
    assert (tmp_path / "a.pdf").read_bytes() == b"new"
    assert left(tmp_path) == ["a.pdf"]


def test_a_file_that_came_in_between_is_kept(tmp_path: Path) -> None:
    target = tmp_path / "a.pdf"
    with pytest.raises(InputError, match="already exists"), files.new_file(str(target), b"new"):
        target.write_bytes(b"theirs")
    assert target.read_bytes() == b"theirs"
    assert left(tmp_path) == ["a.pdf"]


def test_the_same_without_hard_links(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def none(*_: object) -> None:
        raise OSError(errno.EPERM, "no links here")

    monkeypatch.setattr(os, "link", none)
    put(tmp_path / "a.pdf")
    assert (tmp_path / "a.pdf").read_bytes() == b"new"
    with pytest.raises(InputError, match="already exists"), files.new_file(str(tmp_path / "b.pdf"), b"new"):
        (tmp_path / "b.pdf").write_bytes(b"theirs")
    assert left(tmp_path) == ["a.pdf", "b.pdf"]


@pytest.mark.parametrize("force", [False, True])
def test_nothing_is_left_when_the_block_fails(tmp_path: Path, force: bool) -> None:
    with pytest.raises(RuntimeError), files.new_file(str(tmp_path / "a.pdf"), b"new", force=force):
        raise RuntimeError("the log was locked")
    assert left(tmp_path) == []


@pytest.mark.parametrize(
    ("number", "word", "status"),
    [
        (errno.ENOSPC, "The disk is full.", 3),
        (errno.EDQUOT, "Your disk quota", 3),
        (errno.EIO, "Input/output error.", 2),
    ],
)
def test_a_disk_that_fails_leaves_nothing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, number: int, word: str, status: int
) -> None:
    def full(_: int) -> None:
        raise OSError(number, os.strerror(number))

    (tmp_path / "a.pdf").write_bytes(b"old")
    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(FinishlogError) as refused:
        put(tmp_path / "a.pdf", force=True)
    assert refused.value.exit_status == status  # what was typed is right where the disk is full
    assert word in refused.value.line()
    assert "\n" not in refused.value.line()
    assert (tmp_path / "a.pdf").read_bytes() == b"old"
    assert left(tmp_path) == ["a.pdf"]


def test_places_that_are_none(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe")
    (tmp_path / "file").write_text("")
    for name, word in (
        (tmp_path, "is a folder"),
        (tmp_path / "no" / "a.pdf", "No such folder"),
        (tmp_path / "file" / "a.pdf", "No such folder"),
        (tmp_path / ("n" * 300), "too long"),
        ("", "is empty"),
        ("  ", "is empty"),
        ("a\0b", "not a file name"),
    ):
        with pytest.raises(InputError) as refused:
            put(str(name), force=True)
        assert word in refused.value.line()
        assert refused.value.where == "--pdf"
    with pytest.raises(InputError, match="not a regular file"):
        put(tmp_path / "pipe", force=True)
    with pytest.raises(InputError, match="already exists"):
        put(tmp_path / "pipe")
    assert left(tmp_path) == ["file", "pipe"]


@pytest.mark.skipif(os.geteuid() == 0, reason="root may write anywhere")
def test_a_folder_that_may_not_be_written_to(tmp_path: Path) -> None:
    tmp_path.chmod(0o500)
    with pytest.raises(InputError) as refused:
        put(tmp_path / "a.pdf")
    assert "not writable" in refused.value.line()


def test_a_link_that_leads_nowhere_counts_as_there(tmp_path: Path) -> None:
    (tmp_path / "a.pdf").symlink_to(tmp_path / "gone")
    with pytest.raises(InputError, match="already exists"):
        put(tmp_path / "a.pdf")
    put(tmp_path / "a.pdf", force=True)
    assert (tmp_path / "a.pdf").read_bytes() == b"new"
    assert left(tmp_path) == ["a.pdf"]
