"""Whether a slab can be sealed: from the log, and when a coat is logged."""

from __future__ import annotations

import json
from collections.abc import Iterator
from fractions import Fraction as F
from pathlib import Path

import pytest

from finishlog.desk.bench import weather
from finishlog.desk.doubts import ready
from finishlog.desk.doubts.odd import Doubt
from finishlog.desk.record import record, taking_back
from finishlog.desk.services import Services
from finishlog.errors import InputError
from finishlog.records.answers import Advice
from finishlog.records.quantities.weather import WeatherNow
from finishlog.records.shop import Shop
from tests.desk.care_shop import PATIO, Clock, care_shop, job, seal

GOOD = WeatherNow(F(72), F(50), F(70), trend="cooling", shade=True, efflorescence="none", rain_free_h=F(30))
DAMP = {"slab_f": "60 F", "air_f": "62 F", "humidity_percent": "90"}
DRY = {"slab_f": "70 F", "air_f": "70 F", "humidity_percent": "45"}


@pytest.fixture
def clock() -> Clock:
    return Clock()


@pytest.fixture
def services(tmp_path: Path, clock: Clock) -> Iterator[Services]:
    with care_shop(tmp_path, clock) as made:
        record.record(made, PATIO, "pour", {"at": "2026-06-01 11:20"})
        yield made


def advices(services: Services) -> tuple[Advice, ...]:
    with services.log().reading() as log:
        return log.advices(PATIO)


def test_the_age_and_the_sheet_test_come_from_the_log(services: Services, clock: Clock) -> None:
    clock.to("2026-06-16 07:40")
    assert ready.seal(services, "ottoline", None, GOOD).verdict == "wait"
    record.record(
        services, PATIO, "dryness_test", {"at": "2026-06-16 07:00", "result": "dry", "sheet_on_h": "18"}
    )
    assert ready.seal(services, PATIO, "Field", GOOD).verdict == "yes"
    record.record(services, PATIO, "rinse", {"at": "2026-06-16 07:30"})
    assert ready.seal(services, PATIO, "field", GOOD).verdict == "wait"
    clock.to("2026-06-30 07:40")
    assert ready.seal(services, PATIO, "field", GOOD).verdict == "wait"
    record.record(
        services, PATIO, "dryness_test", {"at": "2026-06-30 07:00", "result": "damp", "sheet_on_h": "18"}
    )
    assert ready.seal(services, PATIO, "field", GOOD).verdict == "no"


def test_an_area_that_is_not_there_lists_those_that_are(services: Services) -> None:
    with pytest.raises(InputError, match="no area") as failure:
        ready.seal(services, PATIO, "porch", GOOD)
    assert "It has field." in failure.value.line()


def test_the_coat_before_counts_its_hours(services: Services, clock: Clock) -> None:
    clock.to("2026-07-01 09:00")
    seal(services, "2026-07-01 08:00", **DRY)
    assert ready.seal(services, PATIO, None, GOOD).verdict == "wait"
    clock.to("2026-07-01 12:00")
    assert ready.seal(services, PATIO, None, GOOD).verdict == "yes"


def test_sealed_in_two_coats_on_the_second_try(services: Services, clock: Clock) -> None:
    clock.to("2026-07-01 18:00")
    with pytest.raises(Doubt, match="too cold: dew point") as asked:
        seal(services, "2026-07-01 07:00", **DAMP)
    assert asked.value.exit_status == 2
    assert [entry.kind for entry in job(services).entries] == ["pour"]
    assert advices(services) == ()
    seal(services, "2026-07-01 10:00", number="1", **DRY)
    seal(services, "2026-07-01 15:00", number="2", **DRY)
    kept = advices(services)
    assert [(advice.kind, advice.method) for advice in kept] == [("ready", "ready/1")] * 2
    answer = json.loads(kept[0].answer)
    assert answer["ready"] == "yes"
    assert {"what": "age", "says": "yes", "text": "The slab is 30 days old."} in answer["reasons"]
    told = json.loads(kept[0].inputs)
    assert told["weather"]["surface_f"] == 70
    assert told["entry"] == job(services).entries[1].uid


def test_a_no_is_kept_with_its_reason(services: Services, clock: Clock) -> None:
    clock.to("2026-07-01 18:00")
    done = seal(services, "2026-07-01 07:00", because="the customer insisted", **DAMP)
    assert "too cold" in str(done.entry.note)
    assert "Because: the customer insisted" in str(done.entry.note)
    [kept] = advices(services)
    assert json.loads(kept.answer)["ready"] == "no"
    corrected = record.record(services, PATIO, "seal", {"note": "Bo did it"}, replaces=done.entry.number)
    assert corrected.entry.coat == done.entry.coat


@pytest.mark.parametrize("facts", [{"efflorescence": "left"}, {"slab_f": "95 F"}, {"slab_f": "40 F"}])
def test_what_spoils_a_coat_is_asked(services: Services, clock: Clock, facts: dict[str, str]) -> None:
    clock.to("2026-07-01 18:00")
    with pytest.raises(Doubt):
        seal(services, "2026-07-01 10:00", **facts)


def test_what_had_better_waited_is_said_and_kept(services: Services, clock: Clock) -> None:
    clock.to("2026-07-01 18:00")
    done = seal(services, "2026-07-01 10:00", slab_trend="warming", shade="no")
    assert any("warming" in warning for warning in done.warnings)
    assert any("sun" in warning for warning in done.warnings)


def test_a_coat_that_tells_no_weather_is_kept_without_a_verdict(services: Services, clock: Clock) -> None:
    clock.to("2026-07-01 18:00")
    done = seal(services, "2026-07-01 10:00")
    assert done.warnings == ()
    assert advices(services) == ()


def test_condensing_water_is_no_evaporation() -> None:
    answer = weather.weather(WeatherNow(F(80), F(90), F(50), F(5)), Shop.from_values({}))
    assert answer.evaporation_lb_per_ft2_h == 0
    assert any("above the dew point" in caution.text for caution in answer.cautions)


def test_a_sealer_that_does_not_go_on_the_old_one_is_asked(services: Services, clock: Clock) -> None:
    # Not symmetrical, common practice, no source: epoxy over acrylic peels, water-based over solvent may not bond.
    clock.to("2030-07-01 18:00")
    seal(services, "2026-07-01 10:00")
    other = {"product": "Otter Shell", "reseal": "yes"}
    with pytest.raises(Doubt, match="epoxy over solvent acrylic: not without stripping"):
        seal(services, "2030-07-01 10:00", **other, chemistry="epoxy")
    water = seal(services, "2030-07-01 10:00", **other, carrier="water")
    assert any("does not bond" in warning for warning in water.warnings)
    taking_back.undo(services, PATIO)
    record.record(services, PATIO, "visit", {"at": "2030-06-20 10:00", "trial_patch": "yes"})
    assert seal(services, "2030-07-01 10:00", **other, carrier="water").warnings == ()


def test_over_an_unknown_film_a_rag_test_is_advised(services: Services, clock: Clock) -> None:
    clock.to("2030-07-01 18:00")
    seal(services, "2026-07-01 10:00", chemistry="", carrier="")
    again = seal(services, "2030-07-01 10:00", product="Otter Shell", reseal="yes")
    assert any("rag" in warning for warning in again.warnings)
    record.record(services, PATIO, "strip", {"at": "2030-07-01 11:00", "how": "stripped"})
    assert (
        seal(services, "2030-07-01 12:00", product="Otter Shell", chemistry="epoxy", reseal="yes").warnings
        == ()
    )
