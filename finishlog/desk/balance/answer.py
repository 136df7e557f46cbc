"""A pour that runs short: what remains, where it can stop, and the matching load to order."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from fractions import Fraction
from typing import TYPE_CHECKING

from finishlog.desk.balance import ways
from finishlog.errors import InputError
from finishlog.records.placed import AsPlaced
from finishlog.records.plan import PigmentPart, PigmentPlan, PlanRequest
from finishlog.records.quantities.cautions import Caution
from finishlog.records.quantities.loads import LoadPlan
from finishlog.records.quantities.order import DepthError, FlatShape, OrderAdvice, OrderPrices, TakeOff
from finishlog.records.shop import Shop
from finishlog.records.when import has_hours, zone_of
from finishlog.trade import dose as dosing
from finishlog.trade import sources
from finishlog.trade.cautions import cautions
from finishlog.trade.pour import balance as balancing
from finishlog.trade.pour import loads, order, takeoff
from finishlog.trade.pour.balance import STIFF, Bags, Edge, Stop
from finishlog.units import Dose, exact, write

if TYPE_CHECKING:
    from finishlog.desk.services import Services
    from finishlog.records.log import Job, Mix

F = Fraction
NOTHING = F(0)
SURE_ENOUGH = 0.05
"""Up to this chance of running short, the truck's load will do and nothing is ordered (ours)."""
SAME_POUR = timedelta(hours=12)


@dataclass(frozen=True, slots=True)
class BalanceRequest:
    """What is asked. `panels` are what remains, rectangles as length × width with the open edge across.

    The dose is `dose`, else that of `job` as placed; None uses the shop's setting or is unknown.
    """

    panels: tuple[FlatShape, ...]
    depth_in: Fraction | None = None  # None: the job's own
    left_yd3: Fraction = NOTHING
    bands: tuple[FlatShape, ...] = ()
    probes_in: tuple[Fraction, ...] = ()
    minutes: Fraction | None = None
    air_f: Fraction | None = None
    truck_in_minutes: Fraction | None = None
    felt: str | None = None
    job: str | None = None
    area: str | None = None
    dose: Dose | None = None
    cement_lb_per_yd3: Fraction | None = None
    scm_lb_per_yd3: Fraction | None = None
    pack_lb: Fraction | None = None
    waste_percent: Fraction | None = None
    truck_yd3: Fraction | None = None
    minimum_yd3: Fraction | None = None
    increment_yd3: Fraction | None = None
    bag_cement_lb: Fraction | None = None  # cement in a bag of concrete, for a rest out of bags
    history: bool = True


@dataclass(frozen=True, slots=True)
class Band:
    """The remaining field without its bands: they are left open and poured another day."""

    area_ft2: Fraction
    field_ft2: Fraction
    field_yd3: Fraction
    enough: bool  # what is on the truck finishes the field


@dataclass(frozen=True, slots=True)
class BalanceAnswer:
    """`advice` and `loads` are None where what is on the truck will do; `short_now` is the chance that not."""

    take_off: TakeOff
    error: DepthError
    waste_percent: Fraction
    volume_yd3: Fraction  # with the depth error's mean and waste
    left_yd3: Fraction
    short_now: float
    edge: Edge
    stops: tuple[Stop, ...]
    band: Band | None
    advice: OrderAdvice | None
    loads: LoadPlan | None
    pigment: PigmentPlan | None
    dose_from: str  # "asked", "loads", "recipe" or ""
    job: str | None
    leftover_yd3: Fraction
    samples: int
    tell_plant: tuple[str, ...]
    cautions: tuple[Caution, ...]
    sources: tuple[str, ...]
    truck_in_minutes: Fraction | None = None
    bags: Bags | None = None
    asks: tuple[str, ...] = ()

    @property
    def in_time(self) -> bool | None:
        """Whether the truck comes before the edge is too stiff; None: not known."""
        return None if self.edge.at_arrival is None else self.edge.at_arrival != STIFF

    @property
    def short_yd3(self) -> Fraction:
        """What is expected to be missing, yd3."""
        return max(self.volume_yd3 - self.left_yd3, F(0))

    @property
    def state(self) -> str | None:
        """The edge as it decides: when the truck comes, else now."""
        return self.edge.at_arrival or self.edge.now


