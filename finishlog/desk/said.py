"""One entry in words: what happened in short, and every further fact of it."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from finishlog.desk.words import listed
from finishlog.errors import InputError
from finishlog.records.log import Coat, Entry, Fact, Load, Mix, Reading, Sample
from finishlog.trade.events import EntryKind, entry_kind
from finishlog.trade.stages.base import Param
from finishlog.units import exact, write, write_date, write_number

if TYPE_CHECKING:
    from finishlog.records.care import Written

MOVED = ("moved_from", "moved_from_entry", "moved_to", "moved_to_entry")
"""Facts of a moved entry and of its move: the other job's handle, the entry's number there."""
_SHORT = ("pattern", "release_left_percent")
"""Facts that the short words already say."""


def what(entry: Entry) -> str:
    """One entry in short: `rinsed, 20 % left`, `load 6.50 yd³, Wet Biscuit 24.4 lb, ticket 40731`."""
    if entry.load is not None:
        return _load(entry, entry.load)
    if entry.coat is not None:
        return _coat(entry, entry.coat)
    left = entry.facts.get("release_left_percent")
    kept = f"{left} % left" if left is not None else None
    if entry.reading is not None:
        return ", ".join(part for part in (reading(entry.reading), kept) if part)
    if entry.sample is not None:
        return _sample(entry.sample)
    if entry.approval is not None:
        verdict = "approved" if entry.approval.approved else "not approved"
        return f"sample {entry.approval.sample} {verdict}, signed by {entry.approval.by}"
    if entry.claim is not None:
        return f"complaint: {entry.claim.complaint}{', settled' if entry.claim.settled else ''}"
    if entry.kind == "care" and "state" in entry.facts:
        return _care(entry)
    if entry.kind == "reminder":
        return _reminder(entry)
    if entry.kind == "put_off" and "until" not in entry.facts:
        return "not for this job"
    pattern = entry.facts.get("pattern")
    parts = [_verb(entry.kind), *_uses(entry), kept, pattern]
    return ", ".join(str(part) for part in parts if part)


_SENT = {"remind": "reminder", "confirm": "confirmation", "thank": "thank-you"}
_BY = {"letter": "by letter", "mail": "by e-mail", "table": "by mail merge", "phone": "by phone"}


def _reminder(entry: Entry) -> str:
    """`reminder written by letter, to Ottoline Quillfeather`, `reminder by e-mail came back`."""
    what = _SENT.get(str(entry.facts.get("what")), "reminder")
    how = sent_by(str(entry.facts.get("how", "")))
    said = "came back" if entry.facts.get("result") == "bounced" else "written"
    parts = (what, how, said) if said == "came back" else (what, said, how)
    to = entry.facts.get("to")
    return " ".join(part for part in parts if part) + (f", to {to}" if to else "")


def written_words(last: Written) -> str:
    """`reminder written Jun 16 2026 by letter`, `reminder by letter came back`."""
    what = _SENT.get(last.what, "reminder")
    if last.bounced:
        return f"{what} {sent_by(last.how)} came back".replace("  ", " ")
    return f"{what} written {write_date(last.on)} {sent_by(last.how)}".rstrip()


def sent_by(how: str) -> str:
    """How a reminder went out, in words: `by letter`."""
    return _BY.get(how, "")


def further(entry: Entry, areas: dict[str, str] | None = None) -> tuple[str, ...]:
    """Every fact that `what` leaves out, in the order in which it is asked. `areas` gives names by uid."""
    names = areas or {}
    where = [f"on {names[entry.area]}"] if entry.area in names else []
    return (
        *where,
        *_details(entry, names),
        *_facts(entry),
        *(f"attached {file.name}" for file in entry.files),
    )


def reading(read: Reading) -> str:
    """`base read, dry, bare: L*a*b* 62.0 4.0 16.0, nearest light brown`."""
    from finishlog.color.notation.names import nearest_name

    state = f"{'damp' if read.damp else 'dry'}, {'sealed' if read.sealed else 'bare'}"
    lab = " ".join(f"{value:.1f}" for value in (read.L, read.a, read.b))
    return f"{read.spot} read, {state}: L*a*b* {lab}, nearest {nearest_name((read.L, read.a, read.b))}"


def _verb(kind: str) -> str:
    found = _kind(kind)
    return found.verb if found else kind.replace("_", " ")


def _kind(key: str) -> EntryKind | None:
    """The kind, None for one of a newer program."""
    try:
        return entry_kind(key)
    except InputError:
        return None


def _load(entry: Entry, load: Load) -> str:
    name = "balance load" if load.is_balance else "load"
    yards = write("volume_yd3", exact(load.yards)) if load.yards is not None else "yards not logged"
    ticket = f"ticket {load.ticket}" if load.ticket else ""
    return ", ".join(part for part in (f"{name} {yards}", *_uses(entry), ticket) if part)


def _coat(entry: Entry, coat: Coat) -> str:
    verb = "resealed" if coat.reseal else "sealed"
    number = f"coat {coat.number}" if coat.number else ""
    return ", ".join(part for part in (verb, number, *(use.product.name for use in entry.materials)) if part)


def _care(entry: Entry) -> str:
    """`reseal booked for 2026-08-14`, `reseal: ask again from 2027-04-01`, `reseal declined`."""
    state, on = str(entry.facts["state"]).replace("_", " "), entry.facts.get("on")
    if on is None:
        return f"reseal: {state}" if state in ("due", "ask again") else f"reseal {state}"
    planned = {"booked": "reseal booked for", "ask again": "reseal: ask again from"}
    return f"{planned.get(state, f'reseal {state}, planned for')} {on}"


def _sample(sample: Sample) -> str:
    parts = (
        f"sample {sample.number}",
        " + ".join(f"{write_number(percent)} % {pigment.name}" for pigment, percent in sample.doses),
        sample.size,
        "half sealed" if sample.half_sealed else "",
        sample.kept_where,
    )
    return ", ".join(part for part in parts if part)


def _uses(entry: Entry) -> Iterator[str]:
    for use in entry.materials:
        amount = f" {write_number(use.amount)} {use.unit}" if use.amount is not None else ""
        yield f"{use.product.name}{amount}"


def _details(entry: Entry, names: dict[str, str]) -> Iterator[str]:
    lots = [f"{use.product.name} lot {use.lot}" for use in entry.materials if use.lot]
    reclaimed = [f"{use.product.name} reclaimed" for use in entry.materials if use.reclaimed]
    yield from (*lots, *reclaimed)
    if entry.load is not None:
        yield from _load_details(entry.load, names)
    if entry.coat is not None:
        yield from _coat_details(entry, entry.coat)
    if entry.reading is not None:
        yield from _reading_details(entry.reading)
    if entry.sample is not None:
        yield from (f"cement {entry.sample.cement}",) if entry.sample.cement else ()
        if entry.sample.load is not None:
            yield f"from the load of entry {entry.sample.load}"
    if entry.claim is not None:
        told = (("cause", entry.claim.cause), ("done", entry.claim.action), ("outcome", entry.claim.outcome))
        yield from (f"{title}: {text}" for title, text in told if text)


def _load_details(load: Load, names: dict[str, str]) -> Iterator[str]:
    if load.areas:
        went = (
            names.get(uid, "an area") + (f" {write_number(yards)} yd³" if yards is not None else "")
            for uid, yards in load.areas
        )
        yield f"to {listed(went)}"
    for value, words in (
        (load.returned_yd3, "yd³ returned"), (load.dumped_yd3, "yd³ dumped"), (load.water_gal, "gal of water"),
        (load.slump_in, "in slump"), (load.slump_end_in, "in slump at the end"),
    ):  # fmt: skip
        if value is not None:
            when = f" {load.water_when}" if words == "gal of water" and load.water_when else ""
            yield f"{write_number(value)} {words}{when}"
    if load.water_when and load.water_gal is None:
        yield f"water {load.water_when}"
    if load.mix is not None:
        yield from _mix(load.mix)


def _mix(mix: Mix) -> Iterator[str]:
    plant = (mix.plant, f"mix {mix.number}" if mix.number else None, mix.cement_kind, mix.cement_mill)
    yield from (part for part in plant if part)
    if mix.cement_lb_per_yd3 is not None:
        yield f"{write_number(mix.cement_lb_per_yd3)} lb/yd³ cement"
    if mix.scm_lb_per_yd3 is not None:
        yield f"{write_number(mix.scm_lb_per_yd3)} lb/yd³ {mix.scm_kind or 'other cementitious'}"
    yield from (f"{title} {text}" for title, text in (("with", mix.admixtures), ("sand", mix.sand)) if text)


def _coat_details(entry: Entry, coat: Coat) -> Iterator[str]:
    for use in entry.materials:
        if use.amount is not None:
            yield f"{write_number(use.amount)} {use.unit}"
    for value, words in (
        (coat.area_ft2, "ft²"), (coat.slab_f, "°F slab"), (coat.air_f, "°F air"), (coat.humidity_percent, "% humidity"),
    ):  # fmt: skip
        if value is not None:
            yield f"{write_number(value)} {words}"


def _reading_details(read: Reading) -> Iterator[str]:
    yield read.source
    if read.sample is not None:
        yield f"on sample {read.sample}"
    sds = (read.sd_L, read.sd_a, read.sd_b)
    if all(sd is not None for sd in sds):
        even = len(set(sds)) == 1
        shown = " ".join(write_number(sd, 1) for sd in (sds[:1] if even else sds) if sd is not None)
        yield f"± {shown} (one sd)"


def _facts(entry: Entry) -> Iterator[str]:
    kind = _kind(entry.kind)
    declared = {param.name: param for param in kind.params} if kind else {}
    order = [
        *(name for name in declared if name in entry.facts),
        *(n for n in entry.facts if n not in declared),
    ]
    short = () if entry.load or entry.coat else _SHORT
    if "moved_from" in entry.facts:
        yield f"moved from {entry.facts['moved_from']}, entry {entry.facts['moved_from_entry']}"
    for name in order:
        if name not in (*short, *MOVED):
            yield _fact(name, entry.facts[name], declared.get(name))


def _fact(name: str, value: Fact, param: Param | None) -> str:
    title = param.title[:1].lower() + param.title[1:] if param else name.replace("_", " ")
    if isinstance(value, bool):
        return title if value else f"{title}: no"
    if param and param.unit and not isinstance(value, str):
        return f"{title} {write(param.unit, exact(value))}"
    if isinstance(value, str):
        return f"{title}: {value.replace('_', ' ') if param and param.choices else value}"
    return f"{title} {write_number(value)}"
