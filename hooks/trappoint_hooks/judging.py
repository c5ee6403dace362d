"""Check the plans of a commit, and find the findings that an earlier version did not have."""

from __future__ import annotations

import sys
from posixpath import relpath
from typing import TYPE_CHECKING, NamedTuple

from trappoint.app.dedup import ToldAlready
from trappoint.app.known_findings import part_known, remember
from trappoint.app.load import check_store
from trappoint.checking.check import board_files, check_content, may_have_boards
from trappoint.config.settings_file import SettingsError, settings_in
from trappoint.core.errors import reason_of
from trappoint.core.findings import reaches
from trappoint.model.settings import DEFAULTS
from trappoint.source.files import (
    SETTINGS_NAMES,
    is_checked,
    is_plan,
    is_settings,
    is_store,
    within,
)
from trappoint.source.opening import OutOfReach
from trappoint_hooks.recent import Recent

if TYPE_CHECKING:
    from collections.abc import Container, Iterable, Iterator, Sequence

    from trappoint.checking.report import FileReport, Report
    from trappoint.core.findings import Finding, Level
    from trappoint.core.terminal import RenderOptions
    from trappoint.model.settings import Settings
    from trappoint_hooks.repository import Repository
    from trappoint_hooks.trees import Tree


class TreeFiles:
    """The files around a plan, in a tree of git."""

    def __init__(self, repository: Repository, tree: Tree, path: str) -> None:
        """``path`` is the path of the plan from the top of the tree."""
        self._repository = repository
        self._tree = tree
        self._folder = path.rpartition("/")[0]

    def read(self, path: str) -> bytes:
        """Return the bytes of a file, given its path from the folder of the plan."""
        return self._repository.read(self._tree.find(within(self._folder, path)))


class PlanVersion(NamedTuple):
    """One version of a plan."""

    path: str
    object: str
    tree: Tree
    """The tree that has its boards."""


class CheckedPlan(NamedTuple):
    """The report on one plan, without the derived facts."""

    report: FileReport
    stage: int
    """The last stage that the check reached: 3 if it is complete, 0 to 2 if it ended early."""


