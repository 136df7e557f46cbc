"""Whether one sealer can go over another. Not symmetrical; common practice, from memory, no source.

The makers' sheets win; for an unknown pair, do a rag test and a 2 × 2 ft trial patch.
"""

from __future__ import annotations

from finishlog.records.care import Compatible, Fits
from finishlog.trade.sealing.chemistry import CHEMISTRIES

TRIAL = "Try a rag with solvent (soft: solvent acrylic), then a 2 × 2 ft trial patch."
_WORDS: dict[Fits, str] = {
    "usual": "usual practice; do a trial patch anyway",
    "trial": "only after a 2 × 2 ft trial patch",
    "no": "not without stripping the old film",
    "unknown": f"unknown. {TRIAL}",
}
_NONE: dict[str, tuple[Fits, str]] = {
    new: ("usual", "the slab is bare") for new in CHEMISTRIES if new != "none"
}
_ON_PENETRATING: tuple[Fits, str] = ("trial", "a penetrating sealer can keep a film from bonding")
_TABLE: dict[str, dict[str, tuple[Fits, str]]] = {
    "none": _NONE,
    "solvent_acrylic": {
        "solvent_acrylic": ("usual", "it melts into the old film"),
        "water_acrylic": ("trial", "water-based over solvent often does not bond"),
        "urethane": ("trial", "its solvent can lift a soft film"),
        "epoxy": ("no", "a hard film on a soft one peels"),
        "penetrating": ("no", "it cannot get through the film"),
    },
    "water_acrylic": {
        "solvent_acrylic": ("trial", "solvent over water-based may wrinkle"),
        "water_acrylic": ("usual", "clean and dull it first"),
        "urethane": ("trial", "solvent over water-based may wrinkle"),
        "epoxy": ("no", "a hard film on a soft one peels"),
        "penetrating": ("no", "it cannot get through the film"),
    },
    "urethane": {
        "solvent_acrylic": ("trial", "it bonds to cured urethane only after sanding"),
        "water_acrylic": ("no", "it does not bond to cured urethane"),
        "urethane": ("trial", "sand it first, or it peels from itself"),
        "epoxy": ("no", "epoxy goes under a urethane, not over it"),
        "penetrating": ("no", "it cannot get through the film"),
    },
    "epoxy": {
        "solvent_acrylic": ("trial", "sand it first"),
        "water_acrylic": ("trial", "sand it first"),
        "urethane": ("usual", "sanded and on time: the usual top coat"),
        "epoxy": ("trial", "sand it first"),
        "penetrating": ("no", "it cannot get through the film"),
    },
    "penetrating": {
        "solvent_acrylic": _ON_PENETRATING,
        "water_acrylic": _ON_PENETRATING,
        "urethane": _ON_PENETRATING,
        "epoxy": _ON_PENETRATING,
        "penetrating": ("usual", "the same product, once the old coat has worn"),
    },
}


def compatible(old: str | None, new: str | None) -> Compatible:
    """Whether `new` goes over `old`; each of `CHEMISTRIES`, None or anything else if unknown."""
    row = _TABLE.get(old or "")
    fits, why = row.get(new or "", ("unknown", "")) if row else ("unknown", "")
    words = f"{_name(new)} over {_name(old)}: {_WORDS[fits]}"
    return Compatible(old or "unknown", new or "unknown", fits, f"{words}; {why}." if why else words)


def _name(chemistry: str | None) -> str:
    if chemistry == "none":
        return "bare concrete"
    return chemistry.replace("_", " ") if chemistry in CHEMISTRIES else "an unknown sealer"
