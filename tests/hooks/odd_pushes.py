"""Random pushes of objects that git rarely writes: ``python -m hooks.odd_pushes --count N``.

They have trees with every kind of entry and name, twice or in any order; plans, boards and settings
of every kind; commits and tags that lead nowhere. The hook must end with a code and a sentence.
"""

from __future__ import annotations

import argparse
import json
import random
import subprocess
import sys
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING, NamedTuple

from hooks.meets import meet
from hooks.objects import FILE, FOLDER, LINK, REPOSITORY, Objects
from hooks.pushing import BAD, BROKEN, GOOD, environment
from trappoint_hooks.receive import PROGRAM

if TYPE_CHECKING:
    from collections.abc import Sequence

    from hooks.objects import Entry

NAMES = (
    *(b"a.layout.json", b"b.layout.json", b"A.LAYOUT.JSON", b"-o.layout.json", b"--.layout.json"),
    *(b".layout.json", b":(glob)*.layout.json", b"a b\t.layout.json", b"\xff\xfe.layout.json"),
    *(b"\x1b[31m\n\x07.layout.json", b"\xc2\x9b.layout.json", b"x" * 5000 + b".layout.json"),
    *(b"a.layout.json/", b"in/a.layout.json", "\u202e\ue000.layout.json".encode()),
    *[b"trappoint.toml", b"pyproject.toml"] * 3,
    *(b"in", b"a.json", b".git", b".", b"..", b".gitmodules"),
)
MODES = (FILE, FILE, FILE, "100755", "100664", LINK, FOLDER, FOLDER, REPOSITORY, "0", "7", "100000")
BOARDS = (
    *(
        "a.layout.json",
        "b.layout.json",
        "../a.layout.json",
        "../../a.layout.json",
        "in/a.layout.json",
    ),
    *("/etc/passwd", "a\0.layout.json", "-o.layout.json", ".git/config", "x" * 5000, "", ".", "\n"),
    *("\x1b[31m", "in//a.layout.json", ":(top)a.layout.json", "A.LAYOUT.JSON"),
)
SETTINGS = (
    *(
        '[levels]\nunheld-exit = "off"',
        '[levels]\nstandstill = "error"',
        "[choices]\noverlap = true",
    ),
    *(
        "x = " + "[" * 5000,
        "a." * 5000 + "a = 1",
        "[tool]\ntrappoint = 1",
        "tool = 1\n[tool.trappoint",
    ),
    *("[tool.trappoint.levels]\nstandstill = 3", '"\\u001b[31m" = 1', "\0", "x = " + "9" * 5000),
)
MESSAGES = (
    *(
        b"A push\n",
        b"",
        b"\n\n\n",
        b"\x1b]0;title\x07\x1b[2J",
        b"\0 \0",
        b"\xff\xfe",
        b"s" * 100_000,
    ),
    "\u009b31m \u202e".encode(),
)
REFS = (
    *(b"refs/heads/main", b"refs/heads/b", b"refs/tags/t", b"refs/heads/\x1b[31m", b"refs/\xff"),
    *(b"-o", b"HEAD", b"refs/heads/a b", b"refs/heads/" + b"x" * 3000),
)
WORDS = (["--strict"], ["--every-commit"], ["--fail-on", "note"], ["--ref", "refs/heads/*"])


class Outcome(NamedTuple):
    """The exit code of the hook, and its output."""

    code: int
    said: str

    @property
    def wrong(self) -> str:
        """The mistake of the hook; empty if there is none."""
        if self.code not in (0, 1, 2):
            return f"exit code {self.code}"
        if "Traceback" in self.said or "fault" in self.said:
            return "an internal error"
        odd = {char for char in self.said if not char.isprintable()} - {"\n"}
        if odd:
            return f"characters {odd} reach the terminal"
        if bool(self.code) != bool(self.said):
            return "a code without a reason, or a reason without one"
        return ""


