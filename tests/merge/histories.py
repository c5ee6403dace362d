"""Random plans with a history, and real git to merge them in."""

from __future__ import annotations

import copy
import json
import random
import subprocess
import sys
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import NamedTuple

from compare.repositories import Club, found_club
from merge.versions import KEEPING_IDS, Plan, finish, merge
from trappoint.merging.ancestors import Ancestor, merge_ancestors, read_ancestor
from trappoint.merging.merge import Merged, merge_sheets, read_version
from trappoint.tidying.tree import SourceTree

NAME = "plan.layout.json"


class History(NamedTuple):
    """A plan, its versions on two branches, and the versions that merged both."""

    base: Plan
    bases: tuple[Plan, ...]
    """The versions that both branches merged; none for a plain merge."""
    ours: Plan
    theirs: Plan


Thing = tuple[str, str]


def disputed(rng: random.Random, plan: Plan) -> list[Thing]:
    """Return three things of a plan that change more often than others."""
    kinds = [kind for kind in plan if isinstance(plan[kind], dict)]
    return rng.sample([(kind, id_) for kind in kinds for id_ in plan[kind]], 3)


def changed(rng: random.Random, plan: Plan, things: list[Thing], most: int) -> Plan:
    """Return a plan with at most ``most`` random changes, which change no id."""
    found = copy.deepcopy(plan)
    for _ in range(rng.randint(0, most)):
        if rng.random() < 0.5:
            rng.choice(KEEPING_IDS)(rng, found)
        else:
            _dispute(rng, found, *rng.choice(things))
    return found


def _dispute(rng: random.Random, plan: Plan, kind: str, id_: str) -> None:
    of_kind = plan.setdefault(kind, {})
    if rng.random() < 0.2:
        of_kind.pop(id_, None)
    else:
        of_kind.setdefault(id_, {})[rng.choice(("note", "name"))] = rng.choice("abcd")


def three_way(rng: random.Random, base: Plan) -> History:
    """Return two versions of a plan."""
    things = disputed(rng, base)
    return History(base, (), changed(rng, base, things, 8), changed(rng, base, things, 8))


def crosswise(rng: random.Random, base: Plan) -> History:
    """Return two versions that merged the same two and settled their conflicts."""
    things = disputed(rng, base)
    bases = changed(rng, base, things, 4), changed(rng, base, things, 4)
    text = merge(base, *bases).text
    choices = [json.loads(finish(text, side)) for side in ("ours", "theirs")]
    settled = [*choices, *choices, *bases, base]
    ours, theirs = (changed(rng, rng.choice(settled), things, 2) for _ in range(2))
    return History(base, bases, ours, theirs)


def written(plan: Plan) -> bytes:
    return json.dumps(plan, ensure_ascii=False, indent=1).encode()


def merged(history: History) -> Merged:
    """Merge a history as the driver does, without git."""
    base = written(history.base)
    if history.bases:
        first, *others = map(written, history.bases)
        for other in others:
            first = merge_ancestors(base, first, other)
        base = first
    ancestor = read_ancestor(base, "plan")
    assert isinstance(ancestor, Ancestor)
    ours, theirs = (read_version(written(plan), "plan") for plan in (history.ours, history.theirs))
    assert isinstance(ours, SourceTree)
    assert isinstance(theirs, SourceTree)
    return merge_sheets(ancestor.sheet, ours, theirs, ancestor.undecided)


class Merge(NamedTuple):
    """The result of a merge by git."""

    code: int
    said: str
    text: str

    @property
    def kept(self) -> tuple[Plan, Plan]:
        """The plan with our version of every conflict, and the plan with theirs."""
        mine, yours = (json.loads(finish(self.text, side)) for side in ("ours", "theirs"))
        return mine, yours

    @property
    def named(self) -> list[str]:
        """The sentences that name conflicts."""
        lines = self.said.splitlines()
        return [line.partition(": conflict: ")[2] for line in lines if ": conflict: " in line]


def merges(folder: Path, histories: Sequence[History]) -> Iterator[Merge]:
    """Merge each history by real git with the driver installed."""
    club = found_club(folder)
    done = club.run(sys.executable, "-m", "trappoint_hooks.merge", "--install")
    assert done.returncode == 0, done.stderr
    _commit(club, histories)
    for number in range(len(histories)):
        club.git("checkout", "--quiet", "--force", "--detach", f"ours-{number}")
        result = club.run("git", "merge", "--no-edit", "-m", "Both", f"theirs-{number}")
        text = (club.folder / NAME).read_text("utf-8")
        yield Merge(result.returncode, result.stdout + result.stderr, text)
        club.git("reset", "--quiet", "--hard")


def _commit(club: Club, histories: Sequence[History]) -> None:
    """Write all histories into the repository at once."""
    stream: list[bytes] = []

    def commit(name: str, plan: Plan, *parents: str) -> str:
        content, branch = written(plan), f"refs/heads/{name}"
        stream.append(f"commit {branch}\ncommitter S <s@example.org> 0 +0000\n".encode())
        stream.append(f"data {len(name)}\n{name}\n".encode())
        for word, parent in zip(("from", *["merge"] * len(parents)), parents, strict=False):
            stream.append(f"{word} {parent}\n".encode())
        stream.append(f"M 100644 inline {NAME}\ndata {len(content)}\n".encode() + content + b"\n")
        return branch

    for number, history in enumerate(histories):
        root = commit(f"base-{number}", history.base)
        bases = [
            commit(f"base-{number}-{each}", plan, root) for each, plan in enumerate(history.bases)
        ] or [root]
        commit(f"ours-{number}", history.ours, *bases)
        commit(f"theirs-{number}", history.theirs, *bases[::-1])
    words = ["git", "fast-import", "--quiet"]
    subprocess.run(words, input=b"".join(stream), cwd=club.folder, env=club.env, check=True)
