"""What a rule is, and the sources that several rules cite."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Literal, NamedTuple

from trappoint.core.findings import Finding

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping

    from trappoint.core.findings import Level
    from trappoint.facts.facts import Facts
    from trappoint.verdict.movements import Movement

Stage = Literal["reading", "form", "boards", "plan", "facts", "last", "store"]
"""When a rule runs: while the text is read; against the schema; on how boards are joined; on the
plan as written; on derived facts; or last, on the findings of all other rules. An error at one of
the first four stages ends the check, so later rules may rely on what those stages check. Rules of
the stage ``store`` run on stores only."""


BOARD_OF_TRADE = (
    "Board of Trade requirements, 1892 (in W. H. Mills, Railway Construction, Longmans, 1898)"
)

FINDLAY = (
    "G. Findlay, The Working and Management of an English Railway, Whittaker (first published 1889)"
)


class Assembled(NamedTuple):
    """An example of several files: a plan, and the plans of its boards by path.

    The demonstration plan is in the same folder, as ``kelpie-quay.layout.json``.
    """

    plan: Mapping[str, Any]
    boards: Mapping[str, Any]


if TYPE_CHECKING:
    Check = Callable[[Facts], Iterable[Finding]]
    Example = Mapping[str, Any] | str | bytes | Callable[[], str] | Assembled


class Rule:
    """A rule: its id, its page and its check.

    In a module of rules, the function that checks a rule follows right below the rule's record. It
    is marked ``@NAME.checked_by``.

    ``fails`` and ``passes`` are two examples: the rule reports the first and accepts the second.
    Tests run both. An example is a JSON merge patch (RFC 7396) on the demonstration plan Kelpie
    Quay, a whole text (always for stores), a function that returns a long text, or a plan with
    boards.
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
        caution: str = "",
        optional: bool = False,
        ends: bool = False,
        binding: bool = False,
    ) -> None:
        self.id = id
        self.level: Level = level
        """The level of its findings; a check may give a finding another level."""
        self.stage: Stage = stage
        self.summary = summary
        self.why = why
        self.source = source
        self.fails = fails
        self.passes = passes
        self.check: Check | None = None
        """Set by ``checked_by``; None if other code makes the findings, as in reading."""
        self.caution = caution
        """The caution on its page, beside that of every check; empty if it needs none."""
        self.optional = optional
        """True for a matter of practice: it runs only if a club's settings give it a level."""
        self.ends = ends
        """True if a finding of this rule ends the check."""
        self.binding = binding
        """True if it decides the verdict: its level is fixed."""

    @property
    def fixed(self) -> bool:
        """True if no setting may change its level."""
        return self.binding or self.stage in ("reading", "form", "boards", "plan", "store")

    def checked_by(self, check: Check) -> Check:
        """Make a function the check of this rule and return it; used as a decorator."""
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
        """Return a finding of this rule; ``why`` is added to the rule's own reason."""
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
