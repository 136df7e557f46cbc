"""Whether a slab is ready: to seal, by everything that spoils a coat; to place, by evaporation.

The margin over the dew point is MIL-HDBK-1110 §9.6.6, superseded by UFC 3-190-06; the sheet test is ASTM D4263.
All other limits are settings or the sealer's own sheet (common practice, no source).
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from fractions import Fraction

from finishlog.errors import InputError
from finishlog.records.quantities.weather import (
    Readiness,
    Reason,
    SealerLimits,
    SlabFacts,
    Verdict,
    WeatherNow,
)
from finishlog.records.shop import Shop
from finishlog.trade import sources
from finishlog.trade.cautions import cautions
from finishlog.trade.weather import dew_point_f
from finishlog.units import exact, plain, write

DEW_MARGIN_F = 5
"""5 °F is 2.78 °C. Metric sheets ask for 3 °C, which is stricter; ours is the sourced one."""
SHEET_H = 16
"""ASTM D4263: the sheet must lie at least 16 h, else the test is void."""
FT2_PER_SPOT = 500

Rule = Callable[[SlabFacts, WeatherNow, SealerLimits, Shop, str], Iterator[Reason]]


def seal(
    facts: SlabFacts, now: WeatherNow, shop: Shop, limits: SealerLimits | None = None, system: str = "us"
) -> Readiness:
    """Whether a coat can go on now. The strictest reason decides: no before wait before yes.

    Without air, humidity and slab temperature the verdict is wait: measure. `system` only affects wording.
    """
    own = limits or SealerLimits()
    by = with_usual(own, shop)
    reasons = tuple(reason for rule in _RULES for reason in rule(facts, now, by, shop, system))
    verdict = _hardest(reasons)
    unknown = tuple(_unknown(facts, now, by, own.told, shop, system))
    return Readiness(
        verdict=verdict,
        sentence=_sentence(verdict, reasons, unknown),
        reasons=reasons,
        unknown=unknown,
        dew_point_f=_dew(now),
        cautions=cautions("seal"),
        sources=(sources.DEW_MARGIN, sources.DEW_POINT, sources.SHEET_TEST, sources.PRACTICE),
        limits=by,
        by_sheet=own.told,
    )


def with_usual(own: SealerLimits, shop: Shop) -> SealerLimits:
    """All limits: the sealer's own, else the shop's usual."""
    usual = SealerLimits(
        low_f=shop.seal_slab_low_f,
        high_f=shop.seal_slab_high_f,
        humidity_percent=Fraction(shop.seal_humidity_percent),
        age_days=shop.seal_from_day,
        rain_free_h=Fraction(shop.rain_free_h),
        recoat_from_h=Fraction(shop.recoat_from_h),
        recoat_to_h=Fraction(shop.recoat_to_h),
        dew_margin_f=Fraction(DEW_MARGIN_F),
    )
    made = replace(usual, **{key: getattr(own, key) for key in own.told})
    for low, high in (("low_f", "high_f"), ("recoat_from_h", "recoat_to_h")):
        if getattr(made, low) > getattr(made, high):  # the sheet gives only one end: it wins
            made = replace(
                made, **{low: getattr(made, high)} if high in own.told else {high: getattr(made, low)}
            )
    return made


def degrees(value_f: Fraction, system: str) -> str:
    """A temperature difference: `5 °F`, `2.8 °C`."""
    return f"{plain(value_f * 5 / 9, 1)} °C" if system == "metric" else f"{plain(value_f, 1)} °F"


def _hardest(reasons: tuple[Reason, ...]) -> Verdict:
    said = {reason.verdict for reason in reasons}
    return "no" if "no" in said else "wait" if "wait" in said else "yes"


def _sentence(verdict: Verdict, reasons: tuple[Reason, ...], unknown: tuple[str, ...]) -> str:
    if verdict == "yes":
        return f"Yes, if: {'; '.join(unknown)}." if unknown else "Yes."
    first = next(reason.text for reason in reasons if reason.verdict == verdict)
    return f"{'No' if verdict == 'no' else 'Wait'}: {first[:1].lower()}{first[1:]}"


def _dew(now: WeatherNow) -> float | None:
    """The dew point in °F; None if air or humidity is unknown or outside the formula's range."""
    if now.air_f is None or now.humidity_percent is None:
        return None
    try:
        return dew_point_f(float(now.air_f), float(now.humidity_percent))
    except InputError:
        return None


