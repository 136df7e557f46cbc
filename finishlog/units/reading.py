"""Text to quantity in trade notation, or an `InputError` with a correct example."""

from __future__ import annotations

import re
from fractions import Fraction

from finishlog.errors import InputError
from finishlog.units.tables import GLYPHS, LENGTH, QUANTITIES, SIGNS, WORDS, Dose, F, Quantity
from finishlog.units.writing import plain, write

LONGEST_TEXT = 40

_NUMBER = r"\d+[ -]\d+/\d+|\d+/\d+|\d*\.\d+|\d+"
_NUMBER_AND_UNIT = rf"({_NUMBER}) *(.*)"
_COMPOUNDS = tuple(
    (big, small, rf"(\d+) *(?:{bigs}) *-? *({_NUMBER}) *(?:{smalls})", ratio)
    for big, bigs, small, smalls, ratio in (
        ("ft", r"'|ft\.?|feet|foot", "in", r"|\"|''|in\.?|inch|inches", 12),
        ("lb", r"lbs?\.?|pounds?|#", "oz", r"oz\.?|ounces?", 16),
        ("h", r"h|hrs?|hours?", "min", r"|min|mins|minutes?", 60),
    )
)
_RAISED = r"(?<![A-Za-z])[²³]"  # not part of a unit: 4² is not 42
_FEET_DASH_INCHES = r"(\d+)-(\d+(?: \d+/\d+)?|\d*\.\d+) *\"?"


def shown(text: str, longest: int = LONGEST_TEXT) -> str:
    """Text safe for a message: control, bidi and other unprintable characters made visible, cut short."""
    seen = "".join(c if c.isprintable() else f"\\u{ord(c):04x}" for c in text[: longest + 1])
    return seen[:longest] + "…" if len(seen) > longest else seen


def number_from(text: str) -> Fraction | None:
    """`5`, `5.5`, `.5`, `1/2`, `5 1/2` or `5-1/2` as a Fraction; None for anything else."""
    if not re.fullmatch(_NUMBER, text, re.ASCII):
        return None
    whole, _, part = text.replace("-", " ").rpartition(" ")
    if "/" not in part:
        return Fraction(part)
    top, bottom = (int(piece) for piece in part.split("/"))
    if bottom == 0 or (whole and top >= bottom):
        return None
    return int(whole or 0) + Fraction(top, bottom)


def read(
    key: str, text: str, *, positive: bool = True, signed: bool = False, high: Fraction | None = None
) -> Fraction:
    """Read one quantity of `QUANTITIES` into its base unit (the unit in the key).

    `positive` refuses zero, `signed` allows a minus sign, `high` lowers the upper limit. A percentage
    under 0.1 without its sign is ambiguous. Raises InputError.
    """
    if key == "temperature_f":
        return read_temperature_f(text)
    quantity = QUANTITIES[key]
    clean = _clean(text, quantity)
    minus = clean.startswith("-")
    if minus and not signed:
        raise _wrong(quantity, text, "It is negative.")
    value = _value(clean.removeprefix("-").strip(), text, quantity)
    if value == 0 and positive and not signed:
        raise _wrong(quantity, text, "It is zero, and must be more than zero.")
    limit = quantity.high if high is None else high
    if value > limit:
        raise _wrong(quantity, text, f"It is more than {plain(limit)} {quantity.us[1]}.")
    if key == "percent" and 0 < value < F(1, 10) and clean[-1].isdigit():
        meant = f"{plain(value * 100, 6)} % or {plain(value, 6)} %"
        raise InputError(f"“{shown(text)}” may mean {meant}.", "Write it with the % sign.", example=meant)
    return -value if minus else value


def _clean(text: str, quantity: Quantity) -> str:
    if len(text) > LONGEST_TEXT:
        raise _wrong(quantity, text[:12] + "…", f"It is longer than {LONGEST_TEXT} characters.")
    if re.search(_RAISED, text):
        raise _wrong(quantity, text, "Use the digits 0 to 9 only.")
    tidy = text.strip().translate(SIGNS).strip()
    for glyph, digits in GLYPHS.items():
        tidy = tidy.replace(glyph, f" {digits}")
    if not tidy:
        raise InputError(f"No value for {quantity.what} was given.", example=quantity.example)
    if any(c.isdigit() for c in tidy if not c.isascii()):
        raise _wrong(quantity, text, "Use the digits 0 to 9 only.")
    if "," in tidy:
        raise _wrong(quantity, text, "No commas: write 6.5 with a point, and 1200 plain.")
    if not (tidy.isascii() and tidy.isprintable()):
        raise _wrong(quantity, text, "It was not understood.")
    return re.sub(r" +", " ", tidy.strip()).lower()


