"""The hook: a commit of one plan and of a hundred, as the real pre-commit program runs it."""

from __future__ import annotations

import json
import sys
import time
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING

from bench.figures import by_rows
from bench.measuring import beside_base, medians, table
from hooks.clubs import set_up
from large.railway import railway, written

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from bench.measuring import Effort, Figure
    from hooks.clubs import Bench

COUNTS = (1, 100)
NOTHING = {
    "repo": "local",
    "hooks": [
        {"id": "nothing", "name": "nothing", "language": "system", "entry": "true", "files": "x"}
    ],
}
"""A hook that does nothing: what is left is git's and pre-commit's own."""


ABOUT = "`pre-commit run` on staged plans, compared with a hook that runs `true`."

BASE = "a hook that does nothing, 1 plan"
OURS = "the hook, 1 plan"


def measure(effort: Effort) -> Iterator[Figure]:
    """Time each hook, in turn."""
    with TemporaryDirectory() as name:
        folder = Path(name)
        bench = set_up(folder)
        repo = {"repo": str(bench.hook), "rev": bench.rev, "hooks": [{"id": "trappoint-check"}]}
        clubs = {}
        for count in COUNTS:
            for what, hook in (("a hook that does nothing", NOTHING), ("the hook", repo)):
                called = f"{what}, {count} plan{'s' if count > 1 else ''}"
                clubs[called] = _club(bench, folder / called.replace(" ", "-"), hook, count)
        taken: dict[str, list[float]] = {called: [] for called in clubs}
        for turn in range(1 + (3 if effort.quick else 11)):
            for called, club in clubs.items():
                ms = _run(bench, club)
                taken[called] += [ms] if turn else []  # in the first, pre-commit builds things
    yield from medians(taken)


def show(found: Mapping[str, float]) -> Iterator[str]:
    """Draw the table."""
    rows = beside_base(by_rows(found), BASE)
    yield table(["`pre-commit run`", "ms, median", "least", "beside nothing"], rows)


def beyond_nothing(found: Mapping[str, float]) -> float:
    """Return the ms that the hook takes beyond one that does nothing."""
    rows = by_rows(found)
    return rows[OURS]["median"] - rows[BASE]["median"]


def _club(bench: Bench, folder: Path, hook: dict[str, object], count: int) -> Path:
    folder.mkdir()
    (folder / ".pre-commit-config.yaml").write_text(json.dumps({"repos": [hook]}), "utf-8")
    bench.git("init", "--quiet", cwd=folder)
    bench.git("add", "--all", cwd=folder)
    bench.git("commit", "--quiet", "--message", "Begin", cwd=folder)
    for number in range(count):
        plan = written(railway(10 + number % 30, number))
        (folder / f"club-{number}.layout.json").write_text(plan, "utf-8")
    bench.git("add", "--all", cwd=folder)
    return folder


def _run(bench: Bench, club: Path) -> float:
    before = time.perf_counter()
    done = bench.run(sys.executable, "-m", "pre_commit", "run", cwd=club)
    ms = (time.perf_counter() - before) * 1000
    if done.returncode:
        sys.exit(done.stdout)
    return ms
