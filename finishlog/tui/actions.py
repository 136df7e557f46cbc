"""Every action of the screens in one table: it feeds the bindings, the footer, the palette and the help.

One letter has one meaning in the whole program. Keys are remappable by the action's id.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from textual.binding import Binding, BindingType


@dataclass(frozen=True, slots=True)
class Action:
    """`call` is the action string of the screen or the app; `foot` shows it in the footer, in this order."""

    id: str
    scope: str
    key: str
    shown: str
    label: str
    call: str
    help: str
    foot: bool = True
    palette: bool = True


@dataclass(frozen=True, slots=True)
class Place:
    key: str
    name: str
    title: str


PLACES = (Place("2", "jobs", "Jobs"), Place("5", "bench", "Bench"))

ACTIONS = (
    Action("jobs.open", "jobs", "enter", "Enter", "open", "open", "open the job under the mark"),
    Action("jobs.match", "jobs", "m", "m", "match", "match", "plan an addition that matches this job"),
    Action("jobs.find", "jobs", "slash", "/", "find", "app.find", "find a job by any scrap", palette=False),
    Action("job.match", "job", "m", "m", "match", "match", "plan an addition that matches this job"),
    Action("job.next", "job", "right", "Left/Right", "other part", "part(1)", "went in, done, looked, care"),
    Action("job.before", "job", "left", "Left", "part before", "part(-1)", "the part before", foot=False,
           palette=False),
    Action("match.edit", "match", "e", "e", "edit", "edit", "back to the measures, as they were typed"),
    Action("match.save", "match", "s", "s", "save", "save", "keep the plan as a planned job"),
    Action("match.loads", "match", "enter", "Enter", "more", "whole", "on through the plan"),
    Action("measure.next", "measure", "tab", "Tab", "next", "next_field", "the next field",
           palette=False),
    Action("measure.plan", "measure", "ctrl+s", "Ctrl+S", "plan it", "plan", "plan from these measures"),
    Action("bench.next", "bench", "right", "Left/Right", "another sum", "part(1)", "yards, dose or film"),
    Action("bench.before", "bench", "left", "Left", "before", "part(-1)", "the sum before", foot=False,
           palette=False),
    Action("bench.field", "bench", "tab", "Tab", "next field", "next_field", "the next field", palette=False),
    Action("failure.close", "failure", "enter", "Enter", "close", "close", "close this", palette=False),
    Action("failure.copy", "failure", "y", "y", "copy details", "copy", "copy what happened, to send it on",
           palette=False),
    Action("app.place.jobs", "app", "2", "2", "Jobs", "app.place('jobs')", "the jobs"),
    Action("app.place.bench", "app", "5", "5", "Bench", "app.place('bench')", "quantities without a job"),
    Action("app.find", "app", "slash", "/", "find", "app.find", "find a job, from anywhere"),
    Action("app.help", "app", "question_mark,f1", "?", "help", "app.help", "help; F1 also while typing"),
    Action("app.back", "app", "escape", "Esc", "back", "app.step_back", "one step towards the list of jobs",
           palette=False),
    Action("app.shade", "app", "", "", "theme: Shade", "app.dress('shade')", "light on dark"),
    Action("app.sun", "app", "", "", "theme: Full sun", "app.dress('full-sun')", "black on white, outdoors"),
    Action("app.quit", "app", "q", "q", "leave", "app.leave", "leave; waits until everything is written"),
)  # fmt: skip


def of(scope: str) -> tuple[Action, ...]:
    return tuple(action for action in ACTIONS if action.scope == scope)


def shown(action: Action, keys: Mapping[str, str]) -> str:
    """The key as it is written on the screen; `keys` are the person's own, by the action's id."""
    own = keys.get(action.id, "").partition(",")[0]
    return "+".join(part.capitalize() for part in own.split("+")) if len(own) > 1 else own or action.shown


def footer(scope: str) -> tuple[Action, ...]:
    """The verbs of a screen's footer, the most needed first."""
    return tuple(action for action in of(scope) if action.foot)


def bindings(scope: str) -> list[BindingType]:
    """The keys of a scope. None is shown by Textual's own footer: ours draws itself."""
    return [
        Binding(action.key, action.call, action.label, show=False, id=action.id)
        for action in of(scope)
        if action.key
    ]
