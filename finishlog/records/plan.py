"""The plan for a matching addition.

Amounts to order or weigh are exact Fractions; past facts are floats as logged.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, time
from fractions import Fraction
from typing import Literal

from finishlog.records.color import Gate, Lab, Odds
from finishlog.records.log import Job, JobLine, Shape
from finishlog.records.placed import AsPlaced
from finishlog.records.quantities.dose import PigmentLoad
from finishlog.records.quantities.order import YardsAnswer
from finishlog.records.quantities.pour_day import JointPlan, PourClock
from finishlog.records.shelf import Cost, Enough


@dataclass(frozen=True, slots=True)
class PlanRequest:
    """The addition wanted. `shapes` as typed; unknown mix and lots are None, never "the same"."""

    reference: str
    shapes: tuple[Shape, ...]
    depth: str
    on: date | None = None
    area: str | None = None  # which area of the reference; None: the field
    plant: str | None = None
    cement_lb_per_yd3: Fraction | None = None
    cement_kind: str | None = None
    scm_lb_per_yd3: Fraction | None = None
    lots: tuple[str, ...] = ()
    makers: tuple[str, ...] = ()
    probes_in: tuple[Fraction, ...] = ()
    name: str | None = None
    sample: int | None = None  # of the new lot and cement
    air_f: Fraction | None = None  # air at the pour, and the coldest while the slab hardens
    start: time | None = None  # when the first truck is on site, by the site's clock


@dataclass(frozen=True, slots=True)
class PigmentPart:
    """One pigment of the plan; its dose is lb per yd3."""

    name: str
    maker: str | None
    lot: str | None  # the lot wanted: the reference's
    dose_lb_per_yd3: Fraction
    total_lb: Fraction
    loads_lb: tuple[Fraction, ...]  # to the ounce; the parts of a load sum to the load
    loads: tuple[PigmentLoad, ...]  # the same in packs and a remainder


@dataclass(frozen=True, slots=True)
class PigmentPlan:
    """The new pour's pigments together.

    `kept` names what is held from the reference: "ratio" of pigment to cementitious, or "lb/yd3"; "sample" where a
    read sample of the new concrete gave the dose.
    `other_dose_lb_per_yd3` is what the other rule would give, where it is known and differs.
    """

    dose_lb_per_yd3: Fraction
    total_lb: Fraction
    kept: Literal["ratio", "lb/yd3", "sample"]
    other_dose_lb_per_yd3: Fraction | None
    percent_of_cementitious: Fraction | None
    percent_of_cement: Fraction | None
    parts: tuple[PigmentPart, ...]
    loads: tuple[PigmentLoad, ...]


@dataclass(frozen=True, slots=True)
class PartBySample:
    """A pigment's dose before and after a sample was read, lb per yd3."""

    name: str
    old_dose_lb_per_yd3: Fraction
    dose_lb_per_yd3: Fraction


@dataclass(frozen=True, slots=True)
class DoseBySample:
    """What a read sample of the new concrete says about the dose, all pigments together.

    "changed": the plan weighs the new dose; "agrees": the sample is as the old slab, within what its readings tell;
    "no nearer": it is not, and no dose within the limits brings it nearer; "not told": `why`, the dose is kept.
    """

    sample: int
    state: Literal["changed", "agrees", "no nearer", "not told"]
    old_dose_lb_per_yd3: Fraction
    dose_lb_per_yd3: Fraction
    parts: tuple[PartBySample, ...] = ()
    left_de00: float | None = None  # remaining difference between the old slab and the plan's dose
    shift_lab: Lab | None = None  # from the sample's own dose to the plan's
    why: str = ""


@dataclass(frozen=True, slots=True)
class ReleasePlan:
    """One shade of release: pounds, and pounds per 100 ft2."""

    name: str
    maker: str | None
    lot: str | None
    lb: Fraction
    lb_per_100_ft2: Fraction
    from_reference: bool  # False: the shop's usual rate


@dataclass(frozen=True, slots=True)
class SealerCoatPlan:
    """One coat: coverage in ft2 per gal, gallons, mil wet and dry."""

    number: int
    ft2_per_gal: Fraction
    gal: Fraction
    wet_mil: Fraction
    dry_mil: Fraction | None
    from_reference: bool = False  # at the old slab's own coverage; else the shop's usual rate


@dataclass(frozen=True, slots=True)
class SealerPlan:
    """The sealer of the plan, coat by coat."""

    name: str | None
    maker: str | None
    chemistry: str | None
    coats: tuple[SealerCoatPlan, ...]
    gal: Fraction
    relief_percent: Fraction
    old_slab_gal: Fraction | None  # to reseal the reference in the same visit
    area_ft2: Fraction | None = None
    usual_gal: Fraction | None = None  # the same coats at the shop's rates, if the old coverage differs


@dataclass(frozen=True, slots=True)
class PlanDay:
    """One date or window of the plan. `watch` is what to look at on that day."""

    key: str  # pour, joint, rinse, photo, seal, compare_from, final_color, reseal
    title: str
    opens: date
    closes: date
    when: str  # "Fri Apr 13, 7a to 7p"
    watch: str = ""
    warning: str = ""  # weekend


@dataclass(frozen=True, slots=True)
class Difference:
    """A known or possible difference from the reference, most important first.

    weight "act" (do something), "know" (good to know), "ask" (unstated: ask, never assume the same).
    """

    key: str  # pigment_lot, cement, plant, season, dose_spread, rinse_age…
    title: str
    text: str
    weight: Literal["act", "know", "ask"]


@dataclass(frozen=True, slots=True)
class Caution:
    """A caution at the stage it belongs to."""

    stage: str
    text: str


@dataclass(frozen=True, slots=True)
class StageNeed:
    """Material a stage needs on the new area; `unit` is lb or gal."""

    what: str
    amount: Fraction
    unit: str
    note: str = ""


@dataclass(frozen=True, slots=True)
class PlanStage:
    """A stage to repeat from the reference: facts in words, products with lots, needs."""

    kind: str
    title: str
    facts: tuple[str, ...]
    products: tuple[str, ...]
    needs: tuple[StageNeed, ...]


@dataclass(frozen=True, slots=True)
class Plan:
    """The plan for an addition that is to match `reference`."""

    request: PlanRequest
    on: date
    title: str
    sentence: str
    reference: AsPlaced
    reference_job: Job
    reference_line: JobLine
    concrete: YardsAnswer
    pigment: PigmentPlan | None
    pigment_advice: str  # what to do if pigment is None, else ""
    release: ReleasePlan | None
    sealer: SealerPlan
    stages: tuple[PlanStage, ...]
    days: tuple[PlanDay, ...]
    differences: tuple[Difference, ...]
    cautions: tuple[Caution, ...]
    buried: tuple[str, ...]
    missing: tuple[str, ...]
    tell_customer: tuple[str, ...]
    odds: Odds | None = None  # for the owner alone
    odds_advice: str = ""  # why there are none, else ""
    then: tuple[Difference, ...] = ()  # that day's conditions, problems first
    gate: Gate | None = None
    shelf: tuple[Enough, ...] = ()
    joints: JointPlan | None = None
    clock: PourClock | None = None
    dose_by_sample: DoseBySample | None = None
    cost: Cost | None = None  # the owner's: on no sheet for a customer


@dataclass(frozen=True, slots=True)
class KeptPlan:
    """The plan a job was saved with, as given. `given` is on the site's clock."""

    plan: Plan
    given: datetime
    method: str
