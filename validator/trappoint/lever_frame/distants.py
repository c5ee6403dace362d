"""The locking of distants by the levers of the stop arms that they repeat.

A distant may be off only while every stop arm that it repeats on the road that is set is off, and
the stop arm above it on its doll. Sources: Board of Trade requirements, 1892, rule 7f; for the arm
above it: common practice, no source.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.core.quoting import listed
from trappoint.lever_frame.clauses import Clause
from trappoint.lever_frame.demands import Demand, demand_choices

if TYPE_CHECKING:
    from collections.abc import Iterator

    from trappoint.facts.facts import Facts
    from trappoint.interlocking.distants import Distant
    from trappoint.lever_frame.demands import Choice
    from trappoint.lever_frame.levers import Frame

MAX_CHOICES = 256
"""Most ways to be off for a distant; with more, all its stop arms together release it."""


class _ManyWays(Exception):  # noqa: N818 # a way out of a recursion, not an error
    """Raised when a distant has more than `MAX_CHOICES` ways to be off."""


def demand_distants(frame: Frame, facts: Facts) -> Iterator[Demand]:
    """Yield the releases of the levers of distants."""
    kinds = [lever.works for lever in frame.levers]
    by_lever: dict[int, list[Distant]] = {}
    for distant in facts.distants:
        lever = frame.lever_of_arm.get(distant.arm.id)
        if lever is None:
            continue
        if kinds[lever] != "distant":
            frame.notes.append(
                f"Distant {distant.arm.id} is worked by lever {frame.number(lever)} together with "
                "arms of another kind: what keeps it on is not derived."
            )
            continue
        _note_strays(frame, distant)
        if distant.repeats:
            by_lever.setdefault(lever, []).append(distant)
        else:
            frame.notes.append(
                f"Distant {distant.arm.id} repeats no stop arm, so no lever releases lever "
                f"{frame.number(lever)}."
            )
    for lever, distants in by_lever.items():
        yield from _demand(frame, facts, lever, distants)


def _note_strays(frame: Frame, distant: Distant) -> None:
    for index, reason in distant.stray:
        frame.notes.append(
            f"Distant {distant.arm.id} is not released by {distant.arm.repeats[index]}: {reason}."
        )


def _demand(frame: Frame, facts: Facts, lever: int, distants: list[Distant]) -> Iterator[Demand]:
    walk = _DistantWalk(frame, facts)
    choices: list[Choice] = []
    try:
        for distant in distants:
            choices += walk.choices(distant)
    except _ManyWays:
        all_of_them = 0
        for distant in distants:
            for arm in distant.repeats:
                all_of_them |= walk.lever_bit(arm)
        choices = [(all_of_them, 0)]
        frame.notes.append(
            f"Lever {frame.number(lever)} could be released in more than {MAX_CHOICES} ways; it "
            "is released by all the stop arms that its distant repeats together."
        )
    if walk.by_hand:
        told = listed(list(walk.by_hand), "and")
        frame.notes.append(
            f"Lever {frame.number(lever)} is not released by {told}, which no lever works."
        )
    if choices:
        yield from demand_choices(frame, lever, choices, special=False)
    else:
        frame.notes.append(
            f"Lever {frame.number(lever)} cannot be reversed: on no road are all stop arms ahead "
            "repeated by its distant."
        )
        yield Demand(Clause(0, 1 << lever), lever, -1)


class _DistantWalk:
    """A walk along the roads ahead of distants, to collect the choices in which they may be off."""

    def __init__(self, frame: Frame, facts: Facts) -> None:
        self.frame = frame
        self.facts = facts
        self.by_hand: dict[str, None] = {}

    def lever_bit(self, arm: int) -> int:
        """Return the lever of a stop arm as a set; empty if it has none."""
        name = self.facts.assignment.arms[arm].id
        lever = self.frame.lever_of_arm.get(name)
        if lever is None:
            self.by_hand[name] = None
            return 0
        return 1 << lever

    def _alone(self, arm: int) -> bool:
        """Return whether an arm has a lever of its own."""
        name = self.facts.assignment.arms[arm].id
        lever = self.frame.lever_of_arm.get(name)
        return lever is not None and self.frame.levers[lever].names == (name,)

    def choices(self, distant: Distant) -> list[Choice]:
        """Return the choices in which a distant may be off."""
        if distant.above >= 0:
            return self._beyond(distant, distant.above, (), must_speak=True)
        result: list[Choice] = [(0, 0)]
        for head in distant.first:
            result = _both(result, self._at(distant, self._spoken(distant, head, ())))
        return result

    def _spoken(self, distant: Distant, head: int, done: tuple[int, ...]) -> list[int]:
        heads = self.facts.assignment.head_of
        return [arm for arm in distant.repeats if heads[arm] == head and arm not in done]

    def _at(self, distant: Distant, arms: list[int], done: tuple[int, ...] = ()) -> list[Choice]:
        found: list[Choice] = []
        for arm in arms:
            found += self._beyond(distant, arm, done, must_speak=False)
        return found

    def _beyond(
        self, distant: Distant, arm: int, done: tuple[int, ...], *, must_speak: bool
    ) -> list[Choice]:
        """Return the choices in which an arm, and the arms ahead on the road that is set, are off.

        With ``must_speak`` the distant stays on for roads at whose end it repeats no arm.
        """
        own = self.lever_bit(arm)
        done = (*done, arm)
        by_road: dict[tuple[int, ...], list[Choice]] = {}
        for route in self.facts.assignment.routes_of[arm]:
            needs = self.frame.needs(self.facts, route)
            if needs is not None:
                facing = self.facts.network.facing[self.facts.routes.all[route].path[-1]]
                onward = self._spoken(distant, facing, done) if facing >= 0 else []
                by_road.setdefault(tuple(onward), []).append(needs)
        if not by_road and not must_speak:
            # The frame can set none of its routes: the locking of its own lever covers that.
            return [(own, 0)]
        # If all its roads lead on alike, the arm's own locking sees to the points, unless it has no
        # lever or shares its lever with another arm.
        sees_to_points = len(by_road) == 1 and self._alone(arm)
        found: list[Choice] = []
        for spoken, roads in by_road.items():
            if must_speak and not spoken:
                continue
            ways = [(own, 0)] if sees_to_points else [(own | r, n) for r, n in roads]
            ahead = self._at(distant, list(spoken), done) if spoken else [(0, 0)]
            found += _both(ways, ahead)
        return found


def _both(ones: list[Choice], others: list[Choice]) -> list[Choice]:
    """Return each combination of a choice of one list with a choice of the other."""
    found: dict[Choice, None] = {}
    for rev, nor in ones:
        for more_rev, more_nor in others:
            if not (rev | more_rev) & (nor | more_nor):
                found[rev | more_rev, nor | more_nor] = None
    if len(found) > MAX_CHOICES:
        raise _ManyWays
    return list(found)
