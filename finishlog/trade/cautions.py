"""Cautions, one line each, shown at the stage they belong to.

Common practice, from memory, unless a rule is named. The product's own sheet, the plant and local rules win.
Each kind states its own lines (`warns`); here are those several kinds and the computing commands share.
"""

from __future__ import annotations

from finishlog.records.quantities.cautions import Caution

_LINES: dict[str, tuple[str, ...]] = {
    "order": ("No calcium chloride; the same plant, mix and cement; a clean drum.",),
    "integral_color": ("No water after the color goes in.", "Weigh part bags."),
    "placing": ("Damp the subgrade evenly, no puddles.", "Know what's buried."),
    "finishing": ("Never finish on bleed water.",),
    "acid": ("Acid into water, never water into acid; pre-wet; neutralize.",),
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
MATTERS = tuple(_LINES)


def cautions(*keys: str) -> tuple[Caution, ...]:
    """The cautions of the named kinds or matters (`MATTERS`), in order. InputError for an unknown name."""
    return tuple(Caution(key, text) for key in keys for text in _LINES.get(key) or _of_kind(key))


def _of_kind(key: str) -> tuple[str, ...]:
    from finishlog.trade.events import entry_kind  # late import: computing commands need no kinds

    return entry_kind(key).warns
