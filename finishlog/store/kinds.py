"""What the store asks of the stage kinds: which version their parameters are at, and the step up to it."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from typing import TYPE_CHECKING

from finishlog.records.log import Fact

if TYPE_CHECKING:
    from finishlog.trade.stages.base import StageKind


def version_of(kind: str) -> int:
    """The version in which parameters of this kind are written today; 1 for what is no stage."""
    known = _kinds().get(kind)
    return known.params_version if known else 1


def current_params(kind: str, params: Mapping[str, Fact], version: int) -> tuple[Mapping[str, Fact], int]:
    """Stored parameters as today's version of the kind has them."""
    known = _kinds().get(kind)
    if known is None or version >= known.params_version:
        return params, version
    return known.upgrade(params, version), known.params_version


@cache
def _kinds() -> dict[str, StageKind]:
    from finishlog.trade.stages import KINDS

    return {kind.key: kind for kind in KINDS}
