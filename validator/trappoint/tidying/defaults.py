"""The default values of a plan's keys, as far as they do not depend on the signalling.

``tidying.derived_defaults`` finds the defaults that follow from the signalling, such as the routes
of an arm. A default that joining boards can change is left out: joining an edge ends the stand of
the track there, unless that track has ``"stand": true``, and another board may bring a platform
for a track that is no stand. ``"stand": true`` is no default either if it makes more pieces of the
track a stand than its end does.
"""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING, Any, NamedTuple

from trappoint.model.layout import HOLDING
from trappoint.schema.published import layout_schema
from trappoint.tidying.tree import Number

if TYPE_CHECKING:
    from collections.abc import Iterator

Data = dict[str, Any]
"""An object of a source tree; its numbers are of type ``Number``."""

Path = tuple[str | int, ...]


class Default(NamedTuple):
    """One default value of a key."""

    path: Path
    """The object that may have the key, as the keys and indices that lead there."""
    key: str
    value: Any
    said: bool
    """True if the plan gives the key this very value."""


def plain_defaults(tree: Data) -> Iterator[Default]:
    """Yield the defaults that do not depend on how trains run; the schema must accept the tree."""
    fixed = _fixed_defaults()
    for kind, defaults in fixed.items():
        for name, given in tree.get(kind, {}).items():
            yield from _of_thing((kind, name), given, defaults)
    yield from _stands(tree)
    for name, signal in tree.get("signals", {}).items():
        for index, arm in enumerate(signal["arms"]):
            yield from _of_thing(_arm_path(name, index), arm, _fixed("arm"))
        yield from _dolls(name, signal)
        yield from _whose(name, signal)
        yield from _measures(tree, name, signal)


class _Fixed(NamedTuple):
    """A key whose default is the same everywhere."""

    key: str
    value: Any
    goes_with: str | None
    """Another key that must be present too; None if there is no such key."""


@cache
def _fixed_defaults() -> dict[str, tuple[_Fixed, ...]]:
    """Return the defaults in the schema, by kind of thing."""
    found = {}
    for kind, given in layout_schema()["properties"].items():
        entry = given.get("additionalProperties")
        if isinstance(entry, dict) and "$ref" in entry:
            found[kind] = _fixed(entry["$ref"].rpartition("/")[2])
    return found


@cache
def _fixed(thing: str) -> tuple[_Fixed, ...]:
    schema = layout_schema()["$defs"][thing]
    others = schema.get("dependentRequired", {})
    return tuple(
        _Fixed(key, each["default"], others.get(key, [None])[0])
        for key, each in schema["properties"].items()
        if "default" in each
    )


def _of_thing(path: Path, given: Data, defaults: tuple[_Fixed, ...]) -> Iterator[Default]:
    for key, value, goes_with in defaults:
        if goes_with is None or goes_with in given:
            yield _default(path, given, key, value)


def _default(path: Path, given: Data, key: str, value: Any) -> Default:
    return Default(path, key, value, key in given and _same(given[key], value))


def _same(one: Any, other: Any) -> bool:
    if isinstance(one, Number) and isinstance(other, Number):
        return one.value() == other.value()
    return type(one) is type(other) and bool(one == other)


def _arm_path(signal: str, index: int) -> Path:
    return ("signals", signal, "arms", index)


def _stands(tree: Data) -> Iterator[Default]:
    served = {track for each in tree.get("platforms", {}).values() for track in each["tracks"]}
    ends = {name: (track["up"], track["down"]) for name, track in tree["tracks"].items()}
    leads_out = any(end.startswith("edge:") for both in ends.values() for end in both)
    signalled = _Signalled(tree)
    for name, track in tree["tracks"].items():
        if any(end.startswith("edge:") for end in ends[name]):
            continue
        if name in served or "buffer" in ends[name]:
            # "stand" makes all pieces of a track a stand; its end makes only the last piece one.
            alike = name in served or name not in signalled.cut
            if alike and not signalled.goes_on(track):
                yield _default(("tracks", name), track, "stand", True)
        elif not leads_out:
            # In a whole, a platform of another board may make this track a stand.
            yield _default(("tracks", name), track, "stand", False)


