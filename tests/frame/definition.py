"""The legal states and moves of a frame by brute force, from the locking table.

Written from the definitions alone, without clauses and entries. It uses only the library's locking
table as JSON, and its answer whether a distant arm may be off (which the check of scenes uses too).
"""

from __future__ import annotations

import json
from typing import Any

from trappoint import load, locking
from trappoint.facts.facts import Facts
from trappoint.interlocking.distants import clear_for

Plan = dict[str, Any]
State = frozenset[str]


class Definition:
    """The legal states and moves of a plan's frame."""

    def __init__(self, plan: Plan) -> None:
        self.plan = plan
        self.levers: dict[str, Any] = plan["levers"]
        layout = load(json.dumps(plan))
        table = locking(layout).to_json()
        self.facts = Facts(layout)
        self.numbers = {arm.id: n for n, arm in enumerate(self.facts.assignment.arms)}
        self.distants = {
            distant.arm.id: distant for distant in self.facts.distants if distant.repeats
        }
        self.arms = {row["arm"]: row for row in table["arms"]}
        self.lever_of = {
            arm: number for number, lever in self.levers.items() for arm in lever.get("arms", [])
        }
        self.works: dict[str, list[str]] = {}
        for number in sorted(self.levers, key=int):
            for switch in self.levers[number].get("points", []):
                self.works.setdefault(switch, []).append(number)
        for members in plan.get("worked_together", []):
            for member in members:
                for other in members:
                    self.works.setdefault(other, self.works.get(member, []))

    def lie(self, switch: str, state: State) -> str | None:
        """How a switch lies; None if no lever works it."""
        levers = self.works.get(switch, [])
        if not levers:
            return None
        points = self.plan.get("points", {}).get(switch)
        if points is None:
            return "slip" if levers[0] in state else "straight"
        three_way = points.get("kind") == "three-way"
        ways = ["left", "middle", "right"] if three_way else ["left", "right"]
        ways.remove(points["normal"])
        for lever, way in zip(levers, ways, strict=False):
            if lever in state:
                return way
        return str(points["normal"])

    def lies_so(self, lies: dict[str, str], state: State) -> bool:
        return all(self.lie(switch, state) in (None, lie) for switch, lie in lies.items())

    def set_roads(self, lever: str, state: State) -> frozenset[tuple[str, int]]:
        return frozenset(
            (arm, index)
            for arm in self.levers[lever].get("arms", [])
            for index, route in enumerate(self.arms[arm]["routes"])
            if self.lies_so(route["points"], state)
        )

    def gives_leave(self, lever: str) -> bool:
        return any(self.arms[arm]["routes"] for arm in self.levers[lever].get("arms", []))

    def head(self, arm: str) -> tuple[Any, ...]:
        signal = self.plan["signals"][self.arms[arm]["signal"]]
        own = next(each for each in signal["arms"] if each["id"] == arm)
        track = own.get("track", signal["track"])
        return self.arms[arm]["signal"], track, own.get("for", signal["for"])

    def legal(self, state: State) -> bool:
        for switch, levers in self.works.items():
            if len(levers) > 1 and len(state.intersection(levers)) > 1:
                assert self.plan["points"][switch]["kind"] == "three-way"
                return False
        off: dict[str, str] = {}
        if not all(self.tells_truly(lever, state) for lever in state):
            return False
        for lever in state:
            if not self.gives_leave(lever):
                continue
            roads = self.set_roads(lever, state)
            if not roads:
                return False
            for arm, index in roads:
                off[arm] = lever
                for shunt in self.arms[arm]["routes"][index].get("past", []):
                    if shunt in self.lever_of and self.lever_of[shunt] not in state:
                        return False
        return not any(
            self.conflicting(conflict, state)
            for arm, lever in off.items()
            for conflict in self.arms[arm]["conflicts"]
            if conflict["arm"] in off
            and (off[conflict["arm"]] != lever or self.head(arm) != self.head(conflict["arm"]))
        )

    def tells_truly(self, lever: str, state: State) -> bool:
        """Whether one of the distants of a lever may be off, where it works nothing else."""
        arms = self.levers[lever].get("arms", [])
        distants = [self.distants[arm] for arm in arms if arm in self.distants]
        if not distants or any(self.arms[arm]["kind"] != "distant" for arm in arms):
            return True
        places = {place.id: n for n, place in enumerate(self.facts.network.places)}
        lies = {places[s]: str(self.lie(s, state)) for s in self.works if s in places}
        off = {
            self.numbers[arm]
            for other in state
            for arm in self.levers[other].get("arms", [])
            if arm in self.numbers
            # An arm that speaks for no route goes off with its lever.
            and (
                not self.arms[arm]["routes"]
                or any(arm == a for a, _ in self.set_roads(other, state))
            )
        }
        return any(clear_for(self.facts, distant, off, lies) is None for distant in distants)

    def conflicting(self, conflict: dict[str, Any], state: State) -> bool:
        if "when" not in conflict:
            return True
        # Where every switch is on a lever, roads that conflict by points are never set at once.
        return conflict["by"] == "direct" and self.lies_so(conflict["when"], state)

    def may_move(self, state: State, lever: str) -> bool:
        """Whether a lever may be moved in a legal state.

        After lowering a signal, no points connected with that line may be moved (Board of Trade
        requirements, 1892, rule 7c).
        """
        after = state ^ {lever}
        return self.legal(after) and all(
            self.set_roads(other, state) == self.set_roads(other, after)
            for other in state - {lever}
        )
