"""Pushes that are made to cost much: ``cd tests && python -m bench.pushes [--tree FOLDER]``.

Each is judged by the hook at the push, in a process of its own. Printed are its seconds, the most
memory that all of its processes held at a time, its lines of output, its exit code and its last
words. ``--tree`` is another checkout, to compare with. Linux alone has what this looks up.
"""

from __future__ import annotations

import argparse
import json
import os
import resource
import signal
import subprocess
import sys
import threading
import time
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING, NamedTuple

from bench.measuring import ROOT, table
from hooks.meets import CLASH, board
from hooks.objects import FOLDER, Objects
from hooks.pushing import BAD, GOOD, PLAN, environment
from large.railway import railway, written

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence

MAX_SECONDS = 150
"""A hook without limits is ended then."""

MAX_BYTES = 6 * 1024**3
"""The most that each of its processes may take."""

MAIN = "refs/heads/main"


class Push(NamedTuple):
    """A push for the hook to judge."""

    lines: list[str]
    """The lines that git would give; none for a standard input without an end."""
    words: Sequence[str] = ()


class Cost(NamedTuple):
    """The cost of one push, and its end."""

    seconds: float
    of_processor: float
    """Processes that the hook had to end are left out."""
    mib: float
    lines: int
    code: int | str
    last: str


def _update(old: str, new: str, ref: str = MAIN) -> str:
    return f"{old} {new} {ref}\n"


def _grown(objects: Objects, plans: Iterator[str], first: str, *words: str) -> Push:
    """Return the push of a history with one version of the plan after the other."""
    start = last = objects.commit(objects.folder({PLAN: objects.blob(first)}))
    for plan in plans:
        last = objects.commit(objects.folder({PLAN: objects.blob(plan)}), last)
    return Push([_update(start, last)], words)


def common(objects: Objects) -> Push:
    """One good plan that is changed."""
    return _grown(objects, iter([GOOD.replace("Kelpie", "Selkie")]), GOOD)


def versions(objects: Objects) -> Push:
    """120 versions of a bad plan of 8 MB, nearly all of it padding."""
    plans = (BAD.replace("Kelpie", f"\U0001f682{n}") + " " * 8_000_000 for n in range(120))
    return _grown(objects, plans, GOOD)


def keys(objects: Objects) -> Push:
    """One plan of 690,000 keys."""
    plan = '{"format": "trappoint-layout/1"' + "".join(f',"{n:x}":1' for n in range(690_000)) + "}"
    return _grown(objects, iter([plan]), GOOD)


def many(objects: Objects) -> Push:
    """10,000 small bad plans."""
    names = (f"{n:05}.layout.json" for n in range(10_000))
    files = {name: objects.blob(BAD.replace("Kelpie", name)) for name in names}
    return Push([_update(objects.nothing, objects.commit(objects.folder(files)))])


def bad_for_long(objects: Objects) -> Push:
    """60 bad plans, each of them in 200 versions."""
    last = start = objects.commit(objects.folder({"a": objects.blob("a")}))
    for version in range(200):
        plan = objects.blob(BAD.replace("Kelpie", str(version)))
        files = {f"{n}.layout.json": plan for n in range(60)}
        last = objects.commit(objects.folder(files), last)
    return Push([_update(start, last)])


def refs(objects: Objects) -> Push:
    """5,000 branches, each with a commit of its own."""
    tree = objects.folder({PLAN: objects.blob(GOOD)})
    commits = [objects.commit(tree, message=b"%d\n" % n) for n in range(5000)]
    return Push([_update(objects.nothing, new, f"refs/heads/{new}") for new in commits])


def refs_of_one(objects: Objects) -> Push:
    """5,000 branches at one bad commit."""
    new = objects.commit(objects.folder({PLAN: objects.blob(BAD)}))
    return Push([_update(objects.nothing, new, f"refs/heads/{n}") for n in range(5000)])


def history(objects: Objects) -> Push:
    """3,000 commits that change the plan, and each is judged."""
    plans = (GOOD.replace("Kelpie", str(n)) for n in range(3000))
    return _grown(objects, plans, GOOD, "--every-commit")


