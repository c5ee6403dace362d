"""Rules on how boards are joined: edges, scales and boards turned round."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, NamedTuple

from trappoint.core.findings import pointer_to
from trappoint.rules.assemblies import FORMAT, GOOD, JOIN, QUARRY, assembled, troubles
from trappoint.rules.route_phrases import at_start
from trappoint.rules.rule import Rule

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from trappoint.core.findings import Finding
    from trappoint.dimensions.scales import Standard
    from trappoint.facts.facts import Facts

NO_SUCH_EDGE = Rule(
    id="join-without-edge",
    level="error",
    stage="boards",
    summary="a join that does not name exactly one edge of one board",
    why="A join needs one edge on each side.",
    source=FORMAT,
    fails=assembled({"a": "quay:quary", "b": "quarry:quay"}),
    passes=GOOD,
)


@NO_SUCH_EDGE.checked_by
def _no_such_edge(facts: Facts) -> Iterator[Finding]:
    for trouble in troubles(facts, "no-such-board", "no-such-edge", "edge-of-several"):
        text, board = trouble.names[:2]
        fix = "Write BOARD:EDGE for an edge of a board, or :EDGE for an edge of this plan."
        if trouble.kind == "no-such-board":
            message = f"{text}: there is no board {board}."
            if trouble.told:
                fix = f"Name one of the boards: {trouble.told}."
        else:
            edge = trouble.names[2]
            plan = f"the plan of board {board}" if board else "this plan"
            if trouble.kind == "edge-of-several":
                message = f"{text}: several track ends of {plan} are edge:{edge}."
                fix = "Give each joined edge a name of its own."
            else:
                message = f"{text}: no track end of {plan} is edge:{edge}."
                if trouble.told:
                    fix = f"Name one of the edges of {plan} not joined yet: {trouble.told}."
        yield NO_SUCH_EDGE.finding(trouble.pointer, message, fix, path=(board,) if board else ())


JOINED_TWICE = Rule(
    id="edge-joined-twice",
    level="error",
    stage="boards",
    summary="an edge that is joined twice",
    why="A track end meets one other track end; to join three tracks, use points.",
    source=FORMAT,
    fails=assembled(JOIN, {"a": "quay:town", "b": "quarry:quay"}),
    passes=GOOD,
)


@JOINED_TWICE.checked_by
def _joined_twice(facts: Facts) -> Iterator[Finding]:
    for trouble in troubles(facts, "joined-twice"):
        text, joint = trouble.names
        yield JOINED_TWICE.finding(
            trouble.pointer,
            f"{text} is joined already: {' and '.join(joint.split('+'))} meet.",
            "Join each edge to one other edge.",
        )


JOINED_TO_ITSELF = Rule(
    id="edge-joined-to-itself",
    level="error",
    stage="boards",
    summary="an edge that is joined to itself",
    why="A track end cannot meet itself.",
    source=FORMAT,
    fails=assembled({"a": "quay:quarry", "b": "quay:quarry"}),
    passes=GOOD,
)


@JOINED_TO_ITSELF.checked_by
def _joined_to_itself(facts: Facts) -> Iterator[Finding]:
    for trouble in troubles(facts, "joined-to-itself"):
        yield JOINED_TO_ITSELF.finding(
            trouble.pointer,
            f"{trouble.names[0]} is joined to itself.",
            "Name the edge of the other board here.",
        )


_MEASURED: Mapping[str, Any] = {
    **QUARRY,
    "signals": {"1": {"track": "line", "for": "up", "at_mm": 300, "arms": [{"id": "1"}]}},
}

WITHOUT_LENGTH = Rule(
    id="turned-without-length",
    level="error",
    stage="boards",
    summary="a measure on a board turned round, along a track without a length",
    why=(
        "`at_mm` is measured from the up end; on a board turned round, the other end is up, so the "
        "measure changes with the length of the track."
    ),
    source="the format: at_mm is measured from the track's up end",
    fails=assembled({"a": "quay:quarry", "b": "quarry:beyond"}, quarry=_MEASURED, reversed=True),
    passes=GOOD,
)


@WITHOUT_LENGTH.checked_by
def _without_length(facts: Facts) -> Iterator[Finding]:
    for trouble in troubles(facts, "without-length"):
        board, track = trouble.names
        yield WITHOUT_LENGTH.finding(
            trouble.pointer,
            f"Board {board} is turned round, but {track} has no length to measure this from its "
            "other end.",
            f"Add length_mm to {track}.",
            path=(board, track),
        )


class _Measures(NamedTuple):
    """The scale, standard and gauge of a plan."""

    scale: str
    standard: Standard | None
    gauge_mm: float | None

    def __str__(self) -> str:
        gauge = "" if self.gauge_mm is None else f"{self.gauge_mm:g} mm gauge"
        return ", ".join(filter(None, (self.scale, self.standard, gauge)))


TWO_SCALES = Rule(
    id="boards-of-two-scales",
    level="error",
    stage="boards",
    summary="boards of different scales or gauges",
    why="A train cannot run from one gauge to another.",
    source="NEM 010 (MOROP, 2011) and NMRA S-1.2: scales and gauges",
    fails=assembled(JOIN, quarry={**QUARRY, "scale": "N"}),
    passes=assembled(JOIN, quarry={**QUARRY, "scale": "OO"}),
)


@TWO_SCALES.checked_by
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
    reported: set[str] = set()
    for pointer, one, other in meeting:
        if one not in own or other not in own or other in reported:
            continue
        gauges = gauges_differ(own[one], own[other])
        if gauges or ratios_differ(own[one], own[other]):
            reported.add(other)
            yield TWO_SCALES.finding(
                pointer,
                f"{at_start(_called(other))} is {own[other]}; {_called(one)} is {own[one]}.",
                "Take one of the boards out, or correct its scale or gauge."
                if gauges
                else "Correct one of the scales, or accept the finding: the gauges agree, but "
                "lengths and clearances do not.",
                path=filter(None, (one, other)),
                level="error" if gauges else "warning",
            )


def _called(board: str) -> str:
    return f"board {board}" if board else "this plan"