# each rule reports what it sees and stays silent about missing facts


def _dew_point(
    facts: SlabFacts, now: WeatherNow, limits: SealerLimits, shop: Shop, system: str
) -> Iterator[Reason]:
    dew = _dew(now)
    if dew is None or now.surface_f is None:
        missing = [
            name
            for name, value in (
                ("the air", now.air_f),
                ("the humidity", now.humidity_percent),
                ("the slab", now.surface_f),
            )
            if value is None
        ]
        yield Reason("dew_point", "wait", f"Measure {' and '.join(missing)}: the dew point is unknown.")
        return
    margin = _known(limits.dew_margin_f)
    at, least = (write("temperature_f", exact(t), system) for t in (dew, dew + float(margin)))
    rule = f"dew point {at}, so the slab must be at {least} until tack-free"
    if not above_dew(now.surface_f, dew, margin):
        yield Reason("dew_point", "no", f"The slab is too cold: {rule}.")
    elif now.coolest_f is not None and not above_dew(now.coolest_f, dew, margin):
        yield Reason("dew_point", "no", f"It cools too far before tack-free: {rule}.")
    else:
        yield Reason("dew_point", "yes", f"Warm enough: {rule}.")


def above_dew(surface_f: Fraction | float, dew_f: float, margin_f: Fraction | float = DEW_MARGIN_F) -> bool:
    """Whether a surface clears the dew point by the margin: 5 °F by MIL-HDBK-1110 §9.6.6."""
    return float(surface_f) - dew_f >= float(margin_f) - 1e-9


def _known(limit: Fraction | None) -> Fraction:
    """A limit filled in by `with_usual`."""
    assert limit is not None
    return limit


def _humidity(
    facts: SlabFacts, now: WeatherNow, limits: SealerLimits, shop: Shop, system: str
) -> Iterator[Reason]:
    most = _known(limits.humidity_percent)
    if now.humidity_percent is not None and now.humidity_percent >= most:
        text = (
            f"The air is humid, {plain(now.humidity_percent)} %: under {plain(most)} % the film dries clear."
        )
        yield Reason("humidity", "wait", text)


def _warmth(
    facts: SlabFacts, now: WeatherNow, limits: SealerLimits, shop: Shop, system: str
) -> Iterator[Reason]:
    if now.surface_f is None:
        return
    low, high = _known(limits.low_f), _known(limits.high_f)
    slab, cold, hot = (write("temperature_f", t, system) for t in (now.surface_f, low, high))
    if now.surface_f < low:
        yield Reason(
            "slab_temperature", "no", f"The slab is at {slab}, under {cold}: the film does not form."
        )
    elif now.surface_f > high:
        yield Reason(
            "slab_temperature", "no", f"The slab is at {slab}, over {hot}: the coat bubbles and webs."
        )
    else:
        yield Reason("slab_temperature", "yes", f"The slab is at {slab}, within {cold} to {hot}.")


def _trend(
    facts: SlabFacts, now: WeatherNow, limits: SealerLimits, shop: Shop, system: str
) -> Iterator[Reason]:
    if now.trend == "warming":
        yield Reason("trend", "wait", "The slab is warming: it outgasses and bubbles. Wait until it cools.")
    elif now.trend is not None:
        yield Reason("trend", "yes", f"The slab is {now.trend}.")
    if now.shade is False:
        yield Reason("shade", "wait", "It is in the sun: wait for shade.")


def _age(
    facts: SlabFacts, now: WeatherNow, limits: SealerLimits, shop: Shop, system: str
) -> Iterator[Reason]:
    """Old enough, or proven dry once past the least age; a slab sealed long ago is exempt."""
    if facts.coat_age_h is not None or facts.old_sealer or facts.age_days is None:
        return
    least = limits.age_days or shop.seal_from_day
    old = f"The slab is {facts.age_days} days old"
    if facts.age_days < least:
        yield Reason("age", "wait", f"{old}: not before day {least}.")
    elif facts.age_days >= shop.seal_usual_day:
        yield Reason("age", "yes", f"{old}.")
    elif not proven_dry(facts):
        yield Reason("age", "wait", f"{old}: day {shop.seal_usual_day}, or a sheet test that stays dry.")


def proven_dry(facts: SlabFacts) -> bool:
    """A valid sheet test: dry, on for at least 16 h (ASTM D4263), no water since; or a person's statement."""
    tested = bool(facts.dry) and (facts.sheet_h or 0) >= SHEET_H and not facts.wet_since_test
    return facts.said_dry or tested


