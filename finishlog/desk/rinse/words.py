"""Wording of the rinse helper."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from finishlog.records.quantities.cautions import Caution
from finishlog.units import chance, count

if TYPE_CHECKING:
    from finishlog.color.release.drying import Drying
    from finishlog.color.release.rinse import Habit, Left, Patch
    from finishlog.desk.rinse.answers import RinseAnswer

_CANNOT = {
    "too close": "Dry the three spots with a towel and a cool blower, give them hours, and shoot again.",
    "off the line": "The field is not between the two patches: a shadow, a wet patch or the wrong patch. "
    "Check, dry all three, and shoot them again in one picture, in even light.",
    "outside": "The field falls beyond the two patches: one is wet, in shadow, or mislabeled. "
    "Dry all three, and shoot them again in one picture.",
    "no photo": "Shoot the field, a fully rinsed and an unrinsed spot in one picture, all three dried.",
    "no patches": "Put a fully rinsed and an unrinsed spot of the kept sample into the same picture, all three dried.",
}
_MEANWHILE = (
    "Run a fan or a cool blower on the spots, never a heat gun.",
    "Or make another spot: on the kept sample, or a hidden edge that dries sooner, in sun or wind.",
    "Rinse another area that is due, or clean walls and edges; not the field in question: it cannot be put back.",
    "Waiting costs nothing: you can rinse an under-rinsed field again once it is dry and checked.",
)
_STILL_CLOSE = (
    "Dry, the two patches still look too much alike: give them more hours, read each spot several times, "
    "or wait a day and shoot again."
)
_SPOTS = (
    "Put test spots on the kept sample or a hidden edge: in the field a washed or unwashed patch is permanent.",
    "Dry a spot with a towel and a cool blower and give it hours; no heat gun: it moves powder and can craze the slab.",
    "You cannot undo a rinse; only an antiquing wash fixes over-rinsing.",
)
_DAMP = "Spots not marked dry: damp colors look alike and change within minutes."
_LIGHTER = "The release color reads lighter than the base; it is usually darker: are the patches swapped?"


def _target(found: RinseAnswer) -> str:
    measured = ", measured at final color" if found.target_measured else ""
    return "what you asked" if found.target_from == "asked" else f"{found.target_from}{measured}"


def advice(left: Left, target: float | None, chance_above: float | None, more: bool, dried: bool) -> str:
    """What to do now. "Rinse more" is only said where it was found sure enough."""
    if left.verdict == "cannot tell" and left.why == "too close" and dried:
        return f"Cannot tell. {_STILL_CLOSE}"
    if left.verdict == "cannot tell":
        return f"Cannot tell. {_CANNOT[left.why]}"
    word = left.verdict.capitalize()
    if more:
        how = "a little, then stop and look" if left.verdict == "clear" else "a little; amount uncertain"
        return f"{word}: rinse more, {how}. It cannot be put back."
    if left.why == "habit only":
        return "Rough, from your crew's habit only: shoot the three spots before you wash again."
    if target is None or chance_above is None:
        return f"{word}: stop here unless you want less; give a target to compare."
    if 1 - chance_above > 0.8:
        return f"{word}: stop. Less is left than wanted; only an antiquing wash puts color back."
    return f"{word}: stop here. It cannot be put back."


def meanwhile(left: Left, dried: bool, patches: tuple[Patch, Patch, Patch] | None) -> tuple[str, ...]:
    """Work while spots dry; empty if dry spots were read."""
    told = patches is not None and dried and left.verdict != "cannot tell"
    return () if told else _MEANWHILE


def habit(habit: Habit) -> str:
    """The estimate's starting point."""
    most = f"{habit.mean * 100:.0f} % ± {habit.sd * 100:.0f} (one standard deviation)"
    if habit.slabs >= 3:
        return f"Starting point: {most}, {_taught(habit)}."
    return f"Starting point: {most}, usual practice leaves 10 to 30 % (no source); {habit.slabs} of your slabs count."


def drying(drying: Drying, apart: float | None) -> Iterator[str]:
    """How damp spots will stand apart once dried, and on what that rests."""
    if apart is None:
        return
    learned = f"learned from {count(drying.pairs, 'spot')} of yours read damp and dry"
    rests = (
        learned
        if drying.pairs
        else "assumed, from published albedo wet and dry: none of your spots was read damp and dry"
    )
    yield (
        f"Dry, the two patches should be ΔE00 {apart:.0f} apart: drying brings back about "
        f"{drying.share * 100:.0f} % of the remaining lightening ({rests})."
    )


