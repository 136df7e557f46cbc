"""Stage kinds. To add one: a file here, a line in `KINDS` and its test."""

from __future__ import annotations

from collections.abc import Mapping

from finishlog import units
from finishlog.errors import InputError
from finishlog.trade.stages import (
    antiquing_wash,
    color_hardener,
    cure,
    integral_color,
    joint,
    liquid_release,
    powder_release,
    rinse,
    seal,
    stain,
    stamp,
)
from finishlog.trade.stages.base import Example, Need, Param, Params, Scalar, StageKind, Window

KINDS: tuple[StageKind, ...] = (
    integral_color.KIND,
    color_hardener.KIND,
    powder_release.KIND,
    liquid_release.KIND,
    stamp.KIND,
    cure.KIND,
    joint.KIND,
    rinse.KIND,
    antiquing_wash.KIND,
    stain.KIND,
    seal.KIND,
)
"""All kinds, in order of work."""


def kind(key: str) -> StageKind:
    """The kind of that key. Raises InputError that lists the valid keys."""
    found = next((each for each in KINDS if each.key == key), None)
    if found is None:
        valid = ", ".join(each.key for each in KINDS)
        raise InputError(f"No stage “{units.shown(key)}”.", f"Stages are {valid}.", example=KINDS[0].key)
    return found


def validate(kind_key: str, params: Mapping[str, object]) -> dict[str, Scalar]:
    """A stage's checked parameters; None means unknown and is dropped. Raises InputError."""
    return kind(kind_key).validate(params)


__all__ = ["KINDS", "Example", "Need", "Param", "Params", "Scalar", "StageKind", "Window", "kind", "validate"]
