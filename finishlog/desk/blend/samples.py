"""Sources of a blend's samples: a sheet, or the log's samples with their readings."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import timedelta

from finishlog.color.priors import figures
from finishlog.desk.services import Services
from finishlog.desk.words import listed
from finishlog.errors import InputError
from finishlog.records.answers import LearningRow
from finishlog.records.color import PHOTO_SD, Lab, SampleRow
from finishlog.records.log import Reading, Sample

CAMERA_SHARE = figures.CAMERA.value


@dataclass(frozen=True, slots=True)
class Samples:
    """The samples of one cement. `maxima` are the pigments' own limits in percent of cement, where they have one."""

    pigments: tuple[str, ...]
    rows: tuple[SampleRow, ...]
    maxima: Mapping[str, float] = field(default_factory=dict)
    unread: int = 0
    young: tuple[str, ...] = ()  # samples that were still lightening when last read
    makers: Mapping[str, str | None] = field(default_factory=dict)  # by pigment, of the log's samples

    @property
    def cements(self) -> tuple[str, ...]:
        """Each cement once, in the order the samples came."""
        return tuple(dict.fromkeys(row.cement for row in self.rows if row.cement))


def of_log(services: Services) -> Samples:
    """Every test sample of the shop whose doses are logged, with what was last read of it, dry and bare.

    A sample poured apart whose cement is said and that holds no pigment is the plain one; any other without
    doses is one whose doses nobody logged, and is left out.
    """
    if not services.has_log():
        return Samples((), ())
    with services.log().reading() as log:
        rows = log.sample_rows()
        enough = log.shop().first_comparable_day
        jobs = [log.job(handle) for handle in dict.fromkeys(row.job for row in rows)]
    samples = {e.sample.number: e.sample for job in jobs for e in job.of_kind("sample") if e.sample}
    held = {n: s for n, s in samples.items() if s.doses or (s.load is None and s.cement)}
    read = {n: last for n, of in _by_sample(rows).items() if n in held and (last := _last(of))}
    labels = _labels(held[n] for n in read)
    found = [_row(held[n], read[n], labels) for n in sorted(read)]
    return Samples(
        tuple(dict.fromkeys(labels[p.uid] for n in sorted(read) for p, _ in held[n].doses)),
        tuple(found),
        _maxima((held[n] for n in read), labels),
        unread=len(held) - len(read),
        young=tuple(str(n) for n in sorted(read) if (_days(read[n][-1]) or enough) < enough),
        makers={labels[p.uid]: p.maker for n in read for p, _ in held[n].doses},
    )


def of_sheet(path: str) -> Samples:
    """The samples of a sheet. Raises InputError naming the file and the line."""
    from finishlog.inputs.blend import read_file

    found = read_file(path)
    return Samples(found.pigments, found.samples, unread=found.unread)


def of_cement(samples: Samples, cement: str | None) -> Samples:
    """Those of one kind of cement; all where none is named and only one is in them. Raises InputError."""
    kinds = samples.cements
    if cement is None and len(kinds) < 2:
        return samples
    example = f'--cement "{kinds[0]}"' if kinds else ""
    if cement is None:
        cause = f"They use {listed(kinds)}; cement changes color."
        raise InputError("The samples use several cements.", cause, where="--cement", example=example)
    wanted = cement.strip().casefold()
    rows = tuple(row for row in samples.rows if (row.cement or "").casefold() == wanted)
    if not rows:
        cause = f"Samples use {listed(kinds)}." if kinds else "No sample names its cement."
        raise InputError("No sample uses this cement.", cause, where="--cement", example=example)
    pigments = tuple(name for name in samples.pigments if any(row.doses.get(name) for row in rows))
    return replace(samples, pigments=pigments, rows=rows)


def of_pigments(
    samples: Samples, names: Sequence[str], *, where: str = "--pigments", example: str = "Rust,Straw"
) -> tuple[str, ...]:
    """The samples' own spelling of these pigments. Raises InputError for one that is in none."""
    spelled = {name.casefold(): name for name in samples.pigments}
    for name in names:
        if name.casefold() not in spelled:
            has = f"They have {listed(samples.pigments)}." if samples.pigments else "They have no pigment."
            raise InputError(f"No sample has “{name[:40]}”.", has, where=where, example=f"{where} {example}")
    return tuple(spelled[name.casefold()] for name in names)


