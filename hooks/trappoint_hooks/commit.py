"""The plain pre-commit hook, for those who do without the pre-commit program.

It checks what is staged, and not what lies in the folder: a plan half edited, or edited again
after ``git add``, is checked as it will be committed. Boards and settings are read from there too,
and every plan that is put together from a board that changes is checked as well.
"""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING

from trappoint_hooks.repository import Repository, is_plan, is_settings
from trappoint_hooks.running import look_of, parser_for, run_hook, say_refusals, set_up

if TYPE_CHECKING:
    from argparse import Namespace
    from collections.abc import Iterator, Sequence

    from trappoint.app.streams import Streams
    from trappoint_hooks.judging import HookRefusal, Judge, PlanVersion
    from trappoint_hooks.repository import FileChange, Tree

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
        if not any(is_plan(path) or is_settings(path) for path in repository.staged_paths()):
            return 0
        from trappoint_hooks.judging import Judge

        judge = Judge(repository, options.fail_on)
        refusals = list(_refusals(judge, only_worse=options.only_worse))
    if not refusals:
        return 0
    look = look_of(streams)
    say_refusals(refusals, streams, look)
    streams.say("\n".join(look.wrap("Nothing was committed.")) + "\n")
    return 1


def _refusals(judge: Judge, *, only_worse: bool) -> Iterator[HookRefusal]:
    from trappoint.config.settings_file import SettingsError
    from trappoint_hooks.judging import HookRefusal, ReportedFindings

    tree = judge.repository.staged()
    changes = judge.repository.staged_changes()
    for change in changes:
        if is_settings(change.path):
            try:
                judge.read_settings(change.path, change.object)
            except SettingsError as error:
                yield HookRefusal(change.path, None, str(error))
    told = ReportedFindings()
    for now, then in _plans(judge, changes, tree):
        try:
            checked = judge.check(now.path, now, tree)
            before = [judge.check(now.path, old, tree) for old in then] if only_worse else []
        except SettingsError as error:
            yield HookRefusal(now.path, None, str(error))
            continue
        found = told.new(checked.report, judge.worse(checked, before))
        if found:
            yield HookRefusal(now.path, judge.keep(checked.report, found))


def _plans(
    judge: Judge, changes: list[FileChange], tree: Tree
) -> list[tuple[PlanVersion, list[PlanVersion]]]:
    """Return the plans that differ from the last commit, and those with a board that does.

    Each comes with what it was; those of a single file are first.
    """
    from trappoint_hooks.judging import PlanVersion

    head = judge.repository.commit_of("HEAD")
    last = judge.tree(head) if head is not None else {}
    plans: list[tuple[PlanVersion, list[PlanVersion]]] = []
    for change in changes:
        if is_plan(change.path):
            old = change.old_object and is_plan(change.old_path)
            then = [PlanVersion(change.old_path, change.old_object, last)] if old else []
            plans.append((PlanVersion(change.path, change.object, tree), then))
    known = {now.path for now, _ in plans}
    plans += judge.put_together_anew(tree, [last], known)
    return sorted(plans, key=lambda plan: bool(judge.boards(plan[0])))


if __name__ == "__main__":
    sys.exit(main())
