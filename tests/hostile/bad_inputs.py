"""The manifest of bad inputs: what each is, how it is made, the door it goes through, what is owed.

Made by code, none stored. `owed` is the exit statuses that are right; a refusal is one line. Where `words` is given,
it says so.
"""

from __future__ import annotations

import io
import json
import os
import sqlite3
import struct
import zipfile
import zlib
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

Make = Callable[[Path], object]
REFUSED, NO_LOG = (2,), (3,)
TAKEN_OR_REFUSED = (0, 2)
"""A reader may make something of it, or say what is wrong; never anything else."""


@dataclass(frozen=True)
class Bad:
    """`make` writes the input at a path; `argv` is the command, `{}` the path."""

    name: str
    make: Make
    argv: tuple[str, ...]
    owed: tuple[int, ...] = REFUSED
    words: str = ""


def _bytes(data: bytes) -> Make:
    return lambda path: path.write_bytes(data)


def _text(text: str) -> Make:
    return _bytes(text.encode("utf-8", "surrogatepass"))


# exports

_HEAD = '{"format": "finishlog export", "application": "0", "schema": "0001", "tables": '
EXPORTS: dict[str, bytes] = {
    "empty": b"",
    "no JSON": b"hello",
    "half a JSON": b'{"format": "fin',
    "a list": b"[]",
    "a number": b"5",
    "null": b"null",
    "another program's": b'{"format": "other"}',
    "no tables": b'{"format": "finishlog export", "schema": "0001"}',
    "newer": b'{"format": "finishlog export", "schema": "9999", "tables": {}}',
    "schema a list": _HEAD.replace('"0001"', "[]").encode() + b"{}}",
    "schema null": _HEAD.replace('"0001"', "null").encode() + b"{}}",
    "tables a list": _HEAD.encode() + b"[]}",
    "no table": _HEAD.encode() + b"{}}",
    "a table a string": _HEAD.encode() + b'{"job": "x"}}',
    "rows a number": _HEAD.encode() + b'{"job": {"columns": [], "rows": 5}}}',
    "columns numbers": _HEAD.encode() + b'{"job": {"columns": [1], "rows": [[1]]}}}',
    "a row a string": _HEAD.encode() + b'{"job": {"columns": ["a"], "rows": ["a"]}}}',
    "a cell an object": _HEAD.encode() + b'{"job": {"columns": ["a"], "rows": [[{}]]}}}',
    "a cell true": _HEAD.encode() + b'{"job": {"columns": ["a"], "rows": [[true]]}}}',
    "a strange table": _HEAD.encode() + b'{"sqlite_master": {"columns": ["a"], "rows": []}}}',
    "NaN": _HEAD.encode() + b'{"job": {"columns": ["a"], "rows": [[NaN]]}}}',
    "a huge number": _HEAD.encode() + b'{"job": {"columns": ["a"], "rows": [[' + b"9" * 5000 + b"]]}}}",
    "deep": b"[" * 200_000,
    "deep object": b'{"a":' * 100_000,
    "Latin-1": '{"format": "é"}'.encode("latin-1"),
    "UTF-16": '{"format": "finishlog export"}'.encode("utf-16"),
    "half a character": b'{"format": "\xed\xa0\x80"}',
    "NUL bytes": bytes(5000),
    "a byte order mark": b"\xef\xbb\xbf{}",
    "twice the key": b'{"format": "finishlog export", "format": 5}',
    "noise": bytes(range(256)) * 40,
}


def _export(data: bytes) -> Make:
    def make(path: Path) -> None:
        path.mkdir()
        (path / "finishlog.json").write_bytes(data)

    return make


def _piped_export(path: Path) -> None:
    path.mkdir()
    os.mkfifo(path / "finishlog.json")


def _linked_export(path: Path) -> None:
    path.mkdir()
    (path / "finishlog.json").symlink_to("/dev/zero")


def exports() -> Iterator[Bad]:
    back = ("--log", "{}.new", "import", "--new", "{}")
    for name, data in EXPORTS.items():
        yield Bad(f"export: {name}", _export(data), back)
    for name, make in {
        "a pipe": _piped_export,
        "endless": _linked_export,
        "an empty folder": Path.mkdir,
    }.items():
        yield Bad(f"export: {name}", make, back)