def balance(services: Services, request: BalanceRequest, system: str = "us") -> BalanceAnswer:
    """The balance load and its alternatives. Raises InputError, LimitError over the limit.

    `system` (us or metric) only affects wording.
    """
    shop = services.shop() if request.history else Shop.from_values({})
    job, placed = _job(services, request) if request.job is not None else (None, None)
    minutes = request.minutes if request.minutes is not None else _minutes(services, job)
    past = [float(e) for e in services.past_errors()] if request.history else []
    error = order.depth_error(past, [float(e) for e in request.probes_in], float(shop.probe_sd_in))
    waste = shop.waste_percent if request.waste_percent is None else request.waste_percent
    take = takeoff.take_off(request.panels, _depth(request, placed))
    volume = balancing.expected_yd3(take.area_ft2, take.depth_in, error, waste)
    missing = balancing.still_to_bring(take, request.left_yd3, waste)
    short_now = order.chance_short(missing, waste, error, F(0))
    advice, plan = (None, None) if short_now <= SURE_ENOUGH else _order(request, shop, missing, waste, error)
    pigment, dose_from = _pigment(request, shop, placed, plan.loads_yd3) if plan else (None, "")
    leftover = F(str(round(advice.best.expected_leftover_yd3, 4))) if advice else request.left_yd3 - volume
    edge = balancing.edge(shop, minutes, request.air_f, request.truck_in_minutes, request.felt)
    stops = balancing.stops(request.panels, request.left_yd3, take.depth_in, error, waste)
    bags = _bags(request, shop, placed, pigment, volume - request.left_yd3) if plan else None
    return BalanceAnswer(
        take_off=take,
        error=error,
        waste_percent=waste,
        volume_yd3=volume,
        left_yd3=request.left_yd3,
        short_now=short_now,
        edge=edge,
        stops=stops,
        band=_band(request, take, error, waste),
        advice=advice,
        loads=plan,
        pigment=pigment,
        dose_from=dose_from,
        job=job.handle if job else None,
        leftover_yd3=max(leftover, F(0)),
        samples=balancing.samples_from(leftover, take.depth_in),
        tell_plant=_tell_plant(placed, system),
        cautions=(
            *_cautions(plan, shop, pigment, system),
            *ways.cautions(bags, bulkhead=plan is not None and bool(stops)),
        ),
        sources=(sources.ORDER, sources.PIGMENT_LIMIT, sources.PRACTICE),
        truck_in_minutes=request.truck_in_minutes,
        bags=bags,
        asks=tuple(ways.asks(edge, request.truck_in_minutes, bags)) if plan else (),
    )


def _bags(
    request: BalanceRequest, shop: Shop, placed: AsPlaced | None, pigment: PigmentPlan | None, short: Fraction
) -> Bags | None:
    """The remainder from bags, pigment by the cementitious of the pour to match."""
    cement, scm = _contents(request, placed.mixes if placed else ())
    both = None if cement is None else cement + (scm or NOTHING)
    if both is None and request.dose is not None and request.dose.unit == "%":
        both = (
            shop.cementitious_lb_per_yd3
        )  # a dose in percent was reckoned with it, and comes back as percent
    return ways.bags(short, shop, pigment, both, request.bag_cement_lb)


def _depth(request: BalanceRequest, placed: AsPlaced | None) -> Fraction:
    if request.depth_in is not None:
        return request.depth_in
    if placed is not None and placed.area.depth_in is not None:
        return exact(placed.area.depth_in)
    raise InputError("The depth is missing.", where="--depth", example="4in or 100mm")


