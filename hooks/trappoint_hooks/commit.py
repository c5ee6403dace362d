"""The plain git hook before a commit, for clubs without the pre-commit program.

It checks the staged files, not those in the folder, so a plan that is half edited is checked as it
will be committed. It reads staged boards and settings too, and checks every plan that includes a
changed board.
"""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING

from trappoint.source.files import is_checked, is_plan, is_settings
from trappoint_hooks.repository import Repository, same_kind
from trappoint_hooks.running import parser_for, print_refusals, render_options, run_hook, set_up

if TYPE_CHECKING:
    from argparse import Namespace
    from collections.abc import Iterator, Sequence

    from trappoint.app.streams import Streams
    from trappoint_hooks.judging import HookRefusal, Judge, PlanVersion
    from trappoint_hooks.repository import FileChange
    from trappoint_hooks.trees import Tree

HOOKS = ("pre-commit", "pre-merge-commit")
"""Git calls the second one if it commits a merge itself, and the first one otherwise."""

DESCRIPTION = """\
Reject bad plans before they are committed. Git calls this hook; it checks the
staged plans. Set it up with `trappoint-commit --install`.

A check on paper, for models: no safety system, not for anything that carries people."""


def main(argv: Sequence[str] | None = None) -> int:
    """Check what is staged and return the exit code: 0 lets the commit through."""
    parser = parser_for("trappoint-commit", DESCRIPTION)
    parser.add_argument(
        "--only-worse",
        action="store_true",
        help="accept findings that the plan already had in the last commit",
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
    look = render_options(streams)
    print_refusals(refusals, streams, look)
    streams.say("\n".join(look.wrap("The commit is rejected.")) + "\n")
    return 1


def _refusals(judge: Judge, *, only_worse: bool) -> Iterator[HookRefusal]:
    from trappoint.config.settings_file import SettingsError
    from trappoint_hooks.judging import HookRefusal, ReportedFindings

    tree, last = judge.repository.staged(), _last_commit(judge)
    changes = [change for change in judge.repository.staged_changes() if is_checked(change.path)]
    paths = [change.path for change in changes]
    reported = ReportedFindings()
    for refusal in (*judge.bad_links(tree, last), *judge.bad_settings(paths, tree)):
        reported.is_new(refusal.reason)
        yield refusal
    for now, then in _plans(judge, changes, tree, last):
        try:
            if judge.is_excluded(now.path, tree):
                continue
            checked = judge.check(now.path, now, tree)
            before = [judge.check(now.path, old, tree) for old in then] if only_worse else []
        except SettingsError as error:
            if reported.is_new(str(error)):
                yield HookRefusal(now.path, None, str(error))
            continue
        found = reported.new(checked.report, judge.worse(checked, before))
        if found:
            yield HookRefusal(now.path, judge.keep(checked.report, found))


def _last_commit(judge: Judge) -> list[Tree]:
    """Return the tree of the last commit; an empty list if there is none."""
    head = judge.repository.commit_of("HEAD")
    return [] if head is None else [judge.tree(head)]


def _plans(
    judge: Judge, changes: list[FileChange], tree: Tree, last: list[Tree]
) -> list[tuple[PlanVersion, list[PlanVersion]]]:
    """Return the changed plans and stores, and the plans that include a changed board.

    Each comes with its version in the last commit. Plans without boards come first.

    """
    from trappoint_hooks.judging import PlanVersion

    plans: list[tuple[PlanVersion, list[PlanVersion]]] = []
    for change in changes:
        if not is_settings(change.path):
            known = same_kind(change.path, change.old_path)
            then = [PlanVersion(change.old_path, change.old_object, tree) for tree in last if known]
            plans.append((PlanVersion(change.path, change.object, tree), then))
    known_paths = {now.path for now, _ in plans}
    plans += judge.with_changed_boards(tree, last, known_paths)
    return sorted(plans, key=lambda plan: is_plan(plan[0].path) and bool(judge.boards(plan[0])))


if __name__ == "__main__":
    sys.exit(main())
