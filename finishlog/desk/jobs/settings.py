"""The shop's settings and words: each with its value, range and source; changed together, or not at all."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from finishlog import units
from finishlog.desk.meanwhile import Meanwhile, meet
from finishlog.desk.record.record import wrong_fields
from finishlog.errors import InputError
from finishlog.inputs import asking
from finishlog.inputs.asking import Wrong
from finishlog.records.shop import DAYS_OF_YEAR, SETTINGS, Setting
from finishlog.records.shop_texts import TEXTS, Text
from finishlog.retrying import anew

if TYPE_CHECKING:
    from finishlog.desk.services import Services

_STARTS = (("Order", "price_per_yd3"), ("Color and placing", "color_percent"), ("Rinse and cut", "saw_cut_from_h"),
           ("Sealer", "seal_from_day"), ("Weather and readings", "evaporation_care"))  # fmt: skip
"""Groups of the settings, each with its first key in the order of `SETTINGS`."""
_WORDS = (("The shop", "shop_name"), ("Letters", "letter_subject"))
"""The same of `TEXTS`."""
_ALL: tuple[Setting | Text, ...] = (*SETTINGS, *TEXTS)


@dataclass(frozen=True, slots=True)
class Held:
    """A setting as it stands: `text` is the shop's own value, blank where the default holds."""

    setting: Setting | Text
    group: str
    text: str

    @property
    def asked(self) -> asking.Field:
        """The field that asks for it."""
        return asking.setting(self.setting)

    @property
    def range(self) -> str:
        """`3 to 5 lb/100 ft²`, `up to 80 characters`."""
        if isinstance(self.setting, Text):
            return f"up to {self.setting.longest} characters"
        if self.setting.unit == DAYS_OF_YEAR:
            return self.setting.unit
        low, high = units.plain(self.setting.low), units.plain(self.setting.high)
        return f"{low} to {high} {self.setting.unit}".strip()

    @property
    def default(self) -> str:
        """What applies while the shop has set nothing, as it would be typed."""
        if isinstance(self.setting, Text):
            return self.setting.default
        return self.setting.said(self.setting.default)

    @property
    def is_words(self) -> bool:
        """True if any text is a valid answer."""
        return isinstance(self.setting, Text)

    @property
    def about(self) -> str:
        """Range and source in a sentence; of words what they are for and what is filled in."""
        if isinstance(self.setting, Setting):
            return f"{self.setting.title}: {self.range}. Source: {self.setting.source}."
        holes = ", ".join(f"{{{hole}}}" for hole in self.setting.holes)
        usual = f" Default: {self.default}" if self.default else ""
        return f"{self.setting.title}: {self.range}." + (f" Fills in: {holes}.{usual}" if holes else "")


def values(services: Services) -> tuple[Held, ...]:
    """All settings in the order of their groups, the words of the shop after its numbers."""
    with services.log().reading() as log:
        own = log.settings()
    starts = {key: group for group, key in (*_STARTS, *_WORDS)}
    group, found = "", []
    for setting in _ALL:
        group = starts.get(setting.key, group)
        found.append(Held(setting, group, own.get(setting.key, "")))
    return tuple(found)


@anew
def change(
    services: Services, texts: Mapping[str, str], begun: Mapping[str, str] | None = None
) -> tuple[str, ...]:
    """Keep texts by key; a blank takes the default again. All or none. Returns the titles that changed.

    `begun` are the texts that were read first: only what differs from them is kept, and nothing where another
    changed it meanwhile. Raises WrongFields for what cannot be read or is out of its range, InputError for a key
    that is none, Meanwhile.
    """
    known = {one.key: asking.setting(one) for one in _ALL}
    wrongs: list[Wrong] = []
    for key, text in texts.items():
        if key not in known:
            raise InputError(f"No setting “{key[:40]}”.", f"Settings are {', '.join(known)}.")
        try:
            known[key].read(text)
        except InputError as wrong:
            wrongs.append(Wrong(key, " ".join(p for p in (wrong.title, wrong.cause) if p), wrong.example))
    if wrongs:
        raise wrong_fields(tuple(wrongs))
    with services.log().writing() as log:
        own = log.settings()
        if begun is not None:
            now = {key: own.get(key, "") for key in texts}
            if meet(begun, now, texts).clashing:
                raise Meanwhile("Someone else changed the settings just now.", "Nothing was written.")
            texts = {key: text for key, text in texts.items() if text.strip() != begun.get(key, "").strip()}
        changed = [key for key, text in texts.items() if text.strip() != own.get(key, "")]
        for key in changed:
            log.set_setting(key, texts[key].strip() or None)
    return tuple(known[key].title for key in changed)
