"""Every quantity with its units, their exact factors, its limits and an example.

Factors are exact: international yard and pound of 1959 (1 ft = 0.3048 m, 1 lb = 0.45359237 kg), US gallon of
231 in3 (3.785411784 L), standard gravity 9.80665 m/s2 in the psi.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction

F = Fraction
LB_PER_SACK = F(94)
"""One US sack of cement, 94 lb = 1 ft3 loose (PCA, as cited in the agricultural-mechanics lesson "Estimating
Concrete Construction and Material Cost")."""

_FT, _LB, _GAL = F("0.3048"), F("0.45359237"), F("3.785411784")
_YD3 = (3 * _FT) ** 3
_PSI = _LB * F("9.80665") / (_FT / 12) ** 2


@dataclass(frozen=True, slots=True)
class Quantity:
    """How one quantity is written.

    `factors` convert a unit to the base unit, `bare` is the unit of a bare number (None: a unit is required),
    `high` the largest plausible value, `us` and `metric` the unit, its label and the usual decimals.
    """

    what: str
    factors: Mapping[str, Fraction]
    bare: str | None
    high: Fraction
    us: tuple[str, str, int]
    metric: tuple[str, str, int]
    example: str


@dataclass(frozen=True, slots=True)
class Dose:
    """A pigment dose as written: `unit` is lb/yd3, lb/sack, % (of cementitious mass) or kg/m3."""

    value: Fraction
    unit: str


LENGTH = {"ft": F(1), "in": F(1, 12), "yd": F(3), "m": 1 / _FT, "cm": 1 / _FT / 100, "mm": 1 / _FT / 1000}
_INCHES = {unit: factor * 12 for unit, factor in LENGTH.items()}
_AREA = {"ft2": F(1), "yd2": F(9), "in2": F(1, 144), "m2": 1 / _FT**2}
_VOLUME = {"yd3": F(1), "yd": F(1), "ft3": F(1, 27), "m3": 1 / _YD3, "l": 1 / _YD3 / 1000}
_MASS = {"lb": F(1), "oz": F(1, 16), "kg": 1 / _LB, "g": 1 / _LB / 1000}
_LIQUID = {"gal": F(1), "qt": F(1, 4), "pt": F(1, 8), "floz": F(1, 128), "l": 1 / _GAL, "ml": 1 / _GAL / 1000}
POUNDS_IN = {unit: _MASS[unit] for unit in ("lb", "oz", "kg")}
"""Pounds per unit of weight, by the log's unit names."""
GALLONS_IN = {"gal": _LIQUID["gal"], "fl oz": _LIQUID["floz"], "L": _LIQUID["l"]}
"""Gallons per unit of liquid, by the log's unit names."""
_CONTENT = {"lb/yd3": F(1), "lb": F(1), "sack": LB_PER_SACK, "sack/yd3": LB_PER_SACK, "kg/m3": _YD3 / _LB}
_DOSE = {"lb/yd3": F(1), "lb/sack": F(1), "%": F(1), "kg/m3": F(1)}
_RATE = {"lb/yd3": F(1), "kg/m3": _YD3 / _LB}
_SPREAD = {"lb/100ft2": F(1), "lb/ft2": F(100), "kg/m2": 100 * _FT**2 / _LB, "g/m2": _FT**2 / _LB / 10}
_COVERAGE = {"ft2/gal": F(1), "m2/l": _GAL / _FT**2}
_MIL = {"mil": F(1), "um": 1 / F("25.4"), "mm": 1000 / F("25.4")}
_SPEED = {"mph": F(1), "km/h": 1 / F("1.609344"), "kmh": 1 / F("1.609344"), "m/s": 1 / F("0.44704")}
_PRESSURE = {"psi": F(1), "bar": 100000 / _PSI, "kpa": 1000 / _PSI, "mpa": 1000000 / _PSI}
_HOURS = {"h": F(1), "min": F(1, 60), "d": F(24)}
_DENSITY = {"lb/gal": F(1), "kg/l": _GAL / _LB, "g/ml": _GAL / _LB}
_MONEY = {"$": F(1), "usd": F(1)}
_DEGREES = {"f": F(1), "c": F(1)}

_M = F(1000000)
_HOUR, _DOLLAR, _ANGLE, _SIGN = ("h", "h", 1), ("$", "$", 2), ("deg", "°", 0), ("%", "%", 1)
_LB_YD3, _KG_M3 = ("lb/yd3", "lb/yd³", 2), ("kg/m3", "kg/m³", 2)

# fmt: off
QUANTITIES: dict[str, Quantity] = {
    "length_ft": Quantity("a length", LENGTH, "ft", F(100000), ("ft", "ft", 2), ("m", "m", 2),
                          "24 ft, 24'6\", 24-6 1/2 or 7.5 m"),
    "depth_in": Quantity("a depth", _INCHES, "in", F(2400), ("in", "in", 2), ("mm", "mm", 0),
                         "4 in, 4 1/2 in or 100 mm"),
    "area_ft2": Quantity("an area", _AREA, "ft2", _M * 100, ("ft2", "ft²", 1), ("m2", "m²", 2),
                         "445 ft2 or 41 m2"),
    "volume_yd3": Quantity("a volume", _VOLUME, "yd3", _M, ("yd3", "yd³", 2), ("m3", "m³", 2),
                           "5 1/2 yd, 148 ft3 or 4.2 m3"),
    "mass_lb": Quantity("a weight", _MASS, "lb", _M * 10, ("lb", "lb", 2), ("kg", "kg", 2),
                        "24 lb 6 oz, 24.4 lb or 11 kg"),
    "liquid_gal": Quantity("a liquid volume", _LIQUID, "gal", _M, ("gal", "gal", 1), ("l", "L", 1),
                           "2.5 gal or 9.5 L"),
    "content_lb_per_yd3": Quantity("a cement content", _CONTENT, "lb/yd3", F(2000), ("lb/yd3", "lb/yd³", 0),
                                   ("kg/m3", "kg/m³", 0), "564 lb/yd3, 6 sack or 335 kg/m3"),
    "dose": Quantity("a dose", _DOSE, None, F(2000), _LB_YD3, _KG_M3,
                     "7 lb/yd3, 1.5 lb/sack, 4 % or 13 kg/m3"),
    "dose_lb_per_yd3": Quantity("a dose", _RATE, "lb/yd3", F(2000), _LB_YD3, _KG_M3, "7 lb/yd3 or 13 kg/m3"),
    "percent": Quantity("a percentage", {"%": F(1)}, "%", F(100), _SIGN, _SIGN, "4 or 4 %"),
    "spread": Quantity("a spread", _SPREAD, "lb/100ft2", F(10000), ("lb/100ft2", "lb/100 ft²", 2),
                       ("kg/m2", "kg/m²", 3), "3.5 lb/100 ft2 or 0.17 kg/m2"),
    "coverage": Quantity("a coverage", _COVERAGE, "ft2/gal", F(100000), ("ft2/gal", "ft²/gal", 0),
                         ("m2/l", "m²/L", 2), "225 ft2/gal or 5.5 m2/L"),
    "film_mil": Quantity("a film thickness", _MIL, "mil", F(1000), ("mil", "mil", 2), ("um", "µm", 0),
                         "8 mil or 200 um"),
    "speed_mph": Quantity("a speed", _SPEED, "mph", F(300), ("mph", "mph", 1), ("km/h", "km/h", 1),
                          "12 mph or 19 km/h"),
    "pressure_psi": Quantity("a pressure", _PRESSURE, "psi", F(60000), ("psi", "psi", 0), ("bar", "bar", 1),
                             "2000 psi or 138 bar"),
    "density_lb_per_gal": Quantity("a density", _DENSITY, "lb/gal", F(200), ("lb/gal", "lb/gal", 2),
                                   ("kg/l", "kg/L", 3), "13 lb/gal or 1.56 kg/L"),
    "hours": Quantity("a time span", _HOURS, "h", F(100000), _HOUR, _HOUR, "26 h, 1 h 30 min or 2 d"),
    "money": Quantity("an amount of money", _MONEY, "$", _M * 100, _DOLLAR, _DOLLAR, "165 or $165.50"),
    "angle_deg": Quantity("an angle", {"deg": F(1)}, "deg", F(180), _ANGLE, _ANGLE, "25 or 25 deg"),
    "temperature_f": Quantity("a temperature", _DEGREES, "f", F(250), ("f", "°F", 0), ("c", "°C", 1),
                              "75 F or 24 C"),
}

GLYPHS = {"½": "1/2", "¼": "1/4", "¾": "3/4", "⅓": "1/3", "⅔": "2/3",
          "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8"}
SIGNS = str.maketrans({
    "′": "'", "’": "'", "‘": "'", "″": '"', "”": '"', "“": '"', "²": "2", "³": "3", "°": " deg ",
    "µ": "u", "μ": "u", "×": "x", "−": "-", "–": "-", "\u00a0": " ", "\u202f": " ",
})
WORDS = {
    "feet": "ft", "foot": "ft", "'": "ft", "inches": "in", "inch": "in", '"': "in", "''": "in",
    "yards": "yd", "yard": "yd", "yds": "yd", "meters": "m", "meter": "m", "metres": "m", "metre": "m",
    "pounds": "lb", "pound": "lb", "lbs": "lb", "#": "lb", "ounces": "oz", "ounce": "oz", "gallons": "gal",
    "gallon": "gal", "gals": "gal", "liters": "l", "liter": "l", "litres": "l", "litre": "l",
    "sacks": "sack", "sk": "sack", "percent": "%", "pct": "%", "square": "sq", "cubic": "cu",
    "degrees": "deg", "fahrenheit": "f", "celsius": "c", "hours": "h", "hour": "h", "hr": "h", "hrs": "h",
    "minutes": "min", "minute": "min", "days": "d", "day": "d", "mils": "mil", "microns": "um",
    "micron": "um", "cy": "yd3", "cf": "ft3", "sf": "ft2", "sqft": "ft2", "kph": "km/h", "dollars": "$",
}
# fmt: on
