"""Comparisons as one JSON object (RFC 8259).

::

    {"tool": "trappoint", "version": "...",
     "old": {"file", "holds": true|false|null, "readable": true|false, "left_out": [[kind, id]]},
     "new": the same,
     "differ": true|false,
     "written_differently": true|false,
     "compared": {"things": true|false, "sessions": true|false},
     "things": [{"kind", "old": id|null, "new": id|null,
                 "how": ["added"|"gone"|"renamed"|"moved"|"changed"],
                 "fields": [{"field", "old", "new"}]}],
     "arms": [{"old": id, "new": id, "before": MEANING, "now": MEANING}],
     "routes": {"lost": [ROUTE], "gained": [ROUTE]},
     "conflicts": [{"arms": [id, id], "before": [CASE], "now": [CASE], "between_both"}],
     "duties": [{"signal", "duty", "gained": true|false}],
     "findings": {"new": [FINDING], "gone": [FINDING]},
     "caution": TEXT}

``readable`` is false if the text is not a plan. ``left_out`` lists the things with errors, which
are not compared (the id ``*`` means all things of a kind). ``differ`` is true if the railway
differs, ``written_differently`` if the texts do. ``compared`` has true for the parts that were
compared: the things, and everything from ``arms`` to ``duties`` (under the key ``sessions``).

``kind`` is a key of the plan (``tracks``, ``signals``, ...), or ``arms``, ``joints``, ``edges`` or
``plan``. ``fields`` has the keys of the plan with their defaults filled in: null for an omitted
field, a list for a list, the end of a track in the form of the plan.

MEANING: {"kind", "routes": [WAY], "tells": [arm ids]}; the last are the arms that a distant
repeats.
WAY: {"from", "over": [track ids], "ends_at", "points": {id: lie}, "past": [arm ids]} as in the
locking table; ROUTE is a WAY with "signal" and "shunting".
CASE: {"by": "points"|"direct", "when": {id: lie}|null}; null means never off together.
FINDING: as ``check`` prints it. "accepted" is true if the other plan has it too, and one of the two
plans accepts it.

Ids are those of the new plan; a thing that is gone keeps its id. Only ``old``, and the findings
that are gone, have the ids of the old plan.
"""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

from trappoint.comparing.terms import Ref
from trappoint.core.findings import CAUTION
from trappoint.reporting.compare_fields import end_text
from trappoint.reporting.findings_json import finding_to_json

if TYPE_CHECKING:
    from trappoint.comparing.model import (
        ArmMeaning,
        Comparison,
        ExclusionCase,
        FindingChange,
        RouteInWords,
        Side,
        SignalWay,
        ThingChange,
    )
    from trappoint.comparing.terms import Atom, Field
    from trappoint.core.terminal import RenderOptions


def render(comparison: Comparison, look: RenderOptions) -> str:
    """Return the object in ASCII, so that it is JSON in every encoding."""
    return json.dumps({**comparison_to_json(comparison), "caution": CAUTION}, indent=2) + "\n"


def comparison_to_json(comparison: Comparison) -> dict[str, Any]:
    """Return a comparison as JSON values."""
    from trappoint.core.version import __version__

    return {
        "tool": "trappoint",
        "version": __version__,
        "old": _side(comparison.old),
        "new": _side(comparison.new),
        "differ": comparison.differ,
        "written_differently": comparison.same != "bytes",
        "compared": {
            "things": comparison.same == "bytes" or comparison.names is not None,
            "sessions": comparison.old.worked and comparison.new.worked,
        },
        "things": [_thing(change) for change in comparison.things],
        "arms": [
            {"old": c.old, "new": c.new, "before": _meaning(c.before), "now": _meaning(c.now)}
            for c in comparison.arms
        ],
        "routes": {
            "lost": [_route(way) for way in comparison.routes_lost],
            "gained": [_route(way) for way in comparison.routes_gained],
        },
        "conflicts": [
            {
                "arms": [ref.id for ref in change.arms],
                "before": [_case(case) for case in change.before],
                "now": [_case(case) for case in change.now],
                "between_both": change.between_both,
            }
            for change in comparison.conflicts
        ],
        "duties": [
            {"signal": c.signal.id, "duty": f"{c.duty} {c.at.id}", "gained": c.gained}
            for c in comparison.duties
        ],
        "findings": {
            "new": [_finding(change) for change in comparison.findings_new],
            "gone": [_finding(change) for change in comparison.findings_gone],
        },
    }


def _side(side: Side) -> dict[str, Any]:
    return {
        "file": side.name,
        "holds": side.report.holds,
        "readable": side.things is not None,
        "left_out": [list(key) for key in sorted(side.left_out)],
    }


def _thing(change: ThingChange) -> dict[str, Any]:
    return {
        "kind": change.kind,
        "old": None if change.old is None else change.old.id,
        "new": None if change.new is None else change.new.id,
        "how": list(change.how),
        "fields": [
            {
                "field": each.name,
                "old": _value(each.name, each.old),
                "new": _value(each.name, each.new),
            }
            for each in change.fields
        ],
    }


def _value(name: str, field: Field) -> Any:
    if name in ("up", "down"):
        return end_text(field.entries[0])
    atoms = [[_atom(atom) for atom in entry] for entry in field.entries]
    plain = [entry[0] if len(entry) == 1 else entry for entry in atoms]
    if not field.ordered:
        return plain
    return plain[0] if plain else None


def _atom(atom: Atom) -> str | float | bool | None:
    return atom.id if isinstance(atom, Ref) else atom


def _meaning(meaning: ArmMeaning) -> dict[str, Any]:
    return {
        "kind": meaning.kind,
        "routes": [_way(way) for way in meaning.ways],
        "tells": [ref.id for ref in meaning.tells],
    }


def _way(way: RouteInWords) -> dict[str, Any]:
    return {
        "from": way.start.id,
        "over": [ref.id for ref in way.over],
        "ends_at": way.ends_at.id,
        "points": {ref.id: lie for ref, lie in way.points},
        "past": [ref.id for ref in way.past],
    }


def _route(route: SignalWay) -> dict[str, Any]:
    return {"signal": route.signal.id, "shunting": route.shunting, **_way(route.way)}


def _case(case: ExclusionCase) -> dict[str, Any]:
    when = None if case.when is None else {ref.id: lie for ref, lie in case.when}
    return {"by": case.by, "when": when}


def _finding(change: FindingChange) -> dict[str, Any]:
    return {**finding_to_json(change.finding), "accepted": change.accepted}
