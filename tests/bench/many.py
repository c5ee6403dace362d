"""Many: a thousand plans, with one process and with two."""

from __future__ import annotations

import subprocess
import time
from pathlib import Path
from statistics import median
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING

from bench.figures import by_rows
from bench.measuring import Figure, environment, paragraph, run_once, table, trappoint
from large.railway import railway, written

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from bench.measuring import Effort

ONE, TWO, APART = "`--jobs 1`", "`--jobs 2`", "two programs, half the plans each"


ABOUT = "`trappoint check --jobs N FOLDER`, compared with two programs at once."


def measure(effort: Effort) -> Iterator[Figure]:
    """Time one process, two, and two that share nothing, in turn."""
    count = 200 if effort.quick else 1000
    taken: dict[str, list[float]] = {ONE: [], TWO: [], APART: []}
    with TemporaryDirectory() as name:
        folder = Path(name)
        for number in range(count):
            half = folder / str(number % 2)
            half.mkdir(exist_ok=True)
            text = written(railway(10 + number % 30, number))
            (half / f"club-{number}.layout.json").write_text(text, "utf-8")
        run_once(trappoint("check", "--quiet", name))
        for _ in range(1 if effort.quick else 3):
            for jobs, label in ((1, ONE), (2, TWO)):
                words = trappoint("check", "--quiet", "--jobs", str(jobs), name)
                taken[label].append(run_once(words))
            taken[APART].append(_apart(folder))
    yield Figure("plans", count, "plans")
    for label, ms in taken.items():
        yield Figure(f"{label} / median", median(ms) / 1000, "s")


def show(found: Mapping[str, float]) -> Iterator[str]:
    """Draw the table."""
    rows = by_rows(found)
    base = rows[ONE]["median"]
    shown = [[label, row["median"], base / row["median"]] for label, row in rows.items()]
    yield table(
        [f"{found['plans']:,.0f} plans of 10 to 39 points", "s, median", "times as fast"], shown
    )
    yield paragraph(
        "The aim is 1.8 times. The last line is what this machine allows at this time: where "
        "others use its cores, `--jobs` cannot do better."
    )


def gain(found: Mapping[str, float]) -> float:
    """Return how many times as fast two processes are."""
    rows = by_rows(found)
    return rows[ONE]["median"] / rows[TWO]["median"]


def _apart(folder: Path) -> float:
    """Check the halves by two programs at once, which share nothing, and return ms."""
    before = time.perf_counter()
    both = [
        subprocess.Popen(
            trappoint("check", "--quiet", str(folder / half)),
            stdout=subprocess.DEVNULL,
            env=environment(),
        )
        for half in "01"
    ]
    assert [one.wait() for one in both] == [0, 0]
    return (time.perf_counter() - before) * 1000
