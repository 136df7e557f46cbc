"""How a plan is painted: the joint, what to order, when, what differs, what to say."""

from __future__ import annotations

from typing import TYPE_CHECKING

from finishlog.desk import color_words, plan_words, shape_words, words
from finishlog.tui import wording
from finishlog.tui.glyphs import Piece
from finishlog.tui.ink import Line, hanging, heading, paragraph
from finishlog.tui.painting import NARROW, beside, fact
from finishlog.tui.text import plain, wrap
from finishlog.tui.widgets import swatch
from finishlog.tui.widgets.sketch import sketch

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from finishlog.records.plan import Plan
    from finishlog.tui.desks import Look, PlanView
    from finishlog.tui.desks_color import Joint
    from finishlog.tui.theme import Depth

UNBROKEN = 10_000
FIGURE = 20
"""Column at which the figures of the order end."""
TONES = {"act": "warn", "ask": "warn", "know": "muted"}


def joint(view: PlanView, width: int, rows: int, depth: Depth, dark: bool) -> list[Line]:
    """The old slab and the new one touching, in one state; the new half is left open where nobody can tell."""
    gate = view.plan.gate
    if view.joint is not None and view.base is not None and (gate is None or gate.state != "closed"):
        return _both(view.base, view.joint, width, rows, depth, dark)
    if view.base is None:
        return paragraph(
            "No color was read on the old slab. Read it, cleaned, before you promise a match.", width, "muted"
        )
    left, right = width // 2, width - width // 2
    old = _old(view.base, view.release, left, rows, depth, dark)
    new = _open(right, rows + (view.release is not None))
    caption = Line().bold("OLD").muted(f"  {_state(view.base)}").to(left).put("▼")
    under = Line().put(_named(view.base.name, depth)).to(left).put("▲")
    return [
        caption.facing(Line().bold("NEW").muted("  not known"), width),
        *(row.join(open_row) for row, open_row in zip(old, new, strict=True)),
        under.facing(Line().muted("no forecast: a sample tells"), width),
    ]


def _both(base: Look, found: Joint, width: int, rows: int, depth: Depth, dark: bool) -> list[Line]:
    """Both halves as the odds expect them, the caption under the new one in words."""
    left, state = width // 2, "sealed" if found.sealed else "bare"
    slabs = [(found.old_hex, left), (found.new_hex, width - left)]
    lines = [
        Line().join(swatch.solid(slabs[0][0], left, depth, dark))
        .join(swatch.solid(slabs[1][0], width - left, depth, dark))
        for _ in range(rows)
    ]  # fmt: skip
    caption = Line().bold("OLD").muted(f"  {_state(base)}").to(left).put("▼")
    under = Line().put(_named(found.old_name, depth)).crop(left - 1).to(left).put("▲")
    short = (
        f"  {state}, day {found.age_days}"
        if width < NARROW
        else f"  forecast at {found.age_days} days, {state}"
    )
    return [
        caption.facing(Line().bold("NEW").muted(short), width),
        *lines,
        *under_joint(under, found.compared, left, width),
    ]


def under_joint(under: Line, compared: str, left: int, width: int) -> list[Line]:
    """The comparison at the right edge; in a row of its own where it does not fit beside the name."""
    if len(compared) + left + 3 <= width:
        return [under.facing(Line().put(compared), width)]
    return [under.crop(width), Line().facing(Line().put(compared), width, 0)]


def _named(name: str, depth: Depth) -> str:
    return f"≈ {name}" if depth == "gray" else name


TONE_OF = {"should match": "ok", "close: pour a sample first": "warn", "don't promise a match": "warn"}


def verdict(plan: Plan) -> tuple[str, str]:
    """The answer and its tone: the odds in words where there are some, else what to order."""
    if plan.gate is not None and plan.gate.state == "closed":
        return plan_words.headline(plan), "warn"
    tone = "text" if plan.odds is None else TONE_OF.get(plan.odds.verdict, "bad")
    return plan_words.headline(plan), tone


def odds_block(plan: Plan, width: int) -> list[Line]:
    """What stands behind the odds; percent, limit and jobs in the last line alone."""
    lines = paragraph(gate, width) if (gate := plan_words.gate(plan)) else []
    if plan.odds is None:
        return [*lines, *(paragraph(plan.odds_advice, width) if plan.odds_advice else [])]
    for label, text in color_words.odds_reasons(plan.odds):
        lines += hanging(Line().muted(label).to(14), text, width)
    return [*lines, *paragraph(color_words.odds_figures(plan.odds), width, "muted")]


