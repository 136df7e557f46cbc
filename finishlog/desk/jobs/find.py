"""Find a job from any scrap. Kept light: the first rows of the screens wait for this."""

from __future__ import annotations

from datetime import date
from typing import TypedDict

from finishlog.desk.services import Services
from finishlog.records.log import Page


class _Only(TypedDict):
    base: str | None
    release: str | None
    pattern: str | None
    since: date | None
    until: date | None
    archived: bool


def page(
    services: Services,
    words: str = "",
    *,
    base: str | None = None,
    release: str | None = None,
    pattern: str | None = None,
    since: date | None = None,
    until: date | None = None,
    archived: bool = False,
    limit: int | None = None,
    offset: int = 0,
) -> Page:
    """Jobs that fit, best first; with no words all, newest first. Archived ones only where asked for."""
    only = _Only(base=base, release=release, pattern=pattern, since=since, until=until, archived=archived)
    with services.log().reading() as log:
        lines = log.lines(words=words, **only, limit=limit, offset=offset)
        total = len(lines) if limit is None and not offset else log.count(words=words, **only)
        nearest = () if total or not words.strip() else log.nearest(words)
        return Page(lines, total, log.count(), nearest)


def near(services: Services, color: str, *, limit: int | None = None, archived: bool = False) -> Page:
    """Jobs by the CIEDE2000 between a color (L*a*b*, Munsell, screen) and their base, nearest first.

    Jobs without a reading are not among them. Raises InputError for what is no color.
    """
    from finishlog.color.notation.names import nearest_name
    from finishlog.color.notation.space import lab_to_hex
    from finishlog.inputs import colors

    lab = colors.read(color).lab
    with services.log().reading() as log:
        lines = log.near(lab, limit=limit, archived=archived)
        return Page(lines, len(lines), log.count(), asked=(lab_to_hex(lab), nearest_name(lab)))
