"""Paints a folder's photos: one row per folder, a few per picture, as many as fit a page."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from rich.cells import cell_len

from finishlog.tui.paint.ink import Line
from finishlog.tui.paint.text import plain
from finishlog.tui.photo import picture

if TYPE_CHECKING:
    from datetime import datetime, tzinfo

    from finishlog.desk.photo.folder import Folder, Listed, Peek
    from finishlog.tui.paint.theme import Depth

CELLS, ROWS = 6, 2
HIGH = 3
"""Rows of a picture, with the blank one under it."""
MARK, MARKED = "▌", "■"


def page(items: Sequence[Listed], at: int, room: int) -> range:
    """The items on the page of `at`: pages fill from the first item, so none jumps."""
    start, used = 0, 0
    for index, item in enumerate(items):
        high = 1 if item.is_folder else HIGH
        if used + high > room and index > start:
            if index > at:
                return range(start, index)
            start, used = index, 0
        used += high
    return range(start, len(items))


def counted(folder: Folder) -> str:
    """`6 photos, 2 other files`."""
    photos = f"{len(folder.pictures)} photo" + ("" if len(folder.pictures) == 1 else "s")
    more = f" of {len(folder.pictures) + folder.cut:,}" if folder.cut else ""
    others = f", {folder.others} other file" + ("" if folder.others == 1 else "s") if folder.others else ""
    return photos + more + others


def sentence(folder: Folder, marked: int) -> str:
    """What is marked, else how to choose."""
    if marked:
        return f"{marked} marked. Enter takes {'it' if marked == 1 else 'them'}."
    if not folder.pictures:
        return "No photos here."
    return "Newest first. Space marks several, Enter takes."


def folder_name(name: str, width: int) -> str:
    """A path cut at its start: its end matters most."""
    text = plain(name)
    while cell_len(text) > max(width, 8):
        text = "…" + text[2:]
    return text


def row(
    item: Listed, at: int, peek: tuple[Peek, picture.Grid] | None, width: int, shades: tuple[Depth, bool],
    zone: tzinfo, *, here: bool, marked: bool,
) -> list[Line]:  # fmt: skip
    """A folder in one row; a picture's name and date beside its thumbnail."""
    act = f"pick({at})"

    def head(first: bool) -> Line:
        line = Line().put(MARK if here else " ", "accent", act=act)
        return line.put(MARKED if marked and first else " ", "ok", act=act).gap(1)

    if item.is_folder:
        return [head(True).put(item.name, bold=here, act=act).muted("/").crop(width)]
    small = picture.paint(peek[1], {}, *shades) if peek and peek[1] else [Line().muted("·" * CELLS)] * ROWS
    texts = (Line().put(item.name, bold=here, act=act), _when(item, peek, zone))
    return [
        *(head(n == 0).join(Line(*(small[n].pieces if n < len(small) else ()))).to(3 + CELLS + 1).join(text).crop(width)
          for n, text in enumerate(texts)),
        Line(),
    ]  # fmt: skip


def _when(item: Listed, peek: tuple[Peek, picture.Grid] | None, zone: tzinfo) -> Line:
    """The camera's time, the file's until the picture is read, or its fault."""
    if peek is not None and peek[0].taken is not None:
        return Line().put(_moment(peek[0].taken))
    if peek is not None and not peek[0].small:
        return Line().put(f"! {peek[0].wrong}", "warn")
    if peek is not None:
        return Line().put("! no date in it", "warn")
    return Line().muted(f"file of {_moment(item.changed.astimezone(zone))}")


def _moment(moment: datetime) -> str:
    return f"{moment:%b} {moment.day} {moment.year}, {moment.hour % 12 or 12}:{moment:%M}{'ap'[moment.hour >= 12]}"
