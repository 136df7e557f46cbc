"""What readings of two slabs share where cameras took them: what a camera errs by in one color, it errs by again."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from finishlog.color.photo.frame import CAMERA_SHARE
from finishlog.desk.color import learned as learning

if TYPE_CHECKING:
    from finishlog.color.aging.cure import Floats
    from finishlog.desk.color.learned import Row, Sorted


def common_sd(sides: Sequence[Sorted]) -> Floats | None:
    """What all readings of both slabs share, L*, a*, b* (3,): known where one camera took every photo; else None."""
    rows = [
        row
        for side in sides
        for _, row in (*side.curve, *side.late, *(side.sealed if only_sealed(side) else ()))
    ]
    cameras = {row.reading.camera for row in rows}
    if len(cameras) != 1 or None in cameras or not all(_used(side) for side in sides):
        return None
    variance = np.square([learning.lab_sd(row) for row in rows]).mean(axis=0)
    return np.asarray(np.sqrt(np.array(CAMERA_SHARE) * variance))


def only_sealed(side: Sorted) -> bool:
    """Whether all that was read dry of a slab lay under a sealer."""
    return not side.curve and not side.late


def _used(side: Sorted) -> bool:
    return bool(side.curve or side.late or side.sealed)


def again(rows: Sequence[Row], cameras: Counter[str | None]) -> Floats:
    """Factor on the variance of readings (n, 3), by age, that keeps the shared part of each camera's whole."""
    told = [row.reading.camera for _, row in sorted(rows, key=lambda one: one[0])]
    more = [0 if camera is None else cameras[camera] - 1 for camera in told]
    return 1 + np.array(more, float).reshape(-1, 1) * CAMERA_SHARE


def are_known(sides: Sequence[Sorted]) -> bool:
    """Whether both slabs were read, a camera at least among what read them."""
    rows = [row for side in sides for _, row in (*side.curve, *side.late, *side.sealed)]
    return all(_used(side) for side in sides) and any(row.reading.camera is not None for row in rows)