class Judge:
    """Checks the plans of one repository, each text once with the same settings."""

    def __init__(
        self, repository: Repository, floor: Level, settings: Settings | None = None
    ) -> None:
        """Findings at or above the level ``floor`` reject a plan.

        ``settings``, if given, replace the settings in the folders of the plans.
        """
        self.repository = repository
        self.floor = floor
        self._given = settings
        self._checked: Recent[CheckedPlan] = Recent()
        self._assembled: dict[str, bool] = {}
        self._trees: Recent[Tree] = Recent()
        self._settings: dict[tuple[str, str], Settings | SettingsError | None] = {}

    def tree(self, commit: str) -> Tree:
        """Return the plain files of a commit."""
        found = self._trees.get(commit)
        if found is None:
            found = self.repository.tree(commit)
            self._trees.keep(commit, found, _BYTES_OF_FILE * len(found))
        return found

    def check(self, path: str, version: PlanVersion, tree: Tree) -> CheckedPlan:
        """Check a version of a plan or of a store, with the settings for ``path`` in ``tree``.

        Boards are read from the version's own tree. Raises ``SettingsError``, ``GitError``.
        """
        if is_store(path):
            return CheckedPlan(check_store(self.repository.read(version.object), path), 3)
        settings, named = self.settings_for(path, tree)
        boards = self.boards(version)
        key = (version.object, named, boards, version.path if boards else "")
        checked = self._checked.get(key)
        if checked is None:
            content = self.repository.read(version.object)
            called = version.path if boards else path
            files = TreeFiles(self.repository, version.tree, version.path)
            report = check_content(content, called, settings, files)
            checked = CheckedPlan(report.without_facts(), _stage(report))
            self._checked.keep(key, checked, _bytes_of(checked.report))
        return checked._replace(report=checked.report._replace(file=path))

    def boards(self, version: PlanVersion) -> tuple[tuple[str, str], ...]:
        """Return the paths of a plan's boards from the top, each with its object.

        The object is empty if the file does not exist.
        """
        if version.object not in self._assembled:
            content = self.repository.read(version.object)
            self._assembled[version.object] = may_have_boards(content)
        if not self._assembled[version.object]:
            return ()
        key = version.path, version.object
        known = version.tree.boards
        if key not in known:
            folder = version.path.rpartition("/")[0]
            files = TreeFiles(self.repository, version.tree, version.path)
            found = board_files(self.repository.read(version.object), files=files)
            places = [within(folder, path) for path in found]
            known[key] = tuple((place, found_in(version.tree, place)) for place in places)
        return known[key]

    def with_changed_boards(
        self, tree: Tree, before: Sequence[Tree], known: Container[str]
    ) -> Iterator[tuple[PlanVersion, list[PlanVersion]]]:
        """Yield the plans of a tree whose boards differ from those in each of the trees before.

        Each comes with its versions in the trees before. Paths in ``known`` are left out.
        """
        for now in self.assembled_plans(tree):
            if now.path not in known:
                was = [PlanVersion(now.path, found_in(old, now.path), old) for old in before]
                then = [version for version in was if version.object]
                if not any(old.object == now.object and self._same(old, now) for old in then):
                    yield now, then

    def assembled_plans(self, tree: Tree) -> Iterator[PlanVersion]:
        """Yield the plans of a tree that include boards."""
        for path in filter(is_plan, (*tree, *tree.links())):
            version = PlanVersion(path, found_in(tree, path), tree)
            if version.object and self.boards(version):
                yield version

    def _same(self, one: PlanVersion, other: PlanVersion) -> bool:
        return self.boards(one) == self.boards(other)

    def bad_links(self, tree: Tree, before: Iterable[Tree]) -> Iterator[HookRefusal]:
        """Yield a refusal for each link named like a plan, store or settings that leads nowhere.

        Links that led nowhere in one of the trees before are left out.
        """
        links = filter(is_checked, tree.links())
        found = {path: reason for path in links if (reason := _why_bad_link(tree, path))}
        then = list(before) if found else []
        for path, reason in found.items():
            if not any(old.is_link(path) and _why_bad_link(old, path) for old in then):
                yield HookRefusal(path, None, f"{path}: {reason}")

    def is_excluded(self, path: str, tree: Tree) -> bool:
        """Return whether the settings in a tree exclude a plan. Raises ``SettingsError``."""
        settings = self.settings_for(path, tree)[0]
        if not settings.exclude:
            return False
        from trappoint.config.exclusion import is_excluded

        return is_excluded(relpath(path, settings.folder or "."), settings.exclude)

    def bad_settings(self, paths: Iterable[str], tree: Tree) -> Iterator[HookRefusal]:
        """Yield a refusal for each settings file among these paths that has a mistake."""
        for path in filter(is_settings, paths):
            try:
                self.read_settings(path, _found_settings(tree, path))
            except SettingsError as error:
                yield HookRefusal(path, None, str(error))

    def at_level(self, report: FileReport) -> list[Finding]:
        """Return the findings of a report at or above the level."""
        return [found for found in report.findings if reaches(found.level, self.floor)]

    def keep(self, report: FileReport, findings: Iterable[Finding]) -> FileReport:
        """Return the report with only these findings."""
        return report._replace(findings=tuple(findings))

    def worse(self, now: CheckedPlan, before: Iterable[CheckedPlan]) -> list[Finding]:
        """Return the findings at or above the level that none of the checks before has.

        If a check before ended at an earlier stage (the plan could not be read, for instance), it
        could not have these findings: the plan is better, not worse, and none is returned.
        """
        left = self.at_level(now.report)
        if now.report.fault is not None:  # an internal error must not look like a good plan
            return left
        for old in before:
            if old.stage < now.stage:
                return []
            left = part_known(left, map(remember, self.at_level(old.report)))[0]
        return left

    def settings_for(self, path: str, tree: Tree) -> tuple[Settings, str]:
        """Return the settings for a plan, and the object of their file (empty if none).

        Raises ``SettingsError`` if they have a mistake.
        """
        if self._given is not None:
            return self._given, ""
        folder = path
        while folder:
            folder = folder.rpartition("/")[0]
            for name in SETTINGS_NAMES:
                place = f"{folder}/{name}" if folder else name
                object_ = _found_settings(tree, place)
                found = self.read_settings(place, object_) if object_ else None
                if found is not None:
                    return found._replace(folder=folder), object_
        return DEFAULTS, ""

    def read_settings(self, path: str, object_: str) -> Settings | None:
        """Return the settings in a file; None if it has none. Raises ``SettingsError``."""
        key = path, object_
        if key not in self._settings:
            try:
                self._settings[key] = settings_in(self.repository.read(object_), path)
            except SettingsError as error:
                self._settings[key] = error
        found = self._settings[key]
        if isinstance(found, SettingsError):
            raise found
        return found


