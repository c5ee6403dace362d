"""Comparisons for programs: one JSON object (RFC 8259).

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

``readable`` is false where the text is no plan at all; what of a plan could not be understood and
was left out stands under ``left_out`` (the id ``*`` stands for all of a kind). ``differ`` tells
whether anything differs in the railway's terms; ``written_differently`` whether the texts do.
``compared`` tells what could be compared: the things themselves, and how the plan is worked (all
from ``arms`` to ``duties``).

``kind`` is the plan's own key (``tracks``, ``signals``, ...), or ``arms``, ``joints``, ``edges``,
``plan``. Under ``fields`` stand the plan's keys with their defaults filled in: null where nothing
is said, a list where a field is one; an end of a track as it is written.

MEANING: {"kind", "routes": [WAY], "tells": [arm ids]}, the last for a distant.
WAY: {"from", "over": [track ids], "ends_at", "points": {id: lie}, "past": [arm ids]} as in the
locking table; ROUTE is a WAY with "signal" and "shunting".
CASE: {"by": "points"|"direct", "when": {id: lie}|null}: null where the two are never off together.
FINDING: as ``check`` prints it, with "accepted": true where the other plan has it too, but one of
the two says that the club lives with it.

Everything is called as it is in the new plan; what is gone keeps the id that it had. Only under
``old``, and in findings that are gone, ids are those of the old plan.
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
    """Return the object. It is written in ASCII, so that it is JSON in whatever encoding."""
    return json.dumps({**comparison_to_json(comparison), "caution": CAUTION}, indent=2) + "\n"


def comparison_to_json(comparison: Comparison) -> dict[str, Any]:
    """Return a comparison as plain values."""
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
    told = [[_atom(atom) for atom in entry] for entry in field.entries]
    plain = [entry[0] if len(entry) == 1 else entry for entry in told]
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
