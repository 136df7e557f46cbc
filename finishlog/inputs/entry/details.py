"""The fields of an entry's detail row (load, coat, reading, sample, approval, claim), and the row made of them.

A load's fields stand in the order of the day card.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from finishlog import units
from finishlog.errors import InputError
from finishlog.inputs import colors
from finishlog.inputs.asking import Field, choice, count, name, note, quantity, yes_no
from finishlog.records.log import Approval, Claim, Coat, Entry, Load, Mix, Reading
from finishlog.records.writing import NewLoad, NewMix, NewProduct, NewSample

Values = Mapping[str, Any]
SPOTS = ("base", "release color", "field")
Split = tuple[tuple[str, float | None], ...]


def load_first(shown: str) -> tuple[Field, ...]:
    """What the ticket says."""
    return (
        name("ticket", "Ticket", "T-20417", part="load", group="load"),
        quantity("yards", "Yards", "volume_yd3", part="load", group="load", units_shown=shown,
                 help="as on the ticket"),
    )  # fmt: skip


def load_wet(shown: str) -> tuple[Field, ...]:
    """Water and slump, at both ends."""
    return (
        quantity("water_gal", "Water added", "liquid_gal", part="load", group="water", positive=False,
                 units_shown=shown),
        name("water_when", "Water when", "at the site, before the color", part="load", group="water"),
        _slump("slump_in", "Slump", shown),
        _slump("slump_end_in", "Slump at the end", shown),
    )  # fmt: skip


def _slump(key: str, title: str, shown: str) -> Field:
    plain = quantity(key, title, "depth_in", part="load", group="water", units_shown=shown)
    return Field(key, title, plain.example, units.read_slump_in, plain.shows, plain.texts, plain.unit,
                 plain.part, plain.group)  # fmt: skip


def load_last(shown: str) -> tuple[Field, ...]:
    """What was left of it, and the mix behind it."""
    return (
        quantity("returned_yd3", "Returned", "volume_yd3", part="load", group="leftover", positive=False,
                 units_shown=shown, help="0 where nothing went back"),
        quantity("dumped_yd3", "Dumped", "volume_yd3", part="load", group="leftover", positive=False,
                 units_shown=shown, help="0 where nothing was dumped"),
        yes_no("is_balance", "Balance load", part="load", group="leftover",
               help="the extra load when a pour runs short"),
        name("plant", "Plant", "Gravelpit plant", part="mix", group="mix", suggest="plants"),
        name("mix_number", "Mix number", "4000-6", part="mix", group="mix"),
        name("cement_kind", "Cement", "Type I/II", part="mix", group="mix"),
        name("cement_mill", "Mill", "Crabapple mill", part="mix", group="mix"),
        quantity("cement_lb_per_yd3", "Cement, lb/yd³", "content_lb_per_yd3", part="mix", group="mix",
                 units_shown=shown),
        name("scm_kind", "Other cementitious", "fly ash", part="mix", group="mix"),
        quantity("scm_lb_per_yd3", "Its lb/yd³", "content_lb_per_yd3", part="mix", group="mix",
                 positive=False, units_shown=shown),
        name("admixtures", "Admixtures", "air, water reducer", part="mix", group="mix"),
        name("sand", "Sand", "Eel Creek", part="mix", group="mix"),
    )  # fmt: skip


def coat(shown: str) -> tuple[Field, ...]:
    """The fields of a coat of sealer."""
    return (
        count("number", "Coat", "1", part="coat", group="coat", high=50),
        yes_no("reseal", "Reseal", part="coat", group="coat", help="over an older sealer"),
        quantity("area_ft2", "Surface", "area_ft2", part="coat", group="coat", units_shown=shown),
        _warmth("slab_f", "Slab", shown),
        _warmth("air_f", "Air", shown),
        quantity("humidity_percent", "Humidity", "percent", part="coat", group="coat", positive=False),
    )


def _warmth(key: str, title: str, shown: str) -> Field:
    return quantity(key, title, "temperature_f", part="coat", group="coat", units_shown=shown)


def reading(_shown: str) -> tuple[Field, ...]:
    """The fields of a color reading."""
    return (
        Field("color", "Color", colors.EXAMPLE, colors.read, colors.write, colors.as_text, part="reading",
              group="reading", help="L*, a*, b* (D65, 2°), a Munsell chip or a screen color", required=True),
        choice("instrument", "Read with", colors.INSTRUMENTS, part="reading", group="reading",
               help="sets the uncertainty if left blank"),
        Field("sd", "Uncertainty", "0.5 or 0.5, 0.3, 0.4", colors.read_sd, texts=colors.sd_text,
              part="reading", group="reading", help="one standard deviation of L*, a*, b*"),
        choice("spot", "Spot", SPOTS, part="reading", group="reading"),
        yes_no("damp", "Damp", part="reading", group="reading", help="blank: dry, asked after a rinse"),
        yes_no("sealed", "Sealed", part="reading", group="reading", help="blank: bare, asked after a coat"),
        Field("sample", "On sample", "12", _numbered("sample"), part="reading", group="reading",
              help="blank: in the field"),
    )  # fmt: skip


def sample(_shown: str) -> tuple[Field, ...]:
    """The fields of a sample."""
    return (
        Field("number", "Number", "12", _numbered("sample"), part="sample", group="sample",
              help="blank: next number"),
        Field("load", "From load", "2", _numbered("load"), part="sample", group="sample",
              help="the job's first load is 1; blank: poured separately"),
        name("size", "Size", "2x2 ft", part="sample", group="sample"),
        name("kept_where", "Kept where", "on the rack behind the shed", part="sample", group="sample"),
        yes_no("half_sealed", "Half sealed", part="sample", group="sample"),
        name("cement", "Cement", "Type IL, Crabapple mill", part="sample", group="sample"),
        *(field for end in DOSE_ENDS for field in _dose(end)),
    )  # fmt: skip


DOSE_ENDS = ("", "_2", "_3", "_4")
"""Endings of the keys of a sample's pigments."""


