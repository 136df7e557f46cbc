"""The answer of `balance` in words, action first."""

from __future__ import annotations

from fractions import Fraction

from finishlog.desk.balance.answer import BalanceAnswer
from finishlog.trade.pour.balance import STATES, STIFF, BagPart, Bags
from finishlog.units import fixed, plain, write, write_feet_inches, write_weight_lb_oz

LITERS_IN_FT3 = Fraction("28.316846592")
GRAMS_IN_OZ = Fraction("28.349523125")
"""Exact."""


def sentence(answer: BalanceAnswer, system: str = "us") -> str:
    """The one thing to do now."""
    if answer.advice is None:
        return "The truck has enough: order nothing."
    if answer.state == STIFF:
        return f"Stop at a joint: the edge {'is' if answer.edge.now == STIFF else 'will be'} too stiff."
    if answer.band is not None and answer.band.enough:
        return "Leave the band open: the truck finishes the field. Pour the band another day."
    ordered = write("volume_yd3", answer.advice.best.order_yd3, system)
    if answer.pigment is not None:
        weighed = sum((load.pigment_lb for load in answer.pigment.loads), Fraction(0))
        ordered += f" with {write_weight_lb_oz(weighed, system)} of pigment"
    return f"Order {ordered}; {_truck_and_edge(answer)}."


def _truck_and_edge(answer: BalanceAnswer) -> str:
    """The truck's arrival against the edge's time; asks for whichever is unknown."""
    left, needs = answer.edge.left_minutes, answer.truck_in_minutes
    holds = f"the edge holds about {plain(left, 0)} min" if left is not None else ""
    if needs is None:
        return f"ask how long the truck takes{f': {holds} more' if holds else ''}"
    truck = f"the truck takes {plain(needs, 0)} min"
    return f"{truck}, {holds}" if holds else f"{truck}: feel the edge; its age is unknown"


def truck_lines(answer: BalanceAnswer) -> list[tuple[str, str]]:
    """Whether the truck is in time, by the heat."""
    left, needs = answer.edge.left_minutes, answer.truck_in_minutes
    if answer.advice is None:
        return []
    if needs is None:
        return [("Truck", "time unknown: ask the plant, then compare with the edge")]
    said = f"needs {plain(needs, 0)} min"
    if left is not None:
        spare = left - needs
        late = f"{plain(-spare, 0)} min too late" if spare < 0 else "too late"
        said += f"; {f'{plain(spare, 0)} min to spare' if answer.in_time else late}"
    elif answer.in_time is False:
        said += "; the edge is too stiff"
    else:
        said += f"; a fresh edge holds {plain(answer.edge.stop_minutes, 0)} min: how old is this one?"
    return [("Truck", said)]


def way_lines(answer: BalanceAnswer, system: str = "us") -> list[tuple[str, str]]:
    """What can be done in place of a truck, each with what it leaves."""
    if answer.advice is None:
        return []
    lines = [
        ("Bulkhead", f"at {_to_the_inch(stop.fills_ft, system)} or sooner: on a pattern line or a planned joint, "
                     "full depth; pour the rest another day")
        for stop in answer.stops
        if stop.fills_ft > 0
    ]  # fmt: skip
    if answer.bags is not None:
        lines += _bag_lines(answer.bags, system)
    return lines


def _bag_lines(bags: Bags, system: str) -> list[tuple[str, str]]:
    size, rest = write("mass_lb", bags.bag_lb, system, 0), write("volume_yd3", bags.rest_yd3, system)
    made = (
        f"{plain(bags.yield_ft3 * LITERS_IN_FT3, 0)} L"
        if system == "metric"
        else f"{plain(bags.yield_ft3)} ft³"
    )
    lines = [
        (
            "Bags",
            f"{bags.bags} of {size} for {rest} ({made} each by the shop's setting; go by the bag's print)",
        )
    ]
    return [*lines, *(("", _bag_part(part, system)) for part in bags.parts)]


def _bag_part(part: BagPart, system: str) -> str:
    if part.lb_per_bag is None or part.total_lb is None:
        return f"{part.name}: amount depends on the cement in a bag and in the mix; both are needed"
    ounces = part.lb_per_bag * 16
    each = f"{plain(ounces * GRAMS_IN_OZ, 0)} g" if system == "metric" else f"{plain(ounces, 1)} oz"
    return f"{part.name}: {write_weight_lb_oz(part.total_lb, system)} total, {each} weighed into each bag"


