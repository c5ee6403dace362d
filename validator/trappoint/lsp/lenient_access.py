"""Access to plans of any shape, for texts that someone is still typing.

A track may be a number and its end a list: nothing here raises an error for that.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from trappoint.model.layout import SLIP_LINKS

if TYPE_CHECKING:
    from collections.abc import Iterator

Data = dict[str, Any]

ENDS = ("up", "down")


def things(data: Data, kind: str) -> dict[str, Data]:
    """Return the things of a kind that are objects."""
    found = data.get(kind)
    if not isinstance(found, dict):
        return {}
    return {name: thing for name, thing in found.items() if isinstance(thing, dict)}


def texts(value: object) -> list[str]:
    """Return the texts of a list, or a text alone."""
    entries = value if isinstance(value, list) else [value]
    return [entry for entry in entries if isinstance(entry, str)]


def text(thing: Data, key: str, default: str = "") -> str:
    """Return a text of a thing."""
    value = thing.get(key)
    return value if isinstance(value, str) else default


def arms(data: Data) -> Iterator[tuple[str, Data]]:
    """Yield every arm, each with the id of its signal."""
    for name, signal in things(data, "signals").items():
        listed = signal.get("arms")
        for arm in listed if isinstance(listed, list) else ():
            if isinstance(arm, dict):
                yield name, arm


def arm_of(data: Data, name: str) -> tuple[str, Data] | None:
    """Return the first arm of this id, with the id of its signal."""
    return next((found for found in arms(data) if found[1].get("id") == name), None)


def legs(data: Data) -> dict[str, tuple[str, str]]:
    """Return every leg, as an end of a track names it, with the kind and the id of its element."""
    found: dict[str, tuple[str, str]] = {}
    for name, points in things(data, "points").items():
        own = ("toe", "left", "right")
        for leg in (*own, "middle") if points.get("kind") == "three-way" else own:
            found[f"{name}.{leg}"] = "points", name
    for name in things(data, "crossings"):
        for leg in ("a1", "a2", "b1", "b2"):
            found.setdefault(f"{name}.{leg}", ("crossings", name))
    for name, table in things(data, "turntables").items():
        for road in texts(table.get("roads")):
            found.setdefault(f"{name}.{road}", ("turntables", name))
    return found


def meets(data: Data) -> dict[str, list[tuple[str, str]]]:
    """Return, for what ends of tracks say, the tracks that say so, each with which end it is."""
    found: dict[str, list[tuple[str, str]]] = {}
    for name, track in things(data, "tracks").items():
        for end in ENDS:
            said = track.get(end)
            if isinstance(said, str):
                found.setdefault(said, []).append((name, end))
    return found


def lies(data: Data, name: str) -> list[str]:
    """Return the lies of points or of a slip, as they may be written; empty if it has none."""
    points = things(data, "points").get(name)
    if points is not None:
        if points.get("kind") == "three-way":
            return ["normal", "left", "middle", "right"]
        return ["normal", "reverse", "left", "right"]
    crossing = things(data, "crossings").get(name)
    if crossing is not None and SLIP_LINKS.get(text(crossing, "kind", "diamond")):
        return ["normal", "reverse", "straight", "slip"]
    return []


def switches(data: Data) -> list[str]:
    """Return the points and slips: what has a lie."""
    return [
        name for kind in ("points", "crossings") for name in things(data, kind) if lies(data, name)
    ]
