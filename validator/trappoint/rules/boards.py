"""Rules on plans that are put together from others: files, joins, scales, and what is turned."""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING, Any, NamedTuple

from trappoint.core.findings import pointer_to
from trappoint.core.quoting import visible
from trappoint.rules.rule import Assembled, Rule

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from trappoint.boards.collecting import AssemblyError, TroubleKind
    from trappoint.core.findings import Finding
    from trappoint.dimensions.scales import Standard
    from trappoint.facts.facts import Facts


def _troubles(facts: Facts, *kinds: TroubleKind) -> Iterator[AssemblyError]:
    found = facts.assembly.troubles if facts.assembly is not None else ()
    return (trouble for trouble in found if trouble.kind in kinds)


def _not_read(facts: Facts) -> Iterator[Finding]:
    for trouble in _troubles(facts, "not-read"):
        yield NOT_READ.finding(
            trouble.pointer,
            "This plan is put together from others, and there are no files here to read them from.",
            "Check it where its boards lie beside it: `trappoint check FILE`.",
            path=facts.layout.boards,
            at_key=True,
        )


def _not_found(facts: Facts) -> Iterator[Finding]:
    for trouble in _troubles(facts, "not-there"):
        yield NOT_FOUND.finding(
            trouble.pointer,
            trouble.told,
            "The path is seen from the folder of this file: put it right, or bring the file there.",
        )


def _out_of_reach(facts: Facts) -> Iterator[Finding]:
    for trouble in _troubles(facts, "out-of-reach"):
        yield OUT_OF_REACH.finding(
            trouble.pointer,
            "This path leads out of the repository (or, where there is none, out of the folder of "
            "the plan that is checked).",
            "Keep all boards of a plan in one repository, and name them from this file's folder.",
        )


def _no_plan(facts: Facts) -> Iterator[Finding]:
    for trouble in _troubles(facts, "no-plan"):
        (file,) = trouble.names
        yield NO_PLAN.finding(
            trouble.pointer,
            f"{visible(file)} can not be read as a plan: {trouble.told}",
            f"Put it right there first: `trappoint check {visible(file)}`.",
        )


def _in_a_circle(facts: Facts) -> Iterator[Finding]:
    for trouble in _troubles(facts, "in-a-circle"):
        way = [visible(file) for file in trouble.names]
        told = "; ".join(f"{one} is put together from {other}" for one, other in pairwise(way))
        yield IN_A_CIRCLE.finding(
            trouble.pointer,
            f"Here a plan comes to stand in itself: {told}.",
            "Take one of them out.",
        )


def _too_many(facts: Facts) -> Iterator[Finding]:
    for trouble in _troubles(facts, "too-many"):
        yield TOO_MANY.finding(
            trouble.pointer,
            "With this board there is more than can be put together.",
            "Leave out boards that do not stand here. A board that many others are made of counts "
            "as often as it stands in the plan.",
        )


def _no_such_edge(facts: Facts) -> Iterator[Finding]:
    for trouble in _troubles(facts, "no-such-board", "no-such-edge", "edge-of-several"):
        text, board = trouble.names[:2]
        fix = "Name an edge of one of the boards: BOARD:EDGE; or :EDGE for one of this plan."
        if trouble.kind == "no-such-board":
            message = f"{text}: there is no board {board}."
            if trouble.told:
                fix = f"There are {trouble.told}."
        else:
            edge = trouble.names[2]
            plan = f"the plan of board {board}" if board else "this plan"
            if trouble.kind == "edge-of-several":
                message = f"{text}: several track ends of {plan} are called edge:{edge}."
                fix = "Give each edge that is joined a name of its own."
            else:
                message = f"{text}: no track end of {plan} is edge:{edge}."
                if trouble.told:
                    fix = f"Edges of {plan} that are not joined yet: {trouble.told}."
        yield NO_SUCH_EDGE.finding(trouble.pointer, message, fix, path=(board,) if board else ())


def _joined_twice(facts: Facts) -> Iterator[Finding]:
    for trouble in _troubles(facts, "joined-twice"):
        text, joint = trouble.names
        yield JOINED_TWICE.finding(
            trouble.pointer,
            f"{text} is joined already: {' and '.join(joint.split('+'))} meet.",
            "Let each edge meet one other.",
        )


