"""Rules on the lever frame."""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.core.findings import pointer_to
from trappoint.core.quoting import listed
from trappoint.rules.route_phrases import at_start, thing
from trappoint.rules.rule import BOARD_OF_TRADE, Rule

if TYPE_CHECKING:
    from collections.abc import Iterator

    from trappoint.core.findings import Finding
    from trappoint.facts.facts import Facts
    from trappoint.model.layout import Layout, Lever


def _groups(layout: Layout) -> dict[str, frozenset[str]]:
    """Return for each switch all switches worked together with it, itself included."""
    group_of: dict[str, list[str]] = {}
    for members in layout.worked_together:
        # Smaller groups join the largest, so that few switches move twice.
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
    """Return the levers in the order of their numbers."""
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
    why="It is a spare lever (painted white), or its points or arms are missing from the plan.",
    source="common practice, no source: spare levers stay in the frame for later additions",
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
                "Add the points or arms that it works, or leave it as a spare lever.",
                path=(lever.number,),
                at_key=True,
            )


ON_TWO_LEVERS = Rule(
    id="on-two-levers",
    level="warning",
    stage="facts",
    summary="points or an arm worked by two levers",
    why=(
        "With two levers for one thing, the locking cannot know how it lies; only three-way points "
        "have two, one for each reverse lie."
    ),
    source="common practice, no source: each set of points and each arm has one lever",
    fails={"levers": {**_KELPIE_LEVERS, "14": {"points": ["p3"]}}},
    passes={"levers": _KELPIE_LEVERS},
)


@ON_TWO_LEVERS.checked_by
def _on_two_levers(facts: Facts) -> Iterator[Finding]:
    layout = facts.layout
    groups = _groups(layout)
    # Switches that are worked together move together: a lever of one moves them all.
    works: dict[frozenset[str], dict[str, None]] = {}
    for lever in _in_order(layout):
        for key, names in (("points", lever.points), ("arms", lever.arms)):
            for index, name in enumerate(names):
                alone = frozenset({name if key == "points" else f"arm {name}"})
                moved = groups.get(name, alone) if key == "points" else alone
                before = [other for other in works.get(moved, ()) if other != lever.number]
                most = _most(layout, name, key)
                if len(before) >= most:
                    pointer = pointer_to("levers", lever.number, key, index)
                    yield _twice(pointer, name, key, [*before, lever.number], most)
                works.setdefault(moved, {})[lever.number] = None


def _most(layout: Layout, name: str, key: str) -> int:
    """Return how many levers may work something: two for three-way points, otherwise one."""
    three_way = key == "points" and name in layout.points
    return 2 if three_way and layout.points[name].kind == "three-way" else 1


def _twice(pointer: str, name: str, key: str, levers: list[str], most: int) -> Finding:
    *before, lever = levers
    word = "arm " if key == "arms" else ""
    works = "Lever {} already works" if len(before) == 1 else "Levers {} already work"
    return ON_TWO_LEVERS.finding(
        pointer,
        f"{works.format(listed(before, 'and'))} {word}{name}.",
        f"Take {name} off all but {'one' if most == 1 else 'two'} of the levers "
        f"{listed(levers, 'and')}.",
        path=(lever, *before),
    )


NOT_ON_A_LEVER = Rule(
    id="not-on-a-lever",
    level="note",
    stage="facts",
    summary="points or an arm without a lever, in a plan with levers",
    why="The frame locks only what its levers work, so you must see to the rest.",
    source=(f"{BOARD_OF_TRADE}, rule 7a: no signal lowered until the points are set for it"),
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
            called = facts.names.called(kind, name)
            subject = f"Points {called} are" if kind == "points" else f"Slip {called} is"
            yield NOT_ON_A_LEVER.finding(
                pointer_to(kind, name),
                f"{subject} on no lever.",
                f"Add {name} to a lever, or make it part of a yard.",
                path=(name,),
                at_key=True,
            )
    arms = {arm for lever in layout.levers.values() for arm in lever.arms}
    for arm in layout.arms():
        if _board(arm.id) in framed and arm.id not in arms:
            yield NOT_ON_A_LEVER.finding(
                pointer_to("signals", arm.signal, "arms", arm.position),
                f"{at_start(thing(facts, 'arms', arm.id))} is on no lever.",
                f"Add {arm.id} to a lever, alone or with arms that the points choose between.",
                path=(arm.id,),
            )


def _boards_with_a_frame(layout: Layout) -> set[str]:
    """Return the boards with anything on a lever; the other boards may have no frame."""
    found: set[str] = set()
    for lever in layout.levers.values():
        found.update(_board(name) for name in (lever.number, *lever.points, *lever.arms))
    return found


def _board(name: str) -> str:
    """Return the board of a thing, empty if it is the plan's own."""
    return name.rpartition("/")[0]


MOVED_APART = Rule(
    id="lever-splits-group",
    level="warning",
    stage="facts",
    summary="a lever for several points that the plan does not work together",
    why=(
        "A lever moves all its points at once, but the check may find routes that need these "
        "points to differ."
    ),
    source="common practice, no source: the points of one lever are all normal or all reversed",
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
                f"Lever {lever.number} works {listed(lever.points, 'and')}, but `worked_together` "
                f"does not list {listed([first, *apart], 'and')} together.",
                f"Add {listed([first, *apart], 'and')} to one list of `worked_together`, or give "
                f"{listed(apart, 'and')} another lever.",
                path=(lever.number, *lever.points),
            )
