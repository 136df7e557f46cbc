"""One pour of a paper log: the columns of an imported sheet, declared once."""

from __future__ import annotations

from datetime import date, time
from fractions import Fraction
from functools import partial
from typing import Annotated, Any

from finishlog import units
from finishlog.errors import InputError
from finishlog.inputs import colors
from finishlog.inputs.fields import Input, asked, typed
from finishlog.inputs.readers import one_of, read_contact, read_name, read_note, read_time, read_yes
from finishlog.units import Dose

MOST_BAGS = 10000
MOST_AIR = Fraction(30)


def _or_none(text: str) -> Fraction:
    """A volume that may be zero: 0 is an answer, blank is unknown."""
    return units.read_volume_yd3(text, positive=False)


def _count(text: str) -> int:
    return units.read_count(text, high=20)


def _days(text: str) -> int:
    return units.read_count(text.removesuffix("days").removesuffix("d").strip(), positive=False, high=36500)


def _scm(text: str) -> Fraction:
    return units.read_content_lb_per_yd3(text, positive=False)


def _max_percent(text: str) -> Fraction:
    return units.read_percent(text, high=Fraction(10))


def _left(text: str) -> Fraction:
    return units.read_percent(text, positive=False)


def _water(text: str) -> Fraction:
    return units.read_liquid_gal(text, positive=False)


def _wind(text: str) -> Fraction:
    return units.read("speed_mph", text, positive=False)


def _sample(text: str) -> int:
    """The number of a sample: `7`, `#7`, `sample 7`."""
    return units.read_count(
        text.casefold().removeprefix("sample").strip().removeprefix("#"), high=999_999_999
    )


def _air(text: str) -> Fraction:
    return units.read_percent(text, positive=False, high=MOST_AIR)


def _bags(text: str) -> Fraction:
    number = units.number_from(text.casefold().removesuffix("s").removesuffix("bag").strip())
    if not number or number > MOST_BAGS:
        raise InputError(f"“{units.shown(text)}” is not a number of bags.", example="12 bags")
    return number


Name = Annotated[str | None, typed(read_name)]
Contact = Annotated[str | None, typed(read_contact)]
Note = Annotated[str | None, typed(read_note)]
Day = Annotated[date | None, typed(units.read_date)]
Time = Annotated[time | None, typed(read_time)]
Yards = Annotated[Fraction | None, typed(units.read_volume_yd3)]
Leftover = Annotated[Fraction | None, typed(_or_none)]
Area = Annotated[Fraction | None, typed(units.read_area_ft2)]
Depth = Annotated[Fraction | None, typed(units.read_depth_in)]
Mass = Annotated[Fraction | None, typed(units.read_mass_lb)]
Content = Annotated[Fraction | None, typed(units.read_content_lb_per_yd3)]
Scm = Annotated[Fraction | None, typed(_scm)]
Slump = Annotated[Fraction | None, typed(units.read_slump_in)]
DoseText = Annotated[Dose | None, typed(units.read_dose)]
MaxPercent = Annotated[Fraction | None, typed(_max_percent)]
Left = Annotated[Fraction | None, typed(_left)]
Hours = Annotated[Fraction | None, typed(units.read_hours)]
Psi = Annotated[Fraction | None, typed(units.read_pressure_psi)]
Count = Annotated[int | None, typed(_count)]
Days = Annotated[int | None, typed(_days)]
YesNo = Annotated[bool | None, typed(read_yes)]
Color = Annotated[colors.Color | None, typed(colors.read)]
Water = Annotated[Fraction | None, typed(_water)]
Degrees = Annotated[Fraction | None, typed(units.read_temperature_f)]
Bags = Annotated[Fraction | None, typed(_bags)]
Wind = Annotated[Fraction | None, typed(_wind)]
Light = Annotated[str | None, typed(one_of("sun", "part shade", "shade"))]
SampleNumber = Annotated[int | None, typed(_sample)]
AreaKind = Annotated[
    str | None, typed(one_of("field", "border", "band", "stairs", "wall", "repair", "overlay"))
]
Exposure = Annotated[str | None, typed(one_of("sun", "part shade", "shade", "covered"))]
Chemistry = Annotated[
    str | None,
    typed(
        one_of(
            "solvent acrylic", "water acrylic", "solvent urethane", "water urethane", "epoxy", "penetrating"
        )
    ),
]
Cure = Annotated[str | None, typed(one_of("none", "cure and seal", "compound", "sheet", "wet"))]
Joints = Annotated[str | None, typed(one_of("saw", "tooled", "insert"))]
Instrument = Annotated[str | None, typed(one_of(*colors.INSTRUMENTS))]
ColorState = Annotated[str | None, typed(one_of("dry", "bare", "damp", "sealed"))]


