"""All desks, for the screens. Imported late: the first frame needs neither store nor color."""

from __future__ import annotations

from contextlib import suppress
from dataclasses import replace
from typing import TYPE_CHECKING

from finishlog.errors import InputError
from finishlog.roles import NOT_OF_CREW
from finishlog.tui.desks import looking
from finishlog.tui.desks.color import ColorDesks, joint
from finishlog.tui.desks.exchange import ImportDesks
from finishlog.tui.desks.late import late
from finishlog.tui.desks.office import OfficeDesks
from finishlog.tui.desks.photo import PhotoDesks
from finishlog.tui.desks.today import TodayDesks
from finishlog.tui.desks.views import JobForm, JobView, PlanView

if TYPE_CHECKING:
    from collections.abc import Callable, Collection, Mapping
    from fractions import Fraction

    from finishlog.desk.forms.daycard import Card
    from finishlog.desk.forms.last_time import LastTime
    from finishlog.desk.forms.offers import Offer
    from finishlog.desk.jobs.settings import Held
    from finishlog.desk.jobs.small_forms import SmallForm
    from finishlog.desk.match.plan import Measures
    from finishlog.desk.record.record import Recorded
    from finishlog.desk.services import Services
    from finishlog.records.log import Page
    from finishlog.records.plan import Plan, PlanRequest
    from finishlog.records.shop import Shop


NEW_JOB = "job new"
"""Draft key of a new job."""


def leading(page: Page, handle: str) -> Page:
    """The page with this job moved to the top."""
    lines = sorted(page.lines, key=lambda line: line.handle != handle)
    return replace(page, lines=tuple(lines))


