"""What a comparison has to say: frozen values, which reports put into words."""

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
    """One of the two plans, as far as it could be understood."""

    name: str
    """What it is called in reports."""
    report: Report
    things: Things | None
    """What the plan consists of; None if the text could not be read as a plan at all."""
    left_out: frozenset[Key] = frozenset()
    """Things that could not be understood, and are not compared."""

    @property
    def absent(self) -> bool:
        """True if there is no plan at all, before the first one or after the last."""
        return self.things == {}

    @property
    def worked(self) -> bool:
        """True if routes and all that follows from them could be derived."""
        facts = self.report.facts
        return facts is not None and self.report.fault is None and not facts.beyond_limits


class FieldChange(NamedTuple):
    """One field of a thing, before and now. Old ids are written as they are called now."""

    name: str
    old: Field
    new: Field


@dataclass(frozen=True, slots=True)
class ThingChange:
    """What became of one thing."""

    kind: str
    old: Thing | None
    new: Thing | None
    fields: tuple[FieldChange, ...] = ()

    @property
    def renamed(self) -> bool:
        """True if its id has changed."""
        return self.old is not None and self.new is not None and self.old.id != self.new.id

    @property
    def moved(self) -> bool:
        """True if it stands elsewhere."""
        return any(change.name in MOVES.get(self.kind, ()) for change in self.fields)

    @property
    def how(self) -> tuple[How, ...]:
        """Tell in words what became of it."""
        if self.old is None:
            return ("added",)
        if self.new is None:
            return ("gone",)
        others = any(change.name not in MOVES.get(self.kind, ()) for change in self.fields)
        told: tuple[tuple[bool, How], ...] = (
            (self.renamed, "renamed"),
            (self.moved, "moved"),
            (others, "changed"),
        )
        return tuple(how for so, how in told if so)


MOVES: Mapping[str, tuple[str, ...]] = {
    "signals": ("track", "for", "at_mm", "side"),
    "arms": ("signal", "track", "for", "at_mm"),
    "platforms": ("tracks",),
}
"""The fields by which things move. A track whose ends meet something else is changed: it is laid
otherwise."""


class RouteInWords(NamedTuple):
    """One route. Things of the old plan are called as they are now; what is gone is marked so."""

    start: Ref
    over: tuple[Ref, ...]
    ends_at: Ref
    points: tuple[tuple[Ref, str], ...]
    past: tuple[Ref, ...] = ()
    """The shunt arms on the way, which must be off too."""


class ArmMeaning(NamedTuple):
    """What an arm means: its routes, or, for a distant, the arms that it tells of."""

    kind: str
    ways: tuple[RouteInWords, ...]
    tells: tuple[Ref, ...] = ()


class ArmChange(NamedTuple):
    """An arm of both plans that means something else now."""

    old: str
    new: str
    before: ArmMeaning
    now: ArmMeaning


class SignalWay(NamedTuple):
    """A route of a signal, for trains that run or that shunt."""

    signal: Ref
    shunting: bool
    way: RouteInWords


class ExclusionCase(NamedTuple):
    """One way in which two arms exclude each other."""

    by: By
    when: tuple[tuple[Ref, str], ...] | None
    """None: always. Else only with points in these lies."""


class ConflictChange(NamedTuple):
    """Two arms whose conflict came, went or is another one now."""

    arms: tuple[Ref, Ref]
    """In the order of the plan."""
    before: tuple[ExclusionCase, ...]
    """Empty if they might be off together."""
    now: tuple[ExclusionCase, ...]
    between_both: bool
    """True if both arms are in both plans: else it came or went with them."""


class DutyChange(NamedTuple):
    """A duty that a signal has gained or lost."""

    signal: Ref
    duty: str
    """In words, without its last one."""
    at: Ref
    """What it is about: its last word."""
    gained: bool


class FindingChange(NamedTuple):
    """A finding of one plan that the other has not."""

    finding: Finding
    accepted: bool = False
    """True if the other plan has it too, but one of the two says that the club lives with it."""


@dataclass(frozen=True, slots=True)
class Comparison:
    """All that differs between two plans, in the railway's terms."""

    old: Side
    new: Side
    same: Same
    """``bytes``: the two texts are one; ``meaning``: they differ only in how they are written."""
    names: Names | None
    """Which thing is which; None if either could not be read as a plan."""
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
        """True if routes, conflicts and duties could be compared."""
        return self.names is not None and self.old.worked and self.new.worked

    @property
    def worked_otherwise(self) -> bool:
        """True if what the arms mean, routes, conflicts or duties differ."""
        told = (self.arms, self.routes_lost, self.routes_gained, self.conflicts, self.duties)
        return any(told)

    @property
    def found(self) -> bool:
        """True if there is anything to tell."""
        told = (
            self.things,
            self.findings_gone,
            self.findings_new,
            self.old.left_out,
            self.new.left_out,
        )
        verdicts = self.old.report.holds, self.new.report.holds
        return any(told) or self.worked_otherwise or verdicts[0] is not verdicts[1]

    @property
    def differ(self) -> bool:
        """True if anything differs in the railway's terms."""
        return not self.same
