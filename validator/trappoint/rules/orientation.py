"""Rules on which end is up, and on reversing loops."""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.core.findings import pointer_to
from trappoint.core.quoting import listed
from trappoint.rules.route_phrases import some_names
from trappoint.rules.rule import Rule

if TYPE_CHECKING:
    from collections.abc import Iterator

    from trappoint.core.findings import Finding
    from trappoint.facts.facts import Facts

MANY = 12
"""Longer lists of tracks are cut in a sentence."""

UP_MEETS_UP = Rule(
    id="up-meets-up",
    level="warning",
    stage="facts",
    summary="a track laid down with its ends the wrong way round",
    why=(
        "Down should mean one way along the whole line; where it changes, signals `for` down "
        "trains speak to trains that run up a moment later."
    ),
    source="parity test: signed graphs, F. Harary 1953 (from memory); up and down are the trade's",
    fails={
        "tracks": {"siding": {"up": "buffer", "down": "p3.left"}},
        "signals": {"6": {"for": "down"}},
    },
    passes={},
)


@UP_MEETS_UP.checked_by
def _up_meets_up(facts: Facts) -> Iterator[Finding]:
    parity = facts.parity
    found = zip(parity.to_turn, parity.turned_at, parity.turned_beside, strict=True)
    for turned, at, beside in found:
        where = listed(at[:MANY], "and") + (" and more" if len(at) > MANY else "")
        boards = _boards_of(facts, turned)
        if boards:
            yield _boards_meet_wrongly(facts, boards, where, turned)
            continue
        names = listed(turned[:MANY], "and") + (" and more" if len(turned) > MANY else "")
        yield UP_MEETS_UP.finding(
            pointer_to("tracks", turned[0]),
            f"{turned[0]} meets its neighbours with the wrong end: up meets up or down meets down "
            f"at {where}.",
            f"Turn round {names}: exchange up and down, and with them `for`, `running` and at_mm "
            "there.",
            path=(*turned, *some_names((*at[:MANY], *beside))),
            at_key=True,
        )


def _boards_of(facts: Facts, turned: tuple[str, ...]) -> list[str]:
    """Return the boards that some tracks are all the tracks of; nothing where they are not."""
    found: list[str] = []
    left = set(turned)
    for part in facts.assembly.parts if facts.assembly is not None else ():
        own = {track for track in facts.layout.tracks if track.startswith(f"{part.name}/")}
        if own and own <= left:
            found.append(part.name)
            left -= own
    return [] if left else found


def _boards_meet_wrongly(
    facts: Facts, boards: list[str], where: str, turned: tuple[str, ...]
) -> Finding:
    stand = "Board {} stands" if len(boards) == 1 else "Boards {} stand"
    return UP_MEETS_UP.finding(
        pointer_to("boards", boards[0]),
        f"{stand.format(listed(boards, 'and'))} the wrong way round: up meets up or down meets "
        f"down at {where}.",
        f"Turn {'it' if len(boards) == 1 else 'them'} round: `reversed`, true where it is not and "
        "left out where it is.",
        path=(*boards, *some_names(turned)),
        at_key=True,
    )


REVERSING_LOOP = Rule(
    id="reversing-loop",
    level="note",
    stage="facts",
    summary="a way round on which a train comes back turned",
    why=(
        "With two-rail supply the right-hand rail meets the left-hand one there: a short circuit, "
        "unless a section is isolated and fed through a reversing switch."
    ),
    source=(
        "customary wiring of reversing loops in two-rail layouts; the parity test finds them (F. "
        "Harary 1953, from memory)"
    ),
    fails={
        "tracks": {
            "siding": {"up": "p3.left", "down": "p4.toe", "stand": False},
            "round": {"up": "p4.left", "down": "p4.right", "length_mm": 2400},
        },
        "points": {"p4": {"normal": "left"}},
    },
    passes={},
)


@REVERSING_LOOP.checked_by
def _reversing_loops(facts: Facts) -> Iterator[Finding]:
    parity = facts.parity
    for loop, section in zip(parity.loops, parity.sections, strict=True):
        way = listed(loop[:MANY], "and") + (" and more" if len(loop) > MANY else "")
        yield REVERSING_LOOP.finding(
            pointer_to("tracks", section),
            f"A train that runs round over {way} comes back turned: a reversing loop.",
            f"With two-rail supply, isolate {section}: gaps in both rails at both its ends, longer "
            "apart than the longest train, fed through a reversing switch. With a third rail, "
            "overhead wire or clockwork nothing need be done. Extra-low voltage only: mains "
            "electricity is for a licensed electrician.",
            path=loop,
            at_key=True,
        )
