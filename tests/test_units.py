"""Quantities in and out of text. Factors are checked against Pint, a published library of its own."""

from __future__ import annotations

from datetime import date
from fractions import Fraction as F

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from finishlog import units
from finishlog.errors import InputError

registry = pint.UnitRegistry(non_int_type=F)


@pytest.mark.parametrize(
    ("text", "feet"),
    [
        ("24", F(24)),
        ("24.5 ft", F(49, 2)),
        ("24'6\"", F(49, 2)),
        ("24'6", F(49, 2)),
        ("24' 6 1/2\"", F(589, 24)),
        ("24'-6 1/2\"", F(589, 24)),
        ("24-6 1/2", F(589, 24)),
        ("24-6", F(49, 2)),
        ("24 ft 6 in", F(49, 2)),
        ("24ft6in", F(49, 2)),
        ("24’ 6½”", F(589, 24)),
        ("24′6″", F(49, 2)),
        ("0' 6\"", F(1, 2)),
        ("3 1/2 in", F(7, 24)),
        ("3-1/2 in", F(7, 24)),
        ("3½ in", F(7, 24)),
        ("½", F(1, 2)),
        (".5", F(1, 2)),
        ("4 in", F(1, 3)),
        ("4in", F(1, 3)),
        ("4\"", F(1, 3)),
        ("5 1/2 yd", F(33, 2)),
        ("0.3048 m", F(1)),
        ("30.48cm", F(1)),
        ("304.8 mm", F(1)),
        ("7 Feet", F(7)),
    ],
)  # fmt: skip
def test_lengths_as_the_trade_writes_them(text: str, feet: F) -> None:
    assert units.read_length_ft(text) == feet


def test_a_bare_depth_is_inches_and_a_bare_length_feet() -> None:
    assert units.read_depth_in("4") == 4
    assert units.read_depth_in("1 ft 2 in") == 14
    assert units.read_depth_in("101.6 mm") == 4
    assert units.read_length_ft("4") == 4


def test_four_inches_is_exactly_a_third_of_a_foot() -> None:
    # Published: 30 x 60 ft x 4 in = 600 ft3, agricultural-mechanics lesson
    # "Estimating Concrete Construction and Material Cost".
    assert 30 * 60 * units.read_length_ft("4 in") == 600


@pytest.mark.parametrize(
    ("key", "text", "value"),
    [
        ("volume_yd3", "5 1/2 yd", F(11, 2)),
        ("volume_yd3", "27 cu ft", F(1)),
        ("volume_yd3", "0.764554857984 m³", F(1)),
        ("volume_yd3", "6 cubic yards", F(6)),
        ("mass_lb", "24 lb 6 oz", F(195, 8)),
        ("mass_lb", "0.45359237 kg", F(1)),
        ("mass_lb", "5lb", F(5)),
        ("area_ft2", "445.5 sq ft", F(891, 2)),
        ("area_ft2", "0.09290304 m2", F(1)),
        ("spread", "3.5 lb/100 ft2", F(7, 2)),
        ("spread", "3.5 lb per 100 sq. ft.", F(7, 2)),
        ("coverage", "225 ft²/gal", F(225)),
        ("content_lb_per_yd3", "6 sack", F(564)),
        ("liquid_gal", "3.785411784 L", F(1)),
        ("liquid_gal", "64 fl oz", F(1, 2)),
        ("film_mil", "25.4 µm", F(1)),
        ("speed_mph", "1.609344 km/h", F(1)),
        ("hours", "90 min", F(3, 2)),
        ("hours", "1 h 30 min", F(3, 2)),
        ("hours", "2 d", F(48)),
        ("money", "$165.50", F(331, 2)),
        ("money", "165", F(165)),
        ("percent", "4 %", F(4)),
        ("angle_deg", "25°", F(25)),
    ],
)
def test_other_quantities(key: str, text: str, value: F) -> None:
    assert units.read(key, text) == value


@pytest.mark.parametrize(
    ("text", "dose"),
    [
        ("7 lb/yd3", units.Dose(F(7), "lb/yd3")),
        ("1.5 lb per sack", units.Dose(F(3, 2), "lb/sack")),
        ("1 1/2 lb/sack", units.Dose(F(3, 2), "lb/sack")),
        ("4%", units.Dose(F(4), "%")),
        ("13 kg/m³", units.Dose(F(13), "kg/m3")),
    ],
)
def test_a_dose_keeps_the_unit_it_was_written_in(text: str, dose: units.Dose) -> None:
    assert units.read_dose(text) == dose


