"""The front-yard job written down from memory at the keys: how many keys it takes beside the words."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path
from typing import Any

import pytest

from finishlog.tui.app import FinishlogApp
from tests.tui.test_whole_job_keys import NAMES, Hand, Run

MOST = 90
JOB = {"customer": "Wilhelmina Fernsby", "street": "8 Fern Row", "job": "front yard",
       "areas": "yard 18x14 less 3x3 4in", "poured_on": "Jun 4 2025"}  # fmt: skip
STORY: tuple[tuple[str, dict[str, str]], ...] = (
    ("load", {"at": "Jun 4 2025", "yards": "4", "product": "Wet Biscuit", "dose_told_lb_per_yd3": "7"}),
    ("powder", {"at": "Jun 4 2025", "product": "Otter Back", "amount": "10 lb"}),
    ("stamp", {"at": "Jun 4 2025", "pattern": "ashlar slate"}),
    ("rinse", {"at": "Jun 6 2025", "release_left_percent": "20"}),
    ("seal", {"at": "Jul 8 2025", "product": "Duckback 25"}),
)


@pytest.mark.long
@pytest.mark.parametrize("size", [(80, 24), (60, 20)])
async def test_the_front_yard_from_memory(
    finishlog: Run, drive: Any, monkeypatch: pytest.MonkeyPatch, tmp_path: Path, size: tuple[int, int],
    capsys: pytest.CaptureFixture[str],
) -> None:  # fmt: skip
    from finishlog.wiring import build

    log = str(tmp_path / "own.finishlog")
    assert finishlog("new", log).status == 0
    ours = build(log)
    ours.clock = lambda: datetime.fromisoformat("2026-06-16T08:00:00-05:00")
    app, words = FinishlogApp(ours), 0
    try:
        async with app.run_test(size=size, notifications=True) as pilot:
            hand = Hand(drive(app, pilot))
            await hand.stage.settle()
            await hand.press("n")
            await hand.fill(JOB)
            words += sum(map(len, JOB.values()))
            for kind, texts in STORY:
                await hand.press("l", *(NAMES.get(letter, letter) for letter in kind), "enter")
                kept = {field.asked.key: field.value for field in app.screen.fields}
                await hand.fill(kept | texts)
                words += len(kind) + sum(len(text) for key, text in texts.items() if kept[key] != text)
                await hand.stage.clear()
            assert app.screen.__class__.__name__ == "JobScreen", hand.stage.text
    finally:
        ours.close()
    beside = hand.keys - words
    with capsys.disabled():
        print(f"front yard from memory at {size}: {hand.keys} keys, {beside} beside the words")
    assert beside <= MOST
