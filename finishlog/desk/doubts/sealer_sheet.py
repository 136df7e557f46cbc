"""Limits from a sealer's own sheet, saved with the product once entered; else the shop's usual ones."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import fields, replace
from fractions import Fraction
from typing import TYPE_CHECKING

from finishlog.desk.exact_data import UNREADABLE
from finishlog.desk.plain_data import Json, pick
from finishlog.desk.words import listed
from finishlog.errors import InputError
from finishlog.inputs.weather import SEALER, read_limits
from finishlog.records.log import Product
from finishlog.records.quantities.weather import SealerLimits
from finishlog.retrying import anew
from finishlog.trade.readiness import degrees, with_usual
from finishlog.units import plain, write

if TYPE_CHECKING:
    from finishlog.desk.services import Services
    from finishlog.records.shop import Shop
    from finishlog.store import Reader

KIND = "sealer"
_KEY = "sealer:"
"""A product's sheet is remembered under this and its uid."""
Sheets = Mapping[str, SealerLimits]
"""What is known of each sealer, by its folded name."""


def of(log: Reader, product: str) -> SealerLimits:
    """What is known of the sheet of a product, by its uid."""
    text = log.setting(_KEY + product)
    if text is None:
        return SealerLimits()
    try:
        held = {key: Fraction(value) for key, value in json.loads(text).items() if key in _LIMITS}
        age = held.pop("age_days", None)
        return SealerLimits(**held, age_days=None if age is None else int(age))
    except UNREADABLE:
        return SealerLimits()


_LIMITS = tuple(field.name for field in fields(SealerLimits))


def sheets(log: Reader) -> Sheets:
    """All sheets that are known. Of two sealers of one name, only what both say."""
    found: dict[str, SealerLimits] = {}
    for product in log.products(KIND):
        key, limits = folded(product.name), of(log, product.uid)
        found[key] = _both(found[key], limits) if key in found else limits
    return found


def _both(one: SealerLimits, other: SealerLimits) -> SealerLimits:
    same = {key: getattr(one, key) for key in one.told if getattr(one, key) == getattr(other, key)}
    return SealerLimits(**same)


def folded(name: str) -> str:
    """Case and spacing dropped, to compare product names."""
    return " ".join(name.casefold().split())


def over(known: SealerLimits, told: SealerLimits) -> SealerLimits:
    """The known limits, overridden by those just given."""
    return replace(known, **{key: getattr(told, key) for key in told.told})


def product_of(log: Reader, name: str, maker: str | None = None) -> Product:
    """The sealer of that name. Raises InputError that lists the sealers of the log."""
    sealers = log.products(KIND)
    found = [
        p for p in sealers
        if folded(p.name) == folded(name) and (maker is None or folded(p.maker or "") == folded(maker))
    ]  # fmt: skip
    if len(found) == 1:
        return found[0]
    if found:
        makers = listed(p.maker or "an unknown maker" for p in found)
        raise InputError(f"{name[:60]} is made by {makers}.", "Say which.", where="--maker")
    names = listed(dict.fromkeys(p.name for p in sealers))
    there = f"The log has {names}." if sealers else "The log has no sealer yet."
    buy = 'finishlog shelf buy "Badger Coat" --kind sealer'
    example = sealers[0].name if sealers else buy
    raise InputError(f"No sealer “{name[:60]}”.", there, where="PRODUCT", example=example)


def look(services: Services, name: str, maker: str | None = None) -> tuple[Product, SealerLimits]:
    """A sealer and what is known of its sheet. Raises InputError."""
    with services.log().reading() as log:
        product = product_of(log, name, maker)
        return product, of(log, product.uid)


@anew
def keep(
    services: Services, name: str, texts: Mapping[str, str], maker: str | None = None
) -> tuple[Product, SealerLimits]:
    """Keep what the sheet says, by option of `SEALER`; a blank is unknown again, what is not named stays.

    Raises InputError that names the option.
    """
    told = read_limits({option: text for option, text in texts.items() if text.strip()})
    blank = {key: None for option, key, *_ in SEALER if option in texts and not texts[option].strip()}
    with services.log().writing() as log:
        product = product_of(log, name, maker)
        made = replace(over(of(log, product.uid), told), **blank)
        _sound(made)
        held = {key: str(getattr(made, key)) for key in made.told}
        log.set_setting(_KEY + product.uid, json.dumps(held) if held else None)
    return product, made


def _sound(made: SealerLimits) -> None:
    """A limit may contradict one that was kept before. Raises InputError."""
    for low, high, option in (("low_f", "high_f", "low"), ("recoat_from_h", "recoat_to_h", "recoat-from")):
        first, last = getattr(made, low), getattr(made, high)
        if first is not None and last is not None and first > last:
            title = "Nothing fits these limits: the first is over the last."
            raise InputError(title, where=f"--sealer-{option}", example="50 F" if option == "low" else "4 h")


# in words


def text_of(key: str, value: Fraction | int, system: str = "us") -> str:
    """One limit as it is typed."""
    if key in ("low_f", "high_f"):
        return write("temperature_f", Fraction(value), system)
    if key == "dew_margin_f":
        return degrees(Fraction(value), system)
    return plain(Fraction(value)) + {"age_days": "", "humidity_percent": " %"}.get(key, " h")


def texts(limits: SealerLimits, system: str = "us") -> dict[str, str]:
    """What is known of a sheet as texts by option."""
    known = ((option, key, getattr(limits, key)) for option, key, *_ in SEALER)
    return {option: text_of(key, value, system) for option, key, value in known if value is not None}


def rows(limits: SealerLimits, by_sheet: tuple[str, ...], system: str = "us") -> list[tuple[str, str, str]]:
    """Each limit in use: what, how much, whose it is."""
    found = []
    for _, key, title, _ in SEALER:
        value = getattr(limits, key)
        if value is not None:
            whose = "its own sheet" if key in by_sheet else "the shop's usual"
            found.append((title, text_of(key, value, system), whose))
    return found


def in_use(limits: SealerLimits, shop: Shop, system: str = "us") -> list[tuple[str, str, str]]:
    """The limits a sealer is judged by: its own, and the shop's usual where its sheet is not known."""
    return rows(with_usual(limits, shop), limits.told, system)


def limits_json(limits: SealerLimits) -> Json:
    """Limits for other programs; null is unknown."""
    return pick(limits, *_LIMITS)
