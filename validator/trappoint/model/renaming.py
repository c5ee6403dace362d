"""Give things of a plan other ids, in every place that names them.

It works on plain data of any shape, and so also for plans with errors.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from trappoint.core.kinds import NAMED_BY_KEY
from trappoint.model.references import mentions

if TYPE_CHECKING:
    from collections.abc import Collection, Mapping

    from trappoint.model.references import Path

Key = tuple[str, str]
"""A kind of thing and an id."""


def renamed(plan: Mapping[str, Any], names: Mapping[Key, str]) -> dict[str, Any]:
    """Return a plan with new ids for things, in every place that names the things."""
    renamer = _Renamer(names, ids_in(plan))
    return {key: renamer.value(value, (key,)) for key, value in plan.items()}


class _Renamer:
    def __init__(self, names: Mapping[Key, str], known: Collection[Key]) -> None:
        self.names = names
        self.known = known

    def value(self, value: Any, path: Path) -> Any:
        """Return a value with the new ids in it."""
        if isinstance(value, dict):
            return {
                self.text(key, (*path, key), at_key=True): self.value(member, (*path, key))
                for key, member in value.items()
            }
        if isinstance(value, list):
            return [self.value(entry, (*path, index)) for index, entry in enumerate(value)]
        return self.text(value, path) if isinstance(value, str) else value

    def text(self, text: str, path: Path, *, at_key: bool = False) -> str:
        """Return a text, or the last key of ``path``, with the new ids in it."""
        for found in sorted(mentions(path, text, at_key=at_key), key=lambda m: -m.start):
            kind = next((k for k in found.kinds if (k, found.name) in self.known), found.kinds[0])
            new = self.names.get((kind, found.name))
            if new is not None:
                text = text[: found.start] + new + text[found.end :]
        return text


def ids_in(plan: Mapping[str, Any]) -> set[Key]:
    """Return the keys of all things with an id."""
    found = {
        (kind, name)
        for kind in NAMED_BY_KEY
        if isinstance(things := plan.get(kind), dict)
        for name in things
    }
    signals = plan.get("signals")
    for signal in signals.values() if isinstance(signals, dict) else ():
        arms = signal.get("arms") if isinstance(signal, dict) else None
        for arm in arms if isinstance(arms, list) else ():
            name = arm.get("id") if isinstance(arm, dict) else None
            if isinstance(name, str):
                found.add(("arms", name))
    return found