StainBase = Annotated[str | None, typed(one_of("reactive", "water based"))]
Accelerator = Annotated[str | None, typed(one_of("none", "non chloride", "chloride"))]
Air = Annotated[Fraction | None, typed(_air)]


def _maker(of: str, group: str, maker: str = "Toadstone Pigments") -> Any:
    return asked(f"{of} maker", "who makes it", maker, group=group)


def _lot(of: str, group: str, lot: str) -> Any:
    return asked(f"{of} lot", "its bag lot", lot, group=group)


def _weighed(of: str, help: str, example: str) -> Any:
    return asked(f"{of} lb", help, example, group="color")


def _on(of: str, group: str, what: str, day: str = "2025-07-02") -> Any:
    return asked(f"{of} on", what, day, group=group)


_job = partial(asked, group="job")
_pour = partial(asked, group="pour")
_load = partial(asked, group="load")
_color = partial(asked, group="color")
_finish = partial(asked, group="finish")
_sealer = partial(asked, group="sealer")
_read = partial(asked, group="color read")
_claim = partial(asked, group="claim")
_note = partial(asked, group="note")


class PourRow(Input):
    """One pour of one area. Requires only a day and a customer or job; a blank is unknown."""

    customer: Name = _job("Customer", "who the work was for", "Ottoline Quillfeather")
    job: Name = _job(
        "Job", "the job; rows with the same customer, street and job belong together", "back patio"
    )
    phone: Contact = _job("Phone", "the customer's telephone", "555-0142")
    email: Contact = _job("E-mail", "the customer's e-mail address", "ottoline@example.com")
    street: Name = _job("Street", "the site's street and number", "12 Upsidedown Lane")
    town: Name = _job("Town", "the site's town", "Wobbleton")
    buried: Name = _job("Buried", "what is under or near the slab", "gas line")
    buried_where: Name = _job("Buried where", "where it is", "along the fence")
    buried_depth: Depth = _job("Buried depth", "how deep; a bare number is inches", "18 in")

    poured_on: Day = _pour(
        "Poured on",
        "the day of the pour, needed; the month in letters or year first",
        "2025-06-16 or Jun 16 2025",
    )
    poured_end: Time = _pour("Poured end", "when the pour ended", "2:30 pm")
    area: Name = _pour("Area", "the surface, if the job has several", "border")
    area_kind: AreaKind = _pour("Area kind", "field, border, band, stairs, wall, repair or overlay", "border")
    exposure: Exposure = _pour("Exposure", "sun, part shade, shade or covered", "sun")
    area_ft2: Area = _pour("Area ft2", "how big; a bare number is square feet", "445")
    depth: Depth = _pour("Depth", "planned thickness; a bare number is inches", "4 in")
    edge_yd3: Leftover = _pour("Edge yd3", "extra concrete in thick edges and stairs", "0.4 yd")
    why_short: Name = _pour("Why short", "why it ran short", "the grade was low at the gate")
    crew: Name = _pour("Crew", "who poured it", "Bo")

    yards: Yards = _load(
        "Yards",
        "yards delivered by this truck, less any balance load; if one truck fed several areas, this area's",
        "6.75",
    )
    truck_yards: Yards = _load(
        "Truck yards", "the whole truck, if it fed several areas; else what the areas took", "8"
    )
    returned: Leftover = _load("Returned", "yards that went back; write 0 for none", "0.5")
    dumped: Leftover = _load("Dumped", "yards dumped on site; write 0 for none", "0")
    balance_yards: Yards = _load("Balance yards", "yards of the extra load when the pour ran short", "2")
    ticket: Name = _load(
        "Ticket",
        "the truck's ticket; a second truck is a second row with its own ticket, and one truck in two areas is "
        "two rows with the same ticket",
        "T-20417",
    )
    balance: YesNo = _load("Balance", "yes if this row's truck was the balance load", "no")
    plant: Name = _load("Plant", "the plant that sent it", "Gravelpit plant")
    mix: Name = _load("Mix", "the plant's mix number", "4000-6")
    cement_kind: Name = _load("Cement kind", "type, and mill if known", "Type I/II")
    cement: Content = _load("Cement", "cement in lb/yd3, with or without the unit", "470")
    scm_kind: Name = _load("SCM kind", "other cementitious", "fly ash")
    scm: Scm = _load("SCM", "other cementitious in lb/yd3, with or without the unit", "94")
    sand: Name = _load("Sand", "where the sand comes from", "Eel Creek")
    admixtures: Note = _load("Admixtures", "what else is in it", "air, water reducer")
    accelerator: Accelerator = _load("Accelerator", "none, non chloride or chloride", "none")
    retarder: YesNo = _load("Retarder", "yes if one went into this load", "no")
    plasticizer: YesNo = _load("Plasticizer", "yes if one went into this load", "yes")
    air: Air = _load("Air", "entrained air of this load, in percent", "6")
    wind: Wind = _load("Wind", "at this load; a bare number is mph", "8 mph")
    light: Light = _load("Light", "sun, part shade or shade at this load", "sun")
    water_gal: Water = _load("Water gal", "water added, in gallons", "3")
    water_when: Name = _load("Water when", "when it was added", "at the site, before the color")
    slump: Slump = _load("Slump", "a bare number is inches", "4 1/2")
    slump_end: Slump = _load("Slump end", "the slump at the end of the load", "4")
    sample: SampleNumber = _load("Sample", "the number of the sample kept of this truck's load", "12")
    sample_size: Name = _load("Sample size", "how large", "2x2 ft")
    sample_kept: Name = _load("Sample kept", "where it is kept", "rack behind the shed")
    sample_sealed: YesNo = _load("Sample sealed", "yes if half of it is sealed", "yes")
    sample_signed_by: Name = _load("Sample signed by", "who signed for it", "Ottoline Quillfeather")
    sample_signed_on: Day = _load("Sample signed on", "the day it was signed", "2025-06-20")
    bags: Bags = _load("Bags", "bags of an overlay or repair (no truck)", "12")
    bag_product: Name = _load("Bag product", "what was in the bags", "Thin Pelt overlay")
    bag_water: Water = _load("Bag water", "gallons of water in each bag", "1.25")

    base: Name = _color("Base", "the shade of the pigment in the concrete", "Wet Biscuit")
    base_maker: Name = _maker("Base", "color")
    base_lot: Name = _lot("Base", "color", "K-131")
    dose: DoseText = _color(
        "Dose",
        "pigment per yard, per sack or in percent of cementitious; give the unit",
        "7 lb/yd3 or 4 % or 1.5 lb/sack",
    )
    base_lb: Mass = _weighed("Base", "pounds weighed into this truck, if written down", "47 lb 4 oz")
    base_max: MaxPercent = _color("Base max", "the maker's maximum, percent of cement", "10")
    base_2: Name = _color("Base 2", "the second pigment of a blend", "Lamp Soot")
    base_2_maker: Name = _maker("Base 2", "color")
    base_2_lot: Name = _lot("Base 2", "color", "S-9")
    dose_2: DoseText = _color("Dose 2", "as dose, for the second pigment", "0.5 lb/yd3")
    base_2_lb: Mass = _weighed("Base 2", "as base lb, for the second pigment", "3 lb 6 oz")
    hardener: Name = _color("Hardener", "the shade of the color hardener", "Bread Crust")
    hardener_maker: Name = _maker("Hardener", "color")
    hardener_lot: Name = _lot("Hardener", "color", "H-12")
    hardener_lb: Mass = _color("Hardener lb", "pounds thrown, all casts together", "270")

    cure: Cure = _finish("Cure", "none, cure and seal, compound, sheet or wet", "compound")
    joints: Joints = _finish("Joints", "saw, tooled or insert", "saw")
    finishing_note: Note = _finish(
        "Finishing note", "how it was finished, what went differently", "burnished at the gate"
    )
    air_low: Degrees = _finish("Air low", "the lowest of the first 72 h, in °F", "58")
    air_high: Degrees = _finish("Air high", "the highest of the first 72 h, in °F", "81")
    weather: Note = _finish("Weather", "other weather in the first 72 h", "showers the second night")
    release: Name = _finish("Release", "the shade of the powder release", "Otter Back")
    release_maker: Name = _maker("Release", "finish")
    release_lot: Name = _lot("Release", "finish", "R-77")
    release_lb: Mass = _finish("Release lb", "pounds thrown", "15")
    liquid_release: Name = _finish("Liquid release", "its name", "Slick Eel")
    liquid_release_maker: Name = _maker("Liquid release", "finish", "Mallow Coatings")
    liquid_release_lot: Name = _lot("Liquid release", "finish", "E-4")
    liquid_release_gal: Water = _finish("Liquid release gal", "gallons sprayed", "2.25")
    pattern: Name = _finish("Pattern", "the stamp", "ashlar slate")
    rinsed_on: Day = _finish("Rinsed on", "the day of the rinse", "2025-06-18")
    rinsed_at: Time = _finish("Rinsed at", "the time of the rinse, if known", "7:30 am")
    rinse_age: Hours = _finish("Rinse age", "or the slab's age at the rinse; a bare number is hours", "36 h")
    rinse_psi: Psi = _finish("Rinse psi", "the washer's pressure", "2000")
    release_left: Left = _finish("Release left", "percent of the surface still holding release", "20")

    antiquing: Name = _finish("Antiquing", "the color of an antiquing wash", "Dark Broth")
    antiquing_maker: Name = _maker("Antiquing", "finish")
    antiquing_lot: Name = _lot("Antiquing", "finish", "W-3")
    antiquing_gal: Water = _finish("Antiquing gal", "gallons of wash", "1.2")
    antiquing_on: Day = _on("Antiquing", "finish", "the day of the wash")
    stain: Name = _finish("Stain", "its name", "Rust Water")
    stain_maker: Name = _maker("Stain", "finish", "Mallow Coatings")
    stain_lot: Name = _lot("Stain", "finish", "N-8")
    stain_base: StainBase = _finish("Stain base", "reactive or water based", "reactive")
    stain_gal: Water = _finish("Stain gal", "gallons applied", "2.25")
    stain_on: Day = _on("Stain", "finish", "the day it was stained")

    sealer: Name = _sealer("Sealer", "its name", "Slick Badger 25")
    sealer_maker: Name = _maker("Sealer", "sealer", "Mallow Coatings")
    sealer_lot: Name = _lot("Sealer", "sealer", "C-21")
    sealer_chemistry: Chemistry = _sealer(
        "Sealer chemistry",
        "solvent acrylic, water acrylic, solvent urethane, water urethane, epoxy or penetrating",
        "solvent acrylic",
    )
    coats: Count = _sealer("Coats", "how many", "2")
    sealer_gal: Water = _sealer("Sealer gal", "gallons of the first coat", "2.2")
    sealer_2_gal: Water = _sealer("Sealer 2 gal", "gallons of the second coat", "1.65")
    sealed_on: Day = _sealer("Sealed on", "the day it was sealed", "2025-07-15")
    resealed_on: Day = _sealer("Resealed on", "the day of the last reseal", "2028-05-20")

    base_color: Color = _read(
        "Base color",
        "the slab's color as L*, a*, b* (D65, 2 degree), as a Munsell chip or as hex",
        "62, 4, 16 or 10YR 6/3",
    )
    release_color: Color = _read("Release color", "the color in the low spots, as above", "41, 3, 9")
    color_on: Day = _read("Color on", "the day the color was read", "2025-07-31")
    color_age: Days = _read("Color age", "or how many days after the pour", "45")
    color_state: ColorState = _read(
        "Color state",
        "dry, bare, damp or sealed when read; if blank sealed after the sealing, else dry",
        "dry",
    )

    color_instrument: Instrument = _read(
        "Color instrument",
        "colorimeter, chip by eye or screen color; else as the color is written",
        "colorimeter",
    )

    claim: Note = _claim("Claim", "a complaint", "lighter than the front")
    claim_on: Day = _claim("Claim on", "the day of the complaint", "2025-09-02")
    claim_cause: Note = _claim("Claim cause", "the cause", "another cement")
    claim_action: Note = _claim("Claim action", "what was done", "antiquing wash on two panels")
    claim_outcome: Note = _claim("Claim outcome", "the outcome; this settles it", "she is content")

    note: Note = _note("Note", "anything else", "two passes at the gate")
