"""Which look a slab has under its sealer: of a film, or of a penetrating one."""

from __future__ import annotations

from typing import TYPE_CHECKING

from finishlog.trade.sealing.chemistry import chemistry_of, chemistry_on

if TYPE_CHECKING:
    from finishlog.records.log import Area, Job


def penetrating(job: Job, area: Area | None) -> bool:
    """Whether the log says that a penetrating sealer lies on the area, or where none does yet, that one is planned."""
    on = chemistry_on(job, area.uid if area else None)
    return (_planned(area) if on == "none" else on) == "penetrating"


def _planned(area: Area | None) -> str | None:
    stage = area.recipe.stage("seal") if area is not None and area.recipe is not None else None
    if stage is None:
        return None
    told = " ".join(str(stage.params[key]) for key in ("carrier", "chemistry") if key in stage.params)
    return chemistry_of(told or next((one.product.chemistry for one in stage.materials), None))
