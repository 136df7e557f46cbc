"""Copy the log to the current folder, under the first free name."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from finishlog.desk.services import Services


def backup(services: Services) -> str:
    """Copy the log, checked, with its files; the copy's name. Raises LogError."""
    start = f"backup-{services.today().isoformat()}"
    names = (f"{start}{end}.finishlog" for end in ("", *(f"-{n}" for n in range(2, 1000))))
    name = next(name for name in names if not Path(name).exists() and not Path(f"{name}.files").exists())
    services.log().backup(name)
    return name
