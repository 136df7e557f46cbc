"""Yes, wait or no before sealing and placing: each limit from both sides."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction as F
from typing import Any

import pytest

from finishlog.records.shop import Shop
from finishlog.records.weather import Readiness, SealerLimits, SlabFacts, WeatherNow
from finishlog.trade import readiness
from finishlog.trade.weather import dew_point_f

SHOP = Shop.from_values({})
GOOD = WeatherNow(F(72), F(50), F(70), None, F(66), F(30), "cooling", True, "none")
OLD = SlabFacts(age_days=30)


def ready(facts: SlabFacts = OLD, limits: SealerLimits | None = None, **now: Any) -> Readiness:
    return readiness.seal(facts, replace(GOOD, **now), SHOP, limits)


def test_a_good_day_is_a_yes_that_names_what_it_rests_on() -> None:
    found = ready(limits=SealerLimits(low_f=F(50)))
    assert (found.verdict, found.sentence, found.unknown) == ("yes", "Yes.", ())
    assert {r.key for r in found.reasons} >= {"dew_point", "slab_temperature", "age", "rain", "trend"}


def test_the_margin_over_the_dew_point_is_five_degrees_fahrenheit() -> None:
    # MIL-HDBK-1110 §9.6.6, superseded by UFC 3-190-06: 5 °F is 2.78 °C; metric sheets ask for 3 °C, which is more.
    dew = dew_point_f(72, 50)
    assert readiness.above_dew(dew + 5, dew)
    assert not readiness.above_dew(dew + 4.99, dew)
    assert readiness.above_dew(dew + 2.9 * 1.8, dew)
    assert not readiness.above_dew(dew + 2.7 * 1.8, dew)


def test_too_near_the_dew_point_is_a_no_now_and_while_it_cools() -> None:
    assert ready(air_f=F(72), humidity_percent=F(80)).verdict == "no"
    cooling = ready(coolest_f=F(56))
    assert cooling.verdict == "no"
    assert "before tack-free" in cooling.sentence


@pytest.mark.parametrize("gone", ["air_f", "humidity_percent", "surface_f"])
def test_without_a_measurement_it_is_wait_and_says_what_to_measure(gone: str) -> None:
    found = ready(**{gone: None})
    assert found.verdict == "wait"
    assert "measure" in found.sentence.lower()


@pytest.mark.parametrize(
    ("said", "verdict", "word"),
    [
        ({"surface_f": F(49), "air_f": F(45), "coolest_f": None}, "no", "under"),
        ({"surface_f": F(50), "air_f": F(45), "coolest_f": None}, "yes", ""),
        ({"surface_f": F(86)}, "no", "over"),
        ({"surface_f": F(85)}, "yes", ""),
        ({"humidity_percent": F(85), "air_f": F(50), "coolest_f": None}, "wait", "humid"),
        ({"trend": "warming"}, "wait", "warming"),
        ({"trend": "steady"}, "yes", ""),
        ({"shade": False}, "wait", "sun"),
        ({"efflorescence": "left"}, "no", "fflorescence"),
        ({"efflorescence": "cleaned"}, "yes", ""),
        ({"rain_free_h": F(23)}, "no", "dry for 23 h"),
        ({"rain_free_h": F(24)}, "yes", ""),
    ],
)
def test_each_limit(said: dict[str, Any], verdict: str, word: str) -> None:
    # Slab 50 to 85 °F, 24 h without rain: common practice, no source. 85 % RH: a marine-painting text.
    found = ready(**said)
    assert found.verdict == verdict
    assert word in found.sentence


@pytest.mark.parametrize(
    ("facts", "verdict"),
    [
        (SlabFacts(age_days=13, dry=True, sheet_h=F(20)), "wait"),
        (SlabFacts(age_days=14, dry=True, sheet_h=F(16)), "yes"),
        (SlabFacts(age_days=14, dry=True, sheet_h=F("15.5")), "wait"),
        (SlabFacts(age_days=14, dry=True), "wait"),
        (SlabFacts(age_days=14, dry=True, sheet_h=F(16), wet_since_test=True), "wait"),
        (SlabFacts(age_days=14), "wait"),
        (SlabFacts(age_days=14, said_dry=True), "yes"),
        (SlabFacts(age_days=27), "wait"),
        (SlabFacts(age_days=28), "yes"),
        (SlabFacts(age_days=40, dry=False, sheet_h=F(20)), "no"),
        (SlabFacts(age_days=40, dry=True, sheet_h=F(10)), "wait"),
        (SlabFacts(age_days=900, old_sealer=True), "yes"),
    ],
)
def test_age_or_a_sheet_test_that_counts(facts: SlabFacts, verdict: str) -> None:
    # Day 14 to 35, at 28 or proven dry: common practice. ASTM D4263: 16 h at least, a yes or no.
    assert ready(facts).verdict == verdict


def test_few_spots_are_said() -> None:
    # About one per 500 ft2: common practice, no source.
    facts = SlabFacts(20, True, F(18), spots=1, area_ft2=F(1100))
    assert any("1 of about 3 spots" in text for text in ready(facts).of("yes"))


@pytest.mark.parametrize(("hours", "verdict"), [(1.5, "wait"), (2.0, "yes"), (24.0, "yes"), (25.0, "wait")])
def test_the_second_coat_has_its_hours(hours: float, verdict: str) -> None:
    # 2 to 24 h apart: common practice, no source.
    assert ready(SlabFacts(age_days=3, coat_age_h=hours)).verdict == verdict


def test_the_sealers_own_sheet_wins() -> None:
    assert ready(limits=SealerLimits(low_f=F(71))).verdict == "no"
    assert ready(limits=SealerLimits(high_f=F(69))).verdict == "no"
    assert ready(limits=SealerLimits(humidity_percent=F(45))).verdict == "wait"
    assert ready(limits=SealerLimits(age_days=60)).verdict == "wait"
    assert ready(SlabFacts(age_days=10, said_dry=True), SealerLimits(age_days=7)).verdict == "yes"


def test_no_comes_before_wait_and_unknown_is_said() -> None:
    both = ready(trend="warming", efflorescence="left")
    assert both.verdict == "no"
    bare = readiness.seal(SlabFacts(), WeatherNow(F(72), F(50), F(70)), SHOP)
    assert bare.verdict == "yes"
    assert bare.sentence.startswith("Yes, if: ")
    assert len(bare.unknown) >= 6


def test_a_temperature_that_is_no_weather_breaks_nothing() -> None:
    assert ready(air_f=F(240)).verdict == "wait"


def test_placing_follows_the_evaporation() -> None:
    verdicts = [readiness.place(state, "0.15 lb/ft²/h").verdict for state in ("fine", "care", "stop", None)]
    assert verdicts == ["yes", "wait", "no", "wait"]
