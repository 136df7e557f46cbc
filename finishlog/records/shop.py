"""The shop's settings: prices, ages, limits. Each has a default, a range and a source; all can be changed.

`SETTINGS` is the one list; `Shop` holds the values, `Shop.from_values` reads them as they stand in a log.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from fractions import Fraction

from finishlog import units
from finishlog.errors import InputError, naming

Value = Fraction | int | tuple[int, ...]
PRACTICE = "common practice, from memory, no source"
OURS = "the shop's own; a starting value, from memory"
JOINTS = "ACI 302.1R-96 as a trade magazine quotes it: 24 to 36 times the thickness, 18 ft at most"
PANELS = "ACI 302.1R-80 §2.3.2 as a trade magazine quotes it: 1.5"
MONTHS_OF_YEAR = "months of the year"
DAYS_OF_YEAR = "days, like 12-25 or 2026-11-27"
F = Fraction


@dataclass(frozen=True, slots=True)
class Setting:
    """One setting: `unit` as displayed, `low` and `high` the accepted range, `source` of the default."""

    key: str
    title: str
    unit: str
    default: Value
    low: Fraction
    high: Fraction
    source: str

    def read(self, value: object) -> Value:
        """A value from a log or a form: text with or without its unit, a number, or whole numbers."""
        with naming(self.key):
            found = self._from(value)
        if not all(self.low <= number <= self.high for number in _numbers(found)):
            cause = f"The range is {units.plain(self.low)} to {units.plain(self.high)} {self.unit}."
            raise InputError(f"{self.title}: {_said(found)} is out of range.", cause,
                             where=self.key, example=_said(self.default))  # fmt: skip
        return found

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


def _setting(
    key: str, title: str, unit: str, default: str | int, low: str, high: str, source: str = PRACTICE
) -> Setting:
    value = default if isinstance(default, int) else F(default)
    return Setting(key, title, unit, value, F(low), F(high), source)


SETTINGS: tuple[Setting, ...] = (
    _setting("price_per_yd3", "Concrete", "$/yd³", "165", "0", "10000", OURS),
    _setting("leftover_per_yd3", "Leftover disposal", "$/yd³", "45", "0", "10000", OURS),
    _setting("short_load_fee", "Short-load fee", "$", "200", "0", "100000", OURS),
    _setting("pigment_per_lb", "Pigment", "$/lb", "2.50", "0", "1000", OURS),
    _setting("release_per_lb", "Powder release", "$/lb", "3", "0", "1000", OURS),
    _setting("sealer_per_gal", "Sealer", "$/gal", "35", "0", "10000", OURS),
    _setting("mismatch", "What a color mismatch costs", "$", "600", "0", "1000000", OURS),
    _setting("joint", "What a cold joint costs", "$", "250", "0", "1000000", OURS),
    _setting("increment_yd3", "Order in steps of", "yd³", "1/4", "1/20", "5", OURS),
    _setting("minimum_yd3", "Plant minimum load", "yd³", "2", "0", "20", OURS),
    _setting("truck_yd3", "A full truck", "yd³", "9", "1/2", "20", OURS),
    _setting("waste_percent", "Waste", "%", "2", "0", "25", OURS),
    _setting("probe_sd_in", "Probe uncertainty", "in", "1/2", "1/20", "3", OURS),
    _setting("color_percent", "Color, of cementitious", "%", "3", "1", "6"),
    _setting("pigment_full_percent", "Color levels off around", "%", "5.5", "3.5", "8", "from memory, no source"),
    _setting("cementitious_lb_per_yd3", "Cementitious", "lb/yd³", "564", "517", "611"),
    _setting("slump_in", "Slump", "in", "4.5", "4", "5"),
    _setting("smallest_colored_load_yd3", "Smallest load that mixes color well", "yd³", "3", "3", "4"),
    _setting("off_dose_percent", "Flag a load off by more than", "%", "5", "1", "25", OURS),
    _setting("bag_lb", "A bag of concrete", "lb", "80", "40", "100"),
    _setting("bag_yield_ft3", "A bag of concrete makes", "ft³", "0.6", "0.3", "0.8"),
    _setting("bag_rest_yd3", "Make the rest from bags, up to", "yd³", "1/2", "0", "2", OURS),
    _setting("mixing_minutes", "Mix after color", "min", 10, "5", "10"),
    _setting("release_lb_per_100ft2", "Powder release", "lb/100 ft²", "3.5", "3", "5"),
    _setting("liquid_release_ft2_per_gal", "Liquid release", "ft²/gal", "200", "100", "250"),
    _setting("hardener_lb_per_100ft2", "Color hardener", "lb/100 ft²", "60", "40", "100"),
    _setting("truck_minutes", "Truck limit", "min", 90, "45", "90"),
    _setting("truck_minutes_hot", "Truck limit in heat", "min", 60, "45", "90"),
    _setting("truck_gap_from_min", "Time to place a load, from", "min", 30, "10", "120"),
    _setting("truck_gap_to_min", "Time to place a load, to", "min", 60, "15", "180"),
    _setting("release_from_min", "Release goes on at 70 °F, from", "min", 60, "15", "300"),
    _setting("release_to_min", "Release goes on at 70 °F, to", "min", 120, "20", "360"),
    _setting("stamp_from_min", "Stamping starts at 70 °F, from", "min", 90, "20", "360"),
    _setting("stamp_to_min", "Stamping starts at 70 °F, to", "min", 150, "30", "420"),
    _setting("stamp_lasts_min", "A load stays stampable at 70 °F", "min", 120, "15", "240"),
    _setting("stamp_ft2_per_hand_h", "One hand stamps per hour", "ft²", 100, "20", "400"),
    _setting("mats_per_hand", "Mats per stamping hand", "", 2, "1", "6"),
    _setting("saw_cut_from_h", "Saw cut from", "h", 6, "4", "24"),
    _setting("saw_cut_to_h", "Saw cut to", "h", 18, "4", "24"),
    _setting("joint_times", "Joint spacing, times thickness", "", "30", "24", "36", JOINTS),
    _setting("joint_most_ft", "Joint spacing, at most", "ft", "18", "6", "18", JOINTS),
    _setting("joint_ratio", "Panel length to width, at most", "", "1.5", "1.25", "2", PANELS),
    _setting("rinse_from_h", "Rinse not before", "h", 18, "12", "48"),
    _setting("rinse_usual_from_h", "Rinse usually from", "h", 24, "12", "72"),
    _setting("rinse_usual_to_h", "Rinse usually to", "h", 48, "18", "96"),
    _setting("rinse_to_h", "Rinse not after", "h", 96, "24", "168"),
    _setting("release_left_percent", "Release left, usual rinse", "%", "25", "10", "40"),
    _setting("seal_from_day", "Seal not before", "days", 14, "1", "60"),
    _setting("seal_usual_day", "Seal usually at", "days", 28, "1", "90"),
    _setting("seal_to_day", "Seal by", "days", 35, "7", "120"),
    _setting("dry_after_wash_days", "Dry after a wash, at least", "days", 3, "1", "14"),
    _setting("solids_percent", "Solids of a solvent acrylic, by volume", "%", "25", "18", "30"),
    _setting("coat_1_ft2_per_gal", "First coat", "ft²/gal", "225", "150", "300"),
    _setting("coat_2_ft2_per_gal", "Second coat", "ft²/gal", "300", "250", "400"),
    _setting("relief_percent", "Relief allowance on a stamped area", "%", "10", "5", "20"),
    _setting("film_alarm_mil", "Film alarm, total", "mil", "6", "4", "8"),
    _setting("seal_slab_low_f", "Slab temperature to seal, from", "°F", "50", "45", "90"),
    _setting("seal_slab_high_f", "Slab temperature to seal, to", "°F", "85", "45", "90"),
    _setting("rain_free_h", "Rain-free after sealing", "h", 24, "12", "48"),
    _setting("foot_h", "Foot traffic after sealing", "h", 24, "12", "48"),
    _setting("cars_days", "Cars after sealing", "days", 3, "2", "7"),
    _setting("reseal_from_years", "Reseal from", "years", 3, "1", "10"),
    _setting("reseal_to_years", "Reseal to", "years", 5, "1", "15"),
    _setting("reseal_harsh_from_years", "Reseal at pool, salt or traffic, from", "years", 1, "1", "10"),
    _setting("reseal_harsh_to_years", "Reseal at pool, salt or traffic, to", "years", 3, "1", "10"),
    _setting("recoat_from_h", "Second coat from", "h", 2, "1", "12"),
    _setting("recoat_to_h", "Second coat to", "h", 24, "4", "72"),
    _setting("seal_humidity_percent", "Humidity to seal, under", "%", "85", "50", "100"),
    _setting("reseal_worn_months", "Reseal within, if white, peeling or dull", "months", 6, "1", "24"),
    _setting("reseal_clean_months", "If it looks good, wait another", "months", 12, "0", "36", OURS),
    _setting("wipe_every", "Wipe before every Nth reseal", "", 5, "2", "12"),
    _setting("care_per_week", "Reseals in a week", "", 4, "1", "200", OURS),
    _setting("reseal_last_months", "Crew sees a reseal in its last", "months", 3, "1", "60", OURS),
    Setting("care_months", "Sealing months", MONTHS_OF_YEAR, (4, 5, 6, 7, 8, 9, 10), F(1), F(12), OURS),
    Setting("days_off", "Days off besides weekends", DAYS_OF_YEAR, (), F(101), F(21991231), OURS),
    _setting("evaporation_care", "Evaporation: take care", "lb/ft²/h", "0.1", "0.01", "1"),
    _setting("evaporation_stop", "Evaporation: stop and protect", "lb/ft²/h", "0.2", "0.01", "1",
             "Concrete International Q&A, as a project-specification limit"),
    _setting("spots_per_area", "Spots per area reading", "", 5, "3", "9"),
    _setting("first_comparable_day", "First day worth comparing", "days", 28, "7", "90"),
    _setting("final_color_day", "Final color", "days", 45, "14", "120"),
    _setting("card_limit_de00", "Reject a photo's card above", "ΔE00", "8", "3", "15",
             "a study of eight photos of a card: phones' came out 3 to 7"),
    _setting("gray_card_percent", "A gray card reflects", "%", "18", "5", "90"),
    _setting("match_de00", "A joint shows above", "ΔE00", "3", "1/2", "10",
             "the shop's own; published limits (Paravina et al. 2015: 0.8 perceptible, 1.8 acceptable) are of teeth"),
    _setting("let_go_days", "Drop slipped work after", "days", 30, "3", "365", OURS),
    Setting("photo_ages", "Photo days", "days", (1, 3, 7, 14, 28, 45, 180), F(0), F(3650), OURS),
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Shop:
    """The settings' values. Money in dollars, percent as 0 to 100, the rest in the unit of the name."""

    price_per_yd3: Fraction
    leftover_per_yd3: Fraction
    short_load_fee: Fraction
    pigment_per_lb: Fraction
    release_per_lb: Fraction
    sealer_per_gal: Fraction
    mismatch: Fraction
    joint: Fraction
    increment_yd3: Fraction
    minimum_yd3: Fraction
    truck_yd3: Fraction
    waste_percent: Fraction
    probe_sd_in: Fraction
    color_percent: Fraction
    pigment_full_percent: Fraction
    cementitious_lb_per_yd3: Fraction
    slump_in: Fraction
    smallest_colored_load_yd3: Fraction
    off_dose_percent: Fraction
    bag_lb: Fraction
    bag_yield_ft3: Fraction
    bag_rest_yd3: Fraction
    mixing_minutes: int
    release_lb_per_100ft2: Fraction
    liquid_release_ft2_per_gal: Fraction
    hardener_lb_per_100ft2: Fraction
    truck_minutes: int
    truck_minutes_hot: int
    truck_gap_from_min: int
    truck_gap_to_min: int
    release_from_min: int
    release_to_min: int
    stamp_from_min: int
    stamp_to_min: int
    stamp_lasts_min: int
    stamp_ft2_per_hand_h: int
    mats_per_hand: int
    saw_cut_from_h: int
    saw_cut_to_h: int
    joint_times: Fraction
    joint_most_ft: Fraction
    joint_ratio: Fraction
    rinse_from_h: int
    rinse_usual_from_h: int
    rinse_usual_to_h: int
    rinse_to_h: int
    release_left_percent: Fraction
    seal_from_day: int
    seal_usual_day: int
    seal_to_day: int
    dry_after_wash_days: int
    solids_percent: Fraction
    coat_1_ft2_per_gal: Fraction
    coat_2_ft2_per_gal: Fraction
    relief_percent: Fraction
    film_alarm_mil: Fraction
    seal_slab_low_f: Fraction
    seal_slab_high_f: Fraction
    rain_free_h: int
    foot_h: int
    cars_days: int
    reseal_from_years: int
    reseal_to_years: int
    reseal_harsh_from_years: int
    reseal_harsh_to_years: int
    recoat_from_h: int
    recoat_to_h: int
    seal_humidity_percent: Fraction
    reseal_worn_months: int
    reseal_clean_months: int
    wipe_every: int
    care_per_week: int
    reseal_last_months: int
    care_months: tuple[int, ...]
    days_off: tuple[int, ...]
    evaporation_care: Fraction
    evaporation_stop: Fraction
    spots_per_area: int
    first_comparable_day: int
    final_color_day: int
    card_limit_de00: Fraction
    gray_card_percent: Fraction
    match_de00: Fraction
    let_go_days: int
    photo_ages: tuple[int, ...]

    @classmethod
    def from_values(cls, values: Mapping[str, object]) -> Shop:
        """The shop with `values` (by key, as text or numbers) over the defaults. Raises InputError."""
        known = {setting.key: setting for setting in SETTINGS}
        for key in values:
            if key not in known:
                raise InputError(f"No setting “{units.shown(key)}”.", f"Settings are {', '.join(known)}.")
        given = {key: known[key].read(value) for key, value in values.items()}
        return cls(**{setting.key: given.get(setting.key, setting.default) for setting in SETTINGS})  # type: ignore[arg-type]

    def items(self) -> Iterator[tuple[Setting, Value]]:
        """Every setting with its value, in the order of `SETTINGS`."""
        return ((setting, getattr(self, setting.key)) for setting in SETTINGS)
