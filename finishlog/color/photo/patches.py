"""The 24 patches of a color rendition card in a picture: positions between its corners, and colors.

Pictures are arrays (height, width, 3) of 0 to 255, upright; points are (x, y) in pixels. On the card itself a patch
is 2.5 units wide and a quarter unit from the next and from the edge of the black frame.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from finishlog.errors import InputError

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    Floats = NDArray[np.float64]
    Picture = NDArray[np.uint8]

COLUMNS, ROWS = 6, 4
_PATCH, _GAP = 2.5, 0.25
_PITCH = _PATCH + _GAP
WIDTH, HEIGHT = COLUMNS * _PITCH + _GAP, ROWS * _PITCH + _GAP
MIDDLE = 0.5
"""Share of a patch's width that is sampled."""
SAMPLES = 21
"""Points across that part."""
INSETS = (0.0, _GAP, _GAP + _PATCH / 2, -0.75)
"""What four corners may mark: the black frame, the patches, the corner patches' centers, a rimmed card."""
SMALLEST = 6.0
"""The least width of a patch, pixels."""
EXAMPLE = '"310,220 905,236 890,640 300,618"'


def ordered(corners: ArrayLike, width: int, height: int) -> Floats:
    """Four corners put in clockwise order, (4, 2).

    Raises InputError if they lie outside the picture or cannot be a whole card's.
    """
    points = np.asarray(corners, float)
    if points.shape != (4, 2) or not np.isfinite(points).all():
        raise _wrong("A card has four corners, each x,y in pixels.")
    if (points < 0).any() or (points > (width, height)).any():
        raise _wrong(f"They are outside the picture, which is {width} × {height} pixels.")
    off = points - points.mean(axis=0)
    turned = points[np.argsort(np.arctan2(off[:, 1], off[:, 0]))]
    if _bends(turned).min() <= 1e-9:
        raise _wrong("Three are on a line or around the fourth: that is no card.")
    if np.linalg.norm(turned - np.roll(turned, -1, axis=0), axis=1).min() < SMALLEST * (ROWS - 1):
        raise _wrong("The card is too small: move in so every patch shows.")
    return turned


def rotations(corners: Floats) -> list[Floats]:
    """The four orientations of a card between clockwise corners; each starts at the dark brown patch."""
    return [np.roll(corners, -turn, axis=0) for turn in range(4)]


def sampled(picture: Picture, corners: Floats, inset: float = 0.0) -> NDArray[np.uint8]:
    """Pixels of each patch, (24, points, 3): row by row, from the first corner's patch towards the second's."""
    place = homography(_card_corners(inset), corners)
    reach = np.linspace(-1, 1, SAMPLES) * _PATCH * MIDDLE / 2
    x, y = (grid.ravel() for grid in np.meshgrid(reach, reach))
    row, column = np.divmod(np.arange(ROWS * COLUMNS), COLUMNS)
    across = _center(column)[:, None] + x
    down = _center(row)[:, None] + y
    at = np.stack([across, down, np.ones_like(across)], axis=-1) @ place.T
    pixel = np.floor(at[..., :2] / at[..., 2:]).astype(int)
    height, width = picture.shape[:2]
    found: NDArray[np.uint8] = picture[pixel[..., 1].clip(0, height - 1), pixel[..., 0].clip(0, width - 1)]
    return found


def homography(source: Floats, target: Floats) -> Floats:
    """The projection (3, 3) that takes four points to four others, (4, 2) each, no three on a line."""
    rows = []
    for (x, y), (u, v) in zip(source, target, strict=True):
        rows.append([x, y, 1, 0, 0, 0, -u * x, -u * y])
        rows.append([0, 0, 0, x, y, 1, -v * x, -v * y])
    solved = np.linalg.solve(np.array(rows), target.ravel())
    return np.append(solved, 1.0).reshape(3, 3)


def _card_corners(inset: float) -> Floats:
    right, bottom = WIDTH - inset, HEIGHT - inset
    return np.array([(inset, inset), (right, inset), (right, bottom), (inset, bottom)])


def _center(place: NDArray[np.int_]) -> Floats:
    return np.asarray(_GAP + _PATCH / 2 + _PITCH * place, np.float64)


def _bends(points: Floats) -> Floats:
    """Sine of the outline's turn at each corner; above 0 is clockwise."""
    along = np.roll(points, -1, axis=0) - points
    after = np.roll(along, -1, axis=0)
    size = np.linalg.norm(along, axis=1) * np.linalg.norm(after, axis=1)
    cross = along[:, 0] * after[:, 1] - along[:, 1] * after[:, 0]
    return np.asarray(cross / np.maximum(size, 1e-9))


def _wrong(cause: str) -> InputError:
    return InputError("These are not the corners of a card.", cause, where="--corners", example=EXAMPLE)
