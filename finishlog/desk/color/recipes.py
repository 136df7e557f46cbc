"""Which recipes are one finish, though they were written down as several: found, joined, parted.

Joined are recipes with the same base shades, release and other colors, the same cement, and doses within the shop's
tolerance (`off_dose_percent`) of one of them. What neither says counts as the same; what only one says does not. A
joining is an entry on a job of the recipe, with who and when, and is taken back like any other.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime
from fractions import Fraction
from itertools import islice
from typing import TYPE_CHECKING

from finishlog.desk.placed.placed import as_placed
from finishlog.errors import InputError
from finishlog.records.log import Area, Entry, Job
from finishlog.records.when import zone_of
from finishlog.records.writing import NewEntry
from finishlog.retrying import anew
from finishlog.trade.event_kinds import JOINED, JOINED_RECIPE, JOINED_TO
from finishlog.units import count, write_number

if TYPE_CHECKING:
    from finishlog.desk.services import Services
    from finishlog.store import Reader, Writer

_COLORING = ("color_hardener", "liquid_release", "stain", "antiquing_wash")
"""Further stages whose products color a slab."""
_TOLD_BY = ("pour", "load", "reading")
_AT_ONCE = 200
"""Jobs held at a time."""
NEWEST = 200
"""Jobs logged last that are looked at unless all are asked for: about what the shop's colors are learned from."""


@dataclass(frozen=True, slots=True)
class Finish:
    """What makes the color of a recipe: `look` must be the same, the doses (lb/yd³, by shade) near."""

    look: tuple[tuple[str, ...], ...]
    doses: tuple[Fraction | None, ...]
    said: str


@dataclass(frozen=True, slots=True)
class Family:
    """A recipe with its versions: its key, a job and area that has it, how many areas do, its finish."""

    uid: str
    job: str
    area: str
    areas: int
    finish: Finish | None


@dataclass(frozen=True, slots=True)
class Joining:
    """A standing entry that joined a recipe."""

    job: str
    entry: int
    recipe: str
    by: str | None
    on: datetime


@dataclass(frozen=True, slots=True)
class Offered:
    """Groups, the largest first, among the `newest` jobs logged last; None: among all there are."""

    groups: tuple[Group, ...]
    newest: int | None


@dataclass(frozen=True, slots=True)
class Group:
    """Recipes of one finish. `joined` are those that count as one already, by what stands for them."""

    said: str
    families: tuple[Family, ...]
    joined: tuple[Joining, ...] = ()
    parted: tuple[str, ...] = ()

    @property
    def open(self) -> tuple[Family, ...]:
        """Those that could be joined to the first; what somebody parted is not offered again."""
        done = {each.recipe for each in self.joined} | set(self.parted)
        return tuple(one for one in self.families[1:] if one.uid not in done)


def finish_of(job: Job, area: Area) -> Finish | None:
    """None where no base shade is known, or it is of bags: nothing tells such recipes apart."""
    placed = as_placed(job, area, zone_of(job))
    pigments = sorted(placed.pigments, key=lambda one: (one.name.casefold(), (one.maker or "").casefold()))
    if not pigments or placed.bag_mix is not None:
        return None
    stages = area.recipe.stages if area.recipe else ()
    others = sorted(
        f"{stage.kind} {use.product.name}"
        for stage in stages
        if stage.kind in _COLORING
        for use in stage.materials
    )
    cement = sorted({mix.cement_kind or "" for mix in placed.mixes} or {""})
    bases = [f"{one.name}, {one.maker}" if one.maker else one.name for one in pigments]
    release = [placed.release or ""]
    look = tuple(tuple(one.casefold() for one in part) for part in (bases, release, others, cement))
    doses = tuple(one.dose_lb_per_yd3 for one in pigments)
    return Finish(look, doses, _said(bases, doses, placed.release, others, cement))


