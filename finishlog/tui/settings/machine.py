"""This machine's settings as fields, and read back from their texts."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace

from finishlog.errors import InputError
from finishlog.settings import SEATS, Machine
from finishlog.tui import actions
from finishlog.tui.forms.fields import Field, asks

LOOKS, KEYS = "This machine", "Keys on this machine"
GROUPS = (LOOKS, KEYS)
TIDIES = "tidies the screens; on a log file it protects nothing"
_YES_NO = ("yes", "no")
_THEMES = {"shade": "Shade", "full-sun": "Full sun"}
_UNITS = {"us": "US", "metric": "metric"}
_KEY = "key."
_FIXED = frozenset(("enter", "escape", "tab", "up", "down", "left", "right", "space"))


def parts(group: str, machine: Machine) -> list[Field | str]:
    """The fields of one of the machine's pages."""
    return [*_looks(machine)] if group == LOOKS else [*_keys(machine)]


def _looks(machine: Machine) -> list[Field]:
    return [
        _choice("theme", "Theme", tuple(_THEMES.values()), _THEMES[machine.theme], "light on dark, or black on white"),
        _choice("outdoors", "Outdoors", _YES_NO, _said(machine.outdoors), "yes: Full sun, whatever the theme"),
        _choice("plain_glyphs", "Plain glyphs", _YES_NO, _said(machine.plain_glyphs),
                "for a console without ● ○ … ³"),
        _choice("units", "Units", tuple(_UNITS.values()), _UNITS[machine.units], "how quantities are shown"),
        _choice("who", "Who sits here", tuple(SEATS), machine.who, TIDIES),
    ]  # fmt: skip


def _choice(key: str, title: str, choices: tuple[str, ...], start: str, hint: str) -> Field:
    def echo(text: str) -> str:
        if text.strip().casefold() not in (each.casefold() for each in choices):
            raise InputError(f"It can be {' or '.join(choices)}.", where=key)
        return hint

    return asks(key, title, echo, start=start, hint=f"default: {choices[0] if choices != _YES_NO else 'no'}",
                choices=choices, strict=True)  # fmt: skip


def _said(value: bool) -> str:
    return "yes" if value else "no"


def verbs() -> dict[str, tuple[actions.Action, ...]]:
    """Remappable verbs by name: a key means the same on every screen."""
    found: dict[str, list[actions.Action]] = {}
    for action in actions.ACTIONS:
        if action.key and "," not in action.key and action.key not in _FIXED:
            found.setdefault(f"{action.label} {action.key}", []).append(action)
    return {name: tuple(same) for name, same in found.items()}


def _keys(machine: Machine) -> list[Field]:
    return [
        asks(f"{_KEY}{at}", same[0].label.capitalize(), _reader(name), start=machine.keys.get(same[0].id, ""),
             hint=f"default: {same[0].shown}")
        for at, (name, same) in enumerate(verbs().items())
    ]  # fmt: skip


def _reader(name: str) -> Callable[[str], str]:
    def echo(text: str) -> str:
        _free(name, _read_key(text))
        return ""

    return echo


def _read_key(text: str) -> str:
    """A key as the screens name it: a letter, a digit, f2 to f12, ctrl and a letter. Raises InputError."""
    key = text.strip().casefold().replace(" ", "")
    if key in _NAMED:
        return _NAMED[key]
    letter = len(key) == 1 and key.isascii() and key.isalnum()
    control = key.startswith("ctrl+") and len(key) == 6 and key[5].isalpha() and key[5] not in "abchijmpqz"
    numbered = key[:1] == "f" and key[1:].isdecimal() and 2 <= int(key[1:]) <= 12
    if not (letter or control or numbered):
        raise InputError("That key cannot be used.", "Use a letter, a digit, F2 to F12, or Ctrl and a "
                         "letter that terminals leave free.", example="o, f6 or ctrl+o")  # fmt: skip
    return key


_NAMED = {"/": "slash", "slash": "slash"}


def _free(name: str, key: str) -> None:
    """Raises InputError if another verb has the key."""
    for other, same in verbs().items():
        if other != name and key in (action.key for action in same):
            raise InputError(
                f"{same[0].shown} is {same[0].label} already.", "Choose another.", example="o or f6"
            )


def changed(machine: Machine, texts: Mapping[str, str]) -> Machine:
    """The settings changed by one page's texts; a blank restores the default. Raises InputError."""
    if any(key.startswith(_KEY) for key in texts):
        return replace(machine, keys=_remapped(texts))
    usual = Machine()
    read = {key: text.strip().casefold() for key, text in texts.items()}
    themes = {title.casefold(): key for key, title in _THEMES.items()}
    units = {title.casefold(): key for key, title in _UNITS.items()}
    return replace(
        machine,
        theme=themes.get(read["theme"], usual.theme),
        outdoors=read["outdoors"] == "yes",
        plain_glyphs=read["plain_glyphs"] == "yes",
        units=units.get(read["units"], usual.units),
        who=read["who"] if read["who"] in SEATS else usual.who,
    )


def _remapped(texts: Mapping[str, str]) -> dict[str, str]:
    keys: dict[str, str] = {}
    taken: dict[str, str] = {}
    for at, (name, same) in enumerate(verbs().items()):
        text = texts.get(f"{_KEY}{at}", "").strip()
        if not text:
            continue
        key = _read_key(text)
        if key in taken:
            raise InputError(f"Two actions share the key {text}.", where=f"{_KEY}{at}", example="o or f6")
        taken[key] = name
        keys |= {action.id: key for action in same if key != action.key}
    return keys
