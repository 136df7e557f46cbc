"""Evaporation and dew point against published figures, reference rows and an independent library."""

from __future__ import annotations

import csv
from pathlib import Path

import psychrolib
import pytest

from finishlog.errors import InputError
from finishlog.records.shop import Shop
from finishlog.trade import weather

DATA = Path(__file__).parent / "data"
SHOP = Shop.from_values({})


def rows(name: str) -> list[dict[str, str]]:
    """The rows of a table in `data`; its source stands in its first lines."""
    lines = (DATA / name).read_text(encoding="utf-8").splitlines()
    return list(csv.DictReader(line for line in lines if not line.startswith("#")))


def test_the_published_example() -> None:
    # Concrete International Q&A, "Estimating Evaporation Rates to Prevent Plastic Shrinkage Cracking", prints
    # 0.24 lb/ft2/h (1.15 kg/m2/h); its inputs (ACI 305R figure caption) are from memory.
    assert round(weather.evaporation_lb_per_ft2_h(87, 80, 50, 12), 2) == 0.24
    assert round(weather.evaporation_kg_per_m2_h(31, 27, 50, 19), 2) == 1.15


@pytest.mark.parametrize("row", rows("evaporation_check.csv"), ids=lambda row: "-".join(row.values()))
def test_evaporation_rows(row: dict[str, str]) -> None:
    # Uno, ACI Materials Journal 95(4), 1998, Title 95-M34; all but the first of each form are derived.
    form = {"US": weather.evaporation_lb_per_ft2_h, "SI": weather.evaporation_kg_per_m2_h}[row["units"]]
    found = form(
        float(row["t_concrete"]), float(row["t_air"]), float(row["rh_fraction"]) * 100, float(row["wind"])
    )
    assert found == pytest.approx(float(row["E"]), abs=0.00006)


def test_the_two_forms_are_not_one_converted() -> None:
    # 0.2435 lb/ft2/h converted is 1.189 kg/m2/h; the SI form on exactly converted inputs gives 1.138 (derived).
    us = weather.evaporation_lb_per_ft2_h(87, 80, 50, 12) * 0.45359237 / 0.3048**2
    si = weather.evaporation_kg_per_m2_h(weather.celsius(87), weather.celsius(80), 50, 12 * 1.609344)
    assert us == pytest.approx(1.189, abs=0.001)
    assert si == pytest.approx(1.138, abs=0.001)


def test_water_condenses_on_a_cold_slab() -> None:
    assert weather.evaporation_lb_per_ft2_h(50, 80, 90, 5) < 0


@pytest.mark.parametrize(
    "row", rows("dewpoint_check.csv"), ids=lambda row: f"{row['t_air_C']}-{row['rh_pct']}"
)
def test_dew_point_rows(row: dict[str, str]) -> None:
    # Magnus with a = 17.625, b = 243.04 °C: Alduchov & Eskridge, J. Appl. Meteorol. 35:601-609, 1996.
    found = weather.dew_point_c(float(row["t_air_C"]), float(row["rh_pct"]))
    assert found == pytest.approx(float(row["magnus_AE"]), abs=0.006)


def test_dew_point_against_psychrolib_above_freezing() -> None:
    # PsychroLib 2.5.0, ASHRAE Handbook Fundamentals 2017 ch. 1 eq. 5 and 6. An independent library.
    psychrolib.SetUnitSystem(psychrolib.SI)
    checked = 0
    for air in range(1, 46):
        for humidity in range(5, 101, 5):
            wanted = psychrolib.GetTDewPointFromRelHum(air, humidity / 100)
            if wanted > 0:
                assert weather.dew_point_c(air, humidity) == pytest.approx(wanted, abs=0.05), (air, humidity)
                checked += 1
    assert checked > 400


def test_below_freezing_it_is_over_water_and_not_the_frost_point() -> None:
    # check row: at 0 °C and 50 % Magnus over water has -9.20, PsychroLib's frost point is -8.16.
    psychrolib.SetUnitSystem(psychrolib.SI)
    frost = psychrolib.GetTDewPointFromRelHum(0, 0.5)
    assert frost == pytest.approx(-8.16, abs=0.01)
    assert weather.dew_point_c(0, 50) == pytest.approx(-9.20, abs=0.01)


def test_dew_point_is_the_air_at_full_humidity() -> None:
    for air in (-20.0, 0.0, 12.5, 40.0):
        assert weather.dew_point_c(air, 100) == pytest.approx(air, abs=1e-9)


@pytest.mark.parametrize(
    ("concrete", "air", "humidity", "wind"),
    [
        (87, 80, 130, 12),
        (87, 80, 0, 12),
        (87, 80, 0.5, 12),
        (87, 80, 50, -1),
        (-1, 80, 50, 1),
        (87, 151, 50, 1),
    ],
)
def test_what_is_no_weather_is_refused(concrete: float, air: float, humidity: float, wind: float) -> None:
    with pytest.raises(InputError):
        weather.evaporation_lb_per_ft2_h(concrete, air, humidity, wind)


def test_the_limits_are_the_shops_and_count_when_reached() -> None:
    # 0.2 lb/ft2/h: Concrete International Q&A, as a project-specification limit; 0.1 is mentioned there too.
    assert [weather.state(e, SHOP) for e in (0.0999, 0.1, 0.1999, 0.2)] == ["fine", "care", "care", "stop"]
    assert weather.state(0.15, Shop.from_values({"evaporation_care": "0.16"})) == "fine"


def test_the_edges_of_weather_belong_to_it() -> None:
    """0 and 150 °F, 1 and 100 %, no wind; Magnus from -40 to 60 °C."""
    assert weather.evaporation_lb_per_ft2_h(0, 0, 1, 0) == 0
    assert weather.evaporation_lb_per_ft2_h(150, 0, 100, 0) == pytest.approx(150**2.5 * 1e-6)
    for air in (-40.0, 60.0):
        assert weather.dew_point_c(air, 100) == pytest.approx(air)
    for air in (-40.1, 60.1):
        with pytest.raises(InputError):
            weather.dew_point_c(air, 50)
    assert weather.dew_point_f(32, 100) == pytest.approx(32)
    assert weather.fahrenheit(100) == 212
