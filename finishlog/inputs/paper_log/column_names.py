"""Other names of a paper log's columns."""

from __future__ import annotations

import re
from collections.abc import Sequence
from functools import cache

from finishlog.inputs.asking import Field

ALSO = {
    "customer": ("client", "owner", "homeowner", "name", "customer name", "client name", "bill to", "cust",
                 "who", "who for", "sold to", "builder", "party", "home owner", "contact name",
                 "last name", "family", "people", "whose place", "whose job", "whose", "nm"),
    "job": ("project", "job name", "job description", "work", "project name", "what", "description", "desc",
            "type of work", "what we did", "piece", "scope", "job type", "work done", "job title", "title", "jb"),
    "street": ("address", "site", "site address", "job address", "street address", "location", "addr", "where",
               "place", "job site", "jobsite", "house", "job location", "service address", "road",
               "property", "property address"),
    "town": ("city", "village", "twp", "township"),
    "phone": ("contact phone", "customer phone", "telephone", "tel", "mobile", "cell", "phone no", "ph",
              "phone number"),
    "email": ("e mail", "mail", "email address", "contact email", "customer email", "client email"),
    "poured_on": ("date", "pour date", "date poured", "day", "poured", "placed", "date placed", "when", "dt",
                  "pour day", "placed on", "pour", "date of pour",
                  "completed date", "date completed", "completed on"),
    "area_ft2": ("square feet", "sq ft", "sqft", "sf", "size", "square footage", "sq feet", "footage", "sq",
                 "squares ft", "how big", "ft2"),
    "area": ("section", "surface", "part", "slab"),
    "exposure": ("sun or shade", "faces"),
    "depth": ("thickness", "thick", "slab thickness", "thk", "how thick"),
    "crew": ("foreman", "finisher", "by", "lead", "crew lead", "finishers", "men", "hands", "who poured",
             "poured by"),
    "yards": ("cu yds", "cubic yards", "yardage", "cy", "yds", "yards delivered", "qty yds", "volume", "yd",
              "yrds", "concrete", "concrete yds", "yds del", "qty", "yard", "yds poured", "total yds", "mud", "yd3"),
    "returned": ("leftover", "yards returned", "sent back", "left over", "went back", "back"),
    "balance_yards": ("short load", "extra yards", "balance load", "second order", "cleanup load"),
    "ticket": ("ticket no", "ticket number", "truck ticket", "delivery ticket", "load ticket", "tkt", "tix", "tick",
               "batch ticket", "slip", "slip no"),
    "plant": ("supplier", "ready mix", "batch plant", "producer", "rm plant", "concrete from", "mud from", "readymix"),
    "mix": ("mix number", "mix design", "mix no", "mix id", "mix code"),
    "cement": ("cement content", "cementitious", "cement lb"),
    "cement_kind": ("cement type", "type of cement"),
    "scm_kind": ("ash or slag", "pozzolan"),
    "scm": ("fly ash lb", "ash lb", "slag lb"),
    "admixtures": ("admix", "additives", "adds"),
    "water_gal": ("water", "water added", "gal water", "added water", "h2o", "gals added", "h2o added"),
    "base": ("color", "base color name", "pigment", "integral color", "color name", "shade", "integral",
             "colour", "pigment color", "tint", "mix color", "base shade", "col", "int color"),
    "base_maker": ("color brand", "pigment maker", "pigment brand", "brand", "color mfr", "mfr"),
    "base_lot": ("lot", "lot number", "color lot", "bag lot", "pigment lot", "lot no", "batch"),
    "dose": ("lb yd", "lbs per yard", "lb per yard", "dosage", "color rate", "pigment rate", "load rate",
             "pigment %", "color %", "lbs yd", "rate", "how much color", "color dose", "loading",
             "strength", "mix rate", "# yd", "#/yd", "lb/cy", "color per yard"),
    "base_lb": ("pounds of color", "color lbs", "pigment lbs", "lbs of color", "pigment weight", "color weight",
                "lbs color", "color used lb"),
    "hardener": ("color hardener", "dry shake", "shake on", "shake"),
    "hardener_lb": ("hardener lbs", "lbs hardener", "shake lbs"),
    "release": ("release color", "powder release", "antique release", "release shade", "rel", "antique", "powder",
                "rel color", "release powder", "release agent"),
    "release_lb": ("release lbs", "pounds of release", "lbs of release", "lbs release", "rel lbs", "release used"),
    "liquid_release": ("bond release", "liquid rel", "spray release"),
    "pattern": ("stamp", "stamp pattern", "texture", "mat", "mats", "stamps", "stamp mat", "tools", "skin", "patt"),
    "rinsed_on": ("washed", "wash date", "rinse date", "power washed", "date washed", "rinsed", "wash", "rinse",
                  "pressure washed", "wash day", "pw", "cleaned", "washed off",
                  "washed on", "power washed on", "pressure washed on", "washed off on", "cleaned on"),
    "rinse_age": ("hours to rinse", "wash after", "hours to wash", "rinsed after", "washed after", "hrs to wash",
                  "wash hrs"),
    "rinse_psi": ("psi", "pressure", "washer pressure", "wash psi"),
    "release_left": ("rel left", "release remaining", "percent left", "% left", "antique left"),
    "sealer": ("seal", "sealer used", "sealer name", "sealer product", "sealed with", "sealer type", "slr",
               "what sealer"),
    "sealed_on": ("date sealed", "seal date", "sealed", "sealed date", "seal day", "sld"),
    "sealer_gal": ("sealer gals", "gal sealer", "gallons of sealer"),
    "coats": ("no of coats", "number of coats", "coats of sealer"),
    "resealed_on": ("reseal date", "last reseal", "resealed", "reseal"),
    "slump": ("slump in", "slump inches", "slmp"),
    "air": ("air %", "% air", "air content", "entrained air", "air percent", "air pct", "air entrained"),
    "air_low": ("low", "low temp", "night low", "lo", "temp low", "min temp", "lowest"),
    "air_high": ("high", "high temp", "temp high", "day high", "hi", "max temp", "highest"),
    "weather": ("conditions", "weather notes", "wx"),
    "joints": ("joint method", "saw cuts", "control joints"),
    "cure": ("curing", "cured with"),
    "finishing_note": ("finish", "finishing", "how finished"),
    "sample": ("sample no", "sample number", "sample id"),
    "claim": ("complaint", "callback", "call back", "warranty", "problems", "complaints"),
    "claim_on": ("complaint date", "callback date"),
    "note": ("notes", "comment", "comments", "remarks", "memo", "misc", "other", "anything else", "rem"),
}  # fmt: skip
"""Synonyms of columns in the trade's notebooks, from memory."""

