"""The plan for an addition that is to match a past job, and keeping it as a planned job."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, time
from fractions import Fraction
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from finishlog.desk import words
from finishlog.desk.bench import yards as bench
from finishlog.desk.doubts import own_usual
from finishlog.desk.match import cold as plan_cold
from finishlog.desk.match import doubts
from finishlog.desk.placed import placed as placing
from finishlog.desk.plan import clock, days, differences, joints, lots, materials, saved, shelf, stages, then
from finishlog.desk.plan import words as plan_words
from finishlog.desk.services import Services
from finishlog.desk.shelf import money, needs
from finishlog.errors import InputError, naming
from finishlog.records.color import Gate
from finishlog.records.log import Job, Mix, Shape
from finishlog.records.placed import AsPlaced
from finishlog.records.plan import Caution, Difference, DoseBySample, PigmentPlan, Plan, PlanRequest
from finishlog.records.quantities.order import YardsAnswer, YardsRequest
from finishlog.records.shelf import Enough
from finishlog.records.shop import Shop
from finishlog.records.when import zone_of
from finishlog.retrying import anew
from finishlog.trade.pour import cold, takeoff
from finishlog.trade.upkeep.windows import first_comparable
from finishlog.units import count, read_depth_in, write, write_number, write_weekday, write_weight_lb_oz

if TYPE_CHECKING:
    from finishlog.desk.doubts.amounts import Own
    from finishlog.desk.history import Learned
    from finishlog.desk.match.odds import Told
    from finishlog.store import Reader

CLOSED_CUSTOMER = "A sample of the new concrete shows how close it comes; you approve it before the pour."
"""Said in place of "it will be close" while nobody can tell."""


@dataclass(frozen=True, slots=True)
class Measures:
    """What the measure form offers before anything is typed: only what the reference states."""

    title: str
    areas: tuple[str, ...]
    depth: str
    plant: str
    cement: str
    scm: str
    lots: tuple[str, ...]
    today: date | None = None  # at the site
    zone: str = ""  # the site's
    cement_kind: str = ""


def simple_request(handle: str, rect: str, depth: str) -> PlanRequest:
    """A rectangle, poured today; everything else unknown."""
    return PlanRequest(reference=handle, shapes=(Shape(1, "rect", rect),), depth=depth)


def prepare(services: Services, handle: str, area: str | None = None) -> Measures:
    """Facts of the reference, before the new area is measured."""
    job, placed, _ = _reference(services, handle, area)
    depth = placed.area.depth_in
    mix = placed.mix
    return Measures(
        title=f"{job.customer.name} · {job.name}",
        areas=tuple(a.area.name for a in placing.areas(job, zone_of(job))),
        depth=f"{write_number(depth)} in" if depth is not None else "",
        plant=(mix.plant if mix else None) or "",
        cement=write_number(mix.cement_lb_per_yd3) if mix and mix.cement_lb_per_yd3 is not None else "",
        scm=write_number(mix.scm_lb_per_yd3) if mix and mix.scm_lb_per_yd3 is not None else "",
        lots=tuple(lot for p in placed.pigments for lot in p.lots),
        today=services.clock().astimezone(zone_of(job)).date(),
        zone=job.site.zone,
        cement_kind=(mix.cement_kind if mix else None) or "",
    )


def make(services: Services, request: PlanRequest, system: str = "us", *, odds: bool = True) -> Plan:
    """The plan, in words of the `system` (us or metric); without `odds` nothing is learned for them.

    Raises InputError for a wrong measure, LimitError for a dose over the limit.
    """
    job, placed, shop = _reference(services, request.reference, request.area)
    _require_size(request)
    on = request.on or services.clock().astimezone(zone_of(job)).date()
    depth = request.depth or _old_depth(placed)
    learned = services.learned()
    measured = _measured(request, depth)
    concrete = bench.yards(measured, shop, learned.errors, system, colored=True)
    area_ft2, volume_yd3 = concrete.take_off.area_ft2, concrete.take_off.volume_yd3
    kept = materials.pigment(request, placed, concrete.loads.loads_yd3)
    pigment, by_sample, said = _by_sample(services, request, job, placed, kept, system)
    release, sealer = materials.release(placed, area_ft2, shop), materials.sealer(placed, area_ft2, shop)
    wanted = needs.of_plan(pigment, release, sealer)
    usual = own_usual.kept(services, job.handle)
    with services.log().reading() as log:
        line, steps = log.line(job.handle), log.pour_steps()
        held = shelf.held(log, services, wanted)
        differing = _differing(log, request, on, job, placed, kept, shop, usual, system)
    found = differences.by_weight((*differing, *said))
    found = lots.looked_up(found, placed, wanted, held, system, every=not request.lots)
    planned = stages.plan_stages(job, placed, area_ft2, volume_yd3, shop, system)
    old = joints.facts(job, placed)
    asked = replace(request, depth=depth, reference=job.handle)
    there = shelf.enough(wanted, held)
    told = _told(services, asked, job, placed, on, found, there, by_sample, shop) if odds else None
    gate = told.gate if told else None
    return Plan(
        request=asked,
        on=on,
        title=_title(job, request.name),
        sentence=_sentence(concrete, pigment, placed, found, system),
        reference=placed,
        reference_job=job,
        reference_line=line,
        concrete=concrete,
        pigment=pigment,
        pigment_advice="" if pigment else _no_dose(placed),
        release=release,
        sealer=sealer,
        stages=planned,
        days=days.days(on, placed, shop, system, request.air_f),
        differences=found,
        then=then.then(job, placed, zone_of(job), system),
        cautions=(*_cautions(concrete, learned, request.air_f), *stages.plan_cautions(job, placed, planned)),
        buried=tuple(words.buried(item, system) for item in job.buried),
        missing=placed.missing,
        tell_customer=_tell_customer(on, shop, gate),
        odds=told.odds if told else None,
        odds_advice=told.why if told else "",
        gate=gate,
        shelf=there,
        joints=joints.of_plan(placed, old, measured, shop),
        clock=clock.of_plan(asked, on, concrete, placed, planned, old, steps, shop),
        dose_by_sample=by_sample,
        cost=money.of_plan(concrete, wanted, held, shop),
    )


def _require_size(request: PlanRequest) -> None:
    if not request.shapes:
        raise InputError("The new area has no size.", where="--rect", example="--rect 20x12")


def _old_depth(placed: AsPlaced) -> str:
    if placed.area.depth_in is None:
        raise InputError("The old slab's depth was not logged.", where="--depth", example="--depth 4in")
    return write_number(placed.area.depth_in)


def _differing(
    log: Reader, request: PlanRequest, on: date, job: Job, placed: AsPlaced, pigment: PigmentPlan | None,
    shop: Shop, usual: Own, system: str,
) -> tuple[Difference, ...]:  # fmt: skip
    """What differs, by what was stated, by what the plant sent since, by the cold, and by the shop's own usual."""
    sent = _sent_since(log, placed, zone_of(job))
    others = (
        *plan_cold.differences(request.air_f, on, shop, system), *plan_cold.spoiled(job, placed, system)
    )  # fmt: skip
    found = differences.differences(request, on, placed, pigment, system, sent, others)
    found = (*found, *doubts.content(request))
    return doubts.asked(found, job, placed, shop, usual, system)


