"""The plain pre-commit hook, for those who do without the pre-commit program.

It checks what is staged, and not what lies in the folder: a plan half edited, or edited again
after ``git add``, is checked as it will be committed. Settings are read from there too.
"""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING

from trappoint_hooks.repository import Repository, is_plan, is_settings
from trappoint_hooks.running import look_of, parser_for, run_hook, say_refusals, set_up

if TYPE_CHECKING:
    from argparse import Namespace
    from collections.abc import Iterable, Iterator, Sequence

    from trappoint.commands.streams import Streams
    from trappoint_hooks.judging import Judge, Refusal
    from trappoint_hooks.repository import Change, Tree

HOOKS = ("pre-commit", "pre-merge-commit")
"""A merge that git makes by itself calls the second one instead of the first."""

DESCRIPTION = """\
Turns bad plans aside before they are committed. Git calls it; it checks the
plans that are staged. `trappoint-commit --install` sets it up."""


def main(argv: Sequence[str] | None = None) -> int:
    """Check what is staged and return the exit code: 0 lets the commit through."""
    parser = parser_for("trappoint-commit", DESCRIPTION)
    parser.add_argument(
        "--only-worse",
        action="store_true",
        help="let through what was wrong with a plan in the last commit already",
    )
    return run_hook(parser, argv, _run)


def _run(options: Namespace, streams: Streams) -> int:
    words = ["--fail-on", options.fail_on] if options.fail_on != "error" else []
    words += ["--only-worse"] if options.only_worse else []
    if set_up(options, streams, HOOKS, "trappoint_hooks.commit", words):
        return 0
    with Repository() as repository:
        changes = repository.staged_changes()
        if not any(is_plan(change.path) or is_settings(change.path) for change in changes):
            return 0
        from trappoint_hooks.judging import Judge

        judge = Judge(repository, options.fail_on)
        tree = repository.staged()
        refusals = list(_refusals(judge, changes, tree, only_worse=options.only_worse))
    if not refusals:
        return 0
    look = look_of(streams)
    say_refusals(refusals, streams, look)
    streams.say("\n".join(look.wrap("Nothing was committed.")) + "\n")
    return 1


def _refusals(
    judge: Judge, changes: Iterable[Change], tree: Tree, *, only_worse: bool
) -> Iterator[Refusal]:
    from trappoint.settings_file import SettingsError
    from trappoint_hooks.judging import Refusal

    for change in changes:
        try:
            if is_settings(change.path):
                judge.read_settings(change.path, change.object)
            if not is_plan(change.path):
                continue
            now = judge.check(change.path, change.object, tree)
            before = []
            if only_worse and change.old_object and is_plan(change.old_path):
                before = [judge.check(change.path, change.old_object, tree)]
        except SettingsError as error:
            yield Refusal(change.path, None, str(error))
            continue
        found = judge.worse(now, before)
        if found:
            yield Refusal(change.path, judge.keep(now.report, found))


if __name__ == "__main__":
    sys.exit(main())
