"""References to things that get another id, become several, or are taken out.

Where the plan can do without a reference, the reference alone goes; where it cannot, the thing
that has it goes too: a signal without its track, a platform without tracks.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from trappoint.core.kinds import NAMED_BY_KEY, ONE_OF
from trappoint.model.references import mentions
from trappoint.model.renaming import renamed

if TYPE_CHECKING:
    from collections.abc import Mapping

    from trappoint.laying.draft import Draft
    from trappoint.model.references import Kinds, Path

Key = tuple[str, str]
"""A kind of thing and an id."""

Names = dict[Key, tuple[str, ...]]
"""For each thing the ids that stand for it now: none if it is taken out."""

_GONE: Any = object()
"""In place of a value that goes."""

_NEEDED: Mapping[tuple[str, ...], tuple[str, ...]] = {
    ("platforms", "*"): ("tracks",),
    ("signals", "*"): ("track", "arms"),
    ("signals", "*", "arms", "*"): ("track",),
    ("sessions", "*", "moves", "*"): ("train", "to"),
    ("accept", "*"): ("at",),
    ("joins", "*"): ("a", "b"),
}
"""The keys without which an object is of no use."""


def rename(draft: Draft, kind: str, old: str, new: str) -> None:
    """Give a thing another id, in every place that names it. Its text stays in its place."""
    draft.tree = renamed(draft.tree, {(kind, old): new})
    draft.gaps = {(kind, new) if path == (kind, old) else path for path in draft.gaps}
    if kind in NAMED_BY_KEY or kind == "arms":
        draft.touch(kind, new)


def replace(draft: Draft, names: Names, only: Kinds = ()) -> tuple[str, ...]:
    """Let other things stand for some, in every place that names those; see ``take_out``.

    With ``only``, in the places alone that may name these kinds of things and no other.
    """
    return _Mender(names, draft, only=only).mend()


def take_out(draft: Draft, *keys: Key) -> tuple[str, ...]:
    """Take out things with all that cannot be without them.

    Returns what else went, in words: ``signal 4``. The ends of tracks that meet elements which go
    must be changed before.
    """
    arms = [
        ("arms", arm["id"])
        for kind, key in keys
        if kind == "signals"
        for arm in draft.thing(kind, key)["arms"]
    ]
    gone = replace(draft, dict.fromkeys([*keys, *arms], ()))
    for kind, key in keys:
        if kind == "arms":
            _take_out_arm(draft, key)
        elif key in draft.things(kind):
            draft.remove(kind, key)
    return gone


def _take_out_arm(draft: Draft, key: str) -> None:
    for name, signal in list(draft.things("signals").items()):
        signal["arms"] = [arm for arm in signal["arms"] if arm["id"] != key]
        if not signal["arms"]:
            take_out(draft, ("signals", name))


class _Mender:
    def __init__(self, names: Names, draft: Draft, *, only: Kinds = ()) -> None:
        self.names = names
        self.only = only
        self.draft = draft
        self.known = {(kind, name) for kind in NAMED_BY_KEY for name in draft.things(kind)}
        self.known.update(("arms", name) for name in draft.arms())
        self.lost: list[Key] = []
        """The things that go because they cannot be without what is gone."""

    def mend(self) -> tuple[str, ...]:
        """Change all references; return the things that went with them, in words."""
        before = {("arms", name) for name in self.draft.arms()}
        for key, value in list(self.draft.tree.items()):
            new = self._value(value, (key,))
            if new is _GONE:
                new = [] if isinstance(value, list) else {}
            self.draft.tree[key] = new
            self.draft.drop_empty(key)
        after = {("arms", name) for name in self.draft.arms()}
        lost = [*self.lost, *sorted(before - after)]
        words = [f"{ONE_OF[kind]} {key}" for kind, key in self.lost]
        if lost:
            further = _Mender(dict.fromkeys(lost, ()), self.draft)
            further.known |= self.known
            return (*words, *further.mend())
        return tuple(words)

    def _value(self, value: Any, path: Path) -> Any:
        if isinstance(value, str):
            found = self._texts(value, path)
            return found[0] if found else _GONE
        if isinstance(value, list):
            return self._list(value, path)
        return self._object(value, path) if isinstance(value, dict) else value

    def _list(self, value: list[Any], path: Path) -> Any:
        found: list[Any] = []
        for index, entry in enumerate(value):
            here = (*path, index)
            news = (
                self._texts(entry, here) if isinstance(entry, str) else [self._value(entry, here)]
            )
            found += [
                new
                for new in news
                if new is not _GONE and not (isinstance(new, str) and new in found)
            ]
        if len(found) >= len(value) or not _is_short(found, path):
            return found
        return _GONE

    def _object(self, value: dict[str, Any], path: Path) -> Any:
        found: dict[str, Any] = {}
        for key, inner in value.items():
            here = (*path, key)
            keys = self._texts(key, here, at_key=True)
            new = self._value(inner, here)
            if new is _GONE and self._may_be_true(here):
                new = True
            if new is _GONE and key in _NEEDED.get(_pattern(path), ()):
                self._lose(path)
                return _GONE
            if keys and new is not _GONE:
                found.setdefault(keys[0], new)
        return _GONE if value and not found and not _stays_empty(path) else found

    def _may_be_true(self, path: Path) -> bool:
        """Return whether a train is named here, in whose place any train may stand."""
        return path[0] in ("scenes", "sessions") and len(path) == 4 and path[2] == "trains"

    def _lose(self, path: Path) -> None:
        if len(path) == 2 and path[0] in NAMED_BY_KEY:
            self.lost.append((str(path[0]), str(path[1])))

    def _texts(self, text: str, path: Path, *, at_key: bool = False) -> list[str]:
        """Return the texts that stand for one: with other ids, several, or none."""
        found = [text]
        for mention in sorted(mentions(path, text, at_key=at_key), key=lambda m: -m.start):
            if mention.defines:
                continue
            if self.only and mention.kinds != self.only:
                continue
            kind = next((k for k in mention.kinds if (k, mention.name) in self.known), None)
            news = self.names.get((kind or mention.kinds[0], mention.name))
            if news is not None:
                found = [
                    each[: mention.start] + new + each[mention.end :]
                    for each in found
                    for new in news
                ]
        return found


def _pattern(path: Path) -> tuple[str, ...]:
    return tuple("*" if number % 2 else str(part) for number, part in enumerate(path))


def _is_short(left: list[Any], path: Path) -> bool:
    """Return whether a list that lost entries is of no use."""
    if path[:1] == ("worked_together",) and len(path) == 2:
        return len(left) < 2
    return not left and _pattern(path) != ("sessions", "*", "moves")


def _stays_empty(path: Path) -> bool:
    """Return whether an object may be empty: maps of the plan, spare levers, bare scenes."""
    return len(path) < 2 or (len(path) == 2 and path[0] != "yards")
