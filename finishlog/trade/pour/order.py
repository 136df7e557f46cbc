"""How much concrete to order: the quantity of least expected cost, given how far depths have been off.

`V = (A·(d + e)/324 + edges)·(1 + waste)` in yd3 with A in ft2, d and e in inches. The depth error e is a
Student-t, learned from past slabs as a normal-inverse-gamma; its starting values (three slabs' worth of
0.25 in, scatter 0.22 in) are from memory. Learning is from yards *placed* only: from yards ordered the advice
would climb.
"""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Callable, Sequence
from fractions import Fraction
from itertools import accumulate

from finishlog.errors import InputError
from finishlog.records.quantities.order import DepthError, OrderAdvice, OrderOption, OrderPrices, TakeOff
from finishlog.records.shop import Shop
from finishlog.trade.pour import student_t
from finishlog.units import plain

METHOD = "order-1"
QUANTILES = 4001
LEAST_STEP_YD3 = Fraction(1, 100)
_NOISE = 1e-9  # float tolerance: a volume within this fraction of a step of the order is not short
START_SLABS, START_MEAN_IN, START_SD_IN, START_FREEDOM = 3, 0.25, 0.22, 4
EITHER_SIDE = 2


def prices_of(shop: Shop) -> OrderPrices:
    """Prices and increments from the shop's settings."""
    names = OrderPrices.__dataclass_fields__
    return OrderPrices(**{name: getattr(shop, name) for name in names})


MOST_ERROR_IN = Fraction(12)
"""A past slab further off was mistyped or also filled something else (from memory)."""


def past_error(
    area_ft2: Fraction,
    depth_in: Fraction,
    edges_yd3: Fraction,
    waste_percent: Fraction,
    placed: Fraction | None,
) -> Fraction | None:
    """A past slab's depth error in inches; None if it teaches nothing.

    `324·(V/(1 + waste) - edges)/A - d` with V the yards placed (`placed_yd3`).
    """
    if placed is None or placed <= 0 or area_ft2 <= 0:
        return None
    return 324 * (placed / (1 + waste_percent / 100) - edges_yd3) / area_ft2 - depth_in


def depth_error(
    past_in: Sequence[float] = (), probes_in: Sequence[float] = (), probe_sd_in: float = 0.5
) -> DepthError:
    """The expected depth error in inches, from past slabs and from depth probes on this one.

    Past slabs: k = 3 + n, ν = 4 + n, mean (3·0.25 + Σe)/k,
    scale² = (4·0.22² + Σ(e - ē)² + 3n/k·(ē - 0.25)²)/ν · (1 + 1/k).
    Probes are extra depths measured on this site, each with scatter `probe_sd_in` (a setting, 0.5 in from
    memory): their mean counts with precision m/sd², the past with 1/scale², and ν is kept.
    """
    n = len(past_in)
    k, freedom = START_SLABS + n, START_FREEDOM + n
    mean = (START_SLABS * START_MEAN_IN + sum(past_in)) / k
    average = sum(past_in) / n if n else START_MEAN_IN
    scatter = sum((e - average) ** 2 for e in past_in)
    drift = START_SLABS * n / k * (average - START_MEAN_IN) ** 2
    square = (START_FREEDOM * START_SD_IN**2 + scatter + drift) / freedom * (1 + 1 / k)
    if probes_in:
        m = len(probes_in)
        past_weight, probe_weight = 1 / square, m / probe_sd_in**2
        mean = (past_weight * mean + probe_weight * sum(probes_in) / m) / (past_weight + probe_weight)
        square = 1 / (past_weight + probe_weight)
    return DepthError(mean, math.sqrt(square), freedom, n, len(probes_in), probe_sd_in)


def t4_quantile(p: float) -> float:
    """Quantile of Student-t with ν = 4, in closed form (the quartic is solvable; checked against SciPy)."""
    alpha = 4 * p * (1 - p)
    root = math.sqrt(alpha)
    q = math.cos(math.acos(min(root, 1.0)) / 3) / root
    return math.copysign(2 * math.sqrt(max(q - 1, 0.0)), p - 0.5)


def t4_above(t: float) -> float:
    """Chance that a Student-t with ν = 4 exceeds t, in closed form; accurate far out too."""
    square = t * t / (4 + t * t)
    tail = 0.5 * (1 - math.sqrt(square) * (1 + (1 - square) / 2))
    return tail if t > 0 else 1 - tail


