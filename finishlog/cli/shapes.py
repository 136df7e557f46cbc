"""The area-measuring options, shared by all commands."""

from __future__ import annotations

import argparse

_SHAPES = {
    "rect": "24x18 or 24'6\" x 18'",
    "circle": "6, the radius",
    "polygon": '"0,0 24,0 24,18"',
    "round": "4r2, corners r radius",
    "edge": "40x1x8in, length x width x depth below the slab",
    "stairs": "3x4x7x11, steps x width in feet x rise x run in inches",
}


def add_shapes(command: argparse.ArgumentParser) -> None:
    """The shapes of an area; each option can be given more than once."""
    for option, kind in (("rect", "rect"), ("circle", "circle"), ("polygon", "polygon")):
        text = f"add a {option}, in feet: {_SHAPES[kind]}"
        command.add_argument(f"--{option}", action="append", default=[], metavar="SIZE", help=text)
        command.add_argument(
            f"--less-{option}", action="append", default=[], metavar="SIZE", help=f"cut out a {kind}"
        )
    text = f"round off corners: {_SHAPES['round']}"
    command.add_argument("--round", action="append", default=[], metavar="NrR", help=text)


def add_extras(command: argparse.ArgumentParser) -> None:
    """Concrete beside the slab's depth."""
    for option, kind in (("edge", "edge"), ("stairs", "stairs")):
        text = f"add {option}: {_SHAPES[kind]}"
        command.add_argument(f"--{option}", action="append", default=[], metavar="SIZE", help=text)
