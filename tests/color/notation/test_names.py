"""ISCC-NBS names. Kelly and Judd, NBS SP 440, 1976; Kelly, J. Res. NBS 61(5):427, 1958 (RP 2911)."""

from __future__ import annotations

import numpy as np
import pytest

from finishlog.color.notation.names import centroids, nearest, nearest_name, need_color
from finishlog.color.notation.space import delta_e_2000, munsell_to_lab
from finishlog.errors import InputError


def test_267_blocks_263_convertible() -> None:
    blocks = centroids()
    assert [block.number for block in blocks] == list(range(1, 268))
    assert len({block.name for block in blocks}) == 267
    assert [block.number for block in blocks if block.lab is None] == [24, 65, 114, 157]


def test_the_file_is_what_its_munsell_column_gives() -> None:
    """L*a*b* beside a centroid is derived: recompute all of them, and the four that cannot be."""
    for block in centroids():
        if block.lab is None:
            with pytest.raises(InputError):
                munsell_to_lab(block.munsell)
        else:
            assert munsell_to_lab(block.munsell) == pytest.approx(block.lab, abs=0.0051), block


def test_a_centroid_is_nearest_to_itself() -> None:
    for block in centroids():
        if block.lab is not None:
            found = nearest(block.lab)
            assert (found.number, found.name, found.munsell) == (block.number, block.name, block.munsell)
            assert found.de00 == 0


def test_nearest_is_the_nearest_of_all() -> None:
    """The lightness window may never hide a nearer block."""
    blocks = [block for block in centroids() if block.lab is not None]
    table = np.array([block.lab for block in blocks])
    for lab in np.random.default_rng(1).uniform((0, -60, -60), (100, 60, 60), (500, 3)):
        distances = delta_e_2000(table, lab)
        assert nearest(lab).number == blocks[int(distances.argmin())].number
        assert nearest(lab).de00 == pytest.approx(float(distances.min()), abs=1e-9)


@pytest.mark.parametrize(
    ("lab", "name"),
    [
        ((63.96, 3.5, 15.2), "light grayish yellowish brown"),
        ((51, 0, 0), "medium gray"),
        ((95, 0, 0), "white"),
        ((10, 0, 0), "black"),
    ],
)
def test_plain_names(lab, name) -> None:
    assert nearest_name(lab) == name


def test_where_a_color_is_needed_words_are_refused() -> None:
    assert need_color("62,4,16") == (62, 4, 16)
    with pytest.raises(InputError, match="not a color"):
        need_color("buff")
