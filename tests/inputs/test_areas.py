"""Areas as they are typed: a size is read, or refused; it never ends up in the name."""

from __future__ import annotations

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