def _joined_to_itself(facts: Facts) -> Iterator[Finding]:
    for trouble in _troubles(facts, "joined-to-itself"):
        yield JOINED_TO_ITSELF.finding(
            trouble.pointer,
            f"{trouble.names[0]} is joined to itself.",
            "Name the edge that it meets.",
        )


def _without_length(facts: Facts) -> Iterator[Finding]:
    for trouble in _troubles(facts, "without-length"):
        board, track = trouble.names
        yield WITHOUT_LENGTH.finding(
            trouble.pointer,
            f"Board {board} is turned round, so that this is measured from the other end of "
            f"{track}; but how long {track} is, is not said.",
            f"Give {track} its length_mm.",
            path=(board, track),
        )


class _Measures(NamedTuple):
    """What a plan says of its scale."""

    scale: str
    standard: Standard | None
    gauge_mm: float | None

    def __str__(self) -> str:
        gauge = "" if self.gauge_mm is None else f"{self.gauge_mm:g} mm gauge"
        return ", ".join(filter(None, (self.scale, self.standard, gauge)))


def _two_scales(facts: Facts) -> Iterator[Finding]:
    if facts.assembly is None:
        return
    from trappoint.dimensions.scales import gauges_differ, ratios_differ

    parts = facts.assembly.parts
    own = {
        part.name: _Measures(
            part.data.get("scale", ""), part.data.get("standard"), part.data.get("gauge_mm")
        )
        for part in parts
    }
    meeting = [(pointer_to("boards", name), "", name) for name in own if name]
    for number, join in enumerate(facts.assembly.data["joins"]):
        one, other = (join[side].rpartition(":")[0] for side in ("a", "b"))
        meeting.append((pointer_to("joins", number), one, other))
    told: set[str] = set()
    for pointer, one, other in meeting:
        if one not in own or other not in own or other in told:
            continue
        gauges = gauges_differ(own[one], own[other])
        if gauges or ratios_differ(own[one], own[other]):
            told.add(other)
            yield TWO_SCALES.finding(
                pointer,
                f"{_called(other).capitalize()} is {own[other]}; {_called(one)} is {own[one]}.",
                "Trains can not run from one gauge to another: leave one out, or put it right."
                if gauges
                else "The gauge is the same, but lengths and clearances are not: put one of them "
                "right, or live with it.",
                path=filter(None, (one, other)),
                level="error" if gauges else "warning",
            )


def _called(board: str) -> str:
    return f"board {board}" if board else "this plan"


_PLAN: Mapping[str, Any] = {"format": "trappoint-layout/1", "tracks": {}}
_QUAY = {"quay": {"plan": "kelpie-quay.layout.json"}}
_BOTH = {**_QUAY, "quarry": {"plan": "quarry.layout.json"}}
_JOIN = {"a": "quay:quarry", "b": "quarry:quay"}
_QUARRY: Mapping[str, Any] = {
    "format": "trappoint-layout/1",
    "tracks": {"line": {"up": "edge:quay", "down": "edge:beyond"}},
}
_GOOD = Assembled({**_PLAN, "boards": _BOTH, "joins": [_JOIN]}, {"quarry.layout.json": _QUARRY})
_FORMAT = "the format: boards and joins"


def _assembled(*joins: Mapping[str, str], quarry: object = _QUARRY, **board: object) -> Assembled:
    """Kelpie Quay and a quarry's board, with these joins and these words on the second board."""
    boards = {**_QUAY, "quarry": {"plan": "quarry.layout.json", **board}}
    return Assembled(
        {**_PLAN, "boards": boards, "joins": list(joins)}, {"quarry.layout.json": quarry}
    )


NOT_READ = Rule(
    "boards-not-read",
    "error",
    "boards",
    "a plan put together from others, where there are no files to read them from",
    "Whether trains can meet follows from all boards together: from this file alone nothing can be "
    "said of the whole.",
    _FORMAT,
    {"boards": {"east": {"plan": "east.layout.json"}}},
    {},
    _not_read,
)

NOT_FOUND = Rule(
    "board-not-found",
    "error",
    "boards",
    "a board whose plan is not there",
    "Without it the whole can not be put together.",
    _FORMAT,
    _assembled(_JOIN, plan="quary.layout.json"),
    _GOOD,
    _not_found,
)

OUT_OF_REACH = Rule(
    "board-out-of-reach",
    "error",
    "boards",
    "a board whose plan lies outside of the repository",
    "Whoever clones the repository has the plan without this board; and a plan must not be able to "
    "name any file of a computer.",
    _FORMAT,
    _assembled(_JOIN, plan="../elsewhere/quarry.layout.json"),
    _GOOD,
    _out_of_reach,
)

