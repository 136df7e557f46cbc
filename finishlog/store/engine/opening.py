"""Which engine a log has."""

from __future__ import annotations

from pathlib import Path

from finishlog.store.engine.in_sqlite import Sqlite
from finishlog.store.engine.protocol import GIVE_UP_AFTER_S, Engine, Waiting


def at(
    where: Path,
    *,
    named: Path | None = None,
    on_wait: Waiting | None = None,
    give_up_after_s: float = GIVE_UP_AFTER_S,
) -> Engine:
    """The engine of the log at that place; nothing is opened yet.

    `named` is what failures call it. `on_wait` is called once when a write has waited 2 s for another program.
    """
    return Sqlite(where, named=named, on_wait=on_wait, give_up_after_s=give_up_after_s)