def _said(
    bases: Sequence[str], doses: Sequence[Fraction | None], release: str | None, others: Sequence[str],
    cement: Sequence[str],
) -> str:  # fmt: skip
    base = " + ".join(
        f"{name} {write_number(dose)} lb/yd³" if dose is not None else f"{name}, dose unknown"
        for name, dose in zip(bases, doses, strict=True)
    )
    named = [name for name in cement if name]
    told = [
        base,
        f"release {release}" if release else "no powder release",
        *(one.replace("_", " ") for one in others),
    ]
    return "; ".join([*told, f"cement {' and '.join(named)}" if named else "cement not stated"])


def near(one: Finish, other: Finish, off_percent: Fraction) -> bool:
    """Whether two finishes are one: the same look, each dose within the tolerance of the other's."""
    return one.look == other.look and all(
        a == b if a is None or b is None else abs(a - b) * 100 <= off_percent * min(a, b)
        for a, b in zip(one.doses, other.doses, strict=True)
    )


def grouped(families: Iterable[Family], off_percent: Fraction) -> list[list[Family]]:
    """Families by finish: each is near the first of its group, the one that the most others are near to."""
    left = [one for one in families if one.finish is not None]
    looks: dict[tuple[tuple[str, ...], ...], list[Family]] = {}
    for one in left:
        assert one.finish is not None
        looks.setdefault(one.finish.look, []).append(one)
    return [group for same in looks.values() for group in _by_dose(same, off_percent)]


def _by_dose(same: Sequence[Family], off_percent: Fraction) -> Iterator[list[Family]]:
    rest = list(same)
    while rest:
        groups = [[other for other in rest if _near(one, other, off_percent)] for one in _told_apart(rest)]
        most = max(groups, key=len)
        yield most
        rest = [one for one in rest if one not in most]


def _told_apart(rest: Sequence[Family]) -> list[Family]:
    """One of each dose: as many tries as there are doses, not recipes."""
    return list({one.finish.doses: one for one in reversed(rest) if one.finish}.values())


def _near(one: Family, other: Family, off_percent: Fraction) -> bool:
    return one.finish is not None and other.finish is not None and near(one.finish, other.finish, off_percent)


# --- in a log -----------------------------------------------------------------------------------------


def groups(services: Services, newest: int | None = NEWEST) -> Offered:
    """The finishes that are written down as several recipes, of the jobs logged last that were poured or read."""
    with services.log().reading() as log:
        return _offered(log, newest)


def _offered(log: Reader, newest: int | None) -> Offered:
    if newest is None:
        return Offered(of_jobs(log, log.jobs_with(*_TOLD_BY)), None)
    jobs = list(log.jobs_with(*_TOLD_BY, newest=newest))
    return Offered(of_jobs(log, jobs), newest if len(jobs) == newest else None)


@dataclass(slots=True)
class _Seen:
    """What the jobs tell: families by uid, joinings that stand, recipes whose joining was taken back."""

    families: dict[str, Family] = field(default_factory=dict)
    standing: list[Joining] = field(default_factory=list)
    parted: set[str] = field(default_factory=set)


def of_jobs(log: Reader, jobs: Iterable[Job]) -> tuple[Group, ...]:
    """Groups of two recipes or more among these jobs, which may be many: none is held."""
    told, seen, rest = log.joined(), _Seen(), iter(jobs)
    while some := list(islice(rest, _AT_ONCE)):
        roots = log.families(*(job.handle for job in some))
        for job in some:
            _look(job, roots, seen)
    found = [_group(same, told, seen) for same in grouped(seen.families.values(), log.shop().off_dose_percent)
             if len(same) > 1]  # fmt: skip
    return tuple(sorted(found, key=lambda group: -len(group.families)))


