"""What kind of sealer: as labeled or logged, and the one that lies on a slab."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence

    from finishlog.records.log import Entry, Job, MaterialUse

CHEMISTRIES = ("solvent_acrylic", "water_acrylic", "urethane", "epoxy", "penetrating", "none")


def chemistry_of(text: str | None) -> str | None:
    """The key for a chemistry as labeled or logged ("solvent acrylic"); None if too vague.

    "Acrylic" alone does not say whether it is solvent- or water-borne.
    """
    words = (text or "").casefold().replace("_", " ").replace("-", " ")
    for plain in ("urethane", "epoxy", "penetrating"):
        if plain in words:
            return plain
    if "silane" in words or "siloxane" in words or "silicate" in words:
        return "penetrating"
    if "acrylic" not in words:
        return "none" if words.strip() == "none" else None
    carriers = [key for key in ("solvent", "water") if key in words]
    return f"{carriers[0]}_acrylic" if len(carriers) == 1 else None


def of_coat(entry: Entry, sealers: Sequence[MaterialUse]) -> str | None:
    """The chemistry of one coat, by what was logged of it, else by the label."""
    facts = " ".join(str(entry.facts[key]) for key in ("carrier", "chemistry") if key in entry.facts)
    return chemistry_of(facts or next((use.product.chemistry for use in sealers), None))


def chemistry_on(job: Job, area: str | None) -> str | None:
    """Chemistry on an area (by uid; None: the job): one of `CHEMISTRIES`; None: unknown.

    Bare until sealed; after that per the last coat, strip or visit.
    """
    on: str | None = "none"
    for entry in job.of_kind("seal", "strip", "visit", area=area):
        if entry.kind == "seal":
            sealers = [use for use in entry.materials if use.product.kind == "sealer"]
            on = of_coat(entry, sealers)
        elif entry.kind == "strip" and entry.facts.get("how") == "stripped":
            on = "none" if entry.facts.get("extent") != "small_patch" else on
        elif entry.facts.get("old_film") not in (None, "unknown"):
            on = str(entry.facts["old_film"])
        elif entry.facts.get("rag_test") == "softens" and on is None:
            on = "solvent_acrylic"
    return on
