"""From a choice of posts to the data of a plan: ids, arms, and references to them."""

from __future__ import annotations

from copy import deepcopy
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from trappoint.facts.facts import Facts
from trappoint.laying.arming import arm_ids, arms_wanted
from trappoint.model.building import build_layout
from trappoint.model.layout import HEADINGS
from trappoint.proposing.new_arms import mount_for, new_signal

if TYPE_CHECKING:
    from collections.abc import Collection, Iterator, Mapping

    from trappoint.laying.arming import ArmWanted
    from trappoint.model.layout import Head
    from trappoint.proposing.posts import PossiblePost, PostGround

Data = dict[str, Any]

MAX_FEET = 10_000
"""The number of ids to try for a disc."""


@dataclass(slots=True)
class Written:
    """A plan with the signals of a proposal."""

    data: Data
    added: list[str] = field(default_factory=list)
    """The ids of signals that are new."""
    moved: dict[str, tuple[str, str]] = field(default_factory=dict)
    """From the id of a moved signal to its former track and heading."""
    gone: list[str] = field(default_factory=list)
    aimed: dict[str, list[str]] = field(default_factory=dict)
    """From the id of a signal to the changes of its arms, in words."""
    fresh_arms: list[str] = field(default_factory=list)
    """The ids of arms added to signals that stay."""
    dropped: list[str] = field(default_factory=list)
    """Pointers to removed values, which referred to removed arms."""


def write_choice(
    data: Mapping[str, Any],
    ground: PostGround,
    chosen: Collection[int],
    beside: Mapping[int, tuple[int, ...]] | None = None,
) -> Written:
    """Return the plan with the chosen posts, each with an arm for every road.

    ``beside`` maps the first new post of each gantry to all its posts, from left to right.
    """
    result = Written(deepcopy(dict(data)))
    signals: Data = result.data.setdefault("signals", {})
    old = [p for n, p in enumerate(ground.posts) if not p.new and p.free and n not in chosen]
    new = _in_plan_order(ground, [p for n, p in enumerate(ground.posts) if p.new and n in chosen])
    others = {number for group in (beside or {}).values() for number in group[1:]}
    for post in _pair(old, new, signals, result):
        number = ground.number[post.name]
        if number in others:
            continue
        group = (beside or {}).get(number, (number,))
        name = free_number(signals)
        posts = [ground.posts[each] for each in group]
        arms = [{"id": name}, *({"id": f"{name}?{at}", "track": each.track}
                                for at, each in enumerate(posts[1:]))]  # fmt: skip
        signals[name] = {"track": posts[0].track, "for": post.heading, "arms": arms}
        result.added.append(name)
    _arm_all(result, ground.sidings)
    if not signals:
        del result.data["signals"]
    _drop_references(data, result)
    return result


def _in_plan_order(ground: PostGround, posts: list[PossiblePost]) -> list[PossiblePost]:
    place = {track: number for number, track in enumerate(ground.bare.tracks)}
    return sorted(posts, key=lambda post: (place[post.track], HEADINGS.index(post.heading)))


def free_number(signals: Data) -> str:
    """Return the first number that no signal and no arm has."""
    taken = {*signals, *(arm["id"] for signal in signals.values() for arm in signal["arms"])}
    number = 1
    while any(name == str(number) or name in _spelled(number) for name in taken):
        number += 1
    return str(number)


def _spelled(number: int) -> set[str]:
    return {name for count in (1, 2, 3) for name in arm_ids(str(number), count)}


def _pair(
    old: list[PossiblePost], new: list[PossiblePost], signals: Data, result: Written
) -> list[PossiblePost]:
    """Move signals that are not chosen to new posts; return the posts that are left.

    A signal is turned round or moved along its own track rather than taken to another.
    """
    left = list(new)
    for nearness in (_same_track, _any_track):
        for post in list(old):
            to = next((one for one in left if nearness(post, one)), None)
            if to is None or post.name in result.moved:
                continue
            left.remove(to)
            old.remove(post)
            result.moved[post.name] = post.track, post.heading
            kept = {
                key: value
                for key, value in signals[post.name].items()
                if key not in ("track", "for", "at_mm", "arms", "duties", "spacing_mm")
            }
            arms = signals[post.name]["arms"][:1]
            signals[post.name] = {
                "track": to.track, "for": to.heading, **kept, "arms": [{"id": arms[0]["id"]}],
            }  # fmt: skip
    for post in old:
        result.gone.append(post.name)
        del signals[post.name]
    return left


def _same_track(one: PossiblePost, other: PossiblePost) -> bool:
    return one.track == other.track


def _any_track(one: PossiblePost, other: PossiblePost) -> bool:
    return True


# --- arms


def _arm_all(result: Written, sidings: frozenset[str]) -> None:
    """Give every signal an arm for each road; arms that already do so stay unchanged.

    The signals of boards (`BOARD/ID`) are in other files, and stay too.
    """
    facts = Facts(build_layout(result.data))
    fresh = {*result.added, *result.moved}
    changed: dict[str, dict[int, list[Data]]] = {}
    heads: dict[str, list[int]] = {}
    for number, head in enumerate(facts.network.heads):
        if not head.stops or head.elsewhere:
            continue
        if head.signal in fresh:
            heads.setdefault(head.signal, []).append(number)
        elif "/" not in head.signal and (wanted := arms_wanted(facts, number)) is not None:
            arms = _aim_again(wanted, head, result)
            places = changed.setdefault(head.signal, {})
            places.update({arm.position: [] for arm in head.arms_of("stop")})
            places[min(arm.position for arm in head.arms_of("stop"))] = arms
    for name, numbers in heads.items():
        _arm_new(facts, name, numbers, sidings, result)
    for name, places in changed.items():
        _put_in(result.data["signals"][name], places)


