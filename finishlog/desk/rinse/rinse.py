"""Rinse day: release left, its final look, and whether to rinse more."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from statistics import fmean
from typing import TYPE_CHECKING

from finishlog.desk.placed import placed as placing
from finishlog.desk.placed.named import area_of
from finishlog.desk.rinse import colors as rinse_colors
from finishlog.desk.rinse import words
from finishlog.desk.rinse.answers import RinseAnswer, RinseRung
from finishlog.desk.rinse.as_json import rinse_json
from finishlog.desk.rinse.colors import Colors
from finishlog.desk.services import Services
from finishlog.errors import InputError, naming
from finishlog.inputs.rinse import read_spot
from finishlog.records.color import Lab
from finishlog.records.log import Job
from finishlog.records.placed import AsPlaced
from finishlog.records.when import zone_of
from finishlog.records.writing import NewAdvice
from finishlog.retrying import anew
from finishlog.trade import sources
from finishlog.trade.cautions import cautions

if TYPE_CHECKING:
    from finishlog.color.release.rinse import Known, Left, Patch, Settled
    from finishlog.desk.photo.measured import Measured

__all__ = ["RinseAnswer", "RinseRung", "Spots", "answer"]

METHOD = "rinse-1"
RUNGS = (0.50, 0.25, 0.15)
"""The ladder's fixed rungs; between them stand what is here now and what the reference kept."""
APART = 0.02
"""Fixed rungs nearer than this to one that stands for something are left out."""
SAME = 0.0005
"""Shares nearer than this are one rung."""
SPOTS = ("field", "rinsed", "unrinsed")
MATCHED = "the job it matches"
_REPEATS = 4
"""How many repeats the usual scatter of a patch counts as."""


@dataclass(frozen=True, slots=True)
class Spots:
    """The three spots of one frame, L*a*b* each, every spot as often as it was read; empty: not in the frame.

    `sd` is of one reading within the frame, None where nothing tells it. Patches on the kept sample or a hidden edge.
    """

    field: tuple[Lab, ...]
    rinsed: tuple[Lab, ...] = ()
    unrinsed: tuple[Lab, ...] = ()
    dried: bool = False
    sd: Lab | None = None


def answer(
    services: Services,
    handle: str,
    spots: Spots | None = None,
    *,
    area: str | None = None,
    target: float | None = None,
) -> RinseAnswer:
    """What the frame tells of a job's area; without `spots`, what the crew's habit alone tells.

    `target` is the share wanted, 0 to 1; None: what the job that it matches kept, else what its recipe plans.
    Raises InputError for a job or an area that is not there.
    """
    from finishlog.color.release import rinse

    job, placed, reference, colors, final_day = _looked_up(services, handle, area)
    patches = _patches(spots, colors) if spots else None
    left = (
        rinse.estimate(*patches, colors.habit)
        if patches
        else rinse.from_habit(colors.habit, spots is not None)
    )
    wanted, wanted_from = _target(target, placed, reference)
    chance = None if wanted is None else left.chance_above(wanted)
    more = (
        chance is not None and chance > rinse.SURE and left.verdict != "cannot tell" and patches is not None
    )
    kept = reference.release_left_percent if reference else None
    return RinseAnswer(
        job=job.handle,
        area=placed.area.name,
        left=left,
        habit=colors.habit,
        target=wanted,
        target_from=wanted_from,
        target_measured=wanted_from == MATCHED and reference is not None and reference.release_left_measured,
        chance_above=chance,
        rinse_more=more,
        advice=words.advice(left, wanted, chance, more, dried=spots is not None and spots.dried),
        final_day=final_day,
        settled=_settled(left, colors),
        contrast_now_de00=_contrast(patches),
        contrast_dried_de00=(apart := _contrast_dried(spots, patches, colors)),
        drying=colors.drying,
        ladder=tuple(_ladder(left, None if kept is None else kept / 100, wanted, patches, colors)),
        notes=(
            *_frame_notes(spots, patches),
            *words.drying(colors.drying, apart),
            *colors.notes,
            words.habit(colors.habit),
        ),
        cautions=(*words.cautions(spots is not None and spots.dried, patches), *cautions("rinse")),
        sources=(sources.RINSE, sources.PRACTICE),
        meanwhile=words.meanwhile(left, spots is not None and spots.dried, patches),
    )


