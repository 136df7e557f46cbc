"""Files kept with an entry, and a picture's own metadata."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

PhotoClock = Literal["camera offset", "site wall time", "told", "unknown"]


@dataclass(frozen=True, slots=True)
class Content:
    """A file's bytes, already read, with their SHA-256 in hex."""

    data: bytes
    sha256: str


@dataclass(frozen=True, slots=True)
class Photo:
    """A kept picture's metadata: upright size in pixels and time taken.

    `taken` is the camera's wall time ("2026-06-16T09:42:10"), `utc_offset` its offset ("-05:00"), each None
    where the picture does not say. `clock` says whose time the entry's `happened` was computed from.
    """

    format: str  # JPEG, PNG, TIFF, WebP, HEIC
    width: int
    height: int
    taken: str | None = None
    utc_offset: str | None = None
    clock: PhotoClock = "unknown"


@dataclass(frozen=True, slots=True)
class Attachment:
    """A file kept with an entry, byte for byte: ticket, drawing, photo, signature."""

    sha256: str
    name: str
    size: int
    media_type: str | None = None
    photo: Photo | None = None


@dataclass(frozen=True, slots=True)
class FilesPlace:
    """Where the files of a log are kept, and how many there are."""

    kept_in: Literal["beside the log", "database", "folder"]
    folder: str | None
    """The folder's path as the log has it, where they are in one."""
    here: str | None
    """Its path on this machine."""
    files: int
    bytes: int
    fault: str = ""
    """Why they are out of reach just now."""
    unfinished: bool = False
    """Whether moving them was begun and not finished."""
