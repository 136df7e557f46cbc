"""Constants of L*a*b*, XYZ and sRGB: D65 white, CIE's two limits, the sRGB primaries."""

from __future__ import annotations

D65 = (0.3127, 0.3290)
"""Its chromaticity x, y, 2° observer."""
WHITE = (D65[0] / D65[1], 1.0, (1 - D65[0] - D65[1]) / D65[1])
"""XYZ of the CIE standard illuminant D65, 2° observer, with Y = 1."""
EPSILON, KAPPA = 216 / 24389, 24389 / 27
"""Where the cube root of CIE L*a*b* becomes a line, and its slope (CIE 015)."""
XYZ_TO_RGB = (
    (12831 / 3959, -329 / 214, -1974 / 3959),
    (-851781 / 878810, 1648619 / 878810, 36519 / 878810),
    (705 / 12673, -2585 / 12673, 705 / 667),
)
RGB_TO_XYZ = (
    (506752 / 1228815, 87881 / 245763, 12673 / 70218),
    (87098 / 409605, 175762 / 245763, 12673 / 175545),
    (7918 / 409605, 87881 / 737289, 1001167 / 1053270),
)
"""IEC 61966-2-1 primaries with the white above, exact fractions (W3C CSS Color Module Level 4, "Sample code")."""
