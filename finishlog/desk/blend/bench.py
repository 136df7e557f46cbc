"""Input of a blend: identifiable pigments, samples of only those, limits."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from fractions import Fraction
from typing import TYPE_CHECKING

from finishlog.desk.blend import samples as blend_samples
from finishlog.desk.blend import words
from finishlog.desk.blend.answers import Unknown
from finishlog.desk.blend.samples import Samples
from finishlog.errors import InputError, LimitError
from finishlog.records.color import Lab, SampleRow
from finishlog.records.shop import Shop
from finishlog.trade import dose
from finishlog.units import plain

if TYPE_CHECKING:
    from finishlog.color.pigment.blend import Unclear
    from finishlog.color.pigment.mixing import Mixture


@dataclass(frozen=True, slots=True)
class BlendRequest:
    """What is wanted. `maximum_percent` (of all together) and `maxima` (by pigment) in percent of cement.

    `samples` and `ladder` are sheets; without, the log's samples count. Contents in lb/yd³, None the shop's usual.
    """

    target: Lab
    cement: str | None = None
    pigments: tuple[str, ...] = ()
    samples: Samples | None = None
    ladder: Samples | None = None
    maximum_percent: float | None = None
    maxima: Mapping[str, float] = field(default_factory=dict)
    cementitious_lb_per_yd3: Fraction | None = None
    scm_lb_per_yd3: Fraction = Fraction(0)


@dataclass(frozen=True, slots=True)
class Bench:
    """Pigments and samples that can be used together; maxima and limit in percent of cementitious."""

    pigments: tuple[str, ...]
    rows: tuple[SampleRow, ...]
    unknown: tuple[Unknown, ...]
    usable: tuple[bool, ...]
    maxima: tuple[float, ...]
    limit: float
    content_lb_per_yd3: Fraction
    saturation: float


def lay_out(request: BlendRequest, samples: Samples, shop: Shop) -> Bench:
    """Samples without the pigments they cannot identify. Raises InputError, LimitError."""
    chosen = blend_samples.of_pigments(samples, request.pigments) if request.pigments else samples.pigments
    bench = Bench(
        samples.pigments,
        samples.rows,
        (),
        tuple(name in chosen for name in samples.pigments),
        _maxima(request, samples),
        _limit(request),
        request.cementitious_lb_per_yd3 or shop.cementitious_lb_per_yd3,
        float(shop.pigment_full_percent),
    )
    return _told(_of_cementitious(bench, request.scm_lb_per_yd3))


def fitted(bench: Bench) -> tuple[Mixture | None, Bench]:
    """The mixture, and the bench without pigments that its samples hardly show; no mixture where none is left."""
    from finishlog.color.pigment import blend, mixing

    while any(bench.usable):
        doses = table(bench.rows, bench.pigments)
        lab, sd = readings(bench.rows)
        mixture = mixing.fit(doses, lab, sd, bench.saturation)
        faint = blend.hardly_shown(mixture, doses, sd)
        if not faint:
            return mixture, bench
        bench = _told(_without(bench, faint))
    return None, bench


def table(rows: Sequence[SampleRow], pigments: Sequence[str]) -> list[list[float]]:
    """Doses, percent, samples by pigments."""
    return [[row.doses.get(name, 0.0) for name in pigments] for row in rows]


def readings(rows: Sequence[SampleRow]) -> tuple[list[Lab], list[Lab]]:
    """L*a*b* and its sd, sample by sample."""
    return [row.lab for row in rows], [row.sd for row in rows]


def level(bench: Bench, doses: Sequence[float]) -> float:
    """The most of all together, percent of cementitious, of a blend that holds these pigments."""
    return min([bench.limit, *(m for m, percent in zip(bench.maxima, doses, strict=True) if percent > 0)])


def _told(bench: Bench) -> Bench:
    """The bench without unidentifiable pigments, repeated until none is left."""
    from finishlog.color.pigment import blend

    while bench.pigments and (
        unclear := blend.unidentified(table(bench.rows, bench.pigments), bench.saturation)
    ):
        bench = _without(bench, unclear)
    return bench


def _without(bench: Bench, unclear: Sequence[Unclear]) -> Bench:
    """The bench without these pigments and without the samples that hold one of them."""
    out = {i for each in unclear for i in each.pigments}
    kept = [i for i in range(len(bench.pigments)) if i not in out]
    names = {bench.pigments[i] for i in out}
    unknown = [
        Unknown(tuple(bench.pigments[i] for i in each.pigments), words.why(each, bench.pigments))
        for each in unclear
        if any(bench.usable[i] for i in each.pigments)
    ]
    return replace(
        bench,
        pigments=tuple(bench.pigments[i] for i in kept),
        rows=tuple(row for row in bench.rows if not any(row.doses.get(name) for name in names)),
        unknown=(*bench.unknown, *unknown),
        usable=tuple(bench.usable[i] for i in kept),
        maxima=tuple(bench.maxima[i] for i in kept),
    )


def _limit(request: BlendRequest) -> float:
    """The most of all together, percent of cement."""
    asked = request.maximum_percent
    if asked is not None and asked > dose.LIMIT_PERCENT:
        title = f"The limit is {plain(dose.LIMIT_PERCENT)} % of cement (ASTM C979/C979M §1.4)."
        raise LimitError(title, where="--max-percent", example="--max-percent 8")
    return float(dose.LIMIT_PERCENT) if asked is None else asked


def _maxima(request: BlendRequest, samples: Samples) -> tuple[float, ...]:
    """Each pigment's own maximum, percent of cement: the request's and the maker's, whichever is less."""
    names = blend_samples.of_pigments(samples, tuple(request.maxima), where="--max-percent", example="Rust=6")
    asked = dict(zip(names, request.maxima.values(), strict=True))
    most = float(dose.LIMIT_PERCENT)
    return tuple(min(asked.get(n, most), samples.maxima.get(n, most)) for n in samples.pigments)


def _of_cementitious(bench: Bench, scm: Fraction) -> Bench:
    """The limits, said of cement, as percent of all cementitious."""
    if scm >= bench.content_lb_per_yd3:
        title = "Other cementitious leaves no cement."
        raise InputError(title, where="--scm", example="--cementitious 564 --scm 84")
    share = float(1 - scm / bench.content_lb_per_yd3)
    return replace(bench, maxima=tuple(m * share for m in bench.maxima), limit=bench.limit * share)
