"""Paints a plan: joint, order, days, differences, what to tell the customer."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from finishlog.desk import shape_words, words
from finishlog.desk.color import words as color_words
from finishlog.desk.plan import brief, shelf
from finishlog.desk.plan import words as plan_words
from finishlog.tui.match import joint as painted
from finishlog.tui.match.joint import Slab
from finishlog.tui.match.sketch import sketch
from finishlog.tui.paint import wording
from finishlog.tui.paint.ink import Line, clip, hanging, heading, paragraph
from finishlog.tui.paint.layout import NARROW, beside, fact
from finishlog.tui.paint.text import plain

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from finishlog.records.plan import Plan
    from finishlog.tui.desks.views import Look, PlanView
    from finishlog.tui.paint.theme import Depth

SETTLED = 13
"""Column where the text of open points starts."""
FIGURE = 20
"""Column where the order's figures end."""
LONGEST_TITLE = 14
"""Longest title that widens its column, in cells."""
TONES = {"act": "warn", "ask": "warn", "know": "muted"}


def joint(view: PlanView, width: int, rows: int, depth: Depth, dark: bool) -> list[Line]:
    """Old and new in the same state; without a forecast, the new slab as wanted."""
    base, found, gate = view.base, view.joint, view.plan.gate
    if base is None:
        return paragraph(
            "No color read on the old slab. Clean it and read it before you promise a match.", width, "muted"
        )
    release, left = view.release, view.plan.reference.release_left_percent
    old = Slab(
        _state(base),
        base.hex,
        base.name,
        release.hex if release else None,
        release.name if release else "",
        left,
    )
    if found is None or (gate is not None and gate.state == "closed"):
        new = replace(old, state="wanted, like the old", says="a sample decides", like_old=True)
    else:
        state = f"day {found.age_days}, {'sealed' if found.sealed else 'bare'}"
        old = replace(old, base=found.old_hex, says=found.old_name)
        new = replace(old, state=state, base=found.new_hex, says=found.compared)
    return painted.paint(old, new, width, rows, depth, dark)


TONE_OF = {"should match": "ok", "close: pour a sample first": "warn", "don't promise a match": "warn"}


def verdict(plan: Plan) -> tuple[str, str]:
    """The answer and its tone: the odds in words, or the order if there are none."""
    if plan.gate is not None and plan.gate.state == "closed":
        return plan_words.headline(plan), "warn"
    tone = "text" if plan.odds is None else TONE_OF.get(plan.odds.verdict, "bad")
    return plan_words.headline(plan), "warn" if plan_words.to_do_first(plan) else tone


def odds_block(plan: Plan, width: int) -> list[Line]:
    """The basis of the odds; percent, limit and jobs are in the last line only."""
    lines = paragraph(gate, width) if (gate := plan_words.gate(plan)) else []
    if plan.odds is None:
        return [*lines, *(paragraph(plan.odds_advice, width) if plan.odds_advice else [])]
    for label, text in color_words.odds_reasons(plan.odds):
        lines += hanging(Line().muted(label).to(14), text, width)
    return [*lines, *paragraph(color_words.odds_figures(plan.odds), width, "muted")]


def _state(look: Look) -> str:
    reading = look.reading
    damp = "damp, a preview; " if reading.damp else ""
    return f"{damp}{'sealed' if reading.sealed else 'bare'}, {wording.month(look.on)}"


def short(plan: Plan, width: int, system: str) -> list[Line]:
    """Below 110 columns: order and days in a row each, then open points in two rows at most."""
    lines = [_ordered(row, width) for row in brief.order(plan, system)]
    lines.append(dates(plan, width))
    return [*lines, *(line for one in brief.to_settle(plan) for line in _settled(one, width))]


def _ordered(row: brief.Ordered, width: int) -> Line:
    line = Line().bold(row.label).facing(Line().bold(row.figure), FIGURE, gap=1)
    if row.settle:
        line.put(f" ! {row.settle}", "warn").put("; " if row.text else "")
    return (line if row.settle else line.gap(3)).put(row.text).crop(width)


def _settled(one: brief.Settled, width: int) -> list[Line]:
    head = Line().put(f"{one.mark} ", "warn").bold(one.title)
    return clip(hanging(head.to(max(SETTLED, head.width + 1)), one.text, width), 2, width)


