"""A new folder of e-mail drafts: all or nothing, never over existing files."""

from __future__ import annotations

import os
import secrets
import shutil
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path

from finishlog import private
from finishlog.errors import InputError, is_full, why
from finishlog.papers.files import full


def check(name: str) -> Path:
    """The place of a new folder. Raises InputError if something is there."""
    target = Path(name)
    if not name.strip() or "\0" in name:
        raise InputError("The folder name is empty.", where="--mail", example="--mail drafts")
    if target.is_dir() and not target.is_symlink() and not any(target.iterdir()):
        return target
    if os.path.lexists(target):
        raise InputError(f"{name} already exists.", "Name a new folder, or an empty one.",
                         where="--mail", example="--mail drafts")  # fmt: skip
    if not target.absolute().parent.is_dir():
        raise InputError(
            f"{name} cannot be made.", "No such folder.", where="--mail", example="--mail drafts"
        )
    return target


@contextmanager
def new_folder(name: str, drafts: Mapping[str, bytes]) -> Iterator[Path]:
    """A new folder with the drafts, built beside its place and put there when the block ends well."""
    target = check(name)
    part = target.absolute().parent / f".finishlog-{secrets.token_hex(6)}.part"
    try:
        part.mkdir(mode=private.FOLDER)
        for file, data in drafts.items():
            private.write(part / file, data)
        yield target
        os.rename(part, target)
    except OSError as failure:
        if is_full(failure):
            raise full(f"{name} cannot be written.", failure) from None
        raise InputError(f"{name} cannot be written.", why(failure), where="--mail",
                         example="--mail drafts") from None  # fmt: skip
    finally:
        shutil.rmtree(part, ignore_errors=True)
