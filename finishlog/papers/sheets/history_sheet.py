"""The job's history, for the shop's file: what went in, color changes, work done, buried items."""

from __future__ import annotations

from collections.abc import Iterator

from finishlog.desk import words
from finishlog.desk.placed import still_to_come
from finishlog.papers.layout import readings, style
from finishlog.papers.layout.frame import Cell
from finishlog.papers.layout.ink import Ink
from finishlog.papers.layout.leaf import Head, Leaf
from finishlog.papers.layout.look import Look
from finishlog.papers.sheets.match_sheet import placed_rows
from finishlog.records.page import Doing, JobPage
from finishlog.records.placed import AsPlaced
from finishlog.units import write_date


def draw(ink: Ink, page: JobPage, given: Look) -> Leaf:
    """The sheet of a job."""
    job = page.job
    under = f"{page.line.site}  ·  {job.handle}" + (f"  ·  matches {job.reference}" if job.reference else "")
    leaf = Leaf(ink, Head(
        "Job history", f"{job.customer.name} · {job.name}", words.poured(page), under, given.shop_name,
        f"Job history · {job.handle} · {given.printed}", given.contact,
    ))  # fmt: skip
    leaf.frame.paragraph(page.sentence, style.ANSWER)
    for placed in page.placed:
        _area(leaf, page, placed, given.units)
    _listed(leaf, "Buried", [words.buried(item, given.units) for item in job.buried])
    _listed(leaf, "Owners", [
        f"{owner.customer.name}, since {write_date(owner.since)}{f': {owner.note}' if owner.note else ''}"
        for owner in job.owners
    ])  # fmt: skip
    _doings(leaf, page)
    if job.note:
        _listed(leaf, "Note", job.note.splitlines(), mark="")
    return leaf


def _area(leaf: Leaf, page: JobPage, placed: AsPlaced, units: str) -> None:
    name, _, size = words.area_title(placed.area, units).partition("  ")
    with leaf.section(name[:1].upper() + name[1:], size, least=60) as (body, _):
        planned = page.line.poured_on is None
        when = still_to_come.for_area(page.to_come, placed.area.uid)
        placed_rows(body, words.placed_lines(placed, units, planned=planned, to_come=when))
        body.skip(3)
        for spot, title in (("base", "Base"), ("release color", "Release color")):
            if aged := readings.by_age(page.job, placed, spot):
                body.need(16 + 20 + 5.2 * style.SMALL.lead)
                body.paragraph(f"{title} by age, dry and bare: L* a* b*, nearest plain name", style.LABEL)
                body.skip(1)
                readings.grid(body, aged)
        if placed.missing and not planned:
            body.run_in("Not on record", f"{'; '.join(placed.missing)}.", style.SMALL, style.SMALL_STRONG)


def _doings(leaf: Leaf, page: JobPage) -> None:
    if not page.doings:
        return
    areas = {area.uid: area.name for area in page.job.areas} if len(page.job.areas) > 1 else {}
    where = {entry.number: areas.get(entry.area or "", "") for entry in page.job.history}
    with leaf.section("Was done") as (body, _):
        for done in page.doings:
            voice = style.BODY if done.current else style.LABEL
            body.row((
                Cell(done.when, 104, style.FAINT if done.current else style.LABEL),
                Cell(done.who or "", 62, voice),
                Cell(": ".join(_said(done, where[done.number])), 0, voice),
            ), hair=done.current)  # fmt: skip


def _said(done: Doing, area: str) -> Iterator[str]:
    """What was done, where, and its note; corrected, undone or moved entries say so."""
    prefix = "" if done.current else f"{done.was}: " if done.gone else "logged first, later corrected: "
    yield f"{prefix}{done.what}{f' ({area})' if area else ''}"
    if done.note:
        yield done.note


def _listed(leaf: Leaf, name: str, lines: list[str], mark: str = "·") -> None:
    if lines:
        with leaf.section(name) as (body, _):
            if mark:
                body.bullets(lines, mark=mark)
            for line in () if mark else lines:
                body.paragraph(line)