class _Signalled:
    """The places along the tracks where signals hold trains."""

    def __init__(self, tree: Data) -> None:
        self.cut: set[str] = set()
        """The tracks with such a signal somewhere between their ends."""
        self._held: set[str] = set()
        """The joints with such a signal at the joint itself."""
        for signal in tree.get("signals", {}).values():
            for arm in signal["arms"]:
                if arm.get("kind", "stop") in HOLDING:
                    self._add(tree, _Standing(tree, signal, arm))

    def _add(self, tree: Data, arm: _Standing) -> None:
        end = Number("0") if arm.heading == "up" else arm.end
        if arm.at_mm is not None and not _same(arm.at_mm, end):
            self.cut.add(arm.track)
        elif arm.track in tree["tracks"]:
            self._held.add(tree["tracks"][arm.track][arm.heading])

    def goes_on(self, track: Data) -> bool:
        """Return whether a track continues over a joint without a signal.

        Both tracks then belong to one section; ``stand`` on both is a finding.
        """
        return any(
            end.startswith("joint:") and end not in self._held
            for end in (track["up"], track["down"])
        )


def _dolls(name: str, signal: Data) -> Iterator[Default]:
    """Yield the doll of each arm, counted on from the arms before it, and the signal's mount."""
    dolls: dict[str, int] = {}
    last = 0
    for index, arm in enumerate(signal["arms"]):
        doll = dolls.get(arm.get("under", "")) or last + 1
        yield _default(_arm_path(name, index), arm, "doll", Number(str(doll)))
        if "doll" in arm:
            doll = int(float(arm["doll"].digits))
        last = max(last, doll)
        dolls[arm["id"]] = doll
    mount = "post" if len(set(dolls.values())) == 1 else "bracket"
    yield _default(("signals", name), signal, "mount", mount)


def _whose(name: str, signal: Data) -> Iterator[Default]:
    """Yield for each arm the track and direction of its signal."""
    for index, arm in enumerate(signal["arms"]):
        for key in ("track", "for"):
            yield _default(_arm_path(name, index), arm, key, signal[key])


# --- where signals stand


def _measures(tree: Data, name: str, signal: Data) -> Iterator[Default]:
    """Yield ``at_mm`` of a signal and its arms: the end of the track that their trains run to.

    An arm on its signal's track takes the signal's ``at_mm`` as its default.
    """
    arms = [_Standing(tree, signal, arm) for arm in signal["arms"]]
    if _in_two_ways(arms):
        return
    end = _end(tree, signal["track"], signal["for"])
    given = signal.get("at_mm")
    if end is not None:
        found = _default(("signals", name), signal, "at_mm", end)
        # Without the key, an arm for trains the other way would move to its own end.
        there = [arm for arm in arms if arm.on_own_track and _same(arm.at_mm, given)]
        alike = all(arm.heading == signal["for"] for arm in there)
        found = found._replace(said=found.said and alike)
        yield found
        if found.said:
            given = None
    for index, arm in enumerate(arms):
        value = given if arm.on_own_track and given is not None else arm.end
        if value is not None:
            yield _default(_arm_path(name, index), signal["arms"][index], "at_mm", value)


class _Standing:
    """The place at which an arm holds trains."""

    def __init__(self, tree: Data, signal: Data, arm: Data) -> None:
        self.track = str(arm.get("track", signal["track"]))
        self.heading = str(arm.get("for", signal["for"]))
        self.on_own_track = self.track == signal["track"]
        self.inherits = self.on_own_track and "at_mm" not in arm
        self.at_mm = signal.get("at_mm") if self.inherits else arm.get("at_mm")
        """The given place; None if none is given, which means the end."""
        self.end = _end(tree, self.track, self.heading)


def _end(tree: Data, track: str, heading: str) -> Number | None:
    """Return the position of the end that trains run to, in mm; None without a length."""
    length = tree["tracks"].get(track, {}).get("length_mm")
    return Number("0") if heading == "up" and length is not None else length


def _in_two_ways(arms: list[_Standing]) -> bool:
    """Return whether only some of the arms at one end give their place as a measure.

    Such arms count as two heads on one spot. That is a finding, and it must remain one.
    """
    ways: dict[tuple[str, str], set[bool]] = {}
    for arm in arms:
        at_end = arm.at_mm is None or (arm.end is not None and _same(arm.at_mm, arm.end))
        if at_end:
            ways.setdefault((arm.track, arm.heading), set()).add(arm.at_mm is None)
    return any(len(each) == 2 for each in ways.values())
