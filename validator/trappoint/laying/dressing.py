"""Arms on a signal of a draft: one for each of its roads, when it is put and again later."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING, Any

from trappoint.facts.facts import Facts
from trappoint.laying.arming import arm_ids, arms_wanted, roads_of
from trappoint.laying.describing import put_into
from trappoint.laying.draft import as_tree, measure_of
from trappoint.laying.mending import rename, take_out
from trappoint.model.building import build_layout
from trappoint.model.layout import End

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from trappoint.laying.draft import Draft
    from trappoint.laying.draft import Thing as Data
    from trappoint.model.layout import Head, Layout, Track

MOST_ROADS = 26
"""The most roads for which a step gives a signal its arms."""


def facts_of(draft: Draft) -> Facts:
    """Return the facts of a plan's own track and signals, without what its boards bring."""
    return Facts(own_layout(build_layout(draft.data())))


def own_layout(layout: Layout) -> Layout:
    """Return a plan without what its boards bring, and without its own things that name boards.

    A plan without boards stays the same.
    """
    if not layout.boards and not any("/" in key for key in layout.tracks):
        return layout
    kinds = ("tracks", "points", "crossings", "turntables", "platforms", "signals", "levers")
    own: dict[str, Any] = {
        kind: {key: each for key, each in getattr(layout, kind).items() if "/" not in key}
        for kind in kinds
    }
    tracks = own["tracks"] = _apart(own["tracks"])
    own["platforms"] = {
        key: platform
        for key, platform in own["platforms"].items()
        if all(track in tracks for track in platform.tracks)
    }
    own["signals"] = {
        key: signal
        for key, signal in own["signals"].items()
        if all(arm.track in tracks for arm in signal.arms)
    }
    groups = [each for each in layout.worked_together if not any("/" in key for key in each)]
    return layout._replace(
        **own, worked_together=tuple(groups), yards={}, scenes={}, sessions={}, boards=()
    )


def _apart(tracks: Mapping[str, Track]) -> dict[str, Track]:
    """Return the tracks of a plan; where a board is joined to one, it ends at an edge."""
    met = Counter(end.text for track in tracks.values() for end in (track.up, track.down))

    def own(end: End) -> End:
        alone = end.kind == "joint" and met[end.text] == 1
        return End(f"edge:{end.name}", "edge", end.name) if alone else end

    return {
        key: track._replace(up=own(track.up), down=own(track.down)) for key, track in tracks.items()
    }


def facts_for(layout: Layout) -> Facts:
    """Return the facts of a plan's own track and signals; those of the last plan are kept.

    People point at one plan many times.
    """
    kept = _kept[0] if _kept else None
    if kept is None or kept[0] is not layout:
        kept = (layout, Facts(own_layout(layout)))
        _kept[:] = [kept]
    return kept[1]


def keep_facts(facts: Facts) -> None:
    """Keep the facts of a plan that was checked, if all of it is its own track and signals."""
    if own_layout(facts.layout) is facts.layout:
        _kept[:] = [(facts.layout, facts)]


_kept: list[tuple[Layout, Facts]] = []


def lacks_arms(layout: Layout, only: str | None = None) -> Iterator[str]:
    """Yield the signals of a plan that want other arms; with ``only``, that one if it does."""
    facts = facts_for(layout)
    for at, head in enumerate(facts.network.heads):
        if head.stops and not head.elsewhere and only in (None, head.signal):
            wanted = arms_wanted(facts, at)
            if wanted is not None and len(wanted) <= MOST_ROADS:
                yield head.signal


def dress(draft: Draft, key: str) -> int:
    """Give a signal with one stop arm an arm for each road; return the number of roads.

    What names its arm names the first of the new ones.
    """
    facts = facts_of(draft)
    signal = draft.thing("signals", key)
    at = next((n for n, head in enumerate(facts.network.heads) if head.signal == key), None)
    roads = [] if at is None else roads_of(facts, at)
    if not 1 < len(roads) <= MOST_ROADS or _one_disc(signal):
        return len(roads)
    names = _new_arm_ids(draft, key, len(roads))
    (arm,) = signal["arms"]
    if arm["id"] not in names:
        rename(draft, "arms", arm["id"], names[0])
        signal = draft.thing("signals", key)
    signal["arms"] = [
        {"id": name, **_aim(road.to)} for name, road in zip(names, roads, strict=True)
    ]
    let_it_be_a_bracket(signal)
    for name in names:
        draft.touch("arms", name)
    return len(roads)