NO_PLAN = Rule(
    "board-not-a-plan",
    "error",
    "boards",
    "a board whose plan can not be read as one",
    "Without it the whole can not be put together.",
    _FORMAT,
    _assembled(_JOIN, quarry={**_QUARRY, "pionts": {}}),
    _GOOD,
    _no_plan,
)

IN_A_CIRCLE = Rule(
    "boards-in-a-circle",
    "error",
    "boards",
    "a plan that is put together from itself",
    "It would have no end.",
    _FORMAT,
    _assembled(_JOIN, quarry={**_QUARRY, "boards": {"inner": {"plan": "quarry.layout.json"}}}),
    _GOOD,
    _in_a_circle,
)


def _folded() -> Assembled:
    """Boards made of two others each, ten deep: 2,046 boards from eleven small files."""
    twice = {
        f"fold-{n}.layout.json": {
            **_PLAN,
            "boards": {side: {"plan": f"fold-{n + 1}.layout.json"} for side in ("left", "right")},
        }
        for n in range(10)
    }
    first = {"boards": {"fold": {"plan": "fold-0.layout.json"}}}
    return Assembled({**_PLAN, **first}, {**twice, "fold-10.layout.json": _PLAN})


TOO_MANY = Rule(
    "too-many-boards",
    "error",
    "boards",
    "more boards than can be put together",
    "A few small files, each made of two others, can mean millions of boards; a check must end "
    "soon on anything.",
    "a limit of this version: 500 boards, 7 inside one another, 8,388,608 letters in all",
    _folded(),
    _GOOD,
    _too_many,
)

NO_SUCH_EDGE = Rule(
    "join-without-edge",
    "error",
    "boards",
    "a join that does not name one edge of one board",
    "What is named is not there, so that nothing can be joined.",
    _FORMAT,
    _assembled({"a": "quay:quary", "b": "quarry:quay"}),
    _GOOD,
    _no_such_edge,
)

JOINED_TWICE = Rule(
    "edge-joined-twice",
    "error",
    "boards",
    "an edge that is joined twice",
    "A track end meets one other; where three lines meet there are points.",
    _FORMAT,
    _assembled(_JOIN, {"a": "quay:town", "b": "quarry:quay"}),
    _GOOD,
    _joined_twice,
)

JOINED_TO_ITSELF = Rule(
    "edge-joined-to-itself",
    "error",
    "boards",
    "an edge that is joined to itself",
    "A track end can not meet itself.",
    _FORMAT,
    _assembled({"a": "quay:quarry", "b": "quay:quarry"}),
    _GOOD,
    _joined_to_itself,
)

_MEASURED: Mapping[str, Any] = {
    **_QUARRY,
    "signals": {"1": {"track": "line", "for": "up", "at_mm": 300, "arms": [{"id": "1"}]}},
}

WITHOUT_LENGTH = Rule(
    "turned-without-length",
    "error",
    "boards",
    "a measure on a board turned round, along a track without a length",
    "at_mm is measured from the up end, and where a board is turned round that is the other one: "
    "how far it is from there follows only from the length of the track.",
    "the format: at_mm is measured from the track's up end",
    _assembled({"a": "quay:quarry", "b": "quarry:beyond"}, quarry=_MEASURED, reversed=True),
    _GOOD,
    _without_length,
)

TWO_SCALES = Rule(
    "boards-of-two-scales",
    "error",
    "boards",
    "boards of different scales or gauges",
    "A train can not run from a track of one gauge on to one of another.",
    "NEM 010, NMRA S-1.2: scales and gauges",
    _assembled(_JOIN, quarry={**_QUARRY, "scale": "N"}),
    _assembled(_JOIN, quarry={**_QUARRY, "scale": "OO"}),
    _two_scales,
)

BOARD_RULES: tuple[Rule, ...] = (
    NOT_READ,
    NOT_FOUND,
    OUT_OF_REACH,
    NO_PLAN,
    IN_A_CIRCLE,
    TOO_MANY,
    NO_SUCH_EDGE,
    JOINED_TWICE,
    JOINED_TO_ITSELF,
    WITHOUT_LENGTH,
    TWO_SCALES,
)
"""Rules on how a plan is put together. An error of theirs ends the check."""