def _taught(habit: Habit) -> str:
    """On what the habit rests: settled slabs that were measured, others as somebody judged them."""
    judged = habit.slabs - habit.measured
    if not habit.measured:
        return f"logged by eye on {judged} of your slabs; a photo of a slab at final color with its patches is better"
    by_eye = f", and logged by eye on {count(judged, 'other')}" if judged else ""
    return f"measured on {count(habit.measured, 'slab')} of yours{by_eye}"


def cautions(dried: bool, patches: tuple[Patch, Patch, Patch] | None) -> tuple[Caution, ...]:
    """Always where the spots belong; then what is odd about these."""
    lines = list(_SPOTS)
    if patches and not dried:
        lines.append(_DAMP)
    if patches and patches[2].lab[0] > patches[1].lab[0]:
        lines.append(_LIGHTER)
    return tuple(Caution("rinse", line) for line in lines)


def sentence(found: RinseAnswer) -> str:
    """The answer first, in one sentence."""
    return found.advice


_NAMES = (
    (0.02, 0.0, "none"), (0.12, 0.1, "a tenth"), (0.17, 1 / 7, "a seventh"), (0.22, 0.2, "a fifth"),
    (0.29, 0.25, "a quarter"), (0.36, 1 / 3, "a third"), (0.45, 0.4, "two fifths"), (0.58, 0.5, "half"),
    (0.7, 2 / 3, "two thirds"), (0.9, 0.8, "most"), (1.0, 0.95, "nearly all"),
)  # fmt: skip
"""Upper limit for each name, and the share it stands for."""


def share(part: float) -> str:
    """A share as people say it: `a quarter`."""
    return next((name for most, _, name in _NAMES if part <= most), _NAMES[-1][2])


def names(parts: Sequence[float]) -> list[str]:
    """Names for several shares, no two alike: the nearest gets the name, others are over or under it."""
    found = [share(part) for part in parts]
    named = {name: exactly for _, exactly, name in _NAMES}
    for name in {name for name in found if found.count(name) > 1}:
        same = [at for at, each in enumerate(found) if each == name]
        nearest = min(same, key=lambda at: abs(parts[at] - named[name]))
        for at in same:
            if at != nearest:
                side = "over" if parts[at] > parts[nearest] else "under"
                found[at] = f"{side} {name}"
    return [name if found.count(name) == 1 else f"{name}, {part * 100:.0f} %"
            for name, part in zip(found, parts, strict=True)]  # fmt: skip


def contrast(de00: float) -> str:
    """How base and release color stand apart, for eyes and terminals that cannot see it."""
    return "faint" if de00 < 3 else "plain" if de00 < 10 else "strong"


def facts(found: RinseAnswer) -> list[tuple[str, str]]:
    """How much is left, how sure, against what is wanted, and what will be seen."""
    left = found.left
    low, high = (f"{end * 100:.0f}" for end in left.range90)
    rows = [
        (
            "Release left",
            f"{left.mean * 100:.0f} % ± {left.sd * 100:.0f} (one standard deviation), "
            f"9 in 10 between {low} and {high} %",
        )
    ]
    if found.target is not None and found.chance_above is not None:
        more = f"{chance(found.chance_above)} that more is left"
        rows.append(("Wanted", f"{found.target * 100:.0f} %, by {_target(found)}; {more}"))
    if found.contrast_now_de00 is not None:
        rows.append(
            ("Now", f"low spots {contrast(found.contrast_now_de00)}, ΔE00 {found.contrast_now_de00:.1f}")
        )
    if found.settled is not None:
        low, high = (f"{end:.0f}" for end in found.settled.contrast90)
        seen = f"low spots {contrast(found.settled.contrast_de00)}, ΔE00 {found.settled.contrast_de00:.0f}"
        rows.append((f"At {found.final_day} days", f"{seen}, 9 in 10 between {low} and {high}"))
    return rows


def ladder_lines(found: RinseAnswer) -> list[tuple[str, ...]]:
    """The ladder, most release left first."""
    rows: list[tuple[str, ...]] = [("left", "", "the field now", f"at {found.final_day} days", "")]
    return rows + [
        (
            f"{rung.left * 100:.0f} %",
            name,
            _color(rung.now),
            _color(rung.settled.field.lab if rung.settled else None),
            ", ".join(rung.marks),
        )
        for rung, name in zip(found.ladder, names([each.left for each in found.ladder]), strict=True)
    ]


def _color(lab: tuple[float, float, float] | None) -> str:
    return "unknown" if lab is None else "L*a*b* " + " ".join(f"{value:.1f}" for value in lab)
