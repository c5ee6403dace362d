"""Rules on the plan as written: every id leads somewhere, every leg is met, every joint whole."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from trappoint.core.findings import pointer_to
from trappoint.core.quoting import listed
from trappoint.core.spelling import SpellingHints
from trappoint.model.layout import HEADINGS
from trappoint.rules.rule import Rule

if TYPE_CHECKING:
    from collections.abc import Iterator

    from trappoint.core.findings import Finding
    from trappoint.facts.facts import Facts
    from trappoint.model.layout import Arm, End, Layout, Signal


class Reference(NamedTuple):
    """One place of the plan that names something else."""

    where: tuple[str | int, ...]
    """The parts of its pointer, which is put together only for a finding."""
    name: str
    kinds: tuple[str, ...]
    """The kinds of thing that it may name, in the words of a sentence."""
    at_key: bool = False


_MAPS = {
    "track": "tracks",
    "points": "points",
    "crossing": "crossings",
    "turntable": "turntables",
    "platform": "platforms",
    "yard": "yards",
    "train": "trains",
}


_ARTICLES = {"points": "", "edge": "an "}


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
    here = ("signals", signal.id, "arms", arm.index)
    if arm.track != signal.track:
        yield Reference((*here, "track"), arm.track, ("track",))
    for key, names, kinds in (
        ("to", arm.to, ("track", "platform", "yard")),
        ("repeats", arm.repeats, ("arm",)),
    ):
        for index, name in enumerate(names):
            # One name may be written without a list: the pointer of the text itself is found,
            # since the nearest value that there is gets the mark.
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


def _unknown_references(facts: Facts) -> Iterator[Finding]:
    layout = facts.layout
    known = _known(layout)
    hints = SpellingHints()
    for reference in _references(layout):
        if not any(reference.name in known[kind] for kind in reference.kinds):
            names = [name for kind in reference.kinds for name in known[kind]]
            near = hints.nearest(reference.name, names)
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
    fix = f"Write {near} if that is what is meant" if near else f"Name {wanted} of this plan"
    told = "" if len(kinds) == 1 and kinds[0] == "arm" else f" ({wanted} is meant)"
    return UNKNOWN_REFERENCE.finding(
        pointer,
        f"Nothing in this plan is called {name}{told}.",
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
            legs = ", ".join(element.legs)
            free = [leg for leg in element.legs if f"{end.name}.{leg}" not in met]
            hint = f" Is {end.name}.{free[0]} meant?" if len(free) == 1 else ""
            return UNKNOWN_REFERENCE.finding(
                pointer,
                f"{end.name} has no leg {end.leg}.",
                f"Its legs are {legs}: write {end.name}. and one of them.{hint}",
                path=(end.name,),
                instead=f'"{end.name}.{free[0]}"' if len(free) == 1 else None,
            )
    names = [*layout.points, *layout.crossings, *layout.turntables]
    near = hints.nearest(end.name, names)
    kinds = ("points", "crossing", "turntable")
    return _unknown(pointer, end.name, kinds, near, at_key=False, leg=f".{end.leg}")


def _legs(layout: Layout) -> Iterator[tuple[str, str, str]]:
    for kind in ("points", "crossings", "turntables"):
        for element in getattr(layout, kind).values():
            for leg in element.legs:
                yield kind, element.id, leg


def _met(layout: Layout) -> dict[tuple[str, str, str], list[tuple[str, str]]]:
    """From each leg to the track ends that meet it: the tracks, and which of their ends."""
    met: dict[tuple[str, str, str], list[tuple[str, str]]] = {leg: [] for leg in _legs(layout)}
    for track in layout.tracks.values():
        for heading in ("up", "down"):
            end = track.end(heading)
            found = layout.element(end)
            if found is not None:
                met[found[0], end.name, end.leg].append((track.id, heading))
    return met


def _unmet_legs(facts: Facts) -> Iterator[Finding]:
    for (kind, id_, leg), ends in _met(facts.layout).items():
        if not ends:
            yield UNMET_LEG.finding(
                pointer_to(kind, id_),
                f"No track meets {id_}.{leg}.",
                f"Let one track end at {id_}.{leg}; a leg that leads nowhere is a track to a "
                "buffer.",
                path=(id_,),
            )


def _legs_met_twice(facts: Facts) -> Iterator[Finding]:
    for (_, id_, leg), ends in _met(facts.layout).items():
        for extra in ends[1:]:
            track, side = ends[0]
            yield LEG_MET_TWICE.finding(
                pointer_to("tracks", *extra),
                f"{id_}.{leg} is met by the {side} end of {track} already.",
                "Let each leg be met by one track end; two lines that join need points.",
                path=(id_, track),
            )


def _open_joints(facts: Facts) -> Iterator[Finding]:
    met: dict[str, list[str]] = {}
    for track in facts.layout.tracks.values():
        for heading in ("up", "down"):
            end = track.end(heading)
            if end.kind == "joint":
                met.setdefault(end.name, []).append(pointer_to("tracks", track.id, heading))
    names = [name for name, pointers in met.items() if len(pointers) == 1]
    hints = SpellingHints()
    told: set[str] = set()
    for name, pointers in met.items():
        if len(pointers) == 1 and name not in told:
            near = hints.nearest(name, [other for other in names if other != name])
            hint = f" Is joint:{near} meant?" if near else ""
            if near and hints.nearest(near, [o for o in names if o != near]) == name:
                told.add(near)  # One slip of the pen leaves two joints open: once is enough.
            yield OPEN_JOINT.finding(
                pointers[0],
                f"Only one track end meets joint:{name}.",
                f"Let a second track end meet joint:{name}, or end this one at a buffer or an "
                f"edge.{hint}",
                instead=f'"joint:{near}"' if near else None,
            )
        for extra in pointers[2:]:
            yield OPEN_JOINT.finding(
                extra,
                f"joint:{name} joins two track ends already.",
                "Give this end a joint of its own; where three lines meet there are points.",
            )


def _yards_that_overlap(facts: Facts) -> Iterator[Finding]:
    owner: dict[tuple[str, str], str] = {}
    for yard in facts.layout.yards.values():
        for kind in ("tracks", "points", "crossings", "turntables"):
            for index, member in enumerate(getattr(yard, kind)):
                first = owner.setdefault((kind, member), yard.id)
                if first != yard.id:
                    yield IN_TWO_YARDS.finding(
                        pointer_to("yards", yard.id, kind, index),
                        f"{member} belongs to yard {first} already.",
                        f"Take it out of one of the two, or make {first} and {yard.id} one yard.",
                        path=(member, first),
                    )


UNKNOWN_REFERENCE = Rule(
    "unknown-reference",
    "error",
    "plan",
    "an id that names nothing in this plan, or no part of this store",
    "What is named is not there, so nothing that depends on it can be worked out.",
    "the format: every reference leads to something in the same plan",
    {"signals": {"2": {"track": "mian"}}},
    {},
    _unknown_references,
)

UNMET_LEG = Rule(
    "unmet-leg",
    "error",
    "plan",
    "a leg of points, of a crossing or of a turntable that no track meets",
    "A leg that nothing meets leaves open where a train goes that takes it.",
    "the format: every leg of every element is met by exactly one track end",
    {"points": {"p4": {"normal": "left"}}},
    {},
    _unmet_legs,
)

LEG_MET_TWICE = Rule(
    "leg-met-twice",
    "error",
    "plan",
    "a leg that two track ends meet",
    "Two tracks can not meet one leg: one of the two ends is a slip of the pen.",
    "the format: every leg of every element is met by exactly one track end",
    {"tracks": {"siding": {"up": "p3.right"}}},
    {},
    _legs_met_twice,
)

OPEN_JOINT = Rule(
    "open-joint",
    "error",
    "plan",
    "a joint that does not have its two ends",
    "A joint joins two track ends; with one or three the track can not be followed.",
    "the format: exactly two track ends meet at a joint",
    {"tracks": {"siding": {"down": "joint:quay"}}},
    {
        "tracks": {
            "siding": {"down": "joint:quay", "stand": True},
            "quay": {"up": "joint:quay", "down": "buffer"},
        },
        "signals": {
            "8": {"track": "quay", "for": "up", "arms": [{"id": "8"}]},
            "9": {"track": "siding", "for": "down", "arms": [{"id": "9"}]},
        },
    },
    _open_joints,
)

IN_TWO_YARDS = Rule(
    "in-two-yards",
    "error",
    "plan",
    "a track or an element that belongs to two yards",
    "A yard is one place, for one engine at a time; what is in two would belong to two engines.",
    "the format: a yard counts as one place",
    {"yards": {"quay": {"tracks": ["siding"]}, "shore": {"tracks": ["siding"]}}},
    {"yards": {"quay": {"tracks": ["siding"]}}},
    _yards_that_overlap,
)
