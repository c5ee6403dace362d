"""Find the plans that get worse by a push, and the commits that brought the findings."""

from __future__ import annotations

from itertools import islice
from typing import TYPE_CHECKING, NamedTuple

from trappoint.app.known_findings import part_known, remember
from trappoint.config.settings_file import SettingsError
from trappoint.source.files import is_checked, is_plan, is_settings
from trappoint_hooks.judging import HookRefusal, PlanVersion, ReportedFindings, blocks_of
from trappoint_hooks.repository import same_kind

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence

    from trappoint.core.findings import Finding
    from trappoint.core.terminal import RenderOptions
    from trappoint_hooks.judging import CheckedPlan, Judge

MOST = 500
"""The maximum earlier versions of plans to check for one push, to find the origin of findings."""

MOST_BYTES = 64 * 1024 * 1024
"""The maximum text of these versions, in bytes."""

MOST_NAMES = 1000
"""The maximum file names for one call of git: its arguments must fit into about 100 kB."""


class Rejected(NamedTuple):
    """The findings that one commit brought, as text."""

    commit: str
    blocks: list[tuple[str, int]]
    """Blocks of whole lines, each with the number of findings in it."""
    unseen: int = 0
    """The number of further findings, without text."""

    @property
    def findings(self) -> int:
        """The number of all findings."""
        return sum(count for _, count in self.blocks) + self.unseen


class _Plan(NamedTuple):
    """A file of the push, and its versions in the commits to compare with."""

    now: PlanVersion
    before: tuple[PlanVersion, ...]

    @property
    def path(self) -> str:
        """The path at the end of the push."""
        return self.now.path


class PushJudge:
    """Judges a push, one ref after the other."""

    def __init__(
        self,
        judge: Judge,
        look: RenderOptions,
        watch: Callable[[str], None],
        *,
        strict: bool,
        every_commit: bool,
    ) -> None:
        """``strict``: earlier versions do not count. ``watch`` is called with each step."""
        self._judge = judge
        self._look = look
        self._watch = watch
        self._strict = strict
        self._every_commit = every_commit
        self._versions_left = MOST
        self._bytes_left = MOST_BYTES
        self.stopped = False
        """True if a part was not judged, because the output was full."""

    def judge(self, ref: str, new: str, bases: Sequence[str], room: int) -> list[Rejected]:
        """Return the rejected parts of a ref, by the commits that brought them.

        ``new`` is the commit at the end of the push; ``bases`` are the commits to compare with,
        none if everything is new. After ``room`` findings no further plan is checked.
        """
        self._watch(f"looking through {ref}")
        found = self._judge_end(new, bases, room)
        if found or not self._every_commit:
            return found
        repository = self._judge.repository
        words = ("--reverse", "--topo-order", "--parents", new)
        lines = repository.commits(*words, without=bases)
        plans_in = None if self._strict else repository.commits_of_plans(new, bases)
        for line in lines:
            commit, *parents = line.split(" ")
            if plans_in is not None and commit not in plans_in:
                continue
            if room <= 0:
                self.stopped = True
                break
            self._watch(f"looking through commit {commit[:10]} of {ref}")
            refusals = (refusal for refusal, _ in self._refusals(commit, parents, room))
            found += [self._rendered(commit, refusal, room) for refusal in refusals]
            room -= sum(each.findings for each in found if each.commit == commit)
        return found

    def _judge_end(self, new: str, bases: Sequence[str], room: int) -> list[Rejected]:
        by_commit: dict[str, Rejected] = {}
        for refusal, plan in self._refusals(new, bases, room):
            for commit, part in self._by_origin(new, bases, plan, refusal):
                more = self._rendered(commit, part, room)
                before = by_commit.get(commit, Rejected(commit, []))
                by_commit[commit] = Rejected(
                    commit, before.blocks + more.blocks, before.unseen + more.unseen
                )
        return list(by_commit.values())

    def _rendered(self, commit: str, refusal: HookRefusal, room: int) -> Rejected:
        """Render a refusal, so the memory of its report can be freed."""
        *findings, last = blocks_of(refusal, self._look, max(room, 1))
        if refusal.report is None:
            return Rejected(commit, [(last, 1)])
        blocks = [*((block, 1) for block in findings), (last, 0)]
        return Rejected(commit, blocks, len(refusal.report.findings) - len(findings))

    def _refusals(
        self, commit: str, bases: Sequence[str], room: int
    ) -> Iterator[tuple[HookRefusal, _Plan]]:
        judge = self._judge
        bases = () if self._strict else bases
        tree = judge.tree(commit)
        for refusal in islice(judge.bad_links(tree, map(judge.tree, bases)), room):
            room -= 1
            yield refusal, _Plan(PlanVersion(refusal.path, "", tree), ())
        plans = _plans(judge, commit, bases)
        reported = ReportedFindings()
        for plan in plans:
            if room <= 0:
                self.stopped = True
                return
            self._watch(f"checking {plan.path}")
            try:
                if is_settings(plan.path):
                    _look_at_settings(judge, plan)
                    continue
                now = judge.check(plan.path, plan.now, tree)
                older = (old for old in plan.before if same_kind(old.path, plan.path))
                before = [judge.check(plan.path, old, tree) for old in older]
            except SettingsError as error:
                if reported.is_new(str(error)):
                    room -= 1
                    yield HookRefusal(plan.path, None, str(error)), plan
                continue
            found = reported.new(now.report, judge.worse(now, before))
            if found:
                room -= len(found)
                yield HookRefusal(plan.path, judge.keep(now.report, found)), plan

    def _by_origin(
        self, new: str, bases: Sequence[str], plan: _Plan, refusal: HookRefusal
    ) -> Iterator[tuple[str, HookRefusal]]:
        """Split a refusal by the oldest commit of the push that has each finding."""
        if refusal.report is None:
            yield new, refusal
            return
        left = list(refusal.report.findings)
        origin = dict.fromkeys(left, new)
        for commit, checked in self._versions(new, bases, plan):
            left = part_known(left, map(remember, checked.report.findings))[1]
            if not left:
                break
            origin |= dict.fromkeys(left, commit)
        parts: dict[str, list[Finding]] = {}
        for finding in refusal.report.findings:
            parts.setdefault(origin[finding], []).append(finding)
        for commit, findings in parts.items():
            report = self._judge.keep(refusal.report, findings)
            yield commit, refusal._replace(report=report)

    def _versions(
        self, new: str, bases: Sequence[str], plan: _Plan
    ) -> Iterator[tuple[str, CheckedPlan]]:
        """Yield the commits of the push that change a plan, newest first, each with its check."""

        judge = self._judge
        versions = (plan.now, *plan.before)
        names = list(dict.fromkeys(version.path for version in versions))
        boards = (place for version in versions for place, _ in judge.boards(version))
        words = (new, "--", *_named([*names, *boards]))
        commits = judge.repository.commits("--topo-order", *words, without=bases)
        for commit in commits:
            tree = judge.tree(commit)
            name = next((name for name in names if name in tree), None)
            if name is None or self._versions_left <= 0 or self._bytes_left <= 0:
                return
            self._versions_left -= 1
            self._watch(f"checking {plan.path} as it was in commit {commit[:10]}")
            version = PlanVersion(name, tree[name], tree)
            checked = judge.check(plan.path, version, judge.tree(new))
            self._bytes_left -= len(checked.report.text or "")
            yield commit, checked


