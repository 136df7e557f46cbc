"""How the connection to the server is secured, in words for `check`: TLS is libpq's, by `sslmode` in the address."""

from __future__ import annotations

from ipaddress import ip_address
from typing import Any

_TLS = "SELECT version FROM pg_stat_ssl WHERE pid = pg_backend_pid() AND ssl"
_BETTER = "Add sslmode=verify-full to the address, with the root certificate (sslrootcert)."
_PROVED = {"verify-full": "certificate and its name were", "verify-ca": "certificate, not its name, was"}


def words(raw: Any) -> tuple[str, ...]:
    """One sentence, and one more with what would be better."""
    if raw.pgconn.ssl_in_use:
        row = raw.execute(_TLS).fetchone()
        return (_encrypted("TLS" if row is None else str(row[0]).replace("TLSv", "TLS "), _mode(raw)),)
    if _on_this_machine(raw):
        return ("The connection to the server stays on this machine.",)
    return (f"The connection to the server is not encrypted: others on the network can read it. {_BETTER}",)


def _encrypted(version: str, mode: str) -> str:
    said = f"The connection to the server is encrypted ({version}, sslmode={mode})"
    if mode in _PROVED:
        return f"{said}; the server's {_PROVED[mode]} verified."
    return f"{said}, but nothing proves which server it is. {_BETTER}"


def _mode(raw: Any) -> str:
    """`sslmode` as libpq took it: from the address, the service file, the environment or its own default."""
    found = {option.keyword: option.val for option in raw.pgconn.info}
    return (found.get(b"sslmode") or b"prefer").decode()


def _on_this_machine(raw: Any) -> bool:
    """A socket, or an address that never leaves the machine."""
    host = raw.info.hostaddr or raw.info.host
    try:
        return host.startswith("/") or ip_address(host).is_loopback
    except ValueError:
        return False
