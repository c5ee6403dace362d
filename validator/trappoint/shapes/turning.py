"""Turn what is laid by half a turn: what was open to the west is open to the east."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from trappoint.shapes.ground import Plan

TURNED = {
    "west": "east",
    "east": "west",
    "north": "south",
    "south": "north",
    "up": "down",
    "down": "up",
}
_WORD = re.compile(r"(?<![A-Za-z0-9_])(?:west|east|north|south|up|down)(?![A-Za-z0-9_])")


def turned_words(text: str, name: str) -> str:
    """Return an id or an end with its words turned, except in the name that begins it."""
    kind, colon, rest = text.rpartition(":")
    kept = f"{name}-" if name and rest.startswith(f"{name}-") else ""
    own = rest.removeprefix(kept)
    if "." in own:
        return text
    return f"{kind}{colon}{kept}{_WORD.sub(lambda word: TURNED[word[0]], own)}"


def turn(laid: Plan, name: str) -> Plan:
    """Return what is laid, turned by half a turn.

    Left and right stay, because they are seen from the toe. The down line becomes the up line, so
    the words in ids are turned too.
    """
    return {
        **laid,
        "tracks": {
            turned_words(key, name): _track(each, name) for key, each in laid["tracks"].items()
        },
        **{key: _members(laid[key], name) for key in ("platforms", "yards") if key in laid},
    }


def _track(track: Plan, name: str) -> Plan:
    ends = {"up": turned_words(track["down"], name), "down": turned_words(track["up"], name)}
    running = {"running": TURNED[track["running"]]} if "running" in track else {}
    return {**track, **ends, **running}


def _members(things: Plan, name: str) -> Plan:
    """Return platforms or yards, whose tracks have other ids."""
    return {
        key: {**thing, "tracks": [turned_words(track, name) for track in thing["tracks"]]}
        if "tracks" in thing
        else thing
        for key, thing in things.items()
    }
