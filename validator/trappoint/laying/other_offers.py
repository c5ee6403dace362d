"""Offers for platforms, yards, levers, scenes, edges, boards, names and ids."""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.core.kinds import NAMED_BY_KEY, ONE_OF
from trappoint.laying.dressing import lacks_arms, own_layout
from trappoint.laying.levers import MOST_LEVERS, pulls
from trappoint.laying.offering import NO_NAME, Ask, Offer, choice, of_length, offering
from trappoint.model.layout import cut_at

if TYPE_CHECKING:
    from collections.abc import Iterator

    from trappoint.laying.offering import Offering, Spot
    from trappoint.model.layout import Layout

# --- the plan


@offering("plan", 40)
def at_plan(spot: Spot) -> Iterator[Offer]:
    """Offer what belongs to the plan as a whole."""
    layout = spot.layout
    if any(lacks_arms(layout)):
        yield Offer("Give every signal an arm for each of its roads", {"do": "arm-signals"})
    if 0 < len(pulls(own_layout(layout), "down")) <= MOST_LEVERS:
        first = choice(
            "first", "First the signals for", ("down", "down trains"), ("up", "up trains")
        )
        again = " again" if layout.levers else ""
        yield Offer(f"Number the levers of the frame{again}", {"do": "number-levers"}, (first,))
        yield Offer("Put in a spare lever", {"do": "put-lever"})
    if layout.tracks:
        yield Offer("Set a scene", {"do": "set-scene"}, (NO_NAME,))
        yield Offer("Add a train", {"do": "add-train"}, (NO_NAME, of_length()))
    if layout.trains:
        yield Offer("Plan a running session", {"do": "plan-session"}, (NO_NAME,))
    yield Offer(
        "Write a note on the plan",
        {"do": "note", "at": "plan"},
        (Ask("note", "Note", "text", "To be signalled."),),
    )
    yield Offer(
        "Add another plan as a board",
        {"do": "add-board"},
        (Ask("plan", "Its file", "text", "board.layout.json"),),
    )
    yield from _joining_boards(layout)


def _joining_boards(layout: Layout) -> Iterator[Offer]:
    """Offer to join two free edges, if a board has one: first an up end to a down end."""
    free = {
        (_board_edge(end.name), side)
        for track in layout.tracks.values()
        for side, end in (("up", track.up), ("down", track.down))
        if end.kind == "edge"
    }
    ups, downs = (
        sorted(text for text, side in free if side == wanted) for wanted in ("up", "down")
    )
    pairs = [(a, b) for a in downs for b in ups if a.partition(":")[0] != b.partition(":")[0]]
    if pairs:
        a, b = pairs[0]
        every = sorted({text for text, _ in free})[:MOST_EDGES]
        one, other = (
            choice(key, label, *((each, each) for each in dict.fromkeys((first, *every))))
            for key, label, first in (("a", "One edge", a), ("b", "The other edge", b))
        )
        yield Offer("Join two edges of boards", {"do": "join-boards"}, (one, other))


def _board_edge(name: str) -> str:
    """Return BOARD:EDGE for an edge of an assembled plan."""
    board, slash, edge = name.partition("/")
    return f"{board}:{edge}" if slash else f":{name}"


MOST_EDGES = 60
"""The most free edges that are offered to join."""


# --- platforms, yards


@offering("tracks", 40)
def beside_track(spot: Spot) -> Iterator[Offer]:
    """Offer a platform and a yard at a track."""
    layout, key = spot.layout, spot.key
    one: dict[str, object] = {"do": "build-platform", "tracks": [key]}
    yield Offer("Build a platform beside it", one, (NO_NAME, of_length()))
    for platform in layout.platforms.values():
        if key not in platform.tracks and not any("/" in each for each in platform.tracks):
            wider: dict[str, object] = {"do": "change-platform", "platform": platform.id}
            name = platform.name or f"platform {platform.id}"
            tracks = [*platform.tracks, key]
            yield Offer(f"Let {_short(name)} serve it too", {**wider, "tracks": tracks})
    yield from _in_yards(layout, key)


def _in_yards(layout: Layout, key: str) -> Iterator[Offer]:
    own: dict[str, object] = {"tracks": key}
    for yard in layout.yards.values():
        if key in yard.tracks:
            if len((*yard.tracks, *yard.points, *yard.crossings, *yard.turntables)) > 1:
                step = {"do": "take-from-yard", "yard": yard.id, **own}
                yield Offer(f"Take it out of {_short(yard.name or yard.id)}", step)
            return
    if _signalled(layout, key):
        return
    for yard in layout.yards.values():
        step = {"do": "put-in-yard", "yard": yard.id, **own}
        yield Offer(f"Put it in {_short(yard.name or yard.id)}", step)
    yield Offer("Make it a yard, under hand signals", {"do": "make-yard", **own}, (NO_NAME,))


