"""What the log answers beside its jobs: past slabs, advice, the shelf, readings to learn from, what was learned."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import Literal

from finishlog.records.log import Fact, Product, Reading

StockWhat = Literal["bought", "opened", "counted", "reclaimed", "spoiled", "thrown"]


@dataclass(frozen=True, slots=True)
class PastSlab:
    """What a past pour teaches about ordering; nothing if any field is None."""

    job: str
    poured_on: date
    area_ft2: float | None
    depth_in: float | None
    edge_yd3: float | None
    placed_yd3: float | None
    lacks: tuple[str, ...] = ()  # what is unknown: load, yards, leftover, size or depth


@dataclass(frozen=True, slots=True)
class Advice:
    """Advice that was acted on, kept as given. `inputs` and `answer` are JSON."""

    uid: str
    kind: str
    method: str
    inputs: str
    answer: str
    given: datetime


@dataclass(frozen=True, slots=True)
class StockMove:
    """A change of stock on the shelf, or a count of it. Immutable, like `Entry`.

    `amount` is in `unit` (lb, oz, gal, fl oz, kg, L, bag); `price_usd` is of the whole amount. What
    entries used is not a move; see `UsedMaterial`.
    """

    uid: str
    product: Product
    what: StockWhat
    happened: datetime
    logged: datetime
    amount: float | None = None
    unit: str = "lb"
    lot: str | None = None
    price_usd: float | None = None
    person: str | None = None
    job: str | None = None  # handle
    note: str | None = None
    replaces: str | None = None  # uid
    withdrawn: bool = False


@dataclass(frozen=True, slots=True)
class UsedMaterial:
    """One product of one standing entry of any job: `facts` and `kind` are the entry's."""

    job: str
    number: int
    kind: str
    happened: datetime
    product: Product
    lot: str | None
    amount: float | None
    unit: str
    reclaimed: bool
    area: str | None = None  # uid
    facts: Mapping[str, Fact] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class LearningRow:
    """A current reading of any job, with the start of its age.

    `recipe` is the uid of the recipe that the area's family of versions starts from: an addition that was
    matched shares it with its original. `poured` is None where nobody logged the end of the pour.
    """

    job: str
    area: str | None  # uid
    recipe: str | None
    poured: datetime | None
    number: int
    happened: datetime
    reading: Reading
    apart: bool = False  # read on a separately poured sample
    release_left_percent: float | None = None
    release_left_sd_percent: float | None = None
    no_sealer: bool = False  # somebody looked: it was bare, whatever it looks like
    penetrating: bool = False  # read under a sealer that leaves no film, as its last coat was logged
    dose_percent: float | None = None  # pigment of its recipe, of cementitious


@dataclass(frozen=True, slots=True)
class MadeRow:
    """One load of a job with readings; `lots` and `makers` of its pigments, None if not logged."""

    job: str
    areas: tuple[str, ...]  # uids; none: the whole job
    happened: datetime
    plant: str | None
    cement_kind: str | None
    cement_lb_per_yd3: float | None
    scm_lb_per_yd3: float | None
    lots: tuple[str | None, ...]
    makers: tuple[str | None, ...]


@dataclass(frozen=True, slots=True)
class Swept:
    """Clean powder recovered, per a current sweep entry of any job."""

    job: str
    number: int
    happened: datetime
    area: str | None  # uid
    reclaimed_lb: float


@dataclass(frozen=True, slots=True)
class DemoStart:
    """The reference job of the demo, and the addition that its owner wants, as typed."""

    handle: str
    rect: str
    depth: str


@dataclass(frozen=True, slots=True)
class KeptLearned:
    """A part of what was learned of a spot (base, field…): the shop, a recipe, the effects of lots.

    `form` names the arithmetic that made it, `entry` the newest entry that it knows; `mark` and `body` are JSON.
    """

    spot: str
    part: str
    form: str
    entry: int
    mark: str
    body: str


@dataclass(frozen=True, slots=True)
class Moment:
    """How far a log is written: its newest entry, and a token that any other change moves too."""

    entry: int
    token: str


@dataclass(frozen=True, slots=True)
class Checkpoint:
    """A rung of the ladder of readings: how many there were, and the entry of the last of them."""

    readings: int
    entry: int


@dataclass(frozen=True, slots=True)
class Since:
    """What was logged since an entry: how many readings, of which jobs; `shaken` those of whose older readings
    something may have changed (a correction, a pour, a load, a sample); `joined` whether recipes were."""

    readings: int
    jobs: frozenset[str]
    shaken: frozenset[str]
    joined: bool
