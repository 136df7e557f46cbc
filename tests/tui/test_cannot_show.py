"""Every screen with swatches says where the terminal cannot show their colors; the list of jobs by color."""

from __future__ import annotations

import ast
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

import finishlog.tui
from finishlog.color.notation import words
from finishlog.records.log import Page
from finishlog.tui.jobs import hint
from finishlog.tui.paint import wording

ROOT = Path(finishlog.tui.__file__).parent
SWATCH = "finishlog.tui.paint.swatch"


def modules() -> dict[str, ast.Module]:
    package = ROOT.parent.parent
    return {
        ".".join(path.relative_to(package).with_suffix("").parts): ast.parse(path.read_text())
        for path in ROOT.rglob("*.py")
    }


def imports(tree: ast.Module, known: dict[str, ast.Module]) -> set[str]:
    found: set[str] = set()
    for node in ast.walk(tree):
        if isinstance(node, ast.ImportFrom) and node.module:
            found |= {node.module, *(f"{node.module}.{name.name}" for name in node.names)}
    return found & known.keys()


def is_screen(tree: ast.Module) -> bool:
    return any(
        isinstance(node, ast.Assign) and any(isinstance(t, ast.Name) and t.id == "SCOPE" for t in node.targets)
        for one in tree.body if isinstance(one, ast.ClassDef) for node in one.body
    )  # fmt: skip


def used(name: str, known: dict[str, ast.Module]) -> set[str]:
    """The module and all it is painted with; what another screen is painted with is that one's."""
    found, open_ = {name}, [name]
    while open_:
        for other in imports(known[open_.pop()], known) - found:
            if not is_screen(known[other]):
                found.add(other)
                open_.append(other)
    return found


def says(tree: ast.Module) -> bool:
    return any(isinstance(node, ast.Attribute) and node.attr == "cannot_show" for node in ast.walk(tree))


def screens_with_swatches() -> dict[str, set[str]]:
    known = modules()
    parts = {name: used(name, known) for name, tree in known.items() if is_screen(tree)}
    return {name: found for name, found in parts.items() if SWATCH in found}


def test_every_screen_with_swatches_says_where_their_colors_cannot_be_shown() -> None:
    known, found = modules(), screens_with_swatches()
    assert {name.removeprefix("finishlog.tui.") for name in found} >= {
        "jobs.jobs", "jobs.job", "match.screen", "rinse.screen", "color.screen", "bench.screen",
    }  # fmt: skip
    silent = [name for name, parts in found.items() if not any(says(known[part]) for part in parts)]
    assert silent == []


@pytest.mark.parametrize(
    ("de00", "word"),
    [(0.0, "alike"), (words.ALIKE - 0.01, "alike"), (words.ALIKE, "close"), (words.PLAIN, "close"),
     (words.PLAIN + 0.01, "far"), (30.0, "far")],
)  # fmt: skip
def test_a_color_is_alike_close_or_far(de00: float, word: str, fake: Any) -> None:
    assert words.nearness(de00) == word
    line = replace(fake.lines[0], de00=de00)
    assert wording.beside(line).startswith(f"{word}, ΔE00 {de00:.1f}   ")


def test_the_color_that_is_looked_for_stands_above_the_list(fake: Any) -> None:
    page = Page(fake.lines, len(fake.lines), 6, asked=("#a38972", "light brown"))
    (full,) = hint.paint(page, "58,9,17", 76, "full", True, archived=False)
    assert (full.pieces[0].back, full.text.split()) == ("#a38972", ["asked", "light", "brown"])
    assert [x.text for x in hint.paint(page, "58,9,17", 76, "glyphs", True, archived=False)] == [
        "asked  light brown, L* 59", wording.CANNOT_SHOW,
    ]  # fmt: skip
    assert hint.paint(page, "58,9,17", 76, "gray", True, archived=False)[0].text.endswith("≈ light brown")
    assert hint.paint(page, "bog", 76, "full", True, archived=False)[0].text == hint.HINT
    assert hint.paint(page, "photo:~/x", 76, "full", True, archived=False)[0].text == hint.PHOTO_HINT


def test_a_list_without_a_chip_needs_no_word(fake: Any) -> None:
    bare = tuple(replace(line, base_hex=None) for line in fake.lines)
    page = Page(bare, len(bare), len(bare))
    assert len(hint.paint(page, "", 76, "glyphs", True, archived=False)) == 1
    assert hint.paint(None, "", 76, "glyphs", True, archived=True)[0].text == hint.WITH_ARCHIVED
