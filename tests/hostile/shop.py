"""A small shop with a row in every table, as an export; and the same with a hostile text in every field."""

from __future__ import annotations

import copy
import json
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

from finishlog.store.archive.read import JSON_NAME
from finishlog.store.schema.fold import key
from tests.conftest import Ran

Run = Callable[..., Ran]
JOB = "ines-puddlecombe-back-patio"
PLANNED = "ines-puddlecombe-plan-one"
REACHED = "ines@example.com"
"""The address that stays good, so that a draft is written to it."""
FIELDS = {
    "person": ("name",),
    "plant": ("name",),
    "maker": ("name",),
    "customer": ("name", "phone", "email", "note"),
    "site": ("street", "town", "map_note"),
    "ownership": ("note",),
    "buried": ("what", "place"),
    "product": ("name", "chemistry", "safety"),
    "lot": ("code",),
    "mix": ("number", "cement_kind", "cement_mill", "scm_kind", "admixtures", "sand"),
    "job": ("name", "note"),
    "recipe": ("name", "reason"),
    "area": ("name",),
    "load": ("ticket", "water_when"),
    "entry": ("note",),
    "stock_move": ("note",),
    "sample": ("size", "kept_where", "cement"),
    "approval": ("signed_by",),
    "claim": ("complaint", "cause", "action", "outcome"),
    "entry_file": ("name",),
    "file": ("media_type",),
}
"""What people typed, by table; the rest is ours: ids, kinds, units, days."""
JSONS = {"entry": "facts", "stage": "params", "advice": "answer", "draft": "body"}
SHOP = {
    "shop_name": "Teakettle Slabs",
    "shop_phone": "555-0100",
    "letter_greeting": "Dear {customer},",
    "letter_subject": "The sealer, {street}",
    "letter_body": "It is due {due}.",
    "letter_closing": "Yours",
}

Data = dict[str, Any]


def export(run: Run, release: Any, folder: Path) -> Data:
    """The export's JSON of a shop whose customer is due for a reseal and has a planned addition."""
    folder.mkdir(exist_ok=True)
    log = release.made(folder)
    for argv in (
        ("shop", "--name", "Teakettle Slabs", "--street", "12 Teakettle Lane", "--email", "shop@example.com"),
        ("job", "customer", JOB, "--email", REACHED, "--phone", "555-0101", "--remind"),
        ("match", JOB, "--rect", "12x10", "--depth", "4in", "--save", "plan one", "--on", "2026-07-01"),
        ("record", JOB, "joint", "--at", "2025-05-14 20:00", "--because", "at dusk", "--by", "Ada"),
        ("export", str(folder / "out")),
    ):
        done = run("--log", str(log), *argv)
        assert done.status == 0, done.err
    made: Data = json.loads((folder / "out" / JSON_NAME).read_text("utf-8"))
    return made


def table(data: Data, name: str) -> tuple[list[str], list[list[Any]]]:
    return data["tables"][name]["columns"], data["tables"][name]["rows"]


def put(data: Data, name: str, column: str, value: Any) -> Data:
    """The export with this value in every row of a column."""
    made = copy.deepcopy(data)
    columns, rows = table(made, name)
    for row in rows:
        row[columns.index(column)] = value
    return made


def hostile(data: Data, text: str) -> Data:
    """The export with the text in every field that people type, numbered where names must differ."""
    made, names = copy.deepcopy(data), {}
    for name, fields in FIELDS.items():
        columns, rows = table(made, name)
        for field in fields:
            place = columns.index(field)
            for row in rows:
                if field == "email" and row[place] is None:
                    row[place] = REACHED
                elif row[place] != REACHED:
                    row[place] = names.setdefault(row[place], f"{text} {len(names)}")
                if f"{field}_key" in columns:
                    row[columns.index(f"{field}_key")] = key(row[place])
    for name, field in JSONS.items():
        columns, rows = table(made, name)
        for row in rows:
            row[columns.index(field)] = json.dumps(_renamed(json.loads(row[columns.index(field)]), names))
    _letterhead(made, text)
    return made


