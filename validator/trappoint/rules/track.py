"""Rules on the track itself: what can be reached, what can be set, which end is up."""

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
    from trappoint.model.layout import Head, Layout


def _unreachable(facts: Facts) -> Iterator[Finding]:
    network = facts.network
    if not network.stands and not network.entries:
        yield NO_STAND.finding(
            "/tracks",
            "There is no track on which a train may stand, so nothing can be checked.",
            'Give a track a platform, a buffer or an edge, or write "stand": true.',
            at_key=True,
        )
        return
    reached = _reached(facts)
    places = {network.place_of[state] for state in reached}
    unreached = [
        number
        for number, place in enumerate(network.places)
        # Only strays come to a drag.
        if place.kind == "section" and number not in places and number not in network.drags
    ]
    if not unreached:
        return
    from trappoint.rules.loops import advise_for_unreached

    advice = advise_for_unreached(facts, reached)
    told: set[str] = set()
    for number in unreached:
        place = network.places[number]
        for track in network.tracks_of(number):
            if track not in told:
                told.add(track)
                yield UNREACHABLE.finding(
                    pointer_to("tracks", track),
                    f"No train can ever come to {track if place.id != track else place.name}.",
                    advice.get(
                        number,
                        "Look at `running` here and on the tracks beside it, at the ends that it "
                        "names, and at signals that have no route.",
                    ),
                    path=(track,),
                    at_key=True,
                )


def _reached(facts: Facts) -> set[int]:
    """Return every state to which some train can come, other trains left out of account."""
    network, routes = facts.network, facts.routes
    halted = {state for stand in network.stands for state in stand.states}
    halted.update(entry.state for entry in network.entries)
    passed = set(halted)
    waiting = list(halted)
    while waiting:
        onward: list[int] = []
        for exit_ in network.exits[waiting.pop()]:
            if exit_.head < 0 or exit_.head in routes.overflowed_heads:
                onward.append(exit_.to)
                continue
            for number in routes.of_head[exit_.head]:
                # Only at its end may it go on as it likes: on the way its road is set.
                passed.update(routes.all[number].path)
                onward.append(routes.all[number].path[-1])
        for state in onward:
            if state not in halted:
                halted.add(state)
                waiting.append(state)
    return halted | passed


def _never_met(facts: Facts) -> Iterator[Finding]:
    network = facts.network
    if not network.stands and not network.entries:
        return
    reached = _reached(facts)
    places = {network.place_of[state] for state in reached}
    for number, head in enumerate(network.heads):
        state = network.held_at[number]
        known = state >= 0 and state not in reached and network.place_of[state] in places
        if known and facts.layout.tracks[head.track].allows(head.heading):
            yield NEVER_MET.finding(
                pointer_to("signals", head.signal),
                f"No train ever comes to signal {head.signal}: none can run {head.heading} on "
                f"{head.track}.",
                _where_never_met(facts.layout, head),
                path=(head.signal, head.track),
                at_key=True,
            )


def _where_never_met(layout: Layout, head: Head) -> str:
    if layout.tracks[head.track].stand:
        return "Let it face the other way (`for`), move it along the track, or take it out."
    return (
        f"Look which way it faces (`for`); or, if trains turn back on {head.track}, write "
        '"stand": true there.'
    )


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

NEVER_MET = Rule(
    "unreachable-signal",
    "warning",
    "facts",
    "a signal to which no train ever comes",
    "It can be taken off for nobody: it faces the wrong way, or a stand is forgotten.",
    "follows from the moves; common practice, no source",
    {"tracks": {"siding": {"stand": False}}},
    {},
    _never_met,
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
    "crossover-not-worked-together",
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

TRAP_APART = Rule(
    "trap-not-worked-together",
    "warning",
    "facts",
    "trap points that are not worked together with the points that they guard",
    "With the two told apart, the trap can be closed while the points lie for the running line: "
    "a stray vehicle then runs into it.",
    "Board of Trade requirements 1892, rules 5 and 7d (safety points; points interlocked among "
    "themselves where possible)",
    _trapped({}),
    _trapped({"worked_together": [["p3", "t"]]}),
    _trap_apart,
)
