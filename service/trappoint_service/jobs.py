"""What is done in a process of its own: checks, tables, drawings and all that a page shows.

A job takes its words, the bytes of a plan and the club's settings, and returns plain values.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import trappoint
from trappoint.core.terminal import RenderOptions
from trappoint.reporting.formats import REPORTERS, TABLE_REPORTERS, reporter, table_reporter
from trappoint_service.answers import without

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from trappoint.model.settings import Settings
    from trappoint.proposing.proposal import Proposal

    Job = Callable[[Mapping[str, Any], bytes, Settings], Any]


class FilesSent:
    """The files of one request: boards are known by the names of their files, for folders are not
    sent."""

    def __init__(self, contents: Mapping[str, bytes]) -> None:
        self._contents = contents

    def read(self, path: str) -> bytes:
        """Return a file of the request."""
        name = path.rpartition("/")[2]
        if name not in self._contents:
            raise FileNotFoundError(path)
        return self._contents[name]


def check_files(job: Mapping[str, Any], payload: bytes, settings: Settings) -> str:
    """Check plans and return the text of the report, as the command line prints it.

    ``files``: pairs of a name and a number of bytes, in the order of the payload; ``format``:
    the name of a reporter (default: json).
    """
    sent, start = [], 0
    for name, size in job["files"]:
        sent.append((name, payload[start : start + size]))
        start += size
    files = FilesSent(dict(sent)) if len(sent) > 1 else None
    reports = [
        trappoint.check(content, name=name, settings=settings, files=files).for_printing()
        for name, content in sent
    ]
    reports.sort(key=lambda report: report.file)
    return "".join(reporter(job.get("format", "json"))(reports, RenderOptions()))


def make_table(job: Mapping[str, Any], payload: bytes, settings: Settings) -> dict[str, Any]:
    """Derive the locking table: ``text``, or ``report`` where there is none.

    ``format``: the name of a reporter of tables (default: json).
    """
    report = trappoint.check(payload, name=job["name"], settings=settings)
    table = report.table
    if table is None:
        return without(report)
    title = (report.layout.title if report.layout is not None else "") or report.file
    return {"text": table_reporter(job.get("format", "json"))(table, title, RenderOptions())}


def make_drawing(job: Mapping[str, Any], payload: bytes, settings: Settings) -> dict[str, Any]:
    """Draw the plan: ``text`` (SVG), or ``report`` where it can not be drawn."""
    from trappoint_service.diagrams import draw_report

    report = trappoint.check(payload, name=job["name"], settings=settings)
    text = draw_report(report)
    return without(report) if text is None else {"text": text}


def make_chart(job: Mapping[str, Any], payload: bytes, settings: Settings) -> dict[str, Any]:
    """Make the sheet for the wall: ``text`` (HTML), or ``report`` where there is no table."""
    from trappoint.drawing.chart import write_chart

    report = trappoint.check(payload, name=job["name"], settings=settings)
    return without(report) if report.table is None else {"text": write_chart(report)}


def make_page(job: Mapping[str, Any], payload: bytes, settings: Settings) -> dict[str, Any]:
    """Return all that the page of a checked plan shows."""
    from trappoint_service.answers import tell_report

    report = trappoint.check(payload, name=job["name"], settings=settings)
    answer = tell_report(report)
    if job.get("scene") is not None and report.table is not None:
        answer["scene"] = try_scene(job["scene"], payload, settings)
    return answer


def try_scene(job: Mapping[str, Any], payload: bytes, settings: Settings) -> dict[str, Any]:
    """Say which arms may be off in a scene (``points``, ``off``, ``trains``)."""
    from trappoint_service.scenes import tell_scene

    return tell_scene(payload, job)


def answer_scene(job: Mapping[str, Any], payload: bytes, settings: Settings) -> dict[str, Any]:
    """Do the same for a request that holds plan and scene; ``bad`` says what is wrong with it."""
    import json

    from trappoint_service.scenes import mistake_in, tell_scene

    try:
        wish = json.loads(payload)
    except (ValueError, RecursionError):
        return {"bad": "The body is not JSON (RFC 8259) in UTF-8."}
    bad = mistake_in(wish)
    if bad:
        return {"bad": bad}
    return tell_scene(json.dumps(wish["plan"]).encode("ascii"), wish)


def propose_signals(job: Mapping[str, Any], payload: bytes, settings: Settings) -> dict[str, Any]:
    """Propose signals: ``text`` (JSON, as the command line prints), or why there are none.

    ``level``, ``repair``: as for the command; ``best``: how many proposals to make.
    """
    from trappoint.reporting import propose_json

    found = _proposed(job, payload, settings)
    return (
        found if isinstance(found, dict) else {"text": propose_json.render(found, RenderOptions())}
    )


def draft_page(job: Mapping[str, Any], payload: bytes, settings: Settings) -> dict[str, Any]:
    """Propose signals, and return all that the page of the proposed plan shows."""
    from trappoint.reporting.propose_text import headline
    from trappoint_service.answers import tell_report

    found = _proposed(job, payload, settings)
    if isinstance(found, dict):
        return found
    draft = found.drafts[0]
    answer = tell_report(draft.report)
    answer["draft"] = {
        "text": draft.text,
        "headline": headline(found, draft),
        "reasons": [reason._asdict() for reason in draft.reasons],
        "repair": found.repair,
    }
    return answer


def answer_road(job: Mapping[str, Any], payload: bytes, settings: Settings) -> dict[str, Any]:
    """Set a road: ``text`` (JSON), ``bad`` (what is wrong with its names), or ``report``."""
    from trappoint_service import roads

    return roads.answer_road(job, payload, settings)


def road_page(job: Mapping[str, Any], payload: bytes, settings: Settings) -> dict[str, Any]:
    """Set a road, and return all that the page of the plan shows."""
    from trappoint_service import roads

    return roads.road_page(job, payload, settings)


def plan_the_parts(job: Mapping[str, Any], payload: bytes, settings: Settings) -> dict[str, Any]:
    """Plan the parts of a plan from a store: ``text`` (JSON), ``bad`` or ``report``."""
    from trappoint_service import parts_and_fitting

    return _told(parts_and_fitting.plan_the_parts, job, payload, settings)


def make_sheet(job: Mapping[str, Any], payload: bytes, settings: Settings) -> dict[str, Any]:
    """Make the fitting sheet of a plan: ``text``, ``bad`` or ``report``."""
    from trappoint_service import parts_and_fitting

    return _told(parts_and_fitting.make_sheet, job, payload, settings)


def bench_page(job: Mapping[str, Any], payload: bytes, settings: Settings) -> dict[str, Any]:
    """Make sheet and parts of a plan, and return all that its page shows."""
    from trappoint_service import parts_and_fitting

    return parts_and_fitting.bench_page(job, payload, settings)


def _told(work: Job, job: Mapping[str, Any], payload: bytes, settings: Settings) -> dict[str, Any]:
    from trappoint.core.errors import NotInstalled
    from trappoint_service.parts_and_fitting import NO_SOLVER

    try:
        found: dict[str, Any] = work(job, payload, settings)
    except NotInstalled:
        return {"bad": NO_SOLVER}
    return without(found["unusable"]) if "unusable" in found else found


def _proposed(
    job: Mapping[str, Any], payload: bytes, settings: Settings
) -> Proposal | dict[str, Any]:
    from trappoint.core.errors import NotInstalled
    from trappoint.proposing.proposal import CannotPropose, propose

    try:
        return propose(
            payload,
            name=job["name"],
            level=job["level"],
            repair=job["repair"],
            count=job.get("best", 1),
            seconds=job["seconds"],
            settings=settings,
        )
    except trappoint.PlanError:
        return without(trappoint.check(payload, name=job["name"], settings=settings))
    except CannotPropose as cannot:
        return {"cannot": str(cannot)}
    except NotInstalled:
        return {"cannot": "The solver that finds the fewest signals is not installed here."}


def warm_up() -> None:
    """Do each job once, so that everything is imported before the first request comes."""
    import json

    from trappoint.core.resources import read_resource
    from trappoint.model.settings import DEFAULTS

    plan = json.loads(read_resource("kelpie-quay.layout.json"))
    del plan["signals"]["6"]  # so that a movement is searched for
    payload = json.dumps(plan).encode("ascii")
    make_page({"name": "", "scene": {"points": {}, "off": []}}, payload, DEFAULTS)
    make_page({"name": ""}, b'{"format": 1}', DEFAULTS)  # so that jsonschema is imported
    make_chart({"name": ""}, payload, DEFAULTS)
    draft_page({"name": "", "level": "least", "repair": True, "seconds": 1}, payload, DEFAULTS)
    for name in REPORTERS:
        check_files({"files": [("", len(payload))], "format": name}, payload, DEFAULTS)
    for name in TABLE_REPORTERS:
        make_table({"name": "", "format": name}, payload, DEFAULTS)


JOBS: Mapping[str, Job] = {
    "check": check_files,
    "table": make_table,
    "draw": make_drawing,
    "chart": make_chart,
    "page": make_page,
    "scene": answer_scene,
    "road": answer_road,
    "road-page": road_page,
    "propose": propose_signals,
    "parts": plan_the_parts,
    "fitting": make_sheet,
    "bench-page": bench_page,
    "draft": draft_page,
}
"""From the name of each job to what does it."""