def _cautions(concrete: YardsAnswer, learned: Learned, air_f: Fraction | None) -> Iterator[Caution]:
    """What comes before the cautions of the stages."""
    yield from _small_loads(concrete)
    yield from (Caution("Order", line) for line in learned.left_out)
    if cold.is_cold(air_f):
        yield Caution("Cold weather", cold.caution())
    if learned.silent:
        yield Caution("Order", f"None of your slabs yet: {learned.silent}.")


def _by_sample(
    services: Services,
    request: PlanRequest,
    job: Job,
    placed: AsPlaced,
    kept: PigmentPlan | None,
    system: str,
) -> tuple[PigmentPlan | None, DoseBySample | None, tuple[Difference, ...]]:
    """The pigment by the sample that was read, if there is one, and what it says of the dose."""
    with services.log().reading() as log:
        read = bool(log.sample_rows())
    if not read and request.sample is None:
        return kept, None, ()
    from finishlog.desk.match import dose

    pigment, found = dose.of_plan(services, request, job, placed, kept)
    return pigment, found, tuple(dose.differences(found, system))


def _told(
    services: Services, asked: PlanRequest, job: Job, placed: AsPlaced, on: date, found: Sequence[Difference],
    there: Sequence[Enough], by_sample: DoseBySample | None, shop: Shop,
) -> Told:  # fmt: skip
    """The odds that it will look like the old slab, by what the log's readings tell."""
    from finishlog.desk.match import gate, sample
    from finishlog.desk.match import odds as color_odds

    points = gate.points(asked, placed, found, gate.shelf_same(there, asked))
    gated = gate.Gated(points, gate.now_of(asked, placed))
    gated = sample.with_sample(services, asked, job.handle, by_sample, gated)
    return color_odds.of_plan(services, job, placed.area, on, shop, gated)


def _sent_since(log: Reader, placed: AsPlaced, zone: ZoneInfo) -> list[tuple[Mix, date]]:
    """What the reference's plants have sent after its day of pouring."""
    if placed.poured_on is None:
        return []
    after = datetime.combine(placed.poured_on, time.max, zone)
    plants = dict.fromkeys(m.plant for m in placed.mixes if m.plant)
    return [
        (mix, day.astimezone(zone).date()) for plant in plants for mix, day in log.sent_since(plant, after)
    ]


