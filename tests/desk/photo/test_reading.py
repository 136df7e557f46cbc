"""Colors read off a photo, without a log: on a drawn card whose colors are known (tests/color/card_drawing.py)."""

from __future__ import annotations

from fractions import Fraction
from io import BytesIO

import numpy as np
import pytest
from PIL import Image

from finishlog.desk.photo import as_json, reading
from finishlog.desk.photo.measured import Measured
from finishlog.errors import InputError
from finishlog.inputs.boxes import read_box, read_gray
from finishlog.records.shop import Shop
from tests.color.card_drawing import CORNERS, SLAB, SLAB_LAB, drawn, spot_of

AROUND = tuple((Fraction(x), Fraction(y)) for x, y in CORNERS)
BASE = read_box(f"base={','.join(map(str, SLAB))}")


def as_file(picture: np.ndarray, kind: str = "PNG", **options: object) -> bytes:
    out = BytesIO()
    Image.fromarray(picture).save(out, kind, **options)
    return out.getvalue()


def measured(picture: np.ndarray, *boxes: str, **settings: str) -> Measured:
    shown = [BASE, *(read_box(text) for text in boxes)]
    return reading.measure(as_file(picture), shown, Shop.from_values(settings), corners=AROUND)


@pytest.mark.parametrize(
    ("kind", "options"), [("PNG", {}), ("JPEG", {"quality": 90}), ("TIFF", {}), ("WEBP", {"quality": 95})]
)
def test_every_kind_of_picture_reads_alike(kind: str, options: dict[str, object]) -> None:
    data = as_file(drawn(), kind, **options)
    found = reading.measure(data, [BASE], Shop.from_values({}), corners=AROUND)
    assert found.spots[0].lab == pytest.approx(SLAB_LAB, abs=2)


def test_a_rinsed_spot_is_a_reading_of_the_base_and_an_unrinsed_one_of_the_release() -> None:
    found = measured(drawn(), "rinsed=610,70,30,30", "unrinsed=650,70,30,30", "field=610,120,60,60")
    assert [(spot.shows, spot.spot) for spot in found.spots] == [
        ("base", "base"), ("rinsed", "base"), ("unrinsed", "release color"), ("field", "field"),
    ]  # fmt: skip
    assert len(found.apart) == 6


def test_the_field_is_the_mean_of_its_light_and_a_spot_its_median() -> None:
    picture = drawn()
    x, y, width, height = SLAB
    picture[y : y + height // 3, x : x + width] //= 2  # a third of it dark
    place = ",".join(map(str, SLAB))
    found = measured(picture, f"field={place}")
    base, field = found.spots
    assert base.lab[0] == pytest.approx(SLAB_LAB[0], abs=1.5)
    assert field.lab[0] < base.lab[0] - 5


def test_the_shop_says_from_when_a_card_is_not_believed() -> None:
    picture = drawn(scatter=0.14)
    off = measured(picture).card
    assert off is not None
    assert 3 < off.loo_median_de00 < 8
    with pytest.raises(InputError, match="not the colors of a 24-patch card"):
        measured(picture, card_limit_de00="3")


def test_the_shop_says_what_its_gray_card_reflects() -> None:
    gray = read_gray(",".join(map(str, spot_of(21))))
    light = [
        reading.measure(as_file(drawn()), [BASE], Shop.from_values({"gray_card_percent": share}), gray=gray)
        for share in ("18", "30")
    ]
    assert light[1].spots[0].lab[0] > light[0].spots[0].lab[0] + 8


def test_a_gray_box_that_is_not_on_the_card_is_doubted() -> None:
    """Black taken for a gray card makes the slab brighter than white."""
    dark = read_gray(",".join(map(str, spot_of(23))))
    found = reading.measure(as_file(drawn()), [BASE], Shop.from_values({}), gray=dark)
    assert any("brighter than white" in note for note in found.notes)


def test_release_left_where_the_field_and_both_patches_are_shown() -> None:
    picture = drawn()
    x, y, width, height = SLAB
    picture[y : y + height // 3, x : x + width] //= 2
    dark, light = f"unrinsed={x + 5},{y + 5},60,60", f"rinsed={x + 5},{y + 200},60,60"
    mixed = f"field={x},{y},{width},{height}"
    left = measured(picture, dark, light, mixed).left
    assert left is not None
    assert left.share == pytest.approx(0.97 / 3, abs=0.05)
    assert measured(picture, light, mixed).left is None
    alike = measured(drawn(), dark, light, mixed)
    assert alike.left is None
    assert any("too alike" in line for line in alike.notes)


def test_what_was_left_out_is_said() -> None:
    found = measured(drawn(gain=1.12, hidden=[7]))
    said = " ".join(found.notes)
    assert "overexposed, and left out" in said
    assert "white 9.5" in said
    assert "purplish blue" in said


def test_a_partly_clipped_box_is_said() -> None:
    picture = drawn()
    x, y, width, height = SLAB
    picture[y : y + height // 5, x : x + width] = 255
    assert any("clipped by the camera" in line for line in measured(picture).notes)


def test_numbers_are_said_no_finer_than_they_are_known() -> None:
    assert as_json.lab_words((58.31, 9.04, 16.62), (3.1, 2.2, 0.44)) == "L* 58 ± 3  a* 9 ± 2  b* 16.6 ± 0.4"
    assert as_json.lab_words((-1.31, 0.52, 0.0), (0.4, 0.3, 0.01), signed=True) == (
        "L* -1.3 ± 0.4  a* +0.5 ± 0.3  b* 0 ± 0.1"
    )
