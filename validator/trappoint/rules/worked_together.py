"""Rules on points worked together: the ends of crossovers, and trap points."""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.core.findings import pointer_to
from trappoint.core.quoting import listed
from trappoint.model.layout import lie_word
from trappoint.rules.route_phrases import thing
from trappoint.rules.rule import BOARD_OF_TRADE, Rule

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from trappoint.core.findings import Finding
    from trappoint.facts.facts import Facts
    from trappoint.model.layout import End, Layout


def _called(facts: Facts, switch: str) -> str:
    kind = "points" if switch in facts.layout.points else "crossings"
    return facts.names.called(kind, switch)


def _groups_of(facts: Facts) -> dict[str, dict[int, None]]:
    """Return for each switch the lists of ``worked_together`` with it, by index, in order."""
    found: dict[str, dict[int, None]] = {}
    for number, group in enumerate(facts.layout.worked_together):
        for name in group:
            found.setdefault(name, {})[number] = None
    return found


def _group_of(groups_of: dict[str, dict[int, None]], names: tuple[str, ...]) -> int | None:
    """Return the index of the first list with both switches, else with the second, or None."""
    first, second = (groups_of.get(name, {}) for name in names)
    both = next((number for number in first if number in second), None)
    return both if both is not None else next(iter(second), None)


def _apart(facts: Facts) -> Iterator[tuple[tuple[str, ...], list[str]]]:
    """Yield each line between two points that lie reverse for it but are not worked together."""
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
    summary="a route that needs points worked together to lie differently",
    why="One lever moves them all to normal or all to reverse, so nobody can set such a route.",
    source="common practice, no source: one lever works both ends of a crossover",
    fails={"worked_together": [["p1", "p3"]], "signals": {"5": None}},
    passes={},
)


@NEVER_SET.checked_by
def _never_set(facts: Facts) -> Iterator[Finding]:
    layout, network = facts.layout, facts.network
    reported: set[tuple[str, ...]] = set()
    linked = {frozenset(words) for _, words in facts.links if len(set(words.values())) == 2}
    groups_of = _groups_of(facts)
    for clash in facts.routes.clashes:
        names = tuple(network.places[place].id for place in (clash.first, clash.second))
        key = (*sorted(names), *sorted(clash.lies))
        group = _group_of(groups_of, names)
        if group is None or key in reported or frozenset(names) in linked:
            continue
        reported.add(key)
        words = []
        for name, lie in zip(names, clash.lies, strict=True):
            switch = layout.switch(name)
            word = lie_word(switch, lie) if switch is not None else lie
            words.append(f"{_called(facts, name)} {word} ({lie})")
        signal = network.heads[clash.head].signal
        yield NEVER_SET.finding(
            pointer_to("worked_together", group),
            f"A route from {thing(facts, 'signals', signal)} needs {' and '.join(words)}, which "
            "are worked together: nobody can set it.",
            f"Take {names[0]} or {names[1]} out of the list, or change the normal lie of one of "
            "them.",
            path=(*names, signal),
        )


ENDS_DIFFER = Rule(
    id="crossover-never-set",
    level="warning",
    stage="facts",
    summary="a track between two points worked together that never both lie for it",
    why="One end always lies away from it, so no train can run through.",
    source="common practice, no source: both ends of a crossover lie normal, or both reverse",
    fails={"worked_together": [["p2", "p3"]]},
    passes={},
)


@ENDS_DIFFER.checked_by
def _differ(facts: Facts) -> Iterator[Finding]:
    groups_of = _groups_of(facts)
    for tracks, words in facts.links:
        names = list(words)

        group = _group_of(groups_of, tuple(names))
        together = group is not None and all(group in groups_of.get(n, {}) for n in names)
        if together and len(set(words.values())) == 2:
            track = listed([facts.names.called("tracks", id_) for id_ in tracks], "and")
            verb = "links" if len(tracks) == 1 else "link"
            yield ENDS_DIFFER.finding(
                pointer_to("worked_together", group or 0),
                f"{track} {verb} {_called(facts, names[0])} and {_called(facts, names[1])}, which "
                f"are worked together, but {names[0]} lies for it when {words[names[0]]} and "
                f"{names[1]} when {words[names[1]]}.",
                f"Change the normal lie of {names[0]} or {names[1]}, or exchange the legs of one "
                "of them.",
                path=(*names, *tracks),
            )


def _two_lines() -> str:
    """Return two lines with a crossover whose ends are not worked together."""
    return _double_line([])


def _two_lines_together() -> str:
    """Return the same two lines, with the ends of the crossover worked together."""
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
    why="If they move separately, one end may lie for the crossover and the other against it.",
    source=(
        f"{BOARD_OF_TRADE}, rule 7d: points interlocked among themselves where possible; one lever "
        "for both ends of a crossover: common practice, no source"
    ),
    fails=_two_lines,
    passes=_two_lines_together,
)


@TOLD_APART.checked_by
def _told_apart(facts: Facts) -> Iterator[Finding]:
    layout = facts.layout
    far: dict[str, End] = {}
    for track in layout.tracks.values():
        far |= {track.up.text: track.down, track.down.text: track.up}
    for tracks, names in _apart(facts):
        traps = [name for name in names if layout.points[name].trap]
        legs = [f"{name}.{layout.points[name].normal}" for name in names]
        if not traps and not _is_loop_or_triangle(layout, far, legs):
            yield TOLD_APART.finding(
                pointer_to("tracks", tracks[0]),
                f"{_called(facts, names[0])} and {_called(facts, names[1])}, the two ends of a "
                f"crossover over {listed(tracks, 'and')}, are not worked together.",
                f'Add ["{names[0]}", "{names[1]}"] to worked_together.',
                path=(*tracks, *names),
                at_key=True,
            )


def _is_loop_or_triangle(layout: Layout, far: Mapping[str, End], legs: list[str]) -> bool:
    """Return whether one track joins the two normal legs, or two lead to legs of third points."""
    met = [far[leg] for leg in legs if leg in far]
    if len(met) != 2 or met[0].text == legs[1]:
        return len(met) == 2
    first, second = met
    return (
        first.name == second.name
        and first.name in layout.points
        and "toe" not in (first.leg, second.leg)
    )


def _trapped(more: dict[str, object]) -> dict[str, object]:
    """Return a merge patch that puts trap points between the siding of Kelpie Quay and p3."""
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
        "If they move separately, the trap may be closed while the points lie for the running "
        "line, and a stray vehicle runs into it."
    ),
    source=(
        f"{BOARD_OF_TRADE}, rule 7d: points interlocked among themselves where possible; trap "
        "points: common practice, no source"
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
                f"Trap points {facts.names.called('points', traps[0])} guard "
                f"{facts.names.called('points', other)}, but the two are not worked together.",
                f'Add ["{other}", "{traps[0]}"] to worked_together.',
                path=(traps[0], other, *tracks),
                at_key=True,
            )
