"""A whole job through the keys of the screens: field, border and stairs, two loads and a balance load, one truck
over two areas, a rinse, corrections, a signed sample, a claim. The log holds what the desks' own calls keep.
"""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from datetime import datetime
from pathlib import Path
from typing import Any

import pytest
from textual.events import Key

from finishlog.desk.jobs import edit
from finishlog.desk.record import record
from finishlog.desk.services import Services
from finishlog.tui.app import FinishlogApp
from finishlog.tui.forms.fields import Field
from finishlog.tui.jobs.job import JobScreen
from finishlog.tui.jobs.new import NewJobScreen
from finishlog.tui.log.entry import LogScreen
from tests.conftest import Ran
from tests.test_whole_job import exported, without_uids

Run = Callable[..., Ran]
Step = tuple[str, str, dict[str, str], int | None]
JOB = "quagmire-terrace"
MIX = {"plant": "Mudford plant", "mix_number": "M-4", "cement_kind": "Type I/II", "cement_lb_per_yd3": "480"}
PIGMENT = {"product": "Old Toast", "maker": "Crumb & Co", "lot": "T-88"}
STORY: tuple[Step, ...] = (
    ("06-03 18:00", "job", {
        "customer": "Quagmire & Daughters [/b]", "street": "9 Puddle Row", "job": "terrace", "handle": JOB,
        "areas": "field 24x18 4in, border 76 ft2 4in, stairs 40 ft2 6in", "buried": "gas line, 18 in",
    }, None),
    ("06-04 07:40", "load", {
        **PIGMENT, **MIX, "at": "7:30a", "by": "Moss", "ticket": "T-1", "yards": "4", "amount": "48 lb",
        "slump_in": "4.5", "area": "field",
    }, None),
    ("06-04 08:40", "load", {
        **PIGMENT, **MIX, "at": "8:30a", "by": "Moss", "ticket": "T-2", "yards": "3", "amount": "33 lb",
        "map": "field=2, border=1",
    }, None),
    ("06-04 10:10", "load", {
        **PIGMENT, **MIX, "at": "10a", "by": "Moss", "ticket": "T-3", "yards": "2", "amount": "24 lb",
        "lot": "T-91", "returned_yd3": "1/2", "is_balance": "yes", "area": "stairs",
    }, None),
    ("06-04 11:30", "pour", {"at": "11:20a", "by": "Moss", "area": "all"}, None),
    ("06-04 11:40", "powder_release", {
        "at": "about 11:30a", "by": "Fern", "product": "Wet Hen", "lot": "H-7", "amount": "16 lb", "area": "field",
    }, None),
    ("06-04 12:30", "stamp", {"at": "about 12p", "by": "Fern", "area": "field", "pattern": "ashlar slate"}, None),
    ("06-04 13:00", "sample", {"at": "1p", "by": "Fern", "load": "1", "half_sealed": "yes"}, None),
    ("06-04 18:00", "load", {"amount": "36 lb"}, 2),
    ("06-05 14:00", "rinse", {
        "at": "1:20p", "by": "Fern", "area": "field", "release_left_percent": "20", "pressure_psi": "2000",
        "swept": "no",
    }, None),
    ("07-03 09:00", "approval", {"sample": "1", "signed_by": "Ada Quagmire"}, None),
    ("08-01 09:00", "claim", {"complaint": "the stairs look lighter", "by": "Moss"}, None),
    ("08-09 09:00", "claim", {"action": "antiquing wash", "settled": "yes"}, 11),
)  # fmt: skip
TITLES = {"pour": "end of", "powder_release": "powder", "approval": "app"}
"""What a practiced hand types of a kind's name, where it is not its word."""
NAMES = {
    " ": "space", "-": "minus", ",": "comma", ".": "full_stop", ":": "colon", "/": "slash", "&": "ampersand",
    "[": "left_square_bracket", "]": "right_square_bracket", "=": "equals_sign",
}  # fmt: skip


def at(moment: str) -> datetime:
    return datetime.fromisoformat(f"2026-{moment}:00-05:00")


