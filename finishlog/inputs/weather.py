"""Weather inputs, read with the quantities alone so that `weather` needs no heavy library."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction
from typing import Any

from finishlog import units
from finishlog.errors import InputError, naming
from finishlog.records.quantities.weather import SealerLimits, WeatherNow

F = Fraction
LEAST_HUMIDITY = F(1)
MOST_MARGIN_F = 40
SEALER = (
    ("sealer-low", "low_f", "Slab from", "50 F"),
    ("sealer-high", "high_f", "Slab to", "90 F"),
    ("sealer-humidity", "humidity_percent", "Humidity under", "85 %"),
    ("sealer-age", "age_days", "Slab age, days", "28"),
    ("sealer-rain-free", "rain_free_h", "Stay dry for", "12 h"),
    ("sealer-recoat-from", "recoat_from_h", "Next coat from", "4 h"),
    ("sealer-recoat-to", "recoat_to_h", "Next coat to", "24 h"),
    ("sealer-dew-margin", "dew_margin_f", "Above dew point", "5 F"),
)
"""Limits on a sealer's own sheet: option, limit, title, example."""
_TRENDS = ("cooling", "steady", "warming")
_WHITE = ("none", "cleaned", "left")


def read_humidity(text: str) -> Fraction:
    """Relative humidity in percent, 1 to 100: less is probably a fraction. Raises InputError."""
    try:
        value = units.read_percent(text)
    except InputError as wrong:
        raise InputError(wrong.title, wrong.cause, example="50 %") from None
    if value < LEAST_HUMIDITY:
        meant = f"{units.plain(value * 100)} %"
        raise InputError(
            f"“{units.shown(text)}” is drier than any weather.", f"{meant} is likely meant.", example=meant
        )
    return value


def read_now(texts: Mapping[str, str | None]) -> WeatherNow:
    """The weather from texts by option: air, humidity, concrete, wind, coolest, rain-free, trend, shade,
    efflorescence. Raises InputError naming the option."""
    return WeatherNow(
        air_f=_read(texts, "air", units.read_temperature_f),
        humidity_percent=_read(texts, "humidity", read_humidity),
        surface_f=_read(texts, "concrete", units.read_temperature_f),
        wind_mph=_read(texts, "wind", units.read_speed_mph),
        coolest_f=_read(texts, "coolest", units.read_temperature_f),
        rain_free_h=_read(texts, "rain-free", lambda text: units.read_hours(text, positive=False)),
        trend=_read(texts, "trend", lambda text: _one_of(text, _TRENDS)),
        shade=_read(texts, "shade", _yes),
        efflorescence=_read(texts, "efflorescence", lambda text: _one_of(text, _WHITE)),
    )


def read_limits(texts: Mapping[str, str | None]) -> SealerLimits:
    """The sealer's own limits from texts by option. Raises InputError naming the option."""
    low, high = (_read(texts, f"sealer-{end}", units.read_temperature_f) for end in ("low", "high"))
    if low is not None and high is not None and low > high:
        cause = "The coldest slab is hotter than the hottest."
        raise InputError("No slab fits these limits.", cause, where="--sealer-low", example="50 F")
    first, last = (_read(texts, f"sealer-recoat-{end}", units.read_hours) for end in ("from", "to"))
    if first is not None and last is not None and first > last:
        cause = "The first hour is later than the last."
        raise InputError("No next coat fits these hours.", cause, where="--sealer-recoat-from", example="4 h")
    return SealerLimits(
        low_f=low,
        high_f=high,
        humidity_percent=_read(texts, "sealer-humidity", read_humidity),
        age_days=_read(texts, "sealer-age", units.read_count),
        rain_free_h=_read(texts, "sealer-rain-free", units.read_hours),
        recoat_from_h=first,
        recoat_to_h=last,
        dew_margin_f=_read(texts, "sealer-dew-margin", read_degrees),
    )


def read_degrees(text: str) -> Fraction:
    """A difference of temperatures in °F, more than 0 and up to 40; `3 C` is 5.4 °F. Raises InputError."""
    tidy = text.strip().casefold()
    value = units.read_temperature_f(text) - (32 if tidy.endswith("c") else 0)
    if not 0 < value <= MOST_MARGIN_F:
        what = f"“{units.shown(text)}” is no dew point margin."
        raise InputError(what, "Use above 0, up to 40 °F.", example="5 F")
    return value


def _read(texts: Mapping[str, str | None], option: str, reader: Any) -> Any:
    text = texts.get(option)
    if text is None:
        return None
    with naming(f"--{option}"):
        return reader(text)


def _one_of(text: str, words: tuple[str, ...]) -> str:
    word = text.strip().lower()
    if word not in words:
        raise InputError(f"“{units.shown(text)}” is not one of {', '.join(words)}.", example=words[0])
    return word


def _yes(text: str) -> bool:
    return _one_of(text, ("yes", "no")) == "yes"