def _arm_new(
    facts: Facts, name: str, heads: list[int], sidings: frozenset[str], result: Written
) -> None:
    """Give a new or moved signal its arms and its mount, and discs for sidings at its foot."""
    signals = result.data["signals"]
    order = [arm.get("track", signals[name]["track"]) for arm in signals[name]["arms"]]
    heads.sort(key=lambda number: order.index(facts.network.heads[number].track))
    given, feet = new_signal(facts, heads, name, sidings)
    if name in result.moved:
        kept = signals[name]
        first = kept["arms"][0]["id"]
        arms = [{**arm, "id": first} for arm in given["arms"]]
        given = {**given, **kept, "arms": arms if len(arms) == 1 else given["arms"]}
        if len(arms) > 1 and given["mount"] in ("post", "ground"):
            given["mount"] = mount_for(len(arms))
    signals[name] = given
    for disc in feet:
        free = next(each for each in _foot_ids(name) if each not in signals)
        signals[free] = {**disc, "arms": [{"id": free, **disc["arms"][0]}]}
        result.added.append(free)


def _foot_ids(name: str) -> Iterator[str]:
    yield f"{name}S"
    for number in range(2, MAX_FEET):
        yield f"{name}S{number}"


def _put_in(signal: Data, places: dict[int, list[Data]]) -> None:
    """Replace arms at their positions. The dolls are numbered again."""
    arms = [places.get(index, [arm]) for index, arm in enumerate(signal["arms"])]
    signal["arms"] = [
        {key: value for key, value in arm.items() if key != "doll"} for some in arms for arm in some
    ]
    if signal.get("mount") == "post":
        del signal["mount"]


def _arm(name: str, to: tuple[str, ...]) -> Data:
    return {"id": name, "to": _to(to)} if to else {"id": name}


def _to(to: tuple[str, ...]) -> Any:
    return to[0] if len(to) == 1 else list(to)


def _aim_again(wanted: list[ArmWanted], head: Head, result: Written) -> list[Data]:
    """Return the stop arms of a signal that stays."""
    signal = result.data["signals"][head.signal]
    done = result.aimed.setdefault(head.signal, [])
    arms: list[Data] = []
    for arm, to, stays in wanted:
        if arm is None:
            given = {**_arm(_spare_id(result, head.signal), to), **_own_place(signal, head)}
            result.fresh_arms.append(given["id"])
            done.append(f"{given['id']} added")
        elif stays:
            given = dict(signal["arms"][arm.position])
            if "to" not in given and to:
                given["to"] = _to(to)
        else:
            given = {k: v for k, v in signal["arms"][arm.position].items() if k != "to"}
            given |= {"to": _to(to)} if to else {}
            done.append(f"{arm.id} given another route")
        arms.append(given)
    kept = {each.arm.id for each in wanted if each.arm is not None}
    done += [f"{arm.id} removed" for arm in head.arms_of("stop") if arm.id not in kept]
    return arms


def _own_place(signal: Data, head: Head) -> Data:
    """Return the keys that give an arm the track, heading and distance of its head."""
    found: Data = {}
    if head.track != signal["track"]:
        found["track"] = head.track
    if head.heading != signal["for"]:
        found["for"] = head.heading
    if head.at_mm is not None and (found or head.at_mm != signal.get("at_mm")):
        found["at_mm"] = head.at_mm
    return found


def _spare_id(result: Written, signal: str) -> str:
    taken = {*result.fresh_arms, *_arms_in(result.data)}
    number = 2
    while f"{signal}-{number}" in taken:
        number += 1
    return f"{signal}-{number}"


# --- references to removed arms


def _drop_references(before: Mapping[str, Any], result: Written) -> None:
    gone = _arms_in(before) - _arms_in(result.data)
    if not gone:
        return
    for pointer, holder, key in _lists_of_arms(result.data):
        named = holder[key]
        words = [named] if isinstance(named, str) else named
        kept = [word for word in words if word not in gone]
        if len(kept) == len(words):
            continue
        result.dropped += [f"{pointer}: {word}" for word in words if word in gone]
        if kept:
            holder[key] = kept
        else:
            del holder[key]
    levers = result.data.get("levers", {})
    for number in [number for number, lever in levers.items() if not _moves(lever)]:
        del levers[number]
        result.dropped.append(f"/levers/{number}: it works nothing now")
    if "levers" in result.data and not levers:
        del result.data["levers"]


def _moves(lever: Data) -> bool:
    return bool(lever.get("points") or lever.get("arms"))


def _arms_in(data: Mapping[str, Any]) -> set[str]:
    return {arm["id"] for each in data.get("signals", {}).values() for arm in each["arms"]}


def _lists_of_arms(data: Data) -> Iterator[tuple[str, Data, str]]:
    for name, signal in data.get("signals", {}).items():
        for index, arm in enumerate(signal["arms"]):
            for key in ("repeats", "never_with", "under"):
                if key in arm:
                    yield f"/signals/{name}/arms/{index}/{key}", arm, key
    for name, scene in data.get("scenes", {}).items():
        if "off" in scene:
            yield f"/scenes/{name}/off", scene, "off"
    for name, lever in data.get("levers", {}).items():
        if "arms" in lever:
            yield f"/levers/{name}/arms", lever, "arms"
