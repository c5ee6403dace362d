"""Checks the plans in some files and prints their full reports, for another process."""

from __future__ import annotations

import json
import sys
from typing import Any

from trappoint import check


def told(path: str) -> dict[str, Any]:
    """Return the report on one plan as plain values, with its locking table."""
    report = check(path)
    told = {
        kind: [
            {
                **each._asdict(),
                "movement": each.movement.to_json() if each.movement else None,
            }
            for each in findings
        ]
        for kind, findings in (("findings", report.findings), ("accepted", report.accepted))
    }
    table = report.table
    return {
        "file": report.file,
        "holds": report.holds,
        "fault": report.fault,
        **told,
        "table": table.to_json() if table else None,
    }


if __name__ == "__main__":
    for name in sys.argv[1:]:
        print(json.dumps(told(name)))