def _value(clean: str, text: str, quantity: Quantity) -> Fraction:
    if quantity is QUANTITIES["money"]:
        clean = clean.removeprefix("$").strip()
    compound = _compound(clean, quantity)
    if compound is not None:
        return compound
    match = re.fullmatch(_NUMBER_AND_UNIT, clean, re.ASCII)
    number = number_from(match[1]) if match else None
    if match is None or number is None:
        raise _wrong(quantity, text, "It was not understood.")
    if "-" in match[1] and not match[2]:
        raise _wrong(quantity, text, "It can be read two ways.")
    return number * _factor(match[2], text, quantity)


def _factor(unit_text: str, text: str, quantity: Quantity) -> Fraction:
    unit = unit_of(unit_text) if unit_text else quantity.bare
    if unit is None:
        raise _wrong(quantity, text, "It has no unit.")
    factor = quantity.factors.get(unit)
    if factor is None:
        known = any(unit in other.factors for other in QUANTITIES.values())
        raise _wrong(quantity, text, "The unit does not fit." if known else "It was not understood.")
    return factor


def _compound(clean: str, quantity: Quantity) -> Fraction | None:
    """Feet and inches, pounds and ounces, hours and minutes; the smaller part under one of the larger."""
    for big, small, pattern, ratio in _COMPOUNDS:
        fits = big in quantity.factors and small in quantity.factors
        if fits and (match := re.fullmatch(pattern, clean, re.ASCII)):
            return _two_parts(match, quantity.factors[big], ratio)
    if quantity.factors is LENGTH and (match := re.fullmatch(_FEET_DASH_INCHES, clean, re.ASCII)):
        return _two_parts(match, F(1), 12)
    return None


def _two_parts(match: re.Match[str], big: Fraction, ratio: int) -> Fraction | None:
    rest = number_from(match[2])
    if rest is None or rest >= ratio:
        return None
    return (int(match[1]) + rest / ratio) * big


def unit_of(text: str) -> str:
    """A unit as the tables spell it: `Sq. Ft.` is ft2, `lb per 100 sq ft` is lb/100ft2."""
    tidy = re.sub(r"\s*(?:/|\bper\b)\s*", " / ", text.replace("^", ""))
    words = [WORDS.get(word.rstrip("."), word.rstrip(".")) for word in tidy.split()]
    squared = re.sub(r"\bsq (\w+)", r"\g<1>2", " ".join(words))
    return re.sub(r"\bcu (\w+)", r"\g<1>3", squared).replace("deg ", "").replace(" ", "")


def _wrong(quantity: Quantity, text: str, cause: str) -> InputError:
    return InputError(f"“{shown(text)}” cannot be used as {quantity.what}.", cause, example=quantity.example)


def read_product(text: str, keys: tuple[str, ...], example: str) -> tuple[Fraction, ...]:
    """Sizes with an x between them (`24x18`, `24'6" x 18'`), each a quantity of `keys`, more than zero."""
    parts = re.split(r"\s*[x×*]\s*|\s+by\s+", text.strip(), flags=re.IGNORECASE)
    if len(parts) != len(keys) or len(text) > LONGEST_TEXT * len(keys):
        cause = f"It needs {len(keys)} sizes with an x between them."
        raise InputError(f"“{shown(text)}” was not understood.", cause, example=example)
    return tuple(read(key, part) for key, part in zip(keys, parts, strict=True))


def read_length_ft(text: str, *, positive: bool = True, signed: bool = False) -> Fraction:
    """A plan length in feet; a bare number is feet."""
    return read("length_ft", text, positive=positive, signed=signed)


def read_depth_in(text: str, *, positive: bool = True, signed: bool = False) -> Fraction:
    """A depth in inches; a bare number is inches."""
    return read("depth_in", text, positive=positive, signed=signed)


def read_depth_off_in(text: str) -> Fraction:
    """Depth off plan in inches, negative is shallower; over a foot is a hole, not an error."""
    value = read_depth_in(text, signed=True)
    if abs(value) > 12:
        cause = "More than a foot is a hole: measure it as an edge."
        raise InputError(f"“{shown(text)}” is no depth error.", cause, example="0.25 or 6 mm")
    return value


def read_slump_in(text: str) -> Fraction:
    """A slump in inches, 0 to 12: the cone is 12 in tall (common practice, no source)."""
    value = read("depth_in", text, positive=False)
    if value > 12:
        cause = "A slump cone is 12 in tall."
        raise InputError(f"“{shown(text)}” is no slump.", cause, example="4 in, 4 1/2 in or 100 mm")
    return value


def read_area_ft2(text: str, *, positive: bool = True) -> Fraction:
    """An area in square feet; a bare number is square feet."""
    return read("area_ft2", text, positive=positive)


