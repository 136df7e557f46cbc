"""Declarations of a stage or event kind, which drive form, sheet, plan, day card and due windows.

Parameters are scalars, never products (those are the stage's materials, with lot and rate).
Anything a kind could silently forget has no default: state it, or `Without` and the reason.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import KW_ONLY, dataclass
from datetime import datetime
from fractions import Fraction
from typing import Any, Literal

from finishlog import units
from finishlog.errors import InputError, LogError, naming
from finishlog.records.shop import Shop
from finishlog.trade.due_slab import FallsDue

Scalar = float | int | str | bool
Params = Mapping[str, Scalar]
Amiss = tuple[Scalar, ...] | Literal["any"]

YES = ("yes", "y", "true", "1")
NO = ("no", "n", "false", "0")
LONGEST_WORDS = 200
FIRST_YEAR, LAST_YEAR = 1900, 2199


class Without(tuple[Any, ...]):
    """An explicit "none": reads as empty, and `why` gives the reason."""

    why: str

    def __new__(cls, why: str) -> Without:
        made = super().__new__(cls)
        made.why = why
        return made


@dataclass(frozen=True, slots=True)
class Param:
    """One scalar fact of a stage.

    `kind` is number (`unit` is a key of `units.QUANTITIES` then), count, ratio, choice, yes_no, text, day
    (`2026-08-14`) or instant (a day too, or `2026-08-14T07:00-05:00`); `low` and `high` bound numbers and
    counts; `when` is plan, placed or both, or kept: still read where a log has it, no longer asked.

    `observed`: read off the slab, the can or the clock, so a recipe can only plan it; False: how the work is
    done, so a form may offer it filled in. Each figure of a recipe says which. `amiss` are the values ("any":
    each but 0 and no) that moved the color or must not be done again (common practice, no source),
    `amiss_said` how such a one is told. `entered` False: an entry tells it by its material or its coat.
    """

    name: str
    title: str
    unit: str = ""
    kind: str = "number"
    low: Fraction | None = None
    high: Fraction | None = None
    choices: tuple[str, ...] = ()
    when: str = "both"
    help: str = ""
    observed: bool | None = None
    amiss: Amiss = ()
    amiss_said: str = ""
    entered: bool = True

    def is_amiss(self, value: Scalar) -> bool:
        """Whether this value moved the color, or must not be done again."""
        return bool(value) if self.amiss == "any" else value in self.amiss

    def read(self, text: str) -> Scalar:
        """The fact from what a person typed. Raises InputError that names the parameter."""
        with naming(self.name):
            return self.check(_READERS[self.kind](self, text))

    def check(self, value: object) -> Scalar:
        """The fact as it is kept, from a number, a word or a truth value. Raises InputError."""
        if self.kind == "yes_no":
            return self._kept_if(isinstance(value, bool), value)
        if self.kind == "choice":
            return self._kept_if(isinstance(value, str) and value in self.choices, value)
        if self.kind in ("day", "instant"):
            return self._kept_if(isinstance(value, str) and _is_moment(value, self.kind), value)
        if self.kind in ("text", "ratio"):
            fits = isinstance(value, str) and 0 < len(value) <= LONGEST_WORDS
            return self._kept_if(fits and (self.kind == "text" or bool(units.read_ratio(str(value)))), value)
        return self._number(value)

    def _number(self, value: object) -> Scalar:
        found = _finite(value)
        fits = (
            found is not None
            and (self.kind != "count" or found.denominator == 1)
            and (self.low is None or found >= self.low)
            and (self.high is None or found <= self.high)
        )
        return self._kept_if(fits, value)

    def _kept_if(self, fits: bool, value: object) -> Scalar:
        if not fits:
            title = f"“{units.shown(str(value))}” does not fit {self.title}."
            raise InputError(title, f"It takes {self.takes()}.", where=self.name, example=self.example())
        if isinstance(value, Fraction):
            return int(value) if value.denominator == 1 else float(value)
        return value  # type: ignore[return-value]

    def takes(self) -> str:
        """What may stand here, in words."""
        if self.choices:
            return "one of " + ", ".join(choice.replace("_", " ") for choice in self.choices)
        fixed = {
            "yes_no": "yes or no", "text": f"up to {LONGEST_WORDS} characters", "ratio": "parts", "day": "a day",
            "instant": "a day or an instant",
        }  # fmt: skip
        if self.kind in fixed:
            return fixed[self.kind]
        number = "a whole number" if self.kind == "count" else "a number"
        label = f" {units.QUANTITIES[self.unit].us[1]}" if self.unit else ""
        if self.low is None or self.high is None:
            return number + label
        return f"{number} from {units.plain(self.low)} to {units.plain(self.high)}{label}"

    def example(self) -> str:
        """One right value, as it may be typed."""
        if self.choices:
            return self.choices[0].replace("_", " ")
        fixed = {"yes_no": "yes", "text": "in their own words", "ratio": "1:20", "count": "2",
                 "day": "2026-08-14", "instant": "2026-08-14"}  # fmt: skip
        if self.kind in fixed:
            return fixed[self.kind]
        return units.QUANTITIES[self.unit].example if self.unit else "2"


def _finite(value: object) -> Fraction | None:
    """A number as a Fraction; None for a truth value, a text, NaN and the infinities."""
    if isinstance(value, bool) or not isinstance(value, (int, float, Fraction)) or value - value != 0:
        return None
    return Fraction(value)


def _is_moment(text: str, kind: str) -> bool:
    """Whether it is a day, or an instant where that is allowed, of the years 1900 to 2199."""
    if kind == "day" and not re.fullmatch(r"\d{4}-\d\d-\d\d", text, re.ASCII):
        return False
    try:
        return text.isascii() and FIRST_YEAR <= datetime.fromisoformat(text).year <= LAST_YEAR
    except ValueError:
        return False


def _read_day(text: str) -> object:
    """A day as it is kept, typed in any way a day is; any other text as it is."""
    try:
        return units.read_date(text).isoformat()
    except InputError:
        return text.strip()


def _read_number(param: Param, text: str) -> object:
    if param.unit:
        return units.read(param.unit, text, positive=False)
    return units.number_from(text.strip()) if len(text) <= units.LONGEST_TEXT else text


def _read_choice(param: Param, text: str) -> object:
    word = text.strip().lower().replace(" ", "_").replace("-", "_")
    near = [choice for choice in param.choices if choice == word] or [
        choice for choice in param.choices if word and choice.startswith(word)
    ]
    return near[0] if len(near) == 1 else text.strip()


def _read_yes_no(param: Param, text: str) -> object:
    word = text.strip().lower()
    return word in YES if word in YES + NO else text


_READERS: dict[str, Callable[[Param, str], object]] = {
    "number": _read_number,
    "count": lambda _param, text: units.read_count(text, positive=False),
    "ratio": lambda _param, text: text.strip(),
    "choice": _read_choice,
    "yes_no": _read_yes_no,
    "text": lambda _param, text: text.strip(),
    "day": lambda _param, text: _read_day(text),
    "instant": lambda _param, text: _read_day(text),
}


@dataclass(frozen=True, slots=True)
class Need:
    """Material a stage needs: `unit` is lb or gal, `note` says what for."""

    what: str
    amount: Fraction
    unit: str
    note: str = ""


@dataclass(frozen=True, slots=True)
class Window:
    """When something is done: hours after the event `anchor` (pour_end, rinse or coat)."""

    anchor: str
    opens_h: int
    closes_h: int
    usual_from_h: int
    usual_to_h: int


@dataclass(frozen=True, slots=True)
class Rate:
    """How much of a product a stage takes: `quantity` is dose, spread (lb/100 ft²) or coverage (ft²/gal).

    `usual` are the shop's settings for it: a rate far from them is asked, of an entry and of a plan, by the
    `title`. `product` is the kind of product it is of, `learned` whether the log's own middle is usual too,
    `fact` the parameter that holds it where an entry weighs it instead.
    """

    quantity: str
    product: str = ""
    usual: tuple[str, ...] = ()
    title: str = ""
    learned: bool = False
    fact: str = ""


@dataclass(frozen=True, slots=True)
class DayCard:
    """A part of the day card: its place from the top, and the fields that it has room for.

    `planned`: only where a recipe has the stage; `later`: done on another day than the pour; `times`: so many
    parts, one for each coat.
    """

    place: int
    fields: tuple[str, ...]
    planned: bool = False
    later: bool = False
    times: int = 1


Comes = Literal["on_the_day", "afterwards", "any_time"]
"""Done while the slab is placed, only after its end, or whenever: what is logged earlier is asked."""
Again = Literal["once", "soon", "often"]
"""A second within a day, or only one within minutes, is most likely the first logged twice; or none is."""
InPlan = Literal["stage", "day"] | Without
"""Where a plan shows what was logged: in the line of its stage, or in a line of how it was that day."""


@dataclass(frozen=True, slots=True)
class Kind:
    """What stages and events share: named facts that are read, checked and asked for, and what is made of them.

    `verb` says it of the past ("rinsed"); `detail` is the field of an entry that holds more of it ("coat" or
    nothing); `product_kinds` are what its materials may be; `repeatable`, whether it is done more than once
    on one area; `logged_as`, the kind of entry it is logged with where it has none of its own.

    Stated by each: `cautions`, the matters it warns of, by key (`warns` are the lines of its own key);
    `due`, what falls due of it; `day_card`, its part there; `in_plan`, where a plan shows it; else `Without` why.
    `comes` and `again` say when it is done and what is taken for logged twice; `at_night`: no hour is odd.
    `usual_settings` stand beside its form; `same_as_last` are the fields that a new entry takes over;
    `asks` those worth asking on Today's sheet though nothing is usual; `plan_day` is its day of the plan.
    """

    key: str
    title: str
    verb: str
    _: KW_ONLY
    cautions: tuple[str, ...]
    due: tuple[FallsDue, ...]
    day_card: DayCard | Without
    in_plan: InPlan
    params: tuple[Param, ...] = ()
    params_version: int = 1
    warns: tuple[str, ...] = ()
    product_kinds: tuple[str, ...] = ()
    detail: str = ""
    logged_as: str = ""
    comes: Comes = "any_time"
    again: Again = "often"
    at_night: bool = False
    usual_settings: tuple[str, ...] = ()
    same_as_last: tuple[str, ...] = ()
    asks: tuple[str, ...] = ()
    plan_day: str = ""

    def param(self, name: str) -> Param:
        """The parameter of that name. Raises InputError that lists the valid names."""
        found = next((param for param in self.params if param.name == name), None)
        if found is None:
            valid = ", ".join(param.name for param in self.params)
            has = f"It has {valid}." if valid else "It has none of its own."
            raise InputError(f"{self.title} has no fact “{units.shown(name)}”.", has, where=name)
        return found

    def validate(self, params: Mapping[str, object]) -> dict[str, Scalar]:
        """The parameters checked; None and absent ones are unknown and left out. Raises InputError."""
        return {name: self.param(name).check(value) for name, value in params.items() if value is not None}

    @property
    def planned(self) -> tuple[Param, ...]:
        """What is asked when it is planned."""
        return tuple(param for param in self.params if param.when in ("plan", "both"))

    @property
    def placed(self) -> tuple[Param, ...]:
        """What is asked when it is logged."""
        return tuple(param for param in self.params if param.when in ("placed", "both"))


@dataclass(frozen=True, slots=True)
class Example:
    """One worked example: what `needs` gives for an area in ft2 and a volume in yd3 in the usual shop."""

    params: Params
    area_ft2: Fraction
    volume_yd3: Fraction
    needs: tuple[Need, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class StageKind(Kind):
    """A kind of stage. `reproduce` is what must be known to do it again: (name of the fact, its title).

    `labels` are the kinds of product on whose label its own caution stands, or `Without` why none;
    `reckoned`: the plan states its material by itself, to the ounce or the coat; `always`: every plan has its
    caution; `wets`: the slab has to dry after it; `once`: an area gets it once, so an entry for no area is of
    those that have none of their own.
    """

    comes: Comes
    again: Again
    labels: tuple[str, ...]
    needs: Callable[[Params, Fraction, Fraction, Shop], tuple[Need, ...]]
    window: Callable[[Params, Shop], Window | None]
    reproduce: tuple[tuple[str, str], ...]
    sources: tuple[str, ...]
    example: Example
    upgrade: Callable[[Params, int], dict[str, Scalar]]
    repeatable: bool = False
    needs_area: bool = True
    rate: Rate | None = None
    reckoned: bool = False
    always: bool = False
    wets: bool = False
    once: bool = False

    def missing(self, known: Mapping[str, object]) -> tuple[str, ...]:
        """The titles of the facts that are needed to do it again and are not known."""
        return tuple(title for name, title in self.reproduce if known.get(name) is None)


def number(params: Params, name: str, default: Fraction) -> Fraction:
    """A numeric parameter as a Fraction, or the default."""
    value = params.get(name)
    return default if value is None else Fraction(str(value))


def no_needs(params: Params, area_ft2: Fraction, volume_yd3: Fraction, shop: Shop) -> tuple[Need, ...]:
    """A stage that uses up nothing that is reckoned."""
    return ()


def no_window(params: Params, shop: Shop) -> Window | None:
    """A stage that belongs to the pour itself."""
    return None


def first_version(key: str) -> Callable[[Params, int], dict[str, Scalar]]:
    """`upgrade` of a kind whose parameters have had one version. Raises LogError for any other."""
    return only_added(key, 1)


def only_added(key: str, version: int) -> Callable[[Params, int], dict[str, Scalar]]:
    """`upgrade` of a kind whose later versions only know more facts. Raises LogError for a newer version."""

    def upgrade(params: Params, from_version: int) -> dict[str, Scalar]:
        if not 1 <= from_version <= version:
            cause = f"Its version is {from_version}, this program knows version {version}."
            raise LogError(f"The stage {key} comes from a newer finishlog.", cause, "Update finishlog.")
        return dict(params)

    return upgrade
