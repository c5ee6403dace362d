"""The reason for each signal of a proposal: the danger or the lack without it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, NamedTuple

from trappoint.facts.facts import Facts
from trappoint.laying.arming import roads_of
from trappoint.model.building import build_layout

if TYPE_CHECKING:
    from collections.abc import Iterator

    from trappoint.model.layout import Signal
    from trappoint.proposing.writing import Written
    from trappoint.verdict.pair_search import PairSearch


class Reason(NamedTuple):
    """One signal of a proposal, and why it is there."""

    signal: str
    state: str
    """``new``, ``moved``, ``kept``, or ``gone``."""
    track: str
    heading: str
    arms: tuple[tuple[str, str], ...]
    """Each arm with its meaning."""
    duties: tuple[str, ...]
    without: str
    """The consequence of leaving the signal out; empty for one that is gone."""
    done: tuple[str, ...] = ()
    """The changes to its arms, and its former place."""


def reasons_for(written: Written, before: dict[str, Any]) -> Iterator[Reason]:
    """Yield a reason for every signal of a plan that holds trains, then those that are gone."""
    facts = Facts(build_layout(written.data))
    meanings = _meanings(facts)
    arms = _arms_needed(facts)
    for signal in facts.layout.signals.values():
        if not any(head.holds for head in signal.heads):
            continue
        yield Reason(
            signal.id,
            _state(written, signal.id),
            signal.track,
            signal.heading,
            tuple((arm.id, meanings[arm.id]) for arm in signal.arms if arm.id in meanings),
            facts.duties.of_signal[signal.id],
            _without(facts, signal, arms),
            tuple(_done(written, signal.id)),
        )
    for name in written.gone:
        old = before["signals"][name]
        yield Reason(name, "gone", old["track"], old["for"], (), (), "")


def _state(written: Written, name: str) -> str:
    if name in written.added:
        return "new"
    return "moved" if name in written.moved else "kept"


def _done(written: Written, name: str) -> Iterator[str]:
    if name in written.moved:
        track, heading = written.moved[name]
        yield f"was on {track}, for {heading} trains"
    yield from written.aimed.get(name, ())


def _meanings(facts: Facts) -> dict[str, str]:
    from trappoint.interlocking.locking_table import derive_table

    return {row.arm: row.meaning for row in derive_table(facts).arms}


def _without(facts: Facts, signal: Signal, arms: int) -> str:
    """Return the consequence of leaving a signal out, as a sentence.

    That is the first of: a collision, track that no train reaches, more arms. ``arms`` is the
    number of arms that the plan needs with the signal.
    """
    from trappoint.rules.reach import UNREACHABLE

    signals = {name: each for name, each in facts.layout.signals.items() if name != signal.id}
    bare = Facts(facts.layout._replace(signals=signals))
    if bare.routes.overflowed_heads or UNREACHABLE.check is None:
        return "the roads of other signals would be too many to analyse."
    unheld, unsure = _unheld(bare)
    if unheld:
        return unheld
    known = {each.pointer for each in UNREACHABLE.check(facts)}
    lost = next((each for each in UNREACHABLE.check(bare) if each.pointer not in known), None)
    if lost is not None:
        return f"the plan would hold, but {lost.message[0].lower()}{lost.message[1:]}"
    if unsure:
        return unsure
    more = _arms_needed(bare) - arms
    if more > 0:
        arms_more = "1 more arm" if more == 1 else f"{more} more arms"
        return f"the plan would hold, but it would need {arms_more}."
    return "the plan would hold; this signal is good practice."


def _unheld(bare: Facts) -> tuple[str, str]:
    """Return a sentence if two trains can meet, and one if a short search does not decide it."""
    from trappoint.core.errors import TooMany
    from trappoint.rules.holding import unheld_message
    from trappoint.verdict.counterexamples import Failing

    class ShortSearch(Failing):
        @property
        def pairs(self) -> PairSearch:
            raise TooMany

    unsure = ""
    for failure in ShortSearch(bare.free_moves, bare.routes, bare.free_runs).failures():
        if failure.movement is not None:
            return unheld_message(bare, failure), ""
        if not failure.decided and not unsure:
            message = unheld_message(bare, failure)
            unsure = f"a short search finds no collision, but {message[0].lower()}{message[1:]}"
    return "", unsure


def _arms_needed(facts: Facts) -> int:
    heads = enumerate(facts.network.heads)
    return sum(
        len(roads_of(facts, number)) for number, head in heads if head.stops and not head.elsewhere
    )
