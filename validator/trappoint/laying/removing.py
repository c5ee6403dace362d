"""Verbs: taking out track, and closing up."""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.laying.closing import close_up, ends_at, set_end
from trappoint.laying.draft import Draft
from trappoint.laying.ending import hold_no_join, is_joined, went
from trappoint.laying.forking import opposite, sentence
from trappoint.laying.leg_curves import rename_curves
from trappoint.laying.measures import POINTS, TRACK, Thing, Word
from trappoint.laying.mending import replace, take_out
from trappoint.laying.offering import Offer, offering
from trappoint.laying.refusing import Refused
from trappoint.laying.verb import verb
from trappoint.model.building import parse_end

if TYPE_CHECKING:
    from collections.abc import Iterator

    from trappoint.laying.offering import Spot

ROADS = (("a1", "a2"), ("b1", "b2"))
"""The legs of the two roads of a crossing."""


@verb(
    "take-out-track",
    "Takes out a track with the points and crossings at its ends, and closes up.",
    track=TRACK,
)
def take_out_track(draft: Draft, track: str) -> str:
    """Take out a track: a siding, a loop, a crossover, a road of a turntable."""
    thing = draft.thing("tracks", track)
    ends = {end: str(thing[end]) for end in ("up", "down")}
    for text in ends.values():
        hold_no_join(draft, text)
    elements = _elements(draft, ends)
    beyond = _trapped(draft, ends)
    called = draft.called("tracks", track)
    arms = _drop_arms(draft, track)
    gone = [*arms, *take_out(draft, ("tracks", track))]
    said = [f"Track {called} is taken out."]
    for text in dict.fromkeys(ends.values()):
        if text.startswith("joint:"):
            for end in ends_at(draft, text):
                set_end(draft, end, "buffer")
        elif text.startswith("edge:") and not ends_at(draft, text):
            gone += replace(draft, {("edges", text.removeprefix("edge:")): ()})
    for (kind, key), legs in elements.items():
        if key in draft.things(kind):
            more, words = _without_legs(draft, kind, key, legs)
            gone += more
            said.append(words)
    for each in beyond:
        if each in draft.things("tracks"):
            said.append(take_out_track.act(draft, each))
    return sentence(*said, went(tuple(gone)))


def _trapped(draft: Draft, ends: dict[str, str]) -> list[str]:
    """Return the drag and the lead of a track with trap points at its exit, which go with it."""
    found = []
    for text in ends.values():
        points, _, leg = text.partition(".")
        if leg == "toe" and draft.things("points").get(points, {}).get("trap"):
            legs = (f"{points}.{hand}" for hand in ("left", "right"))
            met = [end for each in legs for end in ends_at(draft, each)]
            found += [key for key, end in met if _is_of_trap(draft, key, opposite(end))]
    return found


def _is_of_trap(draft: Draft, track: str, far: str) -> bool:
    """Return whether a track at trap points is a drag, or leads straight to other points."""
    thing = draft.thing("tracks", track)
    drag = thing[far] == "buffer" and thing.get("stand") is False
    return drag or thing[far].endswith((".left", ".right"))


def _elements(draft: Draft, ends: dict[str, str]) -> dict[tuple[str, str], list[str]]:
    """Return the elements at the ends of a track, with the legs that it meets."""
    layout = draft.layout()
    found: dict[tuple[str, str], list[str]] = {}
    for text in ends.values():
        end = parse_end(text)
        element = layout.element(end)
        if element is not None:
            found.setdefault((element[0], end.name), []).append(end.leg)
    return found


def _drop_arms(draft: Draft, track: str) -> list[str]:
    """Take out the arms of other signals that lead to a track alone; return them, in words."""
    gone = []
    platforms = draft.things("platforms").items()
    names = {track, *(key for key, platform in platforms if platform["tracks"] == [track])}
    for signal in list(draft.things("signals").values()):
        for arm in list(signal["arms"]):
            to = arm.get("to", [])
            led = {to} if isinstance(to, str) else set(to)
            if led and led <= names and len(signal["arms"]) > 1:
                gone.append(f"arm {arm['id']}")
                take_out(draft, ("arms", arm["id"]))
    return gone


def _without_legs(
    draft: Draft, kind: str, key: str, legs: list[str]
) -> tuple[tuple[str, ...], str]:
    """Mend an element some of whose legs no track meets; return what went, and a sentence."""
    if kind == "turntables":
        roads = draft.thing(kind, key)["roads"]
        roads[:] = [road for road in roads if road not in legs]
        draft.touch(kind, key)
        return (
            (take_out(draft, (kind, key)), f"Turntable {key} is taken out.")
            if not roads
            else ((), "")
        )
    if kind == "points":
        left = [leg for leg in ("toe", "left", "middle", "right") if ends_at(draft, f"{key}.{leg}")]
        if len(left) == 3 and "toe" in left:
            return (), _make_turnout(draft, key, left[1:])
        pairs = [left] if len(left) == 2 and "toe" in left else [[leg] for leg in left]
    else:
        pairs = [[leg for leg in road if ends_at(draft, f"{key}.{leg}")] for road in ROADS]
    return _close(draft, kind, key, pairs)


