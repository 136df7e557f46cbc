"""Which actions need what (`finishlog.roles`): who may not has no verb for them, and a key says who may."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache

from finishlog import roles
from finishlog.tui import actions

NEEDS: Mapping[str, str] = {
    **dict.fromkeys(("jobs.match", "jobs.new", "job.match", "job.change", "job.copy", "job.area"), "plan"),
    **dict.fromkeys(("job.note", "color.keep", "color.recipes", "recipes.open", "recipes.undo"), "plan"),
    **dict.fromkeys(("match.save", "match.edit"), "plan"),
    **dict.fromkeys(("job.owner", "job.merge", "care.paper", "care.back", "weeks.keep"), "customers"),
    **dict.fromkeys(("job.archive", "job.unarchive"), "archive"),
    **dict.fromkeys(("shelf.new", "shelf.sheet"), "buy"),
    **dict.fromkeys(("jobs.import", "app.bring_in", "app.backup"), "whole"),
}
"""By action id; whoever works here may do the others."""


AT_MACHINE = frozenset((
    "jobs.import", "app.bring_in", "app.backup", "photos.add", "jobs.photo",
    "job.paper", "match.paper", "care.paper", "shelf.paper",
))  # fmt: skip
"""What reads or writes files of the machine itself, which are nobody's in a browser."""
NOT_FROM_AFAR = "only at the machine itself"


@cache
def hidden(role: str, afar: bool = False) -> frozenset[str]:
    """The actions that the role may not do; `afar`: in a browser."""
    found = frozenset(action for action, act in NEEDS.items() if not roles.may(role, act))
    return found | AT_MACHINE if afar else found


def refused(role: str, scope: str, call: str, afar: bool = False) -> str:
    """What the bottom line says of an action that the role may not do; "" if it may."""
    found = hidden(role, afar) & {
        one.id for one in actions.ACTIONS if one.call == call and one.scope in (scope, "app")
    }
    if afar and found & AT_MACHINE:
        return NOT_FROM_AFAR
    return "".join(roles.brief(NEEDS[action]) for action in sorted(found)[:1])