# sheets


def _book(parts: dict[str, str | bytes], *, squeeze: int = zipfile.ZIP_DEFLATED) -> bytes:
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w", squeeze) as book:
        for name, text in parts.items():
            book.writestr(name, text)
    return made.getvalue()


_TYPES = '<?xml version="1.0"?><Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types"/>'
_LAUGHS = (
    '<?xml version="1.0"?><!DOCTYPE a [<!ENTITY a "ha">'
    + "".join(f'<!ENTITY a{n} "{f"&a{n - 1 or str()};" * 10}">' for n in range(1, 9))
    + "]><workbook>&a8;</workbook>"
)
BOOKS: dict[str, bytes] = {
    "empty zip": _book({}),
    "half a zip": _book({"a": "b" * 5000})[:60],
    "no workbook": _book({"[Content_Types].xml": _TYPES}),
    "entities": _book({"[Content_Types].xml": _TYPES, "xl/workbook.xml": _LAUGHS}),
    "a bomb": _book({"xl/worksheets/sheet1.xml": bytes(60_000_000)}),
    "a path outside": _book({"../../evil": "x", "[Content_Types].xml": _TYPES}),
    "not XML": _book({"[Content_Types].xml": "hello"}),
    "text": b"customer,poured_on\nBo,2025-05-14\n",
    "an old workbook": b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(2000),
    "noise": b"PK\x03\x04" + bytes(range(256)) * 20,
    "empty": b"",
}
SHEETS: dict[str, bytes] = {
    "empty": b"",
    "blank": b"\n\n\n",
    "a header alone": b"nothing,of,ours\n",
    "noise": bytes(range(256)) * 20,
    "NUL": b"customer,poured_on\nB\0o,2025-05-14\n",
    "no end of a quote": b'customer,poured_on\n"Bo,2025-05-14\n',
    "a cell of a megabyte": b"customer,poured_on\n" + b"x" * 1_000_000 + b",2025-05-14\n",
    "a line of 100,000 columns": b"a," * 100_000 + b"b\n",
    "the header twice": b"customer,customer,poured_on\nBo,Al,2025-05-14\n",
    "UTF-16 cut": "customer,poured_on\nBo,2025-05-14\n".encode("utf-16")[:-1],
    "year 9999": b"customer,poured_on\nBo,9999-12-31\n",
    "year 1": b"customer,poured_on\nBo,0001-01-01\n",
    "no day": b"customer,poured_on\nBo,2025-02-30\n",
    "tomorrow's": b"customer,poured_on\nBo,2190-01-01\n",
    "no name": "customer,poured_on\n\u200b,2025-05-14\n".encode(),
    "NaN yards": b"customer,poured_on,yards\nBo,2025-05-14,NaN\n",
    "endless yards": b"customer,poured_on,yards\nBo,2025-05-14,1e999\n",
    "Arabic digits": "customer,poured_on,yards\nBo,2025-05-14,٣\n".encode(),
    "minus": b"customer,poured_on,yards\nBo,2025-05-14,-5\n",
    "a short row": b"customer,poured_on,yards\nBo\n",
    "a long row": b"customer,poured_on\nBo,2025-05-14,1,2,3\n",
    "10,000 bad rows": b"customer,poured_on\n" + b"Bo,zzz\n" * 10_000,
    "only quotes": b'"' * 9999,
    "separators": b";,\t|" * 2000 + b"\n",
    "no such job": b"job,kind,at\nnobody,rinse,2025-05-14\n",
    "no such kind": b"job,kind,at\nnobody,dance,2025-05-14\n",
    "bell": b"customer\a,poured_on\nBo,2025-05-14\n",
    "HTML": b"<html><table><tr><td>Bo</td></tr></table></html>",
    "JSON": b'[{"customer": "Bo"}]',
    "a PDF": b"%PDF-1.7\n" + bytes(500),
    "a log": b"SQLite format 3\0" + bytes(5000),
}


