"""Posts: where signals stand, or may be put, and the plan that a choice of them makes.

A new signal may stand right at the end of a track that its trains run to, before what that end
meets. That is where it holds most, and it cuts nothing off. A drag is no place for one: only strays
come there. A signal that the plan has already may stand anywhere, and is kept or, where a plan is
repaired, may be taken away.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, NamedTuple

from trappoint.model.held_edges import with_beyond
from trappoint.model.layout import BEYOND, Arm, Head, Signal, cut_at
from trappoint.proposing.sidings import siding_tracks
from trappoint.topology.network_building import build_network

if TYPE_CHECKING:
    from collections.abc import Collection, Iterator

    from trappoint.model.layout import Heading, Layout
    from trappoint.proposing.finest_plan import Finest


class PossiblePost(NamedTuple):
    """One signal that may be part of the plan."""

    name: str
    """The signal's id; for a new one a name that no signal has."""
    signal: Signal
    new: bool
    free: bool
    """False for one that every proposal keeps."""

    @property
    def track(self) -> str:
        """The track that it stands on."""
        return self.signal.track

    @property
    def heading(self) -> Heading:
        """The heading of its trains."""
        return self.signal.heading

    @property
    def elsewhere(self) -> bool:
        """True for one on the neighbouring board, beyond a held edge."""
        return self.name.startswith(BEYOND)

    @property
    def heads(self) -> tuple[Head, ...]:
        """Its heads at which a train can be held."""
        return tuple(head for head in self.signal.heads if head.holds)


AT_END = -1.0


class PostSpot(NamedTuple):
    """A place for a post: a track, the heading of its trains, and the distance from the up end.

    ``at`` is in mm. It is ``AT_END`` at the end of the track, and at every exit of a yard: there a
    post holds trains anywhere on the track that leads out.
    """

    track: str
    heading: Heading
    at: float = AT_END


@dataclass(slots=True)
class PostGround:
    """A plan without its signals that hold trains, and all posts to choose from."""

    bare: Layout
    """The plan with only the signals that hold no train (lone distants), and with the track beyond
    its held edges."""
    posts: list[PossiblePost]
    spots: dict[PostSpot, tuple[int, ...]] = field(default_factory=dict)
    """From each spot to the posts that may face trains there."""
    rivals: list[tuple[int, ...]] = field(default_factory=list)
    """Groups of posts of one kind for one spot; at most one of each group can stand."""
    odd: frozenset[int] = frozenset()
    """Posts that change the places of the plan: inside a yard or on a drag."""
    number: dict[str, int] = field(default_factory=dict)
    """From the name of each post to its number."""
    movable: bool = False
    """True for a repair, in which existing signals may go."""
    in_yards: frozenset[str] = frozenset()
    """The tracks of yards."""
    sidings: frozenset[str] = frozenset()
    """The tracks where a disc gives leave to new signals' trains (see ``sidings``)."""
    finest: dict[frozenset[int], Finest] = field(default_factory=dict)
    """See ``finest_plan.finest_of``."""

    def shunts_from(self, number: int) -> bool:
        """Return whether a post is new and stands in a siding: it is a disc for all its roads."""
        return self.posts[number].new and self.posts[number].track in self.sidings

    def readable(self, number: int) -> bool:
        """Return whether a bracket must carry the arms of a post, if possible."""
        return self.posts[number].new and not self.movable

    def everywhere(self) -> frozenset[int]:
        """Return the choice of one post at every spot; of two, the new one."""
        lesser = {number for numbers in self.rivals for number in numbers[:-1]}
        return frozenset(n for n in range(len(self.posts)) if n not in lesser)

    def layout(self, chosen: Collection[int]) -> Layout:
        """Return the plan with the posts chosen, and those that stay."""
        signals = dict(self.bare.signals)
        for number, post in enumerate(self.posts):
            if number in chosen or not post.free:
                signals[post.name] = post.signal
        return self.bare._replace(signals=signals)

    def spot_of(self, head: Head) -> PostSpot:
        """Return the spot of a head."""
        at = cut_at(head, self.bare.tracks[head.track])
        return PostSpot(head.track, head.heading, AT_END if head.track in self.in_yards else at)


