"""What an entry costs while others wait for their turn, and as a whole, by the CPU of the process."""

from __future__ import annotations

import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest

from finishlog import wiring
from finishlog.desk.record.record import record
from finishlog.store.engine import turns

pytestmark = pytest.mark.bench
TIMES = 150
FIRST = 60
"""What is imported and compiled once comes before."""


def test_little_of_an_entry_is_done_while_others_wait(
    demo: str, clock: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    held = 0.0
    turn = turns.turn

    @contextmanager
    def measured(log: Path, patience: turns.Patience) -> Iterator[None]:
        nonlocal held
        with turn(log, patience):
            began = time.process_time()
            try:
                yield
            finally:
                held += time.process_time() - began

    monkeypatch.setattr(turns, "turn", measured)
    services = wiring.build(demo)
    with services.log().reading() as log:
        handles = [line.handle for line in log.lines()][:30]

    def note(at: int) -> Any:
        texts = {"at": "2026-06-16 7:00a", "note": f"gate {at}"}
        return record(services, handles[at % len(handles)], "note", texts, because="to be sure")

    def opened(at: int) -> Any:
        with services.log().reading() as log:
            return log.job(handles[at % len(handles)])

    for at in range(FIRST):
        note(at), opened(at)
    held, began = 0.0, time.process_time()
    for at in range(TIMES):
        note(FIRST + at)
    whole = time.process_time() - began
    began = time.process_time()
    for at in range(TIMES):
        opened(at)
    floor = time.process_time() - began
    services.close()
    each = 1e3 / TIMES
    print(
        f"{whole * each:.1f} ms an entry, {held * each:.1f} in its turn; a job laid open {floor * each:.1f}"
    )
    assert held <= 2 * floor
    assert whole <= 6 * floor