def of_photo(measured: Measured, *, dried: bool) -> Spots:
    """The spots of a photo whose boxes were read. Raises InputError where it does not show the field.

    A patch is as sure as the usual one, or less where its box says so.
    """
    if not (field := _labs(measured, "field")):
        raise InputError("No box shows the field.", where="--box", example="--box field=400,300,200,150")
    own = [spot.own_sd for spot in measured.spots if spot.shows in ("field", "rinsed", "unrinsed")]
    L, a, b = (max(usual, *axis) for usual, axis in zip(_usual(dried), zip(*own, strict=True), strict=True))
    return Spots(field, _labs(measured, "rinsed"), _labs(measured, "unrinsed"), dried, (L, a, b))


def of_texts(texts: Mapping[str, str]) -> Spots | None:
    """The spots as typed: field, rinsed, unrinsed (colors with ; between), dried (yes, no); None where all are blank.

    Raises InputError at the field.
    """
    field, rinsed, unrinsed = (_typed(texts, name) for name in SPOTS)
    if field:
        return Spots(field, rinsed, unrinsed, texts.get("dried", "").strip().casefold() in ("y", "yes"))
    if rinsed or unrinsed:
        raise InputError("The field's own color is missing.", where="field", example="49.5,4.8,12.2")
    return None


def _typed(texts: Mapping[str, str], name: str) -> tuple[Lab, ...]:
    with naming(name):
        return tuple(read_spot(part) for part in texts.get(name, "").split(";") if part.strip())


def _labs(measured: Measured, shows: str) -> tuple[Lab, ...]:
    return tuple(spot.lab for spot in measured.spots if spot.shows == shows)


@anew
def keep(services: Services, found: RinseAnswer, spots: Spots | None) -> None:
    """Keep the advice with its job, as it was given."""
    from finishlog.desk.plain_data import data

    inputs = json.dumps(data({"area": found.area, "spots": spots, "target": found.target}), sort_keys=True)
    with services.log().writing() as log:
        log.add_advice(
            found.job, NewAdvice("rinse", METHOD, inputs, json.dumps(rinse_json(found), sort_keys=True))
        )


def _looked_up(
    services: Services, handle: str, area: str | None
) -> tuple[Job, AsPlaced, AsPlaced | None, Colors, int]:
    from finishlog.desk.color import learned

    with services.log().reading() as log:
        job, shop = log.job(log.resolve(handle)), log.shop()
        other = log.job(job.reference) if job.reference else None
        habit = rinse_colors.habit(log, job.handle, shop)
    placed = _placed(job, area)
    reference = _counterpart(other, placed, shop.first_comparable_day)
    release, release_note = rinse_colors.release_color(job, placed, reference)
    now, settled, base_note = rinse_colors.base_colors(services, job, placed)
    drying = learned.drying(services, float(shop.final_color_day))
    colors = Colors(now, settled, release, habit, drying, (base_note, release_note))
    return job, placed, reference, colors, shop.final_color_day


def _placed(job: Job, area: str | None) -> AsPlaced:
    areas = placing.areas(job, zone_of(job))
    chosen = area_of(job, area)
    if not areas:
        raise InputError(
            f"{job.handle} has no area yet.", where="--area", example="finishlog job area JOB field"
        )
    return next((each for each in areas if chosen and each.area.uid == chosen.uid), areas[0])


def _counterpart(other: Job | None, placed: AsPlaced, settled_day: int) -> AsPlaced | None:
    """The area of the reference that this one is to match: that of its name, else the field."""
    areas = placing.areas(other, zone_of(other), settled_day=settled_day) if other else ()
    alike = (each for each in areas if each.area.name.casefold() == placed.area.name.casefold())
    return next(alike, areas[0] if areas else None)


def _target(asked: float | None, placed: AsPlaced, reference: AsPlaced | None) -> tuple[float | None, str]:
    if asked is not None:
        return asked, "asked"
    if reference and reference.release_left_percent is not None:
        return reference.release_left_percent / 100, MATCHED
    stage = placed.area.recipe.stage("rinse") if placed.area.recipe else None
    planned = stage.params.get("release_left_percent") if stage else None
    return (float(planned) / 100, "its recipe") if planned is not None else (None, "")


def _patches(spots: Spots, colors: Colors) -> tuple[Patch, Patch, Patch] | None:
    """Field, rinsed, un-rinsed; a missing patch from the library; None where nothing stands in for it."""

    scatter = _scatter(spots)
    base = _patch(spots.rinsed, scatter) or (_library(colors.base_now) if spots.dried else None)
    release = _patch(spots.unrinsed, scatter) or _library(colors.release)
    field = _patch(spots.field, scatter)
    return None if field is None or base is None or release is None else (field, base, release)