def sheets() -> Iterator[Bad]:
    for name, data in BOOKS.items():
        yield Bad(
            f"workbook: {name}", _bytes(data), ("--log", "{log}", "import", "{}.xlsx"), TAKEN_OR_REFUSED
        )
    for name, data in SHEETS.items():
        yield Bad(f"sheet: {name}", _bytes(data), ("--log", "{log}", "import", "{}.csv"), TAKEN_OR_REFUSED)
    yield Bad("sheet: a pipe", os.mkfifo, ("--log", "{log}", "import", "{}.csv"))
    yield Bad(
        "sheet: endless", lambda path: path.symlink_to("/dev/zero"), ("--log", "{log}", "import", "{}.csv")
    )


# photos


def _chunk(kind: bytes, data: bytes) -> bytes:
    return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))


def _png(width: int, height: int, data: bytes, *more: bytes) -> bytes:
    head = _chunk(b"IHDR", struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0))
    return b"\x89PNG\r\n\x1a\n" + head + b"".join(more) + _chunk(b"IDAT", data) + _chunk(b"IEND", b"")


_DOT = _png(1, 1, zlib.compress(b"\0\1\2\3"))
_BOMB_TEXT = _chunk(b"zTXt", b"a\0\0" + zlib.compress(bytes(50_000_000)))
_TIFF = b"II*\0\x08\0\0\0"
PHOTOS: dict[str, bytes] = {
    "empty": b"",
    "a byte": b"\xff",
    "text": b"hello",
    "a JPEG's first bytes": b"\xff\xd8\xff\xe0",
    "a JPEG's head and noise": b"\xff\xd8\xff\xe0" + bytes(range(256)) * 9,
    "half a PNG": _DOT[:40],
    "a PNG with no end": _DOT[:-12],
    "a PNG of no pixels": _png(0, 0, b""),
    "a PNG of 65,535 squared": _png(65535, 65535, b""),
    "a PNG of 2^31": _png(2**31 - 1, 1, b""),
    "a PNG's wrong sum": _DOT[:-20] + b"zzzz" + _DOT[-16:],
    "a PNG with a text bomb": _png(1, 1, zlib.compress(b"\0\1\2\3"), _BOMB_TEXT),
    "a PNG with no data": _png(4, 4, b""),
    "a PNG with short data": _png(400, 400, zlib.compress(b"\0")),
    "a GIF": b"GIF89a" + bytes(50),
    "a WebP's head": b"RIFF\x20\0\0\0WEBPVP8 " + bytes(20),
    "a HEIC's head": b"\0\0\0\x18ftypheic" + bytes(40),
    "a TIFF's head": _TIFF,
    "a TIFF that turns in a circle": _TIFF + b"\0\0\x08\0\0\0",
    "a TIFF of a billion tags": _TIFF + b"\xff\xff" + bytes(100),
    "an SVG": b"<svg xmlns='http://www.w3.org/2000/svg'/>",
    "a BMP": b"BM" + bytes(60),
    "a zip behind a PNG's head": _DOT[:8] + _book({"a": "b"}),
    "HTML": b"<html></html>",
    "a script": b"#!/bin/sh\nreboot\n",
    "an icon": b"\0\0\1\0\1\0" + bytes(40),
    "a PostScript": b"%!PS-Adobe-3.0 EPSF-3.0\n%%BoundingBox: 0 0 9 9\n",
    "a log": b"SQLite format 3\0" + bytes(5000),
}


def photos() -> Iterator[Bad]:
    for name, data in PHOTOS.items():
        yield Bad(f"photo: {name}", _bytes(data), ("--log", "{log}", "photo", "{job}", "{}.jpg"))
    yield Bad("photo: a pipe", os.mkfifo, ("--log", "{log}", "photo", "{job}", "{}.jpg"))
    yield Bad(
        "photo: endless",
        lambda path: path.symlink_to("/dev/zero"),
        ("--log", "{log}", "photo", "{job}", "{}.jpg"),
    )
    yield Bad("photo: gone", lambda path: None, ("--log", "{log}", "photo", "{job}", "{}.jpg"))


# logs