def _short(name: str) -> str:
    """Return a name that is short enough for a label."""
    return name if len(name) <= _SHORT else f"{name[: _SHORT - 3]}..."


_SHORT = 24


def _signalled(layout: Layout, key: str) -> bool:
    """Return whether a signal stands along a track, not right at its end."""
    track = layout.tracks[key]
    heads = (head for signal in layout.signals.values() for head in signal.heads)
    return any(head.track == key and cut_at(head, track) >= 0 for head in heads)


@offering("platforms", 10)
def at_platform(spot: Spot) -> Iterator[Offer]:
    """Offer a length, another track, and taking out."""
    layout, platform = spot.layout, spot.layout.platforms[spot.key]
    step: dict[str, object] = {"do": "change-platform", "platform": platform.id}
    length = Ask("length_mm", "Length", "number", platform.length_mm or 1000, unit="mm")
    yield Offer("Change its length", step, (length,))
    if not any("/" in track for track in platform.tracks):
        for track in platform.tracks if len(platform.tracks) > 1 else ():
            left = [each for each in platform.tracks if each != track]
            yield Offer(
                f"It no longer serves {_short(_name(layout, track))}", {**step, "tracks": left}
            )


def _name(layout: Layout, track: str) -> str:
    return layout.tracks[track].name or track if track in layout.tracks else track


@offering("yards", 10)
def at_yard(spot: Spot) -> Iterator[Offer]:
    """Offer the tracks and points that its own tracks meet, and taking out."""
    layout, yard = spot.layout, spot.layout.yards[spot.key]
    yarded = {each for other in layout.yards.values() for each in (*other.tracks, *other.points)}
    tracks = [layout.tracks[key] for key in yard.tracks if key in layout.tracks]
    ends = [end for track in tracks for end in (track.up, track.down)]
    met = dict.fromkeys(end.name for end in ends if end.kind == "leg")
    step: dict[str, object] = {"do": "put-in-yard", "yard": yard.id}
    for key in met:
        if key in layout.points and key not in yarded:
            yield Offer(
                f"Put points {layout.points[key].name or key} in it", {**step, "points": key}
            )
    joined = {end.name for end in ends if end.kind == "joint"} | set(yard.points)
    for track in layout.tracks.values():
        names = {end.name for end in (track.up, track.down) if end.kind in ("leg", "joint")}
        if track.id not in yarded and names & joined and not _signalled(layout, track.id):
            yield Offer(f"Put {_short(track.name or track.id)} in it", {**step, "tracks": track.id})


# --- points that work together


@offering("points", 60)
def at_points(spot: Spot) -> Iterator[Offer]:
    """Offer to work points with others, or on their own."""
    yield from _together(spot)


@offering("crossings", 60)
def at_slip(spot: Spot) -> Iterator[Offer]:
    """Offer to work a slip with points, or on its own."""
    if spot.layout.switch(spot.key) is not None:
        yield from _together(spot)


def _together(spot: Spot) -> Iterator[Offer]:
    layout, key = spot.layout, spot.key
    with_it = {each for group in layout.worked_together if key in group for each in group}
    if with_it:
        yield Offer("Work it on its own lever again", {"do": "work-apart", "points": key})
    slips = [each for each, crossing in layout.crossings.items() if crossing.lies]
    names = [each for each in (*layout.points, *slips) if _two_way(layout, each)]
    others = [(each, each) for each in names if each != key and each not in with_it]
    if not others or not _two_way(layout, key):
        return
    yield Offer(
        "Work it together with others",
        {"do": "work-together", "points": key},
        (choice("with", "Together with", *others),),
    )


def _two_way(layout: Layout, key: str) -> bool:
    return key not in layout.points or layout.points[key].kind == "turnout"


# --- levers, scenes, boards, edges


@offering("levers", 10)
def at_lever(spot: Spot) -> Iterator[Offer]:
    """Offer another number, a text for the plate, and taking out."""
    levers, key = spot.layout.levers, spot.key
    if "/" in key:
        return
    free = next(number for number in range(1, MOST_LEVERS + 2) if str(number) not in levers)
    if free <= MOST_LEVERS:
        ask = Ask("to", "Number", "number", free)
        yield Offer("Give it another number", {"do": "move-lever", "lever": key}, (ask,))
    plate = Ask("name", "Text on its plate", "text", levers[key].name or f"Lever {key}")
    yield Offer("Change its plate", {"do": "change-lever", "lever": key}, (plate,))
    step: dict[str, object] = {"do": "take-out-lever", "lever": key}
    yield Offer("Take the lever out", step)
    if str(int(key) + 1) in levers:
        yield Offer("Take the lever out, and close up", {**step, "close_up": True})


@offering("trains", 10)
def at_train(spot: Spot) -> Iterator[Offer]:
    """Offer another length of a train, and to take it out."""
    train = spot.layout.trains[spot.key]
    step: dict[str, object] = {"do": "change-train", "train": spot.key}
    length = Ask("length_mm", "Length", "number", train.length_mm or 1000, unit="mm")
    yield Offer("Change its length", step, (length,))