def _one_disc(signal: Data) -> bool:
    """Return whether one disc gives leave for all roads, as a ground disc does."""
    return bool(signal.get("form") == "disc")


def _new_arm_ids(draft: Draft, signal: str, count: int) -> list[str]:
    own = {arm["id"] for arm in draft.thing("signals", signal)["arms"]}
    used = draft.arms().keys() - own
    names = list(arm_ids(signal, count))
    if used.isdisjoint(names):
        return names
    found: list[str] = []
    number = 1
    while len(found) < count:
        name = f"{signal[:34]}-{number}"
        if name not in used:
            found.append(name)
        number += 1
    return found


def _aim(to: Sequence[str]) -> Data:
    return {} if not to else {"to": to[0] if len(to) == 1 else list(to)}


def let_it_be_a_bracket(signal: Data) -> None:
    """Forget that a signal stands on a post or on the ground: several dolls make a bracket."""
    if signal.get("mount") in ("post", "ground"):
        del signal["mount"]


def arm_again(draft: Draft, key: str, facts: Facts) -> list[str]:
    """Give a signal an arm for each road, with as few changes as possible; return them.

    ``facts`` are those of the draft (``facts_of``); the arms of other signals may have changed
    since, because they change no road.
    """
    done: list[str] = []
    thing = draft.thing("signals", key)
    before = list(thing["arms"])
    gone: list[str] = []
    for number, head in enumerate(facts.network.heads):
        wanted = arms_wanted(facts, number) if head.signal == key and head.stops else None
        if wanted is None or len(wanted) > MOST_ROADS:
            continue
        old = head.arms_of("stop")
        by_id = {arm["id"]: arm for arm in thing["arms"]}
        new: list[Data] = []
        for arm, to, stays in wanted:
            if arm is None:
                name = _spare_arm(draft, key, [each["id"] for each in new])
                new.append({"id": name, **_aim(to), **_own_place(thing, head)})
                done.append(f"{name} added")
                continue
            given = by_id[arm.id]
            if not stays or ("to" not in given and to):
                put_into(given, {"to": _aim(to).get("to")})
            if not stays:
                done.append(f"{arm.id} given another road")
            given.pop("doll", None)
            new.append(given)
        kept = {each["id"] for each in new}
        gone += [arm.id for arm in old if arm.id not in kept]
        first = min(arm.position for arm in old)
        own = {arm.id for arm in old}
        others = [arm for arm in thing["arms"] if arm["id"] not in own]
        at = sum(1 for arm in before[:first] if arm["id"] not in own)
        thing["arms"] = [*others[:at], *new, *others[at:], *(by_id[name] for name in gone)]
        if len(new) > 1:
            let_it_be_a_bracket(thing)
    if gone:
        take_out(draft, *(("arms", name) for name in gone))
        done += [f"{name} taken out" for name in gone]
    if done:
        draft.touch("signals", key)
    return done


def _spare_arm(draft: Draft, signal: str, more: Sequence[str]) -> str:
    used = {*draft.arms(), *more}
    number = 2
    while f"{signal[:34]}-{number}" in used:
        number += 1
    return f"{signal[:34]}-{number}"


def _own_place(signal: Data, head: Head) -> Data:
    """Return the keys that give an arm the track, heading and place of its head."""
    found: Data = {}
    if head.track != signal["track"]:
        found["track"] = head.track
    if head.heading != signal["for"]:
        found["for"] = head.heading
    if head.at_mm is not None and (found or head.at_mm != measure_of(signal, "at_mm")):
        found["at_mm"] = as_tree(head.at_mm)
    return found