class Hand:
    """Writes random objects into a repository, each from those before."""

    def __init__(self, repository: Path, seed: int) -> None:
        self._random = random.Random(seed)
        self._objects = objects = Objects(repository, self._random.choice(("sha1", "sha256")))
        subprocess.run(
            ["git", "init", "--quiet", "--bare", f"--object-format={objects.form}", repository],
            check=True,
        )
        west, east = self._random.choices(BOARDS, k=2)
        texts = [GOOD, BAD, BROKEN, "", "{}", "\xff", meet(west=west, east=east)]
        texts += [json.dumps({"format": "trappoint-layout/1", "boards": {}, "x": "\0"})]
        self._rude = self._random.random() < 0.3
        self._plans = [objects.blob(text) for text in texts]
        self._settings = [objects.blob(text) for text in SETTINGS]
        self.blobs = self._plans + self._settings
        self.missing = objects.nothing[:-1] + "1"
        self.trees = [objects.tree([])]
        self.commits: list[str] = []
        self.tags: list[str] = []
        for _ in range(6):
            self.trees.append(self._tree())
        for _ in range(6):
            self.commits.append(self._commit())
        for kind, known in (("commit", self.commits), ("blob", self.blobs), ("tree", self.trees)):
            self.tags.append(objects.tag(self._one(known), kind))
            self.tags.append(objects.tag(self.tags[-1], "tag"))

    def _one(self, known: Sequence[str]) -> str:
        """Return one of these; in a rude push sometimes an object of another kind."""
        if self._rude and self._random.random() < 0.05:
            known = (self.missing, *self.blobs, *self.trees)
        return self._random.choice(known)

    def _tree(self) -> str:
        pick = self._random
        entries: list[Entry] = []
        for _ in range(pick.randrange(10)):
            mode, name = pick.choice(MODES), pick.choice(NAMES)
            files = self._settings if name.endswith(b".toml") else self._plans
            known = {FOLDER: self.trees, REPOSITORY: [self.missing]}.get(mode, files)
            entries.append((mode, name, self._one(known)))
        if not self._rude:
            entries = sorted(set(entries), key=lambda entry: entry[1])
        elif pick.random() < 0.1:
            entries.append((FILE, b"", self.blobs[0]))
        return self._objects.tree(entries)

    def _commit(self) -> str:
        pick = self._random
        if self._rude and pick.random() < 0.05:
            return self._objects.write("commit", pick.choice((b"", b"tree x\n", b"\0")))
        count = pick.choice((0, 1, 1, 1, 2, 3)) if self.commits else 0
        parents = [self._one(self.commits) for _ in range(count)]
        tree = self._one(self.trees)
        return self._objects.commit(tree, *parents, message=pick.choice(MESSAGES))

    def updates(self) -> bytes:
        """Return the lines that git writes to the hook, or nearly so."""
        pick = self._random
        known = [*self.commits * 4, *self.tags, *self.blobs[:1], self.trees[0]]
        known += [self.missing] if self._rude else []
        lines = [
            b"%s %s %s\n"
            % (
                pick.choice([self._objects.nothing, *known]).encode(),
                pick.choice([self._objects.nothing, *known * 4]).encode(),
                pick.choice(REFS),
            )
            for _ in range(pick.randrange(1, 6))
        ]
        return b"".join(lines)[: -50 if self._rude and pick.random() < 0.2 else None]

    def words(self) -> list[str]:
        """Return options for the hook."""
        return [word for words in WORDS if self._random.random() < 0.3 for word in words]


def outcome(folder: Path, seed: int) -> Outcome:
    """Make a random push in a new folder, and call the hook."""
    repository = folder / "server.git"
    hand = Hand(repository, seed)
    for number, commit in enumerate(hand.commits[:2]):  # some exist before the push
        (repository / "refs" / "heads" / f"old{number}").write_text(f"{commit}\n", "utf-8")
    done = subprocess.run(
        [sys.executable, "-m", "trappoint_hooks.receive", *hand.words()],
        cwd=repository,
        env=environment(folder),
        input=hand.updates(),
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        check=False,
        timeout=120,
    )
    return Outcome(done.returncode, done.stdout.decode("utf-8", "backslashreplace"))


def main() -> None:
    """Make random pushes, and print those with a mistake of the hook."""
    parser = argparse.ArgumentParser(f"python -m {__spec__.name}", description=f"Tries {PROGRAM}.")
    parser.add_argument("--count", type=int, default=1000, help="random pushes (default: 1000)")
    parser.add_argument("--first", type=int, default=0, help="seed of the first (default: 0)")
    options = parser.parse_args()
    codes = {0: 0, 1: 0, 2: 0}
    for seed in range(options.first, options.first + options.count):
        with TemporaryDirectory() as name:
            found = outcome(Path(name), seed)
        codes[found.code] = codes.get(found.code, 0) + 1
        if found.wrong:
            sys.stdout.write(f"seed {seed}: {found.wrong}\n{found.said}\n")
    sys.stdout.write(f"exit codes: {codes}\n")


if __name__ == "__main__":
    main()