_BYTES_OF_FILE = 300
"""Estimated memory of one file of a tree, in bytes: its path, its object, its table entry."""

_BYTES_OF_FINDING = 2000
"""Estimated memory of one finding, in bytes."""


def _bytes_of(report: FileReport) -> int:
    """Return the estimated memory of a report, in bytes."""
    texts = [report.text or "", *(board.text for board in report.boards)]
    findings = len(report.findings) + len(report.accepted)
    return sum(map(sys.getsizeof, texts)) + _BYTES_OF_FINDING * findings


def found_in(tree: Tree, path: str) -> str:
    """Return the object of a file; empty if the file does not exist."""
    try:
        return tree.find(path)
    except OSError:
        return ""


def _found_settings(tree: Tree, path: str) -> str:
    """Return the object of a settings file; empty if there is none. Raises ``SettingsError``."""
    reason = _why_bad_link(tree, path) if tree.is_link(path) else ""
    if reason:
        raise SettingsError(path, reason)
    return found_in(tree, path)


def _why_bad_link(tree: Tree, path: str) -> str:
    """Return why a link leads to no file; empty if it leads to one."""
    try:
        tree.find(path)
    except OutOfReach:
        return "this link leads out of its repository."
    except FileNotFoundError:
        return "this link leads to a file that does not exist."
    except OSError as error:
        return f"this link leads to a file that cannot be read: {reason_of(error)}."
    return ""


class ReportedFindings:
    """The findings and errors reported so far, so a fault of one board is reported once."""

    def __init__(self) -> None:
        self._alone: set[tuple[str, str, str]] = set()
        self._in_wholes = ToldAlready()
        self._errors: set[str] = set()

    def is_new(self, error: str) -> bool:
        """Return whether an error message is new, and remember it."""
        new = error not in self._errors
        self._errors.add(error)
        return new

    def new(self, report: FileReport, findings: Iterable[Finding]) -> list[Finding]:
        """Return the findings not yet reported, for a board alone or for another assembled plan.

        Pass plans without boards first, then those with boards.
        """
        kept = []
        for finding in findings:
            file = finding.file or report.file
            place = file, finding.rule, finding.pointer
            if not finding.file:
                self._alone.add(place)
            elif place in self._alone or self._in_wholes.is_told(file, finding):
                continue
            kept.append(finding)
        return kept


def _stage(report: Report) -> int:
    if report.facts is not None or report.fault is not None:
        return 3
    if report.layout is not None:
        return 2
    from trappoint.rules.catalogue import all_rules

    stages = {rule.id: rule.stage for rule in all_rules()}
    reading = any(stages.get(found.rule) == "reading" for found in report.findings)
    return 0 if reading or report.text is None else 1


class HookRefusal(NamedTuple):
    """Why a file is rejected."""

    path: str
    report: FileReport | None
    """The report, with only the findings that reject the file; None if there is none."""
    reason: str = ""
    """A sentence, if there is no report."""


def blocks_of(refusal: HookRefusal, look: RenderOptions, most: int | None = None) -> Iterator[str]:
    """Yield blocks of whole lines: at most ``most`` findings of a refusal, then the verdict.

    If there is no report, the reason is the only block.
    """

    from trappoint.reporting.excerpt import SourceLines
    from trappoint.reporting.findings_blocks import render_finding
    from trappoint.reporting.findings_text import render_verdict

    report = refusal.report
    if report is None:
        yield "\n".join(look.wrap(refusal.reason, later="  ")) + "\n"
        return
    lines: dict[str, SourceLines] = {}
    for found in report.findings[:most]:
        if found.file not in lines:
            lines[found.file] = SourceLines(report.text_of(found))
        yield render_finding(found.file or report.file, found, lines[found.file], look)
    yield render_verdict(report, look)
