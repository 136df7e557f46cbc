"""Whole PDF files: sheets of a plan or a job. The PDF library is imported only here."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Literal

from finishlog.desk.words import listed
from finishlog.errors import InputError
from finishlog.papers.layout import style

if TYPE_CHECKING:
    from finishlog.desk.services import Services
    from finishlog.papers.layout.leaf import Leaf
    from finishlog.papers.layout.look import Look
    from finishlog.records.page import JobPage
    from finishlog.records.plan import Plan

PlanSheet = Literal["match", "batch", "daycard"]
JobSheet = Literal["customer", "history"]
PLAN_SHEETS: tuple[PlanSheet, ...] = ("match", "batch", "daycard")
JOB_SHEETS: tuple[JobSheet, ...] = ("customer", "history")
CONTACT = ("shop_street", "shop_phone", "shop_email")


def look(services: Services, units: str = "us") -> Look:
    """The look of this shop's sheets: settings, name and contact if set, clock."""
    from finishlog.papers.layout.look import Look

    with services.log().reading() as log:
        told = {key: text.strip() for key, text in log.settings().items()}
        contact = " · ".join(text for key in CONTACT if (text := told.get(key)))
        return Look(services.now(), log.shop(), told.get("shop_name") or None, units, contact)


def plan_sheets(plan: Plan, sheets: Sequence[PlanSheet], given: Look, paper: str = "letter") -> bytes:
    """The sheets of a plan in one file, in the given order. Raises InputError for an unknown paper size."""
    from finishlog.papers.layout.ink import Ink
    from finishlog.papers.sheets import batch_sheet, day_card, match_sheet

    draw = {"match": match_sheet.draw, "batch": batch_sheet.draw, "daycard": day_card.draw}
    ink = Ink(style.paper(paper))
    return _painted([draw[sheet](ink, plan, given) for sheet in sheets], given)


def job_sheet(page: JobPage, sheet: JobSheet, given: Look, paper: str = "letter") -> bytes:
    """One sheet of a job. Raises InputError for an unknown paper size or a job with nothing to show."""
    from finishlog.papers.layout.ink import Ink
    from finishlog.papers.sheets import customer_sheet, history_sheet

    if not page.placed:
        raise InputError(f"{page.job.handle} has no area yet.", "A sheet needs one.")
    draw = {"customer": customer_sheet.draw, "history": history_sheet.draw}
    return _painted([draw[sheet](Ink(style.paper(paper)), page, given)], given)


def bucket_label(services: Services, product: str, lot: str | None, kind: str | None = None, *,
                 units: str = "us", paper: str = "letter") -> bytes:  # fmt: skip
    """A bucket label. Raises InputError if nothing was ever reclaimed of the product or lot."""
    from finishlog.papers.layout.ink import Ink
    from finishlog.papers.sheets import bucket_label as label

    bucket, given = label.find(services, product, lot, kind, units), look(services, units)
    return _painted([label.draw(Ink(style.paper(paper)), bucket, given)], given)


def _painted(leaves: Sequence[Leaf], given: Look) -> bytes:
    pages = [page for leaf in leaves for page in leaf.finished()]
    title = listed(dict.fromkeys(leaf.head.sheet for leaf in leaves))
    return leaves[0].ink.paint(pages, f"{title} · {leaves[0].head.title}", given.made)
