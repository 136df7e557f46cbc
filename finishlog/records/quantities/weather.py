"""Reported weather, its effect on a slab, and whether the slab is ready for the work.

None means unknown. Temperatures in °F, humidity 0 to 100 %, wind in mph.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from finishlog.records.quantities.cautions import Caution

Verdict = Literal["yes", "wait", "no"]
State = Literal["fine", "care", "stop"]
Trend = Literal["cooling", "steady", "warming"]
Efflorescence = Literal["none", "cleaned", "left"]


@dataclass(frozen=True, slots=True)
class WeatherNow:
    """Measured or forecast at the work.

    `surface_f` is the slab, or the fresh concrete; `coolest_f` the coolest the surface gets until the sealer
    is tack-free; `rain_free_h` how long it stays dry.
    """

    air_f: Fraction | None = None
    humidity_percent: Fraction | None = None
    surface_f: Fraction | None = None
    wind_mph: Fraction | None = None
    coolest_f: Fraction | None = None
    rain_free_h: Fraction | None = None
    trend: Trend | None = None
    shade: bool | None = None
    efflorescence: Efflorescence | None = None


@dataclass(frozen=True, slots=True)
class SealerLimits:
    """Limits from the sealer's own sheet; None: not given.

    `low_f` and `high_f` are the slab's, `humidity_percent` the most, `age_days` the youngest slab, `rain_free_h`
    how long it must stay dry, `recoat_from_h` and `recoat_to_h` when the next coat goes on, `dew_margin_f` by
    how much the slab must be warmer than the dew point.
    """

    low_f: Fraction | None = None
    high_f: Fraction | None = None
    humidity_percent: Fraction | None = None
    age_days: int | None = None
    rain_free_h: Fraction | None = None
    recoat_from_h: Fraction | None = None
    recoat_to_h: Fraction | None = None
    dew_margin_f: Fraction | None = None

    @property
    def told(self) -> tuple[str, ...]:
        """Names of the known limits."""
        return tuple(key for key in self.__slots__ if getattr(self, key) is not None)


@dataclass(frozen=True, slots=True)
class SlabFacts:
    """The slab per the log: age, sheet test, previous coat, last water on it.

    `dry` is what was found under the sheet; `sheet_h` how long it was on; `wet_since_test`: it was rinsed or
    washed after the test; `said_dry`: whoever sealed it said that it was proven dry. `coat_age_h` is set where
    a coat of the same sealing went on before; `old_sealer`: it was sealed long ago, so that age proves nothing.
    """

    age_days: int | None = None
    dry: bool | None = None
    sheet_h: Fraction | None = None
    spots: int | None = None
    area_ft2: Fraction | None = None
    wet_since_test: bool = False
    said_dry: bool = False
    coat_age_h: float | None = None
    old_sealer: bool = False


@dataclass(frozen=True, slots=True)
class Reason:
    """One reason of a verdict: `key` names the matter, `verdict` what it says by itself."""

    key: str
    verdict: Verdict
    text: str


@dataclass(frozen=True, slots=True)
class Readiness:
    """Yes, wait or no, with every reason; `unknown` lists missing facts that also decide.

    `limits` are those applied, `by_sheet` the ones from the sealer's own sheet; the others are
    the shop's usual ones.
    """

    verdict: Verdict
    sentence: str
    reasons: tuple[Reason, ...]
    unknown: tuple[str, ...] = ()
    dew_point_f: float | None = None
    cautions: tuple[Caution, ...] = ()
    sources: tuple[str, ...] = ()
    limits: SealerLimits | None = None
    by_sheet: tuple[str, ...] = ()

    def of(self, *verdicts: Verdict) -> tuple[str, ...]:
        """The reasons with that verdict."""
        return tuple(reason.text for reason in self.reasons if reason.verdict in verdicts)


@dataclass(frozen=True, slots=True)
class WeatherAnswer:
    """The answer of `weather`. Evaporation by both of Uno's forms; None if wind or concrete is unknown."""

    now: WeatherNow
    evaporation_lb_per_ft2_h: float | None
    evaporation_kg_per_m2_h: float | None
    state: State | None
    dew_point_f: float
    care_at: Fraction
    stop_at: Fraction
    sentence: str
    cautions: tuple[Caution, ...]
    sources: tuple[str, ...]
