"""Conflicts, named in words."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from trappoint.core.kinds import ONE_OF
from trappoint.merging.versions import Part, Trio, same
from trappoint.tidying.lines import write_inline
from trappoint.tidying.tree import MISSING, Missing

if TYPE_CHECKING:
    from collections.abc import Iterator

Kind = Literal["value", "order", "emptied", "named", "undecided"]

_LONGEST = 60


@dataclass(frozen=True, slots=True)
class MergeConflict:
    """A thing that both versions changed, each in its own way."""

    path: tuple[str, ...]
    """The keys that lead to it; for an entry of a list, what it is known by."""
    trio: Trio
    kind: Kind = "value"
    new_id: str | None = None
    """Where one version took it away: under which id it seems to stand there now."""
    names: tuple[str, str, str] = ("", "", "")
    """Where both call it otherwise: what it was called before, by ours and by theirs."""

    def sentence(self) -> str:
        """Say what the conflict is about, and what each version has."""
        path = (self.path[0], self.names[0]) if self.kind == "named" else self.path
        return f"{subject(path)}: {self._difference()}."

    def _difference(self) -> str:
        base, ours, theirs = self.trio
        both = f"{_told(ours)}, theirs {_told(theirs)}"
        if self.kind != "value":
            return {
                "named": f"ours calls it {self.names[1]}, theirs {self.names[2]}",
                "order": "ours and theirs differ in the order, which has a meaning",
                "emptied": "what ours leaves and what theirs leaves are together nothing",
                "undecided": f"ours has {both}; the versions that both were made of differ as well",
            }[self.kind]
        if MISSING in (ours, theirs):
            return _taken_away(self.trio, self.new_id)
        if base is MISSING:
            return f"both add it, ours {both}"
        return f"ours has {both}, and before {_told(base)}"


def subject(path: tuple[str, ...]) -> str:
    """Name what the keys lead to: ``signal 4, arm 4L, expects p3``."""
    return ", ".join(_named(path)) or "the plan"


def _named(path: tuple[str, ...]) -> Iterator[str]:
    if len(path) < 2:
        yield from path
        return
    kind, id_, *rest = path
    yield f"{ONE_OF.get(kind, kind.replace('_', ' '))} {id_}"
    if kind == "signals" and len(rest) > 1 and rest[0] == "arms":
        yield f"arm {rest[1]}"
        rest = rest[2:]
    if rest:
        yield " ".join(rest)


def _taken_away(trio: Trio, new_id: str | None) -> str:
    base, ours, theirs = trio
    taker, changer, changed = (
        ("ours", "theirs", theirs) if ours is MISSING else ("theirs", "ours", ours)
    )
    what = "makes it " + _told(changed)
    if isinstance(base, dict) and isinstance(changed, dict):
        keys = dict.fromkeys((*base, *changed))
        differ = [k for k in keys if not same(base.get(k, MISSING), changed.get(k, MISSING))]
        what = f"changes its {', '.join(differ)}"
    elif isinstance(base, list | dict):
        what = f"changes it to {_told(changed)}"
    away = "takes it away" if new_id is None else f"takes it away or calls it {new_id}"
    return f"{taker} {away}, {changer} {what}"


def _told(value: Part) -> str:
    if isinstance(value, Missing):
        return "nothing"
    text = write_inline(value)
    return text if len(text) <= _LONGEST else text[: _LONGEST - 3] + "..."