def _close(
    draft: Draft, kind: str, key: str, pairs: list[list[str]]
) -> tuple[tuple[str, ...], str]:
    """Take out an element: join the legs that are paired, and end the others at buffers."""
    met = [[ends_at(draft, f"{key}.{leg}")[0] for leg in pair] for pair in pairs]
    for end in (end for pair in met for end in pair):
        set_end(draft, end, "buffer")
    gone = take_out(draft, (kind, key))
    said = []
    merged: dict[str, str] = {}
    for pair in met:
        if len(pair) == 2:
            one, other = ((merged.get(track, track), end) for track, end in pair)
            words, more = close_up(draft, one, other)
            said.append(words)
            merged |= more
    return gone, sentence(*said)


def _make_turnout(draft: Draft, key: str, legs: list[str]) -> str:
    """Make three-way points with two legs left a turnout."""
    points = draft.thing("points", key)
    renamed = dict(zip(legs, ("left", "right"), strict=True))
    met = {hand: ends_at(draft, f"{key}.{leg}") for leg, hand in renamed.items()}
    for hand, ends in met.items():
        for end in ends:
            set_end(draft, end, f"{key}.{hand}")
    points.pop("kind", None)
    rename_curves(draft, key, renamed)
    was = points["normal"]
    points["normal"] = renamed.get(was, "left")
    scenes = (scene.get("points", {}) for scene in draft.things("scenes").values())
    beliefs = (arm.get("expects", {}) for arm in draft.arms().values())
    for lies in (*scenes, *beliefs):
        word = lies.get(key)
        if word in renamed:
            lies[key] = renamed[word]
        elif word is not None and word != "normal":
            del lies[key]
    for thing in (*draft.things("scenes").values(), *draft.arms().values()):
        for name in ("points", "expects"):
            if thing.get(name) == {}:
                del thing[name]
    draft.touch("points", key)
    return f"Points {key} have two legs now."


@verb(
    "take-out-points",
    "Takes out points with what one leg leads to, and closes up.",
    points=POINTS,
    leg=Word(("left", "middle", "right")),
)
def take_out_points(draft: Draft, points: str, leg: str | None = None) -> str:
    """Take out points. A track at the leg that leads on stays, and ends at a buffer there."""
    thing = draft.thing("points", points)
    leg = leg or ("left" if thing["normal"] == "right" else "right")
    found = ends_at(draft, f"{points}.{leg}")
    if not found:
        raise Refused(f"{points} have no leg {leg}.", "Write another leg.")
    track, end = found[0]
    beyond = draft.thing("tracks", track)[opposite(end)]
    if beyond == "buffer" or beyond.startswith("edge:"):
        return take_out_track.act(draft, track)
    set_end(draft, found[0], "buffer")
    gone, said = _without_legs(draft, "points", points, [leg])
    first = f"Track {draft.called('tracks', track)} ends at a buffer where points {points} were."
    return sentence(first, said, went(gone))


@verb(
    "take-out-crossing",
    "Takes out a diamond or a slip; both its roads stay, and do not meet.",
    crossing=Thing(("crossings",)),
)
def take_out_crossing(draft: Draft, crossing: str) -> str:
    """Take out a crossing, as if one road went over the other on a bridge."""
    gone, said = _close(draft, "crossings", crossing, [list(road) for road in ROADS])
    return sentence(f"Crossing {crossing} is taken out.", said, went(gone))


@verb(
    "take-out-turntable",
    "Takes out a turntable; its roads end at buffers.",
    turntable=Thing(("turntables",)),
)
def take_out_turntable(draft: Draft, turntable: str) -> str:
    """Take out a turntable."""
    roads = draft.thing("turntables", turntable)["roads"]
    gone, _ = _close(draft, "turntables", turntable, [[road] for road in roads])
    return sentence(f"Turntable {turntable} is taken out: its roads end at buffers.", went(gone))


# --- offers


@offering("tracks", 99)
def offer_track_out(spot: Spot) -> Iterator[Offer]:
    """Offer to take out a track."""
    track = spot.layout.tracks[spot.key]
    if is_joined(track.up) or is_joined(track.down):
        return
    step: dict[str, object] = {"do": "take-out-track", "track": spot.key}
    yield Offer("Take the track out, and close up", step)


@offering("points", 90)
def offer_points_out(spot: Spot) -> Iterator[Offer]:
    """Offer to take out points, with each of their legs."""
    for leg in spot.layout.points[spot.key].lies:
        label = f"Take the points out, with the {leg} leg"
        yield Offer(label, {"do": "take-out-points", "points": spot.key, "leg": leg})


@offering("crossings", 90)
def offer_crossing_out(spot: Spot) -> Iterator[Offer]:
    """Offer to take out a crossing."""
    yield Offer("Take the crossing out", {"do": "take-out-crossing", "crossing": spot.key})


@offering("turntables", 90)
def offer_turntable_out(spot: Spot) -> Iterator[Offer]:
    """Offer to take out a turntable."""
    yield Offer("Take the turntable out", {"do": "take-out-turntable", "turntable": spot.key})


@offering("points", 10, part=True)
def offer_leg_out(spot: Spot) -> Iterator[Offer]:
    """Offer to take out points with one leg."""
    if spot.part != "toe":
        step: dict[str, object] = {"do": "take-out-points", "points": spot.key, "leg": spot.part}
        yield Offer("Take the points out, with this leg", step)


@offering("turntables", 10, part=True)
def offer_road_out(spot: Spot) -> Iterator[Offer]:
    """Offer to take out a road of a turntable."""
    text = f"{spot.key}.{spot.part}"
    for track in spot.layout.tracks.values():
        if text in (track.up.text, track.down.text) and not any(
            map(is_joined, (track.up, track.down))
        ):
            yield Offer("Take this road out", {"do": "take-out-track", "track": track.id})
