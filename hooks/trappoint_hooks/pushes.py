"""What a push makes of the plans: which get worse, and by which commit."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from trappoint.app.known_findings import part_known, remember
from trappoint.config.settings_file import SettingsError
from trappoint_hooks.judging import HookRefusal, PlanVersion, ReportedFindings
from trappoint_hooks.repository import is_plan, is_settings

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from trappoint.core.findings import Finding
    from trappoint_hooks.judging import CheckedPlan, Judge
    from trappoint_hooks.repository import Tree

MOST = 500
"""Commits in which the origin of a finding is looked for, from the newest on."""


class Judged(NamedTuple):
    """What is turned aside, and the commit that brought it."""

    commit: str
    refusals: list[HookRefusal]


class _Plan(NamedTuple):
    """A file of the push, and what it was in each of the commits that it is judged against."""

    now: PlanVersion
    before: tuple[PlanVersion, ...]

    @property
    def path(self) -> str:
        """What it is called at the end of the push."""
        return self.now.path


def judge_push(
    judge: Judge, new: str, bases: Sequence[str], *, strict: bool, every_commit: bool
) -> list[Judged]:
    """Return what stands in the way of a push, by the commits that brought it.

    ``new`` is the commit at the end of the push; ``bases`` are those against which it is judged,
    none where everything is new. ``strict``: plans are judged by themselves.
    """
    found = _judge_end(judge, new, bases, strict=strict)
    if found or not every_commit:
        return found
    lines = judge.repository.ask(
        "rev-list", "--reverse", "--topo-order", "--parents", new, *_without(bases)
    )
    for line in lines.splitlines():
        commit, *parents = line.split(" ")
        refusals = [refusal for refusal, _ in _refusals(judge, commit, parents, strict=strict)]
        if refusals:
            found.append(Judged(commit, refusals))
    return found


def _judge_end(judge: Judge, new: str, bases: Sequence[str], *, strict: bool) -> list[Judged]:
    by_commit: dict[str, list[HookRefusal]] = {}
    for refusal, plan in _refusals(judge, new, bases, strict=strict):
        if refusal.report is None:
            by_commit.setdefault(new, []).append(refusal)
            continue
        origin = _Origin(judge, new, bases, plan)
        parts: dict[str, list[Finding]] = {}
        for finding in refusal.report.findings:
            parts.setdefault(origin.of(finding), []).append(finding)
        for commit, findings in parts.items():
            report = judge.keep(refusal.report, findings)
            by_commit.setdefault(commit, []).append(refusal._replace(report=report))
    return [Judged(commit, refusals) for commit, refusals in by_commit.items()]


def _refusals(
    judge: Judge, commit: str, bases: Sequence[str], *, strict: bool
) -> Iterator[tuple[HookRefusal, _Plan]]:
    plans = _plans(judge, commit, () if strict else bases)
    if not plans:
        return
    tree = judge.tree(commit)
    told = ReportedFindings()
    for plan in plans:
        try:
            if is_settings(plan.path):
                _look_at_settings(judge, plan)
                continue
            now = judge.check(plan.path, plan.now, tree)
            before = [judge.check(plan.path, old, tree) for old in plan.before if is_plan(old.path)]
        except SettingsError as error:
            yield HookRefusal(plan.path, None, str(error)), plan
            continue
        found = told.new(now.report, judge.worse(now, before))
        if found:
            yield HookRefusal(plan.path, judge.keep(now.report, found)), plan


def _look_at_settings(judge: Judge, plan: _Plan) -> None:
    """Read settings, to see that they can be used. Raises ``SettingsError``, unless none could."""
    try:
        judge.read_settings(plan.path, plan.now.object)
    except SettingsError:
        for old in plan.before:
            try:
                judge.read_settings(old.path, old.object)
            except SettingsError:
                return
        raise


def _plans(judge: Judge, commit: str, bases: Sequence[str]) -> list[_Plan]:
    """Return the plans and settings that differ from what they were in every one of the bases.

    A plan differs too where one of its boards does. Those of a single file are first.
    """
    tree = judge.tree(commit)
    if bases:
        plans = list(_changed(judge, commit, bases))
        plans += _put_together_anew(judge, commit, bases, {plan.path for plan in plans})
    else:
        plans = [_Plan(PlanVersion(path, tree[path], tree), ()) for path in tree if _concerns(path)]
    return sorted(plans, key=lambda plan: is_plan(plan.path) and bool(judge.boards(plan.now)))


def _put_together_anew(
    judge: Judge, commit: str, bases: Sequence[str], known: set[str]
) -> list[_Plan]:
    paths = (path for base in bases for path in judge.repository.changed_paths(base, commit))
    if not any(map(is_plan, paths)):
        return []
    before = [judge.tree(base) for base in bases]
    found = judge.put_together_anew(judge.tree(commit), before, known)
    return [_Plan(now, tuple(then)) for now, then in found]


def _changed(judge: Judge, commit: str, bases: Sequence[str]) -> Iterator[_Plan]:
    tree = judge.tree(commit)
    changes = [
        {c.path: c for c in judge.repository.changes(base, commit) if _concerns(c.path)}
        for base in bases
    ]
    for path, change in changes[0].items():
        before = [
            PlanVersion(other[path].old_path, other[path].old_object, judge.tree(base))
            for base, other in zip(bases, changes, strict=True)
            if path in other
        ]
        if len(before) == len(bases):
            was = tuple(version for version in before if version.object)
            yield _Plan(PlanVersion(path, change.object, tree), was)


def _concerns(path: str) -> bool:
    return is_plan(path) or is_settings(path)


def _without(bases: Sequence[str]) -> list[str]:
    return ["--not", *bases] if bases else []


class _Origin:
    """Finds the commit that brought a finding of one plan."""

    def __init__(self, judge: Judge, new: str, bases: Sequence[str], plan: _Plan) -> None:
        self.judge = judge
        self.new = new
        names = [plan.path, *(old.path for old in plan.before)]
        boards = [
            place for version in (plan.now, *plan.before) for place, _ in judge.boards(version)
        ]
        self._tree: Tree = judge.tree(new)
        self._path = plan.path
        self._names = list(dict.fromkeys(names))
        self._commits = judge.repository.commits(
            "--topo-order",
            f"--max-count={MOST}",
            new,
            *_without(bases),
            "--",
            *(f":(top,literal){name}" for name in dict.fromkeys((*names, *boards))),
        )
        self._checked: dict[str, CheckedPlan | None] = {}

    def of(self, finding: Finding) -> str:
        """Return the oldest commit from which on the finding is there."""
        oldest = self.new
        for commit in self._commits:
            checked = self._check(commit)
            if checked is None:
                break
            if not part_known([finding], map(remember, checked.report.findings))[1]:
                break
            oldest = commit
        return oldest

    def _check(self, commit: str) -> CheckedPlan | None:
        if commit not in self._checked:
            tree = self.judge.tree(commit)
            name = next((name for name in self._names if name in tree), None)
            self._checked[commit] = (
                None
                if name is None
                else self.judge.check(self._path, PlanVersion(name, tree[name], tree), self._tree)
            )
        return self._checked[commit]