def whole(plan: Plan, width: int, system: str) -> list[Line]:
    """The whole plan, in the order to act."""
    differs = ("What differs", [line for one in differing(plan, width) for line in one])
    return _blocks([*_figures(plan, width, system), differs, *_after(plan, width, system)], width)


def _figures(plan: Plan, width: int, system: str) -> list[tuple[str, list[Line]]]:
    return [
        ("The plan", [line for one in order(plan, system, width) for line in one]),
        ("On the shelf", _shelf(plan, width)),
        ("Loads", loads(plan, width, system)),
        ("Shapes", shapes(plan, width, system)),
        ("When", when(plan, width)),
        *_pour_day(plan, width, system),
        ("Stages", stages(plan, width, system)),
    ]


def _shelf(plan: Plan, width: int) -> list[Line]:
    """Shelf stock of each product; empty if no stock is tracked."""
    return [
        line
        for mark, text in shelf.shelf_lines(plan)
        for line in hanging(Line().put(f"{mark} ", "warn" if mark == "!" else "muted"), text, width)
    ]


def _after(plan: Plan, width: int, system: str) -> list[tuple[str, list[Line]]]:
    return [
        ("Last time", [line for one in then(plan, width) for line in one]),
        ("The odds, not for the customer", odds_block(plan, width)),
        *_closing(plan, width, system),
    ]


def wide(plan: Plan, width: int, system: str) -> list[Line]:
    """From 110 columns: plan and days at the left, differences and what to say at the right."""
    column = width * 6 // 10 + 2
    room, side = column - 4, width - column
    left = _blocks(_figures(plan, room, system), room)
    right = _blocks([
        ("What differs", [line for one in differing(plan, side) for line in one]),
        ("Last time", [line for one in then(plan, side) for line in one]),
        ("The odds, not for the customer", odds_block(plan, side)),
        ("Tell the customer", _bullets(plan.tell_customer, side)),
    ], side)  # fmt: skip
    closing = [block for block in _closing(plan, width, system) if block[0] != "Tell the customer"]
    return [*beside(left, right, column), Line(), *_blocks(closing, width)]


def _pour_day(plan: Plan, width: int, system: str) -> list[tuple[str, list[Line]]]:
    """The day's clock and the joints, each with its basis."""
    from finishlog.desk.plan import clock, joints

    return [
        ("Pour day", _noted(clock.lines(plan, system), clock.notes(plan, system), width)),
        ("Joints", [
            *_noted(joints.lines(plan, system), joints.advice(plan), width),
            *(row for text in joints.at_the_cut(plan) for row in hanging(Line().put("! ", "warn"), text, width)),
        ]),
    ]  # fmt: skip


def _noted(rows: list[tuple[str, str, str]], notes: Iterable[str], width: int) -> list[Line]:
    """Label and figure in columns, words beside them, or under them if narrow."""
    lines: list[Line] = []
    column = max((len(label) for label, _, _ in rows), default=0) + 2
    words_at = column + max((len(figure) for _, figure, _ in rows), default=0) + 2
    for label, figure, text in rows:
        head = Line().muted(label).to(column).bold(plain(figure))
        if words_at + NARROW // 3 > width:
            lines += [head, *paragraph(text, width, "text", indent=column)]
        else:
            lines += hanging(head.to(words_at), text, width)
    return [*lines, *(line for note in notes for line in paragraph(note, width, "muted"))] if rows else []


def _closing(plan: Plan, width: int, system: str) -> list[tuple[str, list[Line]]]:
    return [
        ("Missing from the old record", _bullets(plan.missing, width)),
        ("Tell the customer", _bullets(plan.tell_customer, width)),
        ("Cautions", [line for one in plan.cautions for line in _caution(one.stage, one.text, width)]),
        ("The old slab as placed", _placed(plan, width, system)),
    ]


def _blocks(blocks: Iterable[tuple[str, list[Line]]], width: int) -> list[Line]:
    lines: list[Line] = []
    for title, body in blocks:
        if body:
            lines += [*([Line()] if lines else []), *heading(title, width), *body]
    return lines


def shapes(plan: Plan, width: int, system: str) -> list[Line]:
    """The new area: measures in words, each shape drawn."""
    drawn = sketch(shape_words.drawn(plan.request.shapes, system), width)
    return [*paragraph(plan_words.new_area(plan, system), width), *drawn]


