"""Chooses a log's engine."""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from finishlog.store.disk.attachments import folder_of
from finishlog.store.disk.files import already_there, built_beside
from finishlog.store.engine import header
from finishlog.store.engine.in_sqlite import Sqlite
from finishlog.store.engine.postgres.address import Address
from finishlog.store.engine.protocol import GIVE_UP_AFTER_S, Engine, Rights, Waiting


@contextmanager
def new(target: Path | Address, rights: Rights, *, with_files: bool = False) -> Iterator[Engine]:
    """The engine of a log that is being made; it gets its name once the block ends, and nothing stays if it fails.

    Raises LogError if there is something of that name, or of its files' where it comes `with_files`; what a killed
    program left there is swept first. `rights` is called on a server alone.
    """
    if isinstance(target, Address):
        from finishlog.store.engine.postgres import in_postgres

        with in_postgres.new(target, rights) as part:
            yield part
        return
    header.finish_switch(target)
    with built_beside(target, "log") as beside:
        if with_files and os.path.lexists(folder_of(target)):
            raise already_there(folder_of(target), "log")
        yield at(beside, named=target)


def at(
    where: Path | Address,
    *,
    named: Path | None = None,
    on_wait: Waiting | None = None,
    give_up_after_s: float = GIVE_UP_AFTER_S,
) -> Engine:
    """The engine of the log at that path or address; opens nothing yet.

    `named` is its name in errors. `on_wait` is called again and again while a write waits.
    """
    if isinstance(where, Address):
        from finishlog.store.engine.postgres.in_postgres import Postgres

        return Postgres(where, on_wait=on_wait, give_up_after_s=give_up_after_s)
    return Sqlite(where, named=named, on_wait=on_wait, give_up_after_s=give_up_after_s)
