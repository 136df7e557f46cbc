"""A list of many rows: painted anew as a whole, and never silently left as it was."""

from __future__ import annotations

import pytest
from textual.geometry import Region

from finishlog.tui.widgets.roll import Roll


@pytest.mark.parametrize("lacking", ["_dirty_regions", "_repaint_regions"])
def test_a_textual_that_notes_its_rows_elsewhere_is_found_out(lacking: str) -> None:
    roll = Roll()
    delattr(roll, lacking)
    with pytest.raises(AttributeError, match=lacking):
        roll._set_dirty()


def test_what_was_to_be_painted_gives_way_to_the_whole() -> None:
    roll = Roll()
    roll._dirty_regions.add(Region(0, 3, 5, 1))
    roll._repaint_regions.add(Region(0, 3, 5, 1))
    roll._set_dirty()
    assert roll._dirty_regions == {roll.outer_size.region}
    assert not roll._repaint_regions, "of no size: nothing is painted"
