"""The top and bottom bar of every screen: places, and what the keys do."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime

from textual.widgets import Input

from finishlog.tui import access, actions
from finishlog.tui.paint.ink import Line
from finishlog.tui.running.timers import once
from finishlog.tui.widgets.canvas import Canvas

_DAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
_MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
NARROW = 70
NONE: Mapping[str, str] = {}


def at_site(now: datetime, zone: str) -> tuple[datetime, bool]:
    """The instant on a site's clock, and whether that differs from the machine's."""
    if not zone:
        return now, False
    from finishlog.records.when import is_known, zone_named

    if not is_known(zone):
        return now, False
    there = now.astimezone(zone_named(zone))
    return there, there.utcoffset() != now.utcoffset()


def clock(now: datetime, width: int) -> str:
    """`Tue Jun 16  7:40a`; below 70 columns the time alone."""
    hour = now.hour % 12 or 12
    time = f"{hour}:{now.minute:02d}{'a' if now.hour < 12 else 'p'}"
    return time if width < NARROW else f"{_DAYS[now.weekday()]} {_MONTHS[now.month - 1]} {now.day}  {time}"


AWAY = "! server away, trying again"


def places(current: str, now: datetime | None, width: int, zone: str = "", *, away: bool = False) -> Line:
    """The top bar; `now` None leaves out the clock, `zone` is the site's if not the shop's.

    A server that is `away` is said in the clock's place.
    """
    line = Line().gap(2)
    for place in actions.PLACES:
        act = f"app.place('{place.name}')"
        here = place.name == current
        line.put(place.key, "accent", bold=True, act=act).gap(1)
        line.put(place.title, "text", bold=here, under=here, act=act).gap(2)
    if away:
        said = AWAY if width >= NARROW else AWAY.partition(",")[0]
        return line.facing(Line().bold(said, "bad").gap(2 if width >= NARROW else 1), width)
    time = ""
    if now is not None:
        there, other = at_site(now, zone)
        time = f"{clock(there, width)}{(' site' if width < NARROW else ' at the site') if other else ''}"
    return line.facing(Line().muted(time).gap(2 if width >= NARROW else 1), width)


def footer(
    scope: str,
    width: int,
    note: str = "",
    without: frozenset[str] = frozenset(),
    keys: Mapping[str, str] = NONE,
    typing: bool = False,
    focused: object = None,
) -> Line:
    """This screen's verbs at the left, help and Esc at the right. A verb that does not fit is dropped.

    While typing, letters are text: only verbs that still work are shown. What Enter does comes first.
    """
    narrow = width < NARROW
    right = Line()
    help_key = "F1" if typing else "?"
    for key, word, act in ((help_key, "help", "app.help"), ("Esc", "back", "app.step_back")):
        right.put(key, "accent", bold=True, act=act).put("" if narrow else f" {word}", act=act).gap(2)
    left = Line().gap(2).bold(note, "warn") if note else Line().gap(2)
    enter = "" if note else getattr(focused, "verb", "")
    if enter:
        left.put("Enter", "accent", bold=True).put(f" {enter}")
    for action in () if note else actions.footer(scope, typing):
        if action.id in without or (enter and _is_said(action, enter, focused)):
            continue
        verb = Line().put(actions.shown(action, keys), "accent", bold=True, act=action.call)
        verb.put(f" {action.label}", act=action.call)
        apart = 3 if left.width > 2 else 0
        if left.width + apart + verb.width + 2 + right.width <= width:
            left.gap(apart).join(verb)
    return left.facing(right, width, gap=0)


def _is_said(action: actions.Action, enter: str, focused: object) -> bool:
    """Whether the action repeats what Enter does, or does nothing for the focused widget."""
    if action.call == "choices":
        return not getattr(focused, "choices", False)
    again = action.shown == "Enter" or action.label == enter
    return again or (action.call == "next_field" and isinstance(focused, Input))


class Places(Canvas):
    """The top bar; its clock goes by the open job's site."""

    def __init__(self, current: str) -> None:
        super().__init__()
        self._current = current
        self._now: datetime | None = None

    def on_mount(self) -> None:
        self.call_after_refresh(self._tick)
        self.set_interval(20, self._tick)

    def _tick(self) -> None:
        """Update the clock. The first frame has none: finding the zone takes time."""
        self._now = self.house.services.now()
        self.refresh()

    def paint(self, width: int) -> list[Line]:
        return [places(self._current, self._now, width, self._zone, away=self.house.others.away)]

    @property
    def _zone(self) -> str:
        """Zone of the site open on this screen or one under it; empty for the shop's clock."""
        opened = (getattr(screen, "site_zone", "") for screen in reversed(self.app.screen_stack))
        return next((zone for zone in opened if zone), "")


class Footer(Canvas):
    """The bottom bar: keys of scope `scope`, or a note for a moment."""

    def __init__(self, scope: str) -> None:
        super().__init__()
        self._scope = scope
        self._note = ""
        self._without: frozenset[str] = frozenset()
        self._role = ""

    def say(self, note: str, seconds: float = 3.0) -> None:
        """Show a note in place of the verbs, for a moment."""
        self._note = note
        self.refresh()
        if note:
            once(self, seconds, lambda: self.say(""))

    def hide(self, *ids: str) -> None:
        """Hide these verbs, by action id."""
        self._without = frozenset(ids)
        self.refresh()

    def answered(self) -> None:
        """The log answered: on a server only now is known who works here, and what has no verb for them."""
        if self.house.services.role != self._role:
            self.refresh()

    def on_mount(self) -> None:
        self.watch(self.screen, "focused", self._turned, init=False)

    def _turned(self) -> None:
        self.refresh()

    @property
    def typing(self) -> bool:
        """Whether a text box has the focus, so letters are no keys."""
        return isinstance(self.screen.focused, Input)

    def paint(self, width: int) -> list[Line]:
        focused, self._role = self.screen.focused, self.house.services.role
        without = self._without | access.hidden(self._role, bool(self.house.services.guest))
        return [footer(self._scope, width, self._note, without, self.house.keys, self.typing, focused)]
