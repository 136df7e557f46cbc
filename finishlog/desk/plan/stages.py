"""The stages of a plan: every stage of the reference again, with what it takes on the new area.

What was logged on the day is laid over what the recipe had planned; products come with their lots.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from fractions import Fraction

from finishlog.desk.placed import shares
from finishlog.desk.plan.then import fact
from finishlog.records.log import Entry, Fact, Job, MaterialUse, Stage, StageMaterial
from finishlog.records.placed import AsPlaced
from finishlog.records.plan import Caution, PlanStage, StageNeed
from finishlog.records.shop import Shop
from finishlog.trade import release, stages
from finishlog.trade.cautions import cautions
from finishlog.trade.stages.base import StageKind

_BEFORE = {"integral_color": {"order": "Order"}, "rinse": {"sweep": "Sweep"}}
_AFTER = {
    "integral_color": {"placing": "Placing", "skin": "Wet cement", "finishing": "Finishing"},
    "seal": {"first_winter": "First winter", "trades": "Gas and electric"},
}
"""Matters that are no stage, of every plan, by the stage before or after which they stand."""


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
    """Each planned stage of the kind beside what was logged of it; what was only logged stands alone.

    What is logged as another kind (color, with its load) and coats, reckoned one by one, are told by `then`.
    """
    recipe = placed.area.recipe
    planned = [s for s in recipe.stages if s.kind == kind.key] if recipe else []
    done = list(job.of_kind(kind.key, area=placed.area.uid)) if kind.in_plan == "stage" else []
    if not kind.repeatable and done:
        done = [_as_one(done)]
    done = [shares.with_rate(job, entry) for entry in done]
    for i in range(max(len(planned), len(done))):
        yield planned[i] if i < len(planned) else None, done[i] if i < len(done) else None


def _as_one(done: list[Entry]) -> Entry:
    """A stage done in parts, as one: the last word on each fact, and every product once."""
    facts: dict[str, Fact] = {}
    uses: dict[tuple[str, str | None], MaterialUse] = {}
    for entry in done:
        facts |= entry.facts
        for use in entry.materials:
            key = (use.product.uid, use.lot)
            uses[key] = _together(uses[key], use) if key in uses else use
    return replace(done[-1], facts=facts, materials=tuple(uses.values()))


def _together(first: MaterialUse, more: MaterialUse) -> MaterialUse:
    """One product and lot put on in two goes; an amount that is missing or of another unit leaves none."""
    if first.amount is None or more.amount is None or first.unit != more.unit:
        return replace(more, amount=None)
    return replace(more, amount=first.amount + more.amount)


def _stage(
    kind: StageKind, stage: Stage | None, entry: Entry | None,
    area_ft2: Fraction, volume_yd3: Fraction, shop: Shop, system: str,
) -> PlanStage:  # fmt: skip
    facts = {**(stage.params if stage else {}), **(entry.facts if entry else {})}
    known = {p.name: facts[p.name] for p in kind.params if p.name in facts}
    needs = () if kind.reckoned else kind.needs(known, area_ft2, volume_yd3, shop)
    return PlanStage(
        kind=kind.key,
        title=kind.title,
        facts=tuple(fact(p, known[p.name], system) for p in kind.params if p.name in known),
        products=_products(stage, entry),
        needs=tuple(StageNeed(n.what, n.amount, n.unit, n.note) for n in needs),
    )


def _products(stage: Stage | None, entry: Entry | None) -> tuple[str, ...]:
    uses = entry.materials if entry and entry.materials else (stage.materials if stage else ())
    return tuple(
        ", ".join(p for p in (m.product.name, m.product.maker, f"lot {m.lot}" if m.lot else None) if p)
        for m in uses
    )


def plan_cautions(job: Job, placed: AsPlaced, planned: tuple[PlanStage, ...]) -> tuple[Caution, ...]:
    """What is odd of the shades, then the usual caution of each stage that the plan has, in order of the work."""
    there = {stage.kind for stage in planned} | ({"powder_release"} if placed.release is not None else set())
    titles: dict[str, str] = {}
    for kind in stages.KINDS:
        titles |= _BEFORE.get(kind.key, {})
        if kind.always or kind.key in there:
            titles[kind.key] = kind.title
        if kind.key == "rinse" and _with_acid(planned):
            titles["acid"] = "Acid"
        titles |= _AFTER.get(kind.key, {})
    found = ((title, cautions(key)) for key, title in titles.items())
    usual = (Caution(title, " ".join(line.text for line in lines)) for title, lines in found if lines)
    return (*_shades(job, placed), *usual)


def _with_acid(planned: tuple[PlanStage, ...]) -> bool:
    """Whether any rinse had acid in it, or a stain is one that bites."""
    rinse, stain = stages.kind("rinse").param("acid_ratio"), stages.kind("stain").param("base")
    biting = (f"{rinse.title}:", f"{stain.title}: reactive")
    return any(said.startswith(biting) for stage in planned for said in stage.facts)


def _shades(job: Job, placed: AsPlaced) -> tuple[Caution, ...]:
    """A mix of two shades without recorded parts, or a ratio without two shades."""
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


def kept_stages(job: Job, placed: AsPlaced) -> tuple[Stage, ...]:
    """The reference's recipe, and after it what was only logged of its stages: the recipe of a planned job."""
    held = placed.area.recipe.stages if placed.area.recipe else ()
    return (*held, *(
        Stage(
            0, kind.key, {p.name: entry.facts[p.name] for p in kind.planned if p.name in entry.facts},
            kind.params_version, tuple(StageMaterial(use.product) for use in entry.materials),
        )
        for kind in stages.KINDS
        for stage, entry in _held(kind, job, placed)
        if stage is None and entry is not None
    ))  # fmt: skip
