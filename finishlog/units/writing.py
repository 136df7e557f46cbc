"""Quantity to text that the readers accept."""

from __future__ import annotations

from fractions import Fraction

from finishlog.units.tables import QUANTITIES, F


def fixed(value: Fraction, digits: int) -> str:
    """`value` with `digits` decimals, half away from zero, exact (no binary rounding)."""
    scaled = abs(value) * 10**digits
    whole = (2 * scaled.numerator + scaled.denominator) // (2 * scaled.denominator)
    text = str(whole).rjust(digits + 1, "0")
    sign = "-" if value < 0 and whole else ""
    return f"{sign}{text[:-digits]}.{text[-digits:]}" if digits else sign + text


def plain(value: Fraction, digits: int = 3) -> str:
    """`value` with at most `digits` decimals and no trailing zeros: 4, 4.5, 22.56."""
    text = fixed(value, digits)
    return text.rstrip("0").rstrip(".") if "." in text else text


def write(key: str, value: Fraction, units: str = "us", digits: int | None = None) -> str:
    """A quantity of `QUANTITIES` in its base unit as text that `read` takes; `units` is us or metric."""
    quantity = QUANTITIES[key]
    unit, label, usual = quantity.metric if units == "metric" else quantity.us
    number = fixed(_in_unit(key, value, unit), usual if digits is None else digits)
    if label == "$":
        return f"-${number[1:]}" if number.startswith("-") else f"${number}"
    return f"{number}°" if label == "°" else f"{number} {label}"


def _in_unit(key: str, value: Fraction, unit: str) -> Fraction:
    if key == "temperature_f":
        return (value - 32) * 5 / 9 if unit == "c" else value
    return value / QUANTITIES[key].factors.get(unit, F(1))


def write_length(feet: Fraction, units: str = "us") -> str:
    """Feet as `24.50 ft` or `7.47 m`."""
    return write("length_ft", feet, units)


def write_volume(yards: Fraction, units: str = "us") -> str:
    """Cubic yards as `6.50 yd³` or `4.97 m³`."""
    return write("volume_yd3", yards, units)


def write_feet_inches(feet: Fraction, units: str = "us") -> str:
    """Feet as `24' 6 1/2"`, to the sixteenth of an inch; metric as `7.48 m`."""
    if units == "metric":
        return write("length_ft", feet, units)
    sixteenths = int(fixed(abs(feet) * 192, 0))
    whole, rest = divmod(sixteenths, 192)
    inches, part = divmod(rest, 16)
    fraction = f" {Fraction(part, 16)}" if part else ""
    sign = "-" if feet < 0 and sixteenths else ""
    return f"{sign}{whole}' {inches}{fraction}\""


def ounces(pounds: Fraction) -> int:
    """Pounds (not negative) to whole ounces, half up."""
    return int(fixed(pounds * 16, 0))


def write_weight_lb_oz(pounds: Fraction, units: str = "us") -> str:
    """Pounds (not negative) to the ounce, `13 lb 7 oz`; metric as `6.10 kg`."""
    if units == "metric":
        return write("mass_lb", pounds, units)
    whole, rest = divmod(ounces(pounds), 16)
    if not rest:
        return f"{whole} lb"
    return f"{whole} lb {rest} oz" if whole else f"{rest} oz"


def exact(value: float | Fraction) -> Fraction:
    """The number as written: 22.56 is 2256/100, not the nearest binary fraction."""
    return value if isinstance(value, Fraction) else Fraction(repr(value))


def alike(one: float | Fraction, other: float | Fraction) -> bool:
    """Equal to one part in a billion: the log keeps floats, typed values are exact."""
    first, second = exact(one), exact(other)
    return abs(first - second) * 10**9 <= max(abs(first), abs(second))


def write_number(value: float | Fraction, digits: int = 2) -> str:
    """A bare number for people: half away from zero, no trailing zeros."""
    return plain(exact(value), digits)


def count(number: int, what: str) -> str:
    """`1 load`, `3 loads`."""
    return f"{number} {what}" if number == 1 else f"{number} {what}s"


def chance(probability: Fraction | float) -> str:
    """A chance as people say it: `7 in 10`, `4 in 100`, `under 1 in 1000`."""
    p = float(probability)
    if p < 0.0005:
        return "under 1 in 1000"
    if p < 0.01:
        return f"{max(1, round(p * 1000))} in 1000"
    if p < 0.1:
        return f"{round(p * 100)} in 100"
    return f"{min(9, round(p * 10))} in 10" if p < 0.95 else f"{min(99, round(p * 100))} in 100"