def _look_at_settings(judge: Judge, plan: _Plan) -> None:
    """Read settings. Raises ``SettingsError`` if they have a mistake and had none before."""
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
    """Return the plans and settings that differ from their versions in all of the bases.

    A plan differs too if one of its boards does. Plans without boards come first.
    """
    if bases:
        plans = list(_changed(judge, commit, bases))
        plans += _with_changed_boards(judge, commit, bases, {plan.path for plan in plans})
    else:
        tree = judge.tree(commit)
        plans = [
            _Plan(PlanVersion(path, tree[path], tree), ()) for path in tree if is_checked(path)
        ]
    return sorted(plans, key=lambda plan: is_plan(plan.path) and bool(judge.boards(plan.now)))


def _with_changed_boards(
    judge: Judge, commit: str, bases: Sequence[str], known: set[str]
) -> list[_Plan]:
    changed = any(map(is_plan, known))
    if not changed and not any(judge.repository.touches_plans(base, commit) for base in bases):
        return []
    before = [judge.tree(base) for base in bases]
    found = judge.with_changed_boards(judge.tree(commit), before, known)
    return [_Plan(now, tuple(then)) for now, then in found]


def _changed(judge: Judge, commit: str, bases: Sequence[str]) -> Iterator[_Plan]:
    changes = [
        {c.path: c for c in judge.repository.changes(base, commit) if is_checked(c.path)}
        for base in bases
    ]
    if not all(changes):
        return
    tree = judge.tree(commit)
    for path, change in changes[0].items():
        before = [
            PlanVersion(other[path].old_path, other[path].old_object, judge.tree(base))
            for base, other in zip(bases, changes, strict=True)
            if path in other
        ]
        if len(before) == len(bases):
            was = tuple(version for version in before if version.object)
            yield _Plan(PlanVersion(path, change.object, tree), was)


def _named(paths: Sequence[str]) -> list[str]:
    """Return arguments that name files to git; none if they are too many or git refuses one.

    A tree made by hand, or a plan, may name a path that git refuses.
    """

    names = list(dict.fromkeys(paths))
    odd = any("\0" in name or not _ODD_PARTS.isdisjoint(name.split("/")) for name in names)
    if odd or len(names) > MOST_NAMES or sum(map(len, names)) > 100 * MOST_NAMES:
        return []
    return [f":(top,literal){name}" for name in names]


_ODD_PARTS = frozenset(("", ".", ".."))
