"""Areas, the order and its loads."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from finishlog.records.quantities.cautions import Caution
from finishlog.records.quantities.loads import LoadPlan


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
    """Area and neat volume, without waste; `edges_yd3` is the part independent of the slab's depth."""

    area_ft2: Fraction
    depth_in: Fraction
    slab_yd3: Fraction
    edges_yd3: Fraction

    @property
    def volume_yd3(self) -> Fraction:
        """Slab and edges."""
        return self.slab_yd3 + self.edges_yd3


MONEY_PRICES = ("price_per_yd3", "leftover_per_yd3", "short_load_fee", "mismatch", "joint")
"""Those of `OrderPrices` that are money."""


@dataclass(frozen=True, slots=True)
class OrderPrices:
    """Prices and increments to choose an order by: dollars and cubic yards."""

    price_per_yd3: Fraction
    leftover_per_yd3: Fraction
    short_load_fee: Fraction
    mismatch: Fraction
    joint: Fraction
    increment_yd3: Fraction
    minimum_yd3: Fraction


@dataclass(frozen=True, slots=True)
class DepthError:
    """Expected depth error against the plan: a Student-t with `mean_in`, `scale_in`, `freedom`."""

    mean_in: float
    scale_in: float
    freedom: int
    past: int
    probes: int
    probe_sd_in: float


@dataclass(frozen=True, slots=True)
class OrderOption:
    """One quantity to order, with its expected cost and leftover."""

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
class YardsRequest:
    """A slab to order for. None uses the shop's setting."""

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
