"""Sessions, worked on paper: one movement after another, against the locking and other trains.

A movement is one journey of one train, while all other trains stand. The first impossible movement
ends the session. Then a search looks for another order in which all movements are possible. Each
train keeps the order of its own movements. Of several orders the search takes the one nearest to
the list: its first movement comes as early in the list as possible, then its second, and so on.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal, NamedTuple

from trappoint.core.errors import TooMany
from trappoint.operation.clearing import ClearingWish, shortest
from trappoint.operation.journey_search import Finder, JourneyAim
from trappoint.operation.standing import (
    NoPlace,
    Stood,
    first_shared,
    goal_named,
    places_named,
    stands_named,
    stood,
)
from trappoint.operation.train_lengths import tell_too_long

if TYPE_CHECKING:
    from collections.abc import Mapping

    from trappoint.facts.facts import Facts
    from trappoint.model.layout import Session, SessionMove
    from trappoint.operation.journey_search import Journey

MAX_STEPS = 500_000
"""Most search nodes for all sessions of a plan together."""

EACH = 50
"""The nodes that each tried movement counts for at least, besides one for each train."""

MAX_STATES = 20_000
"""Most states of a session in the search for another order."""

Why = Literal[
    "nowhere",
    "elsewhere",
    "there-already",
    "no-stand",
    "edge-taken",
    "blocked",
    "no-road",
    "too-long",
    "given-up",
]
"""Why a movement is impossible, in this order: the train is not on the plan; it is not at the given
start; it is at its goal already; no train may stand at the goal; another train stands where it
comes in; other trains are in the way; no road leads there; the train fits neither there nor on the
way; the search reached its limit."""


class Made(NamedTuple):
    """A movement that is possible."""

    number: int
    """Its index in the list."""
    train: str
    start: str
    """The place from which the train sets off."""
    journey: Journey
    comes_in: bool
    """Whether the train comes in first."""
    leaves: bool
    """Whether the train leaves the plan in the end."""


class Stuck(NamedTuple):
    """The first impossible movement, and why it is impossible."""

    number: int
    why: Why
    where: str = ""
    """The place of the train."""
    trains: tuple[tuple[str, str], ...] = ()
    """The trains in the way, each with the first place of the road that it occupies."""
    reason: str = ""
    """The reason as a sentence; empty if ``why`` says enough."""


class SessionResult(NamedTuple):
    """A session, worked up to its first impossible movement."""

    session: Session
    made: tuple[Made, ...]
    stuck: Stuck | None
    shared: tuple[str, str] | None = None
    """Two trains that start in the same place; then no movement is tried."""
    standstill: bool = False
    """Whether no other train can make its next movement either."""
    order: tuple[Made, ...] | None = None
    """Another order in which all movements are possible; None if there is none."""
    decided: bool = True
    """False if the search for another order reached its limit."""


class _SessionState(NamedTuple):
    """The movements made so far, and the place of every train."""

    done: tuple[int, ...]
    """The number of movements that each train has made."""
    at: tuple[Stood | None, ...]
    """Each train as it stands; None for one that is not on the plan."""


def work_sessions(facts: Facts, most_steps: int = MAX_STEPS) -> list[SessionResult]:
    """Work every session of a plan that is not too large to analyse."""
    finder = Finder(facts, most_steps)
    return [_Working(finder, session).work() for session in facts.layout.sessions.values()]


class _Working:
    """The search through one session."""

    def __init__(self, finder: Finder, session: Session) -> None:
        self.finder = finder
        self.facts = finder.facts
        self.session = session
        own: dict[str, list[int]] = {}
        for number, move in enumerate(session.moves):
            own.setdefault(move.train, []).append(number)
        self.own = list(own.values())
        """The movements of each train, as indices of the list."""
        self.number = {train: number for number, train in enumerate(own)}
        known = [
            stood(finder, train if isinstance(train, str) else f"the train in {name}", name)
            for name, train in session.trains.items()
        ]
        self.known = known
        at: Mapping[str, Stood] = {each.train: each for each in reversed(known)}
        self.begin = _SessionState((0,) * len(own), tuple(map(at.get, own)))
        moving = {id(each) for each in self.begin.at}
        self.still = [each for each in known if id(each) not in moving]

    def work(self) -> SessionResult:
        """Work the session in the order of its list; if that fails, search for another order."""
        shared = first_shared(self.known)
        if shared is not None:
            return SessionResult(self.session, (), None, (shared[0].train, shared[1].train))
        state, made = self.begin, list[Made]()
        for number, move in enumerate(self.session.moves):
            train = self.number[move.train]
            try:
                after = self._make(state, train, number)
            except TooMany:
                after = Stuck(number, "given-up")
            if isinstance(after, Stuck):
                return self._stuck(state, tuple(made), after)
            state = after[0]
            made.append(after[1])
        return SessionResult(self.session, tuple(made), None)

    def _stuck(self, state: _SessionState, made: tuple[Made, ...], stuck: Stuck) -> SessionResult:
        decided, order, standstill = True, None, False
        if stuck.why not in ("blocked", "edge-taken"):
            return SessionResult(self.session, made, stuck, decided=stuck.why != "given-up")
        try:
            standstill = not any(self._next(state))
            order = self._other_order()
        except TooMany:
            decided = False
        return SessionResult(self.session, made, stuck, None, standstill, order, decided)

    def _next(self, state: _SessionState) -> list[tuple[_SessionState, Made]]:
        """Return the state after each train's next movement, for the trains that can make it."""
        following = sorted(
            (own[done], train)
            for train, (own, done) in enumerate(zip(self.own, state.done, strict=True))
            if done < len(own)
        )
        tried = (self._make(state, train, number) for number, train in following)
        return [after for after in tried if not isinstance(after, Stuck)]

    def _other_order(self) -> tuple[Made, ...] | None:
        """Search depth first for an order in which all are possible. Raises ``TooMany``."""
        seen = {self.begin}
        made: list[Made] = []
        pending = [iter(self._next(self.begin))]
        while pending:
            after = next(pending[-1], None)
            if after is None:
                pending.pop()
                if made:
                    made.pop()
                continue
            state, last = after
            if state in seen:
                continue
            seen.add(state)
            if len(seen) > MAX_STATES:
                raise TooMany
            made.append(last)
            if sum(state.done) == len(self.session.moves):
                return tuple(made)
            pending.append(iter(self._next(state)))
        return None

    # --- one movement

    def _make(
        self, state: _SessionState, train: int, number: int
    ) -> tuple[_SessionState, Made] | Stuck:
        self.finder.spend(EACH + len(state.at) + len(self.still))
        move = self.session.moves[number]
        others = [
            each
            for other, each in enumerate(state.at)
            if other != train and each is not None
        ]  # fmt: skip
        others += self.still
        try:
            standing = self._standing(state, train, number, others)
            if isinstance(standing, Stuck):
                return standing
            goal = goal_named(self.facts, move.to)
        except NoPlace as error:
            return Stuck(number, "no-stand", reason=str(error))
        leaves = move.to.startswith("edge:")
        if goal.places & standing.takes and len(standing.nodes) == 1:
            return Stuck(number, "there-already", self._name(standing))
        taken = frozenset(place for other in others for place in other.takes)
        wish = ClearingWish(standing, goal, tuple(self._wants(move)))
        journey = shortest(self.finder, wish, taken)
        if journey is None:
            return self._why_not(number, wish, others)
        place = self.finder.place(journey.end)
        end = standing._replace(nodes=(journey.end,), takes=frozenset((place,)))
        made = Made(
            number,
            move.train,
            self.finder.network.places[self.finder.place(journey.start)].name,
            journey,
            state.at[train] is None,
            leaves,
        )
        return _SessionState(
            (*state.done[:train], state.done[train] + 1, *state.done[train + 1 :]),
            (*state.at[:train], None if leaves else end, *state.at[train + 1 :]),
        ), made

    def _standing(
        self, state: _SessionState, train: int, number: int, others: list[Stood]
    ) -> Stood | Stuck:
        """Return the train as it stands; one that is not on the plan waits at its edge."""
        move, standing = self.session.moves[number], state.at[train]
        comes_in = move.start is not None and move.start.startswith("edge:")
        if standing is None:
            if not comes_in or move.start is None:
                return Stuck(number, "nowhere")
            standing = stood(self.finder, move.train, move.start)
            met = [other for other in others if other.takes & standing.takes]
            if met:
                where = self.finder.network.places[min(met[0].takes & standing.takes)].name
                return Stuck(number, "edge-taken", move.start, ((met[0].train, where),))
        elif move.start is not None:
            believed = frozenset(places_named(self.facts, move.start))
            if not believed & standing.takes:
                return Stuck(number, "elsewhere", self._name(standing))
            if len(standing.nodes) > 1:
                nodes = tuple(n for n in standing.nodes if self.finder.place(n) in believed)
                standing = standing._replace(nodes=nodes)
        if not standing.nodes:
            stands_named(self.facts, self._track(standing))
        return standing

    def _wants(self, move: SessionMove) -> list[JourneyAim]:
        wants = [JourneyAim(frozenset(places_named(self.facts, name))) for name in move.via]
        if move.arm is not None:
            number = self.facts.arm_number.get(move.arm, -1)
            wants.append(JourneyAim(arms=frozenset((number,))))
        return wants

    def _why_not(self, number: int, wish: ClearingWish, others: list[Stood]) -> Stuck:
        where = self._name(wish.train)
        unhindered = shortest(self.finder, wish, frozenset())
        if unhindered is None:
            reason = tell_too_long(self.finder, wish)
            return Stuck(number, "too-long" if reason else "no-road", where, reason=reason)
        needs = self.finder.needs(unhindered)
        names = self.finder.network.places
        met = tuple(
            (other.train, names[min(needs & other.takes)].name)
            for other in others
            if needs & other.takes
        )
        return Stuck(number, "blocked", where, met)

    def _name(self, standing: Stood) -> str:
        if len(standing.takes) > 1:
            return self._track(standing)
        return self.finder.network.places[min(standing.takes)].name

    def _track(self, standing: Stood) -> str:
        return self.finder.network.places[min(standing.takes)].id