def _measured(request: PlanRequest, depth: str) -> YardsRequest:
    """The new area from its text. Raises InputError naming the option."""
    flat, extra = [], []
    for shape in request.shapes:
        try:
            if shape.kind in ("edge", "stairs"):
                extra.append(takeoff.read_extra(shape.kind, shape.dimensions))
            else:
                flat.append(takeoff.read_shape(shape.kind, shape.dimensions, shape.sign))
        except InputError as failure:
            less = "less-" if shape.sign < 0 and shape.kind != "round" else ""
            raise failure.at(f"--{less}{shape.kind}") from None
    with naming("--depth"):
        inches = read_depth_in(depth)
    return YardsRequest(tuple(flat), inches, tuple(extra), request.probes_in)


def _reference(services: Services, handle: str, area: str | None) -> tuple[Job, AsPlaced, Shop]:
    with services.log().reading() as log:
        job, shop = log.job(log.resolve(handle)), log.shop()
    areas = placing.areas(job, zone_of(job), shop.off_dose_percent, shop.first_comparable_day)
    return job, _chosen(areas, area, job.handle), shop


def _chosen(areas: Sequence[AsPlaced], name: str | None, handle: str) -> AsPlaced:
    if not areas:
        raise InputError(f"{handle} has no area to match yet.", "Nothing logged on it.")
    if name is None:
        return areas[0]
    for placed in areas:
        if placed.area.name.casefold() == name.casefold():
            return placed
    raise InputError(
        f"{handle} has no area {name!r}.",
        f"It has {words.listed(p.area.name for p in areas)}.",
        where="--area",
        example=f"--area {areas[0].area.name!r}",
    )


def _sentence(
    concrete: YardsAnswer, pigment: PigmentPlan | None, placed: AsPlaced, found: Sequence[Difference],
    system: str,
) -> str:  # fmt: skip
    """The answer first: what to order, and the one thing to do before it."""
    order = concrete.order.best.order_yd3
    yards = write("volume_yd3", order, system) if system == "metric" else f"{write_number(order)} yd³"
    if pigment is None:
        if placed.bag_mix is not None:
            return f"The old one was bag mix, not a truck; {yards} fills the new one."
        return f"Order {yards}; no pigment dose logged: pour samples before you promise a match."
    weight = write_weight_lb_oz(plan_words.weighed_lb(pigment), system)
    acts = sum(d.weight == "act" for d in found)
    before = f"{count(acts, 'thing')} to settle first" if acts else "pour a sample first"
    return f"Order {yards} and {weight} of pigment; {before}."


def _small_loads(concrete: YardsAnswer) -> Iterator[Caution]:
    """What the bench says of small loads, before the cautions of the stages."""
    for caution in concrete.cautions:
        if caution.key == "load":
            yield Caution("Loads", caution.text)


def _no_dose(placed: AsPlaced) -> str:
    if placed.bag_mix is not None and any(pigment.lb_per_bag for pigment in placed.bag_mix.pigments):
        doses = words.listed(
            f"{write_weight_lb_oz(pigment.lb_per_bag)} of {pigment.name}"
            for pigment in placed.bag_mix.pigments
            if pigment.lb_per_bag
        )
        return (
            f"It was bag mix, {doses} to the bag: that gives no truck dose. "
            "Use the same bags, pigment and water, or pour samples first."
        )
    names = words.listed(p.name for p in placed.pigments) or "the wanted shade"
    return (
        f"No dose logged. Pour a ladder of samples with {names}, let them lighten, "
        "and compare with the old slab, cleaned and resealed in a small patch."
    )


def _tell_customer(on: date, shop: Shop, gate: Gate | None) -> tuple[str, ...]:
    from datetime import timedelta

    close = "It will be close, within normal variation; you approve a sample first."
    judge = first_comparable(on, shop)
    final = on + timedelta(days=shop.final_color_day)
    return (
        CLOSED_CUSTOMER if gate and gate.state == "closed" else close,
        f"At first it looks darker than the old slab; it lightens for about {shop.final_color_day} days.",
        f"Do not compare the two before {write_weekday(judge)}; "
        f"the color stops moving about {write_weekday(final)}.",
        "We wash the old slab, and reseal it with the new one if due, so both shine alike.",
    )


@anew
def save(services: Services, plan: Plan, name: str | None = None) -> str:
    """Keep the plan as a planned job whose recipe points to its reference; the new job's handle."""
    from finishlog.desk.match import as_job

    name = (name or plan.request.name or f"addition to {plan.reference_job.name}").strip()
    plan = named(plan, name)
    with services.log().writing() as log:
        job = log.add_job(as_job.planned(plan, name))
        log.add_advice(job.handle, saved.advice(plan))
        return job.handle


def named(plan: Plan, name: str) -> Plan:
    """The plan under the name of its job."""
    return replace(plan, request=replace(plan.request, name=name), title=_title(plan.reference_job, name))


def _title(job: Job, name: str | None) -> str:
    return f"Match · {job.customer.name} · {job.name} → {name or 'addition'}"
