"""Unfinished forms: kept as they are typed, offered again to who typed them, gone once they are logged."""

from __future__ import annotations

import json
from collections.abc import Mapping
from datetime import datetime
from typing import TYPE_CHECKING

from finishlog.retrying import anew
from finishlog.trade.events import kinds_in_order

if TYPE_CHECKING:
    from finishlog.desk.services import Services
    from finishlog.store import Reader, Writer

DAY_CARD = "day_card"
_SINCE = ""
"""The time of typing is saved beside the texts, under a key no field uses."""


class Draft(dict[str, str]):
    """An unfinished form's texts by field, and when it was last typed in; None if unknown."""

    def __init__(self, texts: Mapping[str, str], since: datetime | None = None) -> None:
        super().__init__(texts)
        self.since = since


def draft_key(handle: str, kind: str, replaces: int | None = None) -> str:
    """The key of the draft of one form of a job; a correction has its own."""
    return f"entry {handle} {kind}" + ("" if replaces is None else f" {replaces}")


def _own(key: str, who: str) -> str:
    return f"{key} by {who}" if who else key


@anew
def keep_draft(services: Services, key: str, texts: Mapping[str, str]) -> None:
    """Keep what is typed so far; nothing at all throws the draft away."""
    told = {name: text for name, text in texts.items() if text}
    since = {_SINCE: services.clock().isoformat(timespec="minutes")}
    with services.log().writing() as log:
        log.save_draft(
            _own(key, services.who), json.dumps(told | since, ensure_ascii=False) if told else None
        )
        if not told and log.draft(key) is not None:
            log.save_draft(key, None)


def draft(services: Services, key: str) -> Draft | None:
    """The texts kept under this key, or None."""
    with services.log().reading() as log:
        return read(log, key, services.who)


def read(log: Reader, key: str, who: str) -> Draft | None:
    """As `draft`, within a reading; of nobody known, as they were once kept, if this one has none."""
    own = _texts(log.draft(_own(key, who)))
    return own or _texts(log.draft(key))


def drafts(services: Services, handle: str) -> tuple[tuple[str, Draft], ...]:
    """The kinds of a job's entries that are half written, with their texts, in the order of the work."""
    with services.log().reading() as log:
        whole = log.resolve(handle)
        kinds = (DAY_CARD, *(kind.key for kind in kinds_in_order()))
        found = ((kind, read(log, draft_key(whole, kind), services.who)) for kind in kinds)
        return tuple((kind, texts) for kind, texts in found if texts)


def forget(log: Writer, who: str, handle: str, kind: str, replaces: int | None = None) -> None:
    """The form was logged: the draft of who logged it goes, in the same unit of work; another's stays."""
    key = draft_key(handle, kind, replaces)
    for each in {_own(key, who), key}:
        if log.draft(each) is not None:
            log.save_draft(each, None)


def _texts(body: str | None) -> Draft | None:
    """A draft that no program of ours wrote is as good as none."""
    if body is None:
        return None
    try:
        found = json.loads(body)
    except (ValueError, RecursionError):
        return None
    if not isinstance(found, dict):
        return None
    texts = {str(key): text for key, text in found.items() if isinstance(text, str)}
    since = _instant(texts.pop(_SINCE, ""))
    return Draft(texts, since) if texts else None


def _instant(text: str) -> datetime | None:
    try:
        found = datetime.fromisoformat(text)
    except ValueError:
        return None
    return found if found.tzinfo else None
