"""Posts: where signals stand, or may be put, and the plan that a choice of them makes.

A new signal may stand right at the end of a track that its trains run to, before what that end
meets. That is where it holds most, and it cuts nothing off. A signal that the plan has already may
stand anywhere, and is kept or, where a plan is repaired, may be taken away.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, NamedTuple

from trappoint.layout import Arm, Head, Signal, cut_at
from trappoint.network import build_network

if TYPE_CHECKING:
    from collections.abc import Collection, Iterator

    from trappoint.layout import Heading, Layout
    from trappoint.network import Network


class Post(NamedTuple):
    """One signal that may be part of the plan."""

    name: str
    """The signal's id; for a new one a name that no signal has."""
    signal: Signal
    new: bool
    free: bool
    """False for one that stays, whatever is proposed."""

    @property
    def track(self) -> str:
        """The track that it stands on."""
        return self.signal.track

    @property
    def heading(self) -> Heading:
        """The trains that it speaks to."""
        return self.signal.heading


Spot = tuple[str, "Heading"]
"""The end of a track that trains with this heading run to."""


@dataclass(slots=True)
class Ground:
    """A plan without the signals that are chosen from, and all the posts there are to choose."""

    bare: Layout
    """The plan with the signals alone that hold no train: distants by themselves."""
    posts: list[Post]
    at_end: dict[Spot, tuple[int, ...]] = field(default_factory=dict)
    """From the end of a track to the posts, of which one may face the trains that run to it."""
    along: dict[str, list[int]] = field(default_factory=dict)
    """From a track to the posts, of those that may go, that stand along it and cut it."""
    exits: dict[tuple[str, str], Spot] = field(default_factory=dict)
    """From a yard and what a track of it meets outside to the end of that track."""

    @property
    def rivals(self) -> list[tuple[int, ...]]:
        """The posts of which one alone can stand, being for one spot."""
        return [numbers for numbers in self.at_end.values() if len(numbers) > 1]

    def everywhere(self) -> frozenset[int]:
        """Return the choice of a post at every spot, the new one where there are two."""
        lesser = {number for numbers in self.rivals for number in numbers[:-1]}
        return frozenset(n for n in range(len(self.posts)) if n not in lesser)

    def layout(self, chosen: Collection[int]) -> Layout:
        """Return the plan with the posts chosen, and those that stay."""
        signals = dict(self.bare.signals)
        for number, post in enumerate(self.posts):
            if number in chosen or not post.free:
                signals[post.name] = post.signal
        return self.bare._replace(signals=signals)


def survey(layout: Layout, *, movable: bool = False) -> Ground:
    """Find every post that a plan has, and every place where one may be put.

    ``movable``: the signals that the plan has may be taken away too.
    """
    holding = {name for name, signal in layout.signals.items() if _holds(signal)}
    kept = {name: signal for name, signal in layout.signals.items() if name not in holding}
    posts = [
        Post(name, signal, new=False, free=movable)
        for name, signal in layout.signals.items()
        if name in holding
    ]
    ground = Ground(layout._replace(signals=kept), posts)
    for number, post in enumerate(posts):
        for head in post.signal.heads:
            if head.holds:
                _enter(ground, number, head)
    ground.exits = _yard_exits(ground.bare)
    for spot in _ends(ground):
        standing = ground.at_end.get(spot, ())
        if all(posts[number].free and not _plain(posts[number]) for number in standing):
            ground.at_end[spot] = (*standing, len(posts))
            posts.append(_new_post(spot))
    return ground


def _holds(signal: Signal) -> bool:
    return any(head.holds for head in signal.heads)


def _plain(post: Post) -> bool:
    """Tell whether a signal does just what a new one on its spot would do."""
    return len(post.signal.heads) == 1 and post.signal.heads[0].stops


def _in_yards(layout: Layout) -> set[str]:
    return {track for yard in layout.yards.values() for track in yard.tracks}


def _enter(ground: Ground, number: int, head: Head) -> None:
    layout = ground.bare
    # In a yard a signal holds a train wherever it stands on the track that leads out.
    if head.track in _in_yards(layout) or cut_at(head, layout.tracks[head.track]) < 0:
        spot = head.track, head.heading
        ground.at_end[spot] = (*ground.at_end.get(spot, ()), number)
    elif ground.posts[number].free:
        ground.along.setdefault(head.track, []).append(number)


def _ends(ground: Ground) -> Iterator[Spot]:
    """Yield the ends of tracks beyond which trains may run."""
    layout = ground.bare
    net = build_network(layout)
    out_of_yards = set(ground.exits.values())
    for track in layout.tracks.values():
        sections = net.sections.get(track.id)
        for heading in track.headings:
            if sections is None:
                leads_on = (track.id, heading) in out_of_yards
            else:
                leads_on = bool(net.exits[sections[-1 if heading == "down" else 0][heading]])
            if leads_on:
                yield track.id, heading


def _yard_exits(bare: Layout) -> dict[tuple[str, str], Spot]:
    """Find which ends of yard tracks lead out: a post is put at each, and looked for."""
    if not bare.yards:
        return {}
    tracks = [bare.tracks[track] for track in _in_yards(bare)]
    posts = [_new_post((track.id, heading)) for track in tracks for heading in track.headings]
    net = build_network(bare._replace(signals={post.name: post.signal for post in posts}))
    return {
        (net.place(state).id, onward(net, exit_.to)): (
            net.heads[exit_.head].track,
            net.heads[exit_.head].heading,
        )
        for state in range(len(net.exits))
        if net.place(state).kind == "yards"
        for exit_ in net.exits[state]
        if exit_.head >= 0
    }


def _new_post(spot: Spot) -> Post:
    track, heading = spot
    name = f"?{track} {heading}"  # no id looks like this
    arm = Arm(name, name, 0, "stop", (), 1, None, (), {}, (), track, heading, None, None)
    head = Head(name, track, heading, None, (arm,))
    signal = Signal(name, track, heading, None, None, "post", "upper-quadrant", (arm,), (), (head,))
    return Post(name, signal, new=True, free=True)


def onward(net: Network, state: int) -> str:
    """Name the state just beyond an exit, alike in all plans that differ in their signals alone."""
    place = net.place(state)
    return f"{place.kind} {place.id} {net.way[state]}"
