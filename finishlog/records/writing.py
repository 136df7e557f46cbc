"""What a user adds to the log: values the desks give to the store.

Products, plants, people and so on go by name, never by id: the store finds
or creates them. None means unknown.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from pathlib import Path

from finishlog.records.answers import StockWhat
from finishlog.records.files import Content, Photo
from finishlog.records.log import (
    Approval,
    AreaKind,
    Claim,
    Coat,
    Exactness,
    Exposure,
    Fact,
    Form,
    JobState,
    Reading,
    Shape,
)


@dataclass(frozen=True, slots=True)
class NewCustomer:
    """Only the name must be known."""

    name: str
    phone: str | None = None
    email: str | None = None
    note: str | None = None
    leave_alone: bool = False


@dataclass(frozen=True, slots=True)
class NewSite:
    """Where the slab is; the street alone must be known."""

    street: str
    town: str | None = None
    zone: str | None = None  # None: the shop's own
    exposure: Exposure = "unknown"
    map_note: str | None = None


@dataclass(frozen=True, slots=True)
class NewBuried:
    """A pipe, cable or tubing under the slab; depth in inches below its top."""

    what: str
    where: str | None = None
    depth_in: float | None = None


@dataclass(frozen=True, slots=True)
class NewProduct:
    """Looked up by name, kind and maker; other fields fill in unknowns."""

    name: str
    kind: str
    maker: str | None = None
    form: Form | None = None
    solids_percent: float | None = None
    max_percent_of_cement: float | None = None
    pack_lb: float | None = None
    chemistry: str | None = None
    safety: str | None = None


@dataclass(frozen=True, slots=True)
class NewMix:
    """The ready-mix design; a blank stays unknown."""

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


@dataclass(frozen=True, slots=True)
class NewStageMaterial:
    """A product in a recipe; `rate` counts in `unit`."""

    product: NewProduct
    lot: str | None = None
    rate: float | None = None
    unit: str | None = None


@dataclass(frozen=True, slots=True)
class NewStage:
    """One step of the work; `params` are those its kind knows."""

    kind: str
    params: Mapping[str, Fact] = field(default_factory=dict)
    materials: tuple[NewStageMaterial, ...] = ()


@dataclass(frozen=True, slots=True)
class NewRecipe:
    """Stages in order of work; `from_recipe` is the version this one replaces."""

    name: str
    stages: tuple[NewStage, ...] = ()
    from_recipe: str | None = None  # uid
    reason: str | None = None


@dataclass(frozen=True, slots=True)
class NewArea:
    """A recipe given by uid is shared with other areas; `recipe` creates a new one."""

    name: str
    kind: AreaKind = "field"
    exposure: Exposure = "unknown"
    area_ft2: float | None = None
    depth_in: float | None = None
    edge_yd3: float | None = None
    recipe: NewRecipe | None = None
    recipe_uid: str | None = None
    shapes: tuple[Shape, ...] = ()


@dataclass(frozen=True, slots=True)
class NewJob:
    """Everything one form or one row of a sheet tells about a job."""

    name: str
    customer: NewCustomer
    site: NewSite
    state: JobState = "poured"
    planned_on: date | None = None
    note: str | None = None
    reference: str | None = None  # handle
    areas: tuple[NewArea, ...] = ()
    buried: tuple[NewBuried, ...] = ()
    handle: str | None = None  # None: made from customer and name


@dataclass(frozen=True, slots=True)
class NewMaterialUse:
    """What one entry used up; `amount` counts in `unit`."""

    product: NewProduct
    amount: float | None = None
    unit: str = "lb"
    lot: str | None = None
    reclaimed: bool = False


@dataclass(frozen=True, slots=True)
class NewLoad:
    """`areas` maps the job's area names to the yards placed there."""

    yards: float | None = None
    returned_yd3: float | None = None
    dumped_yd3: float | None = None
    ticket: str | None = None
    mix: NewMix | None = None
    water_gal: float | None = None
    water_when: str | None = None
    slump_in: float | None = None
    slump_end_in: float | None = None
    is_balance: bool = False
    areas: tuple[tuple[str, float | None], ...] = ()


@dataclass(frozen=True, slots=True)
class NewSample:
    """If `number` is None the store assigns the shop's next one."""

    number: int | None = None
    load: int | None = None
    size: str | None = None
    kept_where: str | None = None
    half_sealed: bool | None = None
    cement: str | None = None
    doses: tuple[tuple[NewProduct, float], ...] = ()


@dataclass(frozen=True, slots=True)
class NewFile:
    """A file to keep with an entry: read from `path`, shown as `name` (None: the path's own)."""

    path: Path
    name: str | None = None
    media_type: str | None = None
    photo: Photo | None = None  # its metadata, if a picture
    content: Content | None = None  # already read bytes; None: read `path`


@dataclass(frozen=True, slots=True)
class NewEntry:
    """What happened, ready to save. `area` is an area's name; None: the whole job."""

    kind: str
    happened: datetime
    exactness: Exactness = "exact"
    area: str | None = None
    person: str | None = None
    note: str | None = None
    replaces: int | None = None
    withdrawn: bool = False
    again: bool = False  # restores what the replaced entry withdrew
    facts: Mapping[str, Fact] = field(default_factory=dict)
    materials: tuple[NewMaterialUse, ...] = ()
    load: NewLoad | None = None
    coat: Coat | None = None
    reading: Reading | None = None
    sample: NewSample | None = None
    approval: Approval | None = None
    claim: Claim | None = None
    files: tuple[NewFile, ...] = ()
    uid: str = ""
    """Its own, where it was given one before it came here: it is kept once, however often it comes."""


@dataclass(frozen=True, slots=True)
class NewAdvice:
    """Advice acted on, saved as given: inputs, answer, method version."""

    kind: str  # order, plan, forecast, odds
    method: str
    inputs: str  # JSON
    answer: str  # JSON
    given: datetime | None = None  # None: now


@dataclass(frozen=True, slots=True)
class NewStockMove:
    """A purchase, opening, count… `replaces` is the uid of the corrected move."""

    product: NewProduct
    what: StockWhat
    happened: datetime
    amount: float | None = None
    unit: str = "lb"
    lot: str | None = None
    price_usd: float | None = None
    person: str | None = None
    job: str | None = None  # handle
    note: str | None = None
    replaces: str | None = None
    withdrawn: bool = False
