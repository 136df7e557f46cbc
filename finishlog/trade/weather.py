"""Evaporation from a fresh slab, and the dew point.

Evaporation: Uno PJ, "Plastic Shrinkage Cracking and Evaporation Formulas", ACI Materials Journal 95(4), July
1998, Title 95-M34. His US and SI forms are separate fits, some percent apart; neither converts to the other.
Dew point: the Magnus form with the constants of Alduchov OA, Eskridge RE, "Improved Magnus Form Approximation of
Saturation Vapor Pressure", J. Appl. Meteorol. 35:601-609, 1996. It is over water, below freezing too.
"""

from __future__ import annotations

import math

from finishlog.errors import InputError
from finishlog.records.quantities.weather import State
from finishlog.records.shop import Shop

MAGNUS_A, MAGNUS_B_C = 17.625, 243.04
LEAST_HUMIDITY = 1.0
"""Drier than any weather: 0.5 more likely means 50 % (ours)."""
WARMEST_F, COLDEST_F = 150.0, 0.0
"""Valid ranges: Uno's forms end at 0 °F, Magnus holds for -40 to 60 °C."""
FREEZING_F = 32.0


def celsius(fahrenheit: float) -> float:
    """°F to °C."""
    return (fahrenheit - 32) * 5 / 9


def fahrenheit(celsius: float) -> float:
    """°C to °F."""
    return celsius * 9 / 5 + 32


def evaporation_lb_per_ft2_h(
    concrete_f: float, air_f: float, humidity_percent: float, wind_mph: float
) -> float:
    """Water that leaves a fresh slab, in lb/ft2/h, by Uno's US form; below zero water condenses on it.

    Temperatures in °F from 0 to 150, humidity above 0 to 100 %, wind in mph about 20 in above the slab.
    Raises InputError.
    """
    _check(humidity_percent, wind_mph, concrete_f, air_f)
    pull = math.pow(concrete_f, 2.5) - humidity_percent / 100 * math.pow(air_f, 2.5)
    return pull * (1 + 0.4 * wind_mph) * 1e-6


def evaporation_kg_per_m2_h(
    concrete_c: float, air_c: float, humidity_percent: float, wind_km_h: float
) -> float:
    """The same in kg/m2/h by Uno's SI form; °C from -17.8 to 65.6, km/h. Raises InputError."""
    _check(humidity_percent, wind_km_h, fahrenheit(concrete_c), fahrenheit(air_c))
    pull = math.pow(concrete_c + 18, 2.5) - humidity_percent / 100 * math.pow(air_c + 18, 2.5)
    return 5 * pull * (wind_km_h + 4) * 1e-6


def dew_point_c(air_c: float, humidity_percent: float) -> float:
    """The dew point over water in °C, from air in °C (-40 to 60) and humidity in percent (1 to 100).

    Below freezing it is not the frost point, which lies higher. Raises InputError.
    """
    _check(humidity_percent, 0.0)
    if not -40 <= air_c <= 60:
        raise InputError("Dew point works for air from -40 to 140 °F.", where="--air", example="75 F")
    part = MAGNUS_A * air_c / (MAGNUS_B_C + air_c) + math.log(humidity_percent / 100)
    return MAGNUS_B_C * part / (MAGNUS_A - part)


def dew_point_f(air_f: float, humidity_percent: float) -> float:
    """`dew_point_c` in °F."""
    return fahrenheit(dew_point_c(celsius(air_f), humidity_percent))


def _check(humidity_percent: float, wind: float, *temperatures_f: float) -> None:
    if not LEAST_HUMIDITY <= humidity_percent <= 100:
        raise InputError(
            f"A humidity of {humidity_percent:g} % is not possible outdoors.", "It runs from 1 to 100 %.",
            where="--humidity", example="50",
        )  # fmt: skip
    if wind < 0:
        raise InputError("The wind is negative.", where="--wind", example="12 mph")
    if any(not COLDEST_F <= each <= WARMEST_F for each in temperatures_f):
        raise InputError("Evaporation works from 0 to 150 °F.", where="--air, --concrete", example="80 F")


def state(evaporation: float, shop: Shop) -> State:
    """fine, care or stop, by the shop's limits in lb/ft2/h; reaching a limit counts."""
    if evaporation >= shop.evaporation_stop:
        return "stop"
    return "care" if evaporation >= shop.evaporation_care else "fine"
