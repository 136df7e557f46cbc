"""The day card, for the crew: blanks in order of the day with usual values, one page.

Words to circle are those of the log's stage kinds, so that typing it in the evening goes straight down.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from fractions import Fraction

from finishlog.desk.plan.words import lot_said
from finishlog.desk.words import inches, left_words
from finishlog.papers.layout import style
from finishlog.papers.layout.frame import Blank, Cell
from finishlog.papers.layout.ink import Ink
from finishlog.papers.layout.leaf import Leaf, one_page
from finishlog.papers.layout.look import Look
from finishlog.papers.sheets import pour_day
from finishlog.papers.sheets.batch_sheet import slump_wanted
from finishlog.papers.sheets.match_sheet import head
from finishlog.records.log import Fact, Stage
from finishlog.records.plan import Plan
from finishlog.trade import stages
from finishlog.trade.cautions import cautions
from finishlog.trade.stages.base import Param, StageKind
from finishlog.trade.stages.joint import cut_depth_in
from finishlog.units import QUANTITIES, exact, write, write_number, write_weekday, write_weight_lb_oz

MARGIN = 38.0
NOTE = 14.0
PENCILS = (21.0, 19.0, 17.5)
"""Space above the lines: the most that fits one page. Less is too little for a pencil in gloves."""
PARTED = (25.0, 23.0, 21.0, 19.0, 17.0, 15.5, 14.0, 12.5)
"""The same on two pages: the day of the pour, and later work."""
BREATH = 5.0
"""Between the parts of a card on two pages."""
ROOM_FOR_BALANCE = 3
"""Most loads with a line left for a balance load."""
ACROSS = 6
OWN = ("integral_color", "powder_release", "stamp", "cure", "joint", "rinse", "seal")
"""Stages with their own part; others get one generated from their kind."""


def draw(ink: Ink, plan: Plan, given: Look) -> Leaf:
    """The card of a plan."""
    leaf = one_page(PENCILS, lambda pencil: _Card(ink, plan, given, pencil).laid())
    if (
        len(leaf.pages) > 1
    ):  # notes go on the back before the card takes two pages; a color is always asked for
        leaf = one_page(PENCILS, lambda pencil: _Card(ink, plan, given, pencil, tight=True).laid())
    for pencil in PARTED if len(leaf.pages) > 1 else ():
        leaf = _Card(ink, plan, given, pencil, parted=True).laid()
        if len(leaf.pages) == 2:
            break
    return leaf


class _Card:
    """A card being laid out for one plan."""

    def __init__(
        self, ink: Ink, plan: Plan, given: Look, pencil: float, parted: bool = False, tight: bool = False
    ) -> None:
        self.leaf = Leaf(ink, head(plan, given, "Day card"), MARGIN)
        self.leaf.writing, self.parted, self.tight = pencil, parted, tight
        self.plan, self.given, self.units = plan, given, given.units
        self.loads = plan.concrete.loads.loads_yd3

    def laid(self) -> Leaf:
        self._morning()
        self._loads()
        self._surface()
        self._evening()
        self._later()
        return self.leaf

    def part(
        self,
        name: str,
        rows: Sequence[Sequence[Blank]],
        *keys: str,
        note: str = "",
        warning: str = "",
        said: str = "",
        ruled: bool = False,
        least: float = 34,
    ) -> None:
        """A part of the card: its stage's cautions in one small line, then rows to write on."""
        with self.leaf.section(name, note, ruled=ruled, least=least) as (body, _):
            if line := " ".join(caution.text for caution in cautions(*keys)):
                body.row((Cell(line, 0, style.LABEL),))
            for line in filter(None, (warning, said)):
                body.row((Cell(line, 0, style.SMALL_STRONG if line is warning else style.SMALL),))
            for row in rows:
                body.blanks(row)
        self.leaf.frame.skip(BREATH if self.parted else 0)

    def label(self, key: str) -> str:
        """A quantity's unit as shown on the card."""
        quantity = QUANTITIES[key]
        return (quantity.metric if self.units == "metric" else quantity.us)[1]

    def written(self, key: str, value: Fact | Fraction | None) -> str:
        """A fact with its unit; empty where it is unknown."""
        if value is None or isinstance(value, str | bool):
            return ""
        if key == "depth_in":
            return inches(exact(value), self.units)
        quantity = QUANTITIES[key]
        _, label, digits = quantity.metric if self.units == "metric" else quantity.us
        text = write(key, exact(value), self.units, digits)
        number, _, _ = text.partition(" ")
        return f"{write_number(Fraction(number))} {label}" if number.replace(".", "").isdigit() else text

    def _morning(self) -> None:
        air, wind = self.label("temperature_f"), self.label("speed_mph")
        first = [
            Blank("pour day", 1.2, write_weekday(self.plan.on)), Blank("crew", 2),
            Blank("subgrade, ring one", 1.9, choices=("dry", "damp", "puddles")),
        ]  # fmt: skip
        second = [
            Blank(f"air {air}", 0.8, pour_day.air(self.plan, self.units)), Blank("humidity %", 0.8),
            Blank(f"wind {wind}", 0.8),
            Blank("sky, ring one", 1.6, choices=("sun", "part sun", "cloud")),
            Blank("first truck due", 1.1, pour_day.first_truck(self.plan)),
        ]  # fmt: skip
        self.part(
            "Day", [first, second], "placing", "skin", note="bold: planned, or as on the old slab", warning=self.buried,
            said=pour_day.clock_line(self.plan, self.units),
        )  # fmt: skip

    @property
    def buried(self) -> str:
        return f"Buried here: {'; '.join(self.plan.buried)}." if self.plan.buried else ""

    def _loads(self) -> None:
        pigment = self.plan.pigment
        lots = [lot_said(self.plan, part.lot) for part in pigment.parts] if pigment else []
        lot = " + ".join(one for one in lots if one)
        for at, yards in enumerate(self.loads):
            weight = write_weight_lb_oz(pigment.loads[at].pigment_lb, self.units) if pigment else ""
            blanks = self._load(
                write("volume_yd3", yards, self.units), weight, lot, slump_wanted(self.plan, self.given)
            )
            self.part(f"Load {at + 1}", [blanks], *(("integral_color",) if at == 0 else ()))
        if len(self.loads) <= ROOM_FOR_BALANCE:
            self.part("Balance", [self._load()])

    def _load(self, yards: str = "", pigment: str = "", lot: str = "", slump: str = "") -> list[Blank]:
        volume = "yards" if self.units == "us" else "m³"
        return [
            Blank("ticket", 0.9), Blank("arrived", 0.75), Blank(volume, 0.9, yards),
            Blank("pigment", 1.2, pigment), Blank("lot", 1, lot),
            Blank(f"water {self.label('liquid_gal')}, when", 1.1), Blank("slump", 0.6, slump),
            Blank("sun, shade, wind", 1),
        ]  # fmt: skip

    def _surface(self) -> None:
        before, _ = self._others()
        for kind, stage in before:
            self._drawn(kind, stage)
        self._release()
        stamp = self.plan.reference.stamp
        self.part("Stamp", [[
            Blank("pattern", 1.3, self.plan.reference.pattern or ""), Blank("mat set", 1.1, _text(stamp, "mat_set")),
            Blank("mats", 0.5, _text(stamp, "mats")), Blank("slab, ring one", 1.3, choices=("soft", "right", "stiff")),
            Blank("at", 0.5), Blank("who", 0.6),
        ]], "stamp")  # fmt: skip
        self.part("Finishing", [[
            Blank("bleed water gone", 0.8, choices=("yes", "no")), Blank("passes", 0.5),
            Blank("sprayed on, ring one", 1.5, choices=("nothing", "water", "aid")),
            Blank("burnished spots, touch-up", 1.5),
        ]], "finishing")  # fmt: skip
        hours = f"{self.given.shop.saw_cut_from_h}–{self.given.shop.saw_cut_to_h} h"
        depth = self.written("depth_in", cut_depth_in(self.plan.concrete.take_off.depth_in))
        self.part("Joints", [[
            Blank("how, ring one", 1.3, choices=_choices("joint", "method")), Blank("at, if cut", 0.85, hours),
            Blank("depth", 0.7, depth), Blank("where they run", 1.2),
            Blank("buried lines checked", 0.9, choices=("yes", "no")),
        ]], "joint", warning=self.buried, said=pour_day.joint_line(self.plan, self.units))  # fmt: skip
        self.part("Cure", [[
            Blank("how, ring one", 2.9, choices=_choices("cure", "method")), Blank("product, lot", 1.2),
            Blank("at", 0.5),
        ]], "cure")  # fmt: skip

    def _release(self) -> None:
        release = self.plan.release
        if release is None:
            return
        pounds = write_weight_lb_oz(release.lb, self.units)
        self.part("Release", [[
            Blank(f"thrown, {release.name}", 1.7, pounds), Blank("lot", 0.8, lot_said(self.plan, release.lot) or ""),
            Blank("reclaimed share", 0.8), Blank("at", 0.6), Blank("who", 0.6),
        ]], "powder_release")  # fmt: skip

    def _others(self) -> tuple[list[tuple[StageKind, Stage]], list[tuple[StageKind, Stage]]]:
        """The recipe's other stages: those before the rinse, and those after."""
        recipe = self.plan.reference.area.recipe
        order = [kind.key for kind in stages.KINDS]
        found = [
            (stages.kind(stage.kind), stage)
            for stage in (recipe.stages if recipe else ())
            if stage.kind in order and stage.kind not in OWN
        ]
        rinse = order.index("rinse")
        return [f for f in found if order.index(f[0].key) < rinse], [
            f for f in found if order.index(f[0].key) > rinse
        ]

    def _drawn(self, kind: StageKind, stage: Stage) -> None:
        """A part generated from the kind: materials and every fact to log."""
        blanks = [Blank(f"{m.product.name}, used", 1.4) for m in stage.materials] or [Blank("product", 1.4)]
        blanks += [Blank("lot", 0.7), *self._asked(kind, stage), Blank("at", 0.5), Blank("who", 0.6)]
        rows = [blanks[at : at + ACROSS] for at in range(0, len(blanks), ACROSS)]
        self.part(kind.title, rows, kind.key)

    def _asked(self, kind: StageKind, stage: Stage) -> Iterator[Blank]:
        for param in kind.placed:
            value = stage.params.get(param.name)
            choices = ("yes", "no") if param.kind == "yes_no" else _spoken(param)
            usual = self.written(param.unit, value) if param.unit else ("" if value is None else str(value))
            fits = 1 < len(choices) <= 3
            yield Blank(param.title, 1.2 if fits else 0.9, "" if fits else usual, choices if fits else ())

    def _evening(self) -> None:
        many = len(self.loads) > 1
        volume = "yards" if self.units == "us" else "m³"
        leftover = [
            blank
            for at in range(1, len(self.loads) + 1)
            for blank in (Blank(f"load {at} returned" if many else f"{volume} returned"), Blank("dumped"))
        ]
        rows = [leftover[at : at + ACROSS] for at in range(0, len(leftover), ACROSS)]
        self.part("End of pour", [[Blank("last placed at", 1), *rows[0]], *rows[1:]])
        samples = [
            Blank(f"load {at}, no." if many else "sample no.", 0.6) for at in range(1, len(self.loads) + 1)
        ]
        rows = [samples[at : at + ACROSS] for at in range(0, len(samples), ACROSS)]
        rows[-1] = [
            *rows[-1], Blank("size", 0.6, "60 × 60 cm" if self.units == "metric" else "2 × 2 ft"), Blank("kept where"),
            Blank("half sealed", 0.6, choices=("yes", "no")),
        ]  # fmt: skip
        self.part("Samples", rows)

    def _later(self) -> None:
        temperature = self.label("temperature_f")
        self.part("First 72 h", [[
            Blank(f"low {temperature}"), Blank(f"high {temperature}"), Blank(f"rain {self.label('depth_in')}"),
            Blank("rain began, h after the pour", 1.6),
        ]], ruled=True, least=self.leaf.bottom / 2 if self.parted else 34)  # fmt: skip
        self.part("Sweep", [[
            Blank("day and time"), Blank(f"reclaimed clean {self.label('mass_lb')}"),
            Blank("kept dry and bagged", 1, choices=("yes", "no")), Blank("who", 0.6),
        ]], "sweep")  # fmt: skip
        self._rinse(temperature)
        _, after = self._others()
        for kind, stage in after:
            self._drawn(kind, stage)
        self.part("Seal", [[
            Blank(f"coat {coat.number}: day, time", 1.4), Blank("product, lot", 1.4),
            Blank("sealer", 1, write("liquid_gal", coat.gal, self.units)), Blank(f"slab {temperature}", 0.6),
            Blank(f"air {temperature}", 0.6), Blank("humid. %", 0.7), Blank("who", 0.6),
        ] for coat in self.plan.sealer.coats], "seal")  # fmt: skip
        color = [
            Blank("day and time", 1.2), Blank("L*, a*, b* or chip", 1.4), Blank("area", 0.7),
            Blank("slab, ring one", 1, choices=("dry", "damp")),
            Blank("ring one", 1, choices=("bare", "sealed")), Blank("who", 0.6),
        ]  # fmt: skip
        self.part("Color read", [color], note="notes on the back" if self.tight else "")
        if self.tight:
            return
        with self.leaf.section("Notes", "rain, sun, a stain, a delay", ruled=False) as (body, _):
            for _ in range(max(1, min(6, int((self.leaf.bottom - body.y) // (NOTE + 2))))):
                body.blanks([Blank("")], NOTE)

    def _rinse(self, temperature: str) -> None:
        then, shop = self.plan.reference, self.given.shop
        age = (
            f"was {then.rinse_age_h:.0f} h"
            if then.rinse_age_h is not None
            else f"{shop.rinse_usual_from_h}–{shop.rinse_usual_to_h} h"
        )
        left = left_words(then).partition(" left")[0]
        self.part("Rinse", [[
            Blank("day and time", 1.4, age), Blank(f"slab {temperature}", 0.6),
            Blank("at", 0.9, self.written("pressure_psi", then.rinse.get("pressure_psi"))),
            Blank("tip", 0.6, self.written("angle_deg", then.rinse.get("tip_deg"))),
            Blank("from", 0.7, self.written("depth_in", then.rinse.get("distance_in"))),
            Blank("passes", 0.7, _text(then.rinse, "passes")), Blank("left", 0.7, left), Blank("who", 0.6),
        ]], "rinse")  # fmt: skip


def _text(facts: Mapping[str, Fact], name: str) -> str:
    value = facts.get(name)
    return "" if value is None else str(value)


def _choices(kind: str, param: str) -> tuple[str, ...]:
    """A choice's words, as displayed."""
    return _spoken(stages.kind(kind).param(param))


def _spoken(param: Param) -> tuple[str, ...]:
    return tuple(choice.replace("_", " ") for choice in param.choices)
