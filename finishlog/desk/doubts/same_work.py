"""Whether the same work is already logged: asked like any other doubt. Common practice, no source."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from datetime import timedelta
from typing import TYPE_CHECKING

from finishlog.desk import said
from finishlog.records.log import Entry, MaterialUse
from finishlog.records.when import has_hours
from finishlog.records.writing import NewEntry, NewMaterialUse
from finishlog.trade.events import entry_kind
from finishlog.units import rough_span, write_date

if TYPE_CHECKING:
    from finishlog.desk.doubts.scene import Scene

DAY, MINUTES = timedelta(days=1), timedelta(minutes=10)


def doubts(new: NewEntry, scene: Scene) -> Iterator[str]:
    """An earlier entry for the same work, or None: of those logged before `scene.before`."""
    known = [e for e in scene.entries(new.kind) if e.number <= scene.before and _is_here(new, e, scene)]
    same = next((entry for entry in reversed(known) if _is_same(new, entry, scene)), None)
    if same is None and new.kind == "care":
        same = _same_care(new, known)
    if same is not None:
        who = f" by {same.person}" if same.person else ""
        yield f"{_what(same)} was logged {_ago(same, scene)}{who}: entry {same.number}. Log it again?"


def _what(entry: Entry) -> str:
    told = said.what(entry) if entry.kind == "care" else entry_kind(entry.kind).title
    return told[:1].upper() + told[1:]


def _is_here(new: NewEntry, old: Entry, scene: Scene) -> bool:
    """On the same area, or on the whole job; different areas are not the same work."""
    names = {area.uid: area.name for area in scene.job.areas}
    return new.area is None or old.area is None or names.get(old.area) == new.area


def _is_same(new: NewEntry, old: Entry, scene: Scene) -> bool:
    if new.files:
        return bool(_files(new) & {file.sha256 for file in old.files})
    if new.load is not None:
        return _same_load(new, old, scene)
    if not _on_one_day(new, old, scene) or not _same_products(new, old):
        return False
    if new.coat is not None and old.coat is not None:
        numbers = (new.coat.number, old.coat.number)
        same = numbers[0] == numbers[1] and new.coat.reseal == old.coat.reseal
        return same and None not in numbers
    again = entry_kind(new.kind).again
    return again == "once" or (again == "soon" and _soon(old, scene))


def _files(new: NewEntry) -> set[str]:
    """Files by content. An unreadable one is reported when saved."""
    found = set()
    for file in new.files:
        if file.content is not None:
            found.add(file.content.sha256)
        elif file.path.is_file():
            with file.path.open("rb") as held:
                found.add(hashlib.file_digest(held, "sha256").hexdigest())
    return found


def _same_load(new: NewEntry, old: Entry, scene: Scene) -> bool:
    """The same ticket, or the same amounts logged within minutes by someone else. Similar loads are common."""
    one, other = new.load, old.load
    if one is None or other is None:
        return False
    tickets = [(load.ticket or "").strip().casefold() for load in (one, other)]
    if all(tickets):
        return tickets[0] == tickets[1] and _on_one_day(new, old, scene)
    others = new.person is not None and old.person is not None and new.person != old.person
    amounts = (
        one.yards is not None and one.yards == other.yards and _used(new.materials) == _used(old.materials)
    )
    return others and amounts and _soon(old, scene)


def _used(uses: tuple[NewMaterialUse | MaterialUse, ...]) -> set[tuple[str, float | None, str]]:
    return {(use.product.name.casefold(), use.amount, use.unit) for use in uses}


def _same_products(new: NewEntry, old: Entry) -> bool:
    """Two shades thrown in turn are not duplicates; if neither is named, they may be."""
    named = [{use.product.name.casefold() for use in each.materials} for each in (new, old)]
    return not all(named) or named[0] == named[1]


def _same_care(new: NewEntry, known: list[Entry]) -> Entry | None:
    """The office's last word repeated: the same state for the same day, with no new note."""
    last = max(known, key=lambda entry: entry.number, default=None)
    if last is None or new.happened - last.happened > DAY or new.note not in (None, last.note):
        return None
    return last if dict(new.facts) == dict(last.facts) and "by_plan" not in new.facts else None


def _soon(old: Entry, scene: Scene) -> bool:
    return scene.now - old.logged <= MINUTES


def _on_one_day(new: NewEntry, old: Entry, scene: Scene) -> bool:
    """Within a day of each other; by the calendar where one has no hour."""
    if has_hours(new.exactness, old.exactness):
        return abs(new.happened - old.happened) < DAY
    one, other = (rough_span(scene.day(each.happened), each.exactness) for each in (new, old))
    return one[0] <= other[1] and other[0] <= one[1]


def _ago(old: Entry, scene: Scene) -> str:
    minutes = round((scene.now - old.logged).total_seconds() / 60)
    if minutes < 2:
        return "a minute ago"
    if minutes < 60:
        return f"{minutes} minutes ago"
    hours = minutes // 60
    return (
        f"{hours} {'hour' if hours == 1 else 'hours'} ago"
        if hours < 24
        else f"on {write_date(scene.day(old.logged))}"
    )
