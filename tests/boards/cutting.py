"""Cuts a plan at its joints into two boards and a plan that puts them together again.

Things on both boards (a bracket with arms for two tracks, a yard over the joint) go into the plan
that puts the boards together, and so do the trains.
"""

from __future__ import annotations

import copy
import random
from typing import Any, NamedTuple

from properties.changes import turned

Plan = dict[str, Any]

BOARDS = ("left-board", "right-board")
ROOT = ""
ELEMENTS = ("points", "crossings", "turntables")


class Cut(NamedTuple):
    """A plan cut in two: three files."""

    whole: Plan
    boards: dict[str, Plan]
    """The plans of the boards, by path."""


def back(text: str) -> str:
    """Return a text with the ids as they were before the cut."""
    for board in BOARDS:
        text = text.replace(f"{board}/", "").replace(f"{board}~1", "")
    return text


def cut(rng: random.Random, plan: Plan, *, turn: bool = False) -> Cut | None:
    """Return a plan cut in two, or None if it has no joint to cut at.

    With ``turn``, the second board is written the other way round and reversed in the whole.
    """
    return _Cutter(rng, plan).cut(turn=turn)


class _Cutter:
    def __init__(self, rng: random.Random, plan: Plan) -> None:
        self.plan = plan
        self.home: dict[tuple[str, str], str] = {}
        """The board of each thing, by kind and id; the root if it belongs to both boards."""
        self._divide(rng)
        for kind in ("platforms", "yards"):
            for id_, thing in plan.get(kind, {}).items():
                self.home[kind, id_] = self._common(self._members(kind, thing))
        self._place_signals()

    def cut(self, *, turn: bool) -> Cut | None:
        joins = self._joins()
        if not joins:
            return None
        boards = {board: self._plan_of(board) for board in BOARDS}
        whole = self._plan_of(ROOT)
        whole |= {key: copy.deepcopy(self.plan[key]) for key in ("trains",) if key in self.plan}
        whole["boards"] = {board: {"plan": f"{board}.layout.json"} for board in BOARDS}
        whole["joins"] = [
            {"a": f"{BOARDS[0]}:cut-{name}", "b": f"{BOARDS[1]}:cut-{name}"} for name in joins
        ]
        if turn:
            boards[BOARDS[1]] = turned(boards[BOARDS[1]])
            whole["boards"][BOARDS[1]]["reversed"] = True
        return Cut(whole, {f"{name}.layout.json": board for name, board in boards.items()})

    # --- which board each thing belongs to

    def _divide(self, rng: random.Random) -> None:
        """Put tracks that meet the same element on the same board."""
        group: dict[str, str] = {}

        def first(name: str) -> str:
            while group.setdefault(name, name) != name:
                name = group[name]
            return name

        for id_, track in self.plan["tracks"].items():
            for end in (track["up"], track["down"]):
                if "." in end:
                    group[first(f"track {id_}")] = first(end.partition(".")[0])
        sides: dict[str, str] = {}
        for id_ in self.plan["tracks"]:
            side = sides.setdefault(first(f"track {id_}"), rng.choice(BOARDS))
            self.home["tracks", id_] = side
        for kind in ELEMENTS:
            for id_ in self.plan.get(kind, {}):
                self.home[kind, id_] = sides.setdefault(first(id_), rng.choice(BOARDS))

    def _joins(self) -> list[str]:
        found: dict[str, set[str]] = {}
        for id_, track in self.plan["tracks"].items():
            for end in (track["up"], track["down"]):
                if end.startswith("joint:"):
                    found.setdefault(end[6:], set()).add(self.home["tracks", id_])
        return [name for name, homes in found.items() if len(homes) == 2]

    def _common(self, homes: list[str]) -> str:
        return homes[0] if len(set(homes)) == 1 else ROOT

    def _members(self, kind: str, thing: Plan) -> list[str]:
        keys = ("tracks",) if kind == "platforms" else ("tracks", *ELEMENTS)
        return [self.home[key, name] for key in keys for name in thing.get(key, ())]

    def _place_signals(self) -> None:
        signals = self.plan.get("signals", {})
        arms = {arm["id"]: id_ for id_, signal in signals.items() for arm in signal["arms"]}
        for id_, signal in signals.items():
            homes = [self.home["tracks", signal["track"]]]
            for arm in signal["arms"]:
                homes += [self.home["tracks", arm["track"]]] if "track" in arm else []
                homes += [self._home_of(name) for name in _many(arm.get("to"))]
            self.home["signals", id_] = self._common(homes)
        for _ in signals:  # signals that repeat arms of another home go to the root
            for id_, signal in signals.items():
                named = [name for arm in signal["arms"] for name in _many(arm.get("repeats"))]
                homes = [self.home["signals", arms[name]] for name in named]
                self.home["signals", id_] = self._common([self.home["signals", id_], *homes])
        for arm, id_ in arms.items():
            self.home["arms", arm] = self.home["signals", id_]

    def _home_of(self, name: str) -> str:
        kinds = ("tracks", "platforms", "yards")
        return next(self.home[kind, name] for kind in kinds if (kind, name) in self.home)

    # --- writing

    def _name(self, name: str, home: str, *kinds: str) -> str:
        """Return the name of a thing in the plan of a board or of the whole."""
        own = next(self.home[kind, name] for kind in kinds if (kind, name) in self.home)
        return f"{own}/{name}" if own != home and own else name

    def _plan_of(self, home: str) -> Plan:
        cut_joints = set(self._joins())
        found: Plan = {"format": "trappoint-layout/1", "tracks": {}}
        for kind in ("tracks", *ELEMENTS, "platforms", "yards", "signals"):
            things = {
                id_: self._renamed(kind, copy.deepcopy(thing), home)
                for id_, thing in self.plan.get(kind, {}).items()
                if self.home[kind, id_] == home
            }
            if things or kind == "tracks":
                found[kind] = things
        for track in found["tracks"].values():
            for side in ("up", "down"):
                name = track[side].removeprefix("joint:")
                if track[side].startswith("joint:") and name in cut_joints:
                    track[side] = f"edge:cut-{name}"
        groups = [
            [self._name(name, home, "points", "crossings") for name in group]
            for group in self.plan.get("worked_together", ())
            if self._group_home(group) == home
        ]
        return found | ({"worked_together": groups} if groups else {})

    def _group_home(self, group: list[str]) -> str:
        return self._common(
            [
                self.home[kind, name]
                for name in group
                for kind in ("points", "crossings")
                if (kind, name) in self.home
            ]
        )

    def _renamed(self, kind: str, thing: Plan, home: str) -> Plan:
        if kind in ("platforms", "yards"):
            for key in ("tracks", *ELEMENTS):
                if key in thing:
                    thing[key] = [self._name(name, home, key) for name in thing[key]]
        if kind == "signals":
            thing["track"] = self._name(thing["track"], home, "tracks")
            for arm in thing["arms"]:
                if "track" in arm:
                    arm["track"] = self._name(arm["track"], home, "tracks")
                for key, kinds in (
                    ("to", ("tracks", "platforms", "yards")),
                    ("repeats", ("arms",)),
                ):
                    if key in arm:
                        arm[key] = [self._name(name, home, *kinds) for name in _many(arm[key])]
        return thing


def _many(names: str | list[str] | None) -> list[str]:
    return [] if names is None else [names] if isinstance(names, str) else names
