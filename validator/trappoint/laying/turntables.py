"""Verbs: turntables, traversers and sector plates, and their roads."""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.laying.draft import Draft
from trappoint.laying.ending import free_end, meet_instead
from trappoint.laying.forking import lay_track, measured, named, opposite, sentence
from trappoint.laying.measures import END, LENGTH, NAME, TRACK, Fresh, Quantity, Thing, Word
from trappoint.laying.naming import fresh
from trappoint.laying.offering import NO_NAME, Ask, Offer, choice, of_length, offering
from trappoint.laying.refusing import Refused
from trappoint.laying.verb import verb
from trappoint.laying.yarding import join_yard
from trappoint.rules.size import MAX_ROADS

if TYPE_CHECKING:
    from collections.abc import Iterator

    from trappoint.laying.offering import Spot

KINDS = {"turntable": "turntable", "traverser": "traverser", "sector-plate": "sector plate"}


@verb(
    "put-in-turntable",
    "Puts a turntable or a traverser at a free end of a track, with roads that end at buffers.",
    track=TRACK,
    end=END,
    kind=Word(tuple(KINDS)),
    roads=Quantity(0, MAX_ROADS - 1, "the number of further roads", whole=True),
    name=NAME,
    turntable=Fresh("turntables"),
)
def put_in_turntable(
    draft: Draft,
    track: str,
    end: str,
    kind: str = "turntable",
    roads: float = 3,
    name: str | None = None,
    turntable: str | None = None,
) -> str:
    """Put in a turntable. The track meets its road 1; ``roads`` is the number of further roads."""
    free_end(draft, track, end)
    key = turntable or fresh(draft, "turntables", kind, name)
    words = {"kind": None if kind == "turntable" else kind, "name": named(name, key)}
    draft.add("turntables", key, {"roads": ["1"], **measured(words)})
    gone = meet_instead(draft, track, end, f"{key}.1")
    join_yard(draft, "turntables", key, ("tracks", track))
    for _ in range(int(roads)):
        _further(draft, key, end, track)
    count = int(roads) + 1
    roads_now = f"{count} road{'s' * (count != 1)}"
    return sentence(
        f"Track {draft.called('tracks', track)} leads to {key}, a {KINDS[kind]} with {roads_now}.",
        gone,
    )


@verb(
    "add-road",
    "Adds a road to a turntable, which ends at a buffer.",
    turntable=Thing(("turntables",)),
    name=NAME,
    road=Fresh("tracks"),
    length_mm=LENGTH,
)
def add_road(
    draft: Draft,
    turntable: str,
    name: str | None = None,
    road: str | None = None,
    length_mm: float | None = None,
) -> str:
    """Add a road with a track."""
    if len(draft.thing("turntables", turntable)["roads"]) >= MAX_ROADS:
        raise Refused(f"{turntable} has {MAX_ROADS} roads already.", "Take out a road first.")
    beside, end = _lines_at(draft, turntable)
    key = _further(draft, turntable, end, beside, road, name, length_mm)
    draft.touch("turntables", turntable)
    return f"Track {key} leads from {turntable} to a buffer."


def _lines_at(draft: Draft, turntable: str) -> tuple[str, str]:
    """Return a track that leads to a turntable, and its end there: best one from elsewhere."""
    found = [
        (key, end)
        for key, track in draft.things("tracks").items()
        for end in ("up", "down")
        if track[end].startswith(f"{turntable}.")
    ]
    tracks = draft.things("tracks")
    lead = [(key, end) for key, end in found if tracks[key][opposite(end)] != "buffer"]
    return (lead or found)[0]


def _further(
    draft: Draft,
    turntable: str,
    end: str,
    beside: str,
    key: str | None = None,
    name: str | None = None,
    length_mm: float | None = None,
) -> str:
    roads = draft.thing("turntables", turntable)["roads"]
    number = next(str(n) for n in range(1, len(roads) + 2) if str(n) not in roads)
    roads.append(number)
    key = key or fresh(draft, "tracks", f"{turntable}-road-{number}"[:40], name)
    last = [each for each, track in draft.things("tracks").items() if _meets(track, turntable)][-1]
    lay_track(
        draft,
        key,
        f"{turntable}.{number}",
        "buffer",
        end,
        last,
        length_mm=length_mm,
        name=named(name, key),
    )
    for yard in draft.things("yards").values():
        if turntable in yard.get("turntables", ()):
            yard.setdefault("tracks", []).append(key)
    return key


def _meets(track: dict[str, str], turntable: str) -> bool:
    return any(track[end].startswith(f"{turntable}.") for end in ("up", "down"))


@offering("tracks", 30, part=True)
def offer_turntable(spot: Spot) -> Iterator[Offer]:
    """Offer a turntable at a free end."""
    track = spot.layout.tracks[spot.key]
    if (track.up if spot.part == "up" else track.down).kind in ("buffer", "edge"):
        yield Offer(
            "Put in a turntable",
            {"do": "put-in-turntable", "track": spot.key, "end": spot.part},
            (
                choice("kind", "Kind", *KINDS.items()),
                Ask("roads", "Further roads", "number", 3),
                NO_NAME,
            ),
        )


@offering("turntables", 10)
def offer_road(spot: Spot) -> Iterator[Offer]:
    """Offer a further road."""
    if len(spot.layout.turntables[spot.key].roads) < MAX_ROADS:
        step: dict[str, object] = {"do": "add-road", "turntable": spot.key}
        yield Offer("Add a road", step, (NO_NAME, of_length()))
