"""Rules on the boards of a plan: each can be read, and they come to an end."""

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
    summary="a plan put together from others, where there are no files to read them from",
    why=(
        "Whether trains can meet follows from all boards together: from this file alone nothing "
        "can be said of the whole."
    ),
    source=FORMAT,
    fails={"boards": {"east": {"plan": "east.layout.json"}}},
    passes={},
)


@NOT_READ.checked_by
def _not_read(facts: Facts) -> Iterator[Finding]:
    for trouble in troubles(facts, "not-read"):
        yield NOT_READ.finding(
            trouble.pointer,
            "This plan is put together from others, and there are no files here to read them from.",
            "Check it where its boards lie beside it: `trappoint check FILE`.",
            path=facts.layout.boards,
            at_key=True,
        )


NOT_FOUND = Rule(
    id="board-not-found",
    level="error",
    stage="boards",
    summary="a board whose plan is not there",
    why="Without it the whole cannot be put together.",
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
            "The path is seen from the folder of this file: put it right, or bring the file there.",
        )


OUT_OF_REACH = Rule(
    id="board-out-of-reach",
    level="error",
    stage="boards",
    summary="a board whose plan lies outside of the repository",
    why=(
        "Whoever clones the repository has the plan without this board; and a plan must not be "
        "able to name any file of a computer."
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
            "This path leads out of the repository (or, where there is none, out of the folder of "
            "the plan that is checked).",
            "Keep all boards of a plan in one repository, and name them from this file's folder.",
        )


NO_PLAN = Rule(
    id="board-not-a-plan",
    level="error",
    stage="boards",
    summary="a board whose plan cannot be read as one",
    why="Without it the whole cannot be put together.",
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
            f"Put it right there first: `trappoint check {visible(file)}`.",
        )


IN_A_CIRCLE = Rule(
    id="boards-in-a-circle",
    level="error",
    stage="boards",
    summary="a plan that is put together from itself",
    why="It would have no end.",
    source=FORMAT,
    fails=assembled(JOIN, quarry={**QUARRY, "boards": {"inner": {"plan": "quarry.layout.json"}}}),
    passes=GOOD,
)


@IN_A_CIRCLE.checked_by
def _in_a_circle(facts: Facts) -> Iterator[Finding]:
    for trouble in troubles(facts, "in-a-circle"):
        way = [visible(file) for file in trouble.names]
        told = "; ".join(f"{one} is put together from {other}" for one, other in pairwise(way))
        yield IN_A_CIRCLE.finding(
            trouble.pointer,
            f"Here a plan comes to stand in itself: {told}.",
            "Take one of them out.",
        )


def _folded() -> Assembled:
    """Boards made of two others each, ten deep: 2,046 boards from eleven small files."""
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
    summary="more boards than can be put together",
    why=(
        "A few small files, each made of two others, can mean millions of boards; a check must end "
        "soon on anything."
    ),
    source="a limit of this version: 500 boards, 7 inside one another, 8,388,608 letters in all",
    fails=_folded(),
    passes=GOOD,
)


@TOO_MANY.checked_by
def _too_many(facts: Facts) -> Iterator[Finding]:
    for trouble in troubles(facts, "too-many"):
        yield TOO_MANY.finding(
            trouble.pointer,
            "With this board there is more than can be put together.",
            "Leave out boards that do not stand here. A board that many others are made of counts "
            "as often as it stands in the plan.",
        )
