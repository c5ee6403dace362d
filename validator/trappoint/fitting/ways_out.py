"""The signals that close each way out of a stand or in at an edge, for the order of work.

With all signals fitted, a train that runs on from there meets one of some signals first. The way
out is closed when all of them are fitted. This is no verdict: it only says which signal to fit next
in a plan that is too large to try every one.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.facts.facts import Facts

if TYPE_CHECKING:
    from collections.abc import Collection, Iterator, Sequence

    from trappoint.model.layout import Layout
    from trappoint.model.settings import Settings
    from trappoint.topology.network import Network

MAX_STATES = 500
"""Most states of one way out; larger ones are left out."""


class WaysOut:
    """The ways out that are still open, each with the signals that it waits for."""

    def __init__(self, layout: Layout, settings: Settings, signals: Collection[str]) -> None:
        network = Facts(layout, settings).network
        self.waiting: dict[int, set[str]] = {}
        """For each way out, by the state that it begins in."""
        for start in dict.fromkeys(_starts(network)):
            met = _met_first(network, start)
            if met and met <= set(signals):
                self.waiting[start] = met

    def fit(self, signal: str) -> None:
        """Take a signal as fitted."""
        for start, met in list(self.waiting.items()):
            met.discard(signal)
            if not met:
                del self.waiting[start]

    def next(self, signals: Sequence[str]) -> str | None:
        """Return the signal that closes the most ways out; of equals, the first one.

        If none closes one alone, it is the first signal of the way that waits for the fewest. None
        if no way out is open.
        """
        if not self.waiting:
            return None
        closes = dict.fromkeys(signals, 0)
        for met in self.waiting.values():
            if len(met) == 1:
                closes[next(iter(met))] += 1
        best = max(signals, key=lambda signal: closes[signal])
        if closes[best]:
            return best
        fewest = min(self.waiting.values(), key=len)
        return next(signal for signal in signals if signal in fewest)


def _starts(network: Network) -> Iterator[int]:
    for stand in network.stands:
        yield from stand.states
    for entry in network.entries:
        yield entry.state


def _met_first(network: Network, start: int) -> set[str]:
    """Return the signals that a train from here meets first; empty if the way out is too large."""
    met, queue, seen = set(), [start], {start}
    for state in queue:
        head = network.facing[state]
        if head >= 0:
            met.add(network.heads[head].signal)
            continue
        for exit_ in network.exits[state]:
            if exit_.to not in seen:
                seen.add(exit_.to)
                queue.append(exit_.to)
        if len(queue) > MAX_STATES:
            return set()
    return met