def _order(
    request: BalanceRequest, shop: Shop, missing: TakeOff, waste: Fraction, error: DepthError
) -> tuple[OrderAdvice, LoadPlan]:
    """The quantity of least expected cost that the plant sends, and the loads it comes in."""
    prices = _prices(request, shop)
    truck = request.truck_yd3 or shop.truck_yd3
    least = max(missing.volume_yd3, prices.minimum_yd3, prices.increment_yd3)
    loads.split(least, truck, prices.minimum_yd3)
    advice = order.advise(missing, waste, error, prices)
    plan = loads.split(
        advice.best.order_yd3, truck, prices.minimum_yd3, shop.smallest_colored_load_yd3,
        colored=True, step_yd3=prices.increment_yd3,
    )  # fmt: skip
    return advice, plan


def _prices(request: BalanceRequest, shop: Shop) -> OrderPrices:
    from dataclasses import replace

    own = {"minimum_yd3": request.minimum_yd3, "increment_yd3": request.increment_yd3}
    prices = replace(order.prices_of(shop), **{key: value for key, value in own.items() if value is not None})
    # zero is no order: without a minimum the plant still sends one increment
    return replace(prices, minimum_yd3=max(prices.minimum_yd3, prices.increment_yd3))


def _job(services: Services, request: BalanceRequest) -> tuple[Job, AsPlaced]:
    from finishlog.desk.placed import placed as placing

    with services.log().reading() as log:
        job = log.job(log.resolve(request.job or ""))
    areas = placing.areas(job, zone_of(job))
    wanted = request.area.casefold() if request.area else None
    found = [placed for placed in areas if wanted is None or placed.area.name.casefold() == wanted]
    if not found:
        names = ", ".join(placed.area.name for placed in areas) or "none yet"
        cause = f"Its areas: {names}."
        raise InputError(f"{job.handle} has no such area.", cause, where="--area", example="--area field")
    return job, found[0]


