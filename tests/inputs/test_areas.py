"""Areas as they are typed: a size is read, or refused; it never ends up in the name."""

from __future__ import annotations

import math

import pytest

from finishlog.errors import InputError
from finishlog.inputs.jobs import read_areas


@pytest.mark.parametrize(
    ("text", "name", "area_ft2", "depth_in"),
    [
        ("field 24x18 4in", "field", 432, 4),
        ("field 24'6\" x 18' 4in", "field", 441, 4),
        ("field 10 by 12", "field", 120, None),
        ("field 10*12", "field", 120, None),
        ("field 10×12 4 in", "field", 120, 4),
        ("field ½x10", "field", 5, None),
        ("field .5x.5", "field", 0.25, None),
        ("field 3m x 4m 10cm", "field", 12 / 0.3048**2, 10 / 2.54),
        ("border 76 ft2", "border", 76, None),
        ("border 76ft2 4in", "border", 76, 4),
        ("border 76 m²", "border", 76 / 0.3048**2, None),
        ("field 4in", "field", None, 4),
        ("step 1", "step 1", None, None),
        ("pool 2 deck", "pool 2 deck", None, None),
        ("phase-2 walk", "phase-2 walk", None, None),
        ("24 Xavier side", None, None, None),
        ("box 5", "box 5", None, None),
        ("by the pool", "by the pool", None, None),
    ],
)
def test_a_size_is_read(text: str, name: str | None, area_ft2: float | None, depth_in: float | None) -> None:
    if name is None:
        with pytest.raises(InputError, match="name comes first"):
            read_areas(text)
        return
    [area] = read_areas(text)
    assert area.name == name
    assert area.area_ft2 == (None if area_ft2 is None else pytest.approx(area_ft2))
    assert area.depth_in == (None if depth_in is None else pytest.approx(depth_in))


@pytest.mark.parametrize(
    "text",
    ["field 10xx10", "field 10x", "field x10", "field 10x10x10", "field -3x4", "field 10x10 -4in", "field 1e9x5",
     "field 10x10 ft2", "field 400 ft", "field 1O x 10", "field ٣x٤", "field 4 in 10x10", "field 10 xx 10",
     "field 10x10 4 in extra", "field 3 x 4 m", "field ..x..", "steps 3 x"],
)  # fmt: skip
def test_a_size_that_is_not_understood_is_no_part_of_a_name(text: str) -> None:
    with pytest.raises(InputError) as refused:
        read_areas(text)
    assert refused.value.where == "areas" or refused.value.example
    assert "Like " in refused.value.line()


PIECES = [
    ("yard 18x14 less 3x3 4in", 243.0, [(1, "rect", "18x14"), (-1, "rect", "3x3")], None),
    ("yard 22x16 + 8x3 less 3x3 less 4x2", 359.0,
     [(1, "rect", "22x16"), (1, "rect", "8x3"), (-1, "rect", "3x3"), (-1, "rect", "4x2")], None),
    ("yard 22x16 plus 8x3", 376.0, [(1, "rect", "22x16"), (1, "rect", "8x3")], None),
    ("yard 10x10 round 4@2", 100 - 4 * (1 - math.pi / 4) * 4, [(1, "rect", "10x10"), (1, "round", "4@2")], None),
    ("yard 10x10 round 4r2", 100 - 4 * (1 - math.pi / 4) * 4, [(1, "rect", "10x10"), (1, "round", "4r2")], None),
    ("pad circle 6 4in", 36 * math.pi, [(1, "circle", "6")], None),
    ("pad circle 6 4 in", 36 * math.pi, [(1, "circle", "6")], None),
    ("yard 20x20 less circle 2", 400 - 4 * math.pi, [(1, "rect", "20x20"), (-1, "circle", "2")], None),
    ("gore triangle 10x8 4in", 40.0, [(1, "polygon", "0,0 10,0 0,8")], None),
    ("gore polygon 0,0 24,0 24,18 4in", 216.0, [(1, "polygon", "0,0 24,0 24,18")], None),
    ("yard 20x10 edge 40x1x8in 4in", 200.0, [(1, "rect", "20x10"), (1, "edge", "40x1x8in")], 40 * 8 / 12 / 27),
]  # fmt: skip


@pytest.mark.parametrize(("text", "area_ft2", "shapes", "edge"), PIECES)
def test_a_new_job_takes_the_shapes_that_yards_takes(
    text: str, area_ft2: float, shapes: list[tuple[int, str, str]], edge: float | None
) -> None:
    [area] = read_areas(text)
    assert area.area_ft2 == pytest.approx(area_ft2)
    assert [(one.sign, one.kind, one.dimensions) for one in area.shapes] == shapes
    assert area.depth_in == (4 if text.endswith("in") else None)
    assert area.edge_yd3 == (None if edge is None else pytest.approx(edge))


def test_shapes_and_further_areas_stand_side_by_side() -> None:
    areas = read_areas("walk 12x4 4in, gore polygon 0,0 24,0 24,18 4in, yard 18x14 less 3x3,border 76 ft2")
    assert [(one.name, one.area_ft2) for one in areas] == [
        *(("walk", 48), ("gore", 216), ("yard", 243), ("border", 76)),
    ]


@pytest.mark.parametrize("text", ["yard 3x3 less 4x4", "yard 18x14 less", "yard 18x14 less 3", "yard 9x9 9x9",
                                  "gore polygon 0,0 2,2", "less 3x3"])  # fmt: skip
def test_a_shape_that_is_none_is_refused_in_words_of_the_field(text: str) -> None:
    with pytest.raises(InputError) as refused:
        read_areas(text)
    assert "--" not in refused.value.line()
