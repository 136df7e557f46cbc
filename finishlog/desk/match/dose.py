"""The dose from a read sample of the new lot and cement, if the log's samples cover its pigments."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import TYPE_CHECKING, Literal

from finishlog.color.notation.space import as_lab
from finishlog.color.pigment import blend
from finishlog.desk import words
from finishlog.desk.blend import bench as blend_bench
from finishlog.desk.blend import blend as blending
from finishlog.desk.blend import samples as blend_samples
from finishlog.desk.blend.bench import Bench, BlendRequest
from finishlog.desk.blend.samples import Samples
from finishlog.desk.color import learned as learning
from finishlog.desk.match import sample as match_sample
from finishlog.desk.plan import materials
from finishlog.errors import InputError
from finishlog.records.color import Lab
from finishlog.records.log import Job
from finishlog.records.placed import AsPlaced
from finishlog.records.plan import Difference, DoseBySample, PartBySample, PigmentPlan, PlanRequest
from finishlog.units import exact, write

if TYPE_CHECKING:
    from finishlog.color.aging.cure import Floats
    from finishlog.color.pigment.mixing import Mixture
    from finishlog.desk.match.sample import Poured
    from finishlog.desk.services import Services

    State = Literal["changed", "agrees", "no nearer"]

SPOT = "base"
"""Pigment colors the base."""
LADDER = "pour a ladder of doses with the new lot and cement"


class UntoldError(Exception):
    """The reason for keeping the dose."""


@dataclass(frozen=True, slots=True)
class Looks:
    """Final colors of sample and old slab, each with its covariance."""

    sample: tuple[Floats, Floats]
    old: tuple[Floats, Floats]

    @property
    def target(self) -> Lab:
        """The old slab's final L*, a*, b*."""
        return as_lab(self.old[0])


@dataclass(frozen=True, slots=True)
class Taught:
    """What the log's other samples teach: doses are in percent of cementitious, in the order of the bench."""

    mixture: Mixture
    bench: Bench
    names: tuple[str, ...]  # of the plan's pigments, as the bench calls them
    kept: list[float]
    poured: list[float]

    def moves(self, start: list[float], end: list[float]) -> Floats:
        """How the color goes from one set of doses to another."""
        return blend.predict_one(self.mixture, end) - blend.predict_one(self.mixture, start)


def of_plan(
    services: Services, request: PlanRequest, job: Job, placed: AsPlaced, kept: PigmentPlan | None
) -> tuple[PigmentPlan | None, DoseBySample | None]:
    """The pigment of a plan, by its sample where that tells another dose. Raises InputError for a wrong sample."""
    found = match_sample.usable(services, request, job.handle)
    if kept is None or found is None:
        return kept, None
    try:
        looks = _looks(services, job, placed, found)
        taught = _taught(services, request, placed, kept, found, looks.target)
    except UntoldError as untold:
        dose = kept.dose_lb_per_yd3
        return kept, DoseBySample(found.number, "not told", dose, dose, why=str(untold))
    return _told(request, placed, kept, found.number, looks, taught)


def _told(
    request: PlanRequest, placed: AsPlaced, kept: PigmentPlan, number: int, looks: Looks, taught: Taught
) -> tuple[PigmentPlan, DoseBySample]:
    bench = taught.bench
    moved = blend.moved_by_sample(
        taught.mixture, (taught.kept, looks.old[0]), (taught.poured, looks.sample[0])
    )
    best = blend.solve(moved, looks.target, bench.maxima, bench.limit, bench.usable)
    new = blending.said(best.doses, blend_bench.level(bench, best.doses))
    plan, weighed, state = kept, taught.kept, _state(looks, taught, new)
    if state == "changed":
        by_name = dict(zip(bench.pigments, new, strict=True))
        content = bench.content_lb_per_yd3
        doses = [exact(by_name[name]) * content / 100 for name in taught.names]
        plan, weighed = materials.with_doses(kept, doses, request, placed), new
    return plan, DoseBySample(
        number,
        state,
        kept.dose_lb_per_yd3,
        plan.dose_lb_per_yd3,
        tuple(
            PartBySample(was.name, was.dose_lb_per_yd3, now.dose_lb_per_yd3)
            for was, now in zip(kept.parts, plan.parts, strict=True)
        ),
        left_de00=blend.at(moved, weighed, looks.target).de00,
        shift_lab=as_lab(taught.moves(taught.poured, weighed)),
    )


def _state(looks: Looks, taught: Taught, new: list[float]) -> State:
    """Another dose counts where what it puts right is more than the sample's readings leave open.

    Only a part of what the sample is off by is put right, so that is taken back first.
    """
    lab, doubt = looks.sample
    if blend.tells(taught.moves(taught.kept, new) / blend.LOCAL, doubt, len(taught.names)):
        return "changed"
    off = lab + taught.moves(taught.poured, taught.kept) - looks.old[0]
    return "no nearer" if blend.tells(off, doubt) else "agrees"


# --- what is known ------------------------------------------------------------------------------------


def _looks(services: Services, job: Job, placed: AsPlaced, found: Poured) -> Looks:
    """Raises UntoldError where the base of one of them was not read dry and bare."""
    state = learning.state(services, SPOT, job.handle)
    with services.log().reading() as log:
        rows = log.learning_rows_of(job.handle)
    own = [
        row for row in rows
        if row.job == job.handle and row.area in (placed.area.uid, None) and row.reading.spot == SPOT and not row.apart
    ]  # fmt: skip
    recipe = own[0].recipe if own else None
    key = learning.key_of(job.handle, own[0].area if own else None)
    old = match_sample.settled(state, recipe, key, learning.sort(own, state.coats))
    sample = match_sample.color(state, recipe, found.number, found.rows, SPOT)
    if old is None:
        raise UntoldError("the old slab's base was never read dry and bare")
    if sample is None:
        raise UntoldError("its base was never read dry and bare")
    return Looks(sample, old)


