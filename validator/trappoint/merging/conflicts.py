"""Conflicts of a merge, and the sentences that describe them."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Literal

from trappoint.core.kinds import MAPS, ONE_OF
from trappoint.merging.versions import Part, Trio, same
from trappoint.model.names import shown, with_id
from trappoint.tidying.lines import write_inline
from trappoint.tidying.tree import MISSING, Missing, Tree, Value

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

Kind = Literal["value", "order", "emptied", "named", "undecided"]

Titles = dict[tuple[str, str], str]
"""The names that people give things, by kind and id."""

_LONGEST = 60
"""The maximum length of a value in a sentence, in characters."""


@dataclass(frozen=True, slots=True)
class MergeConflict:
    """A thing that both versions changed, in different ways."""

    path: tuple[str, ...]
    """The keys that lead to it; for an entry of a list, the entry's key in the merge."""
    trio: Trio
    kind: Kind = "value"
    new_id: str | None = None
    """If one version removed it: the id under which that version seems to have it now."""
    names: tuple[str, str, str] = ("", "", "")
    """If both versions renamed it: the id before, in ours and in theirs."""
    titles: Mapping[tuple[str, str], str] = field(default_factory=dict)
    """The names of things, for the sentence."""

    def sentence(self) -> str:
        """Return what conflicts, and the version of each side."""
        path = (self.path[0], self.names[0]) if self.kind == "named" else self.path
        return f"{subject(path, self.titles)}: {self._difference()}."

    def _difference(self) -> str:
        base, ours, theirs = self.trio
        both = f"ours has {_value(ours)}, theirs has {_value(theirs)}"
        if self.kind != "value":
            return {
                "named": f"ours renames it to {self.names[1]}, theirs to {self.names[2]}",
                "order": "ours and theirs have different orders, and the order has a meaning",
                "emptied": "ours and theirs together remove all of it",
                "undecided": f"{both}; their bases differ too",
            }[self.kind]
        if MISSING in (ours, theirs):
            return _removed(self.trio, self.new_id)
        if base is MISSING:
            return f"both add it: {both}"
        return f"{both}; before, it was {_value(base)}"


def titles_of(*trees: Tree) -> Titles:
    """Return the names of the things in plans; a name in an earlier tree has priority."""
    titles: Titles = {}
    for kind, key, thing in (each for tree in trees for each in _things(tree)):
        name = thing.get("name") if isinstance(thing, dict) else None
        if isinstance(name, str):
            titles.setdefault((kind, key), shown(name))
    return titles


def _things(tree: Tree) -> Iterator[tuple[str, str, Value]]:
    """Yield the things of a plan, and the arms of its signals, by kind and id."""
    for kind in MAPS:
        things = tree.get(kind)
        for key, thing in things.items() if isinstance(things, dict) else ():
            yield kind, key, thing
            arms = thing.get("arms") if kind == "signals" and isinstance(thing, dict) else None
            for arm in arms if isinstance(arms, list) else ():
                if isinstance(arm, dict) and isinstance(arm.get("id"), str):
                    yield "arms", str(arm["id"]), arm


def subject(path: tuple[str, ...], titles: Mapping[tuple[str, str], str]) -> str:
    """Return the name of the value at a path: ``signal Up home (4), arm 4L, expects p3``."""
    return ", ".join(_parts(path, titles)) or "the plan"


def _parts(path: tuple[str, ...], titles: Mapping[tuple[str, str], str]) -> Iterator[str]:
    if len(path) < 2:
        yield from path
        return
    kind, id_, *rest = path
    named = with_id(titles.get((kind, id_), ""), id_)
    yield f"{ONE_OF.get(kind, kind.replace('_', ' '))} {named}"
    if kind == "signals" and len(rest) > 1 and rest[0] == "arms":
        yield f"arm {with_id(titles.get(('arms', rest[1]), ''), rest[1])}"
        rest = rest[2:]
    if rest:
        yield " ".join(rest)


def _removed(trio: Trio, new_id: str | None) -> str:
    base, ours, theirs = trio
    remover, changer, changed = (
        ("ours", "theirs", theirs) if ours is MISSING else ("theirs", "ours", ours)
    )
    what = f"changes it to {_value(changed)}"
    if isinstance(base, dict) and isinstance(changed, dict):
        keys = dict.fromkeys((*base, *changed))
        differ = [k for k in keys if not same(base.get(k, MISSING), changed.get(k, MISSING))]
        what = f"changes its {', '.join(differ)}"
    away = "removes it" if new_id is None else f"removes it or renames it to {new_id}"
    return f"{remover} {away}, {changer} {what}"


def _value(value: Part) -> str:
    if isinstance(value, Missing):
        return "nothing"
    text = write_inline(value)
    return text if len(text) <= _LONGEST else text[: _LONGEST - 3] + "..."
