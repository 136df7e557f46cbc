"""What forms share: drafts, errors under their fields, doubts asked once."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import TYPE_CHECKING, Any, ClassVar

from textual import on
from textual.binding import BindingType
from textual.containers import Horizontal

from finishlog.errors import InputError, ServerAway
from finishlog.tui import actions
from finishlog.tui.forms import paint
from finishlog.tui.forms.fields import Button, Field, asks
from finishlog.tui.paint.ink import Line
from finishlog.tui.screens.frame import Frame
from finishlog.tui.widgets.canvas import Block
from finishlog.tui.widgets.entry import Entry
from finishlog.tui.widgets.pane import Pane

if TYPE_CHECKING:
    from datetime import datetime

    from textual.app import ComposeResult
    from textual.widget import Widget

BECAUSE = "because"
Part = Field | str
"""A field, or a heading for those that follow."""


class FormScreen(Frame):
    """Override `begin`, which ends in `build`, and `send`."""

    SCOPE = "form"
    AUTO_FOCUS = ""  # the hidden reason field must take no key
    BINDINGS: ClassVar[list[BindingType]] = actions.bindings("form")
    VERB: ClassVar[str] = "Log it"
    NOTE: ClassVar[str] = "Esc keeps it for later"

    def __init__(self) -> None:
        super().__init__()
        self.draft_key = ""
        self.cautions: Sequence[str] = ()
        self.resumed = False
        self._unfinished = ""
        self._checked = True
        self._word = ""
        self._doubts: Sequence[str] = ()
        self._sent = self._unkept = False
        self._built = False
        self._kept: dict[str, str] = {}
        self._begun: dict[str, str] = {}
        self._fields: list[Field] = []

    @property
    def name_of_it(self) -> str:
        """The title at the left."""
        return "Form"

    @property
    def fact(self) -> str:
        """The title's fact at the right; empty if none."""
        return ""

    @property
    def note(self) -> str:
        """The note beside the button."""
        return self.NOTE

    def begin(self) -> None:
        """Called on mount: get what is offered, then `build`."""
        raise NotImplementedError

    def send(self, texts: dict[str, str], because: str | None) -> None:
        """Write it with `keep`, so that `refused` gets the desks' errors."""
        raise NotImplementedError

    def understood(self) -> Mapping[str, str]:
        """Echoes that depend on several fields, by key."""
        return {}

    @property
    def writing(self) -> bool:
        """Whether it was sent and is neither saved nor refused yet."""
        return self._sent

    # building

    def compose_body(self) -> ComposeResult:
        yield Block(id="title")
        yield Block(id="doubts")
        because = asks(BECAUSE, "Because", hint="why it is right")
        because.display = False
        yield because
        with Horizontal():
            yield Pane(id="form", can_focus=False)
            with Pane(id="side", can_focus=False):
                yield Block(id="beside")

    def on_mount(self) -> None:
        self.query_one("#title", Block).show(self._paint_title)
        self.query_one("#doubts", Block).show(self._paint_doubts)
        self.query_one("#beside", Block).show(self._paint_side)
        self.begin()

    async def build(self, parts: Sequence[Part], draft: Mapping[str, str] | None) -> None:
        """Show the fields; a draft replaces the offered values."""
        pane = self.query_one("#form", Pane)
        widgets: list[Widget] = [paint.heading_of(one) if isinstance(one, str) else one for one in parts]
        ends = [Block(id="cautions"), Block(id="keeps"),
                Horizontal(Button(self.VERB), Block(id="note"), id="verb")]  # fmt: skip
        self.show_side(any(texts for _, texts in self.beside()))
        with self.app.batch_update():  # laid out once, when all of it is there
            await pane.mount_all(widgets)
            await self.end_with(pane, ends)
        self._fields = [one for one in widgets if isinstance(one, Field)]
        for field in self.query(Field):
            field.entry.select_on_focus = True
        if draft:
            self.resumed, self._checked = True, False
            self._unfinished = self._since(getattr(draft, "since", None))
            for field in self.fields:
                field.fill(draft.get(field.asked.key, ""))
        self._kept = self._begun = self.values
        self.query_one("#cautions", Block).show(self._paint_cautions)
        self.query_one("#keeps", Block).show(self._paint_told)
        self.query_one("#note", Block).show(self._paint_note)
        self.repaint()
        self._echo_all()
        if self.fields:
            self.fields[0].entry.focus()
        self._built = True
        self.query_one("#keeps", Block).repaint()

    def show_side(self, yes: bool) -> None:
        """Show the pane beside the fields, on a wide screen. Its own class: a screen's restyles all that is on it."""
        self.query_one("#side").set_class(yes, "-sided")

    async def end_with(self, pane: Pane, ends: Sequence[Widget]) -> None:
        """Mount what follows the fields, in the same scrolling pane."""
        await pane.mount_all(ends)

    def _since(self, since: datetime | None) -> str:
        services = self.house.services
        return paint.unfinished(since, services.clock(), services.zone)

    @property
    def unfinished(self) -> str:
        """Note on a restored form; empty for a new one."""
        return self._unfinished

    @property
    def stands(self) -> bool:
        """Whether it is built and not being written."""
        return self._built and not self._sent

    @property
    def fields(self) -> list[Field]:
        """In order of Tab, without the reason; empty until built."""
        return self._fields

    @property
    def values(self) -> dict[str, str]:
        """Texts as typed, by field key."""
        return {field.asked.key: field.value for field in self.fields}

    @property
    def resting(self) -> bool:
        because = self.query_one(f"#field-{BECAUSE}", Field)
        return because.resting and all(field.resting for field in self.fields)

    # painting

    def _paint_title(self, width: int) -> list[Line]:
        return self.head(self.name_of_it, self.fact, width)

    def _paint_doubts(self, width: int) -> list[Line]:
        return [line for one in self._doubts for line in paint.said("? ", one, width, "warn")]

    def _paint_cautions(self, width: int) -> list[Line]:
        if self.wide:
            return []
        found = [line for one in self.cautions for line in paint.said("· ", one, width, "muted")]
        return [Line(), *found] if found else []

    def kept(self) -> Sequence[tuple[str, str]]:
        """Labels and values the button saves, if listed above it."""
        return ()

    def _paint_told(self, width: int) -> list[Line]:
        found = paint.told(self.kept(), width) if self._built else []
        return [Line(), *found] if found and not self.low else found

    def beside(self) -> Sequence[tuple[str, Sequence[str]]]:
        """Headings and sentences beside the form on a wide screen."""
        return (("Mind", self.cautions),)

    def _paint_side(self, width: int) -> list[Line]:
        return paint.beside(self.beside(), width) if self.wide else []

    def _paint_note(self, width: int) -> list[Line]:
        line = Line().put(self._word, "bad") if self._word else Line().muted(self.note)
        return [line.crop(width)]

    # typing

    @on(Field.Changed)
    def _changed(self) -> None:
        self._tell("")
        self._echo_all()
        self._keep_draft()

    def _echo_all(self) -> None:
        found = self.understood()
        for field in self.fields:
            field.add(found.get(field.asked.key, ""))
        self.query_one("#keeps", Block).repaint()

    def _keep_draft(self) -> None:
        """Save typed text to the log at once, to survive a crash. The newest wins."""
        texts = self.values
        if not self.draft_key or self._sent or texts == self._kept:
            return
        self._kept = texts
        self.put(self._write_draft, self._draft_kept, self._draft_failed)

    def _draft_kept(self, _: None) -> None:
        if self._unkept:
            self._unkept = False
            self._tell("")

    def _draft_failed(self, error: Exception) -> None:
        """Said once, in a dialog; from then on the form says that only it has the text."""
        if not self._unkept:
            self._unkept = True
            self.unread(error)
        self._tell("what you type is not saved")

    def back(self) -> None:
        """What was typed while the server was away is kept now."""
        super().back()
        if self._unkept:
            self._kept = {}
            self._keep_draft()

    def _write_draft(self) -> None:
        if not self._sent:
            self.desks.keep_draft(self.draft_key, self._kept)

    # keys

    @on(Field.Next)
    def action_next_field(self) -> None:
        self._checked = True
        self.focus_next()

    def action_choices(self) -> None:
        if isinstance(self.focused, Entry):
            self.focused.action_down()

    def step_back(self) -> bool:
        """Close open choices first; stay while writing; keep typed text as a draft."""
        if self._sent:
            self.say("writing…")
            return True
        if any(field.close() for field in self.fields):
            return True
        if self._unkept and self.values != self._begun:
            self._unkept = False
            self.say("not saved: Esc again drops what you typed", 10)
            return True
        self._leave_half()
        return False

    def _leave_half(self) -> None:
        """Save changed text as a draft, through the screen underneath."""
        under = self.app.screen_stack[-2]
        if self.draft_key and self.fields and isinstance(under, Frame) and self.values != self._begun:
            self._kept = self.values
            under.put(self._write_draft, lambda _: self.house.changed())
            under.say("kept unfinished")

    @on(Button.Pressed)
    def action_keep(self) -> None:
        if self._sent or not self.fields:
            return
        if self.unsure is not None:
            self.say("whether it was written is looked up once the server is back", 6)
            return
        if not self._checked:
            self._look_first()
            return
        for field in self.fields:
            field.settle()
        wrong = [field for field in self.fields if field.judge() is not None]
        if wrong:
            self._to_mend(wrong)
            return
        self._sent = True
        self._tell("")
        self.send(self.values, self.query_one(f"#field-{BECAUSE}", Field).value.strip() or None)

    def _look_first(self) -> None:
        """Have a restored form checked before it logs: its times may be from another day."""
        self._checked = True
        self._tell("unfinished: check it first")
        self.fields[0].entry.focus()

    def outcome(self, written: bool | None) -> None:
        """Close if it was written after all."""
        super().outcome(written)
        if written:
            self.leave()
            self.house.changed()
        self._tell("" if written else "not written" if written is False else "look whether it was written")

    def keep(self, call: Callable[[], Any], done: Callable[[Any], object]) -> None:
        """Write in a thread; a refusal shows under its field."""
        self.put(call, done, self.refused)

    def refused(self, error: Exception) -> None:
        """Blame the fields the error names, ask a reason for its doubts, or show the failure."""
        self._sent = False
        self.repaint()  # clear “writing…”
        self.house.ahead.drop()  # typed for the screen that was to follow
        wrongs = getattr(error, "wrongs", ())
        by_key = {field.asked.key: field for field in self.fields}
        blamed = []
        for wrong in wrongs:
            if wrong.key in by_key:
                by_key[wrong.key].blame(InputError(wrong.what, example=wrong.example))
                blamed.append(by_key[wrong.key])
        if not blamed and isinstance(error, InputError) and error.where in by_key:
            by_key[error.where].blame(error)
            blamed = [by_key[error.where]]
        if blamed:
            self._to_mend(blamed)
        elif doubts := getattr(error, "doubts", ()):
            self._ask_why(doubts)
        else:
            self._tell("not written" if isinstance(error, ServerAway) else "")
            self.unwritten(error)

    def finished(self, sentence: str) -> None:
        """Close after the write, and report the desk's sentence."""
        self.leave()
        self.house.done(sentence)
        self.house.changed()

    def leave(self) -> None:
        """Close this form, and anything opened over it meanwhile."""
        while self in self.app.screen_stack and len(self.app.screen_stack) > 1:
            self.app.pop_screen()

    def _ask_why(self, doubts: Sequence[str]) -> None:
        self._doubts = doubts
        self.query_one("#doubts", Block).repaint()
        because = self.query_one(f"#field-{BECAUSE}", Field)
        because.display = True
        because.entry.focus()

    def _to_mend(self, wrong: Sequence[Field]) -> None:
        many = "1 field" if len(wrong) == 1 else f"{len(wrong)} fields"
        self._tell(f"{many} to fix")
        self.say(f"{many} to fix")
        wrong[0].entry.focus()
        self.call_after_refresh(wrong[0].scroll_visible, animate=False)

    def _tell(self, word: str) -> None:
        if word == self._word:
            return
        self._word = word
        for note in self.query("#note"):
            note.refresh()
