"""The log's contents as frozen values. Names carry the unit; None means unknown.

Days are `date`; instants are aware `datetime` in UTC, read with the zone of the site.
Amounts are floats as they were written on the ticket or bag; arithmetic makes them exact
with `finishlog.units.exact`.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import Literal

from finishlog.records.files import Attachment

Exactness = Literal["exact", "about", "day", "month", "season"]
JobState = Literal["planned", "poured", "archived"]
AreaKind = Literal["field", "border", "band", "stairs", "wall", "repair", "overlay"]
Exposure = Literal["unknown", "sun", "part shade", "shade", "covered"]
Form = Literal["powder", "liquid"]

Fact = str | float | int | bool
"""A scalar a stage kind declares; products are never facts."""


@dataclass(frozen=True, slots=True)
class Customer:
    """Whose site it is, and how to reach them."""

    uid: str
    name: str
    phone: str | None = None
    email: str | None = None
    note: str | None = None
    leave_alone: bool = False  # wants no reminders


@dataclass(frozen=True, slots=True)
class Site:
    """Where the work is; separate from the person because houses change hands."""

    uid: str
    street: str
    town: str | None = None
    zone: str = "UTC"
    exposure: Exposure = "unknown"
    map_note: str | None = None


@dataclass(frozen=True, slots=True)
class Buried:
    """What lies under or near a slab: pipe, wire, heating."""

    uid: str
    what: str
    where: str | None = None
    depth_in: float | None = None


@dataclass(frozen=True, slots=True)
class Product:
    """A pigment, release, sealer…: `name` is the maker's shade or product name.

    A shade needs its maker: the same word differs between makers.
    """

    uid: str
    name: str
    kind: str  # pigment, powder release, sealer…
    maker: str | None = None
    form: Form = "powder"
    solids_percent: float | None = None
    max_percent_of_cement: float | None = None
    pack_lb: float | None = None
    chemistry: str | None = None
    safety: str | None = None


@dataclass(frozen=True, slots=True)
class Mix:
    """The plant's design: the concrete behind the color."""

    uid: str
    plant: str | None = None
    number: str | None = None
    cement_kind: str | None = None
    cement_mill: str | None = None
    cement_lb_per_yd3: float | None = None
    scm_kind: str | None = None
    scm_lb_per_yd3: float | None = None
    admixtures: str | None = None
    sand: str | None = None
    valid_from: date | None = None
    valid_to: date | None = None

    @property
    def cementitious_lb_per_yd3(self) -> float | None:
        """Cement and the rest of the powder together; unknown if the cement is."""
        if self.cement_lb_per_yd3 is None:
            return None
        return self.cement_lb_per_yd3 + (self.scm_lb_per_yd3 or 0.0)


@dataclass(frozen=True, slots=True)
class StageMaterial:
    """A product planned for a stage. `unit` is one of lb/yd3, lb/sack, %, kg/m3, lb/100 ft2, ft2/gal."""

    product: Product
    lot: str | None = None
    rate: float | None = None
    unit: str | None = None


@dataclass(frozen=True, slots=True)
class Stage:
    """One stage of a recipe: its kind, its facts, its materials."""

    position: int
    kind: str
    params: Mapping[str, Fact] = field(default_factory=dict)
    params_version: int = 1
    materials: tuple[StageMaterial, ...] = ()


@dataclass(frozen=True, slots=True)
class Recipe:
    """A planned finish, stage by stage; immutable once `frozen`."""

    uid: str
    name: str
    stages: tuple[Stage, ...] = ()
    from_recipe: str | None = None
    frozen: datetime | None = None
    reason: str | None = None  # why this version took the place of the one it comes from
    version: int = 1

    def stage(self, kind: str) -> Stage | None:
        """The first stage of that kind, or None."""
        return next((stage for stage in self.stages if stage.kind == kind), None)


@dataclass(frozen=True, slots=True)
class Shape:
    """One piece of a take-off: `sign` +1 adds, -1 cuts out. `dimensions` is as typed, "24x18"."""

    sign: int
    kind: str  # rect, circle, polygon, round, edge
    dimensions: str
    depth_in: float | None = None


@dataclass(frozen=True, slots=True)
class Area:
    """One surface of a job with its own finish, color and exposure."""

    uid: str
    name: str
    kind: AreaKind = "field"
    exposure: Exposure = "unknown"
    area_ft2: float | None = None
    depth_in: float | None = None
    edge_yd3: float | None = None
    recipe: Recipe | None = None
    shapes: tuple[Shape, ...] = ()


def main_first(areas: Iterable[Area]) -> tuple[Area, ...]:
    """The field first, then by size; the typed order means nothing."""
    return tuple(
        sorted(areas, key=lambda a: (a.kind != "field", -(a.area_ft2 or 0), a.name.casefold(), a.uid))
    )


@dataclass(frozen=True, slots=True)
class MaterialUse:
    """A product used in an entry. `unit` is lb, oz, gal, fl oz, kg, L."""

    product: Product
    amount: float | None = None
    unit: str = "lb"
    lot: str | None = None
    reclaimed: bool = False


@dataclass(frozen=True, slots=True)
class Load:
    """What one truck brought. `areas` maps area uid to the yards that went there (None: not split)."""

    yards: float | None = None
    returned_yd3: float | None = None
    dumped_yd3: float | None = None
    ticket: str | None = None
    mix: Mix | None = None
    water_gal: float | None = None
    water_when: str | None = None
    slump_in: float | None = None
    slump_end_in: float | None = None
    is_balance: bool = False
    areas: tuple[tuple[str, float | None], ...] = ()

    @property
    def placed_yd3(self) -> float | None:
        """Delivered less returned and dumped. Unknown if nobody recorded the leftover."""
        if self.yards is None or self.returned_yd3 is None or self.dumped_yd3 is None:
            return None
        return self.yards - self.returned_yd3 - self.dumped_yd3


