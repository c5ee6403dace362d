"""The stages of a check, one after another, each timed separately."""

from __future__ import annotations

import resource
import sys
import time
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

from trappoint.facts.facts import Facts
from trappoint.interlocking.locking_table import derive_table
from trappoint.model.building import build_layout
from trappoint.rules.catalogue import FACT_RULES, PLAN_RULES
from trappoint.schema.validation import schema_findings
from trappoint.source.reading import Document, read_document

if TYPE_CHECKING:
    from collections.abc import Callable

STAGES = ("read", "schema", "model", "routes", "locking", "verdict", "rules", "table")


class Stage(NamedTuple):
    """What one stage took."""

    ms: float
    """Processor time, without other programs."""
    mib: float
    """The most memory that the process had held by its end."""


def run_stages(content: bytes) -> dict[str, Stage]:
    """Run through a check of a plan that holds, and its table; return what each stage took."""
    taken: dict[str, Stage] = {}

    def timed(name: str, work: Callable[[], Any]) -> Any:
        before = time.process_time()
        result = work()
        taken[name] = Stage((time.process_time() - before) * 1000, held())
        return result

    document = timed("read", lambda: read_document(content, "plan"))
    assert isinstance(document, Document)
    assert not timed("schema", lambda: schema_findings(document.data))
    facts = Facts(timed("model", lambda: build_layout(document.data)))
    timed("routes", lambda: (facts.network, facts.together, facts.routes))
    timed("locking", lambda: (facts.assignment, facts.conflicts, facts.distants, facts.duties))
    timed("verdict", lambda: (facts.free_runs, facts.verdict))
    assert facts.verdict.holds
    # Notes may stand: which trains are too long for some spur is accepted in the plan itself.
    assert all(found.level == "note" for found in timed("rules", lambda: _findings(facts)))
    timed("table", lambda: derive_table(facts))
    return {name: taken[name] for name in STAGES}


def _findings(facts: Facts) -> list[Any]:
    return [
        finding
        for rule in (*PLAN_RULES, *FACT_RULES)
        if rule.check is not None and not rule.optional
        for finding in rule.check(facts)
    ]


def held() -> float:
    """Return the most memory that this process has held, in MiB."""
    try:
        status = Path("/proc/self/status").read_text("ascii")
    except OSError:  # no such folder here: what the system counts includes what started us
        most = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
        return most / (1024 if sys.platform != "darwin" else 1024 * 1024)
    return int(status.partition("VmHWM:")[2].split()[0]) / 1024
