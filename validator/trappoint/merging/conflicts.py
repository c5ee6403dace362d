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

Kind = Literal["value", "order", "emptied", "named"]

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
        if self.kind == "named":
            before, by_ours, by_theirs = self.names
            thing = subject((self.path[0], before))
            return f"{thing}: ours calls it {by_ours}, theirs {by_theirs}."
        thing = subject(self.path)
        if self.kind == "order":
            return f"{thing}: ours and theirs differ in the order, which has a meaning."
        if self.kind == "emptied":
            return f"{thing}: what ours leaves and what theirs leaves are together nothing."
        base, ours, theirs = self.trio
        if MISSING in (ours, theirs):
            return f"{thing}: {_taken_away(self.trio, self.new_id)}."
        if base is MISSING:
            return f"{thing}: both add it, ours {_told(ours)}, theirs {_told(theirs)}."
        return f"{thing}: ours has {_told(ours)}, theirs {_told(theirs)}, and before {_told(base)}."


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
