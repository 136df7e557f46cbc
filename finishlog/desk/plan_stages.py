"""The stages of a plan: every stage of the reference again, with what it takes on the new area.

What was logged on the day is laid over what the recipe had planned; products come with their lots.
"""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from finishlog.records.log import Entry, Job, Stage, StageMaterial
from finishlog.records.plan import AsPlaced, Caution, PigmentPlan, PlanStage, ReleasePlan, StageNeed
from finishlog.records.shop import Shop
from finishlog.records.writing import NewProduct, NewStage, NewStageMaterial
from finishlog.trade import release, stages
from finishlog.trade.cautions import cautions
from finishlog.trade.stages.base import Param, StageKind
from finishlog.units import write, write_number

_RECKONED = ("integral_color", "powder_release", "seal")
"""Stages whose material the plan states by itself, to the ounce or the coat."""

_ALWAYS = (
    ("order", "Order"), ("placing", "Placing"), ("finishing", "Finishing"), ("skin", "Wet cement"),
    ("joint", "Joints"), ("sweep", "Sweep"), ("first_winter", "First winter"), ("trades", "Gas and electric"),
)  # fmt: skip
_USUAL = ("integral_color", "stamp", "rinse", "seal")
_WORK = (
    "order", "integral_color", "placing", "skin", "finishing", "color_hardener", "powder_release",
    "liquid_release", "stamp", "cure", "joint", "sweep", "rinse", "acid", "antiquing_wash", "stain", "seal",
    "first_winter", "trades",
)  # fmt: skip


def plan_stages(
    job: Job, placed: AsPlaced, area_ft2: Fraction, volume_yd3: Fraction, shop: Shop, system: str = "us"
) -> tuple[PlanStage, ...]:
    """The reference's stages in the order of work, each with its facts, products and needs."""
    return tuple(
        _stage(kind, stage, entry, area_ft2, volume_yd3, shop, system)
        for kind in stages.KINDS
        for stage, entry in _held(kind, job, placed)
    )


def _held(kind: StageKind, job: Job, placed: AsPlaced) -> Iterator[tuple[Stage | None, Entry | None]]:
    """Each planned stage of the kind beside what was logged of it; what was only logged stands alone."""
    recipe = placed.area.recipe
    planned = [s for s in recipe.stages if s.kind == kind.key] if recipe else []
    done = [] if kind.logged_as != kind.key else list(job.of_kind(kind.key, area=placed.area.uid))
    if not kind.repeatable:
        done = done[-1:]
    if kind.key == "seal":
        done = []  # coats are reckoned coat by coat
    for i in range(max(len(planned), len(done))):
        yield planned[i] if i < len(planned) else None, done[i] if i < len(done) else None


def _stage(
    kind: StageKind, stage: Stage | None, entry: Entry | None,
    area_ft2: Fraction, volume_yd3: Fraction, shop: Shop, system: str,
) -> PlanStage:  # fmt: skip
    facts = {**(stage.params if stage else {}), **(entry.facts if entry else {})}
    known = {p.name: facts[p.name] for p in kind.params if p.name in facts}
    needs = () if kind.key in _RECKONED else kind.needs(known, area_ft2, volume_yd3, shop)
    return PlanStage(
        kind=kind.key,
        title=kind.title,
        facts=tuple(_fact(p, known[p.name], system) for p in kind.params if p.name in known),
        products=_products(stage, entry),
        needs=tuple(StageNeed(n.what, n.amount, n.unit, n.note) for n in needs),
    )


def _fact(param: Param, value: object, system: str) -> str:
    """`Mixing after the color: 10 min`, `Tip to slab: 14 in`."""
    title = param.title.removesuffix(", min")
    said = _said(param, value, system)
    return f"{title}: {said}" if title == param.title else f"{title}: {said} min"


def _said(param: Param, value: object, system: str) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, int | float):
        if param.unit and param.unit != "temperature_f":
            number, space, unit = write(param.unit, Fraction(repr(value)), system).partition(" ")
            return f"{_short(number)}{space}{unit}"
        return f"{write_number(value)} °F" if param.unit == "temperature_f" else write_number(value)
    return str(value).replace("_", " ")


def _short(number: str) -> str:
    return number.rstrip("0").rstrip(".") if "." in number else number


def _products(stage: Stage | None, entry: Entry | None) -> tuple[str, ...]:
    uses = entry.materials if entry and entry.materials else (stage.materials if stage else ())
    return tuple(
        ", ".join(p for p in (m.product.name, m.product.maker, f"lot {m.lot}" if m.lot else None) if p)
        for m in uses
    )


def plan_cautions(planned: tuple[PlanStage, ...], placed: AsPlaced) -> tuple[Caution, ...]:
    """The usual caution of each stage that the plan has, in the order of the work."""
    titles = dict(_ALWAYS)
    for kind in stages.KINDS:
        if kind.key in _USUAL or any(stage.kind == kind.key for stage in planned):
            titles.setdefault(kind.key, kind.title)
    if placed.release is not None:
        titles.setdefault("powder_release", "Powder release")
    if placed.rinse.get("acid_ratio"):
        titles["acid"] = "Acid"
    found = ((titles[key], cautions(key)) for key in _WORK if key in titles)
    return tuple(Caution(title, " ".join(line.text for line in lines)) for title, lines in found)


def shades(job: Job, placed: AsPlaced) -> tuple[Caution, ...]:
    """A mix of two shades whose parts nobody wrote down, or a ratio of what is not two."""
    (kind,) = (kind for kind in stages.KINDS if kind.key == "powder_release")
    found = []
    for stage, entry in _held(kind, job, placed):
        uses = entry.materials if entry and entry.materials else (stage.materials if stage else ())
        facts = {**(stage.params if stage else {}), **(entry.facts if entry else {})}
        weighed = bool(entry and entry.materials and all(use.amount is not None for use in entry.materials))
        ratio = facts.get("mix_ratio")
        if ratio is not None or not weighed:
            found.append(release.odd_shades(None if ratio is None else str(ratio), len(uses)))
    return tuple(Caution(kind.title, text) for text in found if text)


def new_stages(
    old: tuple[Stage, ...], pigment: PigmentPlan | None, powder: ReleasePlan | None
) -> Iterator[NewStage]:
    """The reference's stages again for the planned job, with the plan's dose and release rate in them."""
    if pigment is not None and not any(stage.kind == "integral_color" for stage in old):
        yield NewStage("integral_color", {}, _pigments(pigment))
    for stage in old:
        if stage.kind == "integral_color" and pigment is not None:
            yield NewStage(stage.kind, dict(stage.params), _pigments(pigment))
        else:
            materials = tuple(
                _again(m, powder if stage.kind == "powder_release" else None) for m in stage.materials
            )
            yield NewStage(stage.kind, dict(stage.params), materials)


def _pigments(pigment: PigmentPlan) -> tuple[NewStageMaterial, ...]:
    return tuple(
        NewStageMaterial(NewProduct(p.name, "pigment", p.maker), None, float(p.dose_lb_per_yd3), "lb/yd3")
        for p in pigment.parts
    )


def _again(material: StageMaterial, powder: ReleasePlan | None) -> NewStageMaterial:
    """A planned product without its lot: which lot it will be is not known yet."""
    product = NewProduct(material.product.name, material.product.kind, material.product.maker)
    if powder is None:
        return NewStageMaterial(product, None, material.rate, material.unit)
    return NewStageMaterial(product, None, float(powder.lb_per_100_ft2), "lb/100 ft2")