def _dryness(
    facts: SlabFacts, now: WeatherNow, limits: SealerLimits, shop: Shop, system: str
) -> Iterator[Reason]:
    if facts.said_dry:
        yield Reason("dryness", "yes", "Logged as proven dry.")
    elif facts.dry is None or facts.coat_age_h is not None:
        return
    elif not facts.dry:
        yield Reason("dryness", "no", "The sheet test was damp: let it dry and test again.")
    elif facts.wet_since_test:
        yield Reason("dryness", "wait", "It got wet after the sheet test: test again.")
    elif facts.sheet_h is None:
        yield Reason("dryness", "wait", f"Unknown how long the sheet was on: {SHEET_H} h or it is no test.")
    elif facts.sheet_h < SHEET_H:
        on = plain(facts.sheet_h)
        yield Reason("dryness", "wait", f"The sheet was on {on} h: under {SHEET_H} h it is no test.")
    else:
        yield Reason("dryness", "yes", f"Dry under the sheet after {plain(facts.sheet_h)} h.{_spots(facts)}")


def _spots(facts: SlabFacts) -> str:
    if facts.area_ft2 is None or facts.spots is None:
        return ""
    wanted = -(-facts.area_ft2 // FT2_PER_SPOT)
    return f" {facts.spots} of about {wanted} spots were tested." if facts.spots < wanted else ""


def _white(
    facts: SlabFacts, now: WeatherNow, limits: SealerLimits, shop: Shop, system: str
) -> Iterator[Reason]:
    if now.efflorescence == "left":
        yield Reason("efflorescence", "no", "Efflorescence on it: clean it off, and let the slab dry.")
    elif now.efflorescence is not None:
        yield Reason("efflorescence", "yes", f"Efflorescence: {now.efflorescence}.")


def _rain(
    facts: SlabFacts, now: WeatherNow, limits: SealerLimits, shop: Shop, system: str
) -> Iterator[Reason]:
    if now.rain_free_h is None:
        return
    dry = f"It stays dry for {plain(now.rain_free_h)} h"
    if now.rain_free_h < _known(limits.rain_free_h):
        yield Reason("rain", "no", f"{dry}: it needs {plain(_known(limits.rain_free_h))} h.")
    else:
        yield Reason("rain", "yes", f"{dry}.")


def _coat_before(
    facts: SlabFacts, now: WeatherNow, limits: SealerLimits, shop: Shop, system: str
) -> Iterator[Reason]:
    hours = facts.coat_age_h
    if hours is None:
        return
    low, high = _known(limits.recoat_from_h), _known(limits.recoat_to_h)
    said = plain(exact(round(hours, 1)))
    if hours < low:
        span = f"{plain(low)} to {plain(high)} h"
        yield Reason("coat_before", "wait", f"The last coat is {said} h old: recoat at {span}.")
    elif hours > high:
        text = f"The last coat is {said} h old, past {plain(high)} h: check that it still takes one."
        yield Reason("coat_before", "wait", text)
    else:
        yield Reason("coat_before", "yes", f"The last coat is {said} h old.")


_RULES: tuple[Rule, ...] = (
    _dew_point, _warmth, _white, _dryness, _rain, _age, _trend, _humidity, _coat_before,
)  # fmt: skip


def _unknown(
    facts: SlabFacts, now: WeatherNow, limits: SealerLimits, told: tuple[str, ...], shop: Shop, system: str
) -> Iterator[str]:
    """Missing facts that also decide, as a condition."""
    if facts.coat_age_h is None and facts.age_days is None and not facts.old_sealer:
        yield f"it is {shop.seal_usual_day} days old, or dry under a sheet for {SHEET_H} h"
    if facts.old_sealer and facts.dry is None:
        yield "it is washed and dry all through"
    if now.efflorescence is None and facts.coat_age_h is None:
        yield "it has no efflorescence"
    if now.trend is None:
        yield "the slab is steady or cooling"
    if now.shade is None:
        yield "it is out of the sun"
    if now.rain_free_h is None:
        yield f"it stays dry for {plain(_known(limits.rain_free_h))} h"
    if now.coolest_f is None:
        margin = degrees(_known(limits.dew_margin_f), system)
        yield f"it stays {margin} above the dew point until tack-free"
    if not told:
        yield "the sealer's own sheet does not differ"
