"""The plain pre-commit hook, for those who do without the pre-commit program.

It checks what is staged, and not what lies in the folder: a plan half edited, or edited again
after ``git add``, is checked as it will be committed. Boards and settings are read from there too,
and every plan that is put together from a board that changes is checked as well.
"""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING

from trappoint.source.files import is_checked, is_plan, is_settings
from trappoint_hooks.repository import Repository, same_kind
from trappoint_hooks.running import look_of, parser_for, run_hook, say_refusals, set_up

if TYPE_CHECKING:
    from argparse import Namespace
    from collections.abc import Iterator, Sequence

    from trappoint.app.streams import Streams
    from trappoint_hooks.judging import HookRefusal, Judge, PlanVersion
    from trappoint_hooks.repository import FileChange
    from trappoint_hooks.trees import Tree

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
        if not repository.touches_plans():
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

    tree, last = judge.repository.staged(), _last_commit(judge)
    changes = [change for change in judge.repository.staged_changes() if is_checked(change.path)]
    paths = [change.path for change in changes]
    told = ReportedFindings()
    for refusal in (*judge.astray(tree, last), *judge.bad_settings(paths, tree)):
        told.is_new(refusal.reason)
        yield refusal
    for now, then in _plans(judge, changes, tree, last):
        try:
            if judge.is_excluded(now.path, tree):
                continue
            checked = judge.check(now.path, now, tree)
            before = [judge.check(now.path, old, tree) for old in then] if only_worse else []
        except SettingsError as error:
            if told.is_new(str(error)):
                yield HookRefusal(now.path, None, str(error))
            continue
        found = told.new(checked.report, judge.worse(checked, before))
        if found:
            yield HookRefusal(now.path, judge.keep(checked.report, found))


def _last_commit(judge: Judge) -> list[Tree]:
    """Return the tree of the last commit, if there is one."""
    head = judge.repository.commit_of("HEAD")
    return [] if head is None else [judge.tree(head)]


def _plans(
    judge: Judge, changes: list[FileChange], tree: Tree, last: list[Tree]
) -> list[tuple[PlanVersion, list[PlanVersion]]]:
    """Return the plans and stores that differ from the last commit, and wholes with such a board.

    Each comes with what it was; those of a single file are first.
    """
    from trappoint_hooks.judging import PlanVersion

    plans: list[tuple[PlanVersion, list[PlanVersion]]] = []
    for change in changes:
        if not is_settings(change.path):
            known = same_kind(change.path, change.old_path)
            then = [PlanVersion(change.old_path, change.old_object, tree) for tree in last if known]
            plans.append((PlanVersion(change.path, change.object, tree), then))
    known_paths = {now.path for now, _ in plans}
    plans += judge.put_together_anew(tree, last, known_paths)
    return sorted(plans, key=lambda plan: is_plan(plan[0].path) and bool(judge.boards(plan[0])))


if __name__ == "__main__":
    sys.exit(main())
