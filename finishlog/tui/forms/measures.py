"""The measure form: its fields, and the request made of their texts."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from fractions import Fraction
from typing import TYPE_CHECKING, TypeVar

from finishlog import units
from finishlog.errors import InputError, naming
from finishlog.inputs.readers import read_sample, read_time
from finishlog.records.log import Shape
from finishlog.records.plan import PlanRequest
from finishlog.tui.forms.fields import Field, asks

if TYPE_CHECKING:
    from finishlog.desk.match.plan import Measures
    from finishlog.records.quantities.order import Extra, FlatShape

T = TypeVar("T")
_SEVERAL = re.compile(r"\s*[;+]\s*|\s*,\s+|\s*,\s*(?=\d+\s*x)", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class ShapeField:
    """A field for any number of shapes of one kind."""

    key: str
    label: str
    sign: int
    kind: str
    hint: str


SHAPES = (
    ShapeField("rect", "Rectangles", 1, "rect", "20x12, or 20x12; 6x4"),
    ShapeField("circle", "Circles, radius", 1, "circle", "5"),
    ShapeField("polygon", "Corners x,y", 1, "polygon", "0,0 24,0 24,18"),
    ShapeField("less_rect", "Cut out", -1, "rect", "3x3"),
    ShapeField("less_circle", "Cut out, radius", -1, "circle", "2"),
    ShapeField("round", "Rounded corners", 1, "round", "4r2, four of 2 ft"),
    ShapeField("edge", "Thick edge", 1, "edge", "40x1x8in, depth below it"),
)


def several(kind: str, text: str) -> list[str]:
    """Split a field's shapes at `;`, `+` or a comma; polygons at `;` only."""
    parts = re.split(r"\s*;\s*", text) if kind == "polygon" else _SEVERAL.split(text)
    return [part for part in (part.strip() for part in parts) if part]


def shapes(field: ShapeField, text: str) -> tuple[Shape, ...]:
    """Empty for a blank. Raises InputError."""
    return tuple(Shape(field.sign, field.kind, part) for part in several(field.kind, text))


def specs(measures: Measures, system: str, today: date, area: str = "") -> tuple[Field, ...]:
    """The form's fields. The reference's facts are hints; only its depth is filled in.

    With several areas it asks which to match; `area` is the one chosen.
    """
    content = _quantity("content_lb_per_yd3", system)
    return (
        *([_area_spec(measures.areas, area)] if len(measures.areas) > 1 else []),
        shape_spec("rect", system),
        asks("depth", "Depth", _quantity("depth_in", system), start=measures.depth, hint="4 in",
             required="Give the depth, like 4 in or 100 mm."),
        asks("on", "Pour on", _day,
             hint=_blank_day(measures, today)),
        shape_spec("circle", system, gap=True),
        *(shape_spec(key, system) for key in ("polygon", "less_rect", "less_circle", "round", "edge")),
        asks("plant", "Plant", hint=_was(measures.plant), gap=True),
        asks("cement_kind", "Cement kind", hint=_was(measures.cement_kind)),
        asks("cement", "Cement", content, hint=_was(measures.cement, " lb/yd³")),
        asks("scm", "Other cement", content, hint=_was(measures.scm, " lb/yd³")),
        asks("lots", "Pigment lots", hint=_was(", ".join(measures.lots))),
        asks("sample", "Sample", _sample, hint="of the new lot and cement, read: 12"),
        asks("start", "First truck", _hour, hint="7a, on site; blank: unknown", gap=True),
        asks("air", "Air", _quantity("temperature_f", system), hint="38 F; below 40 °F the plan changes"),
        asks("name", "Name", hint="of the new piece"),
    )  # fmt: skip


def _blank_day(measures: Measures, machine: date) -> str:
    """An example, what a blank means, and the site's date if the machine's differs."""
    here = measures.today or machine
    if here != machine:
        return f"blank: {units.write_date(here)} on site"
    return f"{units.write_date(machine + timedelta(days=7))}; blank: today"


def _area_spec(areas: tuple[str, ...], chosen: str) -> Field:
    def read(text: str) -> str:
        if text.strip().casefold() not in (each.casefold() for each in areas):
            raise InputError(f"The old job has {', '.join(areas)}.", where="area", example=areas[0])
        return "this one is matched"

    return asks("area", "Match its", read, start=chosen or areas[0], choices=areas, strict=True,
                required="Say which area to match.")  # fmt: skip


