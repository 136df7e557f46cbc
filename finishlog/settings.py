"""This machine's own settings: theme, glyphs, units, keys, the last log. The shop's stand in the log.

They lie in a TOML file at `paths.settings_file()`. A file that cannot be read is said, and the usual hold.
"""

from __future__ import annotations

import json
import os
import stat
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

THEMES = ("shade", "full-sun")
UNITS = ("us", "metric")
SEATS = {"owner": "jobs", "crew": "today", "office": "care"}
"""Who sits at this machine, and the page the screens open on."""
USUAL = "Using the defaults."
LONGEST = 1_000_000
"""Bytes: more than anyone's keys take."""


@dataclass(frozen=True, slots=True)
class Machine:
    """`keys` are the person's own keys by the action's id; `last_log` the one that was open last;
    `last_photos` the folder that photos came in from last.

    `who` sits here: the screens open on what that person comes for. `copies`: a copy of the log each day it changed.
    `serve`: the `proxy` before the pages of the phones, and the `address` that phones call it by.
    """

    theme: str = "shade"
    outdoors: bool = False
    plain_glyphs: bool = False
    units: str = "us"
    keys: Mapping[str, str] = field(default_factory=dict)
    last_log: str = ""
    last_photos: str = ""
    who: str = "owner"
    copies: bool = True
    files: Mapping[str, str] = field(default_factory=dict)
    """Where a folder of a log's files is on this machine, by its path as the log has it."""
    serve: Mapping[str, str] = field(default_factory=dict)

    @property
    def dress(self) -> str:
        """The theme that is shown: outdoors it is always black on white."""
        return "full-sun" if self.outdoors else self.theme

    @property
    def place(self) -> str:
        """The page the screens open on."""
        return SEATS[self.who]


def read(path: Path) -> tuple[Machine, str]:
    """The settings, and in one line what is wrong with their file; blank where nothing is."""
    try:
        text = _text(path)
    except FileNotFoundError:
        return Machine(), ""
    except (OSError, ValueError) as error:
        return Machine(), f"{path.name} cannot be read: {_cause(error)}. {USUAL}"
    return _parsed(text, path.name)


def _text(path: Path) -> str:
    """What stands in the file; never waits on a pipe, never reads without end."""
    with open(
        path, "rb", opener=lambda name, flags: os.open(name, flags | getattr(os, "O_NONBLOCK", 0))
    ) as file:
        if not stat.S_ISREG(os.fstat(file.fileno()).st_mode):
            raise OSError(0, "it is not a regular file")
        data = file.read(LONGEST + 1)
    if len(data) > LONGEST:
        raise OSError(0, f"it is longer than {LONGEST:,} bytes")
    return data.decode("utf-8-sig").replace("\r\n", "\n")


def _cause(error: Exception) -> str:
    return getattr(error, "strerror", None) or (
        "it is not text" if isinstance(error, ValueError) else str(error)
    )


def _parsed(text: str, name: str) -> tuple[Machine, str]:
    import tomllib

    try:
        found = tomllib.loads(text)
    except (tomllib.TOMLDecodeError, RecursionError) as error:
        return Machine(), f"{name} cannot be read: {str(error).rstrip('.')}. {USUAL}"
    good = {key: value for key, value in found.items() if key in _FITS and _FITS[key](value)}
    bad = [key[:60] for key in found if key not in good]
    said = f"{name}: {', '.join(bad)[:60]} cannot be used; default used instead." if bad else ""
    return Machine(**good), said


def _yes_no(value: object) -> bool:
    return isinstance(value, bool)


def _keys(value: object) -> bool:
    return isinstance(value, dict) and all(isinstance(key, str) and key for key in value.values())


def _serve(value: object) -> bool:
    return _keys(value) and set(value) <= {"proxy", "address"}  # type: ignore[call-overload]


_FITS: dict[str, Any] = {
    "theme": lambda value: value in THEMES,
    "outdoors": _yes_no,
    "plain_glyphs": _yes_no,
    "copies": _yes_no,
    "units": lambda value: value in UNITS,
    "keys": _keys,
    "files": _keys,
    "who": lambda value: isinstance(value, str) and value in SEATS,
    "last_log": lambda value: isinstance(value, str),
    "last_photos": lambda value: isinstance(value, str),
    "serve": _serve,
}


def write(path: Path, machine: Machine) -> None:
    """Keep the settings: the file holds the old ones or the new, never half. Raises OSError.

    One that could not be read is kept beside it, with `.broken` behind its name.
    """
    import tempfile

    path.parent.mkdir(parents=True, exist_ok=True)
    if path.exists() and read(path)[1]:
        os.replace(path, path.with_name(path.name + ".broken"))
    handle, part = tempfile.mkstemp(prefix=f".{path.name}.", dir=path.parent)
    try:
        with os.fdopen(handle, "w", encoding="utf-8") as file:
            file.write(text_of(machine))
            file.flush()
            os.fsync(file.fileno())
        os.replace(part, path)
    except BaseException:
        Path(part).unlink(missing_ok=True)
        raise


def text_of(machine: Machine) -> str:
    """The settings as TOML."""
    lines = ["# finishlog on this machine. The shop's own settings are in the log."]
    for key in ("theme", "outdoors", "plain_glyphs", "units", "who", "copies", "last_log", "last_photos"):
        lines.append(f"{key} = {_value(getattr(machine, key))}")
    for name, table in (("keys", machine.keys), ("files", machine.files), ("serve", machine.serve)):
        if table or name == "keys":
            lines += ["", f"[{name}]", *(f"{_value(key)} = {_value(value)}" for key, value in table.items())]
    return "\n".join(lines) + "\n"


def _value(value: bool | str) -> str:
    """TOML writes a basic string and a truth value as JSON does; of its escapes DEL alone is missing there."""
    return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007f")
