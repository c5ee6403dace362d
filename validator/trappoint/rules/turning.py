"""Rules on tracks where trains stand and turn back, as far as the verdict relies on them."""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.core.findings import pointer_to
from trappoint.core.quoting import listed
from trappoint.rules.rule import Rule
from trappoint.verdict.free_runs import NOTHING

if TYPE_CHECKING:
    from collections.abc import Iterator

    from trappoint.core.findings import Finding
    from trappoint.facts.facts import Facts

_LINE = (
    '{"format": "trappoint-layout/1", "tracks": {"west": {"up": "edge:w", "down": "joint:1"%s}, '
    '"east": {"up": "joint:1", "down": "edge:e", "stand": true}}, "signals": {%s}}'
)

UNPARTED = Rule(
    id="stands-not-parted",
    level="warning",
    stage="facts",
    summary="two stands with no signal between them",
    why="A joint alone divides nothing: tracks joined without a signal hold one train at a time.",
    source="the format: what a section is",
    fails=_LINE % (', "stand": true', ""),
    passes=_LINE
    % (
        ', "stand": true',
        '"1": {"track": "west", "for": "down", "arms": [{"id": "1"}]}, '
        '"2": {"track": "east", "for": "up", "arms": [{"id": "2"}]}',
    ),
)


@UNPARTED.checked_by
def _unparted(facts: Facts) -> Iterator[Finding]:
    layout = facts.network.layout
    for pieces in facts.network.pieces.values():
        tracks = list(dict.fromkeys(piece.track for piece in pieces))
        stands = [track for track in tracks if layout.tracks[track].stand_by == "said"]
        for track in stands[1:]:
            both = [facts.names.called("tracks", id_) for id_ in (stands[0], track)]
            yield UNPARTED.finding(
                pointer_to("tracks", track, "stand"),
                f"{both[0]} and {both[1]} are both stands, but with no signal between them they "
                "hold only one train.",
                f"Put a stop signal where {stands[0]} and {track} meet, or take "
                '"stand": true out of one of them.',
                path=(stands[0], track),
            )


MAX_STATES = 200
"""The most states followed for a train that turns back."""

TURNING_BACK = Rule(
    id="turning-back-unsafe",
    level="note",
    stage="facts",
    summary="tracks on which trains must not turn back",
    why="The verdict assumes that trains turn back only at stands.",
    source="the format: what the verdict takes for granted",
    fails={},
    passes=(
        '{"format": "trappoint-layout/1", "tracks": {"line": {"up": "edge:x", "down": "joint:1"}, '
        '"end": {"up": "joint:1", "down": "buffer"}}, '
        '"signals": {"1": {"track": "line", "for": "down", "arms": [{"id": "1"}]}, '
        '"2": {"track": "end", "for": "up", "arms": [{"id": "2"}]}}}'
    ),
    optional=True,
)


@TURNING_BACK.checked_by
def _turning_back(facts: Facts) -> Iterator[Finding]:
    if not facts.verdict.holds:
        return
    tracks = list(dict.fromkeys(_breaking(facts)))
    if tracks:
        yield TURNING_BACK.finding(
            "/tracks",
            f"Trains that turn back on {listed(tracks, 'or')} could meet other trains: no signal "
            "holds them there.",
            'Add "stand": true to each of these tracks on which trains turn back, and check again.',
            path=tracks,
            at_key=True,
        )


def _breaking(facts: Facts) -> Iterator[str]:
    """Yield each track, not a stand, from which a train could run freely into another train."""
    network, moves = facts.network, facts.free_moves
    entries = {network.place_of[entry.state] for entry in network.entries}
    for place in network.pieces:
        if place in network.stand_at or place in network.drags or not facts.routes.having[place]:
            continue
        for state in network.states_of[place]:
            reached = moves.run((state,), NOTHING, MAX_STATES)
            met = {network.place_of[other] for other in reached} - {place}
            if any(
                other in network.stand_at
                or other in entries
                or any(place not in facts.routes.all[n].places for n in facts.routes.having[other])
                for other in met
            ):
                yield network.last_piece(state)[0].track
                break


_TRAINS = ', "scenes": {"both": {"trains": {"west": true, "east": true}}}}'

SCENE_UNPARTED = Rule(
    id="scene-trains-not-parted",
    level="warning",
    stage="facts",
    summary="a scene with trains on two tracks and no signal between them",
    why="A joint alone divides nothing: tracks joined without a signal hold one train at a time.",
    source="the format: what a section is",
    fails=(_LINE % ("", ""))[:-1] + _TRAINS,
    passes=(
        _LINE
        % (
            "",
            '"1": {"track": "west", "for": "down", "arms": [{"id": "1"}]}, '
            '"2": {"track": "east", "for": "up", "arms": [{"id": "2"}]}',
        )
    )[:-1]
    + ', "scenes": {"one": {"off": ["1"], "trains": {"west": true}}}}',
)


@SCENE_UNPARTED.checked_by
def _scene_unparted(facts: Facts) -> Iterator[Finding]:
    for scene in facts.layout.scenes.values():
        first: dict[int, str] = {}
        for name in scene.trains:
            places = facts.parts.get(name, ())
            if len(places) != 1 or facts.network.places[places[0]].kind != "section":
                continue
            other = first.setdefault(places[0], name)
            if other != name:
                yield SCENE_UNPARTED.finding(
                    pointer_to("scenes", scene.id, "trains", name),
                    f"Trains stand on {facts.names.called('tracks', other)} and on "
                    f"{facts.names.called('tracks', name)}, but with no signal between them the "
                    "two hold only one train.",
                    f"Put one train elsewhere, or put a stop signal where {other} and {name} meet.",
                    path=(scene.id, other, name),
                )
