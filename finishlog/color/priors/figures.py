"""Every starting value of `finishlog.color` with its spread, its unit and what it rests on, in one table.

The modules take their numbers from here. L*a*b* are of D65, 2°; days count from the end of the pour. Plain numbers,
so that the table is read without a numeric library. What a shop's own readings teach replaces most of them.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import exp
from typing import Literal

from finishlog.records.color import PHOTO_SD

Basis = Literal[
    "published", "published, size judged", "common practice", "from memory", "simulation", "measured"
]
LAB = "L*, a*, b*"


@dataclass(frozen=True, slots=True)
class Figure:
    """A starting value, its sd, or both (one number, or one for each of what `unit` names), and its source.

    No source is given where all of it is from memory.
    """

    name: str
    basis: Basis
    source: str
    unit: str = LAB
    value: tuple[float, ...] = ()
    sd: tuple[float, ...] = ()

    @property
    def one(self) -> float:
        """The value, where it is one number."""
        (value,) = self.value
        return value

    @property
    def one_sd(self) -> float:
        """The sd, where it is one number."""
        (sd,) = self.sd
        return sd


# --- the cure -----------------------------------------------------------------------------------------

FINAL = Figure("final color where nothing was read", "from memory", "a middle one; the sd says how little it means",
               value=(58.0, 5.0, 13.0))  # fmt: skip
LIGHTENING = Figure(
    "lightening still to come at the pour", "published, size judged",
    "lighter with age: hydration, albedo + .08, is 4.5 to 6 L* (Levinson & Akbari, LBNL-48334, 2001), drying the more; "
    "that it is 12 from the pour on is judgment, no L* series is published",
    value=(-12.0, 0.0, 0.6),
)  # fmt: skip
LIGHTENING_DOSE = Figure(
    "lightening, for each % of pigment", "published, size judged",
    "more pigment, less change (red, 0 to 3 %): Takano et al., Summaries AIJ A-1:527, 2000, the sign alone; "
    "size assumed, a sixth less at 3 % than without",
    "factor, log", (-0.06,), (0.05,),
)  # fmt: skip
USUAL_DOSE = Figure(
    "a dose where none is known", "common practice", "1 to 6 %; no source", "% of cement", (3.0,)
)
LIGHTENING_RECIPES = Figure("lightening, from recipe to recipe", "from memory", "", sd=(3.5, 1.0, 1.3))
LIGHTENING_JOBS = Figure("lightening, from job to job", "from memory", "", sd=(2.2, 0.6, 0.7))
TAU = Figure(
    "pace: falls to 37 % in", "published, size judged",
    "little change after day 21: Takano et al., 2000; stable within six weeks: Levinson & Akbari, 2001; 11 leaves 15 % "
    "at day 21, 2 % at six weeks", "days",
    (11.0,),
)  # fmt: skip
TAU_RECIPES = Figure("pace, from recipe to recipe", "from memory", "", "log", sd=(0.25,))
TAU_JOBS = Figure("pace, from job to job", "from memory", "", "log", sd=(0.20,))
FINAL_RECIPES = Figure("final color, from recipe to recipe", "from memory", "", sd=(8.0, 6.0, 8.0))
FINAL_JOBS = Figure(
    "final color, from job to job", "published, size judged",
    "new gray concretes of several pours 3.8, spots of one 1.4, tile of one works 1.0 (L*): Ilehag et al., "
    "Remote Sens. 11(18):2149, 2019, and the Santa Barbara library; between them",
    sd=(2.2, 0.5, 0.7),
)  # fmt: skip
OF_RECIPES = FINAL_RECIPES.sd + LIGHTENING_RECIPES.sd + TAU_RECIPES.sd
OF_JOBS = FINAL_JOBS.sd + LIGHTENING_JOBS.sd + TAU_JOBS.sd
"""Sd of a slab's seven numbers: settled L*, a*, b*, what is still to come of each, log of the pace."""
START_WORTH = Figure("all of these count as", "simulation", "the method's studies", "recipes, slabs, readings",
                     (3.0, 3.0, 10.0))  # fmt: skip
MOISTURE = Figure("moisture of a dry slab", "from memory", "", sd=(0.5, 0.0, 0.0))
CURVE = Figure(
    "a true curve beside the exponential", "simulation", "the method's studies on synthetic slabs",
    sd=(0.45, 0.12, 0.18),
)  # fmt: skip
LEARN_TO = Figure("a later reading shows weather, after day", "from memory", "", "days", (60.0,))

# --- after it: weather and sealer ---------------------------------------------------------------------

