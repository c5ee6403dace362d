"""The pre-receive hook of a club's bare repository: bad plans are turned aside at the push.

Git calls it once for each push, before any branch moves, and gives it a line ``OLD NEW REF`` for
each. Everything is read from git's objects. The plans are judged as they are at the end of the
push, by the settings there: a slip that a later commit of the same push mends does no harm. Only
what gets worse is rejected: a plan that was bad before may come again, better or as bad.
"""

from __future__ import annotations

import os
import sys
from fnmatch import fnmatchcase
from typing import TYPE_CHECKING, NamedTuple

from trappoint.source.git import GitError
from trappoint_hooks.judging import Judge
from trappoint_hooks.pushes import Judged, judge_push
from trappoint_hooks.repository import Repository
from trappoint_hooks.running import look_of, parser_for, run_hook, say_refusals, set_up

if TYPE_CHECKING:
    from argparse import Namespace
    from collections.abc import Sequence

    from trappoint.app.streams import Streams
    from trappoint.core.terminal import RenderOptions

DESCRIPTION = """\
Turns bad plans aside at the push: the pre-receive hook of a bare repository.
Git calls it; `trappoint-receive --install REPOSITORY` sets it up there."""


class Update(NamedTuple):
    """A branch, tag or the like that a push would move."""

    old: str
    new: str
    ref: str


def main(argv: Sequence[str] | None = None) -> int:
    """Judge a push and return the exit code: 0 lets it through, all of it."""
    parser = parser_for("trappoint-receive", DESCRIPTION)
    parser.add_argument(
        "--strict", action="store_true", help="reject every bad plan, also one that was bad before"
    )
    parser.add_argument(
        "--every-commit",
        action="store_true",
        help="judge every commit of a push by itself, not only the last",
    )
    parser.add_argument(
        "--ref",
        action="append",
        default=[],
        metavar="PATTERN",
        help="judge only these refs, for instance refs/heads/main (default: all)",
    )
    return run_hook(parser, argv, _run)


def _run(options: Namespace, streams: Streams) -> int:
    words = ["--fail-on", options.fail_on] if options.fail_on != "error" else []
    words += ["--strict"] if options.strict else []
    words += ["--every-commit"] if options.every_commit else []
    words += [f"--ref={pattern}" for pattern in options.ref]
    if set_up(options, streams, ("pre-receive",), "trappoint_hooks.receive", words):
        return 0
    look = look_of(streams)
    rejected = False
    told: dict[tuple[str, tuple[str, ...]], str] = {}
    with Repository() as repository:
        judge = Judge(repository, options.fail_on)
        for update in _updates():
            if not _is_judged(update.ref, options.ref):
                continue
            new = None if _is_nothing(update.new) else repository.commit_of(update.new)
            if new is None:  # it is deleted, or names no commit: no plan comes in
                continue
            bases = _bases(repository, update, new, options.ref)
            if (new, bases) in told:
                if told[new, bases]:
                    _say(look, streams, f"{update.ref}: rejected, as {told[new, bases]} is.")
                continue
            judged = judge_push(
                judge, new, bases, strict=options.strict, every_commit=options.every_commit
            )
            told[new, bases] = update.ref if judged else ""
            if judged:
                rejected = True
                _tell(update, judged, repository, streams, look)
    if rejected:
        _say(look, streams, "Nothing of this push was taken.")
    return int(rejected)


def _updates() -> list[Update]:
    """Read what git says on standard input."""
    if sys.stdin is None or sys.stdin.isatty():
        raise GitError(
            "Git calls this hook at a push; `trappoint-receive --install REPOSITORY` sets it up."
        )
    updates = []
    for line in sys.stdin.buffer.read().split(b"\n"):
        if not line:
            continue
        parts = os.fsdecode(line).split(" ", 2)
        if len(parts) != 3:
            raise GitError(f"Git gives lines `OLD NEW REF`, not {os.fsdecode(line)!a}.")
        updates.append(Update(*parts))
    return updates


def _is_nothing(name: str) -> bool:
    """Tell whether this is the name that git has for no object: zeros, 40 or 64 of them."""
    return not name.strip("0")


def _bases(
    repository: Repository, update: Update, new: str, patterns: Sequence[str]
) -> tuple[str, ...]:
    """Return the commits against which a push is judged.

    A branch is judged against what it was, whether or not it was rewritten. What is new, and a
    tag, is judged against the commits that it grew from and that were in judged refs before.
    """
    if update.ref.startswith("refs/heads/") and not _is_nothing(update.old):
        old = repository.commit_of(update.old)
        return () if old is None else (old,)
    lines = repository.commits("--boundary", new, "--not", *_judged_refs(repository, patterns))
    return tuple(line[1:] for line in lines if line.startswith("-")) if lines else (new,)


def _is_judged(ref: str, patterns: Sequence[str]) -> bool:
    return not patterns or any(fnmatchcase(ref, pattern) for pattern in patterns)


def _judged_refs(repository: Repository, patterns: Sequence[str]) -> list[str]:
    """Return what names, for ``git rev-list``, the refs that are judged, as they are before."""
    if not patterns:
        return ["--all"]
    refs = repository.ask("for-each-ref", "--format=%(refname)").splitlines()
    return [ref for ref in refs if _is_judged(ref, patterns)]


def _tell(
    update: Update,
    judged: list[Judged],
    repository: Repository,
    streams: Streams,
    look: RenderOptions,
) -> None:
    for number, (commit, refusals) in enumerate(judged):
        subject = repository.ask("log", "-1", "--format=%h %s", "--no-show-signature", commit)
        short, _, title = subject.strip().partition(" ")
        _say(look, streams, f"{update.ref}: rejected, for commit {short} ({title}):")
        streams.say("\n")
        last = number == len(judged) - 1
        say_refusals(refusals, streams, look, caution=last)


def _say(look: RenderOptions, streams: Streams, text: str) -> None:
    streams.say("\n".join(look.wrap(text, later="  ")) + "\n")


if __name__ == "__main__":
    sys.exit(main())
