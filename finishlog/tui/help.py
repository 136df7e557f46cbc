"""Help: this screen's keys, then its trade words with sources, then the keys of every screen."""

from __future__ import annotations

from collections.abc import Mapping
from importlib.resources import files
from typing import TYPE_CHECKING, ClassVar

from textual.binding import BindingType

from finishlog.tui import actions
from finishlog.tui.paint.ink import Line, hanging, heading, paragraph
from finishlog.tui.screens.frame import Frame
from finishlog.tui.widgets.canvas import Block
from finishlog.tui.widgets.pane import Pane

if TYPE_CHECKING:
    from textual.app import ComposeResult

TITLES = {
    "today": "Today", "sheet": "Log it", "care": "Care", "weeks": "Week plan", "shelf": "Shelf",
    "jobs": "Jobs", "job": "One job", "match": "Match", "measure": "Measures", "bench": "Bench",
    "kinds": "What to log", "form": "One entry", "day": "Day card", "new": "New job", "paper": "Sheets",
    "settings": "Settings", "small": "Job forms", "color": "Color", "how_good": "How good we were",
    "recipes": "Recipes",
    "rinse": "Rinse day", "photos": "Photos of a job", "add": "Add photos", "photo": "One photo",
    "choose": "Choosing photos",
    "import_file": "Bring in a paper log", "import_columns": "Its columns", "import_pick": "One column",
    "import_preview": "Import preview",
    "move": "To another job", "shot": "Find by a photo", "view": "Photo, full screen", "knows": "What the plan knows",
    "commands": "Terminal commands", "server": "When one machine is not enough",
    "phone": "On the phone",
}  # fmt: skip


class HelpScreen(Frame):
    """`about` is the scope explained, `place` the one it was opened from."""

    SCOPE = "help"
    BINDINGS: ClassVar[list[BindingType]] = actions.bindings("help")

    def __init__(self, about: str, place: str) -> None:
        self.PLACE = place  # type: ignore[misc]
        super().__init__()
        self.about = about

    def compose_body(self) -> ComposeResult:
        with Pane():
            yield Block(id="text")

    def on_mount(self) -> None:
        self.query_one("#text", Block).show(self._paint)
        self.query_one(Pane).focus()

    def _paint(self, width: int) -> list[Line]:
        return paint(self.about, page(self.about), min(width, 92), self.house.keys)


def page(about: str) -> str:
    """A screen's help file: paragraphs, `# headings`, and `word: meaning` lines."""
    return files("finishlog").joinpath("data", "help", f"{about}.txt").read_text(encoding="utf-8")


def paint(about: str, text: str, width: int, keys: Mapping[str, str]) -> list[Line]:
    """The page about scope `about`; `keys` are the user's own by action id."""
    lines = [
        Line().bold(f"Help · {TITLES[about]}"),
        Line(),
    ]
    if actions.of(about):
        lines += [*heading("Keys here", width), *_keys(about, width, keys), Line()]
    lines += _text(text, width)
    lines += [Line(), *heading("Everywhere", width), *_keys("app", width, keys)]
    return lines + hanging(
        Line().put("Ctrl+P", "accent", bold=True).to(14),
        "find any action by name; the shop's settings too",
        width,
    )


def _text(text: str, width: int) -> list[Line]:
    lines: list[Line] = []
    for row in text.splitlines():
        if row.startswith("# "):
            lines += [*([Line()] if lines else []), *heading(row[2:], width)]
        elif row.partition(": ")[1] and len(row.partition(": ")[0]) < 24:
            word, _, meaning = row.partition(": ")
            lines += hanging(Line().bold(word).to(24), meaning, width)
        else:
            lines += paragraph(row, width) if row else [Line()]
    return lines


def _keys(scope: str, width: int, keys: Mapping[str, str]) -> list[Line]:
    lines = []
    for action in actions.of(scope):
        if action.shown and (action.foot or action.palette or scope == "app"):
            head = Line().put(actions.shown(action, keys), "accent", bold=True).to(14)
            lines += hanging(head, f"{action.help}", width)
    return lines