def _minutes(services: Services, job: Job | None) -> Fraction | None:
    """Minutes since the job's last load or pour, if logged today with its hour."""
    known = [e for e in (job.of_kind("load", "pour") if job else ()) if has_hours(e.exactness)]
    if not known:
        return None
    since = services.clock() - known[-1].happened
    return F(int(since.total_seconds()) // 60) if timedelta(0) <= since <= SAME_POUR else None


def _band(request: BalanceRequest, take: TakeOff, error: DepthError, waste: Fraction) -> Band | None:
    if not request.bands:
        return None
    band = takeoff.area_ft2(request.bands)
    if band >= take.area_ft2:
        cause = "The band covers all that is left, or more."
        raise InputError("No field left beside the band.", cause, where="--band", example="--band 18x1")
    field = take.area_ft2 - band
    volume = balancing.expected_yd3(field, take.depth_in, error, waste)
    return Band(band, field, volume, volume <= request.left_yd3)


def _pigment(
    request: BalanceRequest, shop: Shop, placed: AsPlaced | None, loads_yd3: tuple[Fraction, ...]
) -> tuple[PigmentPlan | None, str]:
    if request.dose is not None:
        return _asked(request, request.dose, shop, placed, loads_yd3), "asked"
    if placed is None:
        return None, ""
    if placed.dose_lb_per_yd3 is None:
        cause = "No load shows what was weighed in, and the recipe gives no dose."
        raise InputError(
            "This job has no pigment dose to match.", cause, where="--job", example='--dose "7 lb/yd3"'
        )
    from finishlog.desk.plan import materials

    cement, scm = _contents(request, placed.mixes)
    asked = PlanRequest("", (), "", cement_lb_per_yd3=cement, scm_lb_per_yd3=scm)
    return materials.pigment(asked, _packed(placed, request.pack_lb), loads_yd3), placed.dose_from or ""


def _packed(placed: AsPlaced, pack_lb: Fraction | None) -> AsPlaced:
    """The pack that is on the truck today, where it was said."""
    from dataclasses import replace

    if pack_lb is None:
        return placed
    pigments = tuple(replace(pigment, pack_lb=float(pack_lb)) for pigment in placed.pigments)
    return replace(placed, pigments=pigments)


def _contents(request: BalanceRequest, mixes: tuple[Mix, ...]) -> tuple[Fraction | None, Fraction | None]:
    """Cement and other cementitious of the balance load: as said, else the job's own one mix."""
    if request.cement_lb_per_yd3 is not None:
        return request.cement_lb_per_yd3, request.scm_lb_per_yd3
    mix = mixes[0] if len(mixes) == 1 else None
    if mix is None or mix.cement_lb_per_yd3 is None:
        return None, None
    return exact(mix.cement_lb_per_yd3), exact(mix.scm_lb_per_yd3 or 0)


def _asked(
    request: BalanceRequest,
    dose: Dose,
    shop: Shop,
    placed: AsPlaced | None,
    loads_yd3: tuple[Fraction, ...],
) -> PigmentPlan:
    """One pigment by the dose that was asked for."""
    cement, scm = _contents(request, placed.mixes if placed else ())
    both = (cement or shop.cementitious_lb_per_yd3), (scm or F(0))
    rate = dosing.lb_per_yd3(dose.value, dose.unit, *both)
    name = placed.pigments[0] if placed and len(placed.pigments) == 1 else None
    solids = dosing.pigment_in(rate, name.solids_percent if name else None)
    maxima = (exact(name.max_percent_of_cement),) if name and name.max_percent_of_cement is not None else ()
    dosing.check_limit(solids, both[0], maxima)
    plan = dosing.plan_pigment("pigment", rate, loads_yd3, request.pack_lb)
    weights = tuple(load.pigment_lb for load in plan.loads)
    part = PigmentPart(
        name=name.name if name else "pigment",
        maker=name.maker if name else None,
        lot=name.lots[0] if name and len(name.lots) == 1 else None,
        dose_lb_per_yd3=rate,
        total_lb=plan.total_lb,
        loads_lb=weights,
        loads=plan.loads,
    )
    rates = dosing.rates(solids, *both) if cement is not None else None
    return PigmentPlan(
        dose_lb_per_yd3=rate,
        total_lb=plan.total_lb,
        kept="lb/yd3",
        other_dose_lb_per_yd3=None,
        percent_of_cementitious=rates.percent_of_cementitious if rates else None,
        percent_of_cement=rates.percent_of_cement if rates else None,
        parts=(part,),
        loads=plan.loads,
    )


def _tell_plant(placed: AsPlaced | None, system: str) -> tuple[str, ...]:
    """What to say on the phone, so that the balance load is the same concrete."""
    from finishlog.desk import words

    lines = [f"the same mix: {words.mix(mix, system)}" for mix in (placed.mixes if placed else ())]
    lots = [lot for pigment in (placed.pigments if placed else ()) for lot in pigment.lots]
    if lots:
        lines.append(f"the same pigment, lot {words.listed(lots)}")
    slumps = [write("depth_in", exact(slump), system) for slump in sorted(placed.slump_in if placed else ())]
    if slumps:
        lines.append("slump " + " to ".join(dict.fromkeys((slumps[0], slumps[-1]))) + ", as before")
    last = ("the same admixtures and water-cement ratio", "no water after the color", "a clean drum")
    return (*lines, *last)


def _cautions(
    plan: LoadPlan | None, shop: Shop, pigment: PigmentPlan | None, system: str
) -> tuple[Caution, ...]:
    if plan is None:
        return cautions("finishing")
    lines = [
        f"{write('volume_yd3', plan.loads_yd3[number - 1], system)} is under the plant's minimum: ask the plant."
        for number in plan.below_minimum
    ]
    if pigment is not None and plan.badly_mixed:
        well = write("volume_yd3", shop.smallest_colored_load_yd3, system)
        lines.append(f"Under {well} color mixes poorly: {well} matches better; pour the rest as samples.")
    return tuple(Caution("load", line) for line in lines) + cautions("order", "integral_color")
