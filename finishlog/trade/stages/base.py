"""What a kind of stage says of itself. Form, sheet, facets, palette and help are drawn from it.

Parameters are scalars; products never sit among them (they are materials of the stage, with lot and rate).
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import datetime
from fractions import Fraction

from finishlog import units
from finishlog.errors import InputError, LogError, naming
from finishlog.records.shop import Shop

Scalar = float | int | str | bool
Params = Mapping[str, Scalar]

YES = ("yes", "y", "true", "1")
NO = ("no", "n", "false", "0")
LONGEST_WORDS = 200
FIRST_YEAR, LAST_YEAR = 1900, 2199


@dataclass(frozen=True, slots=True)
class Param:
    """One scalar fact of a stage.

    `kind` is number (`unit` is a key of `units.QUANTITIES` then), count, ratio, choice, yes_no, text, day
    (`2026-08-14`) or instant (a day too, or `2026-08-14T07:00-05:00`); `low` and `high` bound numbers and
    counts; `when` is plan, placed or both, or kept: still read where a log has it, no longer asked.
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


class Facts:
    """What stages and events share: named facts that are read, checked and asked for."""

    __slots__ = ()
    title: str
    params: tuple[Param, ...]

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
class Example:
    """One worked example: what `needs` gives for an area in ft2 and a volume in yd3 in the usual shop."""

    params: Params
    area_ft2: Fraction
    volume_yd3: Fraction
    needs: tuple[Need, ...]


@dataclass(frozen=True, slots=True)
class StageKind(Facts):
    """A kind of stage. `reproduce` is what must be known to do it again: (name of the fact, its title).

    `verb` says it of the past ("rinsed"); `detail` is the field of an entry that holds more of it ("coat" or
    nothing); `product_kinds` are what its materials may be; `repeatable`, whether it is done more than once
    on one area; `logged_as`, the kind of entry it is logged with where it has none of its own.
    """

    key: str
    title: str
    verb: str
    params: tuple[Param, ...]
    params_version: int
    needs: Callable[[Params, Fraction, Fraction, Shop], tuple[Need, ...]]
    window: Callable[[Params, Shop], Window | None]
    cautions: tuple[str, ...]
    reproduce: tuple[tuple[str, str], ...]
    sources: tuple[str, ...]
    example: Example
    upgrade: Callable[[Params, int], dict[str, Scalar]]
    product_kinds: tuple[str, ...] = ()
    detail: str = ""
    repeatable: bool = False
    needs_area: bool = True
    logged_as: str = ""

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
