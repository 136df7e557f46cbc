"""Fields: the echo shows what was understood, the error is under it.

No error shows before the field is left; typed text always stays. A blank is "unknown".
"""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, ClassVar

from textual import on
from textual.binding import BindingType
from textual.containers import Horizontal, Vertical
from textual.message import Message

from finishlog.errors import FinishlogError, InputError
from finishlog.inputs import asking
from finishlog.tui.paint import wording
from finishlog.tui.paint.glyphs import Piece
from finishlog.tui.paint.ink import Line, hanging
from finishlog.tui.paint.text import plain, wrap
from finishlog.tui.running.timers import once
from finishlog.tui.widgets.canvas import Block, Canvas
from finishlog.tui.widgets.entry import Entry, typeable

if TYPE_CHECKING:
    from textual import events
    from textual.app import ComposeResult
    from textual.timer import Timer

    from finishlog.tui.widgets.canvas import Painter

LABEL = 17
LONG = 24
"""Characters above which a field takes most of the width."""
ECHO_LEAST = 12
"""Least columns for an echo, which wraps."""
SHOWN = 6
"""Choices shown at a time."""
NEXT, TAKE = "next field", "take it"
"""What Enter does in a field, and with its choices open."""
TYPING = 0.15
"""Seconds after the last key before the echo is made."""