@pytest.mark.parametrize("text", ["7", "7 lb", "0 %", "101 kg", "4 ft"])
def test_a_dose_without_its_unit_is_asked_back(text: str) -> None:
    with pytest.raises(InputError):
        units.read_dose(text)


@pytest.mark.parametrize(
    ("text", "fahrenheit"), [("75", 75), ("0 C", 32), ("-40 C", -40), ("24°C", F(376, 5))]
)
def test_temperatures(text: str, fahrenheit: F) -> None:
    assert units.read_temperature_f(text) == fahrenheit


@pytest.mark.parametrize("text", ["-100 F", "130 C", "warm", "", "1,5 C"])
def test_temperatures_that_cannot_be(text: str) -> None:
    with pytest.raises(InputError):
        units.read_temperature_f(text)


BAD = [
    "", " ", "junk", "NaN", "nan", "inf", "-inf", "-3", "0", "6_5", "0x10", "1e3", "٣", "６", "6,5", "1,200",
    "9" * 400, "1" * 41, "1/0", "5 7/4", "1//2", "3.4.5", "6.", ".", "12 lb", "5 %", "\x1b[31m", "\x00",
    "4\x00in", "4 in\x1b", "\u202e4", "[/nope]", "4 5", "--4", "+4", "4 in 3 ft", "24'13\"", "24.5'6\"", "¹",
    "4 ft ft", "∞",
]  # fmt: skip


@pytest.mark.parametrize("text", BAD)
@pytest.mark.parametrize(
    "reader", [units.read_length_ft, units.read_depth_in, units.read_area_ft2, units.read_volume_yd3]
)
def test_what_is_no_size_is_refused_with_an_example(reader, text: str) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(InputError) as caught:
        reader(text)
    line = caught.value.line()
    assert caught.value.exit_status == 2
    assert caught.value.example
    assert any(unit in caught.value.example for unit in ("m", "mm", "m2", "m3"))
    assert "\n" not in line
    assert line.isprintable()
    assert len(line) < 250


def test_the_cause_is_said() -> None:
    causes = {
        "6,5": "point",
        "-3": "negative",
        "0": "zero",
        "٣": "0 to 9",
        "9" * 400: "longer than 40",
        "12 lb": "unit",
        "5-1/2": "two ways",
    }
    for text, word in causes.items():
        with pytest.raises(InputError, match="cannot be used as a length") as caught:
            units.read_length_ft(text)
        assert word in caught.value.line()


def test_a_dash_is_feet_and_inches_in_a_length_and_refused_in_a_depth() -> None:
    assert units.read_length_ft("4-5") == F(53, 12)
    with pytest.raises(InputError):
        units.read_depth_in("4-5")


def test_zero_and_minus_only_where_they_are_meant() -> None:
    assert units.read_depth_in("0", positive=False) == 0
    assert units.read_depth_in("-1/2", signed=True) == F(-1, 2)
    assert units.read_depth_in("0", signed=True) == 0
    with pytest.raises(InputError):
        units.read_depth_in("-1/2", positive=False)


@pytest.mark.parametrize("text", ["0.04", ".03", "0.099", "0.0999"])
def test_a_small_percentage_without_its_sign_is_asked_back(text: str) -> None:
    with pytest.raises(InputError, match="may mean"):
        units.read_percent(text)
    assert units.read_percent(text + " %") == F(text)


def test_percentages_run_to_a_hundred() -> None:
    assert units.read_percent("100") == 100
    assert units.read_percent("0.1") == F(1, 10)
    with pytest.raises(InputError):
        units.read_percent("100.1")


def test_a_slump_fits_its_cone() -> None:
    assert units.read_slump_in("4 1/2 in") == F(9, 2)
    with pytest.raises(InputError, match="slump"):
        units.read_slump_in("45 in")


@pytest.mark.parametrize(
    ("text", "day"),
    [
        ("2025-06-16", date(2025, 6, 16)),
        ("Jun 16 2025", date(2025, 6, 16)),
        ("June 16, 2025", date(2025, 6, 16)),
        ("16 jun 2025", date(2025, 6, 16)),
        ("1st May 2024", date(2024, 5, 1)),
        ("2024-02-29", date(2024, 2, 29)),
    ],
)
def test_days(text: str, day: date) -> None:
    assert units.read_date(text) == day


