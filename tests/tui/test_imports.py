"""The first frame needs neither store nor color: a clean interpreter, and what it has loaded."""

from __future__ import annotations

import json
import subprocess
import sys

HEAVY = ["sqlalchemy", "alembic", "pydantic", "colour", "numpy", "scipy", "dateutil", "rapidfuzz", "tzlocal"]
FIRST_FRAME = """
import asyncio, json, sys
from datetime import UTC, datetime
from types import SimpleNamespace
import finishlog.tui.app as tui
from finishlog.tui.jobs.jobs import JobsScreen

at_import = [name for name in {heavy} if name in sys.modules]

class Log:
    def page(self, words, *, limit, offset):
        raise AssertionError

async def main():
    JobsScreen._ask = lambda self, keep=None: None
    app = tui.FinishlogApp(SimpleNamespace(others_wrote=lambda: False, role="owner", guest=""), desks=Log())
    tui.Frame.house
    from finishlog.tui.widgets.bars import Places
    Places._tick = lambda self: None
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        strips = app.screen._compositor.render_strips()
        rows = ["".join(s.text for s in strip) for strip in strips]
        assert any("Find" in row for row in rows), rows
        return [name for name in {heavy} if name in sys.modules]

print(json.dumps([at_import, asyncio.run(main())]))
"""


def test_the_first_frame_loads_nothing_heavy() -> None:
    code = FIRST_FRAME.replace("{heavy}", repr(HEAVY))
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, timeout=60, check=False
    )
    assert done.returncode == 0, done.stderr
    assert json.loads(done.stdout.splitlines()[-1]) == [[], []]