PACE = Figure(
    "weathering in the first year", "published, size judged",
    "bare gray flatwork darkens (68, 59, 51 L* young to old, other pours, ages inferred: Santa Barbara library; "
    "albedo - .06, weathering simulated: Levinson & Akbari, 2001); concrete with limestone powder lightened "
    "for 5 months outdoors (JCI convention, 2025), dark pigmented concrete does (trade, not measured): so either way",
    value=(0.0, 0.0, 0.0), sd=(2.0, 0.4, 1.0),
)  # fmt: skip
SLOWS = Figure("weathering slows with", "from memory", "else an old slab would turn white", "years", (5.0,))
PACE_WORTH = Figure("the start of weathering counts as", "from memory", "", "slabs", (3.0,))
SEALED = Figure(
    "a film of sealer, factor on Y and chroma", "published, size judged",
    "no bare and sealed pair is published; water instead, albedo - .23 (Y x about .61): Levinson & Akbari, 2001; "
    "film of index 1.5 over measured spectra, "
    "computed: Y x .40 to .59, chroma x .77 to 1.11 (the same, and Ilehag et al., 2019)",
    "Y, chroma; sd of the log", (0.60, 1.0), (0.25, 0.20),
)  # fmt: skip
PENETRATING = Figure(
    "a penetrating sealer, factor on Y and chroma", "common practice",
    "leaves no film and hardly a change of look, some darken a little; no source", "Y, chroma; sd of the log",
    (0.95, 1.03), (0.10, 0.08),
)  # fmt: skip
LOOK_WORTH = Figure("the start of a sealer counts as", "from memory", "", "pairs", (2.0,))
COAT = Figure(
    "an unlogged coat, factor on Y and chroma", "from memory",
    "narrower than the start of a film, with which 88 coats in 100 would be noticed, not 91 to 95",
    "Y, chroma; sd of the log", (0.66, 1.12), (0.18, 0.15),
)  # fmt: skip
COAT_SURE = Figure("log of how much likelier the coat must be", "simulation", "2 in 100 bare slabs at most", "log",
                   (1.0,))  # fmt: skip
OTHER_CHANGE = Figure(
    "any other lasting change", "from memory", "a stain, a wash, another slab", sd=(12.0, 6.0, 8.0)
)

# --- rinse day ----------------------------------------------------------------------------------------

DRYING = Figure(
    "share of the lightening that drying shows", "published, size judged",
    "wetting - .23 against hydration + .08 of albedo, .74 of both: Levinson & Akbari, 2001; less, as a towel and a "
    "blower dry the surface only. .65 ± .15 would leave .47 between .6 and .8, this .52",
    "share", (0.67,), (0.14,),
)  # fmt: skip
RELEASE_LEFT = Figure("release a crew leaves", "common practice", "usually 10 to 30 %; no source", "share",
                      (0.25,), (0.20,))  # fmt: skip
BY_EYE = Figure("release left, judged by eye", "from memory", "", "share", sd=(0.10,))
RELEASE_COLOR = Figure(
    "a release color, from job to job", "from memory", "the same product", sd=(1.5, 0.7, 1.0)
)
UNRINSED = Figure("release that covers an unrinsed patch", "from memory", "", "share", (0.97,))
DRY_PATCH = Figure("a dried patch within its frame", "from memory", "", "each of L*, a*, b*", sd=(0.5,))
DAMP_PATCH = Figure("a damp patch within its frame", "from memory", "", "each of L*, a*, b*", sd=(0.7,))
FRAME = Figure("error common to a frame", "from memory", "", sd=(1.0, 0.5, 0.7))
LEFT_MODEL = Figure(
    "release left, error of the method", "simulation", "the method's studies", "share", sd=(0.02,)
)

SURFACE_MODEL = Figure(
    "release left, color from elsewhere", "simulation", "at a contrast of 20", "share", sd=(0.025,)
)
NO_PATCH = Figure("release left, no color in the frame", "from memory", "", "share", sd=(0.10,))
ROUGH_DARKER = Figure("a rough field is darker than a patch", "from memory", "tilt and less sky: the direction",
                      "part of the scatter of light", (0.3,), (0.35,))  # fmt: skip
LOW_DARKER = Figure("spots with release are darker by", "from memory", "low spots: the direction",
                    "part of the scatter of light", (0.7,), (0.6,))  # fmt: skip
SAME_LIGHT = Figure("light of the field over its patch's", "from memory", "", "log", sd=(0.02,))
FALL = Figure("fall of light across the field", "from memory", "", "log", sd=(0.4,))

# --- pigment ------------------------------------------------------------------------------------------

SATURATION = Figure("color levels off around (a setting)", "from memory", "", "% of cement", (5.5,))
SHARPNESS = Figure(
    "how sharply it levels off, both tried", "from memory", "4 at once, 1.5 gradually", "power", (1.5, 4.0)
)
SURFACES = Figure(
    "reflection at the surface, out and in", "from memory",
    "Saunderson 1942, the form; five pairs are tried, matte to glossy", "k1, k2 by pairs",
    (0.0, 0.0, 0.02, 0.3, 0.04, 0.45, 0.04, 0.6, 0.04, 0.7),
)  # fmt: skip
PIGMENT = Figure(
    "a pigment's strength before any sample", "from memory", "wide on purpose", "log K/S", sd=(2.5,)
)
MIXING = Figure(
    "color of a mixture, error of the method", "simulation",
    "three bands against 31; a* .5 as mixtures of measured colors need", sd=(0.4, 0.5, 0.4),
)  # fmt: skip

