"""Find a job from any scrap. Kept light: the first rows of the screens wait for this."""

from __future__ import annotations

from typing import TYPE_CHECKING, Unpack

from finishlog.desk.services import Services
from finishlog.records.log import Page

if TYPE_CHECKING:
    from finishlog.store.search.question import Asked


def page(
    services: Services,
    words: str = "",
    *,
    limit: int | None = None,
    offset: int = 0,
    **only: Unpack[Asked],
) -> Page:
    """Matching jobs, best first; all, newest first, without words. Archived ones only on request."""
    with services.log().reading() as log:
        lines, total = log.part(words=words, **only, limit=limit, offset=offset)
        nearest = () if total or not words.strip() else log.nearest(words)
        asked = words.strip() or any(only.values())
        return Page(lines, total, log.count() if asked else total, nearest)


def near(services: Services, color: str, *, limit: int | None = None, archived: bool = False) -> Page:
    """Jobs by the CIEDE2000 between a color (L*a*b*, Munsell, screen) and their base, nearest first.

    Skips jobs without a reading. Raises InputError for an invalid color.
    """
    from finishlog.color.notation.names import nearest_name
    from finishlog.color.notation.space import lab_to_hex
    from finishlog.inputs import colors

    lab = colors.read(color).lab
    with services.log().reading() as log:
        lines = log.near(lab, limit=limit, archived=archived)
        return Page(lines, len(lines), log.count(), asked=(lab_to_hex(lab), nearest_name(lab)))
