"""Where a log is: a file's path, or the address of a database on a PostgreSQL server, which holds no password."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from finishlog.errors import LogError
from finishlog.store.engine import header

_SECRET = frozenset(("password", "sslpassword", "passwd", "oauth_client_secret"))


@dataclass(frozen=True, slots=True)
class Address:
    """A database on a server, as libpq takes it: `postgresql://user@host/db?…`. `str` is safe to show."""

    url: str

    def __str__(self) -> str:
        return self.url


def is_address(where: object) -> bool:
    """Whether a text names a server rather than a file."""
    return isinstance(where, Address) or header.SERVER.match(str(where)) is not None


def place(where: str | Path | Address) -> Path | Address:
    """The address or path as given. Raises LogError where it is neither, or holds a password."""
    if isinstance(where, Address):
        return where
    return parsed(str(where)) if is_address(where) else header.place(where)


def parsed(text: str) -> Address:
    """The address a text gives. Raises LogError; no message repeats a password."""
    from urllib.parse import parse_qsl, urlsplit

    try:
        parts = urlsplit(text)
        asked = parse_qsl(parts.query, keep_blank_values=True)
    except ValueError:
        raise _no("It is not an address.") from None
    if parts.password or any(name.lower() in _SECRET and value for name, value in asked):
        raise LogError(
            "The log's address holds a password.",
            "Other users of this machine could read it.",
            "Leave it out; use a passfile (PGPASSFILE), a service file or PGPASSWORD.",
        )
    if parts.fragment or not text.isprintable() or " " in text:
        raise _no("It has marks that an address cannot have.")
    return Address(text)


def _no(cause: str) -> LogError:
    return LogError("The log's address cannot be read.", cause, "Example: postgresql://user@host/db")
