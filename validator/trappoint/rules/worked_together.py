"""Rules on points worked together: the ends of crossovers, and traps with what they guard."""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.core.findings import pointer_to
from trappoint.core.quoting import listed
from trappoint.model.layout import lie_word
from trappoint.rules.rule import Rule

if TYPE_CHECKING:
    from collections.abc import Iterator

    from trappoint.core.findings import Finding
    from trappoint.facts.facts import Facts


def _groups_of(facts: Facts) -> dict[str, dict[int, None]]:
    """From each switch to the lists of ``worked_together`` that name it, in their order."""
    found: dict[str, dict[int, None]] = {}
    for number, group in enumerate(facts.layout.worked_together):
        for name in group:
            found.setdefault(name, {})[number] = None
    return found


def _group_of(groups_of: dict[str, dict[int, None]], names: tuple[str, ...]) -> int | None:
    """Return the first list that names two switches both, or else the first with the second."""
    first, second = (groups_of.get(name, {}) for name in names)
    both = next((number for number in first if number in second), None)
    return both if both is not None else next(iter(second), None)


def _apart(facts: Facts) -> Iterator[tuple[tuple[str, ...], list[str]]]:
    """Yield each line between two points that lie reverse for it and are not worked together."""
    layout = facts.layout
    signalled = {head.track for signal in layout.signals.values() for head in signal.heads}
    root: dict[str, int] = {}
    for lever, places in facts.together.members.items():
        root.update({facts.network.places[place].id: lever for place in places})
    for tracks, words in facts.links:
        names = list(words)
        plain = not any(layout.tracks[track].stand or track in signalled for track in tracks)
        if (
            set(words.values()) == {"reverse"}
            and plain
            and root.get(names[0]) != root.get(names[1])
        ):
            yield tracks, names


NEVER_SET = Rule(
    id="road-never-set",
    level="warning",
    stage="facts",
    summary="a road that would need points worked together to lie differently",
    why="One lever moves them all to normal or all to reverse, so that such a road is never there.",
    source="common practice, no source: the two ends of a crossover are worked by one lever",
    fails={"worked_together": [["p1", "p3"]], "signals": {"5": None}},
    passes={},
)


@NEVER_SET.checked_by
def _never_set(facts: Facts) -> Iterator[Finding]:
    layout, network = facts.layout, facts.network
    told: set[tuple[str, ...]] = set()
    linked = {frozenset(words) for _, words in facts.links if len(set(words.values())) == 2}
    groups_of = _groups_of(facts)
    for clash in facts.routes.clashes:
        names = tuple(network.places[place].id for place in (clash.first, clash.second))
        key = (*sorted(names), *sorted(clash.lies))
        group = _group_of(groups_of, names)
        if group is None or key in told or frozenset(names) in linked:
            continue
        told.add(key)
        words = []
        for name, lie in zip(names, clash.lies, strict=True):
            switch = layout.switch(name)
            word = lie_word(switch, lie) if switch is not None else lie
            words.append(f"{name} {word} ({lie})")
        signal = network.heads[clash.head].signal
        yield NEVER_SET.finding(
            pointer_to("worked_together", group),
            f"A road from signal {signal} would need {' and '.join(words)}, which are worked "
            "together: it can never be set.",
            "Look whether the right points are worked together, and whether their normal lies are "
            "right: the two ends of a crossover lie normal together.",
            path=(*names, signal),
        )


ENDS_DIFFER = Rule(
    id="crossover-never-set",
    level="warning",
    stage="facts",
    summary="a track between two points that, worked together, never both lead to it",
    why="One end always lies away from it, so that no train can run through.",
    source="common practice, no source: a crossover lies reverse, or normal, at both its ends",
    fails={"worked_together": [["p2", "p3"]]},
    passes={},
)


@ENDS_DIFFER.checked_by
def _differ(facts: Facts) -> Iterator[Finding]:
    groups_of = _groups_of(facts)
    for tracks, words in facts.links:
        track, names = listed(tracks, "and"), list(words)
        verb = "links" if len(tracks) == 1 else "link"
        group = _group_of(groups_of, tuple(names))
        together = group is not None and all(group in groups_of.get(n, {}) for n in names)
        if together and len(set(words.values())) == 2:
            yield ENDS_DIFFER.finding(
                pointer_to("worked_together", group or 0),
                f"{track} {verb} {names[0]} and {names[1]}, but {names[0]} leads there when "
                f"{words[names[0]]} and {names[1]} when {words[names[1]]}: worked together, they "
                "never both do.",
                "Turn the normal lie of one of them round, or exchange its two legs.",
                path=(*names, *tracks),
            )


