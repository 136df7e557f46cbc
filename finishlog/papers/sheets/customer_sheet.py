"""The customer's sheet: what was done, how the color changes, how to care for it. No odds, no promise of a match.

Never shows doses, lots, notes, chances or the shop's doubts.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta
from zoneinfo import ZoneInfo

from dateutil.relativedelta import relativedelta

from finishlog.desk import shape_words, words
from finishlog.desk.words import inches
from finishlog.papers.layout import look, readings, sketch, style
from finishlog.papers.layout.frame import Blank, Cell, Frame
from finishlog.papers.layout.ink import Ink
from finishlog.papers.layout.leaf import Head, Leaf, one_page
from finishlog.papers.layout.look import Look
from finishlog.records.log import Entry
from finishlog.records.page import JobPage
from finishlog.records.placed import AsPlaced, PlacedCoat
from finishlog.records.plan import Plan
from finishlog.records.shop import Shop
from finishlog.records.when import zone_of
from finishlog.trade import exposure
from finishlog.trade.upkeep import windows
from finishlog.trade.upkeep.windows import first_comparable
from finishlog.units import count, exact, write, write_date

SCALES = (1.18, 1.12, 1.06, 1.0, 0.95, 0.9, 0.85)
"""Larger than on the shop's own sheets if there is room."""
EXPECT = "Close, within normal variation; a sample to be approved."
STRIP = 7


def draw(ink: Ink, page: JobPage, given: Look) -> Leaf:
    """The sheet of a job, poured or planned."""
    return one_page((*SCALES, 1.0), lambda scale: _laid(ink, page, given, scale))


def _laid(ink: Ink, page: JobPage, given: Look, scale: float) -> Leaf:
    job, line = page.job, page.line
    poured = f"poured {write_date(page.poured_on or line.poured_on)}" if line.poured_on else (
        f"planned for {write_date(line.planned_on)}" if line.planned_on else "planned"
    )  # fmt: skip
    leaf = Leaf(ink, Head(
        "Your concrete", f"{job.customer.name} · {job.name}", poured, line.site, given.shop_name,
        f"Our record: {job.handle} · {given.printed}", given.contact,
    ), scale=scale)  # fmt: skip
    for at, placed in enumerate(page.placed):
        _area(leaf, placed, given.units, ruled=at > 0)
    if page.planned is not None:
        (_matched if line.poured_on else _match)(leaf, page.planned.plan, page)
    _color(leaf, page, given.shop)
    _expect(leaf, page)
    _care(leaf, page, given)
    _cautions(leaf, page, given.units)
    return leaf


def _area(leaf: Leaf, placed: AsPlaced, units: str, ruled: bool) -> None:
    with leaf.section(placed.area.name[:1].upper() + placed.area.name[1:], ruled=ruled) as (body, side):
        side.skip(2)
        for label, text in _done(placed, units):
            body.row((Cell(label, 72, style.FAINT), Cell(text)))
        body.skip(2)
        if placed.poured_on is None:
            sketch.draw(body, shape_words.drawn(placed.area.shapes, units), 44)
        _swatches(body, placed)


def _match(leaf: Leaf, plan: Plan, page: JobPage) -> None:
    """Which slab the new one should resemble, and what is done to both, as planned; no promise."""
    with leaf.section("The slab beside it", least=80) as (body, _):
        body.paragraph(f"It should come close to {_old(plan, page)}, within normal variation.", style.STRONG)
        for label, text in _both(plan):
            body.row((Cell(label, 72, style.FAINT), Cell(text)))


def _matched(leaf: Leaf, plan: Plan, page: JobPage) -> None:
    """For a poured slab: the one it was made to match."""
    with leaf.section("The slab beside it", least=30) as (body, _):
        body.paragraph(f"Made to come close to {_old(plan, page)}, within normal variation.", style.STRONG)


def _old(plan: Plan, page: JobPage) -> str:
    """The slab to match: name, area, day; its street if it differs."""
    old, placed = plan.reference_job, plan.reference
    name = old.name if placed.area.name in ("field", old.name) else f"{old.name}, {placed.area.name}"
    where = "" if plan.reference_line.site == page.line.site else f", {plan.reference_line.site}"
    day = f", poured {write_date(placed.poured_on)}" if placed.poured_on else ""
    return (
        f"your {name}{where}{day}" if old.customer.name == page.job.customer.name else f"{name}{where}{day}"
    )


