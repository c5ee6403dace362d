"""The result of a comparison: frozen values, which reports render."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Mapping

    from trappoint.checking.report import Report
    from trappoint.comparing.names import Names
    from trappoint.comparing.terms import Field, Key, Ref, Thing, Things
    from trappoint.core.findings import Finding
    from trappoint.interlocking.conflicts import By

How = Literal["added", "gone", "renamed", "moved", "changed"]

Same = Literal["bytes", "meaning", ""]


@dataclass(frozen=True, slots=True)
class Side:
    """One of the two plans, as far as it can be understood."""

    name: str
    """The name in reports."""
    report: Report
    things: Things | None
    """The things of the plan; None if the text cannot be read as a plan."""
    left_out: frozenset[Key] = frozenset()
    """The things that cannot be understood and are not compared."""

    @property
    def absent(self) -> bool:
        """True if the file does not exist in this version."""
        return self.things == {}

    @property
    def worked(self) -> bool:
        """True if routes, conflicts and duties are known."""
        facts = self.report.facts
        return facts is not None and self.report.fault is None and not facts.beyond_limits


class FieldChange(NamedTuple):
    """A field of a thing, before and now. Both have the ids of the new plan."""

    name: str
    old: Field
    new: Field


@dataclass(frozen=True, slots=True)
class ThingChange:
    """The change of one thing."""

    kind: str
    old: Thing | None
    new: Thing | None
    fields: tuple[FieldChange, ...] = ()

    @property
    def renamed(self) -> bool:
        """True if its id changed."""
        return self.old is not None and self.new is not None and self.old.id != self.new.id

    @property
    def moved(self) -> bool:
        """True if its place changed."""
        return any(change.name in MOVES.get(self.kind, ()) for change in self.fields)

    @property
    def how(self) -> tuple[How, ...]:
        """The kinds of change, in words."""
        if self.old is None:
            return ("added",)
        if self.new is None:
            return ("gone",)
        others = any(change.name not in MOVES.get(self.kind, ()) for change in self.fields)
        kinds: tuple[tuple[bool, How], ...] = (
            (self.renamed, "renamed"),
            (self.moved, "moved"),
            (others, "changed"),
        )
        return tuple(how for so, how in kinds if so)


MOVES: Mapping[str, tuple[str, ...]] = {
    "signals": ("track", "for", "at_mm", "side"),
    "arms": ("signal", "track", "for", "at_mm"),
    "platforms": ("tracks",),
}
"""The fields that give a thing its place. A track with other ends is changed, not moved."""


class RouteInWords(NamedTuple):
    """One route, with the names of the new plan. Removed things are marked as gone."""

    start: Ref
    over: tuple[Ref, ...]
    ends_at: Ref
    points: tuple[tuple[Ref, str], ...]
    past: tuple[Ref, ...] = ()
    """The shunt arms on the way, which must also be off."""


class ArmMeaning(NamedTuple):
    """The meaning of an arm: its routes; for a distant arm, the arms that it repeats."""

    kind: str
    ways: tuple[RouteInWords, ...]
    tells: tuple[Ref, ...] = ()


class ArmChange(NamedTuple):
    """An arm of both plans whose meaning changed."""

    old: str
    new: str
    before: ArmMeaning
    now: ArmMeaning


class SignalWay(NamedTuple):
    """A route of a signal, running or shunting."""

    signal: Ref
    shunting: bool
    way: RouteInWords


class ExclusionCase(NamedTuple):
    """One way in which two arms exclude each other."""

    by: By
    when: tuple[tuple[Ref, str], ...] | None
    """The lies of points for which they do; None for always."""


class ConflictChange(NamedTuple):
    """Two arms whose conflict is new, gone or different."""

    arms: tuple[Ref, Ref]
    """In the order of the plan."""
    before: tuple[ExclusionCase, ...]
    """Empty if they could be off together."""
    now: tuple[ExclusionCase, ...]
    between_both: bool
    """True if both plans have both arms; False if the conflict came or went with an arm."""


class DutyChange(NamedTuple):
    """A duty that a signal gained or lost."""

    signal: Ref
    duty: str
    """The words of the duty, without the last one."""
    at: Ref
    """The thing that the last word names."""
    gained: bool


class FindingChange(NamedTuple):
    """A finding of one plan that the other does not have."""

    finding: Finding
    accepted: bool = False
    """True if the other plan has it too, and one of the two accepts it."""


@dataclass(frozen=True, slots=True)
class Comparison:
    """The differences between two plans, in railway terms."""

    old: Side
    new: Side
    same: Same
    """``bytes``: the texts are equal; ``meaning``: only the texts differ, not their meaning."""
    names: Names | None
    """The pairs of things; None if one of the two cannot be read as a plan."""
    things: tuple[ThingChange, ...] = ()
    arms: tuple[ArmChange, ...] = ()
    routes_lost: tuple[SignalWay, ...] = ()
    routes_gained: tuple[SignalWay, ...] = ()
    conflicts: tuple[ConflictChange, ...] = ()
    duties: tuple[DutyChange, ...] = ()
    findings_gone: tuple[FindingChange, ...] = ()
    findings_new: tuple[FindingChange, ...] = ()

    @property
    def worked(self) -> bool:
        """True if routes, conflicts and duties of both plans are known."""
        return self.names is not None and self.old.worked and self.new.worked

    @property
    def worked_otherwise(self) -> bool:
        """True if meanings of arms, routes, conflicts or duties differ."""
        changes = (self.arms, self.routes_lost, self.routes_gained, self.conflicts, self.duties)
        return any(changes)

    @property
    def found(self) -> bool:
        """True if a report has anything to list."""
        changes = (
            self.things,
            self.findings_gone,
            self.findings_new,
            self.old.left_out,
            self.new.left_out,
        )
        verdicts = self.old.report.holds, self.new.report.holds
        return any(changes) or self.worked_otherwise or verdicts[0] is not verdicts[1]

    @property
    def differ(self) -> bool:
        """True if anything differs in railway terms."""

        return not self.same
