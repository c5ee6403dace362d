"""The pre-receive hook of a club's bare repository, which rejects bad plans at the push.

Git calls it once for each push, before any branch moves, with one line ``OLD NEW REF`` for each
branch. It reads git's objects only. It judges the plans at the end of the push, with the settings
there, so a mistake that a later commit of the same push mends does no harm. It rejects only plans
that get worse: a plan that was bad before may stay as bad, or get better.
"""

from __future__ import annotations

import os
import re
import sys
from argparse import ArgumentTypeError
from fnmatch import fnmatchcase
from typing import TYPE_CHECKING, NamedTuple

from trappoint.core.findings import CAUTION_SHORT
from trappoint.source.git import GitError, GitRefusalError
from trappoint_hooks.limits import Limits, Output, within
from trappoint_hooks.running import guarded, parser_for, render_options, run_hook, set_up

if TYPE_CHECKING:
    from argparse import ArgumentParser, Namespace
    from collections.abc import Sequence

    from trappoint.app.streams import Streams
    from trappoint.model.settings import Settings
    from trappoint_hooks.limits import Watch
    from trappoint_hooks.pushes import PushJudge, Rejected
    from trappoint_hooks.repository import Repository

PROGRAM = "trappoint-receive"

DESCRIPTION = """\
Reject bad plans at the push: the pre-receive hook of a bare repository. Git
calls this hook; set it up with `trappoint-receive --install REPOSITORY`.

A check on paper, for models: no safety system, not for anything that carries people."""


class Update(NamedTuple):
    """A branch, tag or other ref that a push moves."""

    old: str
    new: str
    ref: str


def main(argv: Sequence[str] | None = None) -> int:
    """Judge a push and return the exit code: 0 accepts the whole push."""
    parser = parser_for(PROGRAM, DESCRIPTION)
    _add_words(parser)
    return run_hook(parser, argv, _run)


def _add_words(parser: ArgumentParser) -> None:
    parser.add_argument(
        "--strict", action="store_true", help="reject every bad plan, not only plans that get worse"
    )
    parser.add_argument(
        "--every-commit",
        action="store_true",
        help="check each commit of a push, not only the last one",
    )
    parser.add_argument(
        "--ref",
        action="append",
        default=[],
        metavar="PATTERN",
        help="refs to check, for instance refs/heads/main; may be repeated (default: all)",
    )
    parser.add_argument(
        "--settings",
        metavar="FILE",
        help="settings for all plans (default: the pushed settings)",
    )
    standard = Limits()
    for word, default, what in (
        ("seconds", standard.seconds, "time limit for the check of a push, in seconds"),
        ("memory", standard.memory_mb, "memory limit for each process of the check, in MB"),
        ("lines", standard.lines, "lines of output for findings; further findings are counted"),
    ):
        parser.add_argument(
            f"--{word}",
            type=_count,
            default=default,
            metavar="N",
            help=f"{what} (default: {default})",
        )


def _count(word: str) -> int:
    if not re.fullmatch(r"[1-9][0-9]{0,6}", word):
        raise ArgumentTypeError(f"{word!a} is not a whole number from 1 to 9999999.")
    return int(word)


def _run(options: Namespace, streams: Streams) -> int:
    if options.install is not None and options.settings is not None:
        options.settings = os.path.abspath(options.settings)  # noqa: PTH100
        _settings_of_server(options.settings)
    if set_up(options, streams, ("pre-receive",), "trappoint_hooks.receive", _words(options)):
        return 0
    limits = Limits(options.seconds, options.memory, options.lines)
    return within(
        limits,
        lambda job: guarded(PROGRAM, streams, job),
        lambda watch: _judge(options, streams, watch),
    )


def _words(options: Namespace) -> list[str]:
    """Return the arguments with which git calls the hook."""
    words = ["--fail-on", options.fail_on] if options.fail_on != "error" else []
    words += ["--strict"] if options.strict else []
    words += ["--every-commit"] if options.every_commit else []
    words += [f"--ref={pattern}" for pattern in options.ref]
    words += [f"--settings={options.settings}"] if options.settings is not None else []
    now, standard = Limits(options.seconds, options.memory, options.lines), Limits()
    named = zip(("seconds", "memory", "lines"), now, standard, strict=True)
    return words + [f"--{word}={value}" for word, value, usual in named if value != usual]


def _judge(options: Namespace, streams: Streams, watch: Watch) -> int:
    from trappoint_hooks.judging import Judge
    from trappoint_hooks.pushes import PushJudge
    from trappoint_hooks.repository import Repository

    settings = None if options.settings is None else _settings_of_server(options.settings)
    look = render_options(streams)
    output = Output(streams, look, options.lines)
    watch("reading the refs from git")
    updates = [update for update in _updates() if _is_judged(update.ref, options.ref)]
    with Repository() as repository:
        judge = PushJudge(
            Judge(repository, options.fail_on, settings),
            look,
            watch,
            strict=options.strict,
            every_commit=options.every_commit,
        )
        rejected = _judge_updates(updates, judge, _Bases(repository, options.ref), output)
    if not rejected and not judge.stopped:
        return 0
    rest = ["The rest of the push was not checked."] if judge.stopped else []
    output.say_last(*rest, CAUTION_SHORT, "The push is rejected.")
    return 1


