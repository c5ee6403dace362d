"""Exceptions: a bad plan, an unusable file, a missing library, a search that is too large."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable

    from trappoint.core.findings import Finding


def reason_of(error: OSError) -> str:
    """Return the system's reason for an error, in small letters, without a full stop."""
    return (error.strerror or "the system gives no reason").lower()


class PlanError(Exception):
    """Raised for a plan with errors. ``findings`` has the places and reasons."""

    def __init__(self, findings: Iterable[Finding]) -> None:
        self.findings = tuple(findings)
        first = self.findings[0]
        file = f"{first.file}, " if first.file else ""
        super().__init__(f"{file}line {first.line}, column {first.column}: {first.message}")


class CannotUse(Exception):  # noqa: N818 # the name is clear without it
    """A usage error: an option, a file or a library that cannot be used. The message is printed."""


class NoAnswer(Exception):  # noqa: N818 # the name is clear without it
    """A command ends without a result. The message is printed unchanged."""

    def __init__(self, message: str, exit_code: int) -> None:
        self.exit_code = exit_code
        super().__init__(message)


class TooMany(Exception):  # noqa: N818 # a limit is not an error
    """A search reached its limit and stopped."""


class NotInstalled(CannotUse):
    """A required library is not installed. The message says how to install it."""
