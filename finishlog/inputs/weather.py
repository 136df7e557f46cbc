"""What may be said of the weather, read by the quantities alone: `weather` needs no heavy library."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction
from typing import Any

from finishlog import units
from finishlog.errors import InputError
from finishlog.records.weather import SealerLimits, WeatherNow

F = Fraction
LEAST_HUMIDITY = F(1)
_TRENDS = ("cooling", "steady", "warming")
_WHITE = ("none", "cleaned", "left")


def read_humidity(text: str) -> Fraction:
    """Relative humidity in percent, 1 to 100: less is more likely a share of one. Raises InputError."""
    value = units.read_percent(text)
    if value < LEAST_HUMIDITY:
        meant = f"{units.plain(value * 100)} %"
        raise InputError(
            f"“{units.shown(text)}” is drier than any weather.", f"{meant} may be meant.", example=meant
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
    return SealerLimits(
        low_f=_read(texts, "sealer-low", units.read_temperature_f),
        high_f=_read(texts, "sealer-high", units.read_temperature_f),
        humidity_percent=_read(texts, "sealer-humidity", read_humidity),
        age_days=_read(texts, "sealer-age", units.read_count),
    )


def _read(texts: Mapping[str, str | None], option: str, reader: Any) -> Any:
    text = texts.get(option)
    if text is None:
        return None
    try:
        return reader(text)
    except InputError as wrong:
        raise wrong.at(f"--{option}") from None


def _one_of(text: str, words: tuple[str, ...]) -> str:
    word = text.strip().lower()
    if word not in words:
        raise InputError(f"“{units.shown(text)}” is not one of {', '.join(words)}.", example=words[0])
    return word


def _yes(text: str) -> bool:
    return _one_of(text, ("yes", "no")) == "yes"