def _quantiles(freedom: int) -> list[float]:
    """The quantiles (i + ½)/4001 of Student-t, ascending; in closed form with no history (ν = 4)."""
    chances = [(i + 0.5) / QUANTILES for i in reversed(range(QUANTILES // 2))]
    if freedom == START_FREEDOM:
        high = [-t4_quantile(p) for p in chances]
    else:
        high = list(student_t.exceeded(freedom, chances))
    return [*(-t for t in reversed(high)), 0.0, *high]


def _above(freedom: int, t: float) -> float:
    return t4_above(t) if freedom == START_FREEDOM else student_t.above(freedom, t)


def chance_short(take: TakeOff, waste_percent: Fraction, error: DepthError, order_yd3: Fraction) -> float:
    """P(V > order), exact from the distribution of the depth error."""
    left = order_yd3 / (1 + waste_percent / 100) - take.edges_yd3
    if left < 0 or take.area_ft2 == 0:  # depth cannot be negative: the edges alone need more
        return 1.0 if left < 0 else 0.0
    depth = float(324 * left / take.area_ft2)
    return _above(error.freedom, (depth - float(take.depth_in) - error.mean_in) / error.scale_in)


def _volumes(take: TakeOff, waste_percent: Fraction, error: DepthError) -> list[float]:
    area, edges = float(take.area_ft2) / 324, float(take.edges_yd3)
    start, waste = float(take.depth_in) + error.mean_in, float(1 + waste_percent / 100)
    return [(area * max(start + error.scale_in * t, 0.0) + edges) * waste for t in _quantiles(error.freedom)]


def _weigher(volumes: list[float], prices: OrderPrices) -> Callable[[float], tuple[float, float]]:
    """Expected cost and leftover of ordering q, by prefix sums over the ascending volumes.

    cost(q) = c·q + o·(q - V)⁺ + [V > q]·(c·b + o·(b - s) + K), s = V - q, b = max(m, s rounded up to the
    increment). With q a multiple of the increment s rounded up is V rounded up less q.
    """
    c, o, m = float(prices.price_per_yd3), float(prices.leftover_per_yd3), float(prices.minimum_yd3)
    fixed = float(prices.short_load_fee + prices.mismatch + prices.joint)
    step = float(prices.increment_yd3)
    n = len(volumes)
    near_step = _NOISE * step
    rounded = [math.ceil(v / step - _NOISE) * step for v in volumes]
    sums, rounded_sums = [0.0, *accumulate(volumes)], [0.0, *accumulate(rounded)]

    def weigh(q: float) -> tuple[float, float]:
        enough = bisect_right(volumes, q + near_step)
        near = max(enough, bisect_right(rounded, q + m))
        left = q * enough - sums[enough]
        short = sums[n] - sums[enough] - q * (n - enough)
        balance = m * (near - enough) + rounded_sums[n] - rounded_sums[near] - q * (n - near)
        again = (c + o) * balance - o * short + fixed * (n - enough)
        return c * q + (o * left + again) / n, left / n

    return weigh


def advise(take: TakeOff, waste_percent: Fraction, error: DepthError, prices: OrderPrices) -> OrderAdvice:
    """The order of least expected cost: a multiple of the increment, at least neat and the minimum.

    The expectation runs over the volumes at the 4,001 quantiles (i + ½)/4001. Raises InputError for a step
    no plant sells in.
    """
    check_prices(prices)
    step = prices.increment_yd3
    first = math.ceil(max(take.volume_yd3, prices.minimum_yd3) / step)
    volumes = _volumes(take, waste_percent, error)
    weigh = _weigher(volumes, prices)
    best = _cheapest(first, step, weigh, prices, volumes[-1])
    numbers = range(max(first, best - EITHER_SIDE), best + EITHER_SIDE + 1)
    options = tuple(_option(take, waste_percent, error, prices, number * step, weigh) for number in numbers)
    chosen = options[best - numbers.start]
    return OrderAdvice(chosen, options, take.volume_yd3, waste_percent, error, prices, METHOD)


def _cheapest(
    first: int,
    step: Fraction,
    weigh: Callable[[float], tuple[float, float]],
    prices: OrderPrices,
    most: float,
) -> int:
    """The cheapest number of increments; concrete and leftover alone bound the cost from below."""
    price, leftover = float(prices.price_per_yd3), float(prices.leftover_per_yd3)
    best, least, number = first, math.inf, first
    while True:
        q = float(number * step)
        cost, left = weigh(q)
        if cost < least - 1e-9:
            best, least = number, cost
        if q >= most or price * q + leftover * left > least:
            return best
        number += 1


def _option(
    take: TakeOff,
    waste_percent: Fraction,
    error: DepthError,
    prices: OrderPrices,
    order_yd3: Fraction,
    weigh: Callable[[float], tuple[float, float]],
) -> OrderOption:
    cost, left = weigh(float(order_yd3))
    chance = chance_short(take, waste_percent, error, order_yd3)
    return OrderOption(order_yd3, chance, cost, left, left * float(prices.leftover_per_yd3))


def check_prices(prices: OrderPrices) -> None:
    """Raises InputError for an increment no plant sells."""
    if prices.increment_yd3 < LEAST_STEP_YD3:
        title = f"A plant does not sell in steps under {plain(LEAST_STEP_YD3)} yd³."
        raise InputError(title, where="--increment", example="0.25")
