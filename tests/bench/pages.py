"""The pages with figures: this folder's README.md with all tables, and a short table elsewhere."""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, NamedTuple

from bench import beside, cold, drafting, hook, many, scale, serving, warm
from bench.figures import newest
from bench.measuring import ROOT, table

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Mapping
    from pathlib import Path

    from bench.figures import History

PARTS = ("cold", "hook", "warm", "drafting", "scale", "beside", "many", "serving")
"""The parts, each a module of this folder."""

SHORT, LONG = ROOT / "DEVELOPERS.md", ROOT / "tests" / "bench" / "README.md"
BEGIN, END = "<!-- drawn by `python -m bench --draw` -->\n", "<!-- drawn so far -->\n"

RUNS = 4
"""The number of runs in the short table."""


class Main(NamedTuple):
    """A main figure: its place in the short table and how it follows from a part's figures."""

    label: str
    aim: str
    part: str
    of: Callable[[Mapping[str, float]], float]


MAIN = (
    Main("cold check beyond bare Python, ms", "100", "cold", cold.beyond_bare),
    Main("cold check beside `import jsonschema`", "2.5", "cold", cold.beside_library),
    Main("the hook beyond one that does nothing, ms", "", "hook", hook.beyond_nothing),
    Main("warm check of the largest example, ms", "30", "warm", warm.whole),
    Main("signals proposed for the largest example, s", "10", "drafting", drafting.longest),
    Main("table of 10,000 points, s", "10", "scale", lambda found: scale.largest(found, "elapsed")),
    Main("and its memory, MiB", "1,000", "scale", lambda found: scale.largest(found, "memory")),
    Main("and its growth, the k of n^k", "1.15", "scale", scale.growth),
    Main("the obvious way, 1,250 points, times as long", "", "beside", beside.times_as_long),
    Main("two jobs, times as fast", "1.8", "many", many.gain),
    Main("checks served in a second", "", "serving", serving.rate),
)


def headed(part: str) -> str:
    """Return the heading of a part."""
    return f"**{part.capitalize()}.** {import_module(f'bench.{part}').ABOUT}\n"


def shown(part: str, found: Mapping[str, float]) -> Iterator[str]:
    """Draw the tables of a part."""
    yield from import_module(f"bench.{part}").show(found)


def long_page(history: History) -> Iterator[str]:
    """Draw the newest figures of every part."""
    last = None
    for part in PARTS:
        found = newest(history, part)
        if found is None:
            continue
        run, figures = found
        yield headed(part)
        if run != last:
            yield f"{run}\n"
        last = run
        yield from shown(part, figures)


def short_page(history: History) -> Iterator[str]:
    """Draw how the main figures moved over the last runs, newest first."""
    runs = list(reversed(history))[:RUNS]
    rows: list[list[object]] = [["load", "", *(run.load for run in runs)]]
    for main in MAIN:
        of_runs = [history[run].get(main.part) for run in runs]
        rows.append([main.label, main.aim, *(main.of(found) if found else "" for found in of_runs)])
    yield table(["", "aim", *(f"{run.date[:10]} {run.commit}" for run in runs)], rows)


def draw(file: Path, texts: Iterator[str]) -> str:
    """Return the text of a page with new tables between its two marks."""
    before, begin, rest = file.read_text("utf-8").partition(BEGIN)
    _, end, after = rest.partition(END)
    if not begin or not end:
        raise ValueError(f"{file.name} lacks the marks between which tables are drawn")
    return before + begin + "\n" + "\n".join(texts) + "\n" + end + after


def draw_pages(history: History) -> dict[Path, str]:
    """Return the texts of both pages."""
    return {SHORT: draw(SHORT, short_page(history)), LONG: draw(LONG, long_page(history))}
