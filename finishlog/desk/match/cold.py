"""The season's effect on a plan: cold, stated or asked, and powder spoiled by weather."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from fractions import Fraction

from finishlog.records.log import Job
from finishlog.records.placed import AsPlaced
from finishlog.records.plan import Difference
from finishlog.records.shop import Shop
from finishlog.trade.pour import cold
from finishlog.trade.upkeep.season import season_words
from finishlog.units import MONTHS, exact, write, write_number


def differences(air_f: Fraction | None, on: date, shop: Shop, system: str = "us") -> Iterator[Difference]:
    """The cold where it is stated; asked where the day is in a month in which the shop does not seal."""
    if air_f is not None and cold.is_cold(air_f):
        times = cold.slower(air_f)
        slow = (
            "concrete will not set in this cold: pick another day"
            if times is None
            else f"it hardens about {write_number(times, 1)} times slower than at {_degrees(Fraction(70), system)} "
            "(from memory): hold the rinse, and judge color by a sample"
        )
        yield Difference("cold", "Cold", f"{_degrees(air_f, system)}: {slow}", "act")
    elif air_f is None and on.month not in shop.care_months:
        text = (
            f"{MONTHS[on.month - 1]} is outside your sealing months ({season_words(shop.care_months)}): "
            f"how cold will it get, night included? Below {_degrees(cold.COLD_F, system)} the plan "
            "changes: give the air for the day"
        )
        yield Difference("cold_unsaid", "Cold", text, "ask")


def spoiled(job: Job, placed: AsPlaced, system: str = "us") -> Iterator[Difference]:
    """Powder that was swept up and spoiled: not to be counted on, and why."""
    for sweep in job.of_kind("sweep", area=placed.area.uid):
        why, clean = sweep.facts.get("spoiled"), sweep.facts.get("reclaimed_lb")
        if why:
            pounds = exact(clean) if isinstance(clean, int | float) else Fraction(0)
            kept = f"; only the {write('mass_lb', pounds, system)} kept clean" if pounds else ""
            text = f"swept up, but spoiled by {why}: do not count on it{kept}"
            yield Difference("spoiled", "Reclaimed powder", text, "know")


def _degrees(value: Fraction, system: str) -> str:
    return f"{write_number(value)} °F" if system == "us" else write("temperature_f", value, system)