def notes(objects: Objects) -> Push:
    """10,000 commits that change no plan, and each is judged."""
    plan = objects.blob(GOOD)
    start = last = objects.commit(objects.folder({PLAN: plan}))
    for n in range(10_000):
        last = objects.commit(objects.folder({PLAN: plan, "n": objects.blob(str(n))}), last)
    return Push([_update(start, last)], ["--every-commit"])


def fan(objects: Objects) -> Push:
    """100 boards, 50 wholes of all of them, 40 commits that change a board; each is judged."""
    boards = {f"b{n}.layout.json": objects.blob(board(stand=False)) for n in range(100)}
    wholes = {
        f"w{n}.layout.json": objects.blob(
            json.dumps(
                {"format": "trappoint-layout/1", "title": str(n)}
                | {
                    "tracks": {},
                    "boards": {f"b{i}": {"plan": f"b{i}.layout.json"} for i in range(100)},
                }
            )
        )
        for n in range(50)
    }
    start = last = objects.commit(objects.folder(boards | wholes))
    for n in range(40):
        boards["b7.layout.json"] = objects.blob(CLASH + " " * n)
        last = objects.commit(objects.folder(boards | wholes), last)
    return Push([_update(start, last)], ["--every-commit"])


def bomb(objects: Objects) -> Push:
    """A tree of ten entries, which are one tree of ten entries, and so on: 10,000,000,000 files."""
    inner = objects.folder({PLAN: objects.blob(BAD)})
    for _ in range(10):
        inner = objects.tree((FOLDER, b"%d" % n, inner) for n in range(10))
    return Push([_update(objects.nothing, objects.commit(inner))])


def wide(objects: Objects) -> Push:
    """A tree of 1,000,000 files, and a bad plan."""
    empty = objects.blob("")
    files = {f"{n:07}": empty for n in range(1_000_000)} | {PLAN: objects.blob(BAD)}
    return Push([_update(objects.nothing, objects.commit(objects.folder(files)))])


def huge(objects: Objects) -> Push:
    """Ten plans of 300 MB of spaces."""
    files = {f"{n}.layout.json": objects.blob(b" " * (300_000_000 + n)) for n in range(10)}
    return Push([_update(objects.nothing, objects.commit(objects.folder(files)))])


def settings(objects: Objects) -> Push:
    """Settings of 8 MB, one with a key of 500,000 parts, and 100 plans for each."""
    files = {}
    for folder, text in (("a", "x = [" + "1," * 4_000_000), ("b", "a." * 500_000 + "a = 1")):
        files[f"{folder}/trappoint.toml"] = objects.blob(text)
        plan = objects.blob(GOOD)
        files |= {f"{folder}/{n}.layout.json": plan for n in range(100)}
    return Push([_update(objects.nothing, objects.commit(objects.folder(files)))])


def path(objects: Objects) -> Push:
    """A bad plan in 1,000 folders, one in the other, with names of 200 letters."""
    inner = objects.folder({PLAN: objects.blob(BAD)})
    for _ in range(1000):
        inner = objects.tree([(FOLDER, b"x" * 200, inner)])
    return Push([_update(objects.nothing, objects.commit(inner))])


def subject(objects: Objects) -> Push:
    """A bad plan by a commit with a subject of 100 MB, with control characters."""
    tree = objects.folder({PLAN: objects.blob(BAD)})
    text = b"\x1b[31m\x07 red \xc2\x9b" * 10_000_000
    return Push([_update(objects.nothing, objects.commit(tree, message=text))])


def renamed(objects: Objects) -> Push:
    """900 plans of 100 kB, each with another name and another end."""
    texts = [f"{n} " * 20_000 for n in range(900)]
    before = {f"{n}.layout.json": objects.blob(text) for n, text in enumerate(texts)}
    after = {f"x{n}.layout.json": objects.blob(f"{text}.") for n, text in enumerate(texts)}
    start = objects.commit(objects.folder(before))
    return Push([_update(start, objects.commit(objects.folder(after), start))])