def _dose(end: str) -> tuple[Field, ...]:
    nth = end.replace("_", " ")
    return (
        name(f"pigment{end}", f"Pigment{nth}", "Wet Biscuit", part="sample", group=f"pigment{nth}",
             suggest="products"),
        name(f"pigment_maker{end}", f"Its maker{nth}", "Toadstone Pigments", part="sample",
             group=f"pigment{nth}", suggest="makers"),
        quantity(f"percent{end}", f"Dose, of cementitious{nth}", "percent", part="sample",
                 group=f"pigment{nth}", positive=False, help="0 for a plain sample"),
    )  # fmt: skip


def approval(_shown: str) -> tuple[Field, ...]:
    """The fields of an approval."""
    return (
        Field("sample", "Sample", "12", _numbered("sample"), part="approval", group="approval", required=True),
        name("signed_by", "Signed by", "Ottoline Quillfeather", part="approval", group="approval",
             required=True),
        yes_no("approved", "Approved", part="approval", group="approval", help="blank: yes"),
    )  # fmt: skip


def claim(_shown: str) -> tuple[Field, ...]:
    """The fields of a claim."""
    return (
        note("complaint", "Complaint", "lighter than the front", part="claim", group="claim", required=True),
        note("cause", "Cause", "another cement", part="claim", group="claim"),
        note("action", "What was done", "antiquing wash on two panels", part="claim", group="claim"),
        note("outcome", "Outcome", "she is content", part="claim", group="claim"),
        yes_no("settled", "Settled", part="claim", group="claim"),
    )


def _numbered(what: str) -> Any:
    """A reader of `12`, `#12` or `sample 12`."""

    def read(text: str) -> int:
        bare = text.strip().casefold().removeprefix(what).strip().removeprefix("#").strip()
        return units.read_count(bare, high=999_999_999)

    return read


# from values to what the log keeps


def new_load(values: Values, split: Split) -> NewLoad:
    """The load of what was typed; `split` says which areas it went to."""
    return NewLoad(
        yards=_float(values.get("yards")),
        returned_yd3=_float(values.get("returned_yd3")),
        dumped_yd3=_float(values.get("dumped_yd3")),
        ticket=values.get("ticket"),
        mix=_mix(values),
        water_gal=_float(values.get("water_gal")),
        water_when=values.get("water_when"),
        slump_in=_float(values.get("slump_in")),
        slump_end_in=_float(values.get("slump_end_in")),
        is_balance=bool(values.get("is_balance")),
        areas=split,
    )


_MIX = {
    "plant": "plant", "mix_number": "number", "cement_kind": "cement_kind", "cement_mill": "cement_mill",
    "cement_lb_per_yd3": "cement_lb_per_yd3", "scm_kind": "scm_kind", "scm_lb_per_yd3": "scm_lb_per_yd3",
    "admixtures": "admixtures", "sand": "sand",
}  # fmt: skip
"""Which field of a mix stands behind which key."""


def _mix(values: Values) -> NewMix | None:
    told: dict[str, Any] = {field: values[key] for key, field in _MIX.items() if values.get(key) is not None}
    kept = {field: value if isinstance(value, str) else float(value) for field, value in told.items()}
    return replace(NewMix(), **kept) if kept else None  # type: ignore[arg-type]


def new_coat(values: Values) -> Coat:
    """The coat of what was typed."""
    return Coat(
        number=values.get("number"),
        reseal=bool(values.get("reseal")),
        area_ft2=_float(values.get("area_ft2")),
        slab_f=_float(values.get("slab_f")),
        air_f=_float(values.get("air_f")),
        humidity_percent=_float(values.get("humidity_percent")),
    )


