"""Read a plan to compare, as far as it can be understood.

If a text breaks the schema, the wrong parts are left out and the rest is compared: the reader may
be looking for the very change that broke it.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from trappoint.checking.check import check_content
from trappoint.checking.report import Report
from trappoint.comparing.model import Side
from trappoint.comparing.things import things_of
from trappoint.model.building import build_layout
from trappoint.schema.validation import schema_findings
from trappoint.source.reading import Unreadable, read_document

if TYPE_CHECKING:
    from trappoint.comparing.terms import Key
    from trappoint.core.findings import Finding
    from trappoint.model.settings import Settings
    from trappoint.source.files import Files

ROUNDS = 20
"""The maximum number of times to take wrong parts out of a text before it is not compared."""

EACH = "*"
"""The id for all things of a kind whose things have no ids."""


def no_side(name: str) -> Side:
    """Return the side for a version without the file: before it was added or after its removal."""
    return Side(name, Report(name, None, ()), {})


def read_side(
    content: str | bytes, name: str, settings: Settings, files: Files | None = None
) -> Side:
    """Read and check a plan, and split it into things. Raises nothing for mistakes in it.

    ``files`` are the files around this version of the plan; boards are read from there.
    """
    report = check_content(content, name, settings, files)
    document = read_document(content, name)
    if isinstance(document, Unreadable):
        return Side(name, report, None)
    if report.layout is not None:
        whole = document.data if report.assembly is None else report.assembly.data
        return Side(name, report, things_of(report.layout, whole))
    data: dict[str, Any] = document.data
    left_out: set[Key] = set()
    arms: set[Key] = set()
    for _ in range(ROUNDS):
        found = schema_findings(data)
        if not found:
            left_out |= arms
            things = things_of(build_layout(data), data, left_out)
            return Side(name, report, things, frozenset(left_out))
        if any(finding.rule == "unknown-format" for finding in found):
            break
        # From the back, so that positions in lists stay right.
        for finding in reversed(found):
            arms |= _arms_at(data, finding)
            data = _without(data, finding, left_out)
    return Side(name, report, None)


def _without(data: dict[str, Any], finding: Finding, left_out: set[Key]) -> dict[str, Any]:
    """Remove the value that a finding points at, and note the thing that it belongs to."""
    path = [_unescaped(part) for part in finding.pointer.split("/")[1:]]
    if not path:
        return {"format": "trappoint-layout/1", "tracks": {}, **data}
    if not finding.at_key and finding.rule != "unknown-key":
        left_out.add(_thing(data, path))
    value: Any = data
    for part in path[:-1]:
        value = value.get(part) if isinstance(value, dict) else _item(value, part)
    if isinstance(value, dict):
        value.pop(path[-1], None)
    elif _item(value, path[-1]) is not None:
        del value[int(path[-1])]
    return data


def _arms_at(data: dict[str, Any], finding: Finding) -> set[Key]:
    """Return the arms of the signal with a finding: they are not compared either."""
    path = finding.pointer.split("/")
    signals = data.get("signals")
    if path[1:2] != ["signals"] or len(path) < 3 or not isinstance(signals, dict):
        return set()
    signal = signals.get(_unescaped(path[2]))
    arms = signal.get("arms") if isinstance(signal, dict) else None
    ids = [arm.get("id") for arm in arms if isinstance(arm, dict)] if isinstance(arms, list) else []
    unknown = finding.at_key or finding.rule == "unknown-key"
    return {("arms", each) for each in ids if isinstance(each, str) and not unknown}


def _unescaped(part: str) -> str:
    return part.replace("~1", "/").replace("~0", "~")


def _item(value: Any, part: str) -> Any:
    known = isinstance(value, list) and part.isdigit() and int(part) < len(value)
    return value[int(part)] if known else None


def _thing(data: dict[str, Any], path: list[str]) -> Key:
    if len(path) > 1 and isinstance(data.get(path[0]), dict):
        return path[0], path[1]
    return ("plan", "") if path[0] in ("title", "scale", "format") else (path[0], EACH)


def is_left_out(side: Side, kind: str, name: str) -> bool:
    """Return whether a thing of this plan cannot be understood."""

    return (kind, name) in side.left_out or (kind, EACH) in side.left_out