_PERCENT = re.compile(r"\b(?:pct|percent)\b\.?", re.IGNORECASE)
_UNIT_OF_NAME = re.compile(r"[(\[]([^)\]]+)[)\]]|,\s*([^,]+)$")
_WORDS = re.compile(r"[^\W_]+|[%#]")


def names(column: Field) -> tuple[str, ...]:
    """Every name of a column."""
    return (column.title, column.key, *ALSO.get(column.key, ()))


_YES_NO = re.compile(r"\b(?:y ?/ ?n|yes ?/ ?no|y or n|yes or no)\b|\?", re.IGNORECASE)
_AND = re.compile(r" *[/&+] *| +and +|, *", re.IGNORECASE)
_WHOSE = frozenset(
    ("client", "customer", "cust", "contact", "owner", "homeowner", "site", "job", "project", "service", "pour",
     "supplier", "plant", "truck")
)  # fmt: skip
"""Qualifiers before a column's name: `client phone`, `site city`."""
_BONES = 0.75
"""Share of a word's consonants that its abbreviation has: `Rmks` is remarks, `St` is no street."""
_FILLERS = re.compile(r"\b(?:which|what|when|how (?:many|much)|we|did|is|it|the|was|were|came|our|used)\b")
"""Words of a header that is a question: `When washed`, `How many yards came`."""
_ASKING = frozenset(("who", "how", "why"))
"""`Who sealed` is no sealer, `how it was washed` no day."""
_OTHER_BUSINESS = frozenset(
    ("bid", "quote", "quoted", "estimate", "estimated", "est", "invoice", "invoiced", "inv", "billed", "due", "paid",
     "payment", "order", "ordered", "created", "updated", "entered", "scheduled", "planned", "contract", "deposit",
     "price", "cost", "amount", "amt", "tax", "permit")
)  # fmt: skip
"""Words that mark paperwork dates or amounts, not the pour's: kept as a note."""
QUALIFIED = 92.0
"""Of 100: a name with whose it is before it, or with a second name behind it. Set by trial, no source."""


_PER_YARD = re.compile(
    r"(?:(?:#|lbs?\.?|pounds?|colou?r|pigment|integral|dose|dosage|rate|of|added)[ _]*)*"
    r"(?:#|lbs?\.?|pounds?)[ _]*(?:colou?r|pigment)?[ _]*(?:/|per|a)?[ _]*(?:#|lbs?)?[ _]*(?:/|per)?[ _]*"
    r"(?:cu\.?[ _]*|cubic[ _]*)?(?:yds?|yards?|cy)\.?3?",
    re.IGNORECASE,
)


