"""What a hostile or careless hand may put into a field, and how to see that none of it came out raw."""

from __future__ import annotations

import csv
import io
import unicodedata
from email import message_from_bytes
from email.policy import default

from finishlog.store.archive.csv_text import is_plain

TEXTS: dict[str, str] = {
    "escapes": "\x1b[31mred\x1b]0;owned\x07\x1b[2J\x9b31m\x1b]52;c;aGk=\x07",
    "controls": "a\tb\rc\x08\x08d\x7fe\x0cf",
    "bidi": "gate \u202egpj.exe\u202c \u2066x\u2069 \u200fr\u061c",
    "zero width": "in\u200bvis\u2060ible\ufeff\u00ad\u180e",
    "tags": "flag \U000e0041\U000e0042",
    "markup": "[red]loud[/red] [/nope] [@click=app.quit]x[/] [b",
    "formula": '=cmd|"/C calc"!A0',
    "formula plus": "+1+cmd|' /C calc'!A0",
    "formula at": "@SUM(1+1)*cmd|' /C calc'!A0",
    "formula wide": "＝1+1",
    "html": "<script>alert(1)</script><img src=x onerror=alert(1)>&amp;",
    "mail header": "Bo\r\nBcc: victim@example.com\r\n\r\nbody",
    "newlines": "one\ntwo\r\nthree\u2028four\u2029five\x85six",
    "calendar": "a\r\nEND:VEVENT\r\nBEGIN:VEVENT;x=1,2\\n",
    "very long": "long " * 1000,
    "one long word": "w" * 3000,
    "storm": "Z" + "\u0301\u0336\u20dd" * 200 + "algo",
    "emoji": "👷‍♀️🏴󠁧󠁢󠁥󠁮󠁧󠁿 ½ Ñ ß İ",
    "scripts": "田中 שלום عربى हिन्दी ไทย",
    "quotes": "'; DROP TABLE job;-- \"\\` $(reboot) %s {customer} {0}",
    "path": "../../../evil \\\\server\\share C:\\con",
    "odd signs": "\ufffd\ufffe\U0010ffff\ue000",
}
EVERYTHING = (
    "=[red]\x1b[31mX\x9b2J\u202e\u200b\r\nBcc: v@example.com\t<b>&\u2028" + "\u0301" * 60 + "'\"{due}"
)
"""All at once, beginning as a formula."""
_FORMULA = "=+-@\t\r＝＋－＠"
_HEADERS = {
    "subject",
    "from",
    "to",
    "date",
    "x-unsent",
    "mime-version",
    "content-type",
    "content-transfer-encoding",
}


def raw(text: str, *, kept: str = "\n") -> list[str]:
    """The characters of a text that would act on a terminal or hide, where they came out as they are."""
    allowed = set(kept) | set("\u200c\u200d")
    return [
        repr(c)
        for c in text
        if c not in allowed and unicodedata.category(c) in ("Cc", "Cf", "Cs", "Zl", "Zp")
    ]


def storms(text: str, most: int = 12) -> bool:
    """Whether marks stand over one letter in a pile that covers the lines around."""
    run = 0
    for character in unicodedata.normalize("NFC", text):
        run = run + 1 if unicodedata.category(character) in ("Mn", "Me") else 0
        if run > most:
            return True
    return False


def formulas(data: bytes) -> list[str]:
    """The cells of a CSV with which a spreadsheet would calculate."""
    limit = csv.field_size_limit(len(data) + 1)
    try:
        rows = list(csv.reader(io.StringIO(data.decode("utf-8-sig"), newline="")))
    finally:
        csv.field_size_limit(limit)
    return [
        cell
        for row in rows
        for cell in row
        if cell and cell[0] in _FORMULA and not is_plain(cell) and not _is_number(cell)
    ]


def _is_number(cell: str) -> bool:
    try:
        float(cell)
    except ValueError:
        return False
    return True


def mail_faults(data: bytes) -> list[str]:
    """What is wrong with a draft: headers of another hand, raw text in its body."""
    message = message_from_bytes(data, policy=default)
    body = message.get_content()
    strange = [key for key in message if key.lower() not in _HEADERS]
    return [*strange, *message.defects, *raw(str(message["Subject"]), kept=""), *raw(body, kept="\r\n")]
