"""Why each signal of a proposal stands where it does."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, NamedTuple

from trappoint.building import build_layout
from trappoint.facts import Facts

if TYPE_CHECKING:
    from collections.abc import Iterator

    from trappoint.drafting.writing import Written
    from trappoint.layout import Signal


class Reason(NamedTuple):
    """One signal of a proposal, and why it is there."""

    signal: str
    state: str
    """``new``, ``moved``, ``kept``, or ``gone``."""
    track: str
    heading: str
    arms: tuple[tuple[str, str], ...]
    """Each arm that gives leave, with what for."""
    duties: tuple[str, ...]
    without: str
    """What would happen if it were not there; empty where the plan would hold all the same."""
    done: tuple[str, ...] = ()
    """What was done to its arms, or where it stood before."""


def reasons_for(written: Written, before: dict[str, Any]) -> Iterator[Reason]:
    """Yield a reason for every signal of a plan that holds trains, then those that are gone."""
    facts = Facts(build_layout(written.data))
    meanings = _meanings(facts)
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
            _without(facts, signal),
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
        yield f"stood on {track}, for {heading} trains"
    yield from written.aimed.get(name, ())


def _meanings(facts: Facts) -> dict[str, str]:
    from trappoint.locking_table import derive_table

    return {row.arm: row.meaning for row in derive_table(facts).arms}


def _without(facts: Facts, signal: Signal) -> str:
    """Say what goes wrong at some stand when a signal is taken away."""
    from trappoint.rules.holding import UNHELD_EXIT

    signals = {name: each for name, each in facts.layout.signals.items() if name != signal.id}
    bare = Facts(facts.layout._replace(signals=signals))
    if bare.routes.crowded or UNHELD_EXIT.check is None:
        return ""
    return next((finding.message for finding in UNHELD_EXIT.check(bare)), "")