# --- one slab beside another --------------------------------------------------------------------------

LOT = Figure("another lot", "common practice", "two lots of a shade are seen apart side by side; no source",
             sd=(0.9, 0.5, 0.6))  # fmt: skip
MAKER = Figure("another maker", "from memory", "the same shade name of two makers is another color",
               sd=(3.0, 1.5, 2.0))  # fmt: skip
CEMENT = Figure(
    "another cement", "from memory", "the gray of cement differs by kind and mill", sd=(1.6, 0.4, 0.9)
)
CONTENT = Figure("another cement content", "from memory", "pigment per cement and water change with the content",
                 sd=(0.8, 0.3, 0.4))  # fmt: skip
PLANT = Figure("another plant", "common practice", "cement, sand and water are another plant's; no source",
               sd=(1.3, 0.4, 0.8))  # fmt: skip
SEASON = Figure("another season", "from memory", "cold and damp leave a slab a little darker or paler",
                sd=(0.5, 0.2, 0.3))  # fmt: skip
EFFECT_WORTH = Figure("each start here counts as", "from memory", "", "lots", (4.0,))
SAMPLE = Figure("a sample beside its slab", "from memory", "", sd=(1.0, 0.4, 0.5))

# --- photos -------------------------------------------------------------------------------------------

PHOTO = Figure("a photo with no sd of its own", "simulation", "the method's studies", sd=PHOTO_SD)
TONE = Figure("a phone's tone: offset, exponent", "measured", "on photographs of a 24-patch card by eight cameras",
              "light, 1", (0.0, 1.0), (0.02, 0.35))  # fmt: skip
TONE_TERMS = Figure("a phone's matrix, roots, gains", "from memory", "weak on purpose", "1, 1, log",
                    sd=(1.0, 0.3, 3.0))  # fmt: skip
PATCH = Figure("a patch of a card, to the fit", "from memory", "", "each of L*, a*, b*", sd=(2.0,))
PHOTO_FLOOR = Figure("no photo is surer than", "from memory", "", "each of L*, a*, b*", sd=(0.3,))
CHIP = Figure("a chip of known color, light and box", "from memory", "", "each of L*, a*, b*", sd=(0.5,))
CAMERA = Figure("one camera's photos have in common", "simulation", "simulated phones, in like and other light",
                "part of the variance, L*, a*, b*", (0.75, 0.88, 0.85))  # fmt: skip
CAMERA_SPREAD = Figure(
    "a camera, from photo to photo", "from memory", "", "part of the sd between phones", (0.2,)
)
CAMERA_WORTH = Figure("that counts as", "from memory", "", "photos", (4.0,))
ONE_FRAME = Figure("two colors of one photo have in common", "measured",
                   "on patches of two phone photographs; below ΔE 8 by simulation",
                   "part, ΔE it reaches to, power", (0.96, 55.0, 1.5))  # fmt: skip
GRAY_CARD = Figure("a gray card alone", "measured", "on two 24-patch cards in phone photographs",
                   sd=(8.0, 7.0, 8.0))  # fmt: skip
CLIPPED = Figure("a box that is wholly clipped", "from memory", "a guess", sd=(12.0, 6.0, 8.0))


def lightening_at(dose_percent: float) -> float:
    """The lightening of a slab of this dose (percent of cementitious, 0 to 10) over that of the usual dose."""
    return exp(LIGHTENING_DOSE.one * (min(max(dose_percent, 0.0), 10.0) - USUAL_DOSE.one))


TABLE: tuple[tuple[str, tuple[Figure, ...]], ...] = (
    ("Cure", (FINAL, FINAL_RECIPES, FINAL_JOBS, LIGHTENING, LIGHTENING_RECIPES, LIGHTENING_JOBS, LIGHTENING_DOSE,
              USUAL_DOSE, TAU, TAU_RECIPES, TAU_JOBS, START_WORTH, MOISTURE, CURVE, LEARN_TO)),
    ("Weather and sealer", (PACE, SLOWS, PACE_WORTH, SEALED, PENETRATING, LOOK_WORTH, COAT, COAT_SURE,
                            OTHER_CHANGE)),
    ("Rinse day", (DRYING, RELEASE_LEFT, BY_EYE, RELEASE_COLOR, UNRINSED, DRY_PATCH, DAMP_PATCH, FRAME, LEFT_MODEL,
                   SURFACE_MODEL, NO_PATCH, ROUGH_DARKER, LOW_DARKER, SAME_LIGHT, FALL)),
    ("Pigment", (SATURATION, SHARPNESS, SURFACES, PIGMENT, MIXING)),
    ("One slab beside another", (LOT, MAKER, CEMENT, CONTENT, PLANT, SEASON, EFFECT_WORTH, SAMPLE)),
    ("Photos", (PHOTO, PHOTO_FLOOR, TONE, TONE_TERMS, PATCH, CHIP, CAMERA, CAMERA_SPREAD, CAMERA_WORTH, ONE_FRAME,
                GRAY_CARD, CLIPPED)),
)  # fmt: skip
"""All of them, as `color --rests-on` prints them."""
