"""Building: what one press on the page for building plans costs: ``python -m bench.building``.

Processor time of ``POST /api/v1/lay``, in the process that answers it, for a plan of forty points:
each part of the answer alone, then what the page asks for together, without a step and with one.
"""

from __future__ import annotations

import json
import time
from statistics import median

from bench.measuring import table
from large.railway import railway, written
from trappoint.model.settings import DEFAULTS
from trappoint_service.jobs import LayPlan
from trappoint_service.lay_requests import PARTS
from trappoint_service.laying import lay_plan

POINTS = 40
ROUNDS = 15

TEXT = written(railway(POINTS))
TRACK = next(iter(json.loads(TEXT)["tracks"]))
PLACES = ("plan", *(f"tracks/{TRACK}{end}" for end in ("", "/up", "/down")))
STEP = {"do": "put-in-points", "track": TRACK}


def request(want: tuple[str, ...], *steps: object, before: object = None) -> LayPlan:
    """Return a request for some parts of the answer."""
    body = {"plan": TEXT, "steps": steps, "at": PLACES, "want": want, "before": before}
    return LayPlan(json.dumps(body).encode("ascii"))


def milliseconds(job: LayPlan) -> tuple[float, float]:
    """Return the median and the least processor time of an answer."""
    lay_plan(job, DEFAULTS)
    taken = []
    for _ in range(ROUNDS):
        begun = time.process_time()
        lay_plan(job, DEFAULTS)
        taken.append((time.process_time() - begun) * 1000)
    return median(taken), min(taken)


def main() -> None:
    """Measure and print."""
    shown = lay_plan(request(("diagram",)), DEFAULTS)
    memory = json.loads(getattr(shown, "text", "{}"))["diagram"]["memory"]
    undrawn = tuple(part for part in PARTS if part != "diagram")
    asked = {
        "nothing but the text": request(()),
        **{part: request((part,)) for part in PARTS},
        "all but the diagram": request(undrawn),
        "a step, and all but the diagram": request(undrawn, STEP),
        "a step, and the diagram with a memory": request(("diagram",), STEP, before=memory),
        "a step, and all": request(PARTS, STEP, before=memory),
    }
    rows = [[name, *milliseconds(job)] for name, job in asked.items()]
    print(table([f"{POINTS} points, {len(TEXT):,} bytes", "ms, median", "least"], rows))


if __name__ == "__main__":
    main()
