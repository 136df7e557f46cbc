"""Finds candidate 24-patch cards in a picture with the extra `card` (opencv). It also finds false cards.

So `finishlog.color.photo.card` must confirm each candidate by its colors.
"""

from __future__ import annotations

from collections.abc import Iterator
from importlib import import_module
from typing import TYPE_CHECKING, Any

import numpy as np

from finishlog.errors import InputError

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]
    Picture = NDArray[np.uint8]

LOOKS = ((1.0, 1600), (1.0, 1000), (1.0, 2400), (0.5, 1600), (2.0, 1600))
"""Gamma and longer side in pixels of what it is shown, one after the other: as shot, the shadows lifted, the lights
drawn apart. A larger picture takes seconds and no more is found in it."""
EXTRA = "finishlog[card]"


def candidates(picture: Picture) -> Iterator[Floats]:
    """Corners (4, 2) of candidate cards in pixels of this picture, likeliest first.

    Raises InputError if the extra is not installed.
    """
    detector = _detector()
    longest = max(picture.shape[:2])
    for gamma, side in dict.fromkeys((gamma, min(side, longest)) for gamma, side in LOOKS):
        small, scale = _reduced(picture, side)
        if _looked(detector, _toned(small, gamma)):
            for found in detector.getListColorChecker():
                yield np.asarray(found.getBox(), float) * scale


def _detector() -> Any:
    try:
        mcc: Any = import_module("cv2").mcc
    except (ImportError, AttributeError):
        cause = f"Finding the card needs the extra {EXTRA}; without it, give its four corners."
        raise InputError("Cannot search for the card.", cause, where="--corners",
                         example='--corners "310,220 905,236 890,640 300,618"') from None  # fmt: skip
    return mcc.CCheckerDetector_create()


def _looked(detector: Any, small: Picture) -> bool:
    """Whether it finds a card; opencv 5 takes the card type first, opencv 4 with the picture."""
    cv2: Any = import_module("cv2")
    bgr = np.ascontiguousarray(small[:, :, ::-1])
    try:
        if hasattr(detector, "setColorChartType"):
            detector.setColorChartType(cv2.mcc.MCC24)
            return bool(detector.process(bgr, 1))
        return bool(detector.process(bgr, cv2.mcc.MCC24, 1))
    except cv2.error:  # it fails on nearly collinear shapes
        return False


def _toned(picture: Picture, gamma: float) -> Picture:
    if gamma == 1.0:
        return picture
    curve = np.rint(255 * (np.arange(256) / 255) ** gamma).astype(np.uint8)
    return curve[picture]


def _reduced(picture: Picture, side: int) -> tuple[Picture, Floats]:
    """The picture with its longer side at most `side`, and the factor back to full size."""
    cv2: Any = import_module("cv2")
    height, width = picture.shape[:2]
    share = min(1.0, side / max(height, width))
    if share == 1.0:
        return picture, np.ones(2)
    size = (max(1, round(width * share)), max(1, round(height * share)))
    small = cv2.resize(picture, size, interpolation=cv2.INTER_AREA)
    return np.asarray(small, np.uint8), np.array([width / size[0], height / size[1]])
