"""One pour as a paper log tells it: the columns of an imported sheet, declared once."""

from __future__ import annotations

from datetime import date, time
from fractions import Fraction
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
    """A volume that may be nothing at all: 0 is an answer, blank is not known."""
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
ColorState = Annotated[str | None, typed(one_of("dry", "damp", "sealed"))]


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


class PourRow(Input):
    """One pour of one area. Only who or what, and the day, are needed; a blank is unknown."""

    customer: Name = asked("Customer", "who the work was for", "Ottoline Quillfeather", group="job")
    job: Name = asked(
        "Job",
        "the job; rows with the same customer, street and job belong together",
        "back patio",
        group="job",
    )
    phone: Contact = asked("Phone", "the customer's telephone", "555-0142", group="job")
    email: Contact = asked("E-mail", "the customer's e-mail address", "ottoline@example.com", group="job")
    street: Name = asked("Street", "the site's street and number", "12 Upsidedown Lane", group="job")
    town: Name = asked("Town", "the site's town", "Wobbleton", group="job")
    buried: Name = asked("Buried", "what is under or near the slab", "gas line", group="job")
    buried_where: Name = asked("Buried where", "where it is", "along the fence", group="job")
    buried_depth: Depth = asked("Buried depth", "how deep; a bare number is inches", "18 in", group="job")

    poured_on: Day = asked(
        "Poured on",
        "the day of the pour, needed; the month in letters or year first",
        "2025-06-16 or Jun 16 2025",
        group="pour",
    )
    poured_end: Time = asked("Poured end", "when the pour ended", "2:30 pm", group="pour")
    area: Name = asked("Area", "the surface, if the job has several", "border", group="pour")
    area_kind: AreaKind = asked(
        "Area kind", "field, border, band, stairs, wall, repair or overlay", "border", group="pour"
    )
    exposure: Exposure = asked("Exposure", "sun, part shade, shade or covered", "sun", group="pour")
    area_ft2: Area = asked("Area ft2", "how big; a bare number is square feet", "445", group="pour")
    depth: Depth = asked("Depth", "planned thickness; a bare number is inches", "4 in", group="pour")
    edge_yd3: Leftover = asked("Edge yd3", "extra concrete in thick edges and stairs", "0.4 yd", group="pour")
    why_short: Name = asked("Why short", "why it ran short", "the grade was low at the gate", group="pour")
    crew: Name = asked("Crew", "who poured it", "Bo", group="pour")

    yards: Yards = asked(
        "Yards",
        "yards delivered by this truck, less any balance load; if one truck fed several areas, this area's",
        "6.75",
        group="load",
    )
    truck_yards: Yards = asked(
        "Truck yards",
        "the whole truck, if it fed several areas; else what the areas took",
        "8",
        group="load",
    )
    returned: Leftover = asked("Returned", "yards that went back; write 0 for none", "0.5", group="load")
    dumped: Leftover = asked("Dumped", "yards dumped on site; write 0 for none", "0", group="load")
    balance_yards: Yards = asked(
        "Balance yards", "yards of the extra load when the pour ran short", "2", group="load"
    )
    ticket: Name = asked(
        "Ticket",
        "the truck's ticket; a second truck is a second row with its own ticket, and one truck in two areas is "
        "two rows with the same ticket",
        "T-20417",
        group="load",
    )
    balance: YesNo = asked("Balance", "yes if this row's truck was the balance load", "no", group="load")
    plant: Name = asked("Plant", "the plant that sent it", "Gravelpit plant", group="load")
    mix: Name = asked("Mix", "the plant's mix number", "4000-6", group="load")
    cement_kind: Name = asked("Cement kind", "type, and mill if known", "Type I/II", group="load")
    cement: Content = asked("Cement", "cement in lb/yd3, with or without the unit", "470", group="load")
    scm_kind: Name = asked("SCM kind", "other cementitious", "fly ash", group="load")
    scm: Scm = asked("SCM", "other cementitious in lb/yd3, with or without the unit", "94", group="load")
    sand: Name = asked("Sand", "where the sand comes from", "Eel Creek", group="load")
    admixtures: Note = asked("Admixtures", "what else is in it", "air, water reducer", group="load")
    accelerator: Accelerator = asked("Accelerator", "none, non chloride or chloride", "none", group="load")
    retarder: YesNo = asked("Retarder", "yes if one went into this load", "no", group="load")
    plasticizer: YesNo = asked("Plasticizer", "yes if one went into this load", "yes", group="load")
    air: Air = asked("Air", "entrained air of this load, in percent", "6", group="load")
    wind: Wind = asked("Wind", "at this load; a bare number is mph", "8 mph", group="load")
    light: Light = asked("Light", "sun, part shade or shade at this load", "sun", group="load")
    water_gal: Water = asked("Water gal", "water added, in gallons", "3", group="load")
    water_when: Name = asked("Water when", "when it was added", "at the site, before the color", group="load")
    slump: Slump = asked("Slump", "a bare number is inches", "4 1/2", group="load")
    slump_end: Slump = asked("Slump end", "the slump at the end of the load", "4", group="load")
    sample: SampleNumber = asked(
        "Sample", "the number of the sample kept of this truck's load", "12", group="load"
    )
    sample_size: Name = asked("Sample size", "how large", "2x2 ft", group="load")
    sample_kept: Name = asked("Sample kept", "where it is kept", "rack behind the shed", group="load")
    sample_sealed: YesNo = asked("Sample sealed", "yes if half of it is sealed", "yes", group="load")
    sample_signed_by: Name = asked(
        "Sample signed by", "who signed for it", "Ottoline Quillfeather", group="load"
    )
    sample_signed_on: Day = asked("Sample signed on", "the day it was signed", "2025-06-20", group="load")
    bags: Bags = asked("Bags", "bags of an overlay or repair (no truck)", "12", group="load")
    bag_product: Name = asked("Bag product", "what was in the bags", "Thin Pelt overlay", group="load")
    bag_water: Water = asked("Bag water", "gallons of water in each bag", "1.25", group="load")

    base: Name = asked("Base", "the shade of the pigment in the concrete", "Wet Biscuit", group="color")
    base_maker: Name = _maker("Base", "color")
    base_lot: Name = _lot("Base", "color", "K-131")
    dose: DoseText = asked(
        "Dose",
        "pigment per yard, per sack or in percent of cementitious; give the unit",
        "7 lb/yd3 or 4 % or 1.5 lb/sack",
        group="color",
    )
    base_lb: Mass = _weighed("Base", "pounds weighed into this truck, if written down", "47 lb 4 oz")
    base_max: MaxPercent = asked("Base max", "the maker's maximum, percent of cement", "10", group="color")
    base_2: Name = asked("Base 2", "the second pigment of a blend", "Lamp Soot", group="color")
    base_2_maker: Name = _maker("Base 2", "color")
    base_2_lot: Name = _lot("Base 2", "color", "S-9")
    dose_2: DoseText = asked("Dose 2", "as dose, for the second pigment", "0.5 lb/yd3", group="color")
    base_2_lb: Mass = _weighed("Base 2", "as base lb, for the second pigment", "3 lb 6 oz")
    hardener: Name = asked("Hardener", "the shade of the color hardener", "Bread Crust", group="color")
    hardener_maker: Name = _maker("Hardener", "color")
    hardener_lot: Name = _lot("Hardener", "color", "H-12")
    hardener_lb: Mass = asked("Hardener lb", "pounds thrown, all casts together", "270", group="color")

    cure: Cure = asked("Cure", "none, cure and seal, compound, sheet or wet", "compound", group="finish")
    joints: Joints = asked("Joints", "saw, tooled or insert", "saw", group="finish")
    finishing_note: Note = asked(
        "Finishing note",
        "how it was finished, what went differently",
        "burnished at the gate",
        group="finish",
    )
    air_low: Degrees = asked("Air low", "the lowest of the first 72 h, in °F", "58", group="finish")
    air_high: Degrees = asked("Air high", "the highest of the first 72 h, in °F", "81", group="finish")
    weather: Note = asked(
        "Weather", "other weather in the first 72 h", "showers the second night", group="finish"
    )
    release: Name = asked("Release", "the shade of the powder release", "Otter Back", group="finish")
    release_maker: Name = _maker("Release", "finish")
    release_lot: Name = _lot("Release", "finish", "R-77")
    release_lb: Mass = asked("Release lb", "pounds thrown", "15", group="finish")
    liquid_release: Name = asked("Liquid release", "its name", "Slick Eel", group="finish")
    liquid_release_maker: Name = _maker("Liquid release", "finish", "Mallow Coatings")
    liquid_release_lot: Name = _lot("Liquid release", "finish", "E-4")
    liquid_release_gal: Water = asked("Liquid release gal", "gallons sprayed", "2.25", group="finish")
    pattern: Name = asked("Pattern", "the stamp", "ashlar slate", group="finish")
    rinsed_on: Day = asked("Rinsed on", "the day of the rinse", "2025-06-18", group="finish")
    rinsed_at: Time = asked("Rinsed at", "the time of the rinse, if known", "7:30 am", group="finish")
    rinse_age: Hours = asked(
        "Rinse age", "or the slab's age at the rinse; a bare number is hours", "36 h", group="finish"
    )
    rinse_psi: Psi = asked("Rinse psi", "the washer's pressure", "2000", group="finish")
    release_left: Left = asked(
        "Release left", "percent of the surface still holding release", "20", group="finish"
    )

    antiquing: Name = asked("Antiquing", "the color of an antiquing wash", "Dark Broth", group="finish")
    antiquing_maker: Name = _maker("Antiquing", "finish")
    antiquing_lot: Name = _lot("Antiquing", "finish", "W-3")
    antiquing_gal: Water = asked("Antiquing gal", "gallons of wash", "1.2", group="finish")
    antiquing_on: Day = _on("Antiquing", "finish", "the day of the wash")
    stain: Name = asked("Stain", "its name", "Rust Water", group="finish")
    stain_maker: Name = _maker("Stain", "finish", "Mallow Coatings")
    stain_lot: Name = _lot("Stain", "finish", "N-8")
    stain_base: StainBase = asked("Stain base", "reactive or water based", "reactive", group="finish")
    stain_gal: Water = asked("Stain gal", "gallons applied", "2.25", group="finish")
    stain_on: Day = _on("Stain", "finish", "the day it was stained")

    sealer: Name = asked("Sealer", "its name", "Slick Badger 25", group="sealer")
    sealer_maker: Name = _maker("Sealer", "sealer", "Mallow Coatings")
    sealer_lot: Name = _lot("Sealer", "sealer", "C-21")
    sealer_chemistry: Chemistry = asked(
        "Sealer chemistry",
        "solvent acrylic, water acrylic, solvent urethane, water urethane, epoxy or penetrating",
        "solvent acrylic",
        group="sealer",
    )
    coats: Count = asked("Coats", "how many", "2", group="sealer")
    sealer_gal: Water = asked("Sealer gal", "gallons of the first coat", "2.2", group="sealer")
    sealer_2_gal: Water = asked("Sealer 2 gal", "gallons of the second coat", "1.65", group="sealer")
    sealed_on: Day = asked("Sealed on", "the day it was sealed", "2025-07-15", group="sealer")
    resealed_on: Day = asked("Resealed on", "the day of the last reseal", "2028-05-20", group="sealer")

    base_color: Color = asked(
        "Base color",
        "the slab's color as L*, a*, b* (D65, 2 degree), as a Munsell chip or as hex",
        "62, 4, 16 or 10YR 6/3",
        group="color read",
    )
    release_color: Color = asked(
        "Release color", "the color in the low spots, as above", "41, 3, 9", group="color read"
    )
    color_on: Day = asked("Color on", "the day the color was read", "2025-07-31", group="color read")
    color_age: Days = asked("Color age", "or how many days after the pour", "45", group="color read")
    color_state: ColorState = asked(
        "Color state", "dry, damp or sealed when read; dry if blank", "dry", group="color read"
    )

    color_instrument: Instrument = asked(
        "Color instrument",
        "colorimeter, chip by eye or screen color; else as the color is written",
        "colorimeter",
        group="color read",
    )

    claim: Note = asked("Claim", "a complaint", "lighter than the front", group="claim")
    claim_on: Day = asked("Claim on", "the day of the complaint", "2025-09-02", group="claim")
    claim_cause: Note = asked("Claim cause", "the cause", "another cement", group="claim")
    claim_action: Note = asked("Claim action", "what was done", "antiquing wash on two panels", group="claim")
    claim_outcome: Note = asked(
        "Claim outcome", "the outcome; this settles it", "she is content", group="claim"
    )

    note: Note = asked("Note", "anything else", "two passes at the gate", group="note")
