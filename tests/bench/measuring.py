"""Tools shared by all parts: timing of whole processes, tables in Markdown, limits."""

from __future__ import annotations

import json
import math
import os
import resource
import shutil
import signal
import subprocess
import sys
import textwrap
import time
from pathlib import Path
from statistics import median
from typing import TYPE_CHECKING, Any, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping, Sequence

ROOT = Path(__file__).parents[2]
TESTS = ROOT / "tests"


class Figure(NamedTuple):
    """One figure of a part. Its name is unique in the part and stays the same over time."""

    name: str
    value: float
    unit: str


class Effort(NamedTuple):
    """The extent of a run."""

    quick: bool
    requests: int
    """The number of requests to the service."""
    seconds: int
    """The processor time of each other method for one plan, in seconds."""


class Cost(NamedTuple):
    """The time and memory of one whole process."""

    seconds: float
    of_processor: float
    """The seconds of the processor: another program that runs meanwhile does not count."""
    mib: float
    """The greatest memory that it held, in MiB."""


STARTER = """
import json, os, subprocess, sys, time
before = time.perf_counter()
process = subprocess.Popen(sys.argv[1:], stdout=subprocess.DEVNULL)
_, status, used = os.wait4(process.pid, 0)
seconds = time.perf_counter() - before
of_processor = used.ru_utime + used.ru_stime
print(json.dumps([os.waitstatus_to_exitcode(status), seconds, of_processor, used.ru_maxrss]))
"""
"""Starts a command from a small process: the system counts the memory of the starting process as
memory of the command."""


def environment() -> dict[str, str]:
    """The environment of a user: bytecode is kept, and output is not flushed line by line."""
    own = ("PYTHONDONTWRITEBYTECODE", "PYTHONUNBUFFERED", "PYTHONPATH")
    return {name: value for name, value in os.environ.items() if name not in own}


def trappoint(*words: str) -> list[str]:
    """The program as it is installed beside this interpreter, with its words."""
    script = shutil.which("trappoint", path=str(Path(sys.executable).parent))
    return [*([script] if script else [sys.executable, "-m", "trappoint"]), *words]


def run_once(words: Sequence[str]) -> float:
    """Run a command, which must succeed, and return the ms that it took."""
    before = time.perf_counter()
    done = subprocess.run(words, capture_output=True, env=environment(), check=False)
    ms = (time.perf_counter() - before) * 1000
    if done.returncode:
        sys.exit(f"{' '.join(words)} failed:\n{done.stderr.decode()}")
    return ms


def cost(words: Sequence[str]) -> Cost:
    """Run a command, which must succeed, and return its time and memory."""
    starter = [sys.executable, "-S", "-c", STARTER, *words]
    done = subprocess.run(starter, stdout=subprocess.PIPE, env=environment(), check=True)
    code, seconds, of_processor, most = json.loads(done.stdout)
    if code:
        sys.exit(f"{' '.join(words)} failed.")
    return Cost(seconds, of_processor, most / (1024 if sys.platform != "darwin" else 1024 * 1024))


def child(module: str, *words: object, seconds: int | None = None) -> Any:
    """Run a module of this folder in a new process, and return the JSON that it prints.

    Returns None if it exceeds the limit of processor time in ``seconds``.
    """
    command = [sys.executable, "-m", f"bench.{module}", *map(str, words)]

    def limited() -> None:
        if seconds is not None:
            resource.setrlimit(resource.RLIMIT_CPU, (seconds, seconds + 1))

    done = subprocess.run(
        command,
        cwd=TESTS,
        env=environment(),
        stdout=subprocess.PIPE,
        check=False,
        preexec_fn=limited,
    )
    if seconds is not None and done.returncode == -signal.SIGXCPU:
        return None
    if done.returncode:
        sys.exit(f"{' '.join(command)} failed.")
    return json.loads(done.stdout)


def in_turn(commands: Mapping[str, Sequence[str]], rounds: int) -> dict[str, list[float]]:
    """Run commands in turn, so that other programs slow all of them alike; return times in ms."""
    for words in commands.values():
        run_once(words)  # fills the caches of files and of bytecode
    found: dict[str, list[float]] = {name: [] for name in commands}
    for _ in range(rounds):
        for name, words in commands.items():
            found[name].append(run_once(words))
    return found


def table(heads: Sequence[str], rows: Iterable[Sequence[object]]) -> str:
    """Write a table in Markdown: the first column to the left, the others to the right."""
    lines = [heads, ["---", *["---:"] * (len(heads) - 1)], *rows]
    return "\n".join(f"| {' | '.join(_cell(cell) for cell in line)} |" for line in lines) + "\n"


def paragraph(*sentences: str) -> str:
    """Write sentences as lines of a page."""
    return textwrap.fill(" ".join(sentences), 100, break_long_words=False) + "\n"


def _cell(value: object) -> str:
    if not isinstance(value, float):
        return f"{value:,}" if isinstance(value, int) else str(value)
    if math.isnan(value):
        return ""
    return f"{value:,.0f}" if value >= 100 else f"{value:.3g}"


def medians(found: Mapping[str, Sequence[float]]) -> Iterator[Figure]:
    """Yield the median and the least of each row of times in ms."""
    for name, ms in found.items():
        yield Figure(f"{name} / median", median(ms), "ms")
        yield Figure(f"{name} / least", min(ms), "ms")


def beside_base(rows: Mapping[str, Mapping[str, float]], base: str) -> list[list[object]]:
    """Rows of the median, the least, and the median divided by that of ``base``."""
    against = rows[base]["median"]
    return [
        [name, row["median"], row["least"], row["median"] / against] for name, row in rows.items()
    ]


def exponent(sizes: Sequence[float], costs: Sequence[float]) -> float:
    """The k of cost = c * size^k that fits best: least squares on logarithms; nan for too few."""
    pairs = [(math.log(n), math.log(c)) for n, c in zip(sizes, costs, strict=True) if c > 0]
    if len(pairs) < 2:
        return math.nan
    mean_x = sum(x for x, _ in pairs) / len(pairs)
    mean_y = sum(y for _, y in pairs) / len(pairs)
    return sum((x - mean_x) * (y - mean_y) for x, y in pairs) / sum(
        (x - mean_x) ** 2 for x, _ in pairs
    )
