"""What else the columns of a paper log are called, beyond our own words."""

from __future__ import annotations

import re
from functools import cache

from finishlog.inputs.fields import Column

ALSO = {
    "customer": ("client", "owner", "homeowner", "name", "customer name", "client name", "bill to", "cust",
                 "who", "who for", "sold to", "builder", "party", "home owner", "last name", "family", "people"),
    "job": ("project", "job name", "job description", "work", "project name", "what", "description", "desc",
            "type of work", "what we did", "piece", "scope", "job type", "work done"),
    "street": ("address", "site", "site address", "job address", "street address", "location", "addr", "where",
               "place", "job site", "jobsite", "house", "job location"),
    "town": ("city", "village", "twp", "township"),
    "phone": ("telephone", "tel", "mobile", "cell", "phone no", "ph", "phone number"),
    "email": ("e mail", "mail", "email address"),
    "poured_on": ("date", "pour date", "date poured", "day", "poured", "placed", "date placed", "when", "dt",
                  "pour day", "placed on", "pour", "date of pour"),
    "area_ft2": ("square feet", "sq ft", "sqft", "sf", "size", "square footage", "sq feet", "footage", "sq",
                 "squares ft", "how big", "ft2"),
    "area": ("section", "surface", "part", "slab"),
    "exposure": ("sun or shade", "faces"),
    "depth": ("thickness", "thick", "slab thickness", "thk", "how thick"),
    "crew": ("foreman", "finisher", "by", "lead", "crew lead", "finishers", "men", "hands", "who poured",
             "poured by"),
    "yards": ("cu yds", "cubic yards", "yardage", "cy", "yds", "yards delivered", "qty yds", "volume", "yd",
              "yrds", "concrete", "concrete yds", "yds del", "qty", "yard", "yds poured", "total yds", "mud"),
    "returned": ("leftover", "yards returned", "sent back", "left over", "went back", "back"),
    "balance_yards": ("short load", "extra yards", "balance load", "second order", "cleanup load"),
    "ticket": ("ticket no", "ticket number", "truck ticket", "delivery ticket", "load ticket", "tkt", "tix", "tick",
               "batch ticket", "slip", "slip no"),
    "plant": ("supplier", "ready mix", "batch plant", "producer", "rm plant", "concrete from", "readymix"),
    "mix": ("mix number", "mix design", "mix no", "mix id", "mix code"),
    "cement": ("cement content", "cementitious", "cement lb"),
    "cement_kind": ("cement type", "type of cement"),
    "scm_kind": ("ash or slag", "pozzolan"),
    "scm": ("fly ash lb", "ash lb", "slag lb"),
    "admixtures": ("admix", "additives", "adds"),
    "water_gal": ("water", "water added", "gal water", "added water", "h2o", "gals added"),
    "base": ("color", "base color name", "pigment", "integral color", "color name", "shade", "integral",
             "colour", "mix color", "base shade", "col", "int color"),
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
                "rel color", "release powder"),
    "release_lb": ("release lbs", "pounds of release", "lbs of release", "lbs release", "rel lbs", "release used"),
    "liquid_release": ("bond release", "liquid rel", "spray release"),
    "pattern": ("stamp", "stamp pattern", "texture", "mat", "mats", "stamps", "tools", "skin", "patt"),
    "rinsed_on": ("washed", "wash date", "rinse date", "power washed", "date washed", "rinsed", "wash", "rinse",
                  "pressure washed", "wash day", "pw", "cleaned", "washed off"),
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
    "air_low": ("low", "low temp", "night low"),
    "air_high": ("high", "high temp", "temp high", "day high"),
    "weather": ("conditions", "weather notes", "wx"),
    "joints": ("joint method", "saw cuts", "control joints"),
    "cure": ("curing", "cured with"),
    "finishing_note": ("finish", "finishing", "how finished"),
    "sample": ("sample no", "sample number", "sample id"),
    "claim": ("complaint", "callback", "call back", "warranty", "problems", "complaints"),
    "claim_on": ("complaint date", "callback date"),
    "note": ("notes", "comment", "comments", "remarks", "memo", "misc", "other", "anything else", "rem"),
}  # fmt: skip
"""What else a column may be called: of the trade's notebooks, from memory."""

_UNIT_OF_NAME = re.compile(r"[(\[]([^)\]]+)[)\]]|,\s*([^,]+)$")
_WORDS = re.compile(r"[^\W_]+|[%#]")


def names(column: Column) -> tuple[str, ...]:
    return (column.title, column.key, *ALSO.get(column.key, ()))


@cache
def plain(name: str) -> str:
    return " ".join(_WORDS.findall(name.casefold().replace("_", " ")))


def likeness(header: str, name: str) -> float:
    """0 to 100: how like a header is to a name; 100 where it says the same."""
    from rapidfuzz import fuzz

    theirs, ours = plain(header), plain(name)
    bare = plain(_UNIT_OF_NAME.sub(" ", header)) or theirs
    if ours in (theirs, bare):
        return 100.0
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


def units_in(header: str) -> list[str]:
    """Parts of a header that may be a unit: what stands in brackets, then the whole, then its last words."""
    marked = [part for match in _UNIT_OF_NAME.findall(header) for part in match if part]
    words = header.split()
    return [*marked, header, *(" ".join(words[-count:]) for count in (1, 2, 3) if count < len(words))]
