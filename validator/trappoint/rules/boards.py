"""Rules on the boards of a plan: each can be read, and none contains itself."""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING

from trappoint.core.quoting import visible
from trappoint.rules.assemblies import FORMAT, GOOD, JOIN, PLAN, QUARRY, assembled, troubles
from trappoint.rules.rule import Assembled, Rule

if TYPE_CHECKING:
    from collections.abc import Iterator

    from trappoint.core.findings import Finding
    from trappoint.facts.facts import Facts

NOT_READ = Rule(
    id="boards-not-read",
    level="error",
    stage="boards",
    summary="a plan with boards, checked without the files of its boards",
    why="Whether trains can meet depends on all boards together, not on this file alone.",
    source=FORMAT,
    fails={"boards": {"east": {"plan": "east.layout.json"}}},
    passes={},
)


@NOT_READ.checked_by
def _not_read(facts: Facts) -> Iterator[Finding]:
    for trouble in troubles(facts, "not-read"):
        yield NOT_READ.finding(
            trouble.pointer,
            "This plan has boards, but their files cannot be read here.",
            "Check the plan in the folder of its boards: `trappoint check FILE`.",
            path=facts.layout.boards,
            at_key=True,
        )


NOT_FOUND = Rule(
    id="board-not-found",
    level="error",
    stage="boards",
    summary="a board whose plan is missing",
    why="Without this board the plan cannot be assembled.",
    source=FORMAT,
    fails=assembled(JOIN, plan="quary.layout.json"),
    passes=GOOD,
)


@NOT_FOUND.checked_by
def _not_found(facts: Facts) -> Iterator[Finding]:
    for trouble in troubles(facts, "not-there"):
        yield NOT_FOUND.finding(
            trouble.pointer,
            trouble.told,
            "Correct the path, which starts from the folder of this file, or add the missing file.",
        )


OUT_OF_REACH = Rule(
    id="board-out-of-reach",
    level="error",
    stage="boards",
    summary="a board whose plan is outside the repository",
    why=(
        "A clone of the repository would lack this board, and no plan may read any file of a "
        "computer."
    ),
    source=FORMAT,
    fails=assembled(JOIN, plan="../elsewhere/quarry.layout.json"),
    passes=GOOD,
)


@OUT_OF_REACH.checked_by
def _out_of_reach(facts: Facts) -> Iterator[Finding]:
    for trouble in troubles(facts, "out-of-reach"):
        yield OUT_OF_REACH.finding(
            trouble.pointer,
            "This path leads out of the repository (or, without a repository, out of the folder of "
            "the checked plan).",
            "Keep all boards of a plan in one repository, with paths from the folder of this file.",
        )


NO_PLAN = Rule(
    id="board-not-a-plan",
    level="error",
    stage="boards",
    summary="a board whose file is not a readable plan",
    why="Without this board the plan cannot be assembled.",
    source=FORMAT,
    fails=assembled(JOIN, quarry={**QUARRY, "pionts": {}}),
    passes=GOOD,
)


@NO_PLAN.checked_by
def _no_plan(facts: Facts) -> Iterator[Finding]:
    for trouble in troubles(facts, "no-plan"):
        (file,) = trouble.names
        yield NO_PLAN.finding(
            trouble.pointer,
            f"{visible(file)} cannot be read as a plan: {trouble.told}",
            f"Correct that file first: `trappoint check {visible(file)}`.",
        )


IN_A_CIRCLE = Rule(
    id="boards-in-a-circle",
    level="error",
    stage="boards",
    summary="a plan that contains itself as a board",
    why="A plan that contains itself would never end.",
    source=FORMAT,
    fails=assembled(JOIN, quarry={**QUARRY, "boards": {"inner": {"plan": "quarry.layout.json"}}}),
    passes=GOOD,
)


@IN_A_CIRCLE.checked_by
def _in_a_circle(facts: Facts) -> Iterator[Finding]:
    for trouble in troubles(facts, "in-a-circle"):
        way = [visible(file) for file in trouble.names]
        links = "; ".join(f"{one} has the board {other}" for one, other in pairwise(way))
        yield IN_A_CIRCLE.finding(
            trouble.pointer,
            f"A plan contains itself here: {links}.",
            "Take one of these boards out.",
        )


def _folded() -> Assembled:
    """Return boards of two boards each, ten deep: 2,046 boards from eleven small files."""
    twice = {
        f"fold-{n}.layout.json": {
            **PLAN,
            "boards": {side: {"plan": f"fold-{n + 1}.layout.json"} for side in ("left", "right")},
        }
        for n in range(10)
    }
    first = {"boards": {"fold": {"plan": "fold-0.layout.json"}}}
    return Assembled({**PLAN, **first}, {**twice, "fold-10.layout.json": PLAN})


TOO_MANY = Rule(
    id="too-many-boards",
    level="error",
    stage="boards",
    summary="a plan with too many boards to assemble",
    why=(
        "A few small files with two boards each can mean millions of boards, and every check must "
        "end soon."
    ),
    source=("a limit of this version: 500 boards, nested 7 deep, 8,388,608 characters in all"),
    fails=_folded(),
    passes=GOOD,
)


@TOO_MANY.checked_by
def _too_many(facts: Facts) -> Iterator[Finding]:
    for trouble in troubles(facts, "too-many"):
        yield TOO_MANY.finding(
            trouble.pointer,
            "This board is one too many: the plan has too many boards to assemble.",
            "Take out boards that this layout does not have; a board counts once for each time "
            "that it is used.",
        )
