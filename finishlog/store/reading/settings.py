"""The shop's own settings, and all of them with their defaults."""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING

from sqlalchemy.engine import Connection

from finishlog.errors import InputError, LogError
from finishlog.store.schema.rows import read

if TYPE_CHECKING:
    from finishlog.records.shop import Shop

SETTINGS = "SELECT key, value FROM setting ORDER BY key"


def settings(connection: Connection) -> dict[str, str]:
    """The shop's own values by key; what is not here has its default."""
    return {row[0]: row[1] for row in read(connection, SETTINGS, {})}


def shop(connection: Connection) -> Shop:
    """All settings, the shop's own over the defaults. Keys this program does not know are left out.

    Raises LogError for a value that no setting has.
    """
    try:
        return _shop(tuple(settings(connection).items()))
    except InputError as wrong:
        raise LogError(
            "The log is damaged: a setting cannot be used.",
            f"{wrong.line()}",
            "Restore a copy: finishlog restore lists them and keeps the damaged log.",
        ) from None


@lru_cache(maxsize=16)
def _shop(values: tuple[tuple[str, str], ...]) -> Shop:
    from finishlog.records.shop import SETTINGS, Shop

    known = {setting.key for setting in SETTINGS}
    return Shop.from_values({key: value for key, value in values if key in known})
