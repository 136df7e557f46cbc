"""An area's measures in words, for command, screen and sheets, so that forms can be checked."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction

from finishlog.errors import InputError
from finishlog.records.log import Shape
from finishlog.records.quantities.order import Extra, FlatShape
from finishlog.trade.pour import takeoff
from finishlog.trade.pour.outline import Outline, outlines
from finishlog.units import QUANTITIES, plain, write, write_feet_inches, write_number

_EXTRAS = ("edge", "stairs")


@dataclass(frozen=True, slots=True)
class Drawn:
    """A shape as it is drawn: its outline and its measures, `22 × 16`, `− 3 × 3`."""

    outline: Outline
    label: str


def dimensions(shapes: Sequence[Shape], units: str = "us") -> str:
    """`22×16 + 8×3 − 3×3 − 4×2, 4 corners of 2 ft`: what was added, what was cut out. Empty without shapes.

    Text that cannot be read, of a paper log perhaps, stands as it was typed.
    """
    try:
        flat, extra = _read(shapes)
    except InputError:
        return ", ".join(f"{shape.kind} {shape.dimensions}" for shape in shapes)
    pieces = sorted((s for s in flat if s.kind != "round"), key=lambda shape: -shape.sign)
    rounds = [
        f"{write_number(s.sizes_ft[0])} corner{'' if s.sizes_ft[0] == 1 else 's'} of "
        f"{_length(s.sizes_ft[1], units)} {_unit(units)}"
        for s in flat
        if s.kind == "round"
    ]
    terms = "".join(_term(shape, units, first=at == 0) for at, shape in enumerate(pieces))
    if terms and not rounds:
        terms += f" {_unit(units)}"
    return ", ".join(part for part in (terms, *rounds, *(_extra(one, units) for one in extra)) if part)


def drawn(shapes: Sequence[Shape], units: str = "us") -> tuple[Drawn, ...]:
    """The shapes to be drawn, each by itself: nobody measured where one lies beside the others."""
    try:
        flat, _ = _read(shapes)
    except InputError:
        return ()
    found = outlines(flat)
    rounds = iter([shape for shape in flat if shape.kind == "round"])
    lone = sum(one.sign > 0 for one in found) == 1
    return tuple(
        Drawn(
            one, _corners(next(rounds), units) if one.kind == "round" else _label(one, units, lone, at == 0)
        )
        for at, one in enumerate(found)
    )


def _read(shapes: Iterable[Shape]) -> tuple[list[FlatShape], list[Extra]]:
    flat, extra = [], []
    for shape in shapes:
        if shape.kind in _EXTRAS:
            extra.append(takeoff.read_extra(shape.kind, shape.dimensions))
        else:
            flat.append(takeoff.read_shape(shape.kind, shape.dimensions, shape.sign))
    return flat, extra


def _term(shape: FlatShape, units: str, *, first: bool) -> str:
    sign = ("" if first else " + ") if shape.sign > 0 else ("− " if first else " − ")
    if shape.kind == "rect":
        return sign + "×".join(_length(size, units) for size in shape.sizes_ft)
    if shape.kind == "circle":
        return f"{sign}circle r {_length(shape.sizes_ft[0], units)}"
    xy = [_length(size, units) for size in shape.sizes_ft]
    return f"{sign}corners {' '.join(f'{x},{y}' for x, y in zip(xy[::2], xy[1::2], strict=True))}"


def _label(one: Outline, units: str, lone: bool, first: bool) -> str:
    sign = "− " if one.sign < 0 else "" if lone or first else "+ "
    width, height = (_length(_near(size), units) for size in (one.width_ft, one.height_ft))
    if one.kind == "circle":
        return f"{sign}circle r {_length(_near(one.width_ft / 2), units)}"
    return f"{sign}{width} × {height}{' over all' if one.kind == 'polygon' else ''}"


def _corners(shape: FlatShape, units: str) -> str:
    """`4 corners r 2 ft`."""
    count = write_number(shape.sizes_ft[0])
    return f"{count} corner{'' if count == '1' else 's'} r {_length(shape.sizes_ft[1], units)} {_unit(units)}"


def _near(size: float) -> Fraction:
    return Fraction(size).limit_denominator(10_000)


def _extra(one: Extra, units: str) -> str:
    if one.kind == "edge":
        length, width, depth = one.sizes_ft
        size = f"{_length(length, units)}×{_length(width, units)} {_unit(units)}"
        return f"edge {size}, {_inches(depth, units)} deeper"
    steps, width, rise, run = one.sizes_ft
    sizes = (
        f"{_length(width, units)} {_unit(units)} wide, rise {_inches(rise, units)}, run {_inches(run, units)}"
    )
    return f"{write_number(steps)} step{'' if steps == 1 else 's'} {sizes}"


def _length(feet: Fraction, units: str) -> str:
    """`22`, `24'6"`; in metric `6.71`, the meters of a row of measures whose unit stands at its end."""
    if units == "metric":
        return plain(feet / QUANTITIES["length_ft"].factors["m"], 2)
    if feet.denominator == 1:
        return str(feet.numerator)
    return write_feet_inches(feet).replace("' 0\"", "'").replace("' ", "'", 1)


def _unit(units: str) -> str:
    return "m" if units == "metric" else "ft"


def _inches(feet: Fraction, units: str) -> str:
    return write("depth_in", feet * 12, units) if units == "metric" else f"{write_number(feet * 12)} in"