class Desks(ImportDesks, PhotoDesks, ColorDesks, TodayDesks, OfficeDesks):
    """Every desk on one log."""

    backup: Callable[[], str] = late("finishlog.desk.exchange.keeping.backup")
    save: Callable[[Plan, str | None], str] = late("finishlog.desk.match.plan.save")
    save_again: Callable[[str, Plan], str] = late("finishlog.desk.match.kept.keep_again")
    offer: Callable[[str, str], Offer] = late("finishlog.desk.forms.offers.offer")
    correction: Callable[[str, int], Offer] = late("finishlog.desk.forms.offers.correction")
    corrected: Callable[[str, int], Offer] = late("finishlog.desk.forms.offers.corrected")
    last_time: Callable[[str, str, int | None], LastTime] = late("finishlog.desk.forms.last_time.last_time")
    lots: Callable[[str], tuple[str, ...]] = late("finishlog.desk.forms.offers.lots")
    keep_draft: Callable[[str, Mapping[str, str]], None] = late("finishlog.desk.record.drafts.keep_draft")
    settings: Callable[[], tuple[Held, ...]] = late("finishlog.desk.jobs.settings.values")
    change_settings: Callable[[Mapping[str, str], Mapping[str, str]], tuple[str, ...]] = late(
        "finishlog.desk.jobs.settings.change"
    )
    small_form: Callable[[str, str, str], SmallForm] = late("finishlog.desk.jobs.small_forms.form")
    keep_small: Callable[[str, SmallForm, Mapping[str, str]], str] = late(
        "finishlog.desk.jobs.small_forms.keep"
    )

    def __init__(self, services: Services, units: str = "us") -> None:
        self._services = services
        self._units = units

    def page(self, words: str, *, limit: int, offset: int, archived: bool = False) -> Page:
        """A color lists the nearest jobs in one page; other words are searched in `limit` rows."""
        from finishlog.desk.jobs import find

        if looking.is_color(words):
            with suppress(InputError):  # looks like a color but is none: a ticket, perhaps
                return find.near(self._services, words, limit=limit, archived=archived)
        return find.page(self._services, words, limit=limit, offset=offset, archived=archived)

    def job(self, handle: str) -> JobView:
        """Readings come with their looks; the first call loads the color library."""
        from finishlog.desk.jobs import page as job_page
        from finishlog.desk.record import drafts
        from finishlog.tui.desks import looks

        page = job_page.lay_open(self._services, handle)
        half = tuple(kind for kind, _ in drafts.drafts(self._services, handle))
        return JobView(page, looks.of_job(page), half)

    def prepare(self, handle: str, area: str | None = None) -> Measures:
        """What the measure form starts from. Raises InputError if the job or area is unknown."""
        from finishlog.desk.match import plan

        return plan.prepare(self._services, handle, area)

    def make(self, request: PlanRequest) -> PlanView:
        """Computes without saving. Raises InputError at the request's option."""
        from finishlog.desk.match import plan

        return self._seen(plan.make(self._services, request, self._units))

    def _seen(self, made: Plan) -> PlanView:
        from finishlog.tui.desks import looks

        base, release = looks.of_placed(made.reference)
        sealed = base is not None and base.reading.sealed
        return PlanView(made, base, release, joint(made, sealed, self._services.shop().final_color_day))

    def plan_since(self, handle: str) -> tuple[str, ...]:
        """How the saved plan would differ if made now, a phrase each; empty if it would not."""
        from finishlog.desk.match import kept

        return kept.since(self._services, handle, self._units)

    def plan_again(self, handle: str) -> PlanView:
        """The saved request planned from today's log; not saved. Raises InputError if none is kept."""
        from finishlog.desk.match import kept

        return self._seen(kept.made_again(self._services, handle, self._units))

    def may(self, act: str) -> bool:
        """Whether the one who works here may do that (`finishlog.roles`)."""
        return self._services.may(act)

    def shop(self) -> Shop:
        """Settings kept in the log; the built-in ones if there is no log."""
        return self._services.shop()

    def past_errors(self) -> tuple[Fraction, ...]:
        """Depth errors of past slabs in inches, oldest first; empty if there is no log."""
        return self._services.past_errors()

    def kinds(self) -> tuple[tuple[str, str], ...]:
        """Key and title of each kind, in order of work."""
        from finishlog.inputs.entry import entries

        out = () if self.may("plan") else NOT_OF_CREW
        return tuple((kind.key, kind.title) for kind in entries.kinds() if kind.key not in out)

    def record(self, offer: Offer, texts: Mapping[str, str], because: str | None) -> Recorded:
        """Logs the offer, or replaces its entry. Raises InputError at the field, Doubt until `because`."""
        from finishlog.desk.record import record

        return record.record(
            self._services, offer.job, offer.kind, texts, replaces=offer.replaces, because=because
        )

    def undo(self, handle: str, number: int | None, own: Collection[int] | None) -> Recorded:
        """Raises Sure unless `own` holds every entry from that number on; None: already confirmed."""
        from finishlog.desk.record import taking_back

        return taking_back.undo(self._services, handle, number, own=own)

    def bring_back(self, handle: str, own: Collection[int]) -> Recorded:
        """Raises Sure unless `own` holds the entry, InputError if nothing was undone."""
        from finishlog.desk.record import taking_back

        return taking_back.bring_back(self._services, handle, own=own)

    def move_entry(self, handle: str, number: int, to: str, because: str | None) -> Recorded:
        """`to` is the other job's handle. Raises InputError if it cannot move, Doubt until `because`."""
        from finishlog.desk.record import taking_back

        return taking_back.move(self._services, handle, number, to, because=because)

    def archive(self, handle: str, *, back: bool) -> str:
        """`back` unarchives. Answers the sentence that reports it."""
        from finishlog.desk.jobs import edit

        return (edit.unarchive if back else edit.archive)(self._services, handle).sentence

    def job_form(self) -> JobForm:
        """Comes with what was typed and left unfinished, if any."""
        from finishlog.desk.record import drafts
        from finishlog.inputs.jobs import FIELDS

        return JobForm(FIELDS, NEW_JOB, drafts.draft(self._services, NEW_JOB))

    def new_job(self, texts: Mapping[str, str]) -> JobView:
        """Drops the draft once saved. Raises InputError at the field."""
        from finishlog.desk.jobs import edit
        from finishlog.desk.record import drafts

        made = edit.new_job(self._services, texts)
        drafts.keep_draft(self._services, NEW_JOB, {})
        return self.job(made.job)

    def day_card(self, handle: str, loads: int, day: str) -> Card:
        """`day` is text; blank is today at the site."""
        from finishlog.desk.forms import daycard

        return daycard.day_card(self._services, handle, loads=loads, day=day)

    def pour_day(self, handle: str, texts: Mapping[str, str], because: str | None) -> tuple[Recorded, ...]:
        """Logs the whole card or nothing. Raises InputError at the field, Doubt until `because`."""
        from finishlog.desk.forms import daycard

        return daycard.pour_day(self._services, handle, texts, because=because)

    def write_job(self, handle: str, sheet: str, file: str, units: str) -> str:
        """Answers the path written. Raises InputError at `file`."""
        from finishlog.desk.jobs import page as job_page
        from finishlog.desk.match import kept
        from finishlog.papers import files, make

        files.check(file, where="file")
        look = make.look(self._services, units)
        plan = next((name for name in make.PLAN_SHEETS if name == sheet), None)
        if plan is not None:
            made = make.plan_sheets(kept.plan_of(self._services, handle, units), (plan,), look)
        else:
            name = next(name for name in make.JOB_SHEETS if name == sheet)
            made = make.job_sheet(job_page.lay_open(self._services, handle), name, look)
        return _written(file, made)

    def write_plan(self, plan: Plan, sheet: str, file: str, units: str) -> str:
        """`sheet` may be `all`. Answers the path written; raises InputError at `file`."""
        from finishlog.papers import files, make

        files.check(file, where="file")
        names = tuple(name for name in make.PLAN_SHEETS if sheet in (name, "all"))
        return _written(file, make.plan_sheets(plan, names, make.look(self._services, units)))


def _written(file: str, made: bytes) -> str:
    from finishlog.papers import files

    with files.new_file(file, made, where="file") as target:
        return str(target)
