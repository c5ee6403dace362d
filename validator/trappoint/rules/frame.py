"""Rules on the lever frame."""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.core.findings import pointer_to
from trappoint.core.quoting import listed
from trappoint.rules.rule import Rule

if TYPE_CHECKING:
    from collections.abc import Iterator

    from trappoint.core.findings import Finding
    from trappoint.facts.facts import Facts
    from trappoint.model.layout import Layout, Lever


def _groups(layout: Layout) -> dict[str, frozenset[str]]:
    """Return what each switch is worked together with, itself included."""
    group_of: dict[str, list[str]] = {}
    for members in layout.worked_together:
        # Into the largest of those that are merged the others go, so that few are moved often.
        known = {id(group): group for m in members if (group := group_of.get(m)) is not None}
        parts = sorted(known.values(), key=len)
        merged = parts.pop() if parts else []
        new = [name for part in parts for name in part]
        new += [name for name in members if name not in group_of]
        merged += new
        group_of.update(dict.fromkeys(new, merged))
        group_of.update(dict.fromkeys(members, merged))
    distinct = {id(group): group for group in group_of.values()}
    whole = {key: frozenset(group) for key, group in distinct.items()}
    return {name: whole[id(group)] for name, group in group_of.items()}


def _in_order(layout: Layout) -> list[Lever]:
    """Return the levers as they stand in the frame."""
    return sorted(layout.levers.values(), key=lambda lever: lever.rank)


_KELPIE_LEVERS = {
    "1": {"arms": ["1L"]}, "2": {"arms": ["1R"]}, "3": {"arms": ["2"]}, "4": {"arms": ["3"]},
    "5": {"arms": ["4L"]}, "6": {"arms": ["4R"]}, "7": {"arms": ["5"]}, "8": {"arms": ["6"]},
    "9": {"arms": ["7L"]}, "10": {"arms": ["7R"]},
    "11": {"points": ["p1"]}, "12": {"points": ["p2"]}, "13": {"points": ["p3"]},
}  # fmt: skip

LEVER_UNUSED = Rule(
    id="lever-unused",
    level="note",
    stage="facts",
    summary="a lever that works nothing",
    why=(
        "A lever that works nothing is a spare one (painted white), or its points or arms were "
        "forgotten."
    ),
    source="common practice, no source: spare levers stay in the frame for what is added later",
    fails={"levers": {**_KELPIE_LEVERS, "14": {}}},
    passes={"levers": _KELPIE_LEVERS},
)


@LEVER_UNUSED.checked_by
def _lever_unused(facts: Facts) -> Iterator[Finding]:
    for lever in _in_order(facts.layout):
        if not lever.points and not lever.arms:
            yield LEVER_UNUSED.finding(
                pointer_to("levers", lever.number),
                f"Lever {lever.number} works nothing.",
                "Name the points or arms that it works, or leave it as a spare one.",
                path=(lever.number,),
                at_key=True,
            )


ON_TWO_LEVERS = Rule(
    id="on-two-levers",
    level="warning",
    stage="facts",
    summary="points or an arm that two levers work",
    why=(
        "What two levers work lies as neither of them says, so that their locking cannot be "
        "relied on. Only three-way points have two levers, one for each lie that is not normal."
    ),
    source="common practice, no source: each set of points and each arm has one lever",
    fails={"levers": {**_KELPIE_LEVERS, "14": {"points": ["p3"]}}},
    passes={"levers": _KELPIE_LEVERS},
)


@ON_TWO_LEVERS.checked_by
def _on_two_levers(facts: Facts) -> Iterator[Finding]:
    layout = facts.layout
    groups = _groups(layout)
    # What is worked together is always moved together: what holds for one holds for all.
    works: dict[frozenset[str], dict[str, None]] = {}
    for lever in _in_order(layout):
        for key, names in (("points", lever.points), ("arms", lever.arms)):
            for index, name in enumerate(names):
                alone = frozenset({name if key == "points" else f"arm {name}"})
                moved = groups.get(name, alone) if key == "points" else alone
                before = [other for other in works.get(moved, ()) if other != lever.number]
                if len(before) >= _most(layout, name, key):
                    pointer = pointer_to("levers", lever.number, key, index)
                    yield _twice(pointer, name, key, lever.number, before)
                works.setdefault(moved, {})[lever.number] = None


def _most(layout: Layout, name: str, key: str) -> int:
    """Return how many levers may work something: two for three-way points, otherwise one."""
    three_way = key == "points" and name in layout.points
    return 2 if three_way and layout.points[name].kind == "three-way" else 1


