"""What past pours teach about ordering, and which of them cannot be right."""

from __future__ import annotations

from datetime import date

from finishlog.desk.history import learned
from finishlog.records.answers import PastSlab
from finishlog.records.shop import Shop

SHOP = Shop.from_values({})


def slab(job: str, placed: float | None, area: float | None = 324, depth: float | None = 4) -> PastSlab:
    """324 ft2 hold a yard to the inch."""
    return PastSlab(job, date(2025, 6, 4), area, depth, None, placed)


def test_slabs_teach_in_their_order() -> None:
    found = learned([slab("a", 4.08), slab("b", 4.59)], SHOP)
    assert [float(error) for error in found.errors] == [0, 0.5]  # 2 % of it is waste
    assert found.left_out == ()


def test_what_is_unknown_teaches_nothing_and_is_not_named() -> None:
    assert learned([slab("a", None), slab("b", 4, area=None), slab("c", 4, depth=None)], SHOP) == learned(
        [], SHOP
    )


def test_a_slab_over_a_foot_off_is_left_out_and_named() -> None:
    found = learned([slab("a", 4.08), slab("a-field", 40.8), slab("tiny", 4.08, depth=17)], SHOP)
    assert len(found.errors) == 1
    deep, shallow = found.left_out
    assert deep.startswith("a-field of Jun 4 2025 teaches nothing: its yards make it 36.0 in deeper")
    assert "13.0 in shallower" in shallow


def test_a_foot_off_is_still_believed() -> None:
    assert len(learned([slab("a", 16.32)], SHOP).errors) == 1
