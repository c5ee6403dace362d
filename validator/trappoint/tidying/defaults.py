"""What follows by itself in a plan as it is written: each value that may as well be left out.

What follows from the signalling, which road an arm speaks for, is in ``tidying.speaking``. Left
alone is what the plan of a board leaves to the whole: a track that ends at an edge is no stand any
more where that edge is joined, unless it says so; one that is none may come to serve a platform.
Left alone as well is ``"stand": true`` where the word says more than its absence.
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
"""An object of a tree, in which numbers are ``Number``."""

Path = tuple[str | int, ...]


class Default(NamedTuple):
    """One value that follows by itself."""

    path: Path
    """The object that may have it, as the keys and numbers that lead there."""
    key: str
    value: Any
    said: bool
    """True if the plan has it, and says the same."""


def plain_defaults(tree: Data) -> Iterator[Default]:
    """Yield what follows without looking at how trains run, of a plan that the schema accepts."""
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
    """Another key, without which it may not be there."""


@cache
def _fixed_defaults() -> dict[str, tuple[_Fixed, ...]]:
    """Return for each kind of thing what the schema says of its defaults."""
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
            # The word makes all pieces of a track a stand, its end only the last one.
            alike = name in served or name not in signalled.cut
            if alike and not signalled.goes_on(track):
                yield _default(("tracks", name), track, "stand", True)
        elif not leads_out:
            # In a whole it may come to serve a platform of another board, and be a stand.
            yield _default(("tracks", name), track, "stand", False)


class _Signalled:
    """Where the tracks have signals that hold trains."""

    def __init__(self, tree: Data) -> None:
        self.cut: set[str] = set()
        """The tracks with such a signal along them."""
        self._held: set[str] = set()
        """The joints with such a signal right at them."""
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
        """Return whether a track goes on over a joint at which no signal stands.

        Where two tracks of one section both have the word for it, that is a finding.
        """
        return any(
            end.startswith("joint:") and end not in self._held
            for end in (track["up"], track["down"])
        )


def _dolls(name: str, signal: Data) -> Iterator[Default]:
    """Yield the doll of each arm, as follows from those before it, and what carries them."""
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
    """Yield for each arm the trains that it speaks to: those of its signal."""
    for index, arm in enumerate(signal["arms"]):
        for key in ("track", "for"):
            yield _default(_arm_path(name, index), arm, key, signal[key])


# --- where signals stand


def _measures(tree: Data, name: str, signal: Data) -> Iterator[Default]:
    """Yield where a signal and its arms stand: right at the end that their trains run to.

    An arm on the track of its signal stands where that does, unless it says otherwise.
    """
    arms = [_Standing(tree, signal, arm) for arm in signal["arms"]]
    if _in_two_ways(arms):
        return
    end = _end(tree, signal["track"], signal["for"])
    given = signal.get("at_mm")
    if end is not None:
        found = _default(("signals", name), signal, "at_mm", end)
        # An arm for trains that run the other way would come to stand at its own end.
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
    """Where an arm's trains are held."""

    def __init__(self, tree: Data, signal: Data, arm: Data) -> None:
        self.track = str(arm.get("track", signal["track"]))
        self.heading = str(arm.get("for", signal["for"]))
        self.on_own_track = self.track == signal["track"]
        self.inherits = self.on_own_track and "at_mm" not in arm
        self.at_mm = signal.get("at_mm") if self.inherits else arm.get("at_mm")
        """None: at the end; said or not."""
        self.end = _end(tree, self.track, self.heading)


def _end(tree: Data, track: str, heading: str) -> Number | None:
    """Return where the end is that trains run to; None if the track has no known length."""
    length = tree["tracks"].get(track, {}).get("length_mm")
    return Number("0") if heading == "up" and length is not None else length


def _in_two_ways(arms: list[_Standing]) -> bool:
    """Return whether arms for the same trains stand at the end, one of them by a measure.

    Arms of one kind count as two heads on one spot, which is a finding, and stays one.
    """
    ways: dict[tuple[str, str], set[bool]] = {}
    for arm in arms:
        at_end = arm.at_mm is None or (arm.end is not None and _same(arm.at_mm, arm.end))
        if at_end:
            ways.setdefault((arm.track, arm.heading), set()).add(arm.at_mm is None)
    return any(len(each) == 2 for each in ways.values())