def _both(plan: Plan) -> Iterator[tuple[str, str]]:
    """Work to do first on the old slab, the new one, or both."""
    yield (
        "First",
        "We show you a dry sample of the new color beside the old slab. You approve it before we pour.",
    )
    newest = _last_coat((plan.reference,))
    sealed = (
        f" It was {'resealed' if newest.reseal else 'sealed'} {words.month(newest.on)}." if newest else ""
    )
    yield "Old slab", f"Washed clean, so the two can be compared.{sealed}"
    done = ", ".join(
        part
        for part in (
            "colored all through" if plan.reference.pigments else "",
            f"stamped {plan.reference.pattern}" if plan.reference.pattern else "",
            f"release color {plan.release.name}" if plan.release else "",
            "rinsed in steps, checked against the old slab" if plan.release else "",
        )
        if part
    )
    if done:
        yield "New slab", f"{done[:1].upper()}{done[1:]}."
    yield "Both", _sealing(plan)


def _sealing(plan: Plan) -> str:
    day = next((day for day in plan.days if day.key == "seal"), None)
    when = f" about {day.when.partition(',')[0]}, when the new one is dry" if day else ""
    name = ", ".join(part for part in (plan.sealer.name, plan.sealer.chemistry) if part)
    with_what = f" with {name}" if name else ""
    if plan.sealer.old_slab_gal is None:
        return f"We seal the new slab{with_what}{when}, and reseal the old one in the same visit if due."
    return f"We seal both in one visit{with_what}{when}, new slab and old, so both shine alike."


def _swatches(body: Frame, placed: AsPlaced) -> None:
    """Base and release color side by side, wide enough to be seen across a table."""
    seen = [(r, t) for r, t in ((placed.base_reading, "base color"), (placed.release_reading, "in the low spots"))
            if r is not None]  # fmt: skip
    if not seen:
        return
    body.need(46)
    columns = body.split(2)
    for column, (reading, title) in zip(columns, seen, strict=False):
        look.swatch(column, reading, title, 24, lab=False)
    body.join(columns)


def _done(placed: AsPlaced, units: str) -> Iterator[tuple[str, str]]:
    area = placed.area
    size = [write("area_ft2", exact(area.area_ft2), units)] if area.area_ft2 is not None else []
    size += [f"{inches(exact(area.depth_in), units)} thick"] if area.depth_in is not None else []
    day = [f"poured {write_date(placed.poured_on)}"] if placed.poured_on else []
    if size or day:
        yield "Slab", ", ".join((*size, *day))
    if area.shapes:
        yield "Measures", shape_words.dimensions(area.shapes, units)
    if placed.pigments:
        shades = (", ".join(p for p in (pigment.name, pigment.maker) if p) for pigment in placed.pigments)
        yield "Color", f"{' + '.join(shades)}, all through the slab"
    if placed.pattern:
        yield "Texture", f"stamped, {placed.pattern}"
    if placed.release:
        release = ", ".join(p for p in (placed.release, placed.release_maker) if p)
        yield "Low spots", f"release color {release}"
    if text := _sealed(placed):
        yield "Sealer", text


def _sealed(placed: AsPlaced) -> str:
    """The newest sealing: product, coats of that visit, day."""
    last = _last_coat((placed,))
    if last is None:
        return ""
    coats = sum(coat.reseal == last.reseal for coat in placed.coats)
    verb = "resealed" if last.reseal else "sealed"
    return f"{words.sealer_name(last)}, {count(coats, 'coat')}, {verb} {write_date(last.on)}"


def _last_coat(areas: tuple[AsPlaced, ...]) -> PlacedCoat | None:
    return max((coat for placed in areas for coat in placed.coats), key=lambda coat: coat.on, default=None)


