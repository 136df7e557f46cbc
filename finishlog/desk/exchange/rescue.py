"""A damaged log's sound pages brought home into a new log."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from finishlog.desk.services import Services
    from finishlog.store.archive.rescue import Rescued


def rescue(services: Services, damaged: str, where: str) -> Rescued:
    """Make a new log of all that can be read; the damaged one is left alone. Raises LogError."""
    from finishlog.store.archive import rescue as archive

    return archive.rescue(Path(damaged), Path(where), clock=services.clock)
