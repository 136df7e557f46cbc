"""Log what happened: one entry, a correction, an undo. What is odd is asked, what is wrong is named."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

from finishlog.desk import said
from finishlog.desk.doubts import clock, odd, on_shelf, own_usual, ready, sealer_sheet, told_twice
from finishlog.desk.doubts.odd import Doubt
from finishlog.desk.doubts.scene import Scene
from finishlog.desk.placed import load_flags
from finishlog.desk.record import again, before_rinse, drafts, makers, reading_state
from finishlog.desk.record.job_now import Stand, of_entry, stand, stand_of, standing
from finishlog.desk.words import when
from finishlog.errors import InputError
from finishlog.inputs.asking import Wrong
from finishlog.inputs.entry import entries, materials
from finishlog.inputs.entry.entries import Context
from finishlog.records.log import Entry, Reading
from finishlog.records.writing import NewEntry, NewFile, NewMaterialUse
from finishlog.retrying import anew

if TYPE_CHECKING:
    from finishlog.desk.services import Services
    from finishlog.records.shop import Shop
    from finishlog.store import Reader, Writer
    from finishlog.store.entering.expected import Expected
    from finishlog.store.entering.known import KnownJob

LONGEST_BECAUSE = 500
_UID = re.compile(r"[0-9a-f]{32}")


class WrongFields(InputError):
    """Fields of an entry that are wrong; `wrongs` holds each."""

    def __init__(self, title: str, cause: str = "", *, where: str = "", example: str = "") -> None:
        super().__init__(title, cause, where=where, example=example)
        self.wrongs: tuple[Wrong, ...] = ()


@dataclass(frozen=True, slots=True)
class Recorded:
    """An entry that was kept: what it says in words, what was understood of it, what to look at."""

    job: str
    entry: Entry
    sentence: str
    understood: tuple[tuple[str, str, str], ...] = ()
    """Key, title and echo of each field that was told."""
    warnings: tuple[str, ...] = ()
    beside: tuple[tuple[str, Entry], ...] = ()
    """What was kept on another job with it."""
    restores: int | None = None
    """The entry of the job that it brings back."""
    was_there: bool = False
    """It came a second time: it was kept the first time."""


@anew
def record(
    services: Services,
    handle: str,
    kind: str,
    texts: Mapping[str, str],
    *,
    replaces: int | None = None,
    because: str | None = None,
    files: tuple[Path, ...] = (),
    uid: str = "",
) -> Recorded:
    """Keep one entry. With `replaces`, a correction: what the texts do not name stays as it was.

    With `uid` (32 hexadecimal digits) it has that identity, and is kept once however often it is sent.

    Raises WrongFields for what cannot be read, Doubt for what is odd and has no reason, InputError for
    an entry that is not there or was replaced already. Nothing is kept then.
    """
    file_path = services.log().file_path
    there = kept_before(services, uid)
    if there is not None:
        return there
    known, ahead = _ahead(services, handle, kind, texts, replaces, because, files, uid)
    with services.log().writing(alone=True) as log:
        if there := _kept_before(log, services, uid):
            return there
        same = log.take([known], ahead.expected if ahead else None)
        done = record_in(
            log, services, handle, kind, texts, replaces=replaces, because=because, files=files,
            file_path=file_path, once=True, asks=True, ahead=ahead if same else None, uid=uid,
        )  # fmt: skip
        drafts.forget(log, services.who, done.job, done.entry.kind, replaces)
        return done


def kept_before(services: Services, uid: str) -> Recorded | None:
    """The entry of that identity, if it was kept already. Raises InputError for what is no identity."""
    if not uid:
        return None
    with services.log().reading() as log:
        return _kept_before(log, services, uid)


def _kept_before(log: Reader, services: Services, uid: str) -> Recorded | None:
    found = place_of(log, uid)
    if found is None:
        return None
    now = stand(log, services, found[0])
    entry = next(entry for entry in now.job.history if entry.number == found[1])
    return Recorded(found[0], entry, sentence(entry, now.zone), was_there=True)


def place_of(log: Reader, uid: str) -> tuple[str, int] | None:
    """The job and the number of the entry of that identity; None for a blank one and for one that is not there.

    Raises InputError for what is no identity.
    """
    if uid and not _UID.fullmatch(uid):
        raise InputError("That is not an entry's identity.", where="uid", example="32 hexadecimal digits")
    return log.entry_of(uid) if uid else None


@dataclass(frozen=True, slots=True)
class _Ready:
    """An entry read, looked at and decided, ready to be kept, with what is said of it."""

    now: Stand
    new: NewEntry
    scene: Scene
    understood: tuple[tuple[str, str, str], ...]
    expected: Expected | None


def _ahead(
    services: Services, handle: str, kind: str, texts: Mapping[str, str], replaces: int | None,
    because: str | None, files: tuple[Path, ...], uid: str,
) -> tuple[KnownJob, _Ready | None]:  # fmt: skip
    """All that can be done before anybody has to wait for it; a rinse is read after the sweep before it."""
    what = entries.need_kind(kind).key
    with services.log().reading() as log, log.entry_at_hand(job := log.resolve(handle)):
        known = log.know(job)
        if what == before_rinse.RINSE and replaces is None:
            return known, None
        now = stand_of(services, known.job)
        new = replace(_entry(log, now, what, texts, replaces, services.log().file_path, files), uid=uid)
        looked = scene(log, services, now, new)
        new = _decided(new, looked, because)
        expected = log.expect(known, new, looked.shop)
        return known, _Ready(now, new, looked, _understood(what, texts, now.context), expected)


def _entry(
    log: Reader, now: Stand, kind: str, texts: Mapping[str, str], replaces: int | None,
    file_path: Callable[[str], Path], files: tuple[Path, ...],
) -> NewEntry:  # fmt: skip
    new = _read(now, kind, texts, replaces, file_path)
    if replaces is None and (open_ones := reading_state.unsaid(new, texts, now.job, now.zone)):
        raise wrong_fields(open_ones)
    if replaces is None or {"product", "pigment"} & set(texts):
        new = makers.told(log, now.job, new)
    return replace(new, files=(*new.files, *(NewFile(path) for path in files)))


def _sweep_first(
    log: Writer, services: Services, now: Stand, texts: Mapping[str, str], because: str | None, asks: bool
) -> tuple[str, ...]:
    """Log the sweep a rinse mentions as its own entry before it; returns warnings. Raises Doubt."""
    before = before_rinse.told(log, now, texts, because, asks)
    if before.sweep is None:
        return (before.note,) if before.note else ()
    back = told_twice.of_sweep(log, before.sweep, now.job, now.zone)
    scene = Scene(now.job, now.zone, services.clock(), log.shop(), further=back)
    entry, warnings = keep(log, before.sweep, scene, because)
    return (sentence(entry, now.zone), *warnings)


def record_in(
    log: Writer, services: Services, handle: str, kind: str, texts: Mapping[str, str], *,
    file_path: Callable[[str], Path], replaces: int | None = None, because: str | None = None,
    files: tuple[Path, ...] = (), flag: bool = True, once: bool = False, asks: bool = False,
    ahead: _Ready | None = None, uid: str = "",
) -> Recorded:  # fmt: skip
    """`record` within a unit of work; `file_path` tells where a kept file lies, by its SHA-256.

    Without `flag` it is not said what a load makes of its pour: more of it are to come. With `once` it is asked
    whether the same was logged already. With `asks` a rinse asks for the sweep that was due before it.
    """
    what = entries.need_kind(kind)
    now = ahead.now if ahead else stand(log, services, handle)
    first: tuple[str, ...] = ()
    if what.key == before_rinse.RINSE and replaces is None:
        first = _sweep_first(log, services, now, texts, because, asks)
    if ahead is None:
        new = replace(_entry(log, now, what.key, texts, replaces, file_path, files), uid=uid)
        looked = scene(log, services, now, new, once=once)
        new, understood = _decided(new, looked, because), _understood(what.key, texts, now.context)
    else:
        new, looked, understood = ahead.new, ahead.scene, ahead.understood
    entry, warnings = _keep(log, new, looked)
    return Recorded(
        now.job.handle,
        entry,
        sentence(entry, now.zone),
        understood,
        (*first, *warnings, *(_flags(log, entry, now, looked.shop) if flag else ())),
    )


def scene(log: Reader, services: Services, now: Stand, new: NewEntry, *, once: bool = True) -> Scene:
    """What a new entry is checked against; with `once` also earlier entries, for duplicates."""
    sheets = sealer_sheet.sheets(log) if new.kind == "seal" else {}
    own = own_usual.of(log, now.job.handle) if new.kind in own_usual.LEARNED else {}
    before = len(now.job.history) if once else 0
    since = on_shelf.since(log, new.materials, now.zone)
    back = told_twice.of_sweep(log, new, now.job, now.zone)
    if once:
        back = (*back, *clock.of_log(log, services.now()))
    return Scene(
        now.job, now.zone, services.clock(), log.shop(), new.replaces, sheets, own, since, before, back
    )


def keep(log: Writer, new: NewEntry, scene: Scene, because: str | None) -> tuple[Entry, tuple[str, ...]]:
    """The entry kept, if nothing is odd or a reason is given, and what to look at. Raises Doubt."""
    return _keep(log, _decided(new, scene, because), scene)


def _decided(new: NewEntry, scene: Scene, because: str | None) -> NewEntry:
    """The entry to be kept: with the reason, if one is given. Raises Doubt for what is odd without one."""
    reason = _reason(because)
    found = odd.doubts(new, scene)
    if reason is None:
        odd.ask(found)
        return new
    return replace(new, note=_with_reason(new.note, found, reason))


def _keep(log: Writer, new: NewEntry, scene: Scene) -> tuple[Entry, tuple[str, ...]]:
    entry = log.add_entry(scene.job.handle, new)
    ready.keep(log, new, scene, entry)
    return entry, odd.warnings(new, scene)


def _reason(because: str | None) -> str | None:
    reason = " ".join((because or "").split())
    if len(reason) > LONGEST_BECAUSE:
        raise InputError(f"The reason is too long: {LONGEST_BECAUSE} characters at most.", where="--because")
    return reason or None


def _with_reason(note: str | None, found: tuple[str, ...], reason: str) -> str:
    told = f"{' '.join(found)} Because: {reason}" if found else f"Because: {reason}"
    return f"{note} {told}" if note else told


def _read(
    now: Stand,
    kind: str,
    texts: Mapping[str, str],
    replaces: int | None,
    file_path: Callable[[str], Path],
) -> NewEntry:
    """The entry; a correction is read from what the old one says with the new texts laid over it."""
    if replaces is None:
        return _need(kind, texts, now.context, None)
    old = standing(now.job, replaces)
    if old.kind != kind:
        return replace(_need(kind, texts, now.context, None), replaces=replaces)
    context = of_entry(old, now)
    values = entries.values_of(old, context, now.names)
    whole = {**entries.texts_of(kind, values, context), **texts}
    new = _need(kind, whole, context, values)
    return _carried(new, old, kind, file_path)


def _need(kind: str, texts: Mapping[str, str], context: Context, old: Mapping[str, Any] | None) -> NewEntry:
    new, wrongs = entries.read(kind, texts, context, old=old)
    if new is None:
        raise wrong_fields(wrongs)
    return new


def wrong_fields(wrongs: tuple[Wrong, ...]) -> WrongFields:
    """What is wrong in one line: the first in full, the others by name."""
    first = wrongs[0]
    rest = f"Also wrong: {', '.join(wrong.key for wrong in wrongs[1:])}." if wrongs[1:] else ""
    failure = WrongFields(first.what, rest, where=first.key, example=first.example)
    failure.wrongs = wrongs
    return failure


def _carried(new: NewEntry, old: Entry, kind: str, file_path: Callable[[str], Path]) -> NewEntry:
    """What no field shows stays with a correction: further materials, facts not asked any more, files."""
    asked = {param.name for param in entries.need_kind(kind).placed}
    shown = len(materials.slots(entries.need_kind(kind).product_kinds))
    further = tuple(again.used_again(use) for use in old.materials[shown:])
    facts = {key: value for key, value in old.facts.items() if key not in asked}
    return replace(
        new,
        replaces=old.number,
        facts={**facts, **new.facts},
        materials=(*_as_kept(new.materials, old), *further),
        files=again.files_again(old, file_path),
        reading=_still_read(new.reading, old.reading),
    )


def _still_read(new: Reading | None, old: Reading | None) -> Reading | None:
    """Read as before, it is still the box of the photo that it was read off."""
    if new is None or old is None or new.source != old.source:
        return new
    return replace(new, photo=old.photo, box=old.box, camera=old.camera, card=old.card)


def _as_kept(uses: tuple[NewMaterialUse, ...], old: Entry) -> tuple[NewMaterialUse, ...]:
    """A product that was used as another kind than today's declaration has stays of that kind."""
    kept = {use.product.name: use.product.kind for use in old.materials}
    asked = entries.need_kind(old.kind).product_kinds
    return tuple(
        replace(use, product=replace(use.product, kind=kept[use.product.name]))
        if kept.get(use.product.name, asked[0]) not in asked
        else use
        for use in uses
    )


def _understood(kind: str, texts: Mapping[str, str], context: Context) -> tuple[tuple[str, str, str], ...]:
    echo = entries.echoes(kind, texts, context)
    told = ((field, texts.get(field.key, "").strip()) for field in entries.fields_of(kind, context))
    return tuple((field.key, field.title, echo.get(field.key) or text) for field, text in told if text)


def _flags(log: Writer, entry: Entry, now: Stand, shop: Shop) -> tuple[str, ...]:
    if entry.load is None:
        return ()
    return load_flags.of_load(log.job(now.job.handle), now.zone, shop, entry.number)


def sentence(entry: Entry, zone: ZoneInfo) -> str:
    """`Entry 7: rinsed, 2000 psi. Jun 16 2026, 7:40a.`"""
    moment = when(entry.happened.astimezone(zone), entry.exactness)
    return f"Entry {entry.number}: {said.what(entry)}. {moment}."


__all__ = ["Doubt", "Recorded", "WrongFields", "record"]
