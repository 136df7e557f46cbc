"""What a login of a server tries by raw SQL."""

from __future__ import annotations

from typing import Any

import psycopg


def refused(raw: Any, statement: str) -> bool:
    """Whether the server refuses it for want of a right; any other failure is the test's."""
    try:
        with raw.transaction(force_rollback=True):
            raw.execute(statement)
    except psycopg.errors.InsufficientPrivilege:
        return True
    except (
        psycopg.errors.FeatureNotSupported,
        psycopg.errors.ObjectNotInPrerequisiteState,
        psycopg.errors.WrongObjectType,
    ):
        return True  # a view that has no such change
    return False
