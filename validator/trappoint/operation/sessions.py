"""Running sessions, worked on paper: one movement after another, against locking and occupation.

Each movement is one journey of one train while all others stand where the movements before left
them. The first that cannot be made ends the session. Then another order is looked for in which all
can be made: each train keeps the order of its own movements, and of several orders the one that is
nearest to the list (its first movement as early in the list as can be, and so on) is taken.
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
"""The nodes that are looked at for all sessions of a plan together."""

EACH = 50
"""So many of them each movement that is tried counts for at least, and one more for each train."""

MAX_STATES = 20_000
"""The states of a session that the search for another order may come to."""

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
"""Why a movement cannot be made: the train is not on the plan; it is not where it is believed to
be; it is there already; no train may stand there; another one stands where it is to come in; others
are in the way; no road leads there; the train does not fit there or on the way; it was not found
out."""


class Made(NamedTuple):
    """A movement that was made."""

    number: int
    """Its place in the list, from 0."""
    train: str
    start: str
    """The place from which it set off."""
    journey: Journey
    comes_in: bool
    """True if it came on to the plan first."""
    leaves: bool
    """True if it then left the plan."""


class Stuck(NamedTuple):
    """The first movement that cannot be made, and why."""

    number: int
    why: Why
    where: str = ""
    """Where the train stands."""
    trains: tuple[tuple[str, str], ...] = ()
    """The trains in the way, each with the first place of the road that it has."""
    told: str = ""
    """More of it, a sentence."""


class SessionResult(NamedTuple):
    """A session, worked as far as it can be."""

    session: Session
    made: tuple[Made, ...]
    stuck: Stuck | None
    shared: tuple[str, str] | None = None
    """Two trains that stand in one place before anything moves: then nothing is worked."""
    standstill: bool = False
    """True if no other train can make its next movement either."""
    order: tuple[Made, ...] | None = None
    """Another order in which all movements can be made, None if there is none."""
    decided: bool = True
    """False if the search for another order was given up."""


class _SessionState(NamedTuple):
    """Where every train stands; None for one that is not on the plan."""

    done: tuple[int, ...]
    """How many of its movements each train has made."""
    at: tuple[Stood | None, ...]


def work_sessions(facts: Facts, most_steps: int = MAX_STEPS) -> list[SessionResult]:
    """Work every session of a plan; the plan must not be beyond the limits."""
    finder = Finder(facts, most_steps)
    return [_Working(finder, session).work() for session in facts.layout.sessions.values()]


class _Working:
    """Works one session."""

    def __init__(self, finder: Finder, session: Session) -> None:
        self.finder = finder
        self.facts = finder.facts
        self.session = session
        own: dict[str, list[int]] = {}
        for number, move in enumerate(session.moves):
            own.setdefault(move.train, []).append(number)
        self.own = list(own.values())
        """The movements of each train, by their places in the list."""
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
        """Work the session in the order of its list, then look for another order."""
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
        """Return what comes of each train's next movement, for those that can make it."""
        following = sorted(
            (own[done], train)
            for train, (own, done) in enumerate(zip(self.own, state.done, strict=True))
            if done < len(own)
        )
        tried = (self._make(state, train, number) for number, train in following)
        return [after for after in tried if not isinstance(after, Stuck)]

    def _other_order(self) -> tuple[Made, ...] | None:
        """Search for an order in which all can be made, depth first. Raises ``TooMany``."""
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
            return Stuck(number, "no-stand", told=str(error))
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
        """Return where the train stands; it comes on to the plan where it is not on it."""
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
            told = tell_too_long(self.finder, wish)
            return Stuck(number, "too-long" if told else "no-road", where, told=told)
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