_A_YARD = re.compile(
    r"(?:/|\bper\b|\ba\b|\beach\b)[ _]*(?:cu\.?[ _]*|cubic[ _]*)?(?:yds?|yards?|cy)(?![a-z])", re.IGNORECASE
)
_POUNDS = re.compile(r"#|(?<![a-z])(?:lbs?|pounds?)(?![a-z])", re.IGNORECASE)
_NOT_COLOR = re.compile(
    r"cement|ash|slag|pozz|release|rel\b|hardener|sealer|sand|stone|water|fiber|price|cost", re.IGNORECASE
)


def is_a_yard(header: str) -> bool:
    """Whether a header means an amount per yard, not of a whole pour."""
    return _A_YARD.search(header) is not None or is_per_yard(header)


def is_per_yard(header: str) -> bool:
    """Whether a header means pounds of color per yard in any spelling: `Color lbs/yd`, `# yd`."""
    parts = (header, *(part for match in _UNIT_OF_NAME.findall(header) for part in match if part))
    if any(_PER_YARD.fullmatch(part.strip()) is not None for part in parts):
        return True
    return bool(_A_YARD.search(header) and _POUNDS.search(header) and not is_of_another(header))


def is_of_another(header: str) -> bool:
    """Whether a header names another material than color."""
    return _NOT_COLOR.search(header) is not None


@cache
def plain(name: str) -> str:
    """A header as bare words in lower case."""
    return " ".join(_WORDS.findall(name.casefold().replace("_", " ")))


def likeness(header: str, name: str) -> float:
    """Similarity of a header to a name, 0 to 100; 100 means the same."""
    from rapidfuzz import fuzz

    theirs, ours = plain(header), plain(name)
    bare = plain(_YES_NO.sub(" ", _UNIT_OF_NAME.sub(" ", header))) or theirs
    if ours in (theirs, bare):
        return 100.0
    if _OTHER_BUSINESS & set(bare.split()) - set(ours.split()):
        return 0.0
    if ours in _qualified(header, bare):
        return QUALIFIED
    if _asks(bare) and _asks(bare) != _asks(ours):
        return 0.0
    if min(len(bare), len(ours)) <= 3:  # of three letters two alike say nothing
        return 0.0
    return min(
        99.0,
        max(
            fuzz.ratio(theirs, ours),
            fuzz.token_sort_ratio(theirs, ours),
            fuzz.ratio(bare, ours),
            fuzz.token_sort_ratio(bare, ours),
            0.78 * fuzz.token_set_ratio(bare, ours),
        ),
    )


def _qualified(header: str, bare: str) -> tuple[str, ...]:
    """The name without qualifiers, the first of several names, and the core of a question."""
    whose, _, rest = bare.partition(" ")
    several = _AND.split(_UNIT_OF_NAME.sub(" ", header).strip())
    first = plain(several[0]) if len(several) > 1 else ""
    content = " ".join(_FILLERS.sub(" ", bare).split())
    named = (rest if whose in _WHOSE else "", first, content if content != bare else "")
    return tuple(name for name in named if name)


def _asks(name: str) -> str:
    word = name.partition(" ")[0]
    return word if word in _ASKING else ""


@cache
def shortened(header: str) -> frozenset[str]:
    """Our columns that a header may abbreviate: `Clr`, `Wshd`, `Rmks`, `Tex`, `Sld w/`."""
    words = plain(_UNIT_OF_NAME.sub(" ", header)).split()
    return frozenset(
        key
        for key, names_ in ALSO.items()
        for name in (key, *names_)
        if words and _is_short(words, plain(name).split())
    )


def _is_short(words: Sequence[str], full: Sequence[str]) -> bool:
    if len(words) != len(full) or all(word == whole for word, whole in zip(words, full, strict=True)):
        return False
    lone = len(words) == 1
    return all(_is_short_of(word, whole, lone=lone) for word, whole in zip(words, full, strict=True))


def _is_short_of(word: str, whole: str, *, lone: bool) -> bool:
    """Whether a word is another's beginning or what is left of it without its vowels, end and all."""
    if word == whole:
        return True
    if len(word) < (3 if lone else 1) or len(word) >= len(whole) or not word.isalpha():
        return False
    if whole.startswith(word):
        return True
    letters = iter(whole)
    ends = word[0] == whole[0] and word[-1] == whole.rstrip("aeiou")[-1:]
    bones = whole[0] + re.sub("[aeiou]", "", whole[1:])
    if len(word) < _BONES * len(bones):
        return False
    inside = ends and all(letter in letters for letter in word)
    return inside and not set(word[1:]) & set("aeiou")


def units_in(header: str) -> list[str]:
    """Parts of a header that may be a unit: text in brackets, the whole, then its last words."""
    marked = [part for match in _UNIT_OF_NAME.findall(header) for part in match if part]
    words = _PERCENT.sub("%", header.replace("_", " ")).split()
    return [*marked, header, *(" ".join(words[-count:]) for count in (1, 2, 3) if count < len(words))]
