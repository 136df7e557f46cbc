"""Paints the shelf: each lot, what is left, what needs it, cautions."""

from __future__ import annotations

from finishlog.records.shelf import LotState, ShelfLine, ShelfLot
from finishlog.trade.shelf import amount
from finishlog.tui.desks.office import ShelfView
from finishlog.tui.paint.ink import Line, clip, hanging, heading, paragraph
from finishlog.units import write_date

STATES: dict[LotState, tuple[str, str, str]] = {
    "low": ("!", "low", "warn"), "count": ("~", "count it", "warn"), "left": ("●", "left", "ok"),
    "unknown": ("·", "unknown", "muted"), "out": ("○", "out", "muted"),
}  # fmt: skip
"""Glyph, word and tone of each state."""
MARK = "▌"
NARROW = 66
EMPTY = "i adds a purchase; what jobs use comes off automatically."


def row(line: ShelfLine, at: int, width: int, *, here: bool) -> Line:
    """Mark, state, product and lot, amount left; the lot is cut first."""
    narrow = width < NARROW
    glyph, word, tone = STATES[line.state]
    act = f"pick({at})"
    made = Line().put(MARK if here else " ", "accent").gap(0 if narrow else 1)
    made.put(glyph, tone, act=act).put(f" {word}", tone, bold=here, act=act).to(12 if narrow else 14)
    made.put(line.held.product.name, bold=here, act=act).put(f" · {_lot(line.held)}", "muted", act=act)
    if not narrow:
        made.put(f" · {line.held.product.kind}", "muted", act=act)
    said = line.said.replace(": count it", "")  # the state already says so
    told = Line().put(said, "text" if line.state in ("left", "low") else tone, bold=here, act=act)
    made.facing(told.crop((width - 14) * 3 // 5), width - (1 if narrow else 2))
    return made.on("cursor" if here else "ground", width)


def missing(width: int, *, here: bool) -> Line:
    """A row whose page has not come yet."""
    made = Line().put(MARK if here else " ", "accent").gap(0 if width < NARROW else 1)
    return made.muted("…").on("cursor" if here else "ground", width)


def _lot(held: ShelfLot) -> str:
    return f"lot {held.lot}" if held.lot else "no lot"


def title_of(held: ShelfLot) -> str:
    """Product and lot."""
    return f"{held.product.name} · {_lot(held)}"


def why(view: ShelfView, line: ShelfLine | None, most: int, width: int) -> list[Line]:
    """Whether it covers planned jobs, else its cautions."""
    if line is None:
        return []
    told = [f"For {job}: {each.text}" for job, each in view.enough_of(line)]
    told += [*line.held.doubts, *(f"! {text}" for text in view.safety.get(line.held.product.uid, ()))]
    return clip(paragraph(" ".join(told), width), most, width) if told else []


def aside(view: ShelfView, line: ShelfLine | None, width: int, system: str) -> list[Line]:
    """The pane: the lot's account, jobs that need it, cautions."""
    if line is None:
        return []
    held = line.held
    glyph, _, tone = STATES[line.state]
    lines = [*paragraph(title_of(held), width, bold=True)]
    lines += hanging(Line().put(f"{glyph} ", tone), line.said, width, tone)
    kind = ", ".join(part for part in (held.product.kind, held.product.maker) if part)
    lines += [*paragraph(kind, width, "muted"), Line(), *account(held, width, system)]
    lines += [row for doubt in held.doubts for row in hanging(Line().put("! ", "warn"), doubt, width, "warn")]
    enough = view.enough_of(line)
    if enough:
        lines += [Line(), *heading("Enough?", width)]
        for job, each in enough:
            mark = Line().put("! ", "warn") if each.settle else Line().put("√ ", "ok")
            lines += hanging(mark, f"{job}: {each.text}", width)
    minded = view.safety.get(held.product.uid, ())
    if minded:
        lines += [Line(), *heading("Mind", width)]
        lines += [row for text in minded for row in hanging(Line().put("! ", "warn"), text, width)]
    return lines


def account(held: ShelfLot, width: int, system: str) -> list[Line]:
    """Amounts in and out, each with its unit, without the zeros."""
    from finishlog.desk.plan.shelf import per_unit

    rows = (
        ("Bought", held.bought), ("Used", held.used), ("Reclaimed, clean", held.reclaimed),
        ("Reclaimed, used", held.reclaimed_used), ("Spoiled", held.spoiled), ("Thrown away", held.thrown),
    )  # fmt: skip
    lines = [_figure(label, amount(value, held.unit, system), width) for label, value in rows if value]
    if held.left is not None and held.left < held.largest_use:
        lines.append(_figure("Largest use", amount(held.largest_use, held.unit, system), width))
    if held.left is not None:
        lines.append(_figure("Left", amount(held.left, held.unit, system), width))
    if held.usd_per_unit is not None:
        lines.append(_figure("Price", per_unit(held.usd_per_unit, held.unit, system), width))
    days = (("Opened", held.opened_on), ("Counted", held.counted_on), ("Last used", held.last_used))
    return [*lines, *(_figure(label, write_date(day), width) for label, day in days if day is not None)]


def _figure(label: str, figure: str, width: int) -> Line:
    return Line().muted(label).facing(Line().bold(figure), min(width, 34))