def survey(layout: Layout, *, movable: bool = False) -> PostGround:
    """Return all posts of a plan, and a new one for every possible place.

    ``movable``: existing signals may go too.
    """
    # The track beyond held edges is added once for all choices.
    layout = with_beyond(layout)._replace(edges=())
    holding = {
        name for name, signal in layout.signals.items() if any(head.holds for head in signal.heads)
    }
    kept = {name: signal for name, signal in layout.signals.items() if name not in holding}
    posts = [
        PossiblePost(name, signal, new=False, free=movable and not name.startswith(BEYOND))
        for name, signal in layout.signals.items()
        if name in holding
    ]
    ground = PostGround(layout._replace(signals=kept), posts, movable=movable)
    ground.in_yards = frozenset(t for yard in layout.yards.values() for t in yard.tracks)
    for number, post in enumerate(posts):
        for head in post.heads:
            _enter(ground, number, ground.spot_of(head))
    net = build_network(ground.layout(()))
    drags = {track for place in net.drags for track in net.tracks_of(place)}
    if not movable:
        ground.sidings = siding_tracks(ground.bare, net) - drags
    for spot in _ends(ground):
        standing = ground.spots.get(spot, ())
        if spot.track not in drags and all(_makes_way(posts[number]) for number in standing):
            _enter(ground, len(posts), spot)
            posts.append(_new_post(spot))
    ground.odd = frozenset(_odd_ones(ground, drags))
    ground.rivals = list(_rivals(ground))
    ground.number = {post.name: number for number, post in enumerate(posts)}
    return ground


def _enter(ground: PostGround, number: int, spot: PostSpot) -> None:
    ground.spots[spot] = (*ground.spots.get(spot, ()), number)


def _makes_way(post: PossiblePost) -> bool:
    """Return whether a new signal could replace this post, with another effect."""
    return post.free and not (len(post.signal.heads) == 1 and post.signal.heads[0].stops)


def _rivals(ground: PostGround) -> Iterator[tuple[int, ...]]:
    for spot, numbers in ground.spots.items():
        for kind in ("stop", "shunt"):
            alike = tuple(
                number
                for number in numbers
                if any(
                    arm.kind == kind
                    for head in ground.posts[number].heads
                    if ground.spot_of(head) == spot
                    for arm in head.arms
                )
            )
            if len(alike) > 1 and any(ground.posts[number].new for number in alike):
                yield alike


def _odd_ones(ground: PostGround, drags: set[str]) -> Iterator[int]:
    """Yield the posts that may go and that change the places of the plan."""
    tracks = ground.bare.tracks
    for spot, numbers in ground.spots.items():
        heads = [
            head for n in numbers for head in ground.posts[n].heads if head.track == spot.track
        ]
        inside = spot.track in ground.in_yards and any(
            cut_at(head, tracks[head.track]) >= 0 for head in heads
        )
        if inside or spot.track in drags:
            yield from (number for number in numbers if ground.posts[number].free)


def _ends(ground: PostGround) -> Iterator[PostSpot]:
    """Yield the ends of tracks beyond which trains may run, as a post at each would show.

    In a yard only the ends that lead out of it count.
    """
    tracks = ground.bare.tracks.values()
    spots = [PostSpot(track.id, heading) for track in tracks for heading in track.headings]
    posts = [_new_post(spot) for spot in spots]
    net = build_network(ground.bare._replace(signals={post.name: post.signal for post in posts}))
    for number, head in enumerate(net.heads):
        if net.starts(number):
            yield PostSpot(head.track, head.heading)


def _new_post(spot: PostSpot) -> PossiblePost:
    track, heading, _ = spot
    name = f"?{track} {heading}"  # no id looks like this
    arm = Arm(name, name, 0, "stop", (), 1, None, (), {}, (), track, heading, None, None)
    head = Head(name, track, heading, None, (arm,))
    signal = Signal(name, track, heading, None, None, "post", "upper-quadrant", (arm,), (), (head,))
    return PossiblePost(name, signal, new=True, free=True)
