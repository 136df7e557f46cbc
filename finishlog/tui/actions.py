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
    Action("jobs.new", "jobs", "n", "n", "new job", "new", "a new job: who, where, which areas"),
    Action("jobs.find", "jobs", "slash", "/", "find", "app.find", "find a job by any scrap", palette=False),
    Action("job.log", "job", "l", "l", "log", "log", "log what was done: a load, a rinse, a coat…"),
    Action("job.day", "job", "d", "d", "day card", "day", "a whole pour on one screen, as on the day card",
           foot=False),
    Action("job.edit", "job", "e", "e", "edit", "edit",
           "correct the entry under the mark of Was done; the old one stays readable"),
    Action("job.match", "job", "m", "m", "match", "match", "plan an addition that matches this job"),
    Action("job.paper", "job", "w", "w", "paper", "paper", "write a sheet of this job as PDF", foot=False),
    Action("job.undo", "job", "u", "u", "undo", "undo", "take back what was logged last on this job",
           foot=False),
    Action("job.next", "job", "right", "Left/Right", "other part", "part(1)", "went in, done, looked, care"),
    Action("job.before", "job", "left", "Left", "part before", "part(-1)", "the part before", foot=False,
           palette=False),
    Action("match.edit", "match", "e", "e", "edit", "edit", "back to the measures, as they were typed"),
    Action("match.save", "match", "s", "s", "save", "save", "keep the plan as a planned job"),
    Action("match.paper", "match", "w", "w", "paper", "paper",
           "write the plan as PDF: match sheet, batch sheet, day card"),
    Action("match.loads", "match", "enter", "Enter", "more", "whole", "on through the plan"),
    Action("measure.next", "measure", "tab", "Tab", "next", "next_field", "the next field",
           palette=False),
    Action("measure.plan", "measure", "ctrl+s", "Ctrl+S", "plan it", "plan", "plan from these measures"),
    Action("kinds.open", "kinds", "", "Enter", "open", "open", "open the form of the marked kind",
           palette=False),
    Action("form.next", "form", "tab", "Tab", "next", "next_field", "the next field; Shift+Tab the one before",
           palette=False),
    Action("form.choices", "form", "", "Down", "choices", "choices", "what may stand in this field",
           palette=False),
    Action("form.log", "form", "ctrl+s", "Ctrl+S", "log it", "keep", "log it, from any field"),
    Action("day.next", "day", "tab", "Tab", "next", "next_field", "the next field; Shift+Tab the one before",
           palette=False),
    Action("day.load", "day", "f2", "F2", "another load", "load", "room for another load"),
    Action("day.log", "day", "ctrl+s", "Ctrl+S", "log it", "keep", "log the whole day, from any field"),
    Action("new.next", "new", "tab", "Tab", "next", "next_field", "the next field; Shift+Tab the one before",
           palette=False),
    Action("new.keep", "new", "ctrl+s", "Ctrl+S", "keep it", "keep", "keep it, from any field"),
    Action("paper.next", "paper", "tab", "Tab", "next", "next_field", "the next field", palette=False),
    Action("paper.choices", "paper", "", "Down", "choices", "choices", "the sheets there are", palette=False),
    Action("paper.write", "paper", "ctrl+s", "Ctrl+S", "write it", "keep", "write the file"),
    Action("settings.next", "settings", "tab", "Tab", "next", "next_field", "the next field", palette=False),
    Action("settings.page", "settings", "f4", "F4", "next page", "page(1)", "the next group"),
    Action("settings.before", "settings", "f3", "F3", "page before", "page(-1)", "the group before",
           foot=False),
    Action("settings.keep", "settings", "ctrl+s", "Ctrl+S", "keep it", "keep", "keep this page"),
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
    Action("app.settings", "app", "", "", "settings", "app.settings", "the shop's prices, ages and limits"),
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
