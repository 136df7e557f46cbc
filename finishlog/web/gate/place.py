"""Where the log is served, what phones call that, and whether others on the way could listen in."""

from __future__ import annotations

import ipaddress
from dataclasses import dataclass
from pathlib import Path
from urllib.parse import urlsplit

from finishlog.errors import InputError

PORT = 8021
LOOPBACK = "127.0.0.1"
_USUAL = {"http": 80, "https": 443}


@dataclass(frozen=True, slots=True)
class Place:
    """An address and a port of this machine. `name` is what phones call it by, where that is not the address.

    `proxy` is the address of a proxy before it, and `outside` what phones call that by, such as
    `https://log.example.com`.
    """

    host: str = LOOPBACK
    port: int = PORT
    cert: Path | None = None
    key: Path | None = None
    insecure_lan: bool = False
    name: str = ""
    proxy: str = ""
    outside: str = ""

    @property
    def scheme(self) -> str:
        """`https` with a certificate."""
        return "https" if self.cert else "http"

    @property
    def is_secure(self) -> bool:
        """Whether phones come by https."""
        return bool(self.cert or self.proxy)

    @property
    def origin(self) -> str:
        """As a phone types it."""
        return self.outside.rstrip("/") if self.proxy else self._called(self.name or self.host)

    @property
    def origins(self) -> tuple[str, ...]:
        """All ways to call it, as a browser says them."""
        if self.proxy or not is_loopback(self.host):
            return (self.origin.lower(),)
        return tuple(self._called(name) for name in (LOOPBACK, "localhost", "::1"))

    def _called(self, name: str) -> str:
        host = f"[{name}]" if ":" in name else name
        port = "" if self.port == _USUAL[self.scheme] else f":{self.port}"
        return f"{self.scheme}://{host}{port}"

    def check(self) -> None:
        """Raises InputError for a place that others could listen in on, or that no phone could call."""
        if not 0 <= self.port <= 65535:
            raise InputError("There is no such port.", where="--port", example="8021")
        if self.proxy or self.outside:
            _check_proxy(self.proxy, self.outside)
        if bool(self.cert) != bool(self.key):
            raise InputError("A certificate and its key go together.", "Give --cert and --key.")
        if self.cert and self.key:
            check_certificate(self.cert, self.key)
        if not (is_loopback(self.host) or self.is_secure or self.insecure_lan):
            raise InputError(
                "Another address than this machine's own needs TLS.",
                "Give --cert and --key, or --insecure-lan, and all on that network can read along.",
                where="--host",
            )
        if _is_every(self.host) and not (self.name or self.proxy):
            raise InputError(
                "Phones need an address to call.", "This one stands for all of the machine's; name one, or --name.",
                where="--host", example="192.168.1.20",
            )  # fmt: skip
        if self.name and not _is_name(self.name):
            raise InputError("That is no name of a machine.", where="--name", example="log.example.com")


def is_loopback(host: str) -> bool:
    """Whether only this machine reaches the address."""
    if host == "localhost":
        return True
    try:
        return ipaddress.ip_address(host).is_loopback
    except ValueError:
        return False


def _is_every(host: str) -> bool:
    try:
        return ipaddress.ip_address(host).is_unspecified
    except ValueError:
        return not host.strip()


def _is_name(text: str) -> bool:
    return text.isascii() and all(part and part.replace("-", "").isalnum() for part in text.split("."))


def _check_proxy(proxy: str, outside: str) -> None:
    where = "[serve] in the settings of this machine"
    try:
        ipaddress.ip_address(proxy)
    except ValueError:
        raise InputError(
            "A proxy is named by its IP address.", where=where, example='proxy = "127.0.0.1"'
        ) from None
    parts = urlsplit(outside)
    if parts.scheme != "https" or not parts.netloc or parts.path.strip("/") or parts.query:
        raise InputError(
            "What phones call the proxy by begins with https:// and has no path.", where=where,
            example='address = "https://log.example.com"',
        )  # fmt: skip


def check_certificate(cert: Path, key: Path) -> None:
    """Raises InputError for what TLS cannot use."""
    import ssl

    def locked() -> str:
        raise InputError(
            "The key has a pass phrase.", "Give one without, that only you can read.", where="--key"
        )

    for path, option in ((cert, "--cert"), (key, "--key")):
        if not path.is_file():
            raise InputError(f"There is no file {path}.", where=option, example=f"{option} shop.pem")
    try:
        ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER).load_cert_chain(cert, key, locked)
    except (ssl.SSLError, OSError) as error:
        why = getattr(error, "reason", None) or getattr(error, "strerror", None) or "it cannot be read"
        said = str(why).replace("_", " ").lower()
        raise InputError("The certificate and its key cannot be used.", f"{said}.".capitalize()) from None