def _twice(pointer: str, name: str, key: str, lever: str, before: list[str]) -> Finding:
    word = "Arm" if key == "arms" else "What moves"
    verb = "is worked" if key == "arms" else "is on"
    told = f"{'lever' if len(before) == 1 else 'levers'} {listed(before, 'and')}"
    by = "by " if key == "arms" else ""
    return ON_TWO_LEVERS.finding(
        pointer,
        f"{word} {name} {verb} {by}{told} already.",
        f"Take it off all but one of the levers {listed([*before, lever], 'and')}"
        f"{'; three-way points may have two' if len(before) > 1 else ''}.",
        path=(lever, *before),
    )


NOT_ON_A_LEVER = Rule(
    id="not-on-a-lever",
    level="note",
    stage="facts",
    summary="points or an arm without a lever, in a plan with levers",
    why=(
        "What is not worked from the frame cannot be locked by it: arms can be off whichever way "
        "such points lie."
    ),
    source=(
        "Board of Trade requirements 1892, rule 7a: no signal lowered until the points are set for "
        "it"
    ),
    fails={"levers": {**_KELPIE_LEVERS, "13": None}},
    passes={"levers": _KELPIE_LEVERS},
)


@NOT_ON_A_LEVER.checked_by
def _not_on_a_lever(facts: Facts) -> Iterator[Finding]:
    layout = facts.layout
    if not layout.levers:
        return
    groups = _groups(layout)
    named = {name for lever in layout.levers.values() for name in lever.points}
    moving = {id(groups[name]) for name in named if name in groups}
    moved = named | {name for name, group in groups.items() if id(group) in moving}
    in_yards = {name for yard in layout.yards.values() for name in (*yard.points, *yard.crossings)}
    places = [("points", points) for points in layout.points]
    places += [("crossings", slip.id) for slip in layout.crossings.values() if slip.lies]
    framed = _boards_with_a_frame(layout)
    for kind, name in places:
        if _board(name) in framed and name not in moved and name not in in_yards:
            word = "Points" if kind == "points" else "Slip"
            verb = "are" if kind == "points" else "is"
            yield NOT_ON_A_LEVER.finding(
                pointer_to(kind, name),
                f"{word} {name} {verb} on no lever.",
                f"Give {name} a lever, or work what it belongs to as a yard.",
                path=(name,),
                at_key=True,
            )
    arms = {arm for lever in layout.levers.values() for arm in lever.arms}
    for arm in layout.arms():
        if _board(arm.id) in framed and arm.id not in arms:
            yield NOT_ON_A_LEVER.finding(
                pointer_to("signals", arm.signal, "arms", arm.position),
                f"Arm {arm.id} is on no lever.",
                f"Give {arm.id} a lever, alone or with arms that the points select.",
                path=(arm.id,),
            )


def _boards_with_a_frame(layout: Layout) -> set[str]:
    """Return the boards of which something is on a lever; what others work by, nobody has said."""
    found: set[str] = set()
    for lever in layout.levers.values():
        found.update(_board(name) for name in (lever.number, *lever.points, *lever.arms))
    return found


def _board(name: str) -> str:
    """Return the board that a thing stands on, empty for the plan's own."""
    return name.rpartition("/")[0]


MOVED_APART = Rule(
    id="lever-splits-group",
    level="warning",
    stage="facts",
    summary="a lever that works several points which the plan does not work together",
    why=(
        "A lever moves all its points at once. Routes are derived from what is worked together: a "
        "route that needs two of them to differ could never be set from the frame."
    ),
    source="common practice, no source: what one lever moves is all normal or all reversed",
    fails={
        "levers": {
            **{n: lever for n, lever in _KELPIE_LEVERS.items() if n != "13"},
            "12": {"points": ["p2", "p3"]},
        }
    },
    passes={"levers": _KELPIE_LEVERS},
)


@MOVED_APART.checked_by
def _moved_apart(facts: Facts) -> Iterator[Finding]:
    groups = _groups(facts.layout)
    for lever in _in_order(facts.layout):
        first = lever.points[0] if lever.points else ""
        apart = [n for n in lever.points[1:] if n not in groups.get(first, frozenset({first}))]
        if apart:
            yield MOVED_APART.finding(
                pointer_to("levers", lever.number, "points"),
                f"Lever {lever.number} works {listed(lever.points, 'and')}, but the plan does not "
                f"say that {first} and {listed(apart, 'and')} are worked together.",
                f'List them under "worked_together", or give {listed(apart, "and")} a lever of '
                "their own.",
                path=(lever.number, *lever.points),
            )
