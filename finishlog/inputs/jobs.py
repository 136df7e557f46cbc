"""A new job as typed: who, where, areas, buried items."""

from __future__ import annotations

import re
from collections.abc import Mapping
from fractions import Fraction
from typing import Any

from finishlog import units
from finishlog.errors import InputError
from finishlog.inputs.asking import Field, Wrong, choice, name, note
from finishlog.inputs.readers import read_contact, read_email
from finishlog.records.log import AreaKind, Shape
from finishlog.records.writing import NewArea, NewBuried

AREAS = "field 24x18 4in, border 76 ft2"
SHAPED = "yard 18x14 less 3x3 round 4r2 4in"
BURIED = "gas line, 18 in, along the fence"
KINDS: tuple[AreaKind, ...] = ("field", "border", "band", "stairs", "wall", "repair", "overlay")
_LIKE: dict[str, AreaKind] = {"step": "stairs", "stair": "stairs"}

_LENGTH = r"[\d.½¼¾⅓⅔⅛⅜⅝⅞][\d./' \"½¼¾⅓⅔⅛⅜⅝⅞-]*"
_BY = r"(?: ?[x*] ?| by )"
_PRODUCT = rf"(?:{_LENGTH} ?m{_BY}{_LENGTH} ?m|{_LENGTH}{_BY}{_LENGTH})"
_FLAT = r"[\d.]+ ?(?:ft2|sf|sq\.? ?ft|m2)"
_DEPTH = r"\d[\d./ -]* ?(?:in|\"|cm|mm)"
_CORNER = r"-?[\d.]+,-?[\d.]+"
_NAMED = (
    rf"circle +{_LENGTH}(?: ?m)?|triangle +{_PRODUCT}|polygon +{_CORNER}(?: +{_CORNER}){{2,}}"
    rf"|round +\d+ ?[@r] ?{_LENGTH}(?: ?m)?|edge +{_PRODUCT}{_BY}{_DEPTH}"
)
_FURTHER = rf" +(?:(?:less|plus|\+) *)?(?:{_NAMED})| +(?:less|plus|\+) *{_PRODUCT}| *\+ *{_PRODUCT}"
_AREA = re.compile(
    rf"(?P<name>[^\d].*?)(?: +(?P<flat>{_FLAT})|(?P<pieces>(?: +{_PRODUCT}|{_FURTHER})(?:{_FURTHER})*))?"
    rf"(?: +(?P<depth>{_DEPTH}))?",
    re.ASCII | re.IGNORECASE,
)
_PIECE = re.compile(
    r" *(?P<sign>less|plus|\+)? *(?:(?P<kind>circle|triangle|polygon|round|edge) +)?"
    r"(?P<size>.+?)(?= *(?:less|plus|\+|circle|triangle|polygon|round|edge)|$)",
    re.ASCII | re.IGNORECASE,
)
_NO_NAME = re.compile(
    r"\d,|[\d½¼¾⅓⅔⅛⅜⅝⅞] *[x*](?![a-wyz])|(?<![a-z])[x*] *[-.\d½¼¾⅓⅔⅛⅜⅝⅞]|\d by \d|\d ?['\"]"
    r"|\d ?(?:ft2?|feet|foot|sf|sq\.?(?: ?ft)?|in|inch|inches|cm|mm|m2?|yd2?)(?=$| *\d| *x)",
    re.IGNORECASE,
)
"""Catches an unread size, which would otherwise be lost in the name."""
_BETWEEN = re.compile(r";|,(?!-?[\d.]+(?:[ ,;]|$))", re.ASCII)
"""Separates areas; the comma in a corner `24,18` does not."""
_IS_DEPTH = re.compile(rf"(?:{_DEPTH})(?: (?:down|deep))?", re.ASCII | re.IGNORECASE)


def read_areas(text: str) -> tuple[NewArea, ...]:
    """Comma-separated areas: a name, then size and depth if known. Raises InputError."""
    found = tuple(_area(part.strip()) for part in _BETWEEN.split(text) if part.strip())
    names = [area.name.casefold() for area in found]
    if not found or len(set(names)) < len(names):
        what = "No area here." if not found else "Two areas share a name."
        raise InputError(what, where="areas", example=AREAS)
    return found


def _area(text: str) -> NewArea:
    match = _AREA.fullmatch(text.replace("×", "x").replace("²", "2"))
    if match is None:
        raise InputError(
            f"“{units.shown(text)}” is no area: its name comes first.", where="areas", example=AREAS
        )
    called = match["name"].strip()
    if _NO_NAME.search(called) or called.casefold() in ("less", "plus", "+"):
        title = f"“{units.shown(called)}” has a size we could not read."
        raise InputError(title, where="areas", example=AREAS)
    shapes = _shapes(match["pieces"] or "")
    size, edge = _sizes(shapes) if shapes else (None, None)
    if match["flat"]:
        size = units.read_area_ft2(match["flat"])
    depth = units.read_depth_in(match["depth"]) if match["depth"] else None
    return NewArea(
        called,
        _kind(called),
        area_ft2=float(size) if size is not None else None,
        depth_in=float(depth) if depth is not None else None,
        edge_yd3=float(edge) if edge else None,
        shapes=shapes,
    )


