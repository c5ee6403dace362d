"""Counters for monitoring, in the text format OpenMetrics 1.0."""

from __future__ import annotations

import threading
import time
from bisect import bisect_left
from collections import Counter, defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator

MIMETYPE = "application/openmetrics-text; version=1.0.0; charset=utf-8"

BOUNDS = (0.005, 0.025, 0.1, 0.5, 1.0, 2.5, 5.0, 10.0, 30.0)
"""Upper bounds of the histogram, in seconds."""

METHODS = ("GET", "HEAD", "POST", "OPTIONS")

NO_ROUTE = "-"
"""The label of requests without a route."""


Samples = Sequence[tuple[Mapping[str, str], float]]


@dataclass(frozen=True, slots=True)
class Family:
    """The numbers of one name. Labels never contain anything that a client sent."""

    name: str
    kind: str
    help: str
    samples: Samples
    """The number for each set of labels."""


class Counters:
    """Counts requests, and collects the numbers of other parts."""

    def __init__(self) -> None:
        self.sources: list[Callable[[], Iterable[Family]]] = []
        """Functions that return further present numbers."""
        self._lock = threading.Lock()
        self._begun = time.time()
        self._requests: Counter[tuple[str, str, int]] = Counter()
        self._ranges: dict[str, list[int]] = {}
        self._seconds: dict[str, float] = defaultdict(float)

    def count(self, route: str, method: str, status: int, seconds: float | None = None) -> None:
        """Count a request; its time is 0 if it never reached the application."""
        with self._lock:
            self._requests[route, method if method in METHODS else "other", status] += 1
            if seconds is not None:
                ranges = self._ranges.setdefault(route, [0] * (len(BOUNDS) + 1))
                ranges[bisect_left(BOUNDS, seconds)] += 1
                self._seconds[route] += seconds

    def text(self) -> str:
        """Return all numbers."""
        lines = [line for family in self._families() for line in _lines(family)]
        return "\n".join([*self._histogram(), *lines, "# EOF", ""])

    def _families(self) -> Iterator[Family]:
        begun: Samples = [({}, round(self._begun, 3))]
        yield Family("process_start_time_seconds", "gauge", "Start, in Unix time.", begun)
        with self._lock:
            counted = sorted(self._requests.items())
        yield Family(
            "trappoint_requests",
            "counter",
            "Requests answered.",
            [
                ({"route": route, "method": method, "status": str(status)}, number)
                for (route, method, status), number in counted
            ],
        )
        for source in self.sources:
            yield from source()

    def _histogram(self) -> Iterator[str]:
        name = "trappoint_request_seconds"
        yield f"# TYPE {name} histogram"
        yield f"# HELP {name} Seconds from the whole request to its answer."
        with self._lock:
            found = [(route, list(ranges)) for route, ranges in sorted(self._ranges.items())]
            sums = dict(self._seconds)
        for route, ranges in found:
            total = 0
            for bound, number in zip((*map(str, BOUNDS), "+Inf"), ranges, strict=True):
                total += number
                yield f'{name}_bucket{{route="{route}",le="{bound}"}} {total}'
            yield f'{name}_count{{route="{route}"}} {total}'
            yield f'{name}_sum{{route="{route}"}} {sums[route]:.6f}'


def _lines(family: Family) -> Iterator[str]:
    yield f"# TYPE {family.name} {family.kind}"
    yield f"# HELP {family.name} {family.help}"
    end = "_total" if family.kind == "counter" else ""
    for labels, number in family.samples:
        words = ",".join(f'{key}="{value}"' for key, value in labels.items())
        yield f"{family.name}{end}{f'{{{words}}}' if words else ''} {number:.15g}"
