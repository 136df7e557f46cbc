"""Whether a log lies where another machine, or a program that copies folders, may touch it."""

from __future__ import annotations

import os
import re
from contextlib import suppress
from pathlib import Path

MOUNTS = Path("/proc/self/mountinfo")
_NETWORK = re.compile(r"nfs\d?|cifs|smb\w*|9p|afs|ceph|davfs|ncpfs|fuse\.(?!fuseblk)\w+")
"""File systems of another machine; a local disk through fuse is `fuseblk`."""
_SYNCED = re.compile(r"sync|cloud|drive$", re.IGNORECASE)
ADVICE = "Keep the log on this machine, and back up there: finishlog backup FILE."


def remark(log: Path) -> str:
    """One sentence and an advice, or nothing."""
    where = Path(os.path.realpath(log))
    if conflicting := conflicted(where):
        return f"Another copy of this log lies beside it: {conflicting[0].name}. Two machines wrote to it. {ADVICE}"
    if on_network(where):
        return f"This log is on a network drive, where two machines can damage it. {ADVICE}"
    if synced(where):
        return f"This log seems to be in a synced folder, which may copy it half-written. {ADVICE}"
    return ""


def on_network(where: Path) -> bool:
    """Whether the disk is another machine's, by the longest mount above the file."""
    found: tuple[int, str] = (0, "")
    with suppress(OSError, IndexError, ValueError):
        for line in MOUNTS.read_text(encoding="utf-8", errors="replace").splitlines():
            before, _, after = line.partition(" - ")
            place = before.split(" ")[4].replace("\\040", " ")
            if where.is_relative_to(place):
                found = max(found, (len(place), after.split(" ")[0]))
    return _NETWORK.fullmatch(found[1]) is not None


def synced(where: Path) -> bool:
    """Whether a folder above is called so, or holds a sync program's own mark."""
    home = Path.home()
    for folder in where.parents:
        if folder in (home, home.parent, Path(folder.anchor)):
            return False
        if _SYNCED.search(folder.name) or any(folder.glob(".*sync*")):
            return True
    return False


def conflicted(where: Path) -> list[Path]:
    """What a sync program left beside the log when two machines wrote to it."""
    with suppress(OSError):
        return sorted(
            path
            for path in where.parent.iterdir()
            if path.name.startswith(where.stem)
            and path.suffix == where.suffix
            and "conflict" in path.name[len(where.stem) :].casefold()
        )
    return []
