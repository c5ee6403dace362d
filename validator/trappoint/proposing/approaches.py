"""The approach of a train to a signal while another train waits in its place.

The answer is the same for every choice of the other posts: between signals a train runs by routes,
without signals it runs freely. Trap points are the exception: a train passes them facing and
reversed only by a route, so a signal must stand before them.
"""

from __future__ import annotations

from collections import deque
from typing import TYPE_CHECKING, NamedTuple

from trappoint.proposing.need import NONE

if TYPE_CHECKING:
    from trappoint.proposing.choice import Choice
    from trappoint.proposing.finest_plan import PostedMove
    from trappoint.proposing.need import Posts

MAX_LOOKS = 2_000
"""The greatest number of states of one search for an approach."""


class _Step(NamedTuple):
    """A way to a signal, searched backwards."""

    state: int
    unsent: bool
    """True if trap points ahead lie reversed, and the search has no signal before them yet."""
    onward: _Step | None
    move: PostedMove | None
    sent_by: Posts


def comes(
    choice: Choice, state: int, avoid: int | None, start: int, *, anywhere: bool = True
) -> Posts | None:
    """Return the posts that must stand for a train to come to a signal that stands here.

    None if it cannot come. It begins neither in the region ``avoid`` nor in the region
    ``start``, and never comes into the region ``avoid``: the other train is there. One that begins
    where the signal is may. Without ``anywhere`` it begins there.
    """
    finest = choice.finest
    if state in finest.source_states or not anywhere:
        return NONE if state in finest.source_states else None
    if finest.comes(state, avoid, start):
        return NONE
    if not finest.together.traps:
        return None
    key = state, avoid, start
    if key not in choice.coming:
        choice.coming[key] = _find(choice, state, avoid, start)
    return choice.coming[key]


def _find(choice: Choice, state: int, avoid: int | None, start: int) -> Posts | None:
    finest = choice.finest
    net = finest.net
    if finest.region(net.place_of[state]) == avoid:
        return None
    queue = deque([_Step(state, False, None, None, NONE)])
    seen = {(state, False)}
    while queue and len(seen) < MAX_LOOKS:
        at = queue.popleft()
        begins = at.state in finest.source_states and not at.unsent
        if begins and finest.region(net.place_of[at.state]) != start and _agrees(at):
            return at.sent_by
        for earlier, move in finest.into[at.state]:
            step = _before(choice, at, earlier, move)
            key = step.state, step.unsent
            if key not in seen and finest.region(net.place_of[earlier]) != avoid:
                if step.unsent and net.place(earlier).kind == "yards":
                    continue  # A route ends there, and none begins.
                seen.add(key)
                queue.append(step)
    return None


def _before(choice: Choice, at: _Step, earlier: int, move: PostedMove) -> _Step:
    """Return a way with one more move at its beginning."""
    unsent = at.unsent or not choice.finest.lets(move, {})
    sent_by = at.sent_by
    standing = [number for number in move.stops if choice.standing[number]]
    if unsent and standing:
        unsent = False
        sent_by |= choice.free(standing[:1])
    return _Step(earlier, unsent, at, move, sent_by)


def _agrees(step: _Step) -> bool:
    """Return whether all points on a way can lie for it at the same time."""
    needs: dict[int, str] = {}
    while step.onward is not None and step.move is not None:
        lever, word = step.move.lever, step.move.word
        if lever >= 0 and needs.setdefault(lever, word) != word:
            return False
        step = step.onward
    return True
