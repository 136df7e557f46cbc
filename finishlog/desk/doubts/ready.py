"""Whether a job's slab can be sealed, now or when a coat went on: yes, wait or no, with reasons.

What was judged when a coat was logged is kept with the job as advice, as given.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import replace
from datetime import datetime
from typing import TYPE_CHECKING, Any

from finishlog.desk.doubts import sealer_sheet
from finishlog.desk.placed.named import area_of
from finishlog.desk.plain_data import Json, data, footing, pick
from finishlog.records.care import Compatible
from finishlog.records.log import Area, Entry, Job
from finishlog.records.quantities.weather import Readiness, SealerLimits, SlabFacts, WeatherNow
from finishlog.records.when import has_days, has_hours, zone_of
from finishlog.records.writing import NewAdvice, NewEntry
from finishlog.trade import poured, readiness
from finishlog.trade.events import WASHES
from finishlog.trade.sealing.chemistry import chemistry_of, chemistry_on
from finishlog.trade.sealing.compatibility import compatible
from finishlog.trade.upkeep.care import SAME_SEALING
from finishlog.units import exact

if TYPE_CHECKING:
    from zoneinfo import ZoneInfo

    from finishlog.desk.doubts.scene import Scene
    from finishlog.desk.services import Services
    from finishlog.store import Writer

METHOD = "ready/1"


def seal(
    services: Services,
    handle: str,
    area: str | None,
    now: WeatherNow,
    limits: SealerLimits | None = None,
    system: str = "us",
    sealer: str | None = None,
) -> Readiness:
    """Whether this job's slab, or one area of it, can be sealed now. Raises InputError.

    It is judged by the sealer's own sheet where that is known: of the sealer that is named, else of the one on
    the slab's last coat, else of its recipe. `limits` are what was told of it now.
    """
    with services.log().reading() as log:
        job, shop = log.job(log.resolve(handle)), log.shop()
        one = area_of(job, area)
        if sealer is None:
            name = sealer_of(job, one)
        else:
            name = sealer_sheet.product_of(log, sealer).name
        known = sealer_sheet.sheets(log).get(sealer_sheet.folded(name or ""), SealerLimits())
    facts = slab_facts(job, one, services.clock(), zone_of(job))
    return readiness.seal(facts, now, shop, sealer_sheet.over(known, limits or SealerLimits()), system)


def sealer_of(job: Job, area: Area | None) -> str | None:
    """The sealer that goes on: of the last coat, else of the recipe; None where neither names one."""
    coats = job.of_kind("seal", area=area.uid if area else None)
    used = [use.product.name for coat in reversed(coats) for use in coat.materials]
    stages = [each.recipe.stage("seal") for each in ((area,) if area else job.areas) if each.recipe]
    used += [m.product.name for stage in stages if stage is not None for m in stage.materials]
    return used[0] if used else None


def slab_facts(
    job: Job, area: Area | None, now: datetime, zone: ZoneInfo, without: int | None = None
) -> SlabFacts:
    """What the log says of a slab at an instant; `without` is an entry that is looked past."""
    uid, then = area.uid if area else None, poured.standing(job, now, without)
    tests, coats = then.of_kind("dryness_test", area=uid), then.of_kind("seal", area=uid)
    test = tests[-1] if tests else None
    last = coats[-1] if coats else None
    fresh = last is not None and now - last.happened <= SAME_SEALING
    washes = then.of_kind(*WASHES, "strip", area=uid)
    water = [e for e in washes if test is not None and e.happened > test.happened]
    return SlabFacts(
        age_days=_days(poured.zero(then, uid), now, zone),
        dry=None if test is None or "result" not in test.facts else test.facts["result"] == "dry",
        sheet_h=_fraction(test.facts.get("sheet_on_h")) if test else None,
        spots=_count(test.facts.get("spots")) if test else None,
        area_ft2=_fraction(area.area_ft2) if area else None,
        wet_since_test=bool(water),
        coat_age_h=_hours(last, now) if fresh else None,
        old_sealer=last is not None and not fresh,
    )


def _days(end: Entry | None, now: datetime, zone: ZoneInfo) -> int | None:
    if end is None or not has_days(end.exactness):
        return None
    return (now.astimezone(zone).date() - end.happened.astimezone(zone).date()).days


def _hours(entry: Entry | None, now: datetime) -> float | None:
    if entry is None or not has_hours(entry.exactness):
        return None
    return (now - entry.happened).total_seconds() / 3600


def _fraction(value: object) -> Any:
    return exact(value) if isinstance(value, int | float) and not isinstance(value, bool) else None


def _count(value: object) -> int | None:
    return value if isinstance(value, int) else None


# a coat that is logged


def doubts(new: NewEntry, scene: Scene) -> Iterator[str]:
    """What speaks against a coat by what was told of it: asked, and allowed with a reason."""
    judged = of_coat(new, scene)
    if judged is not None:
        yield from judged.of("no")
    over = on_the_old(new, scene)
    if over is not None and over.fits == "no":
        yield over.words


def warnings(new: NewEntry, scene: Scene) -> Iterator[str]:
    """What would better have been waited for, by what was told of a coat."""
    judged = of_coat(new, scene)
    if judged is not None:
        waits = (r for r in judged.reasons if r.verdict == "wait" and r.key in _TOLD)
        yield from (reason.text for reason in waits)
    over = on_the_old(new, scene)
    if over is not None and over.fits in ("trial", "unknown"):
        yield over.words


_TOLD = ("humidity", "trend", "shade", "coat_before")
"""Reasons to wait that a coat's own facts tell; its age has a warning of its own."""