def _old(base: Look, release: Look | None, width: int, rows: int, depth: Depth, dark: bool) -> list[Line]:
    lines = [swatch.solid(base.hex, width, depth, dark) for _ in range(rows)]
    if release is not None:
        lines.append(swatch.half(release.hex, width, depth, dark, lower=False))
    return lines


def _open(width: int, rows: int) -> list[Line]:
    """A slab not poured: its outline only."""
    word = "not known".center(width - 2) if width > 20 else " " * (width - 2)
    middle = (rows - 1) // 2
    lines = [Line(Piece(f"┌{'─' * (width - 2)}┐", "rule"))]
    for row in range(1, rows - 1):
        inside = Piece(word, "muted") if row == middle else Piece(" " * (width - 2))
        lines.append(Line(Piece("│", "rule"), inside, Piece("│", "rule")))
    return [*lines, Line(Piece(f"└{'─' * (width - 2)}┘", "rule"))]


def _state(look: Look) -> str:
    reading = look.reading
    damp = "damp, a preview; " if reading.damp else ""
    return f"{damp}read {'sealed' if reading.sealed else 'bare'}, {wording.month(look.on)}"


def short(plan: Plan, width: int, system: str) -> list[Line]:
    """For 80 columns: what to order and when in one row each, then what differs."""
    lines = [line.crop(width) for one in order(plan, system, UNBROKEN) for line in one]
    lines.append(dates(plan).crop(width))
    return [*lines, Line(), *(line for one in differing(plan, width) for line in one)]


def rest(plan: Plan, width: int, system: str) -> list[Line]:
    """What follows the short plan."""
    return _blocks([*_figures(plan, width, system), *_after(plan, width, system)], width)


def whole(plan: Plan, width: int, system: str) -> list[Line]:
    """A plan that was kept, in the order it is acted on."""
    differs = ("What differs", [line for one in differing(plan, width) for line in one])
    return _blocks([*_figures(plan, width, system), differs, *_after(plan, width, system)], width)


def _figures(plan: Plan, width: int, system: str) -> list[tuple[str, list[Line]]]:
    return [
        ("The plan", [line for one in order(plan, system, width) for line in one]),
        ("Loads", loads(plan, width, system)),
        ("Shapes", shapes(plan, width, system)),
        ("When", when(plan, width)),
        *_pour_day(plan, width, system),
        ("Stages", stages(plan, width, system)),
    ]


def _after(plan: Plan, width: int, system: str) -> list[tuple[str, list[Line]]]:
    return [
        ("Then", [line for one in then(plan, width) for line in one]),
        ("The odds, not for the customer", odds_block(plan, width)),
        *_closing(plan, width, system),
    ]


def wide(plan: Plan, width: int, system: str) -> list[Line]:
    """From 110 columns: the plan and its days at the left, what differs and what to say at the right."""
    column = width * 6 // 10 + 2
    room, side = column - 4, width - column
    left = _blocks(_figures(plan, room, system), room)
    right = _blocks([
        ("What differs", [line for one in differing(plan, side) for line in one]),
        ("Then", [line for one in then(plan, side) for line in one]),
        ("The odds, not for the customer", odds_block(plan, side)),
        ("Tell the customer", _bullets(plan.tell_customer, side)),
    ], side)  # fmt: skip
    closing = [block for block in _closing(plan, width, system) if block[0] != "Tell the customer"]
    return [*beside(left, right, column), Line(), *_blocks(closing, width)]


def _pour_day(plan: Plan, width: int, system: str) -> list[tuple[str, list[Line]]]:
    """The clock of the day and the joints, each with what it rests on."""
    from finishlog.desk import plan_clock, plan_joints

    return [
        ("Pour day", _noted(plan_clock.lines(plan, system), plan_clock.notes(plan, system), width)),
        ("Joints", [
            *_noted(plan_joints.lines(plan, system), plan_joints.advice(plan), width),
            *(row for text in plan_joints.at_the_cut(plan) for row in hanging(Line().put("! ", "warn"), text, width)),
        ]),
    ]  # fmt: skip