def request(handle: str, values: Mapping[str, str]) -> PlanRequest:
    """The request for the addition. A blank is unknown, never "the same"."""
    text = {key: value.strip() for key, value in values.items()}
    return PlanRequest(
        reference=handle,
        shapes=tuple(shape for field in SHAPES for shape in shapes(field, text[field.key])),
        depth=text["depth"],
        on=_at("on", units.read_date, text),
        area=text.get("area") or None,
        plant=text["plant"] or None,
        cement_kind=text.get("cement_kind") or None,
        cement_lb_per_yd3=_at("cement", units.read_content_lb_per_yd3, text),
        scm_lb_per_yd3=_at("scm", lambda t: units.read_content_lb_per_yd3(t, positive=False), text),
        lots=tuple(lot for lot in re.split(r"\s*[,;]\s*", text["lots"]) if lot),
        name=text["name"] or None,
        air_f=_at("air", units.read_temperature_f, {"air": "", **text}),
        start=_at("start", read_time, {"start": "", **text}),
        sample=_at("sample", read_sample, {"sample": "", **text}),
    )


def _sample(text: str) -> str:
    return f"sample {read_sample(text)}"


def _at(key: str, read: Callable[[str], T], text: Mapping[str, str]) -> T | None:
    with naming(key):
        return read(text[key]) if text[key] else None


def _was(value: str, unit: str = "") -> str:
    """The reference's fact as a hint, never as a value: it may have changed."""
    return f"was {value}{unit}" if value else "was not logged"


def _day(text: str) -> str:
    return units.write_weekday(units.read_date(text))


def _quantity(key: str, system: str) -> Callable[[str], str]:
    return lambda text: units.write(key, units.read(key, text), system)


def _hour(text: str) -> str:
    from finishlog.desk.words import clock

    return f"{clock(datetime.combine(date.min, read_time(text)))} on site"


def _shape_echo(field: ShapeField, system: str) -> Callable[[str], str]:
    return lambda text: size(shapes(field, text), system)


def size(found: tuple[Shape, ...], system: str) -> str:
    """Echo of a field's area, or its edges' volume. Raises InputError."""
    from finishlog.trade.pour import takeoff

    if found and found[0].kind == "edge":
        yards = sum(
            (takeoff.extra_yd3(takeoff.read_extra("edge", one.dimensions)) for one in found), Fraction(0)
        )
        return units.write("volume_yd3", yards, system)
    flat = [takeoff.read_shape(one.kind, one.dimensions) for one in found]
    return units.write("area_ft2", abs(sum((takeoff.shape_ft2(one) for one in flat), Fraction(0))), system)


def takeoff_of(values: Mapping[str, str]) -> tuple[tuple[FlatShape, ...], tuple[Extra, ...]]:
    """All fields' shapes and extras for the takeoff. Raises InputError at the field."""
    from finishlog.trade.pour import takeoff

    flat: list[FlatShape] = []
    extras: list[Extra] = []
    for field in SHAPES:
        for one in shapes(field, values.get(field.key, "")):
            with naming(field.key):
                if field.kind == "edge":
                    extras.append(takeoff.read_extra("edge", one.dimensions))
                else:
                    flat.append(takeoff.read_shape(one.kind, one.dimensions, one.sign))
    return tuple(flat), tuple(extras)


def total(values: Mapping[str, str], system: str) -> str:
    """Total area and neat volume; empty while a field cannot be read."""
    from finishlog.trade.pour import takeoff

    try:
        flat, extras = takeoff_of(values)
        take = takeoff.take_off(flat, units.read_depth_in(values["depth"]), extras)
    except InputError:
        return ""
    area, volume = (
        units.write("area_ft2", take.area_ft2, system),
        units.write("volume_yd3", take.volume_yd3, system),
    )
    return f"{area}, {volume} neat"


def shape_spec(key: str, system: str, *, gap: bool = False) -> Field:
    """The spec of the shape field `key`; its echo is in `system` units."""
    field = next(one for one in SHAPES if one.key == key)
    return asks(key, field.label, _shape_echo(field, system), hint=field.hint, gap=gap)


FIELD_OF = {"--" + field.key.replace("_", "-"): field.key for field in SHAPES} | {
    "--depth": "depth", "--on": "on", "--cement": "cement", "--scm": "scm", "--plant": "plant",
    "--lot": "lots", "--area": "area", "--air": "air", "--start": "start",
    "--cement-kind": "cement_kind", "--sample": "sample",
}  # fmt: skip
"""The field of each option a desk may refuse."""