def order(plan: Plan, system: str, width: int) -> list[list[Line]]:
    """What to order: label, right-aligned figure, words."""
    rows = []
    for label, figure, text in plan_words.order_lines(plan, system):
        head = Line().bold(label).facing(Line().bold(figure), FIGURE, gap=1).gap(3)
        tone = "text"
        if text.startswith("! "):
            head.put("! ", "warn")
            text, tone = text[2:], "warn"
        rows.append(hanging(head, text, width, tone))
    return rows


def loads(plan: Plan, width: int, system: str) -> list[Line]:
    """The loads, truck by truck."""
    lines = []
    for label, yards, *others in plan_words.load_lines(plan, system):
        head = Line().put(label).facing(Line().bold(yards), FIGURE, gap=1)
        if others:
            head.to(FIGURE).facing(Line().bold(others[0]), FIGURE + 15).gap(3)
            lines += hanging(head, others[1], width, "muted")
        else:
            lines.append(head)
    return lines


def dates(plan: Plan, width: int) -> Line:
    """Key days in one row; if narrow, tighter and without the pour's month."""
    days = brief.timeline(plan)
    line = _timeline(days, " ─ ")
    if line.width > width:
        short = [day._replace(when=day.when.partition(" ")[0]) if day is days[0] else day for day in days]
        line = _timeline(short, "─")
    return line.crop(width)


def _timeline(days: Sequence[brief.Dated], between: str) -> Line:
    line = Line()
    for index, day in enumerate(days):
        line.put(between if index else "", "rule").bold(day.when).muted(f" {day.what}")
        line.put(" !" if day.warned else "", "warn")
    return line


def when(plan: Plan, width: int) -> list[Line]:
    """Every day and window with what to watch; a weekend is noted before the pour."""
    lines: list[Line] = []
    column = max(len(day.title) for day in plan.days) + 2
    for day in plan.days:
        lines += hanging(Line().muted(day.title).to(column), day.when, width)
        for text, tone, mark in ((day.warning, "warn", "! "), (day.watch, "muted", "")):
            if text:
                lines += hanging(Line().gap(column).put(mark, "warn"), text, width, tone)
    return lines


def differing(plan: Plan, width: int) -> list[list[Line]]:
    """Buried items first, then what to act on, ask and know."""
    rows = [("act", "" if index else "Buried", text) for index, text in enumerate(plan.buried)]
    rows += [("act", brief.named(day), day.warning) for day in plan.days if day.warning]
    rows += [(one.weight, one.title, one.text) for one in plan.differences]
    return _marked(rows, width)


def then(plan: Plan, width: int) -> list[list[Line]]:
    """How the old pour went; mistakes not to repeat come first."""
    return _marked([(one.weight, one.title, one.text) for one in plan.then], width)


def stages(plan: Plan, width: int, system: str) -> list[Line]:
    """Stage details the order leaves out: amounts and methods."""
    rows = plan_words.stage_lines(plan, system)
    column = max((len(title) for title, _, _ in rows), default=0) + 2
    return [
        line
        for title, needs, said in rows
        for line in hanging(Line().muted(title).to(column), "; ".join(p for p in (needs, said) if p), width)
    ]


def _marked(rows: Sequence[tuple[str, str, str]], width: int) -> list[list[Line]]:
    """Mark and title in their own column, words beside it."""
    column = min(max((len(title) for _, title, _ in rows), default=0), LONGEST_TITLE) + 3
    return [_difference(weight, title, text, column, width) for weight, title, text in rows]


def _difference(weight: str, title: str, text: str, column: int, width: int) -> list[Line]:
    """A title too long for its column goes above its words."""
    head = Line().put(f"{plan_words.MARKS[weight]} ", TONES[weight]) if title else Line()
    head.bold(title)
    if head.width > column - 1:
        return [head, *paragraph(text, width, indent=column)]
    return hanging(head.to(column), text, width)


def _caution(stage: str, text: str, width: int) -> list[Line]:
    return hanging(Line().muted(stage).to(18), text, width)


def _bullets(texts: Iterable[str], width: int) -> list[Line]:
    return [line for text in texts for line in hanging(Line().muted("· "), text, width)]


def _placed(plan: Plan, width: int, system: str) -> list[Line]:
    lines: list[Line] = []
    for one in words.placed_lines(plan.reference, system):
        lines += fact(one.label, one.text, one.figure, width, warn=one.warn)
    return lines