def new_reading(values: Values) -> Reading:
    """The reading of what was typed; the instrument's usual uncertainty where none was stated."""
    read: colors.Color = values["color"]
    instrument = values.get("instrument") or read.instrument
    L, a, b = read.lab
    stated: tuple[float, ...] | None = values.get("sd") or colors.UNCERTAINTY.get(instrument)
    sd_L, sd_a, sd_b = stated or (None, None, None)
    spot, damp, sealed = values.get("spot") or "base", bool(values.get("damp")), bool(values.get("sealed"))
    return Reading(L, a, b, sd_L, sd_a, sd_b, spot, damp, sealed, instrument, sample=values.get("sample"))


def new_sample(values: Values, loads: tuple[int, ...]) -> NewSample:
    """The sample, with its load's entry number in place of the load's place in the job. Raises InputError."""
    return NewSample(
        number=values.get("number"),
        load=_load_entry(values.get("load"), loads),
        size=values.get("size"),
        kept_where=values.get("kept_where"),
        half_sealed=values.get("half_sealed"),
        cement=values.get("cement"),
        doses=tuple(dose for end in DOSE_ENDS if (dose := _new_dose(end, values)) is not None),
    )


def _new_dose(end: str, values: Values) -> tuple[NewProduct, float] | None:
    """A pigment with its percent; one of the two alone says nothing. Raises InputError."""
    pigment, percent = values.get(f"pigment{end}"), values.get(f"percent{end}")
    if pigment is None and percent is None:
        return None
    if pigment is None or percent is None:
        missing, given = (f"pigment{end}", "percent") if pigment is None else (f"percent{end}", "pigment")
        raise InputError(f"The sample's {given} is there, but its {missing} is missing.", where=missing,
                         example="Wet Biscuit" if pigment is None else "3 %")  # fmt: skip
    return NewProduct(pigment, "pigment", values.get(f"pigment_maker{end}")), float(percent)


def _load_entry(place: int | None, loads: tuple[int, ...]) -> int | None:
    if place is None:
        return None
    if place > len(loads) or not loads[place - 1]:
        told = len([number for number in loads if number])
        has = f"There {'is 1 load' if told == 1 else f'are {told} loads'}."
        raise InputError(f"No load {place}.", has, where="load", example=str(len(loads) or ""))
    return loads[place - 1]


def new_approval(values: Values) -> Approval:
    """The approval of what was typed; approved unless it says otherwise."""
    return Approval(values["sample"], values["signed_by"], values.get("approved") is not False)


def new_claim(values: Values) -> Claim:
    """The claim of what was typed."""
    return Claim(
        values["complaint"],
        values.get("cause"),
        values.get("action"),
        values.get("outcome"),
        bool(values.get("settled")),
    )


def _float(value: Any) -> float | None:
    return None if value is None else float(value)


# and back, for a correction


def values_of(entry: Entry, loads: tuple[int, ...]) -> dict[str, Any]:
    """The values of an entry's detail row by key."""
    found: dict[str, Any] = {}
    if entry.load is not None:
        found |= _load_values(entry.load)
    if entry.coat is not None:
        found |= _told(entry.coat, "number", "area_ft2", "slab_f", "air_f", "humidity_percent")
        found["reseal"] = entry.coat.reseal or None
    if entry.reading is not None:
        found |= _reading_values(entry.reading)
    if entry.sample is not None:
        found |= _told(entry.sample, "number", "size", "kept_where", "half_sealed", "cement")
        for end, (pigment, percent) in zip(DOSE_ENDS, entry.sample.doses, strict=False):
            found |= {f"pigment{end}": pigment.name, f"pigment_maker{end}": pigment.maker}
            found[f"percent{end}"] = units.exact(percent)
        found["load"] = loads.index(entry.sample.load) + 1 if entry.sample.load in loads else None
    if entry.approval is not None:
        found |= _told(entry.approval, "sample", "approved") | {"signed_by": entry.approval.by}
    if entry.claim is not None:
        found |= _told(entry.claim, "complaint", "cause", "action", "outcome")
        found["settled"] = entry.claim.settled or None
    return found


def _told(record: Any, *keys: str) -> dict[str, Any]:
    return {key: getattr(record, key) for key in keys}


def _load_values(load: Load) -> dict[str, Any]:
    keys = ("yards", "returned_yd3", "dumped_yd3", "ticket", "water_gal", "water_when", "slump_in",
            "slump_end_in")  # fmt: skip
    mix = load.mix or Mix("")
    return {
        **_told(load, *keys),
        "is_balance": load.is_balance or None,
        **{key: getattr(mix, field) for key, field in _MIX.items()},
    }


def _reading_values(reading: Reading) -> dict[str, Any]:
    sds = (reading.sd_L, reading.sd_a, reading.sd_b)
    return {
        "color": colors.Color((reading.L, reading.a, reading.b), reading.source),
        "instrument": reading.source,
        "sd": None if None in sds or sds == colors.UNCERTAINTY.get(reading.source) else sds,
        "spot": reading.spot,
        "damp": reading.damp or None,
        "sealed": reading.sealed or None,
        "sample": reading.sample,
    }
