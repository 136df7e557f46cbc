"""What all pages share: the log's services, who asks, forms that only we can have made, templates."""

from __future__ import annotations

from collections.abc import Awaitable, Callable, Mapping
from contextlib import suppress
from dataclasses import dataclass, field
from functools import cached_property, partial, wraps
from pathlib import Path
from threading import Lock
from typing import TYPE_CHECKING, Any, ParamSpec, TypeVar

from anyio import CapacityLimiter, to_thread
from itsdangerous import BadSignature, URLSafeTimedSerializer
from starlette.background import BackgroundTask
from starlette.exceptions import HTTPException
from starlette.requests import HTTPConnection, Request
from starlette.responses import HTMLResponse, RedirectResponse, Response

from finishlog.errors import FinishlogError
from finishlog.roles import may
from finishlog.web import nav
from finishlog.web.gate.people import People, Visitor

if TYPE_CHECKING:
    from jinja2 import Environment

    from finishlog.desk.services import Services
    from finishlog.web.gate.visits import Visits

COOKIE = "finishlog_session"
TOKEN_S = 24 * 3600
"""How long a form may lie open."""
AT_ONCE = 4
"""Questions to the log at once: they share the cores, and each holds a connection."""
_FOLDER = Path(__file__).parent

Given = ParamSpec("Given")
Answer = TypeVar("Answer")
Own = TypeVar("Own")
Page = Callable[[Request, "Site", Visitor], Awaitable[Response]]


@dataclass
class Site:
    """One log, served. `secure`: its address is https, or so says the proxy before it."""

    services: Services
    people: People
    visits: Visits
    secure: bool = False
    crew_sees_phones: bool = False
    renews: Callable[[Services], object] = lambda _: None
    """Makes what all look at anew, as a role sees it."""

    _of_roles: dict[str, Services] = field(default_factory=dict)
    _of_pages: dict[type[Any], Any] = field(default_factory=dict)
    _lock: Lock = field(default_factory=Lock)
    _changes: int = 0
    _renewing: bool = False

    def services_of(self, visitor: Visitor) -> Services:
        """The log as this visitor's role sees it."""
        with self._lock:
            if visitor.role not in self._of_roles:
                self._of_roles[visitor.role] = self.services.seen_by(
                    visitor.role, lambda: self.sees_phones(visitor.role)
                )
            return self._of_roles[visitor.role]

    def sees_phones(self, role: str) -> bool:
        """Whether a role sees every customer's phone number: the crew does where the owner says so."""
        return may(role, "customers") or self.crew_sees_phones

    def own(self, kind: type[Own]) -> Own:
        """What a page keeps for as long as the site is served: one of its kind."""
        with self._lock:
            if kind not in self._of_pages:
                self._of_pages[kind] = kind()
            found: Own = self._of_pages[kind]
            return found

    async def renew(self) -> None:
        """After a change: what all look at is made anew, so that the next to look does not wait for it."""
        self._changes += 1
        if self._renewing:
            return  # whoever does it looks once more
        self._renewing, seen = True, 0
        try:
            while seen != self._changes:
                seen = self._changes
                for services in list(self._of_roles.values()):
                    with suppress(FinishlogError):  # it is said to who asks
                        await self.ask(self.renews, services)
        finally:
            self._renewing = False

    def close(self) -> None:
        """Release the log."""
        for services in (*self._of_roles.values(), self.services):
            services.close()

    @cached_property
    def _limit(self) -> CapacityLimiter:
        return CapacityLimiter(AT_ONCE)

    async def ask(self, call: Callable[Given, Answer], *given: Given.args, **more: Given.kwargs) -> Answer:
        """What a desk answers, in a thread: other phones are served meanwhile."""
        return await to_thread.run_sync(partial(call, *given, **more), limiter=self._limit)

    # who asks

    async def visitor(self, request: HTTPConnection) -> Visitor | None:
        """Who asks; None where nobody came in with this browser."""
        token = request.cookies.get(COOKIE, "")
        return self.people.visitor(token) if token else None  # a look at one small file: no thread for that

    def let_in(self, token: str, answer: Response, lasts_s: float) -> Response:
        """The answer, with the session's cookie."""
        answer.set_cookie(
            COOKIE, token, max_age=int(lasts_s), httponly=True, samesite="strict", secure=self.secure
        )
        return answer

    def let_go(self, answer: Response) -> Response:
        """The answer, without it."""
        answer.delete_cookie(COOKIE, httponly=True, samesite="strict", secure=self.secure)
        return answer

    # forms

    @cached_property
    def _signs(self) -> URLSafeTimedSerializer:
        return URLSafeTimedSerializer(self.people.secret(), salt="form")

    def token(self, of: str) -> str:
        """What a form has to bring back; `of` is the session it was made for."""
        return str(self._signs.dumps(of))

    def is_ours(self, token: str, of: str) -> bool:
        """Whether we made the form, for this session, not long ago."""
        try:
            return bool(self._signs.loads(token, max_age=TOKEN_S) == of)
        except BadSignature:
            return False

    # answers

    @cached_property
    def _pages(self) -> Environment:
        from jinja2 import Environment, FileSystemLoader, StrictUndefined

        made = Environment(
            loader=FileSystemLoader(_FOLDER / "templates"), autoescape=True, undefined=StrictUndefined,
            trim_blocks=True, lstrip_blocks=True, auto_reload=False,
        )  # fmt: skip
        made.globals["links"] = nav.links
        return made

    def page(
        self, template: str, visitor: Visitor | None, /, *, status: int = 200, **values: Any
    ) -> HTMLResponse:
        """A template, filled in. All texts are escaped."""
        token = self.token(visitor.session) if visitor else ""
        text = self._pages.get_template(template).render(visitor=visitor, csrf=token, **values)
        return HTMLResponse(text, status)


def site_of(request: Request) -> Site:
    """The site that a request came to."""
    found: Site = request.app.state.site
    return found


def signed_in(page: Page) -> Callable[[Request], Awaitable[Response]]:
    """A page for who has come in; others are sent to the door. A change has to bring the form's own token."""

    @wraps(page)
    async def asked(request: Request) -> Response:
        site = site_of(request)
        visitor = await site.visitor(request)
        if visitor is None:
            return RedirectResponse("/in", 303)
        if request.method == "POST":
            given = request.headers.get("x-csrf") or str((await request.form()).get("csrf", ""))
            if not site.is_ours(given, visitor.session):
                site.visits.note("a form that is not ours", source_of(request), visitor.name)
                raise HTTPException(403, "This form is too old, or not ours. Load the page again.")
        return renewed(request, await page(request, site, visitor))

    return asked


def renewed(request: Request, answer: Response) -> Response:
    """The answer to a change, with what is to be done once it is sent."""
    if request.method == "POST":
        answer.background = BackgroundTask(site_of(request).renew)
    return answer


def source_of(request: Request) -> str:
    """Where a request comes from."""
    return request.client.host if request.client else "-"


def texts_of(form: Mapping[str, Any], prefix: str = "") -> dict[str, str]:
    """The texts of a form, without its token and files."""
    return {
        name.removeprefix(prefix): value
        for name, value in form.items()
        if isinstance(value, str) and name.startswith(prefix) and name != "csrf"
    }