def on_the_old(new: NewEntry, scene: Scene) -> Compatible | None:
    """How a coat goes with what was on the slab; None for a bare one, the same product, or a trial that was done."""
    if new.kind != "seal":
        return None
    area = next((a for a in scene.job.areas if a.name == new.area), None)
    uid = area.uid if area else None
    standing = tuple(e for e in scene.job.entries if e.number != scene.without and e.happened < new.happened)
    job = replace(scene.job, entries=standing)
    coats = job.of_kind("seal", area=uid)
    if not coats or chemistry_on(job, uid) == "none":
        return None
    kinds = " ".join(str(new.facts[key]) for key in ("carrier", "chemistry") if key in new.facts)
    chemistry = chemistry_of(kinds or next((use.product.chemistry for use in new.materials), None))
    before = {use.product.name.casefold() for use in coats[-1].materials}
    same = any(use.product.name.casefold() in before for use in new.materials)
    tried = any(e.facts.get("trial_patch") is True and e.happened > coats[-1].happened
                for e in job.of_kind("visit", area=uid))  # fmt: skip
    return None if same or tried or chemistry is None else compatible(chemistry_on(job, uid), chemistry)


def of_coat(new: NewEntry, scene: Scene) -> Readiness | None:
    """The verdict on a coat at the moment it went on; None for an entry that is no coat."""
    if new.kind != "seal" or new.withdrawn:
        return None
    area = next((a for a in scene.job.areas if a.name == new.area), None)
    facts = slab_facts(scene.job, area, new.happened, scene.zone, scene.without)
    names = [use.product.name for use in new.materials] or [sealer_of(scene.job, area) or ""]
    limits = scene.sheets.get(sealer_sheet.folded(names[0]))
    return readiness.seal(_said_dry(facts, new), told(new), scene.shop, limits)


def _said_dry(facts: SlabFacts, new: NewEntry) -> SlabFacts:
    return replace(facts, said_dry=True) if new.facts.get("dry_proven") is True else facts


def told(new: NewEntry) -> WeatherNow:
    """The weather that a coat's entry tells of."""
    coat, facts = new.coat, new.facts
    shade = facts.get("shade")
    humidity = _fraction(coat.humidity_percent) if coat else None
    return WeatherNow(
        air_f=_fraction(coat.air_f) if coat else None,
        humidity_percent=humidity if humidity is None or humidity >= 1 else None,
        surface_f=_fraction(coat.slab_f) if coat else None,
        trend=facts.get("slab_trend"),  # type: ignore[arg-type]
        shade=shade if isinstance(shade, bool) else None,
        efflorescence=facts.get("efflorescence"),  # type: ignore[arg-type]
    )


def keep(log: Writer, new: NewEntry, scene: Scene, entry: Entry) -> None:
    """Keep the verdict with the coat, where its entry tells of the weather."""
    weather = told(new)
    judged = of_coat(new, scene)
    if judged is None or (weather.air_f, weather.humidity_percent, weather.surface_f) == (None, None, None):
        return
    inputs = json.dumps({"entry": entry.uid, "weather": data(weather)})
    answer = json.dumps(readiness_json(judged))
    log.add_advice(scene.job.handle, NewAdvice("ready", METHOD, inputs, answer))


def readiness_json(answer: Readiness) -> Json:
    """The verdict with its reasons; `unknown` are conditions that were not told."""
    return {
        **pick(answer, "ready=verdict sentence"),
        "reasons": [pick(reason, "what=key says=verdict text") for reason in answer.reasons],
        "unknown": list(answer.unknown),
        "limits": sealer_sheet.limits_json(answer.limits or SealerLimits()),
        **pick(answer, "limits_by_sheet=by_sheet dew_point_f:2"),
        **footing(answer),
    }
