"""What a plan takes over and what an entry says is asked where it is far from usual; the shelf is looked at first."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, date, datetime
from fractions import Fraction as F
from itertools import count
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest

from finishlog.desk.doubts import own_usual
from finishlog.desk.doubts.odd import Doubt
from finishlog.desk.history import learned
from finishlog.desk.jobs import edit
from finishlog.desk.match import plan
from finishlog.desk.plan import words
from finishlog.desk.record import record
from finishlog.desk.services import Services
from finishlog.desk.shelf import shelf
from finishlog.records.answers import PastSlab
from finishlog.records.log import Shape
from finishlog.records.plan import Difference, Plan, PlanRequest
from finishlog.records.shop import Shop
from finishlog.store import Log

ZONE = ZoneInfo("America/Chicago")
NOW = datetime(2026, 9, 16, 12, 40, tzinfo=UTC)
SIZE = 144  # ft2, 12x12


@pytest.fixture
def services(tmp_path: Path) -> Iterator[Services]:
    uids = count(1)
    log = Log.create(tmp_path / "l.finishlog", clock=lambda: NOW, new_uid=lambda: f"u{next(uids)}")
    made = Services(open_log=lambda: log, has_log=lambda: True, make_log=lambda *_: log, clock=lambda: NOW,
                    find_zone=lambda: ZONE)  # fmt: skip
    yield made
    log.close()


def poured(services: Services, handle: str, *entries: tuple[str, dict[str, str]], **more: str) -> None:
    told = {"customer": handle, "job": "patio", "handle": handle, "areas": "field 12x12 4in", **more}
    edit.new_job(services, told)
    for kind, texts in entries:
        record.record(services, handle, kind, {"area": "field", **texts}, because="that is right")


def release(pounds: str) -> tuple[str, dict[str, str]]:
    texts = {"at": "2026-06-04 9:00a", "product": "Otter Back", "lot": "W-382", "amount": pounds}
    return "powder_release", texts


def load(yards: str, pounds: str) -> tuple[str, dict[str, str]]:
    texts = {
        "at": "2026-06-04 8:00a",
        "yards": yards,
        "product": "Old Toast",
        "lot": "T-88",
        "amount": pounds,
    }
    return "load", texts


def planned(services: Services, handle: str, **asked: object) -> Plan:
    request = PlanRequest(handle, (Shape(1, "rect", "22x16"),), "4in", on=date(2026, 9, 20), **asked)  # type: ignore[arg-type]
    return plan.make(services, request)


def found(made: Plan, key: str) -> list[Difference]:
    return [each for each in made.differences if each.key == key]


def test_a_release_far_from_usual_is_asked_in_the_plan(services: Services) -> None:
    poured(services, "hill", load("2", "14 lb"), release("90 lb"))  # 62.5 lb/100 ft2
    made = planned(services, "hill")
    assert made.release is not None
    assert made.release.lb == 220
    (asked,) = found(made, "far_powder_release")
    assert asked.weight == "ask"
    assert asked.text.startswith("62.5 lb/100 ft² logged, entry 2; usually 3.5 lb/100 ft²")
    poured(services, "dale", load("2", "14 lb"), release("5 lb"))
    assert found(planned(services, "dale"), "far_powder_release") == []


def test_what_is_usual_is_the_shops_own_where_its_log_says_enough(services: Services) -> None:
    for n in range(own_usual.ENOUGH):
        poured(services, f"job-{n}", load("2", "14 lb"), release("2 lb"))
    poured(services, "hill", load("2", "14 lb"), release("12 lb"))
    (asked,) = found(planned(services, "hill"), "far_powder_release")
    assert "usually 1.39 lb/100 ft² on 5 slabs of yours" in asked.text
    poured(services, "next", load("2", "14 lb"))
    with pytest.raises(Doubt, match=r"12 lb of powder release on 144 ft².*6 slabs of yours"):
        record.record(services, "next", *release("12 lb"))


def test_a_dose_far_from_usual_is_asked_in_the_plan(services: Services) -> None:
    usual = 564 * Shop.from_values({}).color_percent / 100
    poured(services, "over", load("2", f"{float(usual * 21):.1f} lb"))
    poured(services, "under", load("2", f"{float(usual * 19):.1f} lb"))
    (asked,) = found(planned(services, "over"), "far_dose")
    assert asked.weight == "ask"
    assert found(planned(services, "under"), "far_dose") == []


def seal(at: str, gallons: str, **more: str) -> tuple[str, dict[str, str]]:
    return "seal", {"at": at, "product": "Slick Badger", "amount": gallons, **more}


def test_sealer_goes_by_the_old_slabs_own_spread_with_the_shops_beside_it(services: Services) -> None:
    poured(services, "hill", load("2", "14 lb"), seal("2026-07-06 9:00a", "1.2"))
    made = planned(services, "hill")
    assert made.sealer.gal == F(352) / 120  # 144 ft2 took 1.2 gal
    assert made.sealer.usual_gal == F(352) / Shop.from_values({}).coat_1_ft2_per_gal
    (line,) = [text for label, _, text in words.order_lines(made) if label == "Sealer"]
    assert "same rate as before, 120 ft²/gal" in line
    assert "the shop's rate: " in line
    poured(services, "bare", load("2", "14 lb"))
    assert planned(services, "bare").sealer.usual_gal is None


def test_the_shelf_is_looked_at_before_the_plan_asks(services: Services) -> None:
    poured(services, "hill", load("2", "14 lb"), release("5 lb"))
    (asked,) = found(planned(services, "hill"), "lot")
    assert asked.text == "was T-88 and W-382; ask what's on the shelf now"
    shelf.move(services, "bought", {"product": "Otter Back", "kind": "powder release", "lot": "W-382",
                                    "amount": "38 lb", "at": "2026-06-01"})  # fmt: skip
    made = planned(services, "hill")
    (told,) = found(made, "lot_shelf")
    assert (told.weight, told.text) == ("know", "lot W-382: 33 lb left, enough")
    (still,) = found(made, "lot")
    assert (still.title, still.weight) == ("Lot of Old Toast", "ask")
    shelf.move(services, "counted", {"product": "Otter Back", "kind": "powder release", "lot": "W-382",
                                     "amount": "3 lb", "at": "2026-09-01"})  # fmt: skip
    short = [each for each in found(planned(services, "hill"), "lot") if each.title == "Lot of Otter Back"]
    assert [each.weight for each in short] == ["act"]
    assert short[0].text.startswith("lot W-382: 3 lb left, 9.22 lb short")


def test_why_no_slab_teaches_is_said_with_counts(services: Services) -> None:
    day = date(2025, 6, 4)
    slabs = [PastSlab("a", day, 300, None, None, None, ("leftover", "depth")) for _ in range(12)]
    slabs += [PastSlab("b", day, 300, 4, None, None, ("leftover",)) for _ in range(3)]
    told = learned(slabs, Shop.from_values({}))
    assert told.silent == (
        "15 pours teach nothing yet; not logged: returned or dumped yards of 15, the depth of 12"
    )
    assert learned([*slabs, PastSlab("c", day, 324, 4, None, 4.08)], Shop.from_values({})).silent == ""
    poured(services, "hill", load("2", "14 lb"))
    cautions = [each.text for each in planned(services, "hill").cautions if each.stage == "Order"]
    assert (
        "None of your slabs yet: 1 pour teaches nothing yet; not logged: returned or dumped yards of 1."
        in cautions
    )


def test_one_load_for_two_areas_teaches_one_slab(services: Services) -> None:
    edit.new_job(services, {"customer": "two", "handle": "two", "areas": "walk 12x4 4in, yard 18x14 4in"})
    texts = {"at": "2026-06-04 8:00a", "yards": "4", "returned_yd3": "0", "dumped_yd3": "0", "area": "all"}
    record.record(services, "two", "load", texts)
    with services.log().reading() as log:
        assert [(slab.area_ft2, slab.placed_yd3) for slab in log.past_slabs()] == [(300, 4)]


@pytest.mark.parametrize("ended", [True, False], ids=["the end is logged", "only a load is"])
def test_a_coat_on_a_slab_of_22_hours_is_asked(services: Services, ended: bool) -> None:
    end = [("pour", {"at": "2026-06-04 8:00a"})] if ended else []
    poured(services, "hill", load("2", "14 lb"), *end)
    with pytest.raises(Doubt, match="Sealed 22 h after the pour"):
        record.record(services, "hill", *seal("2026-06-05 6:00a", "1"))
    record.record(services, "hill", *seal("2026-07-05 6:00a", "1"))


@pytest.mark.parametrize("ended", [True, False], ids=["the end is logged", "only a load is"])
def test_a_rinse_at_8_hours_is_asked(services: Services, ended: bool) -> None:
    end = [("pour", {"at": "2026-06-04 8:00a"})] if ended else []
    poured(services, "hill", load("2", "14 lb"), *end)
    with pytest.raises(Doubt, match="Rinsed 8 h after the pour"):
        record.record(services, "hill", "rinse", {"at": "2026-06-04 4:00p", "area": "field"})


@pytest.mark.parametrize(("pounds", "off"), [("24.5 lb", "75 % over"), ("7 lb", "50 % under")])
def test_a_load_far_off_the_planned_dose_is_asked(services: Services, pounds: str, off: str) -> None:
    poured(services, "old", load("2", "14 lb"))
    handle = plan.save(services, planned(services, "old"), "addition")
    area = {"area": "field", "at": "2026-09-16 7:00a"}
    kind, texts = load("2", pounds)
    with pytest.raises(Doubt, match=f"{off} the 7 lb/yd³ planned"):
        record.record(services, handle, kind, {**texts, **area})
    kind, texts = load("2", "15 lb")
    record.record(services, handle, kind, {**texts, **area})
