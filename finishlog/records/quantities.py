"""What the arithmetic is asked and what it answers: frozen values, quantities as Fractions.

Every name carries its unit: ft, ft2, in, yd3, lb, gal, mil; percent runs from 0 to 100, a chance from 0 to 1,
money is in the shop's dollars. JSON is made at the edge.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction


@dataclass(frozen=True, slots=True)
class FlatShape:
    """A flat shape of an area: `kind` rect, circle, polygon or round; `sign` -1 for a cut-out; sizes in ft.

    rect: length, width. circle: radius. polygon: x, y, x, y … round: number of corners,
    radius; it always takes away.
    """

    kind: str
    sign: int
    sizes_ft: tuple[Fraction, ...]


@dataclass(frozen=True, slots=True)
class Extra:
    """Concrete beside the slab's depth: `kind` edge (length, width, depth below the slab) or stairs.

    Stairs are solid: number of steps, width, rise, run. All sizes in ft but the number of steps.
    """

    kind: str
    sizes_ft: tuple[Fraction, ...]


@dataclass(frozen=True, slots=True)
class TakeOff:
    """Area and neat volume, without waste; `edges_yd3` is the part that does not hang on the slab's depth."""

    area_ft2: Fraction
    depth_in: Fraction
    slab_yd3: Fraction
    edges_yd3: Fraction

    @property
    def volume_yd3(self) -> Fraction:
        return self.slab_yd3 + self.edges_yd3


@dataclass(frozen=True, slots=True)
class OrderPrices:
    """What an order is weighed with: dollars and cubic yards."""

    price_per_yd3: Fraction
    leftover_per_yd3: Fraction
    short_load_fee: Fraction
    mismatch: Fraction
    joint: Fraction
    increment_yd3: Fraction
    minimum_yd3: Fraction


@dataclass(frozen=True, slots=True)
class DepthError:
    """What is expected of the depth beside the plan: a Student-t with `mean_in`, `scale_in`, `freedom`."""

    mean_in: float
    scale_in: float
    freedom: int
    past: int
    probes: int
    probe_sd_in: float


@dataclass(frozen=True, slots=True)
class OrderOption:
    """One quantity that could be ordered, with what it is expected to cost and to leave."""

    order_yd3: Fraction
    chance_short: float
    expected_cost: float
    expected_leftover_yd3: float
    expected_leftover_cost: float


@dataclass(frozen=True, slots=True)
class OrderAdvice:
    """The quantity of least expected cost, with up to two to either side in `options` (ascending)."""

    best: OrderOption
    options: tuple[OrderOption, ...]
    neat_yd3: Fraction
    waste_percent: Fraction
    error: DepthError
    prices: OrderPrices
    method: str


@dataclass(frozen=True, slots=True)
class LoadPlan:
    """What each truck brings, in order; `below_minimum` are loads (counted from 1) the plant may refuse."""

    loads_yd3: tuple[Fraction, ...]
    below_minimum: tuple[int, ...]
    badly_mixed: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class DoseRates:
    """One dose in every way it is said. Those in percent and by the sack need the mix's cement content."""

    lb_per_yd3: Fraction
    kg_per_m3: Fraction
    lb_per_sack: Fraction
    percent_of_cementitious: Fraction
    percent_of_cement: Fraction


@dataclass(frozen=True, slots=True)
class PigmentLoad:
    """A load's pigment in whole ounces: whole packs and the weighed remainder.

    `rounding_error_percent` is what the nearest number of whole packs alone would do to the dose: signed,
    against the exact dose, None without a pack size.
    """

    yards: Fraction
    pigment_lb: Fraction
    packs: int | None
    remainder_lb: Fraction | None
    rounding_error_percent: Fraction | None


@dataclass(frozen=True, slots=True)
class PigmentPlan:
    """One pigment over the loads; `total_lb` is exact, the loads sum to `weighed_lb`, its nearest ounce."""

    name: str
    lb_per_yd3: Fraction
    total_lb: Fraction
    weighed_lb: Fraction
    pack_lb: Fraction | None
    loads: tuple[PigmentLoad, ...]


@dataclass(frozen=True, slots=True)
class PlacedLoad:
    """What one truck brought, as logged: None is unknown."""

    label: str
    yards: Fraction | None
    pigment_lb: Fraction | None
    placed_yd3: Fraction | None = None
    """What of it stayed in the slab: it weighs the load's dose in the mean; unknown, the yards do."""


