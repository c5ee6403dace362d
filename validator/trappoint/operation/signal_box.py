"""The signal box: how the points lie, which arms are off, and which levers are reversed.

The box sets a road in an order that the locking of the frame allows (``lever_frame.simulator``). It
tries the usual order first: the points as the train meets them, then the arms, the farthest ahead
first. If a lever is locked, it tries other orders.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.lever_frame.levers import read_frame, worked_with
from trappoint.model.layout import Points, lie_of, lie_word
from trappoint.operation.lever_orders import LeverWork

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping, Sequence

    from trappoint.facts.facts import Facts
    from trappoint.lever_frame.levers import Frame
    from trappoint.lever_frame.simulator import FrameSimulator


class SignalBox:
    """A signal box. At first all arms are at danger, and all points normal except ``points``."""

    def __init__(self, facts: Facts, points: Mapping[str, str] | None = None) -> None:
        self.facts = facts
        self.lies = dict(facts.normal_lies)
        for name, word in (points or {}).items():
            switch = facts.layout.switch(name)
            for place in facts.switches_named.get(name, ()):
                if place in self.lies and switch is not None:
                    self.lies[place] = lie_of(switch, word) or self.lies[place]
        self.first = dict(self.lies)
        """The lies of the points at first."""
        self.worked_with = worked_with(facts.layout) if facts.layout.worked_together else {}
        self.off: set[str] = set()
        self.levers: frozenset[str] = frozenset()
        """The levers that are reversed."""
        self.frame: Frame | None = None
        self.simulator: FrameSimulator | None = None
        if facts.layout.levers:
            self._fit_frame()

    def _fit_frame(self) -> None:
        from trappoint.lever_frame.derivation import derive_frame
        from trappoint.lever_frame.simulator import FrameSimulator

        table = derive_frame(self.facts)
        self.frame = read_frame(self.facts.layout)
        self.simulator = FrameSimulator((lever.number for lever in table.levers), table.entries)
        reversed_levers: set[str] = set()
        for place, lie in self.lies.items():
            for lever, pull in self._levers_for(place, lie):
                if pull:
                    reversed_levers.add(lever)
        self.levers = frozenset(reversed_levers)

    # --- working the box

    def set_road(
        self, lies: Mapping[int, str], arms: list[int], states: list[int]
    ) -> list[LeverWork]:
        """Set points and take off arms for a stage, then the distants that may be off.

        ``lies`` has the places of switches as keys. ``arms`` are numbers, in the order in which
        the train meets them. ``states`` are those that the train runs through.
        """
        works = list(self._settings(lies))
        for place, lie in lies.items():
            self._lay(place, lie)
        ids = [self.facts.assignment.arms[arm].id for arm in reversed(arms)]
        works += self._arm_works("off", [*ids, *self._distants(arms, states)])
        return self._in_order(works, self._left_over(lies))

    def to_danger(self, arms: list[int]) -> list[LeverWork]:
        """Put all arms to danger: first the distants, then the others as the train passes them."""
        ids = [self.facts.assignment.arms[arm].id for arm in arms]
        distants = [arm for arm in sorted(self.off) if arm not in ids]
        return self._in_order(self._arm_works("on", [*distants, *ids]))

    def put_back(self, lay: Mapping[int, str]) -> list[LeverWork]:
        """Put the points back to the lies ``lay``, the last ones set first."""
        changed = {place: lie for place, lie in lay.items() if self.lies[place] != lie}
        works = list(self._settings(dict(reversed(changed.items()))))
        self.lies = dict(lay)
        return self._in_order(works)

    # --- the works

    def _settings(self, lies: Mapping[int, str]) -> Iterator[LeverWork]:
        """Yield the works that set these switches, one for each group worked together."""
        together = self.facts.together
        done: set[int] = set()
        for place, lie in lies.items():
            lever = together.lever_of[place]
            if lever in done or self.lies.get(place) == lie:
                continue
            done.add(lever)
            names = self._moved(place)
            own = [self._lie(place, lie, name) for name in names]
            words = [self._word(name, new) for name, new in zip(names, own, strict=True)]
            locks = tuple(name for name in names if self._has_lock(name))
            work = LeverWork("set", tuple(names), tuple(own), tuple(words), locks)
            moved = [
                (number, pull)
                for number, pull in self._levers_for(place, lie)
                if (number in self.levers) is not pull
            ]
            # Three-way points have two levers: put one back before pulling the other.
            moved.sort(key=lambda each: each[1])
            yield from (work._replace(lever=number, pull=pull) for number, pull in moved)
            if not moved:
                yield work

    def _has_lock(self, name: str) -> bool:
        switch = self.facts.layout.switch(name)
        return isinstance(switch, Points) and switch.lock

    def _moved(self, place: int) -> list[str]:
        """Return the ids of all switches on the lever of this one, its own id first.

        Switches inside yards are included, although they are no places.
        """
        own = self.facts.network.places[place].id
        return list(dict.fromkeys([own, *self.worked_with.get(own, ())]))

    def _lay(self, place: int, lie: str) -> None:
        for member in self.facts.together.members[self.facts.together.lever_of[place]]:
            self.lies[member] = self._lie(place, lie, self.facts.network.places[member].id)

    def _lie(self, place: int, lie: str, name: str) -> str:
        """Return the lie of ``name`` when the switch at ``place``, on its lever, has ``lie``."""
        own = self.facts.layout.switch(self.facts.network.places[place].id)
        switch = self.facts.layout.switch(name)
        if switch is None or own is None or switch.id == own.id:
            return lie
        return lie_of(switch, lie_word(own, lie)) or lie

    def _word(self, name: str, lie: str) -> str:
        switch = self.facts.layout.switch(name)
        return lie_word(switch, lie) if switch is not None else lie

    def _levers_for(self, place: int, lie: str) -> list[tuple[str, bool]]:
        """Return the levers of a lie, each with True if it must be pulled, False if it must not."""
        if self.frame is None:
            return []
        from trappoint.lever_frame.clauses import bits

        name = self.facts.network.places[place].id
        rev, nor = self.frame.lies.get((name, lie)) or (0, 0)
        found = [(self.frame.number(lever), False) for lever in bits(nor)]
        return [*found, *((self.frame.number(lever), True) for lever in bits(rev))]

    def _arm_works(self, do: str, ids: Iterable[str]) -> list[LeverWork]:
        """Return the works that take arms off or put them on, one work for each lever."""
        off = do == "off"
        by_lever: dict[str, list[str]] = {}
        for arm in dict.fromkeys(ids):
            lever = self.frame.lever_of_arm.get(arm) if self.frame is not None else None
            key = f"lever {self.frame.number(lever)}" if lever is not None and self.frame else arm
            by_lever.setdefault(key, []).append(arm)
            (self.off.add if off else self.off.discard)(arm)
        found = []
        for key, arms in by_lever.items():
            number = key.removeprefix("lever ") if key.startswith("lever ") else None
            found.append(LeverWork("off" if off else "on", tuple(arms), lever=number, pull=off))
        return found

    def _distants(self, arms: list[int], states: list[int]) -> Iterator[str]:
        """Yield the distants on the way that may be off now."""
        from trappoint.interlocking.distants import clear_for

        facts = self.facts
        for distant in facts.distants if arms else ():
            arm = distant.arm
            beside = facts.network.section_state(arm.track, arm.heading, arm.at_mm)
            met = distant.above in arms if distant.above >= 0 else beside in states[:-1]
            if met and clear_for(facts, distant, set(arms), self.lies) is None:
                yield arm.id

    # --- the order of the frame

    def _left_over(self, lies: Mapping[int, str]) -> dict[int, str]:
        """Return the first lies of the points that have moved since and are not needed now."""
        lever_of = self.facts.together.lever_of
        needed = {lever_of[place] for place in lies}
        return {
            place: lie
            for place, lie in self.first.items()
            if self.lies[place] != lie and lever_of[place] not in needed
        }

    def _in_order(
        self, works: Sequence[LeverWork], left_over: Mapping[int, str] | None = None
    ) -> list[LeverWork]:
        """Return the works in an order that the frame allows.

        If it allows none, first put back the points in ``left_over``, which earlier roads moved. If
        there is still none, return the usual order, with the reason on each refused work.
        """
        if self.simulator is None:
            return list(works)
        found = self._order(list(works), self.levers, set())
        if found is None and left_over:
            found = self._order([*self._settings(left_over), *works], self.levers, set())
            for place, lie in left_over.items() if found is not None else ():
                self._lay(place, lie)
        if found is None:
            found = list(self._anyhow(works))
        for work in found:
            if work.lever is not None:
                self.levers ^= {work.lever}
        return found

    def _order(
        self, works: list[LeverWork], levers: frozenset[str], dead: set[frozenset[str]]
    ) -> list[LeverWork] | None:
        if not works:
            return []
        if levers in dead:
            return None
        for number, work in enumerate(works):
            after = levers
            if work.lever is not None:
                if not self._free(levers, work.lever):
                    continue
                after = levers ^ {work.lever}
            rest = self._order(works[:number] + works[number + 1 :], after, dead)
            if rest is not None:
                return [work, *rest]
            if work.lever is None:
                break  # Work by hand can be done at any time.
        dead.add(levers)
        return None

    def _free(self, levers: frozenset[str], lever: str) -> bool:
        simulator = self.simulator
        if simulator is None or not simulator.legal(levers):
            return False
        return simulator.may_move(levers, lever).free

    def _anyhow(self, works: Sequence[LeverWork]) -> Iterator[LeverWork]:
        """Yield the works in their usual order, with the reason on each that the frame refuses."""
        levers = self.levers
        for work in works:
            refused = ""
            if work.lever is not None and self.simulator is not None:
                if not self._free(levers, work.lever):
                    legal = self.simulator.legal(levers)
                    refused = (
                        self.simulator.may_move(levers, work.lever).text
                        if legal
                        else "The locking does not allow the work before it."
                    )
                levers ^= {work.lever}
            yield work._replace(refused=refused)
