"""Find-box texts that are no words: a color, or a photo's path."""

from __future__ import annotations

import re

PHOTO = "photo:"
_NUMBER = r"\d+(?:\.\d+)?"
_SIGNED = rf"[-−+]?{_NUMBER}"
_COLOR = re.compile(
    rf"#[0-9a-f]{{6}}|{_NUMBER} *[,;] *{_SIGNED} *[,;] *{_SIGNED}"
    rf"|{_NUMBER} ?(?:r|yr|y|gy|g|bg|b|pb|p|rp) ?{_NUMBER} ?/ ?{_NUMBER}",
    re.ASCII | re.IGNORECASE,
)


def is_color(text: str) -> bool:
    """Whether the text looks like a color: `#a9927a`, L*a*b* as `62,4,16`, Munsell as `10YR 6/3`."""
    return _COLOR.fullmatch(text.strip()) is not None


def photo_path(text: str) -> str | None:
    """The path in `photo:~/slab.jpg`, without a terminal's quotes; None if the text is no such path."""
    word, rest = text.lstrip()[: len(PHOTO)], text.lstrip()[len(PHOTO) :].strip()
    if word.casefold() != PHOTO:
        return None
    return rest[1:-1] if len(rest) > 1 and rest[0] == rest[-1] and rest[0] in "'\"" else rest
