"""Two-line headers (groups above columns) and repeated column names: each column gets a unique name."""

from __future__ import annotations

import csv
from collections.abc import Collection, Sequence

from finishlog.inputs.asking import Field
from finishlog.inputs.paper_log import column_names
from finishlog.inputs.paper_log.mapping import header_key


def above(text: str, delimiter: str) -> list[str]:
    """The last line of what stands above the header, where it names groups, each over its first; else nothing."""
    lines = text.splitlines()
    if not lines or lines[-1].lstrip(' "').startswith("#"):
        return []
    cells = [cell.strip() for cell in next(csv.reader(lines[-1:], delimiter=delimiter), [])]
    filled = [cell for cell in cells if cell]
    return cells if len(filled) > 1 and not any(map(str.isdigit, "".join(filled))) else []


def told_apart(
    header: Sequence[str], groups: Sequence[str], columns: Sequence[Field], known: Collection[str]
) -> tuple[str, ...]:
    """The headers; a repeated or meaningless one is prefixed with its group, or numbered.

    Our own names stay as they are.
    """
    own = {header_key(name) for column in columns for name in (column.title, column.key)}
    keys = [header_key(name) for name in header]
    found: list[str] = []
    group = ""
    for place, (name, key) in enumerate(zip(header, keys, strict=True)):
        group = (groups[place] if place < len(groups) else "") or group
        alone = keys.count(key) == 1 and (not group or column_names.plain(name) in known)
        if not key or key in own or alone:
            found.append(name)
            continue
        full = f"{group} {name.strip()}".strip()
        before = [header_key(each) for each in found]
        numbered = f"{full} ({keys[: place + 1].count(key)})"
        found.append(numbered if header_key(full) in before else full)
    return tuple(found)
