"""Verbs: joints between two ends, and ends at buffers and edges."""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.laying.approach import Ways
from trappoint.laying.draft import Draft
from trappoint.laying.ending import free_end, hold_no_join, is_joined, meet_instead
from trappoint.laying.forking import opposite, outer, sentence
from trappoint.laying.lines import end_words
from trappoint.laying.measures import END, OUTER, POSITION, TRACK, Fresh
from trappoint.laying.naming import fresh_numbered
from trappoint.laying.offering import Ask, Offer, choice, offering
from trappoint.laying.points import where_asks
from trappoint.laying.refusing import Refused
from trappoint.laying.splitting import Where, cut_of, split
from trappoint.laying.turning import can_turn, turn
from trappoint.laying.verb import verb

if TYPE_CHECKING:
    from collections.abc import Iterator

    from trappoint.laying.offering import Spot
    from trappoint.model.layout import Layout


@verb(
    "join-ends",
    "Joins two free ends of track, at buffers or edges, into a joint.",
    track=TRACK,
    end=END,
    to=TRACK,
    to_end=END,
    joint=Fresh("joints"),
)
def join_ends(
    draft: Draft, track: str, end: str, to: str, to_end: str, joint: str | None = None
) -> str:
    """Join two ends. If up would meet up, one side is turned round where that is possible."""
    free_end(draft, track, end)
    free_end(draft, to, to_end)
    if (track, end) == (to, to_end):
        raise Refused(f"The {end} end of {track} is one end.", "Choose two ends.")
    turned = ""
    if end == to_end and track != to:
        turned, to_end = _turned(draft, track, to, to_end)
    text = f"joint:{joint or fresh_numbered(draft, 'joints', 'j')}"
    gone = meet_instead(draft, track, end, text)
    more = meet_instead(draft, to, to_end, text)
    return sentence(
        f"Tracks {track} and {to} meet at {text.replace(':', ' ')}.", turned, gone, more
    )


def _turned(draft: Draft, track: str, to: str, to_end: str) -> tuple[str, str]:
    """Turn round the tracks that ``to`` is joined with, so that up meets down.

    Returns a sentence and the end of ``to`` then.
    """
    layout = draft.layout()
    joined = sorted(_all_joined(layout, to))
    if track in joined or not all(can_turn(layout, each) for each in joined):
        return "", to_end
    for each in joined:
        turn(draft, each)
    words = f"Track {to} is" if len(joined) == 1 else f"{len(joined)} tracks from {to} on are"
    return f"{words} turned round, so that up meets down.", opposite(to_end)


def _all_joined(layout: Layout, track: str) -> set[str]:
    """Return all tracks that are joined to one, over joints and elements of every kind."""
    at: dict[str, list[str]] = {}
    for each in layout.tracks.values():
        for end in (each.up, each.down):
            if end.kind in ("leg", "joint"):
                at.setdefault(f"{end.kind}:{end.name}", []).append(each.id)
    found, todo = {track}, [track]
    while todo:
        one = layout.tracks[todo.pop()]
        for end in (one.up, one.down):
            new = set(at.get(f"{end.kind}:{end.name}", ())) - found
            found |= new
            todo += new
    return found


@verb(
    "part-joint",
    "Parts a joint: both its ends become buffers, or edges of the plan.",
    track=TRACK,
    end=END,
    ends=OUTER,
)
def part_joint(draft: Draft, track: str, end: str, ends: str = "buffer") -> str:
    """Part the joint at an end of a track."""
    joint = draft.thing("tracks", track)[end]
    if not joint.startswith("joint:"):
        raise Refused(f"The {end} end of {track} meets no joint.", "Choose an end at a joint.")
    if ends.startswith("edge:"):
        raise Refused("Two ends cannot have one edge.", "Give edge, and each end gets its own.")
    apart = []
    for key, each in draft.things("tracks").items():
        for side in ("up", "down"):
            if each[side] == joint:
                each[side] = "buffer"
                each[side] = outer(draft, ends, f"{key}-{side}"[:40])
                draft.touch("tracks", key)
                apart.append(
                    f"Track {draft.called('tracks', key)} ends at {end_words(each[side])}."
                )
    return sentence(*apart)


