"""A form over rows that others may change while it is open: what one types never overwrites, and is never lost."""

from __future__ import annotations

from abc import abstractmethod
from collections.abc import Callable, Mapping, Sequence
from typing import Any

from textual import on

from finishlog.desk.meanwhile import Meanwhile, meet
from finishlog.tui.forms import clash
from finishlog.tui.forms.fields import Field
from finishlog.tui.forms.form import FormScreen, Part

Texts = Mapping[str, str]


class Meeting(FormScreen):
    """What only another changed is taken over and marked; what both changed is shown both, and is not saved until
    one of them is chosen."""

    FOLLOWS = True

    def __init__(self) -> None:
        super().__init__()
        self._read: dict[str, str] = {}
        """What is typed is a change of this, by field."""
        self._now: dict[str, str] = {}
        self._marked: set[str] = set()
        self._behind = False

    @abstractmethod
    def now(self) -> tuple[Any, Texts]:
        """In a worker: what the form would be made from now, and the texts it would begin with."""

    @abstractmethod
    def renew(self, source: Any) -> None:
        """From here on it is a form over this."""

    @property
    def meets(self) -> bool:
        """Whether it is over a row that is there already."""
        return True

    async def build(self, parts: Sequence[Part], draft: Texts | None) -> None:
        await super().build(parts, draft)
        self._read = {field.asked.key: field.start for field in self.fields}
        self._now = dict(self._read)
        if self._behind:
            self.follow(in_sight=True)

    def typed_over(self, begun: Texts, now: Texts) -> None:
        """The draft was typed over other texts than those that stand there now."""
        self._read |= {key: begun.get(key, "") for key in self._read}
        self.compare(now)

    def follow(self, *, in_sight: bool) -> None:
        """Others wrote. Seen or not, it is compared: a form keeps what is typed whatever is over it."""
        self._behind = not self._built
        if self.stands and self.meets:
            self.ask("now", self.now, self._met, self._lost_sight)

    def _lost_sight(self, error: Exception) -> None:
        """It cannot be read now; it is compared again before anything is written."""

    def _met(self, found: tuple[Any, Texts]) -> None:
        source, now = found
        self.renew(source)
        self.compare(now)

    def compare(self, now: Texts) -> None:
        """Take over what only another changed, and show what both did."""
        known = {key: now.get(key, "") for key in self._read}
        met = meet(self._read, known, self.values)
        for field in self.fields:
            key = field.asked.key
            if key in met.taken:
                was, field.start = field.value, known[key]
                field.fill(known[key])
                clash.show_taken(field, was)
                self._begins_with(key, field.value)
                self._marked.add(key)
            elif key in met.clashing:
                clash.show_theirs(field, known[key])
                self._marked.add(key)
        self._now = known
        self._read |= {key: text for key, text in known.items() if key not in met.clashing}
        if met.clashing:
            self._tell("")
        elif met.taken:
            self.say("someone else changed this just now", 6)

    @property
    def clashing(self) -> tuple[str, ...]:
        """Keys of the fields that both changed, and nobody has settled."""
        return meet(self._read, self._now, self.values).clashing

    def _begins_with(self, key: str, text: str) -> None:
        """What was taken over is nothing that one typed: by itself it makes no draft."""
        untouched = self._kept == self._begun
        self._begun = {**self._begun, key: text}
        if untouched:
            self._kept = self._begun

    def _tell(self, word: str) -> None:
        """What is to be settled first stays said."""
        many = len(self.clashing)
        fields = "1 field" if many == 1 else f"{many} fields"
        super()._tell(word or (f"someone else changed {fields} too" if many else ""))

    @on(Field.Changed)
    def _tidied(self) -> None:
        """A field in which both say the same now clashes no more."""
        open_ones = self.clashing
        for field in self.fields:
            key = field.asked.key
            if key in self._marked and key not in open_ones and self._read[key] != self._now[key]:
                self._settled(field)

    @property
    def read_first(self) -> Texts:
        """What is typed is a change of this."""
        return dict(self._read)

    def begun_anew(self) -> None:
        """What is typed was written, and the form stays."""
        self._read = self._now = self.values

    def _settled(self, field: Field) -> None:
        key = field.asked.key
        self._read[key] = self._now[key]
        self._marked.discard(key)
        clash.show_nothing(field)
        self._tell("")

    def _here(self) -> Field | None:
        """The clashing field that has the focus, else the first."""
        open_ones = [field for field in self.fields if field.asked.key in self.clashing]
        focused = [field for field in open_ones if field.entry.has_focus]
        return next(iter(focused or open_ones), None)

    def action_theirs(self) -> None:
        """Take what the other says in this field."""
        if (field := self._here()) is not None:
            field.fill(self._now[field.asked.key])
            self._settled(field)

    def action_mine(self) -> None:
        """Keep what is typed in this field."""
        if (field := self._here()) is not None:
            self._settled(field)

    def action_keep(self) -> None:
        if (field := self._here()) is not None:
            self._tell("")
            field.entry.focus()
            return
        super().action_keep()

    def keep(self, call: Callable[[], Any], done: Callable[[Any], object]) -> None:
        """Write, if nobody has changed meanwhile what this would write over."""
        read, typed, meets = dict(self._read), self.values, self.meets

        def looked_at() -> Any:
            if meets:
                now = self.now()[1]
                met = meet(read, {key: now.get(key, "") for key in read}, typed)
                if met.taken or met.clashing:
                    raise Meanwhile("Someone else changed this just now.", "Nothing was written.")
            return call()

        super().keep(looked_at, done)

    def refused(self, error: Exception) -> None:
        if not isinstance(error, Meanwhile):
            super().refused(error)
            return
        self._sent = False
        self.repaint()
        self.house.ahead.drop()  # typed for the screen that was to follow
        self._tell("not saved: someone else changed this just now")
        self.follow(in_sight=True)
