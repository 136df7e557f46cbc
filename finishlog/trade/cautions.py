"""Cautions, one line each, shown at the stage they belong to.

Common practice, from memory, unless a rule is named. The product's own sheet, the plant and local rules win.
"""

from __future__ import annotations

from finishlog.records.quantities.cautions import Caution

_LINES: dict[str, tuple[str, ...]] = {
    "order": ("No calcium chloride; the same plant, mix and cement; a clean drum.",),
    "integral_color": ("No water after the color goes in.", "Weigh part bags."),
    "placing": ("Damp the subgrade evenly, no puddles.", "Know what's buried."),
    "finishing": ("Never finish on bleed water.",),
    "color_hardener": ("Throw it in two casts.", "Wear a respirator."),
    "powder_release": (
        "Never work it in: the spot is permanent.",
        "Cover walls and pool.",
        "Wear a respirator.",
    ),
    "liquid_release": (
        "Puddles spot.",
        "No flame.",
        "Leaves little or no release color; no substitute for powder.",
    ),
    "stamp": ("Try the edge first.",),
    "cure": ("Keep sheets and blankets off the color: they mark it.",),
    "joint": (
        "Cut wet or with a vacuum: crystalline silica (29 CFR 1926.1153).",
        "Slurry stains.",
        "Check for buried lines before any cut.",
    ),
    "sweep": ("Keep it dry, bag it, keep it off the neighbors.",),
    "rinse": (
        "Stop while it still looks heavy: it cannot be put back.",
        "Wear eye protection.",
        "Keep the runoff out of drains.",
    ),
    "acid": ("Acid into water, never water into acid; pre-wet; neutralize.",),
    "stain": ("Try a sample first; clean off residue before sealing.",),
    "antiquing_wash": ("Try a sample first; clean off residue before sealing.",),
    "dryness_test": (
        "The sheet can mark young colored concrete: hidden spots, several (about one per 500 ft²).",
        "Leave it 16 h or more, all edges taped, out of sun and heat.",
    ),
    "seal": (
        "Flammable solvent: no pilot light, wear a respirator.",
        "Shade, thin coats.",
        "A sealed slope or pool deck is slippery when wet: use a grip additive.",
    ),
    "wipe": ("Rags can catch fire; wear gloves; try a patch first.",),
    "reseal": ("Identify the old film first.",),
    "first_winter": ("No de-icer in the first winter.",),
    "skin": ("Wet cement burns skin (pH 12 to 13).",),
    "trades": ("Gas and electric work under or through the slab: licensed trades and local codes.",),
}
KEYS = tuple(_LINES)


def cautions(*keys: str) -> tuple[Caution, ...]:
    """The cautions of the named stages or matters (`KEYS`), in order. KeyError for a name that is none."""
    return tuple(Caution(key, text) for key in keys for text in _LINES[key])
