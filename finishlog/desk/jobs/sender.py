"""Who writes: the shop's name and address on letters and drafts."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from finishlog.desk.jobs import settings
from finishlog.errors import InputError
from finishlog.records.shop_texts import TEXTS

if TYPE_CHECKING:
    from finishlog.desk.services import Services

KEYS = ("shop_name", "shop_street", "shop_phone", "shop_email")
_TITLES = {text.key: text.title for text in TEXTS}


def look(services: Services) -> dict[str, str]:
    """The shop's words about itself by key, in the order of `KEYS`; blank is unknown."""
    with services.log().reading() as log:
        own = log.settings()
    return {key: own.get(key, "") for key in KEYS}


def keep(services: Services, texts: Mapping[str, str]) -> None:
    """Save some of them. Raises WrongFields for unprintable text, InputError for a bad e-mail."""
    if email := texts.get("shop_email", "").strip():
        user, _, domain = email.partition("@")
        if not user or "." not in domain or " " in email or "@" in domain:
            title = f"“{email[:60]}” is not an e-mail address."
            raise InputError(title, where="shop_email", example="shop@example.com")
    settings.change(services, texts)


def title(key: str) -> str:
    """The field's label on the form."""
    return _TITLES[key]
