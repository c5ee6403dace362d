"""The working of one plan, as references: routes, meanings of arms, conflicts, duties.

They come from the facts of the plan. Those of the old plan get the names of the new one, so the
two can be compared.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.comparing.model import ArmMeaning, ExclusionCase, RouteInWords, SignalWay
from trappoint.comparing.terms import Ref
from trappoint.core.kinds import ELEMENTS
from trappoint.interlocking.locking_table import describe_route
from trappoint.model.layout import edge_beyond

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping

    from trappoint.facts.facts import Facts

Duty = tuple[Ref, str, Ref]
"""A signal, the words of the duty without the last one, and the thing that the last one names."""


class Working:
    """The working of one plan. ``renamed`` gives a reference its name in the new plan."""

    def __init__(self, facts: Facts, renamed: Callable[[Ref], Ref]) -> None:
        self.facts = facts
        self.renamed = renamed
        self._ways: dict[int, RouteInWords] = {}

    def _ref(self, kind: str, name: str) -> Ref:
        return self.renamed(Ref(kind, name))

    # --- routes

    def routes(self) -> dict[SignalWay, None]:
        """Return all routes of the signals, each once, without routes into trap roads."""
        facts = self.facts
        found: dict[SignalWay, None] = {}
        for number, route in enumerate(facts.routes.all):
            # Routes of the neighbour's signals come from the plan's edges.
            if route.needs_arm and not facts.network.heads[route.head].elsewhere:
                signal = self._ref("signals", facts.network.heads[route.head].signal)
                found[SignalWay(signal, route.shunting, self.way(number))] = None
        return found

    def way(self, number: int) -> RouteInWords:
        """Return one route."""
        if number not in self._ways:
            self._ways[number] = self._derive(number)
        return self._ways[number]

    def _derive(self, number: int) -> RouteInWords:
        facts = self.facts
        network, route = facts.network, facts.routes.all[number]
        entry = describe_route(facts, number)
        last = network.place(route.path[-1])
        facing = network.facing[route.path[-1]]
        kind, end = "tracks", entry.ends_at
        if last.elsewhere and not entry.over:
            kind, end = "edges", edge_beyond(end)
        elif last.kind == "yards":
            kind = "yards"
        elif facing >= 0 and (route.shunting or network.heads[facing].stops):
            kind = "signals"
        return RouteInWords(
            self._ref("tracks", entry.start),
            tuple(self._ref("tracks", track) for track in entry.over),
            self._ref(kind, end),
            tuple(
                (self._ref(network.places[place].kind, network.places[place].id), lie)
                for place, lie in route.lies.items()
            ),
            tuple(self._ref("arms", arm) for arm in entry.past),
        )

    # --- arms

    def meanings(self) -> dict[Ref, ArmMeaning]:
        """Return the meaning of each arm, in the order of the plan."""
        facts = self.facts
        numbers = {(arm.signal, arm.position): n for n, arm in enumerate(facts.assignment.arms)}
        tells = {(d.arm.signal, d.arm.position): d for d in facts.distants}
        found = {}
        for arm in facts.layout.arms():
            key = arm.signal, arm.position
            if key in numbers:
                ways = tuple(map(self.way, facts.assignment.routes_of[numbers[key]]))
                meaning = ArmMeaning(arm.kind, ways)
            else:
                distant = tells[key]
                above = (distant.above,) if distant.above >= 0 else ()
                meaning = ArmMeaning(arm.kind, (), self._arms((*above, *distant.repeats)))
            found[self._ref("arms", arm.id)] = meaning
        return found

    def _arms(self, numbers: Iterable[int]) -> tuple[Ref, ...]:
        arms = self.facts.assignment.arms
        return tuple(self._ref("arms", arms[number].id) for number in numbers)

    # --- conflicts

    def conflicts(self) -> dict[frozenset[Ref], tuple[ExclusionCase, ...]]:
        """Return the conflicts, by pairs of arms."""

        found: dict[frozenset[Ref], tuple[ExclusionCase, ...]] = {}
        arms = self.facts.assignment.arms
        refs = self._arms(range(len(self.facts.assignment.arms)))
        for number, row in enumerate(self.facts.conflicts):
            for conflict in row:
                elsewhere = arms[number].elsewhere or arms[conflict.other].elsewhere
                if conflict.other > number and not elsewhere:
                    pair = frozenset((refs[number], refs[conflict.other]))
                    case = ExclusionCase(conflict.by, self._lies(conflict.when))
                    found[pair] = (*found.get(pair, ()), case)
        return found

    def _lies(self, when: Mapping[str, str] | None) -> tuple[tuple[Ref, str], ...] | None:
        if when is None:
            return None
        return tuple((self._element(name), lie) for name, lie in when.items())

    def _element(self, name: str) -> Ref:
        layout = self.facts.layout
        kinds = zip(ELEMENTS, (layout.points, layout.crossings, layout.turntables), strict=True)
        return self._ref(next((kind for kind, known in kinds if name in known), "points"), name)

    # --- duties

    def duties(self) -> dict[Duty, None]:
        """Return the duties of all signals."""
        found: dict[Duty, None] = {}
        for signal, duties in self.facts.duties.of_signal.items():
            post = self._ref("signals", signal)
            for duty in duties:
                words, _, name = duty.rpartition(" ")
                found[post, words, self._about(signal, words, name)] = None
        return found

    def _about(self, signal: str, words: str, name: str) -> Ref:
        layout = self.facts.layout
        if words.endswith("platform"):
            return self._ref("platforms", name)
        if words == "holds":
            yard = layout.yards.get(name)
            heads = layout.signals[signal].heads
            inside = yard is not None and any(head.track in yard.tracks for head in heads)
            return self._ref("yards" if inside else "tracks", name)
        return self._element(name)
