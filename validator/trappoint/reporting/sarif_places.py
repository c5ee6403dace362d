"""Where ids and pointers of a file stand in its text, as locations of SARIF 2.1.0."""

from __future__ import annotations

import json
import os
from functools import cached_property
from typing import TYPE_CHECKING, Any

from trappoint.core.findings import pointer_to
from trappoint.core.kinds import ELEMENTS, MAPS, ONE_OF
from trappoint.reporting.text_spans import Spots

if TYPE_CHECKING:
    from trappoint.core.findings import Finding

_KINDS = {kind: ONE_OF[kind] for kind in (*ELEMENTS, "yards")}
"""From each map of a plan to the word before an id that other kinds share."""

ROOT = "%SRCROOT%"
"""The name of the folder that file names are relative to."""

ROOT_TOLD = "The top of the repository; outside of one, the folder in which the check was run."


def location_of(file: str) -> dict[str, Any]:
    """Return where a file is, as a URI reference (RFC 3986)."""
    from pathlib import Path
    from urllib.parse import quote

    if os.path.isabs(file):  # noqa: PTH117
        return {"uri": Path(file).as_uri()}
    path = os.path.normpath(file).replace(os.sep, "/")
    found: dict[str, Any] = {"uri": quote(os.fsencode(path)), "uriBaseId": ROOT}
    if file == "-":
        found["description"] = {"text": "standard input"}
    return found


class SarifText:
    """The text of one file, with what is looked up in it."""

    def __init__(self, file: str, text: str | None, number: int) -> None:
        """``number`` is the place of the file in the list of artifacts."""
        self.file = file
        self._text = text
        self._number = number
        self._spots = Spots(text or "")

    def location(self, line: int, column: int, *, context: bool = False) -> dict[str, Any]:
        """Return the location that begins at this line and column, with its line if asked for."""
        artifact = {**location_of(self.file), "index": self._number}
        artifact.pop("description", None)
        physical: dict[str, Any] = {"artifactLocation": artifact}
        if line > 0:
            spot = self._spots.spot(line, column)
            region: dict[str, Any] = {"startLine": line, "startColumn": max(column, 1)}
            if spot.end > spot.column:
                region |= {"endLine": line, "endColumn": spot.end}
            if spot.shown:
                region["snippet"] = {"text": spot.shown[spot.column - 1 : spot.end - 1]}
            if spot.shown and context:
                physical["contextRegion"] = {"startLine": line, "snippet": {"text": spot.shown}}
            physical["region"] = region
        return {"physicalLocation": physical}

    def location_at(self, pointer: str) -> dict[str, Any]:
        """Return the location of the value at this pointer: of its key, where it has one."""
        place = self.location(*self._places[pointer])
        place["logicalLocations"] = [{"fullyQualifiedName": pointer}]
        return place

    def signal_pointer(self, name: str) -> str:
        """Return the pointer of the signal of this name; empty if there is none."""
        return pointer_to("signals", name) if name in self._data.get("signals", {}) else ""

    def acceptance_of(self, finding: Finding) -> tuple[str, str] | None:
        """Return the pointer of the entry by which a finding is accepted here, and its reason.

        Its pointer is as this plan writes it.
        """
        from trappoint.model.layout import Accepted
        from trappoint.rules.accepted import matches

        for number, raw in enumerate(self._data.get("accept", [])):
            entry = Accepted(raw["rule"], raw["at"], raw.get("because", ""))
            if matches(entry, finding):
                return pointer_to("accept", number), entry.because
        return None

    @cached_property
    def _data(self) -> dict[str, Any]:
        """The plan as plain values; empty if it could not be read."""
        if self._text is None:
            return {}
        try:
            data = json.loads(self._text)
        except (ValueError, RecursionError):
            return {}
        if not isinstance(data, dict):
            return {}
        # Where the form is wrong, a map may be anything; what is no map has no ids.
        return {key: data[key] for key in data if isinstance(data[key], dict) or key == "accept"}

    @cached_property
    def _arms(self) -> dict[str, str]:
        found: dict[str, str] = {}
        for name, signal in self._data.get("signals", {}).items():
            arms = signal.get("arms") if isinstance(signal, dict) else None
            for number, arm in enumerate(arms if isinstance(arms, list) else ()):
                if isinstance(arm, dict) and isinstance(arm.get("id"), str):
                    pointer = pointer_to("signals", name, "arms", number, "id")
                    found.setdefault(arm["id"], pointer)
        return found

    def pointer_of(self, name: str) -> str:
        """Return the pointer of the thing with this name, for instance a place, signal or arm."""
        kind, _, bare = name.rpartition(":")
        for key in MAPS:
            if (not kind or _KINDS.get(key) == kind) and bare in self._data.get(key, {}):
                return pointer_to(key, bare)
        if name in self._arms:
            return self._arms[name]
        track, _, part = name.rpartition(".")
        if part.isdigit() and track in self._data.get("tracks", {}):
            return pointer_to("tracks", track)
        return ""

    @cached_property
    def _places(self) -> dict[str, tuple[int, int]]:
        """Where everything that has an id stands: looked up at once, for that costs one reading."""
        from trappoint.source.positions import locate

        named = [pointer_to(key, id_) for key in MAPS for id_ in self._data.get(key, {})]
        accepted = [
            pointer_to("accept", number) for number in range(len(self._data.get("accept", ())))
        ]
        text = self._text or ""
        at_values = locate(text, [*self._arms.values(), *accepted])
        return {**locate(text, named, at_keys=True), **at_values}