def remaining_lines(answer: BalanceAnswer, system: str = "us") -> list[tuple[str, str]]:
    """What remains and what is missing."""
    mean = Fraction(str(round(answer.error.mean_in, 2)))
    deep = f"{write('depth_in', abs(mean), system)} {'deeper' if mean >= 0 else 'shallower'} than planned"
    whence = f"{answer.error.past} of your slabs" if answer.error.past else "from memory, none of your slabs"
    return [
        ("Remains", f"{write('area_ft2', answer.take_off.area_ft2, system)}, "
                    f"{write('volume_yd3', answer.volume_yd3, system)} with {deep} ({whence}) "
                    f"and {plain(answer.waste_percent)} % waste"),
        ("On the truck", write("volume_yd3", answer.left_yd3, system)),
        ("Missing", write("volume_yd3", answer.short_yd3, system)),
    ]  # fmt: skip


def edge_lines(answer: BalanceAnswer, system: str = "us") -> list[tuple[str, str]]:
    """How stiff the edge is, against the clock."""
    edge = answer.edge
    heat = (
        "air not given; hot-weather limits used"
        if edge.air_f is None
        else write("temperature_f", edge.air_f, system)
    )
    now = f"{plain(edge.minutes, 0)} min old" if edge.minutes is not None else "age unknown"
    state = STATES[edge.now] if edge.now else "go by feel, not the clock"
    lines = [("Edge", f"{state} ({'by hand' if edge.felt else now})")]
    if edge.at_arrival is not None:
        lines.append(("At arrival", STATES[edge.at_arrival]))
    lines.append(
        ("The clock", f"hurry from {plain(edge.hurry_minutes, 0)} min, stop at "
                      f"{plain(edge.stop_minutes, 0)} min ({heat}; common practice, no source)")
    )  # fmt: skip
    return lines


def stop_lines(answer: BalanceAnswer, system: str = "us") -> list[tuple[str, str]]:
    """Where a joint or a band could stop it."""
    lines = [
        ("Joint", f"the truck fills {_to_the_inch(stop.fills_ft, system)} of "
                  f"{write_feet_inches(stop.of_ft, system)}, {write_feet_inches(stop.width_ft, system)} wide; "
                  f"{write('area_ft2', stop.rest_ft2, system)} beyond it")
        for stop in answer.stops
    ]  # fmt: skip
    if answer.band is not None:
        enough = "is enough" if answer.band.enough else "is not enough"
        field = write("volume_yd3", answer.band.field_yd3, system)
        lines.append(("Band", f"band left open, the field needs {field}: the truck's load {enough}"))
    return lines


def _to_the_inch(feet: Fraction, system: str) -> str:
    """Never more than there is."""
    return write_feet_inches(feet if system == "metric" else Fraction(int(feet * 12), 12), system)


def dose_line(answer: BalanceAnswer, system: str = "us") -> str:
    """The dose that is matched, and where it comes from."""
    if answer.pigment is None:
        return "No dose was given (--dose or --job): ask what went in the first loads."
    whence = {
        "loads": "as placed in this job's loads",
        "recipe": "from the recipe: no load shows what was weighed in",
        "asked": "as asked",
    }[answer.dose_from]
    return f"Dose {write('dose_lb_per_yd3', answer.pigment.dose_lb_per_yd3, system)}, {whence}."


def load_lines(answer: BalanceAnswer, system: str = "us") -> list[tuple[str, ...]]:
    """What the plant sends: yards, pigment to the ounce, how it is made up."""
    if answer.pigment is None:
        yards = answer.loads.loads_yd3 if answer.loads else ()
        return [(write("volume_yd3", each, system),) for each in yards]
    return [
        (
            write("volume_yd3", load.yards, system),
            f"{part.name} {write_weight_lb_oz(made.pigment_lb, system)}",
            _made_up(made.packs, made.remainder_lb, made.rounding_error_percent, system),
        )
        for number, load in enumerate(answer.pigment.loads)
        for part in answer.pigment.parts
        for made in (part.loads[number],)
    ]


def _made_up(packs: int | None, rest: Fraction | None, off: Fraction | None, system: str) -> str:
    if packs is None or rest is None:
        return "weighed"
    sign = "+" if off is not None and off > 0 else ""
    whole = f"; whole packs alone: {sign}{fixed(off, 1)} %" if off is not None else ""
    return f"{packs} pack{'' if packs == 1 else 's'} and {write_weight_lb_oz(rest, system)} weighed{whole}"


def leftover_line(answer: BalanceAnswer, system: str = "us") -> str:
    """Where the leftover goes."""
    if answer.advice is None or answer.leftover_yd3 <= 0:
        return ""
    about = write("volume_yd3", answer.leftover_yd3, system)
    if not answer.samples:
        return f"About {about} may be left."
    return (
        f"About {about} may be left: have 2 × 2 ft sample forms ready (room for {answer.samples} at this "
        "depth), one from this load above all. Number them, keep them, seal half of each."
    )