@pytest.mark.parametrize(
    ("text", "word"),
    [
        ("03/04/2025", "year first"),
        ("13/04/2025", "year first"),
        ("06/16/2025", "year first"),
        ("3.4.2025", "year first"),
        ("6/16/25", "year first"),
        ("16 Jun 25", "four digits"),
        ("Jun 16 25", "four digits"),
        ("25-06-16", "four digits"),
        ("Jun 16", "missing"),
        ("2025-02-30", "no day 30"),
        ("Feb 30 2025", "no day 30"),
        ("2023-02-29", "no day 29"),
        ("2025-13-01", "No month 13"),
        ("1066-10-14", "1900"),
        ("٢٠٢٥-06-16", "2025-06-16"),
        ("Ju 16 2025", "2025-06-16"),
        ("Jux 16 2025", "2025-06-16"),
        ("", "2025-06-16"),
        ("yesterday\x1b[0m", "2025-06-16"),
        ("9" * 400, "2025-06-16"),
    ],
)
def test_days_that_are_not_certain_are_refused(text: str, word: str) -> None:
    with pytest.raises(InputError) as caught:
        units.read_date(text)
    assert word in caught.value.line()
    assert caught.value.line().isprintable()


def test_counts_and_ratios() -> None:
    assert units.read_count("4") == 4
    assert units.read_ratio("1:20") == F(1, 20)
    assert units.read_ratio("2 : 1") == 2
    for bad in ("0", "-1", "4.5", "٤", "1e3", "99999999"):
        with pytest.raises(InputError):
            units.read_count(bad)
    for bad in ("1:0", "0:1", "1:20:3", "1", "a:b", "1:" + "9" * 50):
        with pytest.raises(InputError):
            units.read_ratio(bad)


PINT = {
    "length_ft": ("foot", {"in": "inch", "yd": "yard", "m": "meter", "cm": "cm", "mm": "mm"}),
    "depth_in": ("inch", {"ft": "foot", "mm": "mm", "cm": "cm", "m": "m"}),
    "area_ft2": ("foot**2", {"yd2": "yard**2", "in2": "inch**2", "m2": "m**2"}),
    "volume_yd3": ("yard**3", {"ft3": "foot**3", "m3": "m**3", "l": "liter"}),
    "mass_lb": ("pound", {"oz": "ounce", "kg": "kg", "g": "g"}),
    "liquid_gal": ("gallon", {"qt": "quart", "pt": "pint", "floz": "fluid_ounce", "l": "liter", "ml": "ml"}),
    "content_lb_per_yd3": ("pound/yard**3", {"kg/m3": "kg/m**3"}),
    "dose_lb_per_yd3": ("pound/yard**3", {"kg/m3": "kg/m**3"}),
    "spread": ("pound/foot**2/100", {"lb/ft2": "pound/foot**2", "kg/m2": "kg/m**2", "g/m2": "g/m**2"}),
    "coverage": ("foot**2/gallon", {"m2/l": "m**2/liter"}),
    "film_mil": ("thou", {"um": "um", "mm": "mm"}),
    "speed_mph": ("mile/hour", {"km/h": "km/hour", "kmh": "km/hour", "m/s": "m/s"}),
    "pressure_psi": ("psi", {"bar": "bar", "kpa": "kPa", "mpa": "MPa"}),
    "hours": ("hour", {"min": "minute", "d": "day"}),
    "density_lb_per_gal": ("pound/gallon", {"kg/l": "kg/liter", "g/ml": "g/ml"}),
}


@pytest.mark.parametrize("key", PINT)
def test_factors_agree_with_pint(key: str) -> None:
    base, others = PINT[key]
    for unit, theirs in others.items():
        expected = (registry(theirs) / registry(base)).to_base_units()
        assert float(units.QUANTITIES[key].factors[unit]) == pytest.approx(
            float(expected.magnitude), rel=1e-12
        )


def test_every_physical_unit_is_checked_against_pint() -> None:
    unchecked = {"dose", "percent", "money", "angle_deg", "temperature_f"}
    assert set(PINT) | unchecked == set(units.QUANTITIES)


