"""Who may do what: one table for commands, screens and a server's rights.

On a log file a role only tidies the screens: whoever can open the file can read and change all of it. On a
server it is a role of the server, which refuses by itself what is not in the table.
"""

from __future__ import annotations

from collections.abc import Mapping

from finishlog.errors import InputError

OWNER, OFFICE, CREW = "owner", "office", "crew"
ROLES = (OWNER, OFFICE, CREW)

ACTS: Mapping[str, str] = {
    "log": "log what was done",
    "undo": "undo, correct and move entries",
    "others": "undo or correct what somebody else logged",
    "shelf": "count and log what is on the shelf",
    "plan": "start and plan jobs, change recipes and orders",
    "prices": "see prices and costs",
    "buy": "log purchases and data sheets",
    "customers": "edit customers, write to them and plan the weeks",
    "archive": "archive jobs",
    "whole": "check, export, import, copy and move the whole log",
    "settings": "change the shop's settings",
    "restore": "restore the log",
    "roles": "say who may do what",
}
"""Every act, in words that follow "may"."""

_OF_CREW = frozenset(("log", "undo", "shelf"))
_OF_OWNER = frozenset(("settings", "restore", "roles"))
MAY: Mapping[str, frozenset[str]] = {
    OWNER: frozenset(ACTS),
    OFFICE: frozenset(ACTS) - _OF_OWNER,
    CREW: _OF_CREW,
}

NOT_OF_CREW = ("change", "recipe_joined")
"""Kinds of entry that belong to planning: change orders (they have a price), and recipes joined."""
PRICED_FACTS = ("price_added",)
"""Facts of an entry that are prices."""
TIDY = "On a log file this only tidies the screens; it protects nothing. On a server the server enforces it."


def may(role: str, act: str) -> bool:
    """Whether the role may do that."""
    return act in MAY[role]


def who_may(act: str) -> str:
    """`the owner or the office`: the roles that may, for a sentence."""
    return " or ".join(f"the {role}" for role in ROLES if may(role, act))


def refusal(role: str, act: str) -> InputError:
    """The failure that says who may; the role is the one that may not."""
    return InputError(f"Only {who_may(act)} may {ACTS[act]}; {_you(role)}.")


def refused_words(act: str) -> str:
    """The refusal as a server says it, which knows no more of who asks."""
    return f"Only {who_may(act)} may {ACTS[act]}"


def _you(role: str) -> str:
    return f"you work as {role}"


def brief(act: str) -> str:
    """The same for a screen's bottom line, uncut in the smallest window."""
    return f"only {who_may(act)} may"