def label(samples: Samples, name: str, maker: str | None) -> str | None:
    """What the samples call a pigment of this maker; None where none holds it, or only another maker's."""
    wanted = {name.casefold(), f"{name} ({maker or 'maker unknown'})".casefold()}
    for each in samples.pigments:
        held = samples.makers.get(each)
        if each.casefold() in wanted and (not maker or not held or maker.casefold() == held.casefold()):
            return each
    return None


def _by_sample(rows: Iterable[LearningRow]) -> dict[int, list[LearningRow]]:
    """Dry, bare readings of the base by sample, oldest first as they come."""
    found: dict[int, list[LearningRow]] = defaultdict(list)
    for row in rows:
        seen = row.reading
        if seen.sample is not None and seen.spot == "base" and not (seen.damp or seen.sealed):
            found[seen.sample].append(row)
    return found


def last_read(services: Services, number: int) -> tuple[Lab, Lab] | None:
    """L*a*b* and sd of what was last read of a sample, dry and bare; None if nothing was."""
    if not services.has_log():
        return None
    with services.log().reading() as log:
        rows = _by_sample(log.sample_rows()).get(number)
    if not rows:
        return None
    return _mean([row.reading for row in _last(rows)])


def _last(rows: Sequence[LearningRow]) -> list[LearningRow]:
    """The readings of the last day on which there were any: several photos of one look."""
    return [row for row in rows if rows[-1].happened - row.happened < timedelta(days=1)]


def _labels(samples: Iterable[Sample]) -> dict[str, str]:
    """By uid what a pigment is called: its shade, with the maker where two makers have the same shade."""
    products = {product.uid: product for sample in samples for product, _ in sample.doses}
    shades = Counter(product.name.casefold() for product in products.values())
    return {
        uid: f"{p.name} ({p.maker or 'maker unknown'})" if shades[p.name.casefold()] > 1 else p.name
        for uid, p in products.items()
    }


def _row(sample: Sample, rows: Sequence[LearningRow], labels: Mapping[str, str]) -> SampleRow:
    """A sample with the mean of what was read of it."""
    seen = [row.reading for row in rows]
    lab, sd = _mean(seen)
    doses: dict[str, float] = defaultdict(float)
    for product, percent in sample.doses:
        doses[labels[product.uid]] += percent
    return SampleRow(str(sample.number), sample.cement, dict(doses), lab, sd, _photos(seen))


def _mean(seen: Sequence[Reading]) -> tuple[Lab, Lab]:
    """L*a*b* of several readings together, and their sd; photos by one camera err together."""
    n = len(seen)
    L, a, b = (sum(values) / n for values in zip(*((r.L, r.a, r.b) for r in seen), strict=True))
    sds = zip(*(_sd(reading) for reading in seen), strict=True)
    again = _again(seen)
    sd_L, sd_a, sd_b = (
        (sum(sd * sd for sd in axis) / n * (1 + share * again) / n) ** 0.5
        for axis, share in zip(sds, CAMERA_SHARE, strict=True)
    )
    return (L, a, b), (sd_L, sd_a, sd_b)


def _again(seen: Sequence[Reading]) -> float:
    """How many others by its own camera a reading has, on average: what they share does not average out."""
    cameras = Counter(read.camera for read in seen if read.camera is not None)
    return sum(count * (count - 1) for count in cameras.values()) / len(seen)


def _photos(seen: Sequence[Reading]) -> int | None:
    """How many photos were read; None where a colorimeter was."""
    return None if any("colorimeter" in read.source.casefold() for read in seen) else len(seen)


def _sd(reading: Reading) -> Lab:
    given = (reading.sd_L, reading.sd_a, reading.sd_b)
    L, a, b = (own or usual for own, usual in zip(given, PHOTO_SD, strict=True))
    return L, a, b


def _days(row: LearningRow) -> float | None:
    return None if row.poured is None else (row.happened - row.poured).total_seconds() / 86400


def _maxima(samples: Iterable[Sample], labels: Mapping[str, str]) -> dict[str, float]:
    """Each pigment's own maximum in percent of cement, where its maker gives one."""
    products = {product.uid: product for sample in samples for product, _ in sample.doses}
    return {
        labels[uid]: product.max_percent_of_cement
        for uid, product in products.items()
        if product.max_percent_of_cement is not None
    }
