"""Compare the working of two plans: meanings of arms, routes, conflicts, duties."""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.comparing.model import ArmChange, ConflictChange, DutyChange
from trappoint.comparing.sessions import Working
from trappoint.comparing.terms import Ref

if TYPE_CHECKING:
    from collections.abc import Iterator

    from trappoint.comparing.model import ArmMeaning, ExclusionCase, SignalWay, ThingChange
    from trappoint.comparing.names import Names
    from trappoint.facts.facts import Facts


class Both:
    """The working of the old plan, in the names of the new one, and of the new plan."""

    def __init__(self, old: Facts, new: Facts, names: Names) -> None:
        self.names = names
        self.old = Working(old, names.ref_now)
        self.new = Working(new, lambda ref: ref)
        self.before = self.old.meanings()
        self.now = self.new.meanings()
        self.called = {names.ref_now(Ref("arms", arm.id)): arm.id for arm in old.layout.arms()}

    def arms(self) -> Iterator[ArmChange]:
        """Yield the arms of both plans whose meaning changed."""
        for ref, now in self.now.items():
            before = self.before.get(ref)
            if before is not None and not same_meaning(before, now):
                yield ArmChange(self.called[ref], ref.id, before, now)

    def routes(self) -> tuple[tuple[SignalWay, ...], tuple[SignalWay, ...]]:
        """Return the routes that were lost, and the routes that were gained."""
        before, now = self.old.routes(), self.new.routes()
        lost = tuple(way for way in before if way not in now)
        return lost, tuple(way for way in now if way not in before)

    def conflicts(self, things: tuple[ThingChange, ...]) -> Iterator[ConflictChange]:
        """Yield the pairs of arms whose conflict is new, gone or different."""
        before, now = self.old.conflicts(), self.new.conflicts()
        steady = not any(change.kind == "worked_together" for change in things)
        order = {ref: n for n, ref in enumerate(dict.fromkeys((*self.now, *self.before)))}
        found = []
        for pair in dict.fromkeys((*now, *before)):
            was, is_now = before.get(pair, ()), now.get(pair, ())
            if same_cases(was, is_now) or (
                steady and _kinds(was) == _kinds(is_now) and self._as_before(pair)
            ):
                continue
            one, other = sorted(pair, key=order.__getitem__)
            both = all(ref in self.before and ref in self.now for ref in pair)
            found.append(ConflictChange((one, other), was, is_now, both))
        found.sort(key=lambda change: [order[ref] for ref in change.arms])
        yield from found

    def _as_before(self, pair: frozenset[Ref]) -> bool:
        """Return whether both arms keep their meaning; their conditions then keep theirs too."""
        return all(
            ref in self.before and ref in self.now and same_meaning(self.before[ref], self.now[ref])
            for ref in pair
        )

    def duties(self) -> Iterator[DutyChange]:
        """Yield the duties that signals gained and lost."""
        before, now = self.old.duties(), self.new.duties()
        for gained, ours, theirs in ((True, now, before), (False, before, now)):
            for duty in ours:
                if duty not in theirs:
                    yield DutyChange(*duty, gained)


def same_meaning(one: ArmMeaning, other: ArmMeaning) -> bool:
    """Return whether two arms mean the same, in any order of their routes."""

    return (
        one.kind == other.kind
        and set(one.ways) == set(other.ways)
        and set(one.tells) == set(other.tells)
    )


def same_cases(one: tuple[ExclusionCase, ...], other: tuple[ExclusionCase, ...]) -> bool:
    """Return whether two conflicts are the same."""
    return {_case(case) for case in one} == {_case(case) for case in other}


def _case(case: ExclusionCase) -> object:
    return case.by, None if case.when is None else frozenset(case.when)


def _kinds(cases: tuple[ExclusionCase, ...]) -> set[tuple[str, bool]]:
    return {(case.by, case.when is None) for case in cases}