def by_desks(services: Services, step: Step) -> None:
    _, kind, texts, replaces = step
    if kind == "job":
        edit.new_job(services, texts)
    else:
        record.record(services, JOB, kind, texts, replaces=replaces)


class Hand:
    """Presses keys and counts them."""

    def __init__(self, stage: Any) -> None:
        self.stage = stage
        self.keys = 0

    async def press(self, *keys: str) -> None:
        self.keys += len(keys)
        await self.stage.pilot.press(*keys)
        await self.stage.settle()

    async def fill(self, texts: dict[str, str]) -> None:
        """From field to field by Tab: what stands there and should not is typed over or deleted."""
        fields = self.stage.app.screen.fields
        wanted = [texts.get(field.asked.key, "") for field in fields]
        assert texts.keys() <= {field.asked.key for field in fields}
        last = max(i for i, field in enumerate(fields) if field.value != wanted[i])
        for i, field in enumerate(fields[: last + 1]):
            if field.value != wanted[i]:
                self.send(*(wanted[i] or ["delete"]))
            if i < last:
                self.send("tab")
                await self.reaches(fields[i + 1])
        await self.press("ctrl+s")

    def send(self, *keys: str) -> None:
        """Keys as the terminal hands them over, one after the other, without waiting."""
        self.keys += len(keys)
        for key in keys:
            letter = key if len(key) == 1 else None
            self.stage.app.post_message(Key(NAMES.get(key, key), letter))

    async def reaches(self, field: Field) -> None:
        for _ in range(5000):
            if field.entry.has_focus:
                return
            await asyncio.sleep(0.001)
        raise AssertionError(f"Tab did not reach {field.asked.key}")

    async def enter(self, step: Step) -> None:
        """One step of the story at the keys."""
        _, kind, texts, replaces = step
        app = self.stage.app
        if kind == "job":
            await self.press("escape", "n")
            assert isinstance(app.screen, NewJobScreen)
        elif replaces is None:
            name = TITLES.get(kind, kind)
            await self.press("l", *(NAMES.get(letter, letter) for letter in name), "enter")
            assert isinstance(app.screen, LogScreen), self.stage.text
            assert app.screen._kind == kind
        else:
            await self.mark(replaces)
            await self.press("e")
            texts = {field.asked.key: field.value for field in app.screen.fields} | texts
        await self.fill(texts)
        assert isinstance(app.screen, JobScreen), self.stage.text
        await self.stage.clear()

    async def mark(self, number: int) -> None:
        """To what was done, and up to the entry that is wrong."""
        screen = self.stage.app.screen
        await self.press("e" if not screen._marking else "home")
        while screen._mark != number:
            before = screen._mark
            await self.press("up")
            assert screen._mark != before


@pytest.mark.long
async def test_a_whole_job_by_keys_is_what_the_desks_keep(
    finishlog: Run,
    drive: Any,
    monkeypatch: pytest.MonkeyPatch,
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
) -> None:
    from finishlog.wiring import build

    logs = [str(tmp_path / f"{name}.finishlog") for name in ("desks", "keys")]
    monkeypatch.setenv("FINISHLOG_NOW", at("06-01 08:00").isoformat())
    for log in logs:
        assert finishlog("new", log).status == 0
    theirs, ours = (build(log) for log in logs)
    now = at("06-01 08:00")
    theirs.clock = ours.clock = lambda: now
    app = FinishlogApp(ours)
    try:
        async with app.run_test(size=(60, 20), notifications=True) as pilot:
            hand = Hand(drive(app, pilot))
            await hand.stage.settle()
            for step in STORY:
                now = at(step[0])
                by_desks(theirs, step)
                await hand.enter(step)
    finally:
        theirs.close()
        ours.close()
    with capsys.disabled():
        print(f"keys of the whole job: {hand.keys}, {hand.keys / 300:.1f} minutes at five a second")
    told, kept = (exported(finishlog, log, tmp_path / f"out-{Path(log).stem}") for log in logs)
    assert without_uids(kept) == without_uids(told)
    assert hand.keys < 1500
