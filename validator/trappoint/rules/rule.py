"""What a rule is."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Literal, NamedTuple

from trappoint.core.findings import Finding

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping

    from trappoint.core.findings import Level
    from trappoint.facts.facts import Facts
    from trappoint.verdict.movements import Movement

Stage = Literal["reading", "form", "boards", "plan", "facts", "last", "store"]
"""When a rule is asked: while the text is read; against the schema; on how the plan is put together
from others; on the plan as written; on what is derived from it; or last, on the findings of all the
others. An error at one of the first four stages ends the check there, so that no later rule need
ask whether it can go on. Those of stores are asked of stores alone."""


class Assembled(NamedTuple):
    """An example of several files: a plan, and the plans of its boards by their paths.

    The demonstration plan lies beside them, as ``kelpie-quay.layout.json``.
    """

    plan: Mapping[str, Any]
    boards: Mapping[str, Any]


if TYPE_CHECKING:
    Check = Callable[[Facts], Iterable[Finding]]
    Example = Mapping[str, Any] | str | bytes | Callable[[], str] | Assembled


class Rule:
    """One rule: its name, its documentation and its check.

    A module of rules reads as pages: a rule's record, and below it the function that checks it,
    marked ``@NAME.checked_by``.

    ``fails`` and ``passes`` are JSON merge patches (RFC 7396) on the demonstration plan, Kelpie
    Quay, whole texts (of stores always), (long ones) functions that write a text, or plans with
    boards: with the first the rule speaks, with the second it is silent. Tests run both.
    """

    def __init__(
        self,
        *,
        id: str,  # noqa: A002 # it is the field of the record, as the format calls it
        level: Level,
        stage: Stage,
        summary: str,
        why: str,
        source: str,
        fails: Example,
        passes: Example,
        optional: bool = False,
        ends: bool = False,
        binding: bool = False,
    ) -> None:
        self.id = id
        self.level: Level = level
        """The level of its findings, unless its documentation says when it differs."""
        self.stage: Stage = stage
        self.summary = summary
        self.why = why
        self.source = source
        self.fails = fails
        self.passes = passes
        self.check: Check | None = None
        """Put in by ``checked_by``; None if the findings are made on the way, as in reading."""
        self.optional = optional
        """True for a matter of practice that is asked only where a club gives it a level."""
        self.ends = ends
        """True if nothing more is asked of a plan once it has spoken."""
        self.binding = binding
        """True if the verdict hangs on it: its level is fixed."""

    @property
    def fixed(self) -> bool:
        """True if no setting may change its level."""
        return self.binding or self.stage in ("reading", "form", "boards", "plan", "store")

    def checked_by(self, check: Check) -> Check:
        """Make a function the check of this rule, and return it: a decorator."""
        if self.check is not None:
            raise ValueError(f"The rule {self.id} has a check already.")
        self.check = check
        return check

    def finding(
        self,
        pointer: str,
        message: str,
        fix: str,
        *,
        path: Iterable[str] = (),
        why: str = "",
        level: Level | None = None,
        at_key: bool = False,
        movement: Movement | None = None,
        instead: str | None = None,
    ) -> Finding:
        """Make a finding of this rule; ``why`` adds what is true of this case alone."""
        return Finding(
            self.id,
            level or self.level,
            pointer,
            message,
            f"{self.why} {why}".strip() if why else self.why,
            fix,
            tuple(path),
            at_key,
            movement=movement,
            instead=instead,
        )
