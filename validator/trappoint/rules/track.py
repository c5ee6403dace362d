"""Rules on the track itself: what can be reached, what can be set, which end is up."""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.findings import pointer_to
from trappoint.layout import lie_word
from trappoint.rules.rule import Rule

if TYPE_CHECKING:
    from collections.abc import Iterator

    from trappoint.facts import Facts
    from trappoint.findings import Finding


def _unreachable(facts: Facts) -> Iterator[Finding]:
    network = facts.network
    if not network.stands:
        yield NO_STAND.finding(
            "/tracks",
            "There is no track on which a train may stand, so nothing can be checked.",
            'Give a track a platform, a buffer or an edge, or write "stand": true.',
            at_key=True,
        )
        return
    live = [
        bool(routes) or n in facts.routes.crowded for n, routes in enumerate(facts.routes.of_head)
    ]
    reached = {state for stand in network.stands for state in stand.states}
    waiting = list(reached)
    while waiting:
        for exit_ in network.exits[waiting.pop()]:
            if exit_.to not in reached and (exit_.head < 0 or live[exit_.head]):
                reached.add(exit_.to)
                waiting.append(exit_.to)
    places = {network.place_of[state] for state in reached}
    told: set[str] = set()
    for number, place in enumerate(network.places):
        if place.kind == "section" and number not in places and place.id not in told:
            told.add(place.id)
            yield UNREACHABLE.finding(
                place.pointer,
                f"No train can ever come to {place.name}.",
                "Look at `running` here and on the tracks beside it, at the ends that it names, "
                "and at signals that have no route.",
                path=(place.id,),
                at_key=True,
            )


def _never_set(facts: Facts) -> Iterator[Finding]:
    layout, network = facts.layout, facts.network
    told: set[tuple[str, ...]] = set()
    linked = [set(words) for _, words in _links(facts) if len(set(words.values())) == 2]
    for clash in facts.routes.clashes:
        names = tuple(network.places[place].id for place in (clash.first, clash.second))
        key = (*sorted(names), *sorted(clash.lies))
        group = _group_of(facts, names)
        if group is None or key in told or set(names) in linked:
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


def _group_of(facts: Facts, names: tuple[str, ...]) -> int | None:
    groups = facts.layout.worked_together
    for number, group in enumerate(groups):
        if set(names) <= set(group):
            return number
    return next((number for number, group in enumerate(groups) if names[1] in group), None)


def _links(facts: Facts) -> Iterator[tuple[str, dict[str, str]]]:
    """Yield each track that links legs of two points, with the word for the lie of each end."""
    layout = facts.layout
    for track in layout.tracks.values():
        words: dict[str, str] = {}
        for end in (track.up, track.down):
            switch = layout.points.get(end.name) if end.kind == "leg" else None
            if switch is not None and end.leg in switch.lies:
                words[end.name] = lie_word(switch, end.leg)
        if len(words) == 2:
            yield track.id, words


def _differ(facts: Facts) -> Iterator[Finding]:
    for track, words in _links(facts):
        names = list(words)
        group = _group_of(facts, tuple(names))
        together = group is not None and set(names) <= set(facts.layout.worked_together[group])
        if together and len(set(words.values())) == 2:
            yield ENDS_DIFFER.finding(
                pointer_to("worked_together", group or 0),
                f"{track} links {names[0]} and {names[1]}, but {names[0]} leads to it when "
                f"{words[names[0]]} and {names[1]} when {words[names[1]]}: worked together, they "
                f"never both lead to {track}.",
                "Turn the normal lie of one of them round, or exchange its two legs.",
                path=(*names, track),
            )


def _told_apart(facts: Facts) -> Iterator[Finding]:
    layout = facts.layout
    signalled = {head.track for signal in layout.signals.values() for head in signal.heads}
    root: dict[str, int] = {}
    for lever, places in facts.together.members.items():
        root.update({facts.network.places[place].id: lever for place in places})
    for track, words in _links(facts):
        names = list(words)
        if (
            set(words.values()) == {"reverse"}
            and not layout.tracks[track].stand
            and track not in signalled
            and root.get(names[0]) != root.get(names[1])
            and not _side_by_side(facts, names)
        ):
            yield TOLD_APART.finding(
                pointer_to("tracks", track),
                f"{track} is a crossover, but its two ends, {names[0]} and {names[1]}, are not "
                "worked together.",
                f'Add ["{names[0]}", "{names[1]}"] to worked_together.',
                path=(track, *names),
                at_key=True,
            )


def _side_by_side(facts: Facts, names: list[str]) -> bool:
    """Tell whether the normal legs of two points are the ends of one track: a loop."""
    layout = facts.layout
    legs = {f"{name}.{layout.points[name].normal}" for name in names}
    return any({track.up.text, track.down.text} == legs for track in layout.tracks.values())


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
            "down-west": {"up": "edge:dw", "down": "x1.toe", "running": "down"},
            "down-east": {"up": "x1.left", "down": "edge:de", "running": "down"},
            "link": {"up": "x1.right", "down": "x2.right"},
            "up-west": {"up": "edge:uw", "down": "x2.left", "running": "up"},
            "up-east": {"up": "x2.toe", "down": "edge:ue", "running": "up"},
        },
        "points": {"x1": {"normal": "left"}, "x2": {"normal": "left"}},
        "signals": {
            "1": {"track": "down-west", "for": "down", "arms": [{"id": "1"}]},
            "2": {"track": "up-east", "for": "up", "arms": [{"id": "2"}]},
        },
    }
    if together:
        plan["worked_together"] = together
    return json.dumps(plan)


UNREACHABLE = Rule(
    "unreachable-track",
    "warning",
    "facts",
    "a track to which no train can ever come",
    "Track that no train can use is mostly cut off by a wrong `running` or a signal with no route.",
    "follows from the moves; common practice, no source",
    {
        "tracks": {
            "loop-east": {"running": "up"},
            "main": {"running": "up"},
            "town-line": {"running": "up"},
            "quarry-line": {"running": "down"},
        }
    },
    {},
    _unreachable,
)

NO_STAND = Rule(
    "nowhere-to-stand",
    "warning",
    "facts",
    "a plan in which no train may stand anywhere",
    "Trains start from stands; without one, a plan holds only because nothing can move.",
    "follows from what a stand is; common practice, no source",
    '{"format": "trappoint-layout/1", "tracks": {"round": {"up": "joint:j", "down": "joint:j"}}}',
    {},
)

NEVER_SET = Rule(
    "road-never-set",
    "warning",
    "facts",
    "a road that would need points worked together to lie differently",
    "One lever moves them all to normal or all to reverse, so that such a road is never there.",
    "common practice, no source: the two ends of a crossover are worked by one lever",
    {"worked_together": [["p1", "p3"]], "signals": {"5": None}},
    {},
    _never_set,
)

ENDS_DIFFER = Rule(
    "crossover-never-set",
    "warning",
    "facts",
    "a track between two points that, worked together, never both lead to it",
    "One end always lies away from it, so that no train can run through.",
    "common practice, no source: a crossover lies reverse, or normal, at both its ends",
    {"worked_together": [["p2", "p3"]]},
    {},
    _differ,
)

TOLD_APART = Rule(
    "crossover-told-apart",
    "warning",
    "facts",
    "a crossover whose two ends are not worked together",
    "With the ends told apart, one can lie for the crossover while the other does not: a train "
    "is turned towards points that lie against it.",
    "Board of Trade requirements 1892, rule 7d: points interlocked among themselves where "
    "possible; common practice: one lever for both ends of a crossover",
    _two_lines,
    _two_lines_together,
    _told_apart,
)
