"""A finish as placed, and the reading that represents it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime
from fractions import Fraction
from typing import Literal

from finishlog.records.log import Area, Entry, Fact, Job, Mix, Reading


@dataclass(frozen=True, slots=True)
class PlacedPigment:
    """One pigment of the base color: dose averaged over the loads that report it, weighted by yards.

    The dose is of the product as weighed; of a liquid, `solids_percent` (by weight) of it is pigment. None: a
    powder, or nobody knows, and all of it counts as pigment.
    """

    name: str
    maker: str | None
    lots: tuple[str, ...]
    dose_lb_per_yd3: Fraction | None
    max_percent_of_cement: float | None = None
    pack_lb: float | None = None
    solids_percent: float | None = None


@dataclass(frozen=True, slots=True)
class OffLoad:
    """A load whose pigment was over 5 % off the others."""

    load: int
    ticket: str | None
    off_percent: Fraction


@dataclass(frozen=True, slots=True)
class PlacedCoat:
    """A coat of sealer as it was put on."""

    number: int | None
    on: date
    product: str | None
    maker: str | None
    chemistry: str | None
    reseal: bool
    age_days: int | None
    ft2_per_gal: float | None = None
    solids_percent: float | None = None
    gal: float | None = None  # this area's share


@dataclass(frozen=True, slots=True)
class BagPigment:
    """A pigment mixed into bags: pounds in all and to the bag, None where not weighed or not counted."""

    name: str
    maker: str | None
    lots: tuple[str, ...]
    lb: Fraction | None
    lb_per_bag: Fraction | None


@dataclass(frozen=True, slots=True)
class BagMix:
    """An overlay or repair: dosed per bag, as bags state neither yards nor cement content."""

    bags: Fraction | None
    product: str | None
    maker: str | None
    lots: tuple[str, ...]
    water_per_bag_gal: float | None
    pigments: tuple[BagPigment, ...]


@dataclass(frozen=True, slots=True)
class AsPlaced:
    """What went into one area and what was done to it, computed from entries, never stored."""

    area: Area
    poured_on: date | None
    poured_end: datetime | None  # None too where only the day is known
    pigments: tuple[PlacedPigment, ...]
    dose_from: Literal["loads", "recipe"] | None
    dose_lb_per_yd3: Fraction | None  # all pigments together
    dose_low: Fraction | None
    dose_high: Fraction | None
    off_loads: tuple[OffLoad, ...]
    over_limit: bool  # the pour or a load of it, over the limit of its cement: kept and flagged
    mixes: tuple[Mix, ...]
    loads: int
    balance_loads: int
    delivered_yd3: float | None
    placed_yd3: float | None
    slump_in: tuple[float, ...]
    release: str | None
    release_maker: str | None
    release_lots: tuple[str, ...]
    release_lb: float | None
    release_lb_per_100_ft2: float | None
    release_reclaimed: bool
    pattern: str | None
    stamp: Mapping[str, Fact]
    rinse: Mapping[str, Fact]
    rinsed_at: datetime | None
    rinse_age_h: float | None
    release_left_percent: float | None
    coats: tuple[PlacedCoat, ...]
    base_reading: Reading | None
    release_reading: Reading | None
    base_read_on: date | None
    missing: tuple[str, ...]
    bag_mix: BagMix | None = None
    release_left_measured: bool = False  # on the settled slab; else judged by eye at the rinse
    shared: tuple[str, ...] = ()  # what was logged for several areas and split by size, in words

    @property
    def mix(self) -> Mix | None:
        """The mix, if one and only one was used."""
        return self.mixes[0] if len(self.mixes) == 1 else None


def of_slab(job: Job, spot: str, area: str | None = None) -> tuple[tuple[Entry, Reading], ...]:
    """The readings of a spot of an area (its uid; None: of all), in order; a test slab poured apart is another."""
    apart = job.samples_apart()
    found = ((entry, entry.reading) for entry in job.of_kind("reading", area=area))
    return tuple((e, read) for e, read in found if read and read.spot == spot and read.sample not in apart)


def dry_bare(job: Job, spot: str, area: str | None = None) -> tuple[tuple[Entry, Reading], ...]:
    """The dry, bare ones: water or sealer changes a slab's color."""
    return tuple((e, read) for e, read in of_slab(job, spot, area) if not read.damp and not read.sealed)


def stands(job: Job, spot: str, area: str | None = None) -> Entry | None:
    """The newest reading of the spot, preferring a dry, bare one."""
    found = dry_bare(job, spot, area) or of_slab(job, spot, area)
    return found[-1][0] if found else None