@offering("sessions", 10)
def at_session(spot: Spot) -> Iterator[Offer]:
    """Offer a movement more, and to take a session out."""
    layout = spot.layout
    stands = [(track.id, track.name or track.id) for track in layout.tracks.values() if track.stand]
    trains = [(train.id, train.name or train.id) for train in layout.trains.values()]
    ends = [end for track in layout.tracks.values() for end in (track.up, track.down)]
    edges = [(end.text, end.name) for end in ends if end.kind == "edge"]
    if stands and trains:
        leaves = [(key, f"off the plan, at edge {name}") for key, name in edges]
        asks = [choice("train", "Train", *trains), choice("to", "It runs to", *stands, *leaves)]
        if edges:
            comes = tuple((key, f"edge {name}") for key, name in edges)
            asks.append(Ask("from", "From", "choice", None, comes, optional=True))
        yield Offer("Add a movement", {"do": "add-movement", "session": spot.key}, tuple(asks))


@offering("boards", 10)
def at_board(spot: Spot) -> Iterator[Offer]:
    """Offer to turn a board round, and to take it out."""
    yield Offer("Turn the board round", {"do": "turn-board", "board": spot.key})


@offering("tracks", 50, part=True)
def at_edge(spot: Spot) -> Iterator[Offer]:
    """Offer what a plan says of an edge: its name, and a signal of the neighbour's."""
    track = spot.layout.tracks[spot.key]
    end = track.down if spot.part == "down" else track.up
    if end.kind != "edge":
        return
    edge = next((each for each in spot.layout.edges if each.name == end.name), None)
    step: dict[str, object] = {"do": "describe-edge", "edge": end.name}
    if edge is None or not edge.held:
        yield Offer("The neighbour holds trains there", {**step, "held": True})
    else:
        yield Offer("The neighbour does not hold trains there", {**step, "held": None})
    ids: dict[str, object] = {"do": "rename", "at": f"edges/{end.name}"}
    yield Offer("Give the edge another name", ids, (_new_id(spot.layout, end.name),))


# --- names, ids and taking out


def _taking_out(kind: str, label: str) -> Offering:
    """Return the function that offers to take out a kind of thing, after all else."""
    one = ONE_OF[kind]

    def make(spot: Spot) -> Iterator[Offer]:
        yield Offer(label, {"do": f"take-out-{one}", one: spot.key})

    return offering(kind, 95)(make)


_TAKEN_OUT = {
    "platforms": "Take the platform out",
    "signals": "Take the signal out",
    "yards": "Take the yard out, so that signals work it",
    "scenes": "Take the scene out",
    "trains": "Take the train out",
    "sessions": "Take the session out",
    "boards": "Take the board out",
}


def naming(kind: str) -> Offering:
    """Return the function that offers a name, an id and a note for a kind of thing."""

    def make(spot: Spot) -> Iterator[Offer]:
        at = f"{kind}/{spot.key}"
        name = _named(spot)
        one = ONE_OF[kind]
        if kind != "levers":
            ask = Ask("name", "Name", "text", (name or f"{one.capitalize()} {spot.key}")[:60])
            label = "Change its name" if name else "Give it a name"
            yield Offer(label, {"do": "name", "at": at}, (ask,))
            yield Offer(
                "Give it another id", {"do": "rename", "at": at}, (_new_id(spot.layout, spot.key),)
            )

    return offering(kind, 80)(make)


def _named(spot: Spot) -> str:
    if spot.kind == "arms":
        return next(arm.name for arm in spot.layout.arms() if arm.id == spot.key)
    if spot.kind == "boards":
        return ""
    name: str = getattr(spot.layout, spot.kind)[spot.key].name
    return name


def _new_id(layout: Layout, key: str) -> Ask:
    used = {arm.id for arm in layout.arms()} | {edge.name for edge in layout.edges}
    for kind in (*NAMED_BY_KEY,):
        used.update(getattr(layout, kind))
    ends = [end for track in layout.tracks.values() for end in (track.up, track.down)]
    used.update(end.name for end in ends)
    used.update(accepted.at for accepted in layout.accept)
    number = 2
    while f"{key[:36]}-{number}" in used:
        number += 1
    return Ask("to", "Id", "text", f"{key[:36]}-{number}")


OFFERINGS: tuple[Offering, ...] = (
    at_plan,
    beside_track,
    at_platform,
    at_yard,
    at_points,
    at_slip,
    at_lever,
    at_train,
    at_session,
    at_board,
    at_edge,
    *(_taking_out(kind, label) for kind, label in _TAKEN_OUT.items()),
    *(
        naming(kind)
        for kind in (
            "tracks",
            "points",
            "crossings",
            "turntables",
            "platforms",
            "signals",
            "arms",
            "yards",
            "scenes",
            "trains",
            "sessions",
            "boards",
        )
    ),
)