def _color(leaf: Leaf, page: JobPage, shop: Shop) -> None:
    poured = page.poured_on or page.line.poured_on or page.line.planned_on
    with leaf.section("How the color moves", least=80) as (body, _):
        look.figures(body, [
            ("poured" if page.line.poured_on else "pour", _day(poured, 0), "Darker than its final color."),
            (f"day {shop.first_comparable_day}", _first_day(poured, shop),
             "The first day worth comparing, dry to dry."),
            (f"about day {shop.final_color_day}", _day(poured, shop.final_color_day),
             "The color stops moving, in good sun."),
        ])  # fmt: skip
        body.skip(4)
        main = page.placed[0]
        aged = readings.by_age(page.job, main, "base")
        if len(aged) > 1:
            which = f"The {main.area.name}" if len(page.placed) > 1 else "Your slab"
            body.paragraph(f"{which} so far, dry and bare, as we measured it:", style.SMALL)
            readings.strip(body, readings.thinned(aged, STRIP))
            body.skip(3)
        body.paragraph(
            f"Fresh concrete looks dark and lightens for about {shop.final_color_day} days. "
            "Shade, damp and cold slow it down. Sealer deepens it at once, and so does rain."
        )


def _first_day(poured: date | None, shop: Shop) -> str:
    return write_date(first_comparable(poured, shop)) if poured else f"day {shop.first_comparable_day}"


def _day(poured: date | None, days: int) -> str:
    return write_date(poured + timedelta(days=days)) if poured else ("—" if days == 0 else f"day {days}")


def _expect(leaf: Leaf, page: JobPage) -> None:
    approvals = page.job.of_kind("approval")
    with leaf.section("What to expect", least=60) as (body, _):
        body.paragraph(EXPECT, style.STRONG)
        body.paragraph(
            "Every truck, every day and every crew differs slightly: small shade changes, hairlines and a "
            "darker or lighter spot are normal in colored concrete."
        )
        for entry in approvals:
            if entry.approval is not None:
                body.paragraph(_approved(entry, zone_of(page.job)))
        if not approvals:
            body.blanks([Blank("sample no.", 0.6), Blank("approved by", 1.5), Blank("day", 0.8),
                         Blank("signature", 1.6)], 22)  # fmt: skip


def _approved(entry: Entry, zone: ZoneInfo) -> str:
    given = entry.approval
    assert given is not None
    day = entry.happened.astimezone(zone).date()
    verb = "approved" if given.approved else "not approved"
    return f"Sample {given.sample} was {verb} by {given.by}, {write_date(day)}."


def _care(leaf: Leaf, page: JobPage, given: Look) -> None:
    shop, last = given.shop, _last_coat(page.placed)
    with leaf.section("Care") as (body, _):
        body.bullets((
            f"After sealing, walk on it after {words.hours(shop.foot_h)}, drive on it after "
            f"{count(shop.cars_days, 'day')}.",
            "Sweep it and rinse it with water. Clean up oil, leaves and rust soon: they stain.",
            f"{_reseal(page, last, shop)} Reseal sooner if it whitens, peels, turns tacky or dull, and next to a pool, "
            "salt or traffic. Ask us to look.",
            "Before anyone seals it, have them ask us what is on it: the wrong sealer on top wrinkles or peels.",
        ))  # fmt: skip


def _reseal(page: JobPage, last: PlacedCoat | None, shop: Shop) -> str:
    sealed = (placed.area for placed in page.placed if last is None or last in placed.coats)
    low, high = windows.reseal_years(shop, harsh=any(exposure.harsh(page.job, area) for area in sealed))
    if last is None:
        return f"Have it resealed {low} to {high} years after it is sealed."
    opens, closes = (last.on + relativedelta(years=years) for years in (low, high))
    return f"Have it resealed between {words.month(opens)} and {words.month(closes)}."


def _cautions(leaf: Leaf, page: JobPage, units: str) -> None:
    with leaf.section("Take care") as (body, _):
        body.bullets((
            "A sealed slope or pool deck is slippery when wet.",
            "No de-icer in the first winter.",
            "Leave no plastic sheet, mat or damp blanket on it: they mark color.",
        ))  # fmt: skip
        if page.job.buried:
            body.bullets(("Before anyone digs, cuts or drills, know what's buried here:",), style.STRONG)
            body.bullets((words.buried(item, units) for item in page.job.buried), mark="")
