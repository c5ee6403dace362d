"""Match the arms whose ids changed, by the routes that they give leave for."""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.comparing.names import Names
from trappoint.comparing.sessions import Working
from trappoint.comparing.terms import Ref, post_of

if TYPE_CHECKING:
    from collections.abc import Callable, Hashable

    from trappoint.comparing.model import Side
    from trappoint.comparing.terms import Key, Thing


def match_arms(old: Side, new: Side, found: dict[Key, Key]) -> None:
    """Add pairs of arms to ``found``: arms of one signal that alone have the same routes.

    Then add arms that alone have the same kind on the same doll: their routes changed too.
    """

    names = Names(found)
    if old.worked and new.worked:
        _pair(old, new, found, _by_routes(old, names.ref_now), _by_routes(new, lambda ref: ref))
    _pair(old, new, found, _by_doll(names.ref_now), _by_doll(lambda ref: ref))


def _by_routes(side: Side, renamed: Callable[[Ref], Ref]) -> Callable[[Thing], Hashable]:
    facts = side.report.facts
    if facts is None:
        return lambda thing: None
    meanings = Working(facts, lambda ref: ref if ref.kind == "arms" else renamed(ref)).meanings()

    def key(thing: Thing) -> Hashable:
        meaning = meanings.get(Ref("arms", thing.id))
        if meaning is None or not meaning.ways:
            return None
        ways = frozenset(way._replace(past=()) for way in meaning.ways)
        return _post(thing, renamed), meaning.kind, ways

    return key


def _by_doll(renamed: Callable[[Ref], Ref]) -> Callable[[Thing], Hashable]:
    def key(thing: Thing) -> Hashable:
        return _post(thing, renamed), thing.fields["kind"], thing.fields["doll"]

    return key


def _post(thing: Thing, renamed: Callable[[Ref], Ref]) -> Hashable:
    return renamed(Ref("signals", post_of(thing) or ""))


def _pair(
    old: Side,
    new: Side,
    found: dict[Key, Key],
    old_key: Callable[[Thing], Hashable],
    new_key: Callable[[Thing], Hashable],
) -> None:
    taken = set(found.values())
    alike: dict[Hashable, tuple[list[Key], list[Key]]] = {}
    for number, (side, own_key, known) in enumerate(
        ((old, old_key, found.keys()), (new, new_key, taken))
    ):
        for key, thing in (side.things or {}).items():
            if key[0] == "arms" and key not in known and thing.fields:
                alike.setdefault(own_key(thing), ([], []))[number].append(key)
    for spot, (ours, theirs) in alike.items():
        if spot is not None and len(ours) == len(theirs) == 1:
            found[ours[0]] = theirs[0]
