"""Write finishlog/data/normals.npy anew: python tests/color/make_normals.py"""

from __future__ import annotations

from pathlib import Path

import numpy as np
from numpy.typing import NDArray

FILE = Path(__file__).parents[2] / "finishlog" / "data" / "normals.npy"
COUNT = 1500 * 36
"""The draws of the odds by the most numbers that a pair of slabs has."""


def drawn() -> NDArray[np.float64]:
    """Standard normal draws of a fixed seed, (COUNT,)."""
    return np.random.default_rng(2026).standard_normal(COUNT)


if __name__ == "__main__":
    np.save(FILE, drawn())