def _noted(rows: list[tuple[str, str, str]], notes: Iterable[str], width: int) -> list[Line]:
    """Label and figure in columns, the words beside them or, where there is no room, under them."""
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
        ("Missing in the old record", _bullets(plan.missing, width)),
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
    """The new area: its measures in words, each shape drawn by itself."""
    drawn = sketch(shape_words.drawn(plan.request.shapes, system), width)
    return [*paragraph(plan_words.new_area(plan, system), width), *drawn]


def order(plan: Plan, system: str, width: int) -> list[list[Line]]:
    """What to order: label, figure right-aligned in its column, words."""
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
    """What each truck gets."""
    lines = []
    for label, yards, *others in plan_words.load_lines(plan, system):
        head = Line().put(label).facing(Line().bold(yards), FIGURE, gap=1)
        if others:
            head.to(FIGURE).facing(Line().bold(others[0]), FIGURE + 15).gap(3)
            lines += hanging(head, others[1], width, "muted")
        else:
            lines.append(head)
    return lines


DATES = {"pour": "pour", "rinse": "rinse", "seal": "seal", "compare_from": "compare from"}


def dates(plan: Plan) -> Line:
    """The days that count in one row: of a window its beginning."""
    line = Line()
    for day in plan.days:
        if day.key in DATES:
            first = day.when.partition(",")[0].partition(" to ")[0]
            line.gap(2 if line.width else 0).muted(f"{DATES[day.key]} ").put(first, bold=day.key == "pour")
    return line


def when(plan: Plan, width: int) -> list[Line]:
    """Every day and window, with what to watch on it; a weekend is said before the pour."""
    lines: list[Line] = []
    column = max(len(day.title) for day in plan.days) + 2
    for day in plan.days:
        lines += hanging(Line().muted(day.title).to(column), day.when, width)
        for text, tone, mark in ((day.warning, "warn", "! "), (day.watch, "muted", "")):
            if text:
                lines += hanging(Line().gap(column).put(mark, "warn"), text, width, tone)
    return lines


def differing(plan: Plan, width: int) -> list[list[Line]]:
    """What is buried first, then what to do something about, what to ask, what to know."""
    rows = [("act", "" if index else "Buried", text) for index, text in enumerate(plan.buried)]
    rows += [("act", day.title, day.warning) for day in plan.days if day.warning]
    rows += [(one.weight, one.title, one.text) for one in plan.differences]
    return _marked(rows, width)


def then(plan: Plan, width: int) -> list[list[Line]]:
    """How it was that day; what must not be done again first."""
    return _marked([(one.weight, one.title, one.text) for one in plan.then], width)


def stages(plan: Plan, width: int, system: str) -> list[Line]:
    """What the order does not tell of the stages: what they take, how they were done."""
    rows = plan_words.stage_lines(plan, system)
    column = max((len(title) for title, _, _ in rows), default=0) + 2
    return [
        line
        for title, needs, said in rows
        for line in hanging(Line().muted(title).to(column), "; ".join(p for p in (needs, said) if p), width)
    ]


def _marked(rows: Sequence[tuple[str, str, str]], width: int) -> list[list[Line]]:
    column = min(max((len(title) for _, title, _ in rows), default=0), 12) + 4
    return [_difference(weight, title, text, column, width) for weight, title, text in rows]


def _difference(weight: str, title: str, text: str, column: int, width: int) -> list[Line]:
    """Mark, title, words under each other in their column; a long title pushes only its first row."""
    head = Line().put(f"{plan_words.MARKS[weight]} ", TONES[weight]).bold(title).gap(2)
    rows = wrap(plain(text), width - column)
    if head.width <= column:
        first = head.to(column).put(rows[0])
        return [first, *(Line().gap(column).put(row) for row in rows[1:])]
    start = wrap(plain(text), width - head.width)[0]
    others = wrap(plain(text)[len(start) :], width - column) if len(start) < len(plain(text)) else []
    return [head.put(start), *(Line().gap(column).put(row) for row in others)]


def _caution(stage: str, text: str, width: int) -> list[Line]:
    return hanging(Line().muted(stage).to(18), text, width)


def _bullets(texts: Iterable[str], width: int) -> list[Line]:
    return [line for text in texts for line in hanging(Line().muted("· "), text, width)]


def _placed(plan: Plan, width: int, system: str) -> list[Line]:
    lines: list[Line] = []
    for one in words.placed_lines(plan.reference, system):
        lines += fact(one.label, one.text, one.figure, width, warn=one.warn)
    return lines