def _letterhead(data: Data, text: str) -> None:
    columns, rows = table(data, "setting")
    held = {row[columns.index("key")]: row for row in rows}
    for setting, said in SHOP.items():
        row = [
            {"key": setting, "value": f"{text} {said}", "changed": "2026-06-16T12:00:00.000000Z"}[c]
            for c in columns
        ]
        if setting in held:
            rows.remove(held[setting])
        rows.append(row)


def _renamed(value: Any, names: dict[Any, str]) -> Any:
    """Names within kept JSON, as they now are."""
    if isinstance(value, dict):
        return {name: _renamed(each, names) for name, each in value.items()}
    if isinstance(value, list):
        return [_renamed(each, names) for each in value]
    return names.get(value, value) if isinstance(value, str) else value


def write(data: Data, files: Path, folder: Path) -> Path:
    """The export as a folder, with the attached files of another."""
    folder.mkdir()
    (folder / JSON_NAME).write_text(json.dumps(data), "utf-8")
    shutil.copytree(files, folder / "files")
    return folder


def doors(out: Path) -> Iterator[tuple[str, ...]]:
    """Every command that reads back what people typed; files go to `out`."""
    pdf = ("--pdf", str(out / "sheet.pdf"))
    yield from (
        ("check",),
        ("find",),
        ("find", "--json"),
        ("find", "red", "Bcc"),
        ("today", "--all"),
        ("shop",),
    )
    yield from (("care", "--by", "2040-01-01"), ("care", "--plan"), ("shelf", "--all"), ("shelf", "moves"))
    yield (
        "care",
        "--by",
        "2040-01-01",
        "--again",
        "--csv",
        str(out / "care.csv"),
        "--ics",
        str(out / "care.ics"),
    )
    yield ("care", "--by", "2040-01-01", "--again", "--mail", str(out / "mail"))
    yield ("care", "--by", "2040-01-01", "--again", "--letters", str(out / "letters.pdf"))
    yield from (("show", JOB), ("show", JOB, "--json"), ("show", PLANNED), ("color", JOB), ("rinse", JOB))
    yield from (("match", JOB, "--rect", "9x9", "--depth", "4in"), ("today", "--ahead", PLANNED))
    yield from (("sheet", JOB, "customer", *pdf), ("sheet", JOB, "history", *pdf))
    yield from (("sheet", PLANNED, kind, *pdf) for kind in ("match", "batch", "daycard"))
    yield ("export", str(out / "export"))


ERRORS: tuple[tuple[str, ...], ...] = (
    ("show", "{}"),
    ("find", "--since", "{}"),
    ("record", JOB, "{}"),
    ("record", JOB, "rinse", "--at", "{}"),
    ("record", JOB, "rinse", "--set", "{}=1"),
    ("record", JOB, "rinse", "--set", "pressure_psi={}"),
    ("import", "{}"),
    ("care", JOB, "{}"),
    ("care", JOB, "booked", "--on", "{}"),
    ("shelf", "{}"),
    ("shelf", "buy", "{}"),
    ("match", JOB, "--rect", "{}"),
    ("match", JOB, "--rect", "9x9", "--depth", "4in", "--lot", "{}"),
    ("sheet", JOB, "{}", "--pdf", "x.pdf"),
    ("yards", "--rect", "{}", "--depth", "4in"),
    ("dose", "--yards", "{}", "--percent", "4"),
    ("weather", "--air", "{}"),
    ("job", "new", "--customer", "Bo", "--areas", "{}"),
    ("job", "new", "--customer", "Bo", "--handle", "{}"),
    ("job", "merge", "{}", "{}"),
    ("move", JOB, "1", "{}"),
    ("photo", JOB, "{}"),
    ("read", JOB, "{}"),
    ("blend", "--target", "{}"),
    ("balance", "{}"),
    ("shop", "--name", "{}"),
    ("backup", "{}/x"),
    ("export", "{}/x"),
    ("{}",),
    ("find", "--{}"),
)
"""Commands that refuse, with the text where it is refused or named."""