def _two_lines() -> str:
    """Two lines with a crossover between them, its ends not worked together."""
    return _double_line([])


def _two_lines_together() -> str:
    """The same two lines, the ends of the crossover worked together."""
    return _double_line([["x1", "x2"]])


def _double_line(together: list[list[str]]) -> str:
    import json

    plan: dict[str, object] = {
        "format": "trappoint-layout/1",
        "tracks": {
            "down-west": {"up": "edge:dw", "down": "x1.toe"},
            "down-east": {"up": "x1.left", "down": "edge:de", "running": "down"},
            "link": {"up": "x1.right", "down": "x2.right"},
            "up-west": {"up": "edge:uw", "down": "x2.left", "running": "up"},
            "up-east": {"up": "x2.toe", "down": "edge:ue", "running": "up"},
        },
        "points": {"x1": {"normal": "left"}, "x2": {"normal": "left"}},
        "signals": {
            "1": {"track": "down-west", "for": "down", "arms": [{"id": "1"}]},
            "2": {
                "track": "up-east",
                "for": "up",
                "arms": [{"id": "2L", "to": "up-west"}, {"id": "2R", "to": "down-west"}],
            },
        },
    }
    if together:
        plan["worked_together"] = together
    return json.dumps(plan)


TOLD_APART = Rule(
    id="crossover-not-worked-together",
    level="warning",
    stage="facts",
    summary="a crossover whose two ends are not worked together",
    why=(
        "With the ends told apart, one can lie for the crossover while the other does not: a train "
        "is turned towards points that lie against it."
    ),
    source=(
        "Board of Trade requirements 1892, rule 7d: points interlocked among themselves where "
        "possible; common practice: one lever for both ends of a crossover"
    ),
    fails=_two_lines,
    passes=_two_lines_together,
)


@TOLD_APART.checked_by
def _told_apart(facts: Facts) -> Iterator[Finding]:
    layout = facts.layout
    loops = {frozenset((track.up.text, track.down.text)) for track in layout.tracks.values()}
    for tracks, names in _apart(facts):
        traps = [name for name in names if layout.points[name].trap]
        # Where the normal legs of both are the ends of one track, it is a loop.
        legs = frozenset(f"{name}.{layout.points[name].normal}" for name in names)
        if not traps and legs not in loops:
            yield TOLD_APART.finding(
                pointer_to("tracks", tracks[0]),
                f"{names[0]} and {names[1]} are the two ends of a crossover (over "
                f"{listed(tracks, 'and')}), but they are not worked together.",
                f'Add ["{names[0]}", "{names[1]}"] to worked_together.',
                path=(*tracks, *names),
                at_key=True,
            )


def _trapped(more: dict[str, object]) -> dict[str, object]:
    """Kelpie Quay with trap points between its siding and p3."""
    return {
        "tracks": {
            "siding": {"up": "t.toe"},
            "lead": {"up": "p3.left", "down": "t.left"},
            "sand": {"up": "buffer", "down": "t.right", "stand": False},
        },
        "points": {"t": {"normal": "right", "trap": True}},
        **more,
    }


TRAP_APART = Rule(
    id="trap-not-worked-together",
    level="warning",
    stage="facts",
    summary="trap points that are not worked together with the points that they guard",
    why=(
        "With the two told apart, the trap can be closed while the points lie for the running "
        "line: a stray vehicle then runs into it."
    ),
    source=(
        "Board of Trade requirements 1892, rules 5 and 7d (safety points; points interlocked among "
        "themselves where possible)"
    ),
    fails=_trapped({}),
    passes=_trapped({"worked_together": [["p3", "t"]]}),
)


@TRAP_APART.checked_by
def _trap_apart(facts: Facts) -> Iterator[Finding]:
    layout = facts.layout
    for tracks, names in _apart(facts):
        traps = [name for name in names if layout.points[name].trap]
        if len(traps) == 1:
            other = next(name for name in names if name not in traps)
            yield TRAP_APART.finding(
                pointer_to("points", traps[0]),
                f"Trap points {traps[0]} guard {other}, but the two are not worked together.",
                f'Add ["{other}", "{traps[0]}"] to worked_together, so that the trap is open '
                f"whenever {other} lies for the other road.",
                path=(traps[0], other, *tracks),
                at_key=True,
            )
