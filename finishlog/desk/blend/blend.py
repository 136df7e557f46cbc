"""The dose for a wanted color from the shop's own samples; the ladder, and the dose after reading it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

from finishlog.desk.blend import bench as blend_bench
from finishlog.desk.blend import ladder as blend_ladder
from finishlog.desk.blend import samples as blend_samples
from finishlog.desk.blend import words
from finishlog.desk.blend.answers import BlendAnswer, Found, Rung
from finishlog.desk.blend.bench import Bench, BlendRequest
from finishlog.desk.blend.samples import Samples
from finishlog.desk.services import Services
from finishlog.errors import InputError
from finishlog.records.color import SampleRow
from finishlog.records.quantities.cautions import Caution
from finishlog.records.shop import Shop
from finishlog.trade import sources
from finishlog.units import exact, plain

if TYPE_CHECKING:
    from finishlog.color.pigment.mixing import Mixture

__all__ = ["BlendAnswer", "BlendRequest", "Rung", "answer"]

CANNOT_TELL = "cannot tell"
STEP = 100
"""Doses are rounded to a hundredth of a percent: about an ounce per yard."""


def answer(services: Services, request: BlendRequest) -> BlendAnswer:
    """The blend for a wanted color. Raises InputError for unusable input, LimitError for more than 10 %."""
    shop = services.shop()
    samples = blend_samples.of_cement(request.samples or blend_samples.of_log(services), request.cement)
    if not samples.rows:
        raise _nothing(samples)
    mixture, bench = blend_bench.fitted(blend_bench.lay_out(request, samples, shop))
    if mixture is None:
        return _answer(request, samples, bench, shop)
    return _blended(request, samples, bench, shop, mixture)


def _blended(
    request: BlendRequest, samples: Samples, bench: Bench, shop: Shop, mixture: Mixture
) -> BlendAnswer:
    from finishlog.color.pigment import blend

    read, mixture = _with_ladder(request, bench, mixture)
    best = blend.solve(mixture, request.target, bench.maxima, bench.limit, bench.usable)
    doses = said(best.doses, blend_bench.level(bench, best.doses))
    limit = blend_bench.level(bench, doses)
    found = blend.at(mixture, doses, request.target)
    rungs = blend.ladder(mixture, doses, limit) if any(doses) else ()
    return _answer(
        request,
        samples,
        bench,
        shop,
        verdict=found.verdict,
        advice=words.advice(found, bool(read)),
        found=Found(
            doses=_named(bench, doses),
            lb_per_yd3=_named(bench, [d * float(bench.content_lb_per_yd3) / 100 for d in doses]),
            lab=found.lab,
            lab_sd=found.lab_sd,
            de00=found.de00,
            radius90_de00=found.radius90_de00,
            limit_percent=limit,
            levels_off_percent=mixture.saturation,
        ),
        ladder=tuple(Rung(rung.factor, _named(bench, rung.doses), rung.lab) for rung in rungs),
        ladder_read=len(read),
        ladder_samples=tuple(row.name for row in read),
        cautions=words.cautions(samples, bench.rows, bench.pigments, found, read),
    )


def _answer(
    request: BlendRequest, samples: Samples, bench: Bench, shop: Shop, **found: object
) -> BlendAnswer:
    """The answer; with nothing `found`, that the samples do not tell."""
    none: dict[str, object] = {
        "verdict": CANNOT_TELL,
        "advice": words.NOT_TOLD,
        "found": None,
        "ladder": (),
        "ladder_read": 0,
        "ladder_samples": (),
        "cautions": (Caution("blend", words.STEADY),),
    }
    off = f"levels off around {plain(shop.pigment_full_percent)} % to start: from memory, no source"
    return BlendAnswer(
        target=request.target,
        unknown=bench.unknown,
        samples=len(samples.rows),
        cement=request.cement or next(iter(samples.cements), None),
        content_lb_per_yd3=bench.content_lb_per_yd3,
        content_assumed=request.cementitious_lb_per_yd3 is None,
        sources=(sources.PIGMENT_LIMIT, sources.MIXING, off),
        **(none | found),  # type: ignore[arg-type]
    )


def _with_ladder(
    request: BlendRequest, bench: Bench, mixture: Mixture
) -> tuple[tuple[SampleRow, ...], Mixture]:
    """The ladder that was read, from its sheet or among the log's samples, and the mixture moved by it."""
    from finishlog.color.pigment import blend

    if told := _ladder_rows(request, bench):
        return told, _after_ladder(bench, told)
    logged = blend_ladder.among(bench.rows, request.target) if request.samples is None else ()
    if not logged:
        return (), mixture
    doses, (labs, _) = blend_bench.table(logged, bench.pigments), blend_bench.readings(logged)
    return logged, blend.settled(mixture, doses, labs)


def _ladder_rows(request: BlendRequest, bench: Bench) -> tuple[SampleRow, ...]:
    """The ladder's samples in the bench's pigments. Raises InputError where it holds others."""
    if request.ladder is None:
        return ()
    cement = request.cement
    rows = blend_samples.of_cement(request.ladder, cement).rows if cement else request.ladder.rows
    strange = {
        name for row in rows for name, dose in row.doses.items() if dose and name not in bench.pigments
    }
    if strange:
        title = f"The ladder holds “{min(strange)[:40]}”, which is in none of the samples."
        raise InputError(title, where="--ladder-readings", example="a sheet with the pigments of the samples")
    if not rows:
        raise InputError(
            "The ladder has no reading yet.", where="--ladder-readings", example="58.2, 9.1, 17.4"
        )
    return rows


def _after_ladder(bench: Bench, ladder: Sequence[SampleRow]) -> Mixture:
    """The mixture refitted with the ladder, and moved by what it still misses it by."""
    from finishlog.color.pigment import blend, mixing

    rows = (*bench.rows, *ladder)
    again = mixing.fit(blend_bench.table(rows, bench.pigments), *blend_bench.readings(rows), bench.saturation)
    return blend.settled(again, blend_bench.table(ladder, bench.pigments), blend_bench.readings(ladder)[0])


def said(doses: Sequence[float], limit: float) -> list[float]:
    """Doses to a hundredth of a percent; rounded down where that would break the limit."""
    near = [round(percent * STEP) / STEP for percent in doses]
    if sum(map(exact, near)) <= exact(round(limit, 9)):
        return near
    return [math.floor(percent * STEP + 1e-9) / STEP for percent in doses]


def _named(bench: Bench, values: Sequence[float]) -> dict[str, float]:
    """By pigment, those that may be used."""
    return {
        name: value
        for name, value, usable in zip(bench.pigments, values, bench.usable, strict=True)
        if usable
    }


def _nothing(samples: Samples) -> InputError:
    if samples.unread:
        title = "No sample has been read yet."
        return InputError(title, words.STEADY, where="--samples", example="58.2, 9.1, 17.4 under L, a, b")
    cause = "A blend needs samples with doses and readings: log them, or name a sheet."
    return InputError(
        "No samples.",
        cause,
        where="--samples",
        example="--template samples.csv --pigments Rust,Straw",
    )