@dataclass(frozen=True, slots=True)
class OffLoad:
    """A load whose dose differs from the pour's; `percent` is signed, - is light."""

    label: str
    lb_per_yd3: Fraction
    percent: Fraction


@dataclass(frozen=True, slots=True)
class PlacedDose:
    """The dose as placed over the loads with known yards and pigment: mean weighted by yards, and the range.

    `spread_percent` is highest less lowest, in percent of the mean.
    """

    lb_per_yd3: Fraction
    low_lb_per_yd3: Fraction
    high_lb_per_yd3: Fraction
    spread_percent: Fraction
    known_loads: int
    unknown_loads: int
    off: tuple[OffLoad, ...]


@dataclass(frozen=True, slots=True)
class ReleasePart:
    """A shade's share of the release powder."""

    name: str
    pounds: Fraction


@dataclass(frozen=True, slots=True)
class ReleaseNeed:
    """Powder release for an area; `fresh_lb` is what is left to buy after the reclaimed powder."""

    area_ft2: Fraction
    lb_per_100ft2: Fraction
    pounds: Fraction
    reclaimed_lb: Fraction
    fresh_lb: Fraction
    parts: tuple[ReleasePart, ...]


@dataclass(frozen=True, slots=True)
class SealerCoat:
    """One coat; thicknesses are an estimate for work, not an acceptance figure."""

    number: int
    coverage_ft2_per_gal: Fraction
    gallons: Fraction
    wet_mil: Fraction
    dry_mil: Fraction


@dataclass(frozen=True, slots=True)
class SealerNeed:
    """Sealer by coat; `coated_area_ft2` is the area with the relief allowance."""

    area_ft2: Fraction
    relief_percent: Fraction
    coated_area_ft2: Fraction
    solids_percent: Fraction
    coats: tuple[SealerCoat, ...]
    gallons: Fraction
    existing_mil: Fraction
    dry_mil: Fraction


@dataclass(frozen=True, slots=True)
class Caution:
    """One line to be read before the work it belongs to."""

    key: str
    text: str


@dataclass(frozen=True, slots=True)
class YardsRequest:
    """A slab to be ordered. What is None is the shop's setting."""

    shapes: tuple[FlatShape, ...]
    depth_in: Fraction
    extras: tuple[Extra, ...] = ()
    probes_in: tuple[Fraction, ...] = ()
    waste_percent: Fraction | None = None
    truck_yd3: Fraction | None = None
    prices: OrderPrices | None = None


@dataclass(frozen=True, slots=True)
class YardsAnswer:
    """Take-off, order and loads of a slab."""

    take_off: TakeOff
    order: OrderAdvice
    loads: LoadPlan
    truck_yd3: Fraction
    cautions: tuple[Caution, ...]
    sources: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class DoseRequest:
    """Pigment for a pour. Contents are lb/yd3; `solids_percent` is given for a liquid pigment (by weight)."""

    yards: Fraction
    dose_value: Fraction
    dose_unit: str
    cement_lb_per_yd3: Fraction | None = None
    scm_lb_per_yd3: Fraction = Fraction(0)
    pack_lb: Fraction | None = None
    truck_yd3: Fraction | None = None
    minimum_yd3: Fraction | None = None
    solids_percent: Fraction | None = None


@dataclass(frozen=True, slots=True)
class DoseAnswer:
    """Pigment by load. With `solids_percent` the plan weighs liquid, `pigment_lb` is the dry pigment."""

    rates: DoseRates
    cement_lb_per_yd3: Fraction
    scm_lb_per_yd3: Fraction
    cement_assumed: bool
    limit_percent_of_cement: Fraction
    pigment_lb: Fraction
    solids_percent: Fraction | None
    plan: PigmentPlan
    loads: LoadPlan
    truck_yd3: Fraction
    minimum_yd3: Fraction
    cautions: tuple[Caution, ...]
    sources: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class FilmRequest:
    """Sealer for an area. None is the shop's setting; `existing_mil` is the dry film there already."""

    area_ft2: Fraction
    coverages_ft2_per_gal: tuple[Fraction, ...] = ()
    solids_percent: Fraction | None = None
    stamped: bool = False
    relief_percent: Fraction | None = None
    existing_mil: Fraction = Fraction(0)


@dataclass(frozen=True, slots=True)
class FilmAnswer:
    """Sealer by coat with the film it leaves."""

    need: SealerNeed
    alarm_mil: Fraction
    cautions: tuple[Caution, ...]
    sources: tuple[str, ...]