def test_published_exact_factors() -> None:
    # Exact: 1 yd3 = 27 ft3 = 0.764554857984 m3; derived: 564 lb/yd3 = 334.61 kg/m3.
    assert 1 / units.QUANTITIES["volume_yd3"].factors["m3"] == F("0.764554857984")
    assert units.write("content_lb_per_yd3", F(564), "metric", 2) == "334.61 kg/m³"


WRITABLE = sorted(set(units.QUANTITIES) - {"dose"})


@given(st.sampled_from(WRITABLE), st.integers(0, 10**7), st.sampled_from(["us", "metric"]))
def test_what_is_written_reads_back_to_the_same_text(key: str, thousandths: int, system: str) -> None:
    quantity = units.QUANTITIES[key]
    value = min(F(thousandths, 1000), quantity.high / 2)
    text = units.write(key, value, system)
    read = units.read(key, text, positive=False)
    assert units.write(key, read, system) == text
    unit, _, digits = quantity.metric if system == "metric" else quantity.us
    scale = F(9, 5) if key == "temperature_f" and system == "metric" else quantity.factors.get(unit, F(1))
    assert abs(read - value) <= scale / 10**digits / 2


@given(st.integers(1, 100 * 192))
def test_feet_and_inches_round_trip_to_the_sixteenth(sixteenths: int) -> None:
    feet = F(sixteenths, 192)
    assert units.read_length_ft(units.write_feet_inches(feet)) == feet


@given(st.integers(1, 100000))
def test_pounds_and_ounces_round_trip(ounces: int) -> None:
    assert units.read_mass_lb(units.write_weight_lb_oz(F(ounces, 16))) == F(ounces, 16)


@given(st.dates(date(1900, 1, 1), date(2199, 12, 31)))
def test_days_round_trip(day: date) -> None:
    assert units.read_date(units.write_date(day)) == day
    assert units.read_date(day.isoformat()) == day


@given(st.text(max_size=60), st.sampled_from(sorted(units.QUANTITIES)))
def test_any_text_is_read_or_refused_in_one_printable_line(text: str, key: str) -> None:
    said = ""
    try:
        assert (key == "temperature_f" and units.read(key, text) >= -60) or 0 < units.read(
            key, text
        ) <= units.QUANTITIES[key].high
    except InputError as wrong:
        said = wrong.line()
    assert "\n" not in said
    assert said.isprintable()


@given(st.fractions(min_value=-1000, max_value=1000), st.integers(0, 5))
def test_fixed_is_the_nearest_decimal(value: F, digits: int) -> None:
    assert abs(F(units.fixed(value, digits)) - value) <= F(1, 2 * 10**digits)


def test_words_of_quantities() -> None:
    assert units.write_weight_lb_oz(F("13.4375")) == "13 lb 7 oz"
    assert units.write_weight_lb_oz(F(7, 16)) == "7 oz"
    assert units.write_weight_lb_oz(F(13)) == "13 lb"
    assert units.write_feet_inches(F(589, 24)) == "24' 6 1/2\""
    assert units.write_volume(F(13, 2)) == "6.50 yd³"
    assert units.write_volume(F(13, 2), "metric") == "4.97 m³"
    assert units.write("money", F("165.5")) == "$165.50"
    assert units.write_weekday(date(2025, 6, 16)) == "Mon Jun 16"
    assert units.write_date(date(2025, 6, 16)) == "Jun 16 2025"
    assert units.echo("volume_yd3", "6 1/2 yd") == "6.50 yd³"
    assert units.echo("volume_yd3", "6 1/2 y") == ""


@pytest.mark.parametrize("text", ["4²", "²", "24² ft", "1³", "4.²"])
def test_a_raised_digit_is_no_digit(text: str) -> None:
    """4² ft is not 42 ft."""
    with pytest.raises(InputError) as wrong:
        units.read("length_ft", text)
    assert "digits 0 to 9" in wrong.value.cause


@pytest.mark.parametrize("text", ["445 ft²", "41 m²", "445 sq ft"])
def test_a_raised_digit_after_a_unit_is_read(text: str) -> None:
    assert units.read("area_ft2", text) > 400


def test_a_dose_over_100_percent_is_none() -> None:
    assert units.read_dose("100 %").value == 100
    with pytest.raises(InputError) as wrong:
        units.read_dose("101 %")
    assert "more than 100 %" in wrong.value.cause
