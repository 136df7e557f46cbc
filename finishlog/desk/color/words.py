"""The color desk's wording: sentence first, numbers second."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from finishlog.color.notation.names import nearest_name
from finishlog.color.notation.words import compare
from finishlog.desk.words import listed
from finishlog.records.color import (
    ColorPoint,
    ColorReading,
    ColorTrack,
    HeldOn,
    HowGood,
    JobColor,
    Lab,
    Odds,
    OddsFactor,
    Promised,
    Tried,
)
from finishlog.units import chance, count, write_date, write_weekday

NO_AREA = "Nothing logged on this job yet, so it has no color."
_WIDE = 4.0
_JOINED_SHOWN = 3
_SCATTER = 1.25
FACTORS: dict[OddsFactor, str] = {
    "job_scatter": "job-to-job variation within the recipe",
    "old_slab": "how little is known of the old slab's color",
    "recipe": "how little is known of this recipe",
    "weathering": "how the old slab weathered",
    "curve": "how the color lightens",
    "change": "the new lot, cement or plant",
}


def name(track: ColorTrack) -> str:
    """Whose readings these are, as a sentence says it."""
    return f"sample {track.sample}" if track.sample is not None else track.area or "the slab"


def headline(found: JobColor, track: ColorTrack) -> str:
    """The answer in one breath: whether it still moves, where to, when it can be judged."""
    if track.final is None or track.final_color_on is None:
        return track.flags[0] if track.flags else "Nothing to forecast from."
    if found.age_days is not None and found.age_days >= track.final.age_days:
        now = f"; now {_name(track.today.lab)}" if track.today is not None else ""
        return f"Final color reached on day {track.final.age_days:.0f}: {_name(track.final.lab)}{now}."
    year = f" {track.today.on.year}" if track.today is not None else ""
    final = f"final color about {write_date(track.final_color_on).removesuffix(year)}"
    if track.today is None or track.compare_from is None:
        return f"It should end at {_name(track.final.lab)}; {final}."
    if track.compare_from <= track.today.on:
        return f"Nearly there. It will end at {_name(track.final.lab)}; {final}."
    return (
        f"Still drying lighter. Compare it from {write_date(track.compare_from).removesuffix(year)}; {final}."
    )


def sentence(found: JobColor, track: ColorTrack) -> str:
    """Where the color goes, and when it can be judged."""
    if track.final is None or track.final_color_on is None:
        return track.flags[0] if track.flags else "Nothing to forecast from."
    if found.age_days is not None and found.age_days >= track.final.age_days:
        final = (
            f"Final color, day {track.final.age_days:.0f}: {_name(track.final.lab)}, {about(track.final)}."
        )
        now = track.today
        return (
            f"{final} Now, with the weather since: {_name(now.lab)}, {about(now)}."
            if now is not None
            else final
        )
    then = (
        f"On {write_date(track.final_color_on)} it should be {_name(track.final.lab)}, {about(track.final)}"
    )
    judge = f" Compare it from {write_weekday(track.compare_from)} on." if track.compare_from else ""
    change = f"; beside today {compare(track.today.lab, track.final.lab)}" if track.today else ""
    wide = " Wide range: read it again." if track.final.radius90_de00 > _WIDE else ""
    return f"{then}{change}.{judge}{wide}"


def about(point: ColorPoint) -> str:
    """`L* 58 ± 2, a* 5 ± 1, b* 13 ± 1 (9 in 10)`: the 90 % range of each."""
    parts = (
        f"{axis} {value:.0f} ± {max(1.645 * sd, 1.0):.0f}"
        for axis, value, sd in zip(("L*", "a*", "b*"), point.lab, point.lab_sd, strict=True)
    )
    return f"{', '.join(parts)} (9 in 10)"


def reading_rows(track: ColorTrack) -> list[tuple[str, str, str, str]]:
    """Age, color, how sure, what it is."""
    return [
        (
            _age(r.age_days),
            lab_text(r.lab),
            f"± {r.lab_sd[0]:.1f} {r.lab_sd[1]:.1f} {r.lab_sd[2]:.1f}",
            _what(r),
        )
        for r in track.readings
    ]


def forecast_rows(track: ColorTrack) -> list[tuple[str, str, str, str, str]]:
    """Age, day, color, how sure, name."""
    return [
        (
            _age(p.age_days),
            write_date(p.on),
            lab_text(p.lab),
            f"within ΔE00 {p.radius90_de00:.1f}",
            _name(p.lab),
        )
        for p in track.forecast
    ]


def lab_text(lab: Lab) -> str:
    """L*, a*, b* to a tenth."""
    return f"{lab[0]:.1f}, {lab[1]:.1f}, {lab[2]:.1f}"


def learned_from(found: JobColor, track: ColorTrack) -> str:
    """What the forecast rests on."""
    of_recipe = f", {track.recipe_jobs} of this recipe" if track.recipe_jobs else ", none of this recipe"
    return f"Learned from {count(found.history_jobs, 'job')} of yours{of_recipe}.{_joined(found, track)}"


def _joined(found: JobColor, track: ColorTrack) -> str:
    """What was pooled with it, where somebody or an import joined recipes."""
    if not track.joined:
        return ""
    others = [handle for handle in track.joined if handle != found.handle]
    shown = others[:_JOINED_SHOWN]
    more = len(others) - len(shown)
    named = listed([*shown, f"{more} more"] if more else shown)
    with_what = f", among them those of {named}" if others else ""
    return f" {count(len(track.joined) + 1, 'recipe')} joined as one finish{with_what}: finishlog recipes."


def _what(reading: ColorReading) -> str:
    bare = "bare?" if reading.looks_sealed else "bare"
    state = f"{'damp' if reading.damp else 'dry'}, {'sealed' if reading.sealed else bare}"
    sample = f", sample {reading.sample}" if reading.sample is not None else ""
    apart = ", looks sealed" if reading.looks_sealed else ", stands apart" if reading.apart else ""
    return f"{reading.spot}, {state}{sample}{apart}"


def _age(days: float | None) -> str:
    if days is None:
        return "age unknown"
    return f"{days * 24:.0f} h" if 0 <= days < 3 and days % 1 else f"day {days:.0f}"


def _name(lab: Lab) -> str:
    return nearest_name(lab)


# --- how good -----------------------------------------------------------------------------------------


def how_good(found: HowGood) -> str:
    """What past forecasts were worth, in one paragraph."""
    kept = promises(found)
    if not found.kept.ranges and not found.by_day:
        return " ".join(("Nothing to judge yet: no later reading has tested a forecast.", *kept))
    return " ".join((saved(found), *map(held_sentence, found.by_day), *scatter(found), *kept))


def promises(found: HowGood) -> tuple[str, ...]:
    """A sentence for each range of odds that plans gave, with how many of their slabs matched."""
    return tuple(_promised(one) for one in found.promises)


def _promised(one: Promised) -> str:
    if one.closed:
        return (
            f"{BEFORE_SAMPLE.removesuffix('.')}: given for {count(one.plans, 'plan')}, {one.matched} matched."
        )
    high = (
        f"{one.low * 10:.0f} in 10 or more"
        if one.high >= 1
        else f"{one.low * 10:.0f} to {one.high * 10:.0f} in 10"
    )
    return f"Promised {high} in {count(one.plans, 'plan')}: {one.matched} matched."


def how_good_headline(found: HowGood) -> str:
    """How many ranges held of those that a later reading met; the kept ones first."""
    if found.kept.ranges:
        return f"Of {count(found.kept.ranges, 'saved range')} {found.kept.held} held; 9 in 10 should."
    if not found.by_day:
        return "Nothing to judge yet. No later reading has tested a forecast."
    readings, inside = (sum(of) for of in zip(*((one.readings, one.held_color) for one in found.by_day),
                                              strict=True))  # fmt: skip
    return f"Of {count(readings, 'later reading')} {inside} fell inside the 9-in-10 range of the whole color."


def saved(found: HowGood) -> str:
    """What forecasts were worth that were saved before the readings came."""
    if not found.kept.ranges:
        return "No later reading has tested a saved forecast yet."
    return (
        f"Of {count(found.kept.ranges, 'saved range')} of L* tested by a later reading, {_held(found.kept)}."
    )


def held_sentence(one: HeldOn) -> str:
    """`Of 37 later readings 34 fell inside the 9-in-10 range forecast at day 7.`"""
    met = f"Of {count(one.readings, 'later reading')} {one.held_color} fell inside the 9-in-10 range"
    few = "" if one.enough else ": too few to tell"
    return f"{met} forecast at day {one.day}{few}."


HELD_HEAD = ("Day", "Slabs", "Readings", "Color", "L*", "a*", "b*")
HELD_NOTE = (
    "A slab's readings up to a day forecast its later ones, up to day 60: how many fell inside the 9-in-10 range. "
    "9 in 10 should. L* is light and dark, a* red and green, b* yellow and blue, color all three at once."
)


def held_rows(found: HowGood) -> list[tuple[str, ...]]:
    """A row for each day a forecast was made at: slabs, later readings, and those inside the range, by axis."""
    return [
        (str(one.day), str(one.slabs), str(one.readings),
         *(_inside(one, held) for held in (one.held_color, one.held_L, one.held_a, one.held_b)),
         "" if one.enough else "too few")
        for one in found.by_day
    ]  # fmt: skip


def _inside(one: HeldOn, held: int) -> str:
    return f"{held} {held * 100 / one.readings:.0f} %" if one.enough else str(held)


def scatter(found: HowGood) -> Iterator[str]:
    """Where the readings themselves are less sure than they state: it makes their ranges seem too narrow."""
    if found.noise > _SCATTER:
        yield f"Your readings scatter {found.noise:.1f} times as much as they state; so fewer fall inside."


def _held(tried: Tried) -> str:
    off = f"; median ΔE00 {tried.median_de00:.1f}" if tried.median_de00 is not None else ""
    return f"{tried.held} held; 9 in 10 should{off}"


# --- the odds -----------------------------------------------------------------------------------------


def odds_sentence(odds: Odds) -> str:
    """`7 in 10 that nobody sees the joint: close, pour a sample first.`"""
    if odds.with_sample is not None:
        return BEFORE_SAMPLE
    if odds.verdict.startswith("cannot tell"):
        return f"Cannot tell yet: {odds.verdict.partition(', ')[2]}."
    said = chance(odds.probability)
    return f"{said[0].upper()}{said[1:]} that nobody sees the joint: {odds.verdict}."


BEFORE_SAMPLE = "Cannot tell before a sample."


def with_sample(odds: Odds) -> str:
    """`A sample that comes out like the old slab would give 8 in 10.`"""
    return f"A sample that matches the old slab would give {chance(odds.with_sample or 0.0)}."


def verdict_sentence(odds: Odds) -> str:
    """`Close: pour a sample first. 7 in 10 that nobody sees the joint.`"""
    said = odds.verdict.replace("cannot tell yet,", "cannot tell yet:")
    answer = f"{said[:1].upper()}{said[1:]}."
    if odds.verdict.startswith("cannot tell"):
        return answer
    return f"{answer} {chance(odds.probability)} that nobody sees the joint."


def after(first: Sequence[str], odds: Odds) -> str:
    """`Settle first: cold. Then it should match: 9 in 10 that nobody sees the joint.`"""
    seen = f"{chance(odds.probability)} that nobody sees the joint"
    return f"Settle first: {listed(first)}. Then it {odds.verdict}: {seen}."


def odds_rows(odds: Odds) -> list[tuple[str, str]]:
    """Label and words, for the owner."""
    rows = odds_reasons(odds)
    notes = len(odds.notes)
    figures = [
        ("Range", f"ΔE00 {odds.radius90_de00:.1f} in 9 of 10; seen above {odds.threshold_de00:.1f}"),
        ("Learned from", f"{count(odds.history_jobs, 'job')}, {odds.recipe_jobs} of this recipe"),
    ]
    return [*rows[: len(rows) - notes], *figures, *rows[len(rows) - notes :]]


def odds_figures(odds: Odds) -> str:
    """The figures in one line: percent, limit, range, how many jobs."""
    return (
        f"{odds.probability * 100:.0f} % under ΔE00 {odds.threshold_de00:.1f}; 9 in 10 within "
        f"{odds.radius90_de00:.1f}; learned from {count(odds.history_jobs, 'job')}, {odds.recipe_jobs} of this recipe"
    )


def odds_reasons(odds: Odds) -> list[tuple[str, str]]:
    """Label and words: what makes most of the miss, what would raise the odds, when to judge; notes last."""
    rows = []
    if odds.with_sample is not None:
        rows = [("Without one", f"{chance(odds.probability)}; we never promise better than even")]
    rows.append(("Biggest factor", FACTORS[odds.dominant]))
    rows += [("Improves it", text) for text in odds.raise_by[:1]] + [("", text) for text in odds.raise_by[1:]]
    if odds.compare_from:
        rows.append(("Compare from", f"{write_weekday(odds.compare_from)} on"))
    rows.append(("Bare", _by_age(odds, sealed=False)))
    rows.append(("Sealed alike", _by_age(odds, sealed=True)))
    rows += [
        (f"By the {one.spot}", f"{chance(one.probability)} bare, {chance(one.probability_sealed)} sealed")
        for one in odds.spots
        if one.spot != odds.spot
    ]
    return rows + [("", note) for note in odds.notes]


def _by_age(odds: Odds, *, sealed: bool) -> str:
    """`7 in 10 at 14 days, 8 in 10 at 28 days and 45 days`: ages in a row with the same chance stand together."""
    found: dict[str, list[str]] = {}
    for at in odds.by_age:
        said = chance(at.probability_sealed if sealed else at.probability)
        found.setdefault(said, []).append(f"{at.age_days:g}")
    return ", ".join(f"{said} at {listed(ages)} days" for said, ages in found.items())
