"""What is or may be different from the reference: stated facts only.

What nobody stated is asked, never assumed to be the same.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from datetime import date
from fractions import Fraction

from finishlog.desk import words
from finishlog.records.log import Mix
from finishlog.records.placed import AsPlaced
from finishlog.records.plan import Difference, PigmentPlan, PlanRequest
from finishlog.units import alike, exact, write, write_date, write_number

_WEIGHTS = {"act": 0, "ask": 1, "know": 2}


def differences(
    request: PlanRequest,
    on: date,
    placed: AsPlaced,
    pigment: PigmentPlan | None,
    system: str = "us",
    sent: Sequence[tuple[Mix, date]] = (),
    others: Sequence[Difference] = (),
) -> tuple[Difference, ...]:
    """Most telling first: what to act on, what to ask, what is good to know; in `system`, us or metric.

    `sent` is what the reference's plants have sent since, each mix with its first day; `others` are what is known
    beside the record of the old slab: the cold, spoiled powder.
    """
    found = [
        *_lots(request, placed),
        *_makers(request, placed),
        *_cement(request, placed, system),
        *_plant(request, on, placed, system),
        *switched(placed, sent, system),
        *_dose(request, placed, pigment, system),
        *_release(placed),
        *_day(on, placed),
        *_season(on, placed),
        *_state(placed),
        *others,
    ]
    return by_weight(found)


def by_weight(found: Iterable[Difference]) -> tuple[Difference, ...]:
    """What to act on, what to ask, what is good to know; else as they were found."""
    return tuple(sorted(found, key=lambda d: _WEIGHTS[d.weight]))


def _lots(request: PlanRequest, placed: AsPlaced) -> Iterator[Difference]:
    every = lots_then(placed)
    then = tuple(lot for _, lots in every for lot in lots)
    if not request.lots:
        if then:
            yield Difference("lot", "Lots", f"was {words.listed(then)}; ask what's on the shelf now", "ask")
        elif placed.pigments:
            yield Difference("lot", "Lots", "not logged on the old slab; a sample tells most", "ask")
        return
    said = {lot.casefold() for lot in request.lots}
    new = tuple(lot for lot in request.lots if lot.casefold() not in {t.casefold() for t in then})
    if new:
        was = f"was {words.listed(then)}" if then else "not logged on the old slab"
        yield Difference(
            "lot", "Lots", f"{was}, now {words.listed(new)}: pour a sample, it tells most", "act"
        )
    open_ = [(name, lots) for name, lots in every if not said & {lot.casefold() for lot in lots}]
    for name, lots in open_[
        len(new) :
    ]:  # a new lot may be of any of them: the first, as the bags are read out
        was = f"was {words.listed(lots)}" if lots else "not logged on the old slab"
        yield Difference("lot_unsaid", f"Lot of {name}", f"{was}; ask what's on the shelf now", "ask")


def lots_then(placed: AsPlaced) -> list[tuple[str, tuple[str, ...]]]:
    """Each product of the color with its lots: the pigments, then the release."""
    found = [(pigment.name, pigment.lots) for pigment in placed.pigments]
    return [*found, (placed.release, placed.release_lots)] if placed.release else found


def _makers(request: PlanRequest, placed: AsPlaced) -> Iterator[Difference]:
    then = {m for p in placed.pigments if (m := p.maker)} | ({placed.release_maker} - {None})
    new = [m for m in request.makers if m.casefold() not in {str(t).casefold() for t in then}]
    if new:
        was = f"was {words.listed(sorted(map(str, then)))}" if then else "not logged on the old slab"
        yield Difference(
            "maker",
            "Maker",
            f"{was}, now {words.listed(new)}: the same shade name is a different color",
            "act",
        )


def _cement(request: PlanRequest, placed: AsPlaced, system: str) -> Iterator[Difference]:
    kinds = {m.cement_kind for m in placed.mixes if m.cement_kind}
    if request.cement_kind and kinds and request.cement_kind.casefold() not in {k.casefold() for k in kinds}:
        yield Difference(
            "cement", "Cement", f"was {words.listed(sorted(kinds))}, now {request.cement_kind}", "act"
        )
    elif not request.cement_kind:
        then = f"was {words.listed(sorted(kinds))};  " if kinds else "not logged on the old slab; "
        yield Difference("cement", "Cement", f"{then}ask the plant for kind and mill", "ask")
    yield from _content(request, placed, system)
    if len(placed.mixes) > 1:
        yield Difference(
            "mix_switched", "Old mix", f"{len(placed.mixes)} mixes in the old slab: "
            + words.listed(words.mix(m, system) for m in placed.mixes), "act",
        )  # fmt: skip


def _content(request: PlanRequest, placed: AsPlaced, system: str) -> Iterator[Difference]:
    mix = placed.mix
    pairs = (
        (
            "cement_content",
            "Cement content",
            request.cement_lb_per_yd3,
            mix.cement_lb_per_yd3 if mix else None,
        ),
        ("scm", "Other cementitious", request.scm_lb_per_yd3, mix.scm_lb_per_yd3 if mix else None),
    )
    for key, title, now, then in pairs:
        rate = "" if then is None else _content_rate(then, system)
        if now is not None and then is not None and not alike(now, then):
            yield Difference(key, title, f"was {rate}, now {_content_rate(now, system)}", "act")
        elif now is not None and then is None:
            yield Difference(
                key, title, f"not logged on the old slab, now {_content_rate(now, system)}", "know"
            )
        elif now is None and key == "cement_content":
            was = f"was {rate}" if rate else "not logged on the old slab"
            yield Difference(key, title, f"{was}; ask the plant", "ask")
        elif now is None and then and request.cement_lb_per_yd3 is not None:
            yield Difference(key, title, f"not given, so the old {rate} is kept; ask the plant", "ask")
    if not mix and request.cement_lb_per_yd3 is not None and request.scm_lb_per_yd3 is None:
        yield from _mixed_scm(placed, system)


def _mixed_scm(placed: AsPlaced, system: str) -> Iterator[Difference]:
    """Other cementitious that nobody gave, of an old slab with more than one mix."""
    then = sorted({m.scm_lb_per_yd3 or 0.0 for m in placed.mixes})
    if any(then):
        rates = words.listed(_content_rate(value, system) for value in then)
        kept = "kept" if len(then) == 1 else "unknown which to keep, so the old dose per yard is kept"
        yield Difference("scm", "Other cementitious", f"not given; was {rates}, {kept}: ask the plant", "ask")


def _content_rate(value: Fraction | float, system: str) -> str:
    """A cement content as it is said of the old slab: `470 lb/yd³`, `279 kg/m³`."""
    if system == "metric":
        return write("content_lb_per_yd3", exact(value), system)
    return _rate(value, system)


def _rate(value: Fraction | float, system: str) -> str:
    if system == "metric":
        return write("dose_lb_per_yd3", exact(value), system)
    return f"{write_number(value)} lb/yd³"


def _plant(request: PlanRequest, on: date, placed: AsPlaced, system: str) -> Iterator[Difference]:
    then = sorted({m.plant for m in placed.mixes if m.plant})
    if not request.plant:
        was = f"was {words.listed(then)}; " if then else "not logged on the old slab; "
        yield Difference("plant", "Plant", f"{was}ask for the same plant and mix", "ask")
    elif then and request.plant.casefold() not in {t.casefold() for t in then}:
        yield Difference("plant", "Plant", f"was {words.listed(then)}, now {request.plant}", "act")
    for mix in placed.mixes:
        if mix.valid_to is not None and mix.valid_to < on:
            yield Difference(
                "mix_ended", "Mix", f"{words.mix(mix, system)} ended {write_date(mix.valid_to)}", "act"
            )


def switched(
    placed: AsPlaced, sent: Sequence[tuple[Mix, date]], system: str = "us"
) -> tuple[Difference, ...]:
    """What the plant has sent since under the same mix number, but with another cement or other contents."""
    found = []
    for old in placed.mixes:
        for new, since in sent:
            changes = _changed(old, new, system) if old.number and new.number == old.number else ""
            if changes and new.uid not in {m.uid for m in placed.mixes}:
                text = f"{old.plant}, mix {old.number}: {changes}, since {write_date(since)}; ask before ordering"
                found.append(Difference("mix_switched_since", "Mix since", text, "act"))
    return tuple(found[-1:])


def _changed(old: Mix, new: Mix, system: str) -> str:
    """What differs between two stated mixes; what either does not state is left out."""
    kinds = (("", old.cement_kind, new.cement_kind), ("mill ", old.cement_mill, new.cement_mill))
    said = [
        f"{name}was {then}, now {now}"
        for name, then, now in kinds
        if then and now and then.casefold() != now.casefold()
    ]
    contents = (
        ("cement", old.cement_lb_per_yd3, new.cement_lb_per_yd3),
        ("other cementitious", old.scm_lb_per_yd3, new.scm_lb_per_yd3),
    )
    for name, was, now in contents:
        if was is not None and now is not None and not alike(was, now):
            said.append(f"{name} was {_content_rate(was, system)}, now {_content_rate(now, system)}")
    return "; ".join(said)


def _dose(
    request: PlanRequest, placed: AsPlaced, pigment: PigmentPlan | None, system: str
) -> Iterator[Difference]:
    low, high = placed.dose_low, placed.dose_high
    if placed.off_loads and low is not None and high is not None:
        yield Difference(
            "dose_spread",
            "Old dose",
            f"{_rate(low, system)} to {_rate(high, system)} from load to load",
            "act",
        )
    if pigment is not None and pigment.other_dose_lb_per_yd3 is not None:
        yield Difference(
            "dose", "Dose",
            f"was {_rate(pigment.other_dose_lb_per_yd3, system)}, now {_rate(pigment.dose_lb_per_yd3, system)}: "
            "keeps the ratio to cementitious",
            "act",
        )  # fmt: skip
    if placed.over_limit and request.cement_lb_per_yd3 is None:
        yield Difference(
            "limit", "Limit",
            "the old slab was over the pigment limit of its cement (ASTM C979/C979M §1.4): "
            "give the cement content; a plan over the limit is refused",
            "act",
        )  # fmt: skip
    if placed.balance_loads:
        yield Difference(
            "balance", "Balance load", "the old slab took one: look for a mismatch inside it", "know"
        )


def _release(placed: AsPlaced) -> Iterator[Difference]:
    if placed.release_reclaimed:
        yield Difference(
            "reclaimed", "Release", "part reclaimed last time; use fresh of the same lot on a match", "act"
        )
    base, release = placed.base_reading, placed.release_reading
    if base is not None and release is not None and release.L > base.L:
        yield Difference(
            "accent", "Release",
            "read lighter than the base; the accent is usually darker (common practice, no source): "
            "check both spots again",
            "ask",
        )  # fmt: skip


def _day(on: date, placed: AsPlaced) -> Iterator[Difference]:
    """An addition comes after what it is added to."""
    if placed.poured_on is not None and on < placed.poured_on:
        old, new = write_date(placed.poured_on), write_date(on)
        yield Difference(
            "day", "Day", f"{new} is before the old slab was poured, {old}: which day is it?", "ask"
        )


def _season(on: date, placed: AsPlaced) -> Iterator[Difference]:
    if placed.poured_on and words.season(on) != words.season(placed.poured_on):
        yield Difference(
            "season", "Season", f"was {words.season(placed.poured_on)}, now {words.season(on)}", "know"
        )


def _state(placed: AsPlaced) -> Iterator[Difference]:
    if placed.coats:
        last = placed.coats[-1]
        yield Difference(
            "sealed", "Old slab", f"{'resealed' if last.reseal else 'sealed'} {words.month(last.on)}: "
            "compare sealed to sealed, bare on the sample", "know",
        )  # fmt: skip
