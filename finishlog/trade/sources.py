"""Sources of the figures, as the answers print them."""

from __future__ import annotations

PIGMENT_LIMIT = "ASTM C979/C979M §1.4: at most 10 % pigment by mass of cement; a blend, its smallest maximum"
SACK = "one US sack of cement is 94 lb (school text citing PCA)"
CUBIC_YARD = "1 yd³ = 27 ft³ = 0.764554857984 m³ (exact)"
GEOMETRY = "plane geometry (exact)"
FILM = "231 in³/gal ÷ 144 × 1000 = 1604.1667 mil·ft²/gal (exact); an estimate (MIL-HDBK-1110 §9.6.8)"
COVERAGE = "coverage = 1604 × volume solids / dry mil: R. Joseph, Paints & Coatings Resource Center, Dec 2007"
ORDER = "least expected cost over a Student-t depth error; its starting values are from memory"
PRACTICE = (
    "common practice, from memory, no source: the product's own sheet, the plant and local rules come first"
)
CURING_RATE = "curing compound tested at 200 ft²/gal: Iowa DOT Standard Spec. Section 4105"
SHEET_TEST = "ASTM D4263: plastic sheet on for at least 16 h; a yes or no, not a number"
JOINTS = (
    "ACI 302.1R-96 (24 to 36 × thickness, 18 ft), 302.1R-80 §2.3.2 (1.5 to 1), as a trade magazine quotes"
)
CLOCK = "common practice, no source, at 70 °F; a third sooner for each 10 °F more (from memory)"
SILICA = "29 CFR 1926.1153 (respirable crystalline silica)"
EVAPORATION = (
    "Uno, ACI Materials Journal 95(4), 1998, Title 95-M34; its US and SI forms differ by some percent"
)
DEW_POINT = "Magnus, constants of Alduchov & Eskridge, J. Appl. Meteorol. 35:601, 1996: over water, ± 0.35 °C"
DEW_MARGIN = "MIL-HDBK-1110 §9.6.6, superseded by UFC 3-190-06: surface at least 5 °F above the dew point"
MIXING = "Kubelka & Munk 1931; Saunderson 1942; fitted to these samples in three bands; simulation only"
RINSE = (
    "three dried spots in one frame, mixed in linear light (CIE 1976, D65); simulation only, no field data"
)
CURE = "fitted to your own readings; shape of Levinson & Akbari, LBNL, 2001; tried on simulated slabs only"
ODDS = "the limit is the shop's; published ones are of teeth (Paravina 2015: .8 perceptible, 1.8 acceptable)"
