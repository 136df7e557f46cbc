"""The schema revisions. Migrations ship in the package, or are in the checkout."""

from __future__ import annotations

import re
from functools import cache
from pathlib import Path

PROJECTED = "0009"
"""The last revision that changed what projections hold: those of an older log are made anew by its upgrade."""
_REVISION_FILE = re.compile(r"(\d{4})_\w+\.py")


@cache
def migrations() -> Path:
    """The folder of the migrations."""
    package = Path(__file__).parents[2]
    packed = package / "_migrations"
    return packed if packed.is_dir() else package.parent / "migrations"


@cache
def known() -> tuple[str, ...]:
    """All revisions, oldest first: the numbers in front of the file names."""
    names = (_REVISION_FILE.fullmatch(path.name) for path in (migrations() / "versions").iterdir())
    return tuple(sorted(name.group(1) for name in names if name))


def head() -> str:
    """The newest revision."""
    return known()[-1]
