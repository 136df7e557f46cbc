"""A whole life of one slab through the desks: what is due at every point, from the plan to the fifth reseal."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime
from itertools import count
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest

from finishlog.desk import edit, plan, record, shelf, today
from finishlog.desk.doubts import Doubt
from finishlog.desk.services import Services
from finishlog.store import Log

ZONE = ZoneInfo("America/Chicago")
JOB = "barnaby-puddlecombe-back-patio"


class Life:
    """One shop, its clock set by the test, and what Today says of the job."""

    def __init__(self, folder: Path) -> None:
        self.now = datetime(2026, 6, 1, 12, tzinfo=UTC)
        uids = count(1)
        log = Log.create(folder / "l.finishlog", clock=lambda: self.now, new_uid=lambda: f"u{next(uids)}")
        self.log = log
        self.services = Services(
            open_log=lambda: log, has_log=lambda: True, make_log=lambda *_: log, clock=lambda: self.now,
            find_zone=lambda: ZONE,
        )  # fmt: skip

    def at(self, text: str) -> None:
        self.now = datetime.fromisoformat(text).replace(tzinfo=ZONE).astimezone(UTC)

    def due(self, state: str, job: str = JOB) -> list[str]:
        return [
            line.title for line in today.today(self.services).lines if (line.job, line.state) == (job, state)
        ]

    def done(self, what: str, **texts: str) -> None:
        today.log(self.services, today.line(self.services, JOB, what), texts)

    def record(self, kind: str, **texts: str) -> None:
        record.record(self.services, JOB, kind, texts)


@pytest.fixture
def life(tmp_path: Path) -> Iterator[Life]:
    made = Life(tmp_path)
    edit.new_job(made.services, {"customer": "Barnaby Puddlecombe", "job": "back patio", "street": "12 Teakettle Lane",
                                 "areas": "field 24x18 4in", "planned_on": "2026-06-04"})  # fmt: skip
    yield made
    made.log.close()


def photo(life: Life, folder: Path) -> None:
    from PIL import Image

    path = folder / f"{life.now:%Y%m%d}.png"
    Image.new("RGB", (8, 8), (life.now.day * 8, 100, 90)).save(path)
    record.record(life.services, JOB, "photo", {}, files=(path,))


def test_a_whole_life(life: Life, tmp_path: Path) -> None:
    shelf.move(life.services, "buy", {"product": "Otter Back", "kind": "powder release", "lot": "0329",
                                      "amount": "50 lb"})  # fmt: skip
    life.at("2026-06-03 19:00")
    assert life.due("opens") == ["Pour"]
    assert today.today(life.services).ahead[0].job == JOB

    life.at("2026-06-04 10:00")
    assert life.due("open") == ["Pour"]
    for yards, balance in (("3", "no"), ("3", "no"), ("0.75", "yes")):
        life.record("load", yards=yards, is_balance=balance, returned_yd3="0", dumped_yd3="0")
    life.record("powder_release", product="Otter Back", lot="0329", amount="15 lb")
    assert life.due("open") == life.due("opens") == []  # no end of the pour: nothing counts from it
    life.at("2026-06-04 11:20")
    life.record("pour")
    assert life.due("opens") == ["Joints", "Photo, day 1", "Rinse", "Sweep", "Photo, day 3", "Photo, day 7",
                                 "Dryness test", "Photo, day 14"]  # fmt: skip

    life.at("2026-06-04 20:00")
    assert life.due("open") == ["Joints"]
    life.done("joint")
    life.at("2026-06-05 13:00")
    assert life.due("open") == ["Photo, day 1", "Rinse", "Sweep"]
    photo(life, tmp_path)
    life.done("sweep", reclaimed_lb="3")
    assert shelf.shelf(life.services).lines[0].said == "35 lb left, 3 lb reclaimed"

    life.at("2026-06-08 12:00")
    assert "Rinse" in life.due("slipped")
    life.done("rinse", passes="2")  # late, at 97 h: three days to dry, which day 28 leaves
    assert not {"Rinse", "Sweep"} & {*life.due("open"), *life.due("slipped")}
    for day, age in (("07", 3), ("11", 7), ("18", 14)):
        life.at(f"2026-06-{day} 09:00")
        assert f"Photo, day {age}" in life.due("open")
        photo(life, tmp_path)
        assert f"Photo, day {age}" not in life.due("open")

    life.at("2026-07-02 09:00")
    assert life.due("open") == ["Photo, day 28", "Dryness test", "Seal", "Judge the color"]
    photo(life, tmp_path)
    weather = {"slab_f": "60 F", "air_f": "75 F", "humidity_percent": "90"}
    with pytest.raises(Doubt, match="dew point"):
        life.done("seal", **weather)
    assert "Seal" in life.due("open")
    life.at("2026-07-03 09:00")
    good = {"slab_f": "72 F", "air_f": "75 F", "humidity_percent": "40"}
    life.done("seal", **good)
    assert "Second coat" in life.due("opens")
    life.at("2026-07-03 13:00")
    assert life.due("open")[0] == "Second coat"
    life.done("second coat", **good)
    assert life.due("open") == ["Judge the color"]
    life.at("2026-07-10 09:00")
    life.done("judge color", color="62,4,16")
    assert life.due("open") == life.due("slipped") == []

    sealed = 2026
    for year in (2029, 2033, 2037, 2041, 2045):  # 3, 7, 11, 15 and 19 years
        life.at(f"{year}-01-10 09:00")
        opens = today.line(life.services, JOB, "reseal").opens_at
        assert (opens.year, opens.month) == (sealed + 3, 7 if sealed == 2026 else 8)
        life.at(f"{year}-08-03 09:00")
        assert life.due("open") == ["Reseal"]
        line = today.line(life.services, JOB, "reseal")
        assert ("wipe" in line.why) == (year == 2045), line.why  # about every fifth time
        life.done("reseal", **good)
        sealed = year
        assert life.due("open") == life.due("slipped") == []

    made = plan.make(life.services, plan.simple_request(JOB, "22x14", "4in"))
    handle = plan.save(life.services, made, "side walk")
    assert life.due("open", handle) == ["Pour"]
