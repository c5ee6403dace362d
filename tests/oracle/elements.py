"""Points, crossings and turntables: the ways through them, their lies, their levers and names."""

from __future__ import annotations

from typing import Any, NamedTuple

from oracle.heads import NotJudgedError, Plan

ELEMENT_KINDS = ("points", "crossings", "turntables")
QUALIFIED = {
    "points": "points",
    "crossings": "crossing",
    "turntables": "turntable",
    "yards": "yard",
}


class Element(NamedTuple):
    """Points, a crossing or a turntable: from each leg, the legs it leads to, and with which lie.

    `place` is the place of a train in it: the yard, if it lies in one. `normal` is the usual lie,
    None for what has no lies.
    """

    name: str
    place: str
    in_yard: bool
    ways: dict[str, list[tuple[str, str | None]]]
    normal: str | None
    three_way: bool
    trap: bool


class Elements:
    """All elements of a plan, with the groups that one lever moves."""

    def __init__(self, plan: Plan) -> None:
        self._plan = plan
        self.yard_of: dict[tuple[str, str], str] = {}
        for yard_id, yard in plan.get("yards", {}).items():
            for kind in ("tracks", *ELEMENT_KINDS):
                for member in yard.get(kind, []):
                    self.yard_of[kind, member] = self.place_name("yards", yard_id)
        self.by_id = {
            (kind, element_id): self._element(kind, element_id, element)
            for kind in ELEMENT_KINDS
            for element_id, element in plan.get(kind, {}).items()
        }
        self.by_name = {element.name: element for element in self.by_id.values()}
        self.group_of = self._read_groups()
        self.trap_groups = {self.group_of[e.name] for e in self.by_name.values() if e.trap}

    def place_name(self, kind: str, element_id: str) -> str:
        """The id, with the kind before it if a track or an element of another kind has it too."""
        others = [each for each in ("tracks", *ELEMENT_KINDS) if each != kind]
        taken = any(element_id in self._plan.get(each, {}) for each in others)
        return f"{QUALIFIED[kind]}:{element_id}" if taken else element_id

    def met(self, text: str) -> tuple[Element, str]:
        """The element and the leg that the end of a track names."""
        element_id, _, leg = text.partition(".")
        for kind in ELEMENT_KINDS:
            element = self.by_id.get((kind, element_id))
            if element is not None and leg in element.ways:
                return element, leg
        raise NotJudgedError(f"there is no {text}")

    def word(self, name: str, lie: str) -> str:
        """What a lie says of the whole group: normal or reverse, for three-way points the lie."""
        element = self.by_name[name]
        if element.three_way:
            return lie
        return "normal" if lie == element.normal else "reverse"

    def words(self, group: str) -> tuple[str, ...]:
        """Return all positions of a group."""
        element = self.by_name[group]
        if element.three_way:
            return tuple(leg for leg in element.ways if leg != "toe")
        return "normal", "reverse"

    def is_normal(self, group: str, word: str) -> bool:
        element = self.by_name[group]
        return word == (element.normal if element.three_way else "normal")

    def is_facing(self, name: str, leg: str) -> bool:
        """Whether a train that comes in by a leg meets points or a slip facing.

        It does at the toe of points, and at a leg of a slip from which there are two ways.
        """
        return len(self.by_name[name].ways[leg]) > 1

    def _element(self, kind: str, element_id: str, element: dict[str, Any]) -> Element:
        name = self.place_name(kind, element_id)
        yard = self.yard_of.get((kind, element_id))
        three_way = element.get("kind") == "three-way"
        normal: str | None = None
        if kind == "points":
            ways = _ways_of_points(three_way)
            normal = element["normal"]
        elif kind == "crossings":
            ways = _ways_of_crossing(element.get("kind", "diamond"))
            normal = None if element.get("kind", "diamond") == "diamond" else "straight"
        else:
            roads = element["roads"]
            ways = {road: [(other, None) for other in roads] for road in roads}
        trap = kind == "points" and bool(element.get("trap"))
        return Element(name, yard or name, yard is not None, ways, normal, three_way, trap)

    def _read_groups(self) -> dict[str, str]:
        """Each element with lies -> the least name of all that its lever moves."""
        groups = [{name} for name, element in self.by_name.items() if element.normal is not None]
        for listed in self._plan.get("worked_together", []):
            merged: set[str] = set()
            for member in listed:
                kind = "points" if member in self._plan.get("points", {}) else "crossings"
                merged.add(self.by_id[kind, member].name)
            for group in [each for each in groups if each & merged]:
                merged |= group
                groups.remove(group)
            groups.append(merged)
        return {name: min(group) for group in groups for name in group}


def _ways_of_points(three_way: bool) -> dict[str, list[tuple[str, str | None]]]:
    legs = ["left", "middle", "right"] if three_way else ["left", "right"]
    ways: dict[str, list[tuple[str, str | None]]] = {"toe": [(leg, leg) for leg in legs]}
    for leg in legs:
        ways[leg] = [("toe", leg)]
    return ways


def _ways_of_crossing(kind: str) -> dict[str, list[tuple[str, str | None]]]:
    straight = None if kind == "diamond" else "straight"
    ways: dict[str, list[tuple[str, str | None]]] = {
        "a1": [("a2", straight)],
        "a2": [("a1", straight)],
        "b1": [("b2", straight)],
        "b2": [("b1", straight)],
    }
    slips = {"diamond": [], "single-slip": [("a1", "b2")]}.get(kind, [("a1", "b2"), ("b1", "a2")])
    for one, other in slips:
        ways[one].append((other, "slip"))
        ways[other].append((one, "slip"))
    return ways
