"""A layout worked by hand, from the facts of the library and the frame's simulator.

It shares nothing with the script of the page or with its data: conflicts are those of routes, one
by one; the frame is that of ``lever_frame.simulator``.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.interlocking.conflicts import routes_conflict, runs_along
from trappoint.interlocking.distants import clear_for
from trappoint.lever_frame.derivation import derive_frame
from trappoint.lever_frame.levers import read_frame
from trappoint.lever_frame.simulator import FrameSimulator
from trappoint.model.layout import lie_of

if TYPE_CHECKING:
    from trappoint.facts.facts import Facts


class Model:
    """The state of a layout, and what may be moved in it. Every act answers whether it was done."""

    def __init__(self, facts: Facts, groups: list[list[str]], words: list[list[str]]) -> None:
        """``groups`` and ``words``: the switches that move together, and their settings."""
        self.facts = facts
        self.groups, self.words = groups, words
        self.place = {facts.network.places[place].id: place for place in facts.normal_lies}
        self.settings = [0] * len(groups)
        self.off: set[str] = set()
        self.trains: set[int] = set()
        self.levers: set[str] = set()
        self.distants = {distant.arm.id: distant for distant in facts.distants}
        self.number = facts.arm_number
        self._lies: dict[tuple[int, ...], dict[int, str]] = {}
        self._apart: dict[tuple[int, int], bool] = {}
        self.simulator: FrameSimulator | None = None
        if facts.layout.levers:
            table = derive_frame(facts)
            self.frame = read_frame(facts.layout)
            self.simulator = FrameSimulator((lever.number for lever in table.levers), table.entries)

    # --- how points lie

    def lies(self, settings: list[int] | None = None) -> dict[int, str]:
        key = tuple(settings or self.settings)
        if key not in self._lies:
            found = zip(self.groups, self.words, key, strict=True)
            self._lies[key] = {
                self.place[name]: self._lie(name, words[setting])
                for group, words, setting in found
                for name in group
                if name in self.place
            }
        return self._lies[key]

    def _lie(self, name: str, word: str) -> str:
        switch = self.facts.layout.switch(name)
        return (lie_of(switch, word) or str(switch.normal)) if switch is not None else ""

    def set_routes(self, arm: str, lies: dict[int, str]) -> list[int]:
        return [
            number
            for number in self.facts.assignment.routes_of[self.number[arm]]
            if all(lies[place] == lie for place, lie in self.facts.routes.all[number].lies.items())
        ]

    # --- what may be off

    def consistent(self, off: set[str], lies: dict[int, str]) -> bool:
        """Return whether the points, the conflicts and the signals on the way allow these arms."""
        routes = self.facts.routes.all
        numbers = {self.number[arm] for arm in off if arm not in self.distants}
        own = {arm: self.set_routes(arm, lies) for arm in off if arm not in self.distants}
        if not all(own.values()):
            return False
        for one, mine in own.items():
            for other, theirs in own.items():
                if one != other and any(self._conflict(a, b) for a in mine for b in theirs):
                    return False
            for number in mine:
                for head in routes[number].past:
                    if not any(
                        self.facts.assignment.head_of[self.number[arm]] == head
                        and any(runs_along(routes[number], routes[r]) for r in own[arm])
                        for arm in own
                    ):
                        return False
        return all(
            clear_for(self.facts, self.distants[arm], numbers, lies) is None
            for arm in off
            if arm in self.distants
        )

    def _conflict(self, one: int, other: int) -> bool:
        if (one, other) not in self._apart:
            routes = self.facts.routes.all
            self._apart[one, other] = routes_conflict(routes[one], routes[other]) is not None
        return self._apart[one, other]

    def occupied(self, arm: str, lies: dict[int, str]) -> bool:
        if arm in self.distants:
            return False
        if self.facts.assignment.arms[self.number[arm]].kind == "calling-on":
            return False
        return any(
            not self.facts.routes.all[number].places.isdisjoint(self.trains)
            for number in self.set_routes(arm, lies)
        )

    # --- acts

    def throw(self, group: int, setting: int) -> bool:
        if not self._may_throw(group, setting):
            return False
        self.settings[group] = setting
        return True

    def _may_throw(self, group: int, setting: int) -> bool:
        after = list(self.settings)
        after[group] = setting
        before, then = self.lies(), self.lies(after)
        if any(before[place] != then[place] and place in self.trains for place in then):
            return False
        return all(
            self.set_routes(arm, before) == self.set_routes(arm, then)
            for arm in self.off - set(self.distants)
        )

    def move(self, arm: str) -> bool:
        after, lies = self.off ^ {arm}, self.lies()
        if not self.consistent(after, lies):
            return False
        if arm in after and self.occupied(arm, lies):
            return False
        self.off = after
        return True

    def train(self, place: int) -> None:
        self.trains ^= {place}

    def pull(self, lever: str) -> bool:
        """Pull a lever, or put it back; arms on it come off if their road is then set."""
        assert self.simulator is not None
        if not self.simulator.may_move(self.levers, lever).free:
            return False
        after = self.levers ^ {lever}
        settings = self._settings(after)
        for group, setting in enumerate(settings):
            if setting != self.settings[group] and not self._may_throw(group, setting):
                return False
        lies = self.lies(settings)
        own = {a for a, n in self.frame.lever_of_arm.items() if self.frame.number(n) == lever}
        coming = {a for a in own if a in self.distants or self.set_routes(a, lies)}
        if lever in after and own and not coming:
            return False
        off = self.off | coming if lever in after else self.off - own
        if not self.consistent(off, lies):
            return False
        if any(self.occupied(arm, lies) for arm in off - self.off):
            return False
        self.levers, self.settings, self.off = after, settings, off
        return True

    def _settings(self, levers: set[str]) -> list[int]:
        """Return the settings of the points with these levers reversed."""
        reversed_levers = sum(
            1 << number for number, lever in enumerate(self.frame.levers) if lever.number in levers
        )
        found = list(self.settings)
        for group, (names, words) in enumerate(zip(self.groups, self.words, strict=True)):
            for setting, word in enumerate(words):
                for name in names:
                    switch = self.facts.layout.switch(name)
                    lie = lie_of(switch, word) if switch is not None else None
                    ways = self.frame.lies.get((name, lie or ""))
                    if ways and not ways[0] & ~reversed_levers and not ways[1] & reversed_levers:
                        found[group] = setting
        return found
