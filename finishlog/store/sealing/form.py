"""The one form in which a row is hashed, so that every copy, program and engine hashes it alike.

A row is the list of its stored values in the order given here, without the unknown ones at its end; a new
column is therefore named last, and changes no hash while it is unknown. An entry is its row, followed by
`[table, its rows]` for each table of `DETAILS` that says anything of it; its own id is part of it, so that no
entry can stand in another's place. A list becomes compact JSON in ASCII (a float at its shortest exact
length). `digest` is BLAKE2b of 16 bytes over the hash before and that JSON: of an entry the hash before is the
one of the entry written before it, which chains them in order of writing; of any other row it is "".

The hashes are for accidents (a flipped bit, a lost page, a lost file); whoever can write the log can make
them anew. Migration 0007 carries a frozen copy.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Sequence
from hashlib import blake2b
from typing import Any

Content = Sequence[Any]
_json = json.JSONEncoder(separators=(",", ":"), default=repr).encode

ENTRY = (
    *("id", "uid", "job_id", "number", "area_id", "kind", "happened", "logged", "exactness", "person_id"),
    *("note", "replaces_id", "withdrawn", "facts", "facts_version"),
)
DETAILS: dict[str, tuple[str, ...]] = {
    "load": (
        *("yards", "returned_yd3", "dumped_yd3", "ticket", "mix_id", "water_gal", "water_when"),
        *("slump_in", "slump_end_in", "is_balance"),
    ),
    "load_area": ("area_id", "yards"),
    "material_use": ("position", "product_id", "lot_id", "amount", "unit", "reclaimed"),
    "coat": ("number", "reseal", "area_ft2", "slab_f", "air_f", "humidity_percent"),
    "reading": (
        *("lightness", "a", "b", "sd_lightness", "sd_a", "sd_b", "spot", "damp", "sealed", "source"),
        *("photo", "sample", "box", "camera", "card"),
    ),
    "sample": ("number", "load_id", "size", "kept_where", "half_sealed", "cement"),
    "sample_dose": ("position", "product_id", "percent"),
    "approval": ("sample", "signed_by", "approved"),
    "claim": ("complaint", "cause", "action", "outcome", "settled"),
    "entry_file": ("position", "sha256", "name"),
}
"""Tables of an entry's details: columns besides `entry_id`; rows in the order of the first."""
FILE = ("size", "media_type", "added")
"""Of each `entry_file`, the columns of its `file`, after its own."""

PLAIN: dict[str, tuple[int, tuple[str, ...]]] = {
    "person": (1, ("id", "uid", "version", "name", "name_key")),
    "plant": (2, ("id", "uid", "version", "name", "name_key")),
    "maker": (3, ("id", "uid", "version", "name", "name_key")),
    "customer": (
        4,
        (
            "id",
            "uid",
            "version",
            "name",
            "name_key",
            "phone",
            "email",
            "note",
            "leave_alone",
            "merged_into_id",
        ),
    ),
    "site": (
        5,
        ("id", "uid", "version", "street", "street_key", "town", "town_key", "zone", "exposure", "map_note"),
    ),
    "ownership": (6, ("id", "uid", "version", "site_id", "customer_id", "since", "note")),
    "buried": (7, ("id", "uid", "version", "site_id", "what", "place", "depth_in")),
    "product": (
        8,
        (
            *("id", "uid", "version", "maker_id", "name", "name_key", "kind", "form", "chemistry"),
            *("solids_percent", "max_percent_of_cement", "pack_lb", "safety"),
        ),
    ),
    "lot": (9, ("id", "uid", "version", "product_id", "code", "code_key")),
    "mix": (
        10,
        (
            *("id", "uid", "version", "plant_id", "number", "cement_kind", "cement_mill"),
            *("cement_lb_per_yd3", "scm_kind", "scm_lb_per_yd3", "admixtures", "sand", "valid_from"),
            "valid_to",
        ),
    ),
    "job": (
        11,
        (
            *("id", "uid", "version", "handle", "name", "name_key", "customer_id", "site_id", "reference_id"),
            *("state", "planned_on", "note", "logged", "archived_from"),
        ),
    ),
    "recipe": (12, ("id", "uid", "version", "name", "name_key", "from_id", "frozen", "reason")),
    "area": (
        13,
        (
            *("id", "uid", "version", "job_id", "position", "name", "name_key", "kind", "exposure"),
            *("area_ft2", "depth_in", "edge_yd3", "recipe_id"),
        ),
    ),
    "advice": (14, ("id", "uid", "job_id", "kind", "method", "inputs", "answer", "given")),
    "stock_move": (
        15,
        (
            *("id", "uid", "product_id", "lot_id", "what", "amount", "unit", "price_usd", "happened"),
            *("logged", "person_id", "job_id", "note", "replaces_id", "withdrawn"),
        ),
    ),
}
"""Tables with a hash per row, kept in `seal` under the table's number and the row's id.

A recipe is followed by its stages and their materials, an area by its shapes.
"""
STAGE = ("recipe_id", "id", "position", "kind", "params", "params_version")
STAGE_MATERIAL = ("stage_id", "position", "product_id", "lot_id", "rate", "unit")
SHAPE = ("area_id", "position", "sign", "kind", "dimensions", "depth_in")
WHOLE: dict[str, tuple[int, tuple[str, ...]]] = {
    "setting": (16, ("key", "value", "changed")),
    "draft": (17, ("key", "body", "saved")),
}
"""Small tables with one hash for all their rows, in order of the key; row id 0."""
PHOTO = ("sha256", "format", "width", "height", "taken", "utc_offset", "clock")
PHOTO_NUMBER = 19
"""Photos are sealed under the first 15 hex digits of their hash."""
VIEW_NUMBER = 18
"""What is kept of a job for the list, the search and what falls due."""

SHELF_NUMBER = 20
"""What is kept of a lot on the shelf."""


def digest(before: str, content: Content) -> str:
    """The hash of a content that follows the one with the hash `before`."""
    return blake2b((before + _json(content)).encode("ascii"), digest_size=16).hexdigest()


def known(values: Sequence[Any]) -> Sequence[Any]:
    """The values up to the last known one."""
    if values[-1] is not None:
        return values
    found = list(values)
    while found and found[-1] is None:
        del found[-1]
    return found


def entry(row: Sequence[Any], details: Iterable[tuple[str, Sequence[Content]]]) -> Content:
    """The content of an entry: its row, and what each table says of it."""
    return [*known(row), *([name, rows] for name, rows in details if rows)]


def has_files(entry: Content) -> bool:
    """Whether an entry's content names files."""
    return any(isinstance(part, list) and part[0] == "entry_file" for part in entry)


def photo_id(sha256: str) -> int:
    """The row id under which a photo is sealed; -1 for what is no hash."""
    try:
        return int(sha256[:15], 16)
    except ValueError:
        return -1


def state(uid: str, writes: int, entries: int, head: str) -> str:
    """The proof of the log's own row: its identity, how often it was written, its last entry."""
    return digest("", [uid, writes, entries, head])