@verb(
    "put-in-joint",
    "Parts a track in two at a joint, such as the edge of a baseboard.",
    track=TRACK,
    at=Where(),
    at_mm=POSITION,
    joint=Fresh("joints"),
)
def put_in_joint(
    draft: Draft,
    track: str,
    at: str = "middle",
    at_mm: float | None = None,
    joint: str | None = None,
) -> str:
    """Put a joint into a track."""
    key = joint or fresh_numbered(draft, "joints", "j")
    text = f"joint:{key}"
    parts = split(draft, cut_of(draft, track, at, at_mm), text, text, stands=False)
    return sentence(f"Tracks {parts.up} and {parts.down} meet at joint {key}.", parts.said)


@verb("make-buffer", "Lets a track end at a buffer and not at an edge.", track=TRACK, end=END)
def make_buffer(draft: Draft, track: str, end: str) -> str:
    """Put a buffer at an edge."""
    if free_end(draft, track, end) == "buffer":
        raise Refused(f"{track} ends at a buffer there already.", "Choose an end at an edge.")
    gone = meet_instead(draft, track, end, "buffer")
    return sentence(f"The {end} end of {track} is a buffer.", gone)


@verb(
    "make-edge",
    "Lets a track leave the plan at an edge and not end at a buffer.",
    track=TRACK,
    end=END,
    edge=Fresh("edges"),
)
def make_edge(draft: Draft, track: str, end: str, edge: str | None = None) -> str:
    """Make an edge of a buffer."""
    text = str(draft.thing("tracks", track)[end])
    if text != "buffer":
        raise Refused(
            f"The {end} end of {track} meets {text} already.", "Choose an end at a buffer."
        )
    hold_no_join(draft, text)
    new = outer(draft, f"edge:{edge}" if edge else "edge", track)
    meet_instead(draft, track, end, new)
    return f"Track {draft.called('tracks', track)} leaves the plan at {end_words(new)}."


# --- offers


def _end_of(spot: Spot) -> str:
    track = spot.layout.tracks[spot.key]
    return (track.up if spot.part == "up" else track.down).kind


@offering("tracks", 10, part=True)
def offer_ends(spot: Spot) -> Iterator[Offer]:
    """Offer what a free end can become, and the parting of a joint."""
    here: dict[str, object] = {"track": spot.key, "end": spot.part}
    kind = _end_of(spot)
    if kind == "buffer":
        name = Ask("edge", "Name of the edge", "text", optional=True)
        yield Offer("Lead it off the plan", {"do": "make-edge", **here}, (name,))
    elif kind == "edge":
        yield Offer("End it at a buffer", {"do": "make-buffer", **here})
    elif kind == "joint" and _is_own_joint(spot):
        ends = choice("ends", "Both ends", ("buffer", "at buffers"), ("edge", "off the plan"))
        yield Offer("Part the joint", {"do": "part-joint", **here}, (ends,))


def _is_own_joint(spot: Spot) -> bool:
    """Return whether a joint joins two tracks of the plan's own."""
    track = spot.layout.tracks[spot.key]
    end = track.up if spot.part == "up" else track.down
    text = end.text
    met = [
        each.id for each in spot.layout.tracks.values() if text in (each.up.text, each.down.text)
    ]
    return not any("/" in each for each in met) and not is_joined(end)


@offering("tracks", 20, part=True)
def offer_joining(spot: Spot) -> Iterator[Offer]:
    """Offer to join a free end with another one."""
    if _end_of(spot) not in ("buffer", "edge"):
        return
    senses = Ways(spot.layout).senses(spot.key)
    free = [
        (each.id, side)
        for each in spot.layout.tracks.values()
        for side, end in (("down", each.down), ("up", each.up))
        if end.kind in ("buffer", "edge") and "/" not in each.id
    ]
    others = [each for each in free if each != (spot.key, spot.part)]
    others.sort(key=lambda each: (each[0] in senses, each[1] == spot.part))
    for key, side in others[:MOST_JOINS]:
        called = spot.layout.tracks[key].name or key
        step: dict[str, object] = {"do": "join-ends", "track": spot.key, "end": spot.part}
        yield Offer(f"Join to the {side} end of {called}", {**step, "to": key, "to_end": side})


MOST_JOINS = 6
"""The most free ends that are offered to join with one."""


@offering("tracks", 70)
def offer_joint(spot: Spot) -> Iterator[Offer]:
    """Offer a joint in a track."""
    asks = where_asks(spot.layout, spot.key)
    yield Offer("Put in a joint", {"do": "put-in-joint", "track": spot.key}, asks)
