"""Rules on the up and down ends of tracks, and on reversing loops."""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.core.findings import CAUTION_ELECTRICAL, pointer_to
from trappoint.core.quoting import listed
from trappoint.rules.route_phrases import some_names
from trappoint.rules.rule import Rule

if TYPE_CHECKING:
    from collections.abc import Iterator

    from trappoint.core.findings import Finding
    from trappoint.facts.facts import Facts

MANY = 12
"""The most tracks or elements that a sentence lists."""

_PARITY = (
    'F. Harary, "On the notion of balance of a signed graph", Michigan Mathematical Journal 2, 1953'
)

UP_MEETS_UP = Rule(
    id="up-meets-up",
    level="warning",
    stage="facts",
    summary="a track whose up end meets another up end, or whose down end meets another down end",
    why=(
        "Down should be the same way along the whole line; otherwise a train that runs down on one "
        "track runs up on the next."
    ),
    source=f"the test for balance: {_PARITY}; up and down: common practice, no source",
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
        others = len(turned) - 1
        first = facts.names.called("tracks", turned[0])
        subject = f"{first} lies" if not others else f"{first} and {others:,} more lie"
        yield UP_MEETS_UP.finding(
            pointer_to("tracks", turned[0]),
            f"{subject} the wrong way round: at {where}, up meets up or down meets down.",
            f"Turn round {names}: exchange up and down, and with them the `for`, `running` and "
            "at_mm of that track."
            if not others
            else f"Turn round {names}: exchange up and down, and with them the `for`, `running` "
            "and at_mm of these tracks.",
            path=(*turned, *some_names((*at[:MANY], *beside))),
            at_key=True,
        )


def _boards_of(facts: Facts, turned: tuple[str, ...]) -> list[str]:
    """Return the boards whose tracks these are, empty if they are not all tracks of boards."""
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
    stand = "Board {} is" if len(boards) == 1 else "Boards {} are"
    return UP_MEETS_UP.finding(
        pointer_to("boards", boards[0]),
        f"{stand.format(listed(boards, 'and'))} the wrong way round: at {where}, up meets up or "
        "down meets down.",
        f'Turn {"it" if len(boards) == 1 else "them"} round: add "reversed": true, or take it out '
        "if it is there already.",
        path=(*boards, *some_names(turned)),
        at_key=True,
    )


REVERSING_LOOP = Rule(
    id="reversing-loop",
    level="note",
    stage="facts",
    summary="a way round on which a train comes back turned",
    why=(
        "With two-rail supply, the two rails meet each other there: a short circuit, unless a "
        "section is isolated and fed through a reversing switch."
    ),
    source=f"wiring: common practice, no source; the test that finds such loops: {_PARITY}",
    caution=CAUTION_ELECTRICAL,
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
            f"A train that runs round over {way} comes back turned: this is a reversing loop.",
            f"With two-rail supply, isolate {section}: cut gaps in both rails at both its ends, "
            "farther apart than the longest train, and feed it through a reversing switch "
            "(extra-low voltage only; leave mains electricity to a licensed electrician). Third "
            "rail, overhead wire and clockwork need nothing.",
            path=loop,
            at_key=True,
        )
