"""What is shown to the detector and what becomes of its answers; the detector is played, the card is drawn."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from finishlog.color.photo import card, card_finder
from finishlog.errors import InputError
from tests.color.card_drawing import CORNERS, drawn

BOX = np.array(CORNERS, float)
SLAB_BOX = np.array([(600, 60), (720, 60), (720, 360), (600, 360)], float)


class Detector:
    """Answers each look with the next of `answers`: boxes, or the error it trips over."""

    def __init__(self, answers: Sequence[Any]) -> None:
        self.answers, self.shown, self.boxes = list(answers), [], []

    def setColorChartType(self, kind: object) -> None:
        assert kind == "24 patches"

    def process(self, picture: np.ndarray, most: int) -> bool:
        self.shown.append(picture)
        answer = self.answers.pop(0) if self.answers else []
        if answer is OSError:
            raise OSError
        self.boxes = answer
        return bool(answer)

    def getListColorChecker(self) -> list[Any]:
        return [SimpleNamespace(getBox=lambda box=box: box) for box in self.boxes]


def played(monkeypatch: pytest.MonkeyPatch, *answers: Any) -> Detector:
    """The extra in the place of the real one: it finds what it is told to."""
    detector = Detector(answers)
    mcc = SimpleNamespace(CCheckerDetector_create=lambda: detector, MCC24="24 patches")

    def resize(picture: np.ndarray, size: tuple[int, int], interpolation: object) -> np.ndarray:
        return np.zeros((size[1], size[0], 3))

    module = SimpleNamespace(mcc=mcc, error=OSError, INTER_AREA="area", resize=resize)
    monkeypatch.setitem(sys.modules, "cv2", module)  # type: ignore[arg-type]
    return detector


def test_a_small_picture_is_shown_once_at_each_gamma_and_with_its_colors_turned(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """The detector wants blue first. Gamma .5 lifts the shadows: 64 becomes 255·√(64/255) = 127.7."""
    detector = played(monkeypatch, OSError)
    picture = np.full((40, 60, 3), (64, 128, 255), np.uint8)
    assert list(card_finder.candidates(picture)) == []
    assert [each[0, 0].tolist() for each in detector.shown] == [
        [255, 128, 64],
        [255, 181, 128],
        [255, 64, 16],
    ]


def test_what_is_found_in_a_smaller_picture_is_told_in_pixels_of_the_whole(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    detector = played(monkeypatch, [], [BOX / 4, BOX / 8])
    found = list(card_finder.candidates(np.zeros((3000, 4000, 3), np.uint8)))
    sides = [each.shape[:2] for each in detector.shown]
    assert sides == [(1200, 1600), (750, 1000), (1800, 2400), (1200, 1600), (1200, 1600)]
    assert np.allclose(found, [BOX, BOX / 2])


def test_a_long_strip_keeps_a_row_of_pixels(monkeypatch: pytest.MonkeyPatch) -> None:
    detector = played(monkeypatch)
    assert list(card_finder.candidates(np.zeros((1, 8000, 3), np.uint8))) == []
    assert detector.shown[0].shape[:2] == (1, 1600)


def test_the_first_that_fits_is_the_card_and_none_after_it_is_looked_for() -> None:
    looked = iter([SLAB_BOX, BOX, BOX])
    found = card.anywhere(drawn(), looked)
    assert found.loo_median_de00 < 1.0
    assert np.allclose(found.corners, CORNERS)
    assert len(list(looked)) == 1


def test_where_none_fits_the_reason_is_that_of_the_nearest() -> None:
    picture = drawn(hidden=[2, 3, 8, 9, 14, 15])
    for found in ([BOX, SLAB_BOX], [SLAB_BOX, BOX]):
        with pytest.raises(InputError) as refused:
            card.anywhere(picture, found)
        assert "patches are far off" in refused.value.cause


def test_colors_that_were_never_a_cards_are_told_from_light_that_was_too_strong() -> None:
    with pytest.raises(InputError, match="not the colors") as refused:
        card.anywhere(drawn(), [SLAB_BOX])
    assert refused.value.cause == card.ADVICE
    with pytest.raises(InputError, match="overexposed"):
        card.anywhere(np.full((420, 760, 3), 255, np.uint8), [BOX])


def test_where_nothing_is_found_the_light_is_named_if_it_may_be_why() -> None:
    with pytest.raises(InputError, match="No 24-patch card") as refused:
        card.anywhere(drawn(), [])
    assert refused.value.cause == card.ADVICE
    bright = drawn()
    bright[:, :380] = 255  # half of it
    with pytest.raises(InputError) as refused:
        card.anywhere(bright, [])
    assert "50% of it is overexposed" in refused.value.cause
    assert refused.value.where == "--corners"