def _judge_updates(
    updates: Sequence[Update], judge: PushJudge, bases_of: _Bases, output: Output
) -> bool:
    """Judge the refs, print the findings, and return whether a ref is rejected."""
    judged: dict[tuple[str, tuple[str, ...]], str] = {}
    for update in updates:
        new = bases_of.commit(update.new)
        if new is None:  # the ref is deleted, or names no commit: it brings no plan
            continue
        bases = bases_of.of(update, new)
        if (new, bases) in judged:
            if judged[new, bases]:
                _say(output, f"{update.ref}: rejected, like {judged[new, bases]}.", refs=1)
            continue
        if any(judged.values()) and not output.room:
            judge.stopped = True
            break
        rejected = judge.judge(update.ref, new, bases, max(output.room, 1))
        judged[new, bases] = update.ref if rejected else ""
        for part in rejected:
            _print_part(update, part, bases_of.repository, output)
    return any(judged.values())


def _settings_of_server(path: str) -> Settings:
    """Return the settings of the server. Raises ``CannotUse``."""
    from trappoint.config.settings_file import SettingsError, read_settings_file, settings_in
    from trappoint.core.errors import CannotUse

    try:
        found = settings_in(read_settings_file(path), path)
        if found is None:
            raise SettingsError(path, "this file has no table [tool.trappoint].")
    except SettingsError as error:
        raise CannotUse(
            f"{error} These are the settings of the server: ask its owner to mend them. "
            "Until then every push is rejected."
        ) from None
    return found


def _updates() -> list[Update]:
    """Read the refs that git writes to standard input."""
    if sys.stdin is None or sys.stdin.isatty():
        raise GitError(
            "Git calls this hook at a push. Set it up with `trappoint-receive --install "
            "REPOSITORY`."
        )
    given = sys.stdin.buffer.read(MAX_BYTES + 1)
    if len(given) > MAX_BYTES:
        raise GitError(
            f"This push has more than {MAX_BYTES:,} bytes of refs: push fewer at a time."
        )
    updates = []
    for line in given.split(b"\n"):
        if not line:
            continue
        found = _LINE.fullmatch(line)
        if found is None:
            shown = os.fsdecode(line[:200])
            raise GitError(f"Git gives lines `OLD NEW REF`, not {shown!a}.")
        updates.append(Update(*map(os.fsdecode, found.groups())))
    return updates


MAX_BYTES = 16 * 1024 * 1024
"""The maximum bytes of git's lines: enough for about 100,000 refs."""

_NAME = rb"([0-9a-f]{40}|[0-9a-f]{64})"
_LINE = re.compile(rb"%s %s (.+)" % (_NAME, _NAME), re.DOTALL)


def _is_nothing(name: str) -> bool:
    """Return whether this is git's name for no object: 40 or 64 zeros."""
    return not name.strip("0")


class _Bases:
    """Finds the commits to compare the refs of a push with."""

    def __init__(self, repository: Repository, patterns: Sequence[str]) -> None:
        """``patterns`` match the refs to judge; none for all."""
        self.repository = repository
        self._patterns = patterns
        self._commits: dict[str, str | None] = {}
        self._grown_from: dict[str, tuple[str, ...]] = {}
        self._refs: list[str] | None = None

    def commit(self, name: str) -> str | None:
        """Return the commit that an object is or a tag names; None for a file or a tree.

        Raises ``GitError`` if the object does not exist.
        """
        if _is_nothing(name):
            return None
        if name not in self._commits:
            self._commits[name] = self.repository.commit_of(name)
            if self._commits[name] is None:
                self.repository.ask("cat-file", "-t", f"{name}^{{}}")
        return self._commits[name]

    def of(self, update: Update, new: str) -> tuple[str, ...]:
        """Return the commits to compare a ref with, if the push moves it to ``new``.

        For a branch, that is its state before the push, even if the push rewrites it. For a new
        branch or a tag, they are the commits in judged refs from which it grew.
        """
        if update.ref.startswith("refs/heads/") and not _is_nothing(update.old):
            old = self.repository.commit_of(update.old)
            return () if old is None else (old,)
        if new not in self._grown_from:
            words = () if self._patterns else ("--not", "--all")
            lines = self.repository.commits(
                "--boundary", new, *words, without=self._judged_refs() if self._patterns else ()
            )
            grown_from = tuple(line[1:] for line in lines if line.startswith("-"))
            self._grown_from[new] = grown_from if lines else (new,)
        return self._grown_from[new]

    def _judged_refs(self) -> list[str]:
        """Return the refs to judge, as they are before the push."""
        if self._refs is None:
            refs = self.repository.ask("for-each-ref", "--format=%(refname)").splitlines()
            self._refs = [ref for ref in refs if _is_judged(ref, self._patterns)]
        return self._refs


def _is_judged(ref: str, patterns: Sequence[str]) -> bool:
    return not patterns or any(fnmatchcase(ref, pattern) for pattern in patterns)


def _print_part(update: Update, part: Rejected, repository: Repository, output: Output) -> None:
    name = _name_of(part.commit, repository)
    _say(output, f"{update.ref}: rejected, for commit {name}:", after="\n")
    for block, findings in part.blocks:
        output.say(f"{block}\n", {"finding": findings})
    output.leave_out({"finding": part.unseen})


def _name_of(commit: str, repository: Repository) -> str:
    """Return a commit's short name and its subject, of any length."""

    words = ("--format=%h %<(200,trunc)%s", "--no-show-signature")
    try:
        short, _, subject = repository.ask("log", "-1", *words, commit).strip().partition(" ")
    except GitRefusalError:
        return commit[:10]
    return f"{short} ({subject})"


def _say(output: Output, text: str, after: str = "", refs: int = 0) -> None:
    output.say("\n".join(output.look.wrap(text, later="  ")) + "\n" + after, {"ref": refs})


if __name__ == "__main__":
    sys.exit(main())