def _shapes(text: str) -> tuple[Shape, ...]:
    """The pieces of an area as saved: `18x14 less 3x3 round 4r2 edge 20x1x8in`."""
    found = []
    for piece in _PIECE.finditer(text):
        kind, size = (piece["kind"] or "rect").casefold(), piece["size"].strip()
        if kind == "triangle":  # a right one, by its two short sides
            base, height = units.read_product(size, ("length_ft", "length_ft"), "10x8")
            kind = "polygon"
            size = f"0,0 {units.plain(base)},0 0,{units.plain(height)}"
        found.append(Shape(-1 if (piece["sign"] or "").casefold() == "less" else 1, kind, size))
    return tuple(found)


def _sizes(shapes: tuple[Shape, ...]) -> tuple[Fraction, Fraction]:
    """Square feet and the cubic yards of edges, read as `yards` reads them. Raises InputError."""
    from finishlog.trade.pour import takeoff

    try:
        flat = [takeoff.read_shape(s.kind, s.dimensions, s.sign) for s in shapes if s.kind != "edge"]
        edges = [takeoff.read_extra(s.kind, s.dimensions) for s in shapes if s.kind == "edge"]
        return takeoff.area_ft2(flat), sum((takeoff.extra_yd3(one) for one in edges), Fraction(0))
    except InputError as wrong:
        raise InputError(wrong.title, wrong.cause, where="areas", example=SHAPED) from None


def _kind(called: str) -> AreaKind:
    """The kind that the name says, `field` where it says none."""
    words = called.casefold()
    like = ((kind, kind) for kind in KINDS)
    return next((kind for part, kind in (*like, *_LIKE.items()) if part in words), "field")


def read_buried(text: str) -> tuple[NewBuried, ...]:
    """One item, or several with ; between: what, how deep, where. Raises InputError."""
    found = tuple(_buried(part) for part in text.split(";") if part.strip())
    if not found:
        raise InputError("What is buried there?", where="buried", example=BURIED)
    return found


def _buried(text: str) -> NewBuried:
    what, *rest = (part.strip() for part in text.split(","))
    if not what:
        raise InputError("What is buried there?", where="buried", example=BURIED)
    deep = next((part for part in rest if _IS_DEPTH.fullmatch(part)), None)
    depth = units.read_depth_in(re.sub(r" (?:down|deep)$", "", deep)) if deep else None
    where = ", ".join(part for part in rest if part and part is not deep)
    return NewBuried(what, where or None, None if depth is None else float(depth))


FIELDS: tuple[Field, ...] = (
    name("customer", "Customer", "Ottoline Quillfeather", part="job", group="who", suggest="customers"),
    Field("phone", "Phone", "555-0142", read_contact, part="job", group="who"),
    Field("email", "E-mail", "ottoline@example.com", read_email, part="job", group="who"),
    name("street", "Street", "12 Upsidedown Lane", part="job", group="where"),
    name("town", "Town", "Wobbleton", part="job", group="where"),
    choice("exposure", "Exposure", ("sun", "part shade", "shade", "covered"), part="job", group="where"),
    name("job", "Job name", "back patio", part="job", group="what"),
    Field("areas", "Areas", AREAS, read_areas, lambda areas: _said(areas), part="job", group="what",
          help="name, size, depth; yard 18x14 less 3x3 4in; circle 6, triangle 9x6, round 4r2 too"),
    Field("planned_on", "Planned for", "2026-06-16", units.read_date, units.write_date, part="job", group="what"),
    Field("poured_on", "Or poured on", "2025-06-16", units.read_date, units.write_date, part="job", group="what"),
    Field("buried", "Buried", BURIED, read_buried, part="job", group="more", help="separate with ;"),
    note("note", "Note", "she wants it like the front", part="job", group="more"),
    name("handle", "Handle", "quillfeather-back-patio", part="job", group="more", help="automatic if blank"),
)  # fmt: skip
"""The fields of a new job, in the order of its form. Customer or job name is needed."""


def _said(areas: tuple[NewArea, ...]) -> str:
    told = []
    for area in areas:
        size = (
            units.write("area_ft2", units.exact(area.area_ft2))
            if area.area_ft2 is not None
            else "not measured"
        )
        depth = f", {units.write_number(area.depth_in)} in" if area.depth_in is not None else ""
        told.append(f"{area.name} {size}{depth}")
    return "; ".join(told)


def read(texts: Mapping[str, str]) -> tuple[dict[str, Any] | None, tuple[Wrong, ...]]:
    """The values by key, None for a blank; or None and all that is wrong."""
    known = {field.key: field for field in FIELDS}
    wrongs = [Wrong(key, "No such field.") for key in texts if key not in known]
    values: dict[str, Any] = {}
    for key, field in known.items():
        try:
            values[key] = field.read(texts.get(key, ""))
        except InputError as wrong:
            wrongs.append(Wrong(key, " ".join(p for p in (wrong.title, wrong.cause) if p), wrong.example))
    if not wrongs and values["customer"] is None and values["job"] is None:
        wrongs.append(Wrong("customer", "Who is it for, or what is it?", "Ottoline Quillfeather"))
    return (None, tuple(wrongs)) if wrongs else (values, ())
