"""Answers of the shelf: lots, whether they cover a pour, what a pour's material costs.

Amounts are exact Fractions in lb or gal; in bags if a bag's weight is unknown.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from fractions import Fraction
from typing import Literal

from finishlog.records.answers import StockMove
from finishlog.records.log import Product

LotState = Literal["left", "low", "out", "count", "unknown"]
"""`low`: runs out with what is planned or with a use like the largest; `count`: more was used than bought."""


@dataclass(frozen=True, slots=True)
class ShelfLot:
    """One lot of a product. `left` is fresh stock, None if unknown; reclaimed powder is counted apart."""

    product: Product
    lot: str | None
    unit: str
    bought: Fraction
    used: Fraction
    spoiled: Fraction
    thrown: Fraction
    reclaimed: Fraction
    reclaimed_used: Fraction
    left: Fraction | None
    reclaimed_left: Fraction
    largest_use: Fraction
    opened_on: date | None = None
    counted_on: date | None = None
    last_used: date | None = None
    first_used: date | None = None
    usd_per_unit: Fraction | None = None
    doubts: tuple[str, ...] = ()

    @property
    def is_kept(self) -> bool:
        """Whether it was ever stocked: bought, counted, opened, or reclaimed and still there."""
        moved = self.bought or self.spoiled or self.thrown or self.reclaimed_left
        return bool(moved) or self.left is not None or self.opened_on is not None


@dataclass(frozen=True, slots=True)
class ShelfMark:
    """A lot and how it stands without what is planned: enough to sort and count the shelf."""

    id: int
    product: Product
    lot: str | None
    state: LotState


@dataclass(frozen=True, slots=True)
class Wanted:
    """What a pour takes of a product, from `lot`; None: any lot."""

    name: str
    maker: str | None
    kind: str
    amount: Fraction
    unit: str
    lot: str | None = None
    job: str = ""


@dataclass(frozen=True, slots=True)
class Take:
    """An amount from a lot; `lot` None: lot unknown."""

    lot: str | None
    amount: Fraction
    reclaimed: bool = False


@dataclass(frozen=True, slots=True)
class Enough:
    """Whether the shelf covers it, and from one lot. `short` is the shortage; None: unknown.

    `takes` in order of use: fresh from the wanted lot, fresh from others, reclaimed last.
    """

    wanted: Wanted
    takes: tuple[Take, ...]
    short: Fraction | None
    one_lot: bool
    same_lot: bool | None  # None: no lot was wanted
    reclaimed_left: Fraction
    text: str
    settle: bool


@dataclass(frozen=True, slots=True)
class ShelfLine:
    """A lot as the list shows it."""

    held: ShelfLot
    state: LotState
    said: str
    needed_by: tuple[str, ...] = ()
    """Handles of the planned jobs that draw on it, earliest first."""
    runs_out: bool = False
    """Whether plans use all of it, or more than the shelf has of the product."""


@dataclass(frozen=True, slots=True)
class Shelf:
    """The shelf's lines under one sentence; `answers`: whether it covers what each planned job takes.

    `lines` may be a part of the `total` that the shelf has.
    """

    sentence: str
    lines: tuple[ShelfLine, ...]
    answers: tuple[Enough, ...] = ()
    total: int = 0


@dataclass(frozen=True, slots=True)
class MoveLine:
    """A move with its number in the order of logging."""

    number: int
    move: StockMove
    when: datetime
    said: str
    current: bool = True


@dataclass(frozen=True, slots=True)
class Moved:
    """A saved move, and the lot after it."""

    number: int
    move: StockMove
    sentence: str
    held: ShelfLot | None  # None: nothing is known about the lot any more
    warnings: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class CostPart:
    """One material; `usd` is None if its amount is unknown. `price_of` names the source of the price."""

    what: str
    amount: Fraction | None
    unit: str
    usd_per_unit: Fraction
    usd: Fraction | None
    price_of: str


@dataclass(frozen=True, slots=True)
class Cost:
    """Material only: no labor, no profit. `running_short_usd` is the extra cost if the pour runs short."""

    parts: tuple[CostPart, ...]
    usd: Fraction
    usd_per_ft2: Fraction | None
    running_short_usd: Fraction | None = None
    unknown: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class PastCost:
    """A past job's material, at the price paid for its lots if they are on record."""

    job: str
    customer: str
    piece: str
    poured_on: date | None
    area_ft2: Fraction | None
    cost: Cost
