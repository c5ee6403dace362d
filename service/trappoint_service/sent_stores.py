"""Stores that a request sent: read, or refused with their mistakes."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from trappoint.parts.store import Store
    from trappoint.parts.store_reading import StoreReport


class BadStore(Exception):  # noqa: N818 - it describes the store
    """Raised for an unusable store; each argument is a mistake."""


def read_store_sent(content: bytes) -> Store:
    """Return the store. Raises BadStore."""
    from trappoint.parts.store_reading import read_store

    found = read_store(content, "store")
    if found.store is None:
        raise BadStore(*findings_of(found))
    return found.store


def findings_of(found: StoreReport) -> list[str]:
    """Return the findings on a store, each as one sentence or two with its place."""
    return [
        f"The store, line {one.line}, column {one.column}: {one.message} {one.fix}"
        for one in found.findings
    ]