class Field(Vertical):
    """Paints what is asked. `start` is offered; `hint` stands in the echo's place while it is blank.

    `gap` is a blank row before it: fields stand in groups. The choices open by Down, fewer as one types;
    `strict`: nothing but a choice fits, so that its first letters are enough.
    """

    DEFAULT_CSS = """
    Field { height: auto; }
    Field Horizontal { height: auto; }
    Field .label { width: 19; }
    Field Entry { width: 1fr; min-width: 18; }
    Field.-long Entry { width: 3fr; }
    Field .echo { width: 1fr; padding: 0 0 0 2; }
    Field .wrong, Field .choices { display: none; }
    Field.-wrong .wrong, Field.-open .choices { display: block; }
    Field.-gap { padding: 1 0 0 0; }
    """

    class Changed(Message):
        """Typing has paused."""

    class Next(Message):
        """Enter, to the next field."""

    def __init__(
        self, asked: asking.Field, *, start: str = "", hint: str = "", gap: bool = False, strict: bool = False
    ) -> None:
        super().__init__(id="field-" + asked.key.replace(".", "-"), classes="-gap" if gap else None)
        self.asked, self.start, self.hint = asked, start, hint
        self.choices, self._strict = asked.choices, strict
        self._further = ""
        self._mark = 0
        self.entry = Entry(start)  # here before it is mounted: painters may ask for its value at any time
        self.entry.verb, self.entry.choices = NEXT, bool(asked.choices)
        self._echo = ""
        self._wrong: InputError | None = None
        self._typing: Timer | None = None
        self._touched = False

    def compose(self) -> ComposeResult:
        """Error and choices mount only when needed: most fields never need them."""
        with Horizontal():
            yield Block(classes="label")
            yield self.entry
            yield Block(classes="echo")

    def on_mount(self) -> None:
        self.query_one(".label", Block).show(self._paint_label)
        self.query_one(".echo", Block).show(self._paint_echo)
        self._understand()

    @property
    def value(self) -> str:
        """The text; an offered value left alone comes back unchanged, invisible characters included."""
        text = self.entry.value
        return self.start if text == typeable(self.start) else text

    @property
    def resting(self) -> bool:
        """Whether the last key's echo has been made."""
        return self._typing is None

    @property
    def told(self) -> str:
        """What would be saved, as understood, else as typed."""
        return self._further or self._echo or self.value.strip()

    def offer(self, choices: tuple[str, ...]) -> None:
        """Replace the choices, which depend on another field."""
        if choices != self.choices:
            self.choices, self._mark = choices, 0
            self.entry.choices = bool(choices)
            self._repaint_under()

    def renew(self, other: Field) -> None:
        """Replace echo, hint and offered value; typed text stays."""
        offered = self.value == self.start
        self.asked, self.start, self.hint = other.asked, other.start, other.hint
        self.offer(other.choices)
        if offered:
            self.fill(other.start)
        self._understand()

    def fill(self, text: str) -> None:
        """Replace the text; characters that cannot be typed are dropped."""
        self.entry.value = typeable(text)

    def settle(self) -> None:
        """Echo now, without waiting for a pause."""
        self._complete()
        if self._typing is not None:
            self._typing.stop()
            self._typing = None

    def judge(self) -> InputError | None:
        """Show the field's error, if any, now."""
        self._show(self._understand(), tell=True)
        return self._wrong

    def add(self, further: str) -> None:
        """Echo how this field and others were understood together."""
        if further != self._further:
            self._further = further
            self._echo_again()

    def blame(self, error: InputError) -> None:
        """Show an error found elsewhere under this field."""
        self._show(error, tell=True)

    def _under(self, name: str, painter: Painter) -> None:
        """Mount a block under the line when first needed."""
        if not self.query(f".{name}"):
            block = Block(classes=name)
            block.show(painter)
            self.mount(block)

    def _repaint_under(self) -> None:
        for block in self.query(".choices").results(Block):
            block.repaint()

    def _understand(self) -> InputError | None:
        text, self._echo, error = self.value.strip(), "", None
        try:
            if text:
                self._echo = self.asked.echo(text)
            elif self.asked.required:
                raise InputError(self.asked.ask)
        except InputError as raised:
            error = raised
        if self.is_mounted:
            self._echo_again()
        return error

    def _echo_again(self) -> None:
        """Repaint; relayout only if the row count changes."""
        echo = self.query_one(".echo", Block)
        echo.refresh(layout=len(echo.paint(echo.size.width)) != echo.size.height)

    def _show(self, error: InputError | None, *, tell: bool) -> None:
        if error is not None and not tell:
            return
        if error is None and self._wrong is None:
            return
        self._wrong = error
        if error is not None:
            self._under("wrong", self._paint_wrong)
        self.set_class(error is not None, "-wrong")
        for part in self.query(Block):
            part.repaint()

    @on(Entry.Changed)
    def _typed(self, event: Entry.Changed) -> None:
        event.stop()
        self.set_class(len(event.value) > LONG, "-long")
        if self._typing is not None:
            self._typing.stop()
        self._further = ""
        self._mark = 0
        self._typing = once(self, TYPING, self._rested)
        if self.is_open:
            self._repaint_under()

    def _rested(self) -> None:
        self._typing = None
        self._show(self._understand(), tell=False)
        self.post_message(self.Changed())

    @on(Entry.Submitted)
    def _entered(self, event: Entry.Submitted) -> None:
        event.stop()
        if self.is_open and self._fitting():
            self.fill(self._fitting()[self._mark])
        self.close()
        self._complete()
        self.judge()
        self.post_message(self.Next())

    @on(Entry.Down)
    def _down(self, event: Entry.Down) -> None:
        event.stop()
        if self.choices and (not self.is_open or self._fitting()):
            self._mark = min(self._mark + 1, len(self._fitting()) - 1) if self.is_open else 0
            self._open(True)
        else:
            self.screen.focus_next()

    @on(Entry.Up)
    def _up(self, event: Entry.Up) -> None:
        event.stop()
        if self.is_open and self._mark:
            self._mark -= 1
            self._open(True)
        elif not self.close():
            self.screen.focus_previous()

    # choices

    @property
    def is_open(self) -> bool:
        """Whether its choices are shown."""
        return self.has_class("-open")

    def close(self) -> bool:
        """Close the choices; False if they were not open."""
        was = self.is_open
        self._open(False)
        return was

    def _open(self, yes: bool) -> None:
        if not yes and not self.is_open:
            return
        if yes and self.choices:
            self._under("choices", self._paint_choices)
        self.set_class(yes and bool(self.choices), "-open")
        self.entry.verb = TAKE if self.is_open else NEXT
        self.screen.query("Footer").refresh()
        self._repaint_under()

    def _fitting(self) -> list[str]:
        """The choices that contain the text; all of them for a blank or an exact choice.

        Unless strict, the typed text comes last.
        """
        text = self.value.strip()
        typed = text.casefold()
        if not typed or typed in (each.casefold() for each in self.choices):
            return list(self.choices)
        found = [each for each in self.choices if typed in each.casefold()]
        return found if self._strict else [*found, text]

    def _complete(self) -> None:
        """Complete the first letters of a strict choice."""
        typed = self.value.strip().casefold()
        begun = [each for each in self.choices if each.casefold().startswith(typed)]
        if self._strict and typed and len(begun) == 1:
            self.fill(begun[0])

    def on_descendant_focus(self) -> None:
        self._touched = True
        self.query_one(".label", Block).refresh()
        self._echo_again()

    def on_descendant_blur(self) -> None:
        self.query_one(".label", Block).refresh()
        self._echo_again()
        self.close()
        self._complete()
        if self._touched and (self.value.strip() or self._wrong):
            self.judge()

    def _paint_label(self, width: int) -> list[Line]:
        here = self.entry.has_focus
        tone = "bad" if self._wrong else "text"
        bar = Piece("▌", "accent") if here else Piece("│", "rule")
        room = _indent(width) - 1
        rows = wrap(plain(self.asked.title), room)
        return [Line().facing(Line().bold(row, tone), room).gap(1).join(Line(bar)) for row in rows]

    @property
    def _indent(self) -> int:
        """Column where the text starts; a screen may widen its labels."""
        return _indent(self.query_one(".label", Block).size.width)

    def _paint_echo(self, width: int) -> list[Line]:
        if self._wrong is not None:
            return [Line()]
        if self._further or self._echo:
            return hanging(Line().muted("→ "), self._further or self._echo, max(width, ECHO_LEAST))
        hint = "" if self.value.strip() else self.hint
        if self.entry.has_focus:  # whole where one types, in one row where one reads past
            return hanging(Line(), hint, max(width, ECHO_LEAST), "muted")
        return [Line().muted(hint).crop(width)]

    def _paint_choices(self, width: int) -> list[Line]:
        found = self._fitting()
        first = max(0, min(self._mark - SHOWN // 2, len(found) - SHOWN))
        lines = []
        for at, each in enumerate(found[first : first + SHOWN], first):
            here = at == self._mark
            head = Line().gap(self._indent).put("► " if here else "  ", "accent")
            head.put(each, "accent" if here else "text", bold=here)
            lines.append(head.muted("" if each in self.choices else "  new, as typed").crop(width))
        more = len(found) - first - SHOWN
        if more > 0:
            lines.append(Line().gap(self._indent + 2).muted(f"{more} more"))
        elif not self._strict and found == list(self.choices):
            lines.append(Line().gap(self._indent + 2).muted("or type another"))
        return lines

    def _paint_wrong(self, width: int) -> list[Line]:
        if self._wrong is None:
            return []
        return hanging(Line().gap(self._indent + 1).put("! ", "bad"), said(self._wrong), width, "bad")


def asks(key: str, title: str, echo: Callable[[str], str] = asking.nothing, *, start: str = "",
         required: str = "", hint: str = "", gap: bool = False, choices: tuple[str, ...] = (),
         strict: bool = False) -> Field:  # fmt: skip
    """A field of text that stays text: `echo` says what was understood, or raises InputError.

    `required` is said of a blank; empty where a blank is fine.
    """
    asked = asking.Field(key, title, "", echo, str, choices=choices, required=bool(required), ask=required)
    return Field(asked, start=start, hint=hint, gap=gap, strict=strict)


def _indent(label: int) -> int:
    """Columns before the text, for a label of that width."""
    return LABEL + max(label - LABEL - 2, 0)


def said(error: FinishlogError) -> str:
    """The error on one line, with its example."""
    whole = " ".join(part for part in (error.title, error.cause, error.remedy) if part)
    return plain(wording.without_options(whole))


class Button(Canvas, can_focus=True):
    """The verb that ends a form."""

    BINDINGS: ClassVar[list[BindingType]] = [("enter,space", "press", "")]

    class Pressed(Message):
        pass

    def __init__(self, label: str) -> None:
        super().__init__(id="button")
        self._label = label

    @property
    def verb(self) -> str:
        """The label as the footer says it, in lower case."""
        return self._label[:1].lower() + self._label[1:]

    def paint(self, width: int) -> list[Line]:
        here = self.has_focus
        mark = Line().put("►" if here else " ", "accent")
        return [mark.put(f" {self._label} ", "ground" if here else "accent", bold=True,
                         back="accent" if here else "field", act="press")]  # fmt: skip

    def on_focus(self) -> None:
        self.refresh()

    def on_blur(self) -> None:
        self.refresh()

    async def on_click(self, event: events.Click) -> None:
        event.stop()
        self.action_press()

    def action_press(self) -> None:
        self.post_message(self.Pressed())
