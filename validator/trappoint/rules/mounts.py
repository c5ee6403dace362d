"""Rules on how arms are mounted: the number of dolls, and the height of arms."""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.core.findings import pointer_to
from trappoint.core.quoting import listed
from trappoint.rules.route_phrases import at_start, of_signal, thing
from trappoint.rules.rule import BOARD_OF_TRADE, FINDLAY, Rule

if TYPE_CHECKING:
    from collections.abc import Iterator

    from trappoint.core.findings import Finding
    from trappoint.facts.facts import Facts

_MOUNTS = {"post": "a post", "ground": "the ground"}

MOUNT_TOO_SMALL = Rule(
    id="mount-too-small",
    level="warning",
    stage="facts",
    summary="a post with more than one doll",
    why="A post has one doll; arms side by side need a bracket or a gantry.",
    source=f"{BOARD_OF_TRADE}, rule 3: separate posts or brackets",
    fails={"signals": {"1": {"mount": "post"}}},
    passes={},
)


@MOUNT_TOO_SMALL.checked_by
def _too_few_dolls(facts: Facts) -> Iterator[Finding]:
    for signal in facts.layout.signals.values():
        dolls = len({arm.doll for arm in signal.arms})
        if dolls > 1 and signal.mount in ("post", "ground"):
            yield MOUNT_TOO_SMALL.finding(
                pointer_to("signals", signal.id, "mount"),
                f"{at_start(thing(facts, 'signals', signal.id))} is mounted on "
                f"{_MOUNTS[signal.mount]}, but has {dolls} dolls.",
                "Make it a bracket or a gantry, or put its arms one above another with `under` "
                "or `doll`.",
                path=(signal.id,),
            )


ON_ONE_DOLL = Rule(
    id="junction-arms-on-one-doll",
    level="note",
    stage="facts",
    summary="arms for different roads one above another",
    why="A driver reads arms side by side at a glance, but must count arms one above another.",
    source=(
        f"{FINDLAY}, p. 83: junction signals never one above another; {BOARD_OF_TRADE}, rule 3, "
        "still allows it (top arm for the line on the left)"
    ),
    fails={
        "signals": {
            "1": {
                "arms": [
                    {"id": "1L", "to": "loop-west", "doll": 1},
                    {"id": "1R", "to": "main", "doll": 1},
                ]
            }
        }
    },
    passes={},
)


@ON_ONE_DOLL.checked_by
def _on_one_doll(facts: Facts) -> Iterator[Finding]:
    assignment = facts.assignment
    dolls: dict[tuple[int, int], list[int]] = {}
    for number, arm in enumerate(assignment.arms):
        if arm.kind == "stop":
            dolls.setdefault((assignment.head_of[number], arm.doll), []).append(number)
    for numbers in dolls.values():
        roads = {route for number in numbers for route in assignment.routes_of[number]}
        if len(numbers) > 1 and len(roads) > 1:
            ids = [assignment.arms[number].id for number in numbers]

            arm = assignment.arms[numbers[0]]
            yield ON_ONE_DOLL.finding(
                pointer_to("signals", arm.signal, "arms", arm.position),
                f"Arms {listed(ids, 'and')}{of_signal(facts, arm.signal)}, for different roads, "
                "are one above another.",
                "Add a `doll` to each arm, so that each road has a doll of its own on a bracket.",
                path=ids,
            )


AGAINST_RANK = Rule(
    id="arm-height-against-rank",
    level="note",
    stage="facts",
    summary="an arm for the more important road that is lower than its neighbour",
    why="Drivers take the higher arm to be for the faster or more important road.",
    source="common practice, no source: in Britain, the higher arm is for the more important road",
    fails={
        "tracks": {"main": {"rank": 1}, "loop-west": {"rank": 2}},
        "signals": {
            "1": {
                "arms": [
                    {"id": "1L", "to": "loop-west", "height_mm": 90},
                    {"id": "1R", "to": "main", "height_mm": 70},
                ]
            }
        },
    },
    passes={
        "tracks": {"main": {"rank": 1}, "loop-west": {"rank": 2}},
        "signals": {
            "1": {
                "arms": [
                    {"id": "1L", "to": "loop-west", "height_mm": 70},
                    {"id": "1R", "to": "main", "height_mm": 90},
                ]
            }
        },
    },
)


@AGAINST_RANK.checked_by
def _heights(facts: Facts) -> Iterator[Finding]:
    assignment = facts.assignment
    of_head: dict[int, list[tuple[int, float, int]]] = {}
    for number, arm in enumerate(assignment.arms):
        ranks = [rank for route in assignment.routes_of[number] if (rank := rank_of(facts, route))]
        if arm.kind == "stop" and arm.height_mm is not None and ranks:
            head = assignment.head_of[number]
            of_head.setdefault(head, []).append((min(ranks), arm.height_mm, number))
    for entries in of_head.values():
        highest = max(entry[1] for entry in entries)
        for rank, height, number in entries:
            if height >= highest:
                continue  # No other arm is higher.
            for other_rank, other_height, other in entries:
                if rank < other_rank and height < other_height:
                    arm, higher = assignment.arms[number], assignment.arms[other]
                    yield AGAINST_RANK.finding(
                        pointer_to("signals", arm.signal, "arms", arm.position, "height_mm"),
                        f"Arm {arm.id}{of_signal(facts, arm.signal)} is for the more important "
                        f"road (rank {rank}), but is lower than {higher.id} (rank {other_rank}).",
                        f"Make {arm.id} at least as high as {higher.id}, or correct the ranks.",
                        path=(arm.id, higher.id),
                    )


def rank_of(facts: Facts, route: int) -> int | None:
    """Return the rank of the last track of a route that has a rank, None if none has."""
    for state in reversed(facts.routes.all[route].path):
        if facts.network.place(state).kind != "section":
            continue
        for track in reversed(facts.network.tracks_run(state)):
            rank = facts.layout.tracks[track].rank
            if rank is not None:
                return rank
    return None