@dataclass(frozen=True, slots=True)
class Coat:
    """One coat of sealer."""

    number: int | None = None
    reseal: bool = False
    area_ft2: float | None = None
    slab_f: float | None = None
    air_f: float | None = None
    humidity_percent: float | None = None


@dataclass(frozen=True, slots=True)
class Reading:
    """A measured color: CIE L*a*b*, D65, 2 degree. `spot` is base, release color or field.

    Read off a photo: its `photo` (SHA-256) and `box` ("x,y,w,h" in pixels of the upright picture). Read on
    a sample, not in the field: the `sample`'s number. `camera` took the photo; `card` is what it shows of the 24
    patches of a card in it, as the camera gave them: six hex digits of red, green and blue each, with blanks between.
    """

    L: float
    a: float
    b: float
    sd_L: float | None = None
    sd_a: float | None = None
    sd_b: float | None = None
    spot: str = "base"
    damp: bool = False
    sealed: bool = False
    source: str = "by hand"
    photo: str | None = None
    sample: int | None = None
    box: str | None = None
    camera: str | None = None
    card: str | None = None


@dataclass(frozen=True, slots=True)
class Sample:
    """A small slab to judge a color by; `number` is unique across the shop.

    `doses` are its pigments, each in percent of the cementitious mass.
    """

    number: int
    load: int | None = None  # number of the load's entry; None: poured apart
    size: str | None = None  # as typed, "2x2 ft"
    kept_where: str | None = None
    half_sealed: bool | None = None
    cement: str | None = None
    doses: tuple[tuple[Product, float], ...] = ()


@dataclass(frozen=True, slots=True)
class Approval:
    """A sample shown to the customer: who signed, and whether it was approved."""

    sample: int
    by: str
    approved: bool = True


@dataclass(frozen=True, slots=True)
class Claim:
    """A complaint, its cause and the remedy. A replacing entry settles it."""

    complaint: str
    cause: str | None = None
    action: str | None = None
    outcome: str | None = None
    settled: bool = False


@dataclass(frozen=True, slots=True)
class Owner:
    """Who the site belongs to from a day on: houses change hands."""

    customer: Customer
    since: date
    note: str | None = None


@dataclass(frozen=True, slots=True)
class Entry:
    """Something that happened. Immutable: a correction is a new entry that names the one it replaces.

    `kind` is the key of a stage kind (powder_release, stamp, rinse, seal…) or one of
    pour (the end of a pour: the zero of every age), load, finishing, weather, sweep, reading,
    photo, sample, approval, claim, change, visit, note…
    """

    number: int
    uid: str
    kind: str
    happened: datetime
    logged: datetime
    exactness: Exactness = "exact"
    area: str | None = None  # area uid; None: the whole job
    person: str | None = None
    note: str | None = None
    replaces: int | None = None
    withdrawn: bool = False  # an entry that only takes another back
    facts: Mapping[str, Fact] = field(default_factory=dict)
    facts_version: int = 1
    materials: tuple[MaterialUse, ...] = ()
    load: Load | None = None
    coat: Coat | None = None
    reading: Reading | None = None
    sample: Sample | None = None
    approval: Approval | None = None
    claim: Claim | None = None
    files: tuple[Attachment, ...] = ()


@dataclass(frozen=True, slots=True)
class Job:
    """One customer's piece of work at a site, with everything logged on it.

    `entries` is the current view in order of happening; `history` holds every entry ever
    logged, replaced ones too, in order of logging.
    """

    uid: str
    handle: str
    name: str
    customer: Customer
    site: Site
    state: JobState = "poured"
    planned_on: date | None = None
    note: str | None = None
    reference: str | None = None  # handle of the job this one is to match
    areas: tuple[Area, ...] = ()
    entries: tuple[Entry, ...] = ()
    history: tuple[Entry, ...] = ()
    buried: tuple[Buried, ...] = ()
    owners: tuple[Owner, ...] = ()  # after the customer, in order
    version: int = 1

    def of_kind(self, *kinds: str, area: str | None = None) -> tuple[Entry, ...]:
        """Current entries of these kinds, in order of happening, of one area or of all."""
        return tuple(e for e in self.entries if e.kind in kinds and (area is None or e.area in (None, area)))

    def samples_apart(self) -> frozenset[int]:
        """Numbers of samples poured from no load of the job: their color is not the slab's."""
        samples = (e.sample for e in self.of_kind("sample") if e.sample)
        return frozenset(sample.number for sample in samples if sample.load is None)


@dataclass(frozen=True, slots=True)
class JobLine:
    """A job as listed. Colors are sRGB hex; `release_left_percent` splits the chip."""

    handle: str
    name: str
    customer: str
    street: str
    town: str | None
    state: JobState
    poured_on: date | None
    planned_on: date | None
    base: str | None
    release: str | None
    pattern: str | None
    base_hex: str | None = None
    release_hex: str | None = None
    color_name: str | None = None
    release_color_name: str | None = None
    release_left_percent: float | None = None
    score: float = 0.0
    de00: float | None = None  # CIEDE2000 to the color asked for, where one was

    @property
    def site(self) -> str:
        """Street and town in one line."""
        return f"{self.street}, {self.town}" if self.town else self.street


@dataclass(frozen=True, slots=True)
class Page:
    """A page of the job list. `nearest` is filled when no job matches the words.

    `asked` is the color that was looked for, as sRGB hex and by name.
    """

    lines: tuple[JobLine, ...]
    total: int
    all_jobs: int
    nearest: tuple[str, ...] = ()
    asked: tuple[str, str] | None = None
