"""Rules on references: each leads to something, and some things may be named only once."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from trappoint.core.findings import pointer_to
from trappoint.core.kinds import ONE_OF
from trappoint.core.quoting import listed
from trappoint.core.spelling import SpellingHints
from trappoint.model.layout import HEADINGS, lie_of
from trappoint.rules.route_phrases import thing
from trappoint.rules.rule import Rule

if TYPE_CHECKING:
    from collections.abc import Iterator

    from trappoint.core.findings import Finding
    from trappoint.core.meaning import Meanings
    from trappoint.facts.facts import Facts
    from trappoint.model.layout import Arm, End, Layout, Points, Signal


class Reference(NamedTuple):
    """A place of the plan that names something else."""

    where: tuple[str | int, ...]
    """The parts of its pointer; only a finding joins them."""
    name: str
    kinds: tuple[str, ...]
    """The kinds of things that it may name, as nouns."""
    at_key: bool = False


_MAPS = {
    ONE_OF[kind]: kind
    for kind in (*("tracks", "points", "crossings", "turntables"), "platforms", "yards", "trains")
}
"""From the noun for a kind of thing to the map of the plan that has such things."""

_ARTICLES = {"points": "", "edge": "an "}

UNKNOWN_REFERENCE = Rule(
    id="unknown-reference",
    level="error",
    stage="plan",
    summary="an id that names nothing in this plan, or no part of this store",
    why="The check cannot go on without the missing thing.",
    source="the format: every reference leads to something in the same plan",
    fails={"signals": {"2": {"track": "mian"}}},
    passes={},
)


@UNKNOWN_REFERENCE.checked_by
def _unknown_references(facts: Facts) -> Iterator[Finding]:
    layout = facts.layout
    known = _known(layout)
    hints = SpellingHints()
    meanings: Meanings | None = None
    for reference in _references(layout):
        if not any(reference.name in known[kind] for kind in reference.kinds):
            names = [name for kind in reference.kinds for name in known[kind]]
            meanings = meanings or _meanings(layout)
            meant = meanings.ids(reference.name, _maps_of(reference))
            near = meant[0] if len(meant) == 1 else hints.nearest(reference.name, names)
            if near and reference.where[0] == "edges":
                near = near.removeprefix("edge:")  # The key is the name alone.
            pointer = pointer_to(*reference.where)
            yield _unknown(pointer, reference.name, reference.kinds, near, at_key=reference.at_key)
    met = {end.text for track in layout.tracks.values() for end in (track.up, track.down)}
    for track in layout.tracks.values():
        for heading in HEADINGS:
            end = track.end(heading)
            if end.kind == "leg" and layout.element(end) is None:
                pointer = pointer_to("tracks", track.id, heading)
                yield _unknown_leg(layout, pointer, end, met, hints)


def _known(layout: Layout) -> dict[str, dict[str, None]]:
    """Return the names of each kind of thing, in the order of the plan, each once."""
    known: dict[str, dict[str, None]] = {
        kind: dict.fromkeys(getattr(layout, attribute)) for kind, attribute in _MAPS.items()
    }
    known["arm"] = dict.fromkeys(arm.id for arm in layout.arms())
    ends = (end for track in layout.tracks.values() for end in (track.up, track.down))
    known["edge"] = dict.fromkeys(end.text for end in ends if end.kind == "edge")
    known["slip"] = dict.fromkeys(c.id for c in layout.crossings.values() if c.lies)
    return known


def _meanings(layout: Layout) -> Meanings:
    """Return the things of a plan, by their names and by kind and id."""
    from trappoint.core.meaning import Meanings, Thing

    things = [
        Thing(kind, thing.id, thing.name)
        for kind in _MAPS.values()
        for thing in getattr(layout, kind).values()
    ]
    return Meanings([*things, *(Thing("arms", arm.id, arm.name) for arm in layout.arms())])


def _maps_of(reference: Reference) -> set[str]:
    """Return the maps of the things that a reference may name."""
    return {"arms" if kind == "arm" else _MAPS.get(kind, "") for kind in reference.kinds}


def _references(layout: Layout) -> Iterator[Reference]:
    for platform in layout.platforms.values():
        for index, track in enumerate(platform.tracks):
            yield Reference(("platforms", platform.id, "tracks", index), track, ("track",))
    for signal in layout.signals.values():
        yield Reference(("signals", signal.id, "track"), signal.track, ("track",))
        for arm in signal.arms:
            yield from _references_of_arm(signal, arm)
    for number, group in enumerate(layout.worked_together):
        for index, member in enumerate(group):
            yield Reference(("worked_together", number, index), member, ("points", "slip"))
    for yard in layout.yards.values():
        for kind in ("track", "points", "crossing", "turntable"):
            key = "points" if kind == "points" else f"{kind}s"
            for index, member in enumerate(getattr(yard, key)):
                yield Reference(("yards", yard.id, key, index), member, (kind,))
    for lever in layout.levers.values():
        for index, name in enumerate(lever.points):
            yield Reference(("levers", lever.number, "points", index), name, ("points", "slip"))
        for index, name in enumerate(lever.arms):
            yield Reference(("levers", lever.number, "arms", index), name, ("arm",))
    yield from (
        Reference(("edges", edge.name), f"edge:{edge.name}", ("edge",), at_key=True)
        for edge in layout.edges
    )
    yield from _references_of_scenes(layout)
    yield from _references_of_working(layout)


def _references_of_arm(signal: Signal, arm: Arm) -> Iterator[Reference]:
    here = ("signals", signal.id, "arms", arm.position)
    if arm.track != signal.track:
        yield Reference((*here, "track"), arm.track, ("track",))
    for key, names, kinds in (
        ("to", arm.to, ("track", "platform", "yard")),
        ("repeats", arm.repeats, ("arm",)),
    ):
        for index, name in enumerate(names):
            # A single name may be written without a list: then the text itself gets the mark.
            yield Reference((*here, key, index), name, kinds)
    if arm.under is not None:
        yield Reference((*here, "under"), arm.under, ("arm",))
    for index, name in enumerate(arm.never_with):
        yield Reference((*here, "never_with", index), name, ("arm",))
    for name in arm.expects:
        yield Reference((*here, "expects", name), name, ("points", "slip"), at_key=True)


def _references_of_scenes(layout: Layout) -> Iterator[Reference]:
    for scene in layout.scenes.values():
        here = ("scenes", scene.id)
        for name in scene.points:
            yield Reference((*here, "points", name), name, ("points", "slip"), at_key=True)
        for index, name in enumerate(scene.off):
            yield Reference((*here, "off", index), name, ("arm",))
        for name, train in scene.trains.items():
            yield Reference((*here, "trains", name), name, ("track", "yard"), at_key=True)
            if isinstance(train, str):
                yield Reference((*here, "trains", name), train, ("train",))


def _references_of_working(layout: Layout) -> Iterator[Reference]:
    somewhere = ("track", "platform", "yard")
    for session in layout.sessions.values():
        here = ("sessions", session.id)
        for name, train in session.trains.items():
            yield Reference((*here, "trains", name), name, ("track", "yard"), at_key=True)
            if isinstance(train, str):
                yield Reference((*here, "trains", name), train, ("train",))
        for number, move in enumerate(session.moves):
            step = (*here, "moves", number)
            yield Reference((*step, "train"), move.train, ("train",))
            yield Reference((*step, "to"), move.to, (*somewhere, "edge"))
            if move.start is not None:
                yield Reference((*step, "from"), move.start, (*somewhere, "edge"))
            for index, name in enumerate(move.via):
                yield Reference((*step, "via", index), name, somewhere)
            if move.arm is not None:
                yield Reference((*step, "arm"), move.arm, ("arm",))


def _unknown(
    pointer: str,
    name: str,
    kinds: tuple[str, ...],
    near: str | None,
    *,
    at_key: bool,
    leg: str = "",
) -> Finding:
    wanted = listed([_ARTICLES.get(kind, "a ") + kind for kind in kinds], "or")
    fix = f"Write {near} if you mean that" if near else f"Write the id of {wanted} of this plan"
    kind = "" if name.startswith("edge:") else f"{listed(list(kinds), 'or')} "
    return UNKNOWN_REFERENCE.finding(
        pointer,
        f"The plan has no {kind}{name}.",
        f"{fix}, or add {name}.",
        path=(name,),
        at_key=at_key,
        instead=f'"{near}{leg}"' if near else None,
    )


def _unknown_leg(
    layout: Layout, pointer: str, end: End, met: set[str], hints: SpellingHints
) -> Finding:
    for elements in (layout.points, layout.crossings, layout.turntables):
        element = elements.get(end.name)
        if element is not None:
            legs = [f"{end.name}.{leg}" for leg in element.legs]
            free = [leg for leg in element.legs if f"{end.name}.{leg}" not in met]
            hint = f", probably {end.name}.{free[0]}" if len(free) == 1 else ""
            return UNKNOWN_REFERENCE.finding(
                pointer,
                f"{end.name} has no leg {end.leg}.",
                f"Write {listed(legs, 'or')}{hint}.",
                path=(end.name,),
                instead=f'"{end.name}.{free[0]}"' if len(free) == 1 else None,
            )
    names = [*layout.points, *layout.crossings, *layout.turntables]
    near = hints.nearest(end.name, names)
    kinds = ("points", "crossing", "turntable")
    return _unknown(pointer, end.name, kinds, near, at_key=False, leg=f".{end.leg}")


ARM_ID_TWICE = Rule(
    id="arm-id-twice",
    level="error",
    stage="plan",
    summary="two arms with one id",
    why="Tables, levers and scenes name arms by their ids, so that each must have its own.",
    source="the format: arm ids are unique over the plan",
    fails={"signals": {"3": {"arms": [{"id": "2"}]}}},
    passes={},
)


@ARM_ID_TWICE.checked_by
def _arm_ids_twice(facts: Facts) -> Iterator[Finding]:
    first: dict[str, str] = {}
    for arm in facts.layout.arms():
        if arm.id in first:
            yield ARM_ID_TWICE.finding(
                pointer_to("signals", arm.signal, "arms", arm.position, "id"),
                f"There is an arm {arm.id} on signal {first[arm.id]} already.",
                "Give every arm of the plan an id of its own.",
                path=(arm.id, first[arm.id]),
            )
        first.setdefault(arm.id, arm.signal)


NO_SUCH_LIE = Rule(
    id="no-such-lie",
    level="error",
    stage="plan",
    summary="a lie that these points do not have",
    why="Points lie left or right, three-way points also middle, and slips straight or slip.",
    source="the format: lies as seen from the toe",
    fails={"points": {"p1": {"normal": "middle"}}},
    passes={},
)


@NO_SUCH_LIE.checked_by
def _lies_that_are_not(facts: Facts) -> Iterator[Finding]:
    layout = facts.layout
    for points in layout.points.values():
        if points.normal not in points.lies:
            yield _no_such_lie(pointer_to("points", points.id, "normal"), points, points.normal)
    yield from _curves_of_no_leg(layout)
    for arm in layout.arms():
        for name, word in arm.expects.items():
            switch = layout.switch(name)
            if switch is not None and lie_of(switch, word) is None:
                pointer = pointer_to("signals", arm.signal, "arms", arm.position, "expects", name)
                yield _no_such_lie(pointer, switch, word)
    for scene in layout.scenes.values():
        for name, word in scene.points.items():
            switch = layout.switch(name)
            if switch is not None and lie_of(switch, word) is None:
                yield _no_such_lie(pointer_to("scenes", scene.id, "points", name), switch, word)
    for number, group in enumerate(layout.worked_together):
        for index, name in enumerate(group):
            if name in layout.points and layout.points[name].kind == "three-way":
                yield NO_SUCH_LIE.finding(
                    pointer_to("worked_together", number, index),
                    f"{name} are three-way points, with two reverse lies, so one lever cannot work "
                    "them together with others.",
                    f"Take {name} out of the list.",
                    path=(name,),
                )


def _curves_of_no_leg(layout: Layout) -> Iterator[Finding]:
    for points in layout.points.values():
        for curve in points.curves:
            if curve.leg not in points.lies:
                pointer = pointer_to("points", points.id, "curves", curve.leg)
                yield _no_such_lie(pointer, points, curve.leg)


def _no_such_lie(pointer: str, switch: Points | object, word: str) -> Finding:
    lies: tuple[str, ...] = getattr(switch, "lies", ())
    name: str = getattr(switch, "id", "")
    return NO_SUCH_LIE.finding(
        pointer,
        f"{name} cannot lie {word}.",
        f"Write {listed(lies, 'or')}.",
        path=(name,),
    )


IN_TWO_YARDS = Rule(
    id="in-two-yards",
    level="error",
    stage="plan",
    summary="a track or an element that belongs to two yards",
    why="A yard is one place for one engine at a time, so nothing can be in two yards.",
    source="the format: a yard counts as one place",
    fails={"yards": {"quay": {"tracks": ["siding"]}, "shore": {"tracks": ["siding"]}}},
    passes={"yards": {"quay": {"tracks": ["siding"]}}},
)


@IN_TWO_YARDS.checked_by
def _yards_that_overlap(facts: Facts) -> Iterator[Finding]:
    owner: dict[tuple[str, str], str] = {}
    for yard in facts.layout.yards.values():
        for kind in ("tracks", "points", "crossings", "turntables"):
            for index, member in enumerate(getattr(yard, kind)):
                first = owner.setdefault((kind, member), yard.id)
                if first != yard.id:
                    yield IN_TWO_YARDS.finding(
                        pointer_to("yards", yard.id, kind, index),
                        f"{facts.names.called(kind, member)} already belongs to "
                        f"{thing(facts, 'yards', first)}.",
                        f"Take {member} out of yard {first} or yard {yard.id}, or make the two one "
                        "yard.",
                        path=(member, first),
                    )
