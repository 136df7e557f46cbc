"""One table of every screen action, for bindings, footer, palette and help.

A letter means the same on every screen. Keys are remapped by action id.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from textual.binding import Binding, BindingType


@dataclass(frozen=True, slots=True)
class Action:
    """`call` is the action string of the screen or the app; `foot` shows it in the footer, in this order."""

    id: str
    key: str
    shown: str
    label: str
    call: str
    help: str
    foot: bool = True
    palette: bool = True
    typing: bool = False
    """Shown in the footer only while a text box has the focus."""

    @property
    def scope(self) -> str:
        """Its screen, or `app`: the start of its id."""
        return self.id.partition(".")[0]


@dataclass(frozen=True, slots=True)
class Place:
    """A top-level page: its key, the mode Textual keeps it in, and its title in the top bar."""

    key: str
    name: str
    title: str


PLACES = (Place("1", "today", "Today"), Place("2", "jobs", "Jobs"), Place("3", "care", "Care"),
          Place("4", "shelf", "Shelf"), Place("5", "bench", "Bench"))  # fmt: skip

ACTIONS = (
    Action("today.open", "enter", "Enter", "log it", "open", "log the marked line; on a pour, open its job"),
    Action("today.log", "l", "l", "log", "log", "log something else on this line's job"),
    Action("today.undo", "u", "u", "undo", "undo", "undo your last entry from here"),
    Action("today.again", "z", "z", "bring back", "again", "bring back your last undone entry from here", foot=False),
    Action("today.off", "o", "o", "put off", "put_off", "put a line off until a day or an hour"),
    Action("today.rinse", "r", "r", "rinse", "rinse", "the rinse helper, on a rinse line", foot=False),
    Action("today.not", "x", "x", "not for this job", "not_for", "take a line off this job's list", foot=False),
    Action("today.photo", "p", "p", "photo", "photo", "photos of this line's job", foot=False),
    Action("today.job", "", "", "open the job", "job", "the job of the marked line", foot=False),
    Action("sheet.log", "enter", "Enter", "log it", "at_once", "log it as shown", palette=False),
    Action("sheet.next", "tab", "Tab", "next field", "next_field", "the next field", palette=False),
    Action("sheet.keep", "ctrl+s", "Ctrl+S", "log it", "keep", "log it, from any field", palette=False, typing=True),
    Action("jobs.open", "enter", "Enter", "open", "open", "open the marked job"),
    Action("jobs.match", "m", "m", "match", "match", "plan an addition that matches this job"),
    Action("jobs.new", "n", "n", "new job", "new", "start a new job: who, where, which areas"),
    Action("jobs.archived", "", "", "archived jobs", "archived", "show archived jobs too", foot=False),
    Action("jobs.photo", "", "", "find by a photo", "photo", "find the jobs closest to a color in a photo",
           foot=False),
    Action("jobs.find", "slash", "/", "find", "app.find", "find a job by any scrap", palette=False),
    Action("jobs.list", "", "Down", "to the list", "list", "go from the box to the list", palette=False, typing=True),
    Action("jobs.import", "i", "i", "bring in", "app.bring_in",
           "bring in a paper log: a spreadsheet or a text file", foot=False, palette=False),
    Action("import_file.open", "enter", "Enter", "open", "open", "open the marked sheet or folder"),
    Action("import_file.next", "tab", "Tab", "type a path", "next_field",
           "type a path; Tab again goes to the list", palette=False),
    Action("import_file.up", "left", "Left", "folder above", "up", "up one folder"),
    Action("import_file.undo", "u", "u", "undo", "undo", "undo the last import", foot=False),
    Action("import_columns.open", "enter", "Enter", "change", "open",
           "set the marked column: a field, a note, or left out"),
    Action("import_columns.go", "ctrl+s,right", "Ctrl+S", "preview", "go", "preview the import; Right works too"),
    Action("import_pick.open", "", "Enter", "choose", "open", "choose the marked one", palette=False),
    Action("import_preview.save", "s", "s", "save", "save", "import all of it at once"),
    Action("import_preview.columns", "left", "Left", "columns", "back", "back to the columns"),
    Action("job.log", "l", "l", "log", "log", "log what was done: a load, a rinse, a coat…"),
    Action("job.day", "d", "d", "day card", "day", "a whole pour on one screen, as on the day card", foot=False),
    Action("job.edit", "e", "e", "edit", "edit",
           "correct the entry marked in Was done; the old one stays readable",
           foot=False),
    Action("job.match", "m", "m", "match", "match", "plan an addition that matches this job"),
    Action("job.paper", "w", "w", "paper", "paper", "write a sheet of this job as PDF", foot=False),
    Action("job.undo", "u", "u", "undo", "undo", "undo the last entry on this job", foot=False),
    Action("job.again", "z", "z", "bring back", "again", "bring back the last undone entry on this job", foot=False),
    Action("job.move", "t", "t", "to another job", "move",
           "move the entry marked in Was done to the right job", foot=False),
    Action("move.open", "enter", "Enter", "move it there", "open", "move the entry to the marked job", palette=False),
    Action("move.list", "", "Down", "to the list", "list", "go from the box to the list", palette=False, typing=True),
    Action("job.rinse", "r", "r", "rinse", "rinse", "rinse day: how much release is left, and how it will look",
           foot=False),
    Action("job.color", "c", "c", "color", "color", "its color curve, and where it is headed"),
    Action("job.photo", "p", "p", "photo", "photo", "photos of this job: add them, read colors off them", foot=False),
    Action("job.change", "", "", "change order", "small('change')",
           "the recipe's next version, with its reason", foot=False),
    Action("job.copy", "", "", "copy a recipe", "small('copy')", "give this job the recipe of another", foot=False),
    Action("job.area", "", "", "another area", "small('area')", "add an area to this job", foot=False),
    Action("job.bury", "", "", "buried item", "small('bury')", "what lies under this site", foot=False),
    Action("job.owner", "", "", "new owner", "small('owner')", "the site changed hands", foot=False),
    Action("job.merge", "", "", "merge customers", "small('merge')",
           "two entries of one customer become one", foot=False),
    Action("job.note", "", "", "the job's note", "small('note')", "write or change the note", foot=False),
    Action("job.archive", "", "", "archive", "archive", "take it off the list; nothing is lost", foot=False),
    Action("job.unarchive", "", "", "bring back", "unarchive", "put an archived job back on the list", foot=False),
    Action("job.next", "right", "Left/Right", "part", "part(1)", "went in, done, looked, care"),
    Action("job.before", "left", "Left", "part before", "part(-1)", "the part before", foot=False, palette=False),
    Action("color.log", "l", "l", "log", "log", "log a reading"),
    Action("color.keep", "s", "s", "save", "keep", "save this forecast with the job", foot=False),
    Action("color.next", "right", "Left/Right", "day", "day(1)", "what is expected on a day"),
    Action("color.before", "left", "Left", "day before", "day(-1)", "the day before", foot=False, palette=False),
    Action("color.area", "tab", "Tab", "area", "track(1)", "another area or sample of the job"),
    Action("color.recipes", "", "", "recipes", "recipes", "recipes that are one finish: join them, part them",
           foot=False),
    Action("recipes.open", "enter", "Enter", "join", "open", "count the marked recipes as one, for the color"),
    Action("recipes.undo", "u", "u", "undo", "undo", "take back what joined the marked recipes"),
    Action("color.good", "enter", "Enter", "checks", "good", "how good past forecasts were"),
    Action("match.edit", "e", "e", "edit", "edit", "back to the measures you typed"),
    Action("match.save", "s", "s", "save", "save", "save the plan as a planned job"),
    Action("match.paper", "w", "w", "paper", "paper", "write the plan as PDF: match sheet, batch sheet, day card"),
    Action("match.loads", "enter", "Enter", "more", "whole", "read on in the plan"),
    Action("measure.next", "tab", "Tab", "next", "next_field", "the next field", palette=False),
    Action("measure.plan", "ctrl+s", "Ctrl+S", "plan it", "plan", "plan from these measures"),
    Action("kinds.open", "", "Enter", "open", "open", "open the form of the marked kind", palette=False),
    Action("form.next", "tab", "Tab", "next", "next_field", "the next field; Shift+Tab the one before",
           palette=False),
    Action("form.choices", "", "Down", "choices", "choices", "the choices for this field", palette=False),
    Action("form.theirs", "ctrl+t", "Ctrl+T", "take theirs", "theirs",
           "changed by two: take what the other says", foot=False, palette=False),
    Action("form.mine", "ctrl+y", "Ctrl+Y", "keep mine", "mine", "changed by two: keep what you typed", foot=False,
           palette=False),
    Action("form.log", "ctrl+s", "Ctrl+S", "log it", "keep", "log it, from any field"),
    Action("day.next", "tab", "Tab", "next", "next_field", "the next field; Shift+Tab the one before", palette=False),
    Action("day.load", "f2", "F2", "another load", "load", "add a load"),
    Action("day.log", "ctrl+s", "Ctrl+S", "log it", "keep", "log the whole day, from any field"),
    Action("new.next", "tab", "Tab", "next", "next_field", "the next field; Shift+Tab the one before", palette=False),
    Action("new.keep", "ctrl+s", "Ctrl+S", "save it", "keep", "save it, from any field"),
    Action("small.next", "tab", "Tab", "next", "next_field", "the next field; Shift+Tab the one before",
           palette=False),
    Action("small.choices", "", "Down", "choices", "choices", "the choices for this field", palette=False),
    Action("small.theirs", "ctrl+t", "Ctrl+T", "take theirs", "theirs",
           "changed by two: take what the other says", foot=False, palette=False),
    Action("small.mine", "ctrl+y", "Ctrl+Y", "keep mine", "mine", "changed by two: keep what you typed", foot=False,
           palette=False),
    Action("small.keep", "ctrl+s", "Ctrl+S", "save it", "keep", "save it, from any field"),
    Action("paper.next", "tab", "Tab", "next", "next_field", "the next field", palette=False),
    Action("paper.choices", "", "Down", "choices", "choices", "choose a sheet", palette=False),
    Action("paper.write", "ctrl+s", "Ctrl+S", "write it", "keep", "write the file"),
    Action("settings.next", "tab", "Tab", "next", "next_field", "the next field", palette=False),
    Action("settings.page", "f4", "F4", "next page", "page(1)", "the next group"),
    Action("settings.before", "f3", "F3", "page before", "page(-1)", "the group before", foot=False),
    Action("settings.theirs", "ctrl+t", "Ctrl+T", "take theirs", "theirs",
           "changed by two: take what the other says", foot=False, palette=False),
    Action("settings.mine", "ctrl+y", "Ctrl+Y", "keep mine", "mine", "changed by two: keep what you typed", foot=False,
           palette=False),
    Action("settings.keep", "ctrl+s", "Ctrl+S", "save it", "keep", "save this page"),
    Action("bench.next", "right", "Left/Right", "next calculator", "part(1)", "yards, dose, film or blend"),
    Action("bench.before", "left", "Left", "before", "part(-1)", "the calculator before", foot=False, palette=False),
    Action("bench.field", "tab", "Tab", "next field", "next_field", "the next field", palette=False),
    Action("rinse.log", "l", "l", "log", "log", "log the rinse"),
    Action("rinse.photo", "p", "p", "photo", "photo", "read the three spots off a photo with a color card"),
    Action("rinse.edit", "e", "e", "edit", "edit", "type the colors of the spots"),
    Action("rinse.save", "s", "s", "save", "save", "save this advice with the job"),
    Action("photos.open", "enter", "Enter", "open", "open", "open the marked photo"),
    Action("photos.add", "a", "a", "add photos", "add", "add files or a whole folder"),
    Action("photos.view", "v", "v", "view", "view", "show the marked photo full screen"),
    Action("view.next", "right", "Left/Right", "another", "turn(1)", "the next photo by age"),
    Action("view.before", "left", "Left", "before", "turn(-1)", "the photo before", foot=False, palette=False),
    Action("add.next", "tab", "Tab", "next", "next_field", "the next field; Shift+Tab the one before", palette=False),
    Action("add.choices", "", "Down", "choices", "choices", "the choices for this field", palette=False),
    Action("add.keep", "ctrl+s", "Ctrl+S", "add them", "keep", "add them, from any field"),
    Action("add.choose", "f2", "F2", "choose", "choose", "choose from a list of the folder", foot=False),
    Action("choose.take", "enter", "Enter", "take", "take", "take the marked photos; open a folder"),
    Action("choose.mark", "space", "Space", "mark", "mark", "mark the photo and go to the next"),
    Action("choose.all", "f2", "F2", "all", "mark_all", "mark all photos in the folder, or none"),
    Action("choose.above", "left,backspace", "Left", "above", "above", "up one folder"),
    Action("photo.next", "tab", "Tab", "next box", "next(1)",
           "the next box or corner; Shift+Tab the one before", palette=False),
    Action("photo.before", "shift+tab", "Shift+Tab", "box before", "next(-1)", "the box or corner before",
           foot=False, palette=False),
    Action("photo.move", "", "Arrows", "move", "move('right')",
           "move it by a cell; Shift resizes the box", palette=False),
    Action("photo.edit", "e", "e", "edit", "edit", "type its place in pixels"),
    Action("photo.save", "s", "s", "save", "save", "save the boxes as readings of this job"),
    Action("photo.take", "space", "Space", "in or out", "take", "the box is in this picture, or not", foot=False),
    Action("photo.gray", "g", "g", "gray card", "gray", "box a gray card; or use the 24-patch card again",
           foot=False),
    Action("photo.chip", "h", "h", "chip", "chip", "concrete of known color beside the card, by its numbers",
           foot=False),
    Action("photo.find", "", "", "jobs like this", "like", "the jobs nearest in color", foot=False),
    Action("shot.next", "tab", "Tab", "corners", "next(1)", "the box, then the card's corners", palette=False),
    Action("shot.before", "shift+tab", "Shift+Tab", "before", "next(-1)", "the one before",
           foot=False, palette=False),
    Action("shot.move", "", "Arrows", "move", "move('right')",
           "move it by a cell; Shift resizes the box", palette=False),
    Action("shot.edit", "e", "e", "edit", "edit", "type its place in pixels"),
    Action("shot.find", "enter", "Enter", "find", "like", "the jobs nearest in color"),
    Action("shot.take", "space", "Space", "look for the card", "take", "on a corner: look for the card again",
           foot=False, palette=False),
    Action("shot.gray", "g", "g", "gray card", "gray", "box a gray card; or use the 24-patch card again", foot=False),
    Action("care.open", "enter", "Enter", "open", "open", "set its state, day and note"),
    Action("care.next", "space", "Space", "next state", "next", "due, contacted, booked"),
    Action("care.book", "b", "b", "book", "book", "book a day; the week plan offers one"),
    Action("care.weeks", "k", "k", "weeks", "weeks", "spread due work over the weeks", foot=False),
    Action("care.paper", "w", "w", "paper", "paper", "calendar, table, letters, e-mail drafts"),
    Action("care.back", "f", "f", "came back", "came_back", "the last reminder bounced, or was refused", foot=False),
    Action("care.undo", "u", "u", "undo", "undo", "undo your last change here", foot=False),
    Action("care.again", "z", "z", "bring back", "again", "bring back your last undone entry from here", foot=False),
    Action("care.month", "right", "Left/Right", "another month", "month(1)", "the next month", foot=False),
    Action("care.before", "left", "Left", "month before", "month(-1)", "the month before", foot=False, palette=False),
    Action("care.job", "", "", "open the job", "job", "the job of the marked line", foot=False),
    Action("weeks.keep", "s", "s", "save", "keep", "save the plan's days with the jobs"),
    Action("shelf.open", "enter", "Enter", "count", "open", "count the marked lot"),
    Action("shelf.log", "l", "l", "log", "log", "reclaimed, spoiled, opened, thrown away"),
    Action("shelf.new", "i", "i", "bring in", "new", "add a purchase"),
    Action("shelf.sheet", "e", "e", "edit", "sheet", "limits from a sealer's own sheet", foot=False),
    Action("shelf.paper", "w", "w", "paper", "paper", "a label for a bucket of reclaimed powder"),
    Action("shelf.undo", "u", "u", "undo", "undo", "undo your last change here", foot=False),
    Action("shelf.again", "z", "z", "bring back", "again", "bring back your last undone entry from here", foot=False),
    Action("failure.close", "enter", "Enter", "close", "close", "close this", palette=False),
    Action("failure.copy", "y", "y", "copy details", "copy", "copy the details to send on", palette=False),
    Action("app.place.today", "1", "1", "Today", "app.place('today')", "what's due"),
    Action("app.place.jobs", "2", "2", "Jobs", "app.place('jobs')", "the jobs"),
    Action("app.place.care", "3", "3", "Care", "app.place('care')", "reseals: due, contacted, booked"),
    Action("app.place.shelf", "4", "4", "Shelf", "app.place('shelf')", "what's left, lot by lot"),
    Action("app.place.bench", "5", "5", "Bench", "app.place('bench')", "quantities without a job"),
    Action("app.find", "slash", "/", "find", "app.find", "find a job, from anywhere"),
    Action("app.help", "question_mark,f1", "?", "help", "app.help", "help; F1 also while typing"),
    Action("app.knows", "", "", "what the plan knows", "app.page('knows')",
           "what a plan knows, what it asks, what it cannot know"),
    Action("app.commands", "", "", "terminal commands", "app.page('commands')",
           "the same work from a terminal, an example each"),
    Action("app.server", "", "", "when one machine is not enough", "app.page('server')",
           "move the log to a PostgreSQL server, for several machines at once"),
    Action("app.phone", "", "", "on the phone", "app.page('phone')",
           "let the crew's phones in; the calendar that follows"),
    Action("help.knows", "enter", "Enter", "what the plan knows", "app.page('knows')",
           "what a plan knows, what it asks, what it cannot know", palette=False),
    Action("app.back", "escape", "Esc", "back", "app.step_back", "one step toward the first screen", palette=False),
    Action("app.bring_in", "", "", "bring in a paper log", "app.bring_in",
           "import a spreadsheet: CSV, text or Excel, column by column"),
    Action("app.settings", "", "", "settings", "app.settings", "the shop's prices, ages and limits"),
    Action("app.backup", "", "", "back up the log", "app.backup", "a checked copy of the log, in the current folder"),
    Action("app.shade", "", "", "theme: Shade", "app.dress('shade')", "light on dark"),
    Action("app.sun", "", "", "theme: Full sun", "app.dress('full-sun')", "black on white, outdoors"),
    Action("app.quit", "q", "q", "leave", "app.leave", "quit; waits until everything is saved"),
)  # fmt: skip

WORDS: Mapping[str, str] = {
    "today.open": "done finish record enter", "today.undo": "take back revert mistake wrong remove delete",
    "today.off": "later snooze postpone delay reschedule rain tomorrow", "today.rinse": "wash pressure washer",
    "today.not": "skip dismiss remove hide", "today.photo": "picture camera image color card",
    "today.log": "record entry note", "today.job": "customer",
    "jobs.match": "addition same color quote plan order estimate", "jobs.new": "customer client project add create",
    "jobs.photo": "picture camera image color card search", "jobs.archived": "old hidden closed deleted",
    "jobs.open": "customer address phone",
    "job.log": "record entry load truck pour coat", "job.day": "pour day paper card sheet crew",
    "job.edit": "correct change fix mistake wrong", "job.match": "addition same color quote plan order estimate",
    "job.paper": "print PDF sheet customer history document", "job.undo": "take back revert mistake wrong delete",
    "job.rinse": "wash pressure washer", "job.color": "curve reading fade aging forecast",
    "color.recipes": "same finish pool join merge recipe",
    "job.photo": "picture camera image color card chart patches", "job.change": "recipe edit version",
    "job.copy": "duplicate reuse", "job.area": "add section border band stairs",
    "job.bury": "pipe gas line utility wire",
    "job.owner": "customer address sold moved house name", "job.merge": "duplicate customer double same",
    "job.next": "tab page section",
    "job.note": "comment remark", "job.archive": "hide close delete remove", "job.unarchive": "restore reopen",
    "today.again": "redo restore put back", "job.again": "redo restore put back", "care.again": "redo restore put back",
    "shelf.again": "redo restore put back", "job.move": "wrong job mistake correct entry",
    "care.back": "bounced returned address refused letter reminder",
    "photos.add": "picture camera import files", "photos.open": "color card chart patches reading",
    "rinse.log": "wash", "match.save": "keep plan job", "match.paper": "print PDF batch ticket plant day card",
    "match.edit": "size dimensions depth yards",
    "care.open": "note contacted called done declined refused asked", "care.next": "called phoned contacted reached",
    "care.book": "schedule appointment date reseal visit", "care.weeks": "schedule plan route calendar",
    "care.paper": "letters remind reminders mail e-mail email merge CSV ICS print write customers",
    "care.undo": "take back revert mistake wrong", "care.month": "calendar next", "care.job": "customer",
    "weeks.keep": "schedule plan route", "shelf.open": "inventory stock weigh amount left",
    "shelf.log": "used spoiled swept reclaimed opened", "shelf.new": "buy bought purchase delivery stock order",
    "shelf.sheet": "data sheet TDS sealer limits temperature", "shelf.paper": "print bucket sticker tag",
    "shelf.undo": "take back revert mistake wrong", "bench.next": "calculator yards dose film blend volume",
    "app.place.today": "due list crew", "app.place.jobs": "customers search list",
    "app.place.care": "reseal booked calendar office", "app.place.shelf": "inventory stock materials",
    "app.place.bench": "calculator yards dose film blend", "app.find": "search look customer address street ticket",
    "app.help": "manual keys shortcuts how", "app.knows": "limits cannot", "app.bring_in": "excel upload old log",
    "app.settings": "address phone logo prices holidays days off season preferences options setup units",
    "app.shade": "dark night", "app.sun": "light bright outdoors contrast", "app.quit": "exit close end",
    "app.backup": "backup save safe copy export", "app.commands": "terminal command line shell console",
    "app.phone": "serve web browser mobile link QR photo site people subscribe",
    "app.server": "database PostgreSQL network share second computer office truck multiple users",
}  # fmt: skip
"""Synonyms the palette searches, by action id."""


def of(scope: str) -> tuple[Action, ...]:
    """The actions of a scope in table order; empty if the scope is unknown."""
    return tuple(action for action in ACTIONS if action.scope == scope)


def shown(action: Action, keys: Mapping[str, str]) -> str:
    """The key as shown on screen; `keys` are the user's own, by action id."""
    own = keys.get(action.id, "").partition(",")[0]
    return "+".join(part.capitalize() for part in own.split("+")) if len(own) > 1 else own or action.shown


def footer(scope: str, typing: bool = False) -> tuple[Action, ...]:
    """A screen's footer verbs, most needed first; while typing, only those no letter calls."""
    verbs = (action for action in of(scope) if action.foot)
    if typing:
        return tuple(action for action in verbs if len(action.key) != 1 and action.key != "slash")
    return tuple(action for action in verbs if not action.typing)


def bindings(scope: str) -> list[BindingType]:
    """A scope's key bindings, hidden from Textual's footer: ours draws itself."""
    return [
        Binding(action.key, action.call, action.label, show=False, id=action.id)
        for action in of(scope)
        if action.key
    ]
