"""What can keep an answer back: a plan that cannot be understood, a search too large, a library."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable

    from trappoint.core.findings import Finding


def reason_of(error: OSError) -> str:
    """Return why the system refused something, in its own words: small letters, no full stop."""
    return (error.strerror or "the system gives no reason").lower()


class PlanError(Exception):
    """A plan that cannot be understood. ``findings`` says where and why."""

    def __init__(self, findings: Iterable[Finding]) -> None:
        self.findings = tuple(findings)
        first = self.findings[0]
        file = f"{first.file}, " if first.file else ""
        super().__init__(f"{file}line {first.line}, column {first.column}: {first.message}")


class CannotUse(Exception):  # noqa: N818 # it names what was met, as the message does
    """Words, a file or a library that cannot be used. The message is the whole complaint."""


class NoAnswer(Exception):  # noqa: N818 # it names what was met, as the message does
    """A command ends without its answer. The message is all that is printed of it."""

    def __init__(self, told: str, exit_code: int) -> None:
        self.exit_code = exit_code
        super().__init__(told)


class TooMany(Exception):  # noqa: N818 # it is no fault, only an answer that was not found
    """A search was given up: there is more to look at than it may."""


class NotInstalled(CannotUse):
    """A library that is needed is not there. The message says how to get it."""