def _taught(
    services: Services, request: PlanRequest, placed: AsPlaced, kept: PigmentPlan, found: Poured, target: Lab
) -> Taught:
    """What the log's other samples teach of these pigments. Raises UntoldError where that is not enough."""
    _, content, cement = materials.contents(request, placed)
    if content is None or cement is None:
        raise UntoldError("give the new mix's cement")
    samples = blend_samples.of_log(services)
    samples = replace(samples, rows=tuple(row for row in samples.rows if row.name != str(found.number)))
    names, poured = _names(samples, placed), _poured(samples, found)
    asked = BlendRequest(target, pigments=names, maxima=_maxima(names, placed),
                         cementitious_lb_per_yd3=content, scm_lb_per_yd3=content - cement)  # fmt: skip
    held = {n: float(p.dose_lb_per_yd3 / content * 100) for n, p in zip(names, kept.parts, strict=True)}
    shop, missing = services.shop(), names
    for kind in _cements(found, placed):
        try:
            bench = blend_bench.lay_out(asked, blend_samples.of_cement(samples, kind), shop)
        except InputError:
            continue
        mixture, bench = blend_bench.fitted(bench)
        missing = tuple(name for name in dict.fromkeys((*names, *poured)) if name not in bench.pigments)
        if mixture is not None and not missing:
            return Taught(mixture, bench, names, _in_order(bench, held), _in_order(bench, poured))
    raise UntoldError(_not_taught(missing))


def _not_taught(names: tuple[str, ...]) -> str:
    return f"your samples cannot predict {words.listed(names)}; {LADDER}"


def _cements(found: Poured, placed: AsPlaced) -> Iterator[str | None]:
    """Whose samples may teach: the new cement's own, the old one's, those that say none."""
    assert found.entry.sample is not None
    kinds = (found.entry.sample.cement, *(mix.cement_kind for mix in placed.mixes))
    yield from dict.fromkeys(kind for kind in kinds if kind)
    yield None


def _names(samples: Samples, placed: AsPlaced) -> tuple[str, ...]:
    """What the samples call the plan's pigments."""
    names = [blend_samples.label(samples, p.name, p.maker) for p in placed.pigments]
    known = tuple(name for name in names if name is not None)
    if len(set(known)) < len(names):
        raise UntoldError(_not_taught(tuple(p.name for p in placed.pigments)))
    return known


def _poured(samples: Samples, found: Poured) -> Mapping[str, float]:
    """The doses of the sample itself, percent of cementitious."""
    assert found.entry.sample is not None
    doses = found.entry.sample.doses
    if not doses:
        raise UntoldError("its own dose was not logged")
    named = {blend_samples.label(samples, p.name, p.maker): percent for p, percent in doses}
    if None in named or len(named) < len(doses):
        raise UntoldError(_not_taught(tuple(p.name for p, _ in doses)))
    return {name: percent for name, percent in named.items() if name is not None}


def _maxima(names: tuple[str, ...], placed: AsPlaced) -> dict[str, float]:
    """The pigments' own maxima, percent of cement."""
    return {
        name: p.max_percent_of_cement
        for name, p in zip(names, placed.pigments, strict=True)
        if p.max_percent_of_cement is not None
    }


def _in_order(bench: Bench, doses: Mapping[str, float]) -> list[float]:
    return [doses.get(name, 0.0) for name in bench.pigments]


# --- in words -----------------------------------------------------------------------------------------


def differences(found: DoseBySample | None, system: str = "us") -> Iterator[Difference]:
    """What the sample says of the dose, old and new."""
    if found is None:
        return
    weight: Literal["act", "know"] = "act" if found.state in ("changed", "no nearer") else "know"
    yield Difference("dose_sample", "Sample", said(found, system), weight)


def said(found: DoseBySample, system: str = "us") -> str:
    """`dose by sample 12: 4.3 lb/yd³ (was 4.1)`, or why it is kept."""
    name = f"sample {found.sample}"
    old = write("dose_lb_per_yd3", found.old_dose_lb_per_yd3, system)
    if found.state == "agrees":
        return f"{name} agrees: {old} kept"
    if found.state == "not told":
        return f"{old} kept; {name} suggests no other: {found.why}"
    if found.state == "no nearer":
        return f"{name} differs, and no other dose gets closer: {old} kept; {LADDER}"
    text = f"dose by {name}: {was(found.old_dose_lb_per_yd3, found.dose_lb_per_yd3, system)}"
    if len(found.parts) > 1:
        parts = (f"{p.name} {was(p.old_dose_lb_per_yd3, p.dose_lb_per_yd3, system)}" for p in found.parts)
        text += f" – {words.listed(parts)}"
    if (found.left_de00 or 0.0) > blend.OUT_OF_REACH:
        text += f"; ΔE00 {found.left_de00:.1f} remains: {LADDER}"
    return text


def was(old: Fraction, new: Fraction, system: str) -> str:
    """`4.3 lb/yd³ (was 4.1)`."""
    said, before = (write("dose_lb_per_yd3", value, system) for value in (new, old))
    unit = said.partition(" ")[2]
    return f"{said} (was {before.removesuffix(unit).strip()})"
