"""The shop's settings: prices, ages, limits. Each has a default, a range and a source; all can be changed.

`Shop` is the one list: a setting by its class, its value by an instance; `Shop.from_values` reads a log's.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import TypeVar

from finishlog import units
from finishlog.errors import InputError, naming

Value = Fraction | int | tuple[int, ...]
Whole = TypeVar("Whole", int, tuple[int, ...])
PRACTICE = "common practice, from memory, no source"
OURS = "the shop's own; a starting value, from memory"
JOINTS = "ACI 302.1R-96 as a trade magazine quotes it: 24 to 36 times the thickness, 18 ft at most"
PANELS = "ACI 302.1R-80 §2.3.2 as a trade magazine quotes it: 1.5"
EVAPORATION = "Concrete International Q&A, as a project-specification limit"
PHONES = "a study of eight photos of a card: phones' came out 3 to 7"
TEETH = (
    "the shop's own; published limits (Paravina et al. 2015: 0.8 perceptible, 1.8 acceptable) are of teeth"
)
MONTHS_OF_YEAR = "months of the year"
DAYS_OF_YEAR = "days, like 12-25 or 2026-11-27"
F = Fraction


@dataclass(frozen=True, slots=True)
class Setting:
    """One setting: `unit` as displayed, `low` and `high` the accepted range, `source` of the default."""

    title: str
    unit: str
    default: Value
    low: Fraction
    high: Fraction
    source: str
    key: str = ""

    def __set_name__(self, owner: type, name: str) -> None:
        object.__setattr__(self, "key", name)

    def read(self, value: object) -> Value:
        """A value from a log or a form: text with or without its unit, a number, or whole numbers."""
        with naming(self.key):
            found = self._from(value)
        if not all(self.low <= number <= self.high for number in _numbers(found)):
            cause = f"The range is {units.plain(self.low)} to {units.plain(self.high)} {self.unit}."
            raise InputError(f"{self.title}: {_said(found)} is out of range.", cause,
                             where=self.key, example=_said(self.default))  # fmt: skip
        return found

    def said(self, value: Value) -> str:
        """A value with its unit: `3.5 lb/100 ft²`, `$165`."""
        if self.unit == DAYS_OF_YEAR and isinstance(value, tuple):
            return units.write_days_off(value)
        money, _, per = self.unit.partition("/")
        if money == "$":
            return f"${_said(value)}" + (f"/{per}" if per else "")
        return f"{_said(value)} {self.unit}".strip()

    def _from(self, value: object) -> Value:
        if self.unit == MONTHS_OF_YEAR and isinstance(value, str):
            return units.read_months(value)
        if self.unit == DAYS_OF_YEAR and isinstance(value, str):
            return units.read_days_off(value)
        if isinstance(self.default, tuple):
            parts = value.replace(",", " ").split() if isinstance(value, str) else value
            return tuple(units.read_count(str(part)) for part in parts)  # type: ignore[attr-defined]
        if isinstance(self.default, int):
            return units.read_count(str(value), positive=False)
        if isinstance(value, Fraction):
            return value
        return _read_number(self.unit, str(value))


def _numbers(value: Value) -> tuple[Fraction | int, ...]:
    return value if isinstance(value, tuple) else (value,)


def _said(value: Value) -> str:
    return " ".join(units.plain(F(number)) for number in _numbers(value))


_QUANTITY_OF_UNIT = {
    "$/yd³": "money", "$/lb": "money", "$/gal": "money", "$": "money",
    "yd³": "volume_yd3", "%": "percent", "in": "depth_in",
    "lb/yd³": "content_lb_per_yd3", "lb/100 ft²": "spread", "ft²/gal": "coverage", "mil": "film_mil",
    "°F": "temperature_f",
}  # fmt: skip


def _read_number(unit: str, text: str) -> Fraction:
    if unit in _QUANTITY_OF_UNIT:
        return units.read(_QUANTITY_OF_UNIT[unit], text, positive=False)
    number = units.number_from(text.strip())
    if number is None:
        raise InputError(f"“{units.shown(text)}” is not a number.", example="0.1")
    return number


def _amount(title: str, unit: str, default: str, low: str, high: str, source: str = PRACTICE) -> Fraction:
    """Declare a setting whose value is a Fraction."""
    return Setting(title, unit, F(default), F(low), F(high), source)  # type: ignore[return-value]


def _whole(title: str, unit: str, default: Whole, low: str, high: str, source: str = PRACTICE) -> Whole:
    """Declare a setting of whole numbers, one or several as its default."""
    return Setting(title, unit, default, F(low), F(high), source)  # type: ignore[return-value]


class Shop:
    """The settings' values. Money in dollars, percent as 0 to 100, the rest in the unit of the name."""

    price_per_yd3 = _amount("Concrete", "$/yd³", "165", "0", "10000", OURS)
    leftover_per_yd3 = _amount("Leftover disposal", "$/yd³", "45", "0", "10000", OURS)
    short_load_fee = _amount("Short-load fee", "$", "200", "0", "100000", OURS)
    pigment_per_lb = _amount("Pigment", "$/lb", "2.50", "0", "1000", OURS)
    release_per_lb = _amount("Powder release", "$/lb", "3", "0", "1000", OURS)
    sealer_per_gal = _amount("Sealer", "$/gal", "35", "0", "10000", OURS)
    mismatch = _amount("What a color mismatch costs", "$", "600", "0", "1000000", OURS)
    joint = _amount("What a cold joint costs", "$", "250", "0", "1000000", OURS)
    increment_yd3 = _amount("Order in steps of", "yd³", "1/4", "1/20", "5", OURS)
    minimum_yd3 = _amount("Plant minimum load", "yd³", "2", "0", "20", OURS)
    truck_yd3 = _amount("A full truck", "yd³", "9", "1/2", "20", OURS)
    waste_percent = _amount("Waste", "%", "2", "0", "25", OURS)
    probe_sd_in = _amount("Probe uncertainty", "in", "1/2", "1/20", "3", OURS)
    color_percent = _amount("Color, of cementitious", "%", "3", "1", "6")
    pigment_full_percent = _amount(
        "Color levels off around", "%", "5.5", "3.5", "8", "from memory, no source"
    )
    cementitious_lb_per_yd3 = _amount("Cementitious", "lb/yd³", "564", "517", "611")
    slump_in = _amount("Slump", "in", "4.5", "4", "5")
    smallest_colored_load_yd3 = _amount("Smallest load that mixes color well", "yd³", "3", "3", "4")
    off_dose_percent = _amount("Flag a load off by more than", "%", "5", "1", "25", OURS)
    bag_lb = _amount("A bag of concrete", "lb", "80", "40", "100")
    bag_yield_ft3 = _amount("A bag of concrete makes", "ft³", "0.6", "0.3", "0.8")
    bag_rest_yd3 = _amount("Make the rest from bags, up to", "yd³", "1/2", "0", "2", OURS)
    mixing_minutes = _whole("Mix after color", "min", 10, "5", "10")
    release_lb_per_100ft2 = _amount("Powder release", "lb/100 ft²", "3.5", "3", "5")
    liquid_release_ft2_per_gal = _amount("Liquid release", "ft²/gal", "200", "100", "250")
    hardener_lb_per_100ft2 = _amount("Color hardener", "lb/100 ft²", "60", "40", "100")
    truck_minutes = _whole("Truck limit", "min", 90, "45", "90")
    truck_minutes_hot = _whole("Truck limit in heat", "min", 60, "45", "90")
    truck_gap_from_min = _whole("Time to place a load, from", "min", 30, "10", "120")
    truck_gap_to_min = _whole("Time to place a load, to", "min", 60, "15", "180")
    release_from_min = _whole("Release goes on at 70 °F, from", "min", 60, "15", "300")
    release_to_min = _whole("Release goes on at 70 °F, to", "min", 120, "20", "360")
    stamp_from_min = _whole("Stamping starts at 70 °F, from", "min", 90, "20", "360")
    stamp_to_min = _whole("Stamping starts at 70 °F, to", "min", 150, "30", "420")
    stamp_lasts_min = _whole("A load stays stampable at 70 °F", "min", 120, "15", "240")
    stamp_ft2_per_hand_h = _whole("One hand stamps per hour", "ft²", 100, "20", "400")
    mats_per_hand = _whole("Mats per stamping hand", "", 2, "1", "6")
    saw_cut_from_h = _whole("Saw cut from", "h", 6, "4", "24")
    saw_cut_to_h = _whole("Saw cut to", "h", 18, "4", "24")
    joint_times = _amount("Joint spacing, times thickness", "", "30", "24", "36", JOINTS)
    joint_most_ft = _amount("Joint spacing, at most", "ft", "18", "6", "18", JOINTS)
    joint_ratio = _amount("Panel length to width, at most", "", "1.5", "1.25", "2", PANELS)
    rinse_from_h = _whole("Rinse not before", "h", 18, "12", "48")
    rinse_usual_from_h = _whole("Rinse usually from", "h", 24, "12", "72")
    rinse_usual_to_h = _whole("Rinse usually to", "h", 48, "18", "96")
    rinse_to_h = _whole("Rinse not after", "h", 96, "24", "168")
    release_left_percent = _amount("Release left, usual rinse", "%", "25", "10", "40")
    seal_from_day = _whole("Seal not before", "days", 14, "1", "60")
    seal_usual_day = _whole("Seal usually at", "days", 28, "1", "90")
    seal_to_day = _whole("Seal by", "days", 35, "7", "120")
    dry_after_wash_days = _whole("Dry after a wash, at least", "days", 3, "1", "14")
    solids_percent = _amount("Solids of a solvent acrylic, by volume", "%", "25", "18", "30")
    coat_1_ft2_per_gal = _amount("First coat", "ft²/gal", "225", "150", "300")
    coat_2_ft2_per_gal = _amount("Second coat", "ft²/gal", "300", "250", "400")
    relief_percent = _amount("Relief allowance on a stamped area", "%", "10", "5", "20")
    film_alarm_mil = _amount("Film alarm, total", "mil", "6", "4", "8")
    seal_slab_low_f = _amount("Slab temperature to seal, from", "°F", "50", "45", "90")
    seal_slab_high_f = _amount("Slab temperature to seal, to", "°F", "85", "45", "90")
    rain_free_h = _whole("Rain-free after sealing", "h", 24, "12", "48")
    foot_h = _whole("Foot traffic after sealing", "h", 24, "12", "48")
    cars_days = _whole("Cars after sealing", "days", 3, "2", "7")
    reseal_from_years = _whole("Reseal from", "years", 3, "1", "10")
    reseal_to_years = _whole("Reseal to", "years", 5, "1", "15")
    reseal_harsh_from_years = _whole("Reseal at pool, salt or traffic, from", "years", 1, "1", "10")
    reseal_harsh_to_years = _whole("Reseal at pool, salt or traffic, to", "years", 3, "1", "10")
    recoat_from_h = _whole("Second coat from", "h", 2, "1", "12")
    recoat_to_h = _whole("Second coat to", "h", 24, "4", "72")
    seal_humidity_percent = _amount("Humidity to seal, under", "%", "85", "50", "100")
    reseal_worn_months = _whole("Reseal within, if white, peeling or dull", "months", 6, "1", "24")
    reseal_clean_months = _whole("If it looks good, wait another", "months", 12, "0", "36", OURS)
    wipe_every = _whole("Wipe before every Nth reseal", "", 5, "2", "12")
    care_per_week = _whole("Reseals in a week", "", 4, "1", "200", OURS)
    reseal_last_months = _whole("Crew sees a reseal in its last", "months", 3, "1", "60", OURS)
    care_months = _whole("Sealing months", MONTHS_OF_YEAR, (4, 5, 6, 7, 8, 9, 10), "1", "12", OURS)
    days_off = _whole("Days off besides weekends", DAYS_OF_YEAR, (), "101", "21991231", OURS)
    evaporation_care = _amount("Evaporation: take care", "lb/ft²/h", "0.1", "0.01", "1")
    evaporation_stop = _amount("Evaporation: stop and protect", "lb/ft²/h", "0.2", "0.01", "1", EVAPORATION)
    spots_per_area = _whole("Spots per area reading", "", 5, "3", "9")
    first_comparable_day = _whole("First day worth comparing", "days", 28, "7", "90")
    final_color_day = _whole("Final color", "days", 45, "14", "120")
    card_limit_de00 = _amount("Reject a photo's card above", "ΔE00", "8", "3", "15", PHONES)
    gray_card_percent = _amount("A gray card reflects", "%", "18", "5", "90")
    match_de00 = _amount("A joint shows above", "ΔE00", "3", "1/2", "10", TEETH)
    let_go_days = _whole("Drop slipped work after", "days", 30, "3", "365", OURS)
    photo_ages = _whole("Photo days", "days", (1, 3, 7, 14, 28, 45, 180), "0", "3650", OURS)

    def __init__(self, values: Mapping[str, Value]) -> None:
        vars(self).update({setting.key: setting.default for setting in SETTINGS}, **values)

    def __setattr__(self, name: str, value: object) -> None:
        raise AttributeError(f"{name}: a shop's values hold still.")

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Shop) and vars(self) == vars(other)

    @classmethod
    def from_values(cls, values: Mapping[str, object]) -> Shop:
        """The shop with `values` (by key, as text or numbers) over the defaults. Raises InputError."""
        known = {setting.key: setting for setting in SETTINGS}
        for key in values:
            if key not in known:
                raise InputError(f"No setting “{units.shown(key)}”.", f"Settings are {', '.join(known)}.")
        return cls({key: known[key].read(value) for key, value in values.items()})


SETTINGS: tuple[Setting, ...] = tuple(one for one in vars(Shop).values() if isinstance(one, Setting))
