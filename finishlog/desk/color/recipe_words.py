"""Joined recipes in words and as plain data."""

from __future__ import annotations

from collections.abc import Iterator

from finishlog.desk.color.recipes import Group, Offered, sentence
from finishlog.desk.plain_data import Json
from finishlog.desk.words import listed
from finishlog.units import count, write_date

_SHOWN = 6


def lines(found: Offered) -> Iterator[str]:
    """Each group: its finish, what is joined and by whom, what is not; last, which jobs were looked at."""
    for place, group in enumerate(found.groups, 1):
        yield f"{place}  {sentence(group)}"
        yield from (f"   {line}" for line in details(group))
    if not found.groups:
        yield "No two recipes are one finish."
    if found.newest is not None:
        yield f"Only the {found.newest} jobs logged last were looked at; all: finishlog recipes --all."


def details(group: Group) -> Iterator[str]:
    """What stands for the group, who joined what and when, what is offered."""
    first = group.families[0]
    if group.joined:
        whom = listed(list(dict.fromkeys(one.by or "nobody named" for one in group.joined)))
        days = sorted({one.on.date() for one in group.joined})
        when = write_date(days[0]) if len(days) == 1 else f"{write_date(days[0])} to {write_date(days[-1])}"
        yield f"{count(len(group.joined) + 1, 'recipe')} joined as one, that of {first.job} ({whom}, {when})."
    if group.open:
        named = list(
            dict.fromkeys(one.job if one.job != first.job else f"its {one.area}" for one in group.open)
        )
        more = len(named) - _SHOWN
        rest = [*named[:_SHOWN], f"{count(more, 'job')} more"] if more > 0 else named
        yield f"Could be joined with {first.job}: {listed(rest)}."
    if group.parted:
        yield f"Parted by hand: {count(len(group.parted), 'recipe')}; not offered again."


def as_json(group: Group) -> Json:
    """Stable keys."""
    return {
        "finish": group.said,
        "jobs": [one.job for one in group.families],
        "joined": [
            {"job": one.job, "entry": one.entry, "by": one.by, "on": one.on.date().isoformat()}
            for one in group.joined
        ],
        "offered": [one.job for one in group.open],
        "parted": len(group.parted),
    }
