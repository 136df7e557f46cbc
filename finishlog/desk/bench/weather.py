"""The weather's effect on a slab placed now: evaporation, dew point, care or stop. Needs no log."""

from __future__ import annotations

from collections.abc import Iterator

from finishlog.desk.plain_data import Json, footing, number, pick
from finishlog.errors import InputError
from finishlog.records.quantities.cautions import Caution
from finishlog.records.quantities.weather import State, WeatherAnswer, WeatherNow
from finishlog.records.shop import Shop
from finishlog.trade import sources
from finishlog.trade import weather as arithmetic
from finishlog.trade.readiness import DEW_MARGIN_F
from finishlog.units import exact, write

KM_PER_MILE = 1.609344


def weather(now: WeatherNow, shop: Shop, system: str = "us") -> WeatherAnswer:
    """The dew point, and with concrete and wind the evaporation. `system` is only for the words.

    Raises InputError where air or humidity is unknown, or a value is outside what the formulas hold for.
    """
    air, humidity = _needed(now)
    evaporation = _evaporation(now, air, humidity)
    state = None if evaporation is None else arithmetic.state(evaporation[0], shop)
    dew = arithmetic.dew_point_f(air, humidity)
    return WeatherAnswer(
        now=now,
        evaporation_lb_per_ft2_h=None if evaporation is None else evaporation[0],
        evaporation_kg_per_m2_h=None if evaporation is None else evaporation[1],
        state=state,
        dew_point_f=dew,
        care_at=shop.evaporation_care,
        stop_at=shop.evaporation_stop,
        sentence=_SENTENCES[state],
        cautions=tuple(Caution(key, text) for key, text in _cautions(now, dew, state, system)),
        sources=(sources.EVAPORATION, sources.DEW_POINT, sources.DEW_MARGIN),
    )


_SENTENCES: dict[State | None, str] = {
    "fine": "Fine to place: evaporation is low.",
    "care": "Take care: the slab dries fast. Have fog, cover or evaporation retarder at hand.",
    "stop": "Stop and protect: shade, wind breaks, fog or cover first, or pour at another hour.",
    None: "Evaporation unknown: give the concrete temperature and the wind.",
}


def _needed(now: WeatherNow) -> tuple[float, float]:
    for value, option, what, example in (
        (now.air_f, "--air", "The air temperature", "80F"),
        (now.humidity_percent, "--humidity", "The humidity", "50"),
    ):
        if value is None:
            raise InputError(f"{what} is missing.", where=option, example=f"{option} {example}")
    return float(now.air_f or 0), float(now.humidity_percent or 0)


def _evaporation(now: WeatherNow, air: float, humidity: float) -> tuple[float, float] | None:
    """By both forms, in lb/ft2/h and kg/m2/h; a slab on which water condenses loses none."""
    if now.surface_f is None or now.wind_mph is None:
        return None
    concrete, wind = float(now.surface_f), float(now.wind_mph)
    us = arithmetic.evaporation_lb_per_ft2_h(concrete, air, humidity, wind)
    si = arithmetic.evaporation_kg_per_m2_h(
        arithmetic.celsius(concrete), arithmetic.celsius(air), humidity, wind * KM_PER_MILE
    )
    return max(us, 0.0), max(si, 0.0)


def _cautions(now: WeatherNow, dew: float, state: State | None, system: str) -> Iterator[tuple[str, str]]:
    if state in ("care", "stop"):
        yield "evaporation", "No water on the surface to make it workable: it spots and weakens the color."
    if now.wind_mph is not None and now.surface_f is not None:
        yield "wind", "Measure wind about 20 in above the slab: the average, not a gust."
    if dew < arithmetic.FREEZING_F:
        yield "dew", "Dew point below freezing: this figure is over water; frost forms sooner."
    if now.surface_f is not None and float(now.surface_f) < dew + DEW_MARGIN_F:
        least = write("temperature_f", exact(dew + DEW_MARGIN_F), system)
        yield (
            "seal",
            f"No sealer now: the slab is less than 5 °F (2.8 °C) above the dew point, under {least}.",
        )
    if now.surface_f is not None and now.surface_f <= arithmetic.FREEZING_F:
        yield "frost", "Concrete at or below freezing: do not place it, and never on frozen ground."


_NOW = "now.air_f concrete_f=now.surface_f now.humidity_percent now.wind_mph sentence"


def weather_json(answer: WeatherAnswer) -> Json:
    """The answer of `weather`; the two evaporations are Uno's two forms, neither is the other converted."""
    return {
        **pick(answer, "evaporation_lb_per_ft2_h evaporation_kg_per_m2_h state"),
        **pick(answer, "care_at_lb_per_ft2_h=care_at stop_at_lb_per_ft2_h=stop_at dew_point_f:2"),
        "dew_point_c": number(arithmetic.celsius(answer.dew_point_f), 2),
        "dew_point_over": "water",
        "seal_from_surface_f": number(answer.dew_point_f + DEW_MARGIN_F, 2),
        **pick(answer, _NOW),
        **footing(answer),
    }