def _foreign(path: Path) -> None:
    with sqlite3.connect(path) as made:
        made.execute("CREATE TABLE song (title TEXT)")


def _cut(path: Path) -> None:
    data = bytearray(b"SQLite format 3\0" + bytes(84))
    struct.pack_into(">HxxxxxxxxxxI", data, 16, 4096, 5000)
    struct.pack_into(">I", data, 68, 0x464C4F47)
    path.write_bytes(bytes(data))


LOGS: dict[str, Make] = {
    "empty": _bytes(b""),
    "text": _bytes(b"poured_on,customer\n"),
    "another's": _foreign,
    "a name alone": _bytes(b"SQLite format 3\0"),
    "cut short": _cut,
    "noise": _bytes(bytes(range(256)) * 99),
    "a folder": Path.mkdir,
    "a pipe": os.mkfifo,
    "endless": lambda path: path.symlink_to("/dev/zero"),
    "a circle": lambda path: path.symlink_to(path),
    "gone": lambda path: None,
    "a photo": _bytes(_DOT),
    "zeros": lambda path: (path.touch(), os.truncate(path, 2**30)),
}


def logs() -> Iterator[Bad]:
    for name, make in LOGS.items():
        for argv in (("find",), ("check",)):
            yield Bad(f"log: {name}, {argv[0]}", make, ("--log", "{}", *argv), NO_LOG)


# what is typed

TYPED: tuple[tuple[str, ...], ...] = (
    ("yards", "--rect", "1e309x2", "--depth", "4in"),
    ("yards", "--rect", "-2x2", "--depth", "4in"),
    ("yards", "--polygon", "0,0 " * 5000, "--depth", "4in"),
    ("yards", "--rect", "24x18", "--depth", "nan"),
    ("dose", "--yards", "6", "--percent", "99999"),
    ("dose", "--yards", "9" * 400, "--percent", "4"),
    ("dose", "--yards", "6", "--percent", "4", "--cement", "0"),
    ("dose", "--yards", "6", "--rate", "7 lb"),
    ("film", "--area", "-1"),
    ("weather", "--air", "9999F", "--humidity", "50"),
    ("weather", "--air", "70", "--humidity", "nan"),
    ("find", "--since", "2025-13-01"),
    ("find", "--limit", "-1"),
    ("find", "--limit", "9" * 30),
    ("find", "--near", "300,0,0"),
    ("blend", "--target", "a,b,c"),
    ("import", "/proc/self/mem"),
    ("import", "/dev/zero"),
    ("import", ""),
    ("new", "/no/such/folder/x"),
    ("export", "/proc/x"),
    ("backup", "/dev/null"),
    ("nothing",),
    ("--units", "cubits", "find"),
    ("--log",),
    ("record", "{job}", "rinse", "--set", "pressure_psi=1e999"),
    ("record", "{job}", "rinse", "--at", "32:99"),
    ("record", "{job}", "load", "--set", "yards=٣"),
    ("care", "{job}", "booked", "--on", "9999-12-31"),
    ("today", "--by", "0000-00-00"),
)


def typed() -> Iterator[Bad]:
    for argv in TYPED:
        yield Bad(f"typed: {' '.join(argv)[:50]}", lambda path: None, ("--log", "{log}", *argv), (2, 3))


SETTINGS: dict[str, bytes] = {
    "noise": bytes(range(256)),
    "deep": b"a=" + b"[" * 50_000,
    "half": b'theme = "sha',
    "wrong kinds": b"theme = 1\nkeys = 2\nwho = []\nlast_log = {}",
    "NUL": b'last_log = "\\u0000"',
    "escapes": b'theme = "\\u001b[31m"\n[keys]\n"\\u202e" = "\\u001b"',
    "long": b'last_log = "' + b"x" * 900_000 + b'"',
}
"""Read before the screens; a command never needs them."""


def every() -> list[Bad]:
    """The whole manifest."""
    return [*exports(), *sheets(), *photos(), *logs(), *typed()]


def table() -> str:
    """The manifest as text, a line each: name, command, what is owed."""
    return "\n".join(json.dumps([bad.name, " ".join(bad.argv)[:80], bad.owed]) for bad in every())