def large(objects: Objects) -> Push:
    """30 plans of 3,000 points."""
    plans = {f"{n}.layout.json": objects.blob(written(railway(3000, n))) for n in range(30)}
    return Push([_update(objects.nothing, objects.commit(objects.folder(plans)))])


def endless(_: Objects) -> Push:
    """A standard input without an end."""
    return Push([])


PUSHES: dict[str, Callable[[Objects], Push]] = {
    each.__name__.replace("_", "-"): each
    for each in (
        *(common, versions, keys, many, bad_for_long, refs, refs_of_one, history, notes, fan),
        *(bomb, wide, huge, settings, path, subject, renamed, large, endless),
    )
}


def main() -> None:
    """Make each push, have it judged, and print the table."""
    parser = argparse.ArgumentParser("python -m bench.pushes", description=__doc__.split("\n")[0])
    parser.add_argument("--tree", type=Path, default=ROOT, metavar="FOLDER", help="a checkout")
    parser.add_argument(
        "--only", action="append", choices=PUSHES, metavar="PUSH", help=f"of {', '.join(PUSHES)}"
    )
    options = parser.parse_args()
    rows = []
    for name in options.only or PUSHES:
        cost = _judged(PUSHES[name], options.tree)
        rows.append([name, *cost[:5]])
        print(f"{name}: {cost}", file=sys.stderr, flush=True)
    heads = ["push", "s", "s of processor", "MiB at most", "lines", "exit code"]
    print(table(heads, rows))


def _judged(make: Callable[[Objects], Push], tree: Path) -> Cost:
    with TemporaryDirectory() as name:
        folder = Path(name)
        server = folder / "server.git"
        subprocess.run(["git", "init", "--quiet", "--bare", server], check=True)
        push = make(Objects(server))
        (folder / "given").write_text("".join(push.lines))
        source = "/dev/zero" if not push.lines else str(folder / "given")
        with Path(source).open("rb") as given, (folder / "said").open("w+b") as said:
            began, used = time.perf_counter(), _of_processor()
            process = subprocess.Popen(
                [sys.executable, "-P", "-m", "trappoint_hooks.receive", *push.words],
                cwd=server,
                env=environment(folder)
                | {"PYTHONPATH": os.pathsep.join([f"{tree}/validator", f"{tree}/hooks"])},
                stdin=given,
                stdout=said,
                stderr=subprocess.STDOUT,
                start_new_session=True,
            )
            resource.prlimit(process.pid, resource.RLIMIT_AS, (MAX_BYTES, MAX_BYTES))
            most, in_time = _watched(process)
            seconds = time.perf_counter() - began
            said.seek(0)
            lines = said.read().decode("utf-8", "replace").splitlines()
        code = process.returncode if in_time else "ended"
        return Cost(
            seconds, _of_processor() - used, most, len(lines), code, " ".join(lines[-4:])[-300:]
        )


def _of_processor() -> float:
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    return used.ru_utime + used.ru_stime


def _watched(process: subprocess.Popen[bytes]) -> tuple[float, bool]:
    """Return the most MiB that a process and those it starts held, and whether they ended."""
    late = threading.Timer(MAX_SECONDS, _end, [process])
    late.start()
    most = 0
    while process.poll() is None:
        most = max(most, sum(pages for _, pages in _session(process.pid)))
        time.sleep(0.02)
    in_time = late.is_alive()
    late.cancel()
    return most * resource.getpagesize() / 1024**2, in_time


def _end(process: subprocess.Popen[bytes]) -> None:
    for pid, _ in _session(process.pid):
        os.kill(pid, signal.SIGKILL)


def _session(leader: int) -> Iterator[tuple[int, int]]:
    """Yield the processes of a session, and the pages of memory that each holds."""
    for entry in Path("/proc").iterdir():
        if entry.name.isdecimal():
            try:
                about = (entry / "stat").read_text().rpartition(")")[2].split()
            except OSError:
                continue
            if int(about[3]) == leader:
                yield int(entry.name), int(about[21])


if __name__ == "__main__":
    main()