def _scatter(spots: Spots) -> Lab:
    """The sd of one reading within the frame: from repeats, else the usual one."""
    usual = spots.sd or _usual(spots.dried)
    repeats = [labs for labs in (spots.field, spots.rinsed, spots.unrinsed) if len(labs) > 1]
    freedom = sum(len(labs) - 1 for labs in repeats)
    if spots.sd or not repeats:
        return usual
    L, a, b = (
        ((sum(_squares(labs, axis) for labs in repeats) + _REPEATS * usual[axis] ** 2) / (freedom + _REPEATS))
        ** 0.5
        for axis in range(3)
    )
    return L, a, b


def _usual(dried: bool) -> Lab:
    from finishlog.color.release import rinse

    sd = rinse.DRY_SD if dried else rinse.DAMP_SD
    return sd, sd, sd


def _squares(labs: Sequence[Lab], axis: int) -> float:
    values = [lab[axis] for lab in labs]
    return sum((value - fmean(values)) ** 2 for value in values)


def _patch(labs: Sequence[Lab], sd: Lab) -> Patch | None:
    from finishlog.color.release.rinse import Patch

    if not labs:
        return None
    L, a, b = (fmean(axis) for axis in zip(*labs, strict=True))
    sL, sa, sb = (each / len(labs) ** 0.5 for each in sd)
    return Patch((L, a, b), (sL, sa, sb))


def _library(known: Known | None) -> Patch | None:
    from finishlog.color.release.rinse import Patch

    if known is None:
        return None
    L, a, b = (known.covariance[axis][axis] ** 0.5 for axis in range(3))
    return Patch(known.lab, (L, a, b), library=True)


def _frame_notes(spots: Spots | None, patches: tuple[Patch, Patch, Patch] | None) -> Iterator[str]:
    if spots is None:
        yield "No photo: this is only your habit, which says little about this slab."
    elif patches is None:
        yield "The field alone says nothing: base and release color look alike on rinse day."
    else:
        for patch, name in zip(patches[1:], ("fully rinsed", "un-rinsed"), strict=True):
            if patch.library:
                yield (
                    f"No {name} patch in the frame: a logged color stands in, so the frame's own error "
                    "does not cancel."
                )


def _contrast(patches: tuple[Patch, Patch, Patch] | None) -> float | None:
    from finishlog.color.notation.space import difference

    return difference(patches[1].lab, patches[2].lab).de00 if patches else None


def _contrast_dried(
    spots: Spots | None, patches: tuple[Patch, Patch, Patch] | None, colors: Colors
) -> float | None:
    """How far damp spots will stand apart once dried, ΔE00; the release color keeps its own."""
    from finishlog.color.notation.space import difference
    from finishlog.color.release import drying

    if spots is None or spots.dried or patches is None or patches[1].library or colors.base_settled is None:
        return None
    base = drying.dried(patches[1].lab, colors.base_settled.lab, colors.drying)
    return difference(base, patches[2].lab).de00


def _settled(left: Left, colors: Colors) -> Settled | None:
    from finishlog.color.release import rinse

    if colors.base_settled is None or colors.release is None:
        return None
    return rinse.settle(left, colors.base_settled, colors.release)


def _ladder(
    left: Left,
    reference: float | None,
    target: float | None,
    patches: tuple[Patch, Patch, Patch] | None,
    colors: Colors,
) -> Iterator[RinseRung]:
    """Rungs from most to least release left."""
    from finishlog.color.release import rinse

    marks: dict[float, list[str]] = {}
    for share, mark in ((left.mean, "here now"), (reference, "the slab to match"), (target, "wanted")):
        if share is not None and not (mark == "here now" and left.verdict == "cannot tell"):
            same = next((known for known in marks if abs(known - share) < SAME), share)
            marks.setdefault(same, []).append(mark)
    told = {words.share(known) for known in marks}
    fixed = [
        share
        for share in RUNGS
        if words.share(share) not in told and all(abs(share - known) >= APART for known in marks)
    ]
    for share in sorted({*marks, *fixed}, reverse=True):
        settled = None
        if colors.base_settled and colors.release:
            settled = rinse.settle_at(share, colors.base_settled, colors.release)
        now = rinse.mixed(share, patches[1].lab, patches[2].lab) if patches else None
        yield RinseRung(share, tuple(marks.get(share, ())), now, settled)