def _look(job: Job, roots: Mapping[str, str], seen: _Seen) -> None:
    for area in job.areas:
        uid = roots.get(area.uid)
        if uid is not None and (known := seen.families.get(uid)) is not None:
            seen.families[uid] = replace(known, areas=known.areas + 1)
        elif uid is not None:
            seen.families[uid] = Family(uid, job.handle, area.name, 1, finish_of(job, area))
    standing = job.of_kind(JOINED)
    numbers = {entry.number for entry in standing}
    seen.standing += [
        Joining(job.handle, entry.number, str(entry.facts.get(JOINED_RECIPE)), entry.person, entry.logged)
        for entry in standing
    ]
    seen.parted |= {
        str(entry.facts.get(JOINED_RECIPE))
        for entry in job.history
        if entry.kind == JOINED and not entry.withdrawn and entry.number not in numbers
    }


def _group(some: Sequence[Family], told: Mapping[str, str], seen: _Seen) -> Group:
    """Its first is what the others count as already; else the first that was met."""
    stands_for = [told.get(one.uid, one.uid) for one in some if one.uid in told]
    first = sorted(some, key=lambda one: one.uid not in stands_for)
    mine = {one.uid for one in some}
    standing = tuple(one for one in seen.standing if one.recipe in mine)
    parted = (seen.parted & mine) - {one.recipe for one in standing}
    assert first[0].finish is not None
    return Group(first[0].finish.said, tuple(first), standing, tuple(sorted(parted)))


@anew
def join(
    services: Services, wanted: Collection[int] = (), by: str | None = None, newest: int | None = NEWEST
) -> tuple[Group, ...]:
    """Join what is open in these of the groups offered (by their place from 1; none: in all). Those joined.

    Raises InputError for a place that is none.
    """
    with services.log().writing() as log:
        found = _offered(log, newest).groups
        for place in wanted:
            if not 1 <= place <= len(found):
                raise InputError(f"There is no group {place}.", f"{count(len(found), 'group')} in all.", where="--join",
                                 example="finishlog recipes")  # fmt: skip
        some = [
            group for place, group in enumerate(found, 1) if (not wanted or place in wanted) and group.open
        ]
        for group in some:
            write_joins(log, group, by, services.now())
    return tuple(some)


def write_joins(log: Writer, group: Group, by: str | None, now: datetime) -> list[tuple[str, Entry]]:
    """An entry for each recipe that joins the first of its group, by job."""
    first = group.families[0]
    note = f"One recipe with that of {first.job}, {first.area}: {group.said}."
    return [
        (one.job, log.add_entry(one.job, NewEntry(
            JOINED, now, area=one.area, person=by, note=note, facts={JOINED_RECIPE: one.uid, JOINED_TO: first.uid},
        )))
        for one in group.open
    ]  # fmt: skip


@anew
def join_group(services: Services, group: Group, by: str | None = None) -> int:
    """Join what is open in a group as it was shown; how many recipes."""
    with services.log().writing() as log:
        return len(write_joins(log, group, by, services.now()))


@anew
def part_group(services: Services, group: Group, by: str | None = None) -> int:
    """Take back all that joined a group; how many recipes stand alone again."""
    with services.log().writing() as log:
        for one in group.joined:
            log.undo(one.job, one.entry, person=by)
    return len(group.joined)


@anew
def part(services: Services, handle: str, by: str | None = None) -> int:
    """Take back what joined a job's recipes to others, or others to them; how many recipes.

    Raises InputError where none was joined.
    """
    with services.log().writing() as log:
        named = log.resolve(handle)
        own = set(log.families(named).values())
        taken = [
            (job.handle, entry.number)
            for job in list(log.jobs_with(JOINED))
            for entry in job.of_kind(JOINED)
            if own & {entry.facts.get(JOINED_RECIPE), entry.facts.get(JOINED_TO)}
        ]
        for job_handle, number in taken:
            log.undo(job_handle, number, person=by)
    if not taken:
        raise InputError(f"No recipe of {named} was joined to another.", where="--part",
                         example="finishlog recipes shows those that were")  # fmt: skip
    return len(taken)


def sentence(group: Group) -> str:
    """`12 recipes of 14 slabs: Old Toast 6 lb/yd³; release Otter Back; cement gray.`"""
    slabs = sum(one.areas for one in group.families)
    return f"{count(len(group.families), 'recipe')} of {count(slabs, 'slab')}: {group.said}."