def read_volume_yd3(text: str, *, positive: bool = True) -> Fraction:
    """A volume of concrete in cubic yards; a bare number and `yd` are cubic yards."""
    return read("volume_yd3", text, positive=positive)


def read_mass_lb(text: str, *, positive: bool = True) -> Fraction:
    """A weight in pounds; a bare number is pounds."""
    return read("mass_lb", text, positive=positive)


def read_content_lb_per_yd3(text: str, *, positive: bool = True) -> Fraction:
    """Cement or other cementitious in lb/yd3; a bare number is lb/yd3, a sack is 94 lb."""
    return read("content_lb_per_yd3", text, positive=positive)


def read_liquid_gal(text: str, *, positive: bool = True) -> Fraction:
    """A liquid in US gallons; a bare number is gallons."""
    return read("liquid_gal", text, positive=positive)


def read_spread(text: str, *, positive: bool = True) -> Fraction:
    """A powder's spread in lb per 100 ft2, also when bare."""
    return read("spread", text, positive=positive)


def read_coverage(text: str) -> Fraction:
    """A liquid's coverage in ft2 per US gallon, also when bare."""
    return read("coverage", text)


def read_film_mil(text: str, *, positive: bool = True) -> Fraction:
    """A film thickness in mil (thousandths of an inch), also when bare."""
    return read("film_mil", text, positive=positive)


def read_speed_mph(text: str, *, positive: bool = False) -> Fraction:
    """A wind speed in miles per hour, also when bare."""
    return read("speed_mph", text, positive=positive)


def read_pressure_psi(text: str) -> Fraction:
    """A washer's pressure in psi, also when bare."""
    return read("pressure_psi", text)


def read_hours(text: str, *, positive: bool = True) -> Fraction:
    """A time span in hours, also when bare; `90 min`, `1 h 30 min` and `2 d` are read."""
    return read("hours", text, positive=positive)


def read_money(text: str, *, positive: bool = False) -> Fraction:
    """An amount of money, with or without `$`; zero is an amount."""
    return read("money", text, positive=positive)


def read_percent(text: str, *, positive: bool = True, high: Fraction | None = None) -> Fraction:
    """A percentage, 0 to 100: 4 and `4 %` are 4.

    Under 0.1 without the sign raises InputError: 0.04 may mean 4 %.
    """
    return read("percent", text, positive=positive, high=high)


def read_dose(text: str) -> Dose:
    """A pigment dose with its unit as written: lb/yd3, lb/sack, % of cementitious or kg/m3; never bare."""
    value = read("dose", text)
    unit = unit_of(re.sub(rf"^(?:{_NUMBER})", "", _clean(text, QUANTITIES["dose"]), count=1, flags=re.ASCII))
    if unit == "%" and value > 100:
        raise _wrong(QUANTITIES["dose"], text, "It is more than 100 %.")
    return Dose(value, unit)


def read_temperature_f(text: str) -> Fraction:
    """A temperature in degrees Fahrenheit, from -60 to 250, also when bare; `24 C` is read."""
    quantity = QUANTITIES["temperature_f"]
    clean = _clean(text, quantity)
    degrees = _value(clean.removeprefix("-"), text, quantity) * (-1 if clean.startswith("-") else 1)
    celsius = unit_of(re.sub(r"^-?[\d./ ]+", "", clean)) == "c"
    value = degrees * 9 / 5 + 32 if celsius else degrees
    if not -60 <= value <= quantity.high:
        raise _wrong(quantity, text, "It is not between -60 and 250 °F.")
    return value


def read_count(text: str, *, positive: bool = True, high: int = 10000) -> int:
    """A whole number, from 1 (or 0) to `high`."""
    least = 1 if positive else 0
    number = int(text) if re.fullmatch(r" *\d{1,9} *", text, re.ASCII) else -1
    if not least <= number <= high:
        raise InputError(f"“{shown(text)}” is not a whole number from {least} to {high}.", example="4")
    return number


def read_ratio(text: str) -> Fraction:
    """A ratio by parts: `1:20` is 1/20, `2:1` is 2."""
    match = re.fullmatch(rf" *({_NUMBER}) ?: ?({_NUMBER}) *", text[: LONGEST_TEXT + 1], re.ASCII)
    first, second = (number_from(match[1]), number_from(match[2])) if match else (None, None)
    if not first or not second or len(text) > LONGEST_TEXT:
        raise InputError(f"“{shown(text)}” is not a ratio by parts.", example="1:20 or 2:1")
    return first / second


def echo(key: str, text: str, units: str = "us") -> str:
    """A quantity as understood while it is typed; empty while invalid."""
    try:
        value = read(key, text, positive=False)
    except InputError:
        return ""
    return write(key, value, units)
