"""Small pictures of the log's photos, in the user's cache: made again where they are not there."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from finishlog.desk.photo import files
from finishlog.errors import InputError
from finishlog.inputs import photos as pictures

if TYPE_CHECKING:
    from finishlog.desk.services import Services


def thumbnail(services: Services, sha256: str, size: int = pictures.SIDE) -> Path:
    """A JPEG of a kept photo, upright, at most `size` pixels long, in the user's cache; made where it is not there.

    Raises LogError where the photo is lost, InputError where it is none.
    """
    target = _path(sha256, size)
    if not target.is_file():
        data = files.read(services.log().file_path(sha256), pictures.BYTES_MOST)
        write(sha256, size, pictures.make_small(data, size), must=True)
    return target


def _path(sha256: str, size: int) -> Path:
    from finishlog import paths

    return paths.cache_folder() / "photos" / sha256[:2] / f"{sha256}-{size}.jpg"


def write(sha256: str, size: int, data: bytes, *, must: bool = False) -> None:
    """Keep a small picture, whole or not at all. A full disk is said only where it `must` be there."""
    import os
    import tempfile

    target = _path(sha256, size)
    try:
        target.parent.mkdir(parents=True, exist_ok=True)
        handle, part = tempfile.mkstemp(suffix=".part", dir=target.parent)
        with os.fdopen(handle, "wb") as out:
            out.write(data)
        os.replace(part, target)
    except OSError as error:
        if must:
            raise InputError(
                f"Cannot save a thumbnail: {target.parent}.", f"{error.strerror}.", where="cache"
            ) from None
