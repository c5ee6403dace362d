"""What a hook finds out about the plans of a commit, whole or against what was before."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from trappoint.app.dedup import ToldAlready
from trappoint.app.known_findings import part_known, remember
from trappoint.checking.check import board_files, check_content
from trappoint.config.settings_file import SettingsError, read_settings
from trappoint.core.findings import reaches
from trappoint.model.settings import DEFAULTS
from trappoint.source.files import within
from trappoint_hooks.repository import SETTINGS, is_plan

if TYPE_CHECKING:
    from collections.abc import Container, Iterable, Iterator, Mapping, Sequence

    from trappoint.checking.report import FileReport, Report
    from trappoint.core.findings import Finding, Level
    from trappoint.core.terminal import RenderOptions
    from trappoint.model.settings import Settings
    from trappoint_hooks.repository import Repository, Tree


class TreeFiles:
    """The files around a plan in a tree of git's."""

    def __init__(self, repository: Repository, tree: Tree, path: str) -> None:
        """``path`` is the plan's, seen from the top of the tree."""
        self._repository = repository
        self._tree = tree
        self._folder = path.rpartition("/")[0]

    def read(self, path: str) -> bytes:
        """Return a file, by its path as seen from the folder of the plan."""
        object_ = self._tree.get(within(self._folder, path))
        if object_ is None:
            raise FileNotFoundError(path)
        return self._repository.read(object_)


class PlanVersion(NamedTuple):
    """A plan as it is, or was, in some tree."""

    path: str
    object: str
    tree: Tree
    """Where its boards are looked for."""


class CheckedPlan(NamedTuple):
    """What came of the check of one plan, without what was derived on the way."""

    report: FileReport
    stage: int
    """How far it came: 0 to 2 where it ended early, 3 where it went to its end."""


class Judge:
    """Checks plans of one repository, each text once for each settings."""

    def __init__(self, repository: Repository, floor: Level) -> None:
        """``floor`` is the least level of a finding that stands in the way."""
        self.repository = repository
        self.floor = floor
        self._checked: dict[tuple[object, ...], CheckedPlan] = {}
        self._assembled: dict[str, bool] = {}
        self._boards: dict[tuple[str, str, int], tuple[tuple[str, str], ...]] = {}
        self._trees: dict[str, Tree] = {}
        self._settings: dict[str, Settings | None] = {}

    def tree(self, commit: str) -> Tree:
        """Return the plain files of a commit, read once."""
        if commit not in self._trees:
            self._trees[commit] = self.repository.tree(commit)
        return self._trees[commit]

    def check(self, path: str, version: PlanVersion, tree: Tree) -> CheckedPlan:
        """Check a version of a plan by the settings that its path has in a tree.

        Its boards are those of its own tree. Raises ``SettingsError``, ``GitError``.
        """
        settings, named = self.settings_for(path, tree)
        boards = self.boards(version)
        key = (version.object, named, boards, version.path if boards else "")
        if key not in self._checked:
            content = self.repository.read(version.object)
            called = version.path if boards else path
            files = TreeFiles(self.repository, version.tree, version.path)
            report = check_content(content, called, settings, files)
            self._checked[key] = CheckedPlan(report.without_facts(), _stage(report))
        checked = self._checked[key]
        return checked._replace(report=checked.report._replace(file=path))

    def boards(self, version: PlanVersion) -> tuple[tuple[str, str], ...]:
        """Return the files that a plan is put together from, each with its object, if there is one.

        They are named as seen from the top.
        """
        if version.object not in self._assembled:
            self._assembled[version.object] = b'"boards"' in self.repository.read(version.object)
        if not self._assembled[version.object]:
            return ()
        key = version.path, version.object, id(version.tree)
        if key not in self._boards:
            folder = version.path.rpartition("/")[0]
            files = TreeFiles(self.repository, version.tree, version.path)
            found = board_files(self.repository.read(version.object), files=files)
            places = [within(folder, path) for path in found]
            self._boards[key] = tuple((place, version.tree.get(place, "")) for place in places)
        return self._boards[key]

    def put_together_anew(
        self, tree: Tree, before: Sequence[Tree], known: Container[str]
    ) -> Iterator[tuple[PlanVersion, list[PlanVersion]]]:
        """Yield the plans of a tree that have other boards than in each of the trees before.

        Each comes with what it was there, so far as it was there. Those ``known`` are left out.
        """
        for path, object_ in tree.items():
            now = PlanVersion(path, object_, tree)
            if not is_plan(path) or path in known or not self.boards(now):
                continue
            then = [PlanVersion(path, old[path], old) for old in before if path in old]
            same = (was.object == object_ and self.boards(was) == self.boards(now) for was in then)
            if not any(same):
                yield now, then

    def grave(self, report: FileReport) -> list[Finding]:
        """Return the findings of a report that stand in the way."""
        return [found for found in report.findings if reaches(found.level, self.floor)]

    def keep(self, report: FileReport, findings: Iterable[Finding]) -> FileReport:
        """Return the report with these findings alone."""
        return report._replace(findings=tuple(findings))

    def worse(self, now: CheckedPlan, before: Iterable[CheckedPlan]) -> list[Finding]:
        """Return what stands in the way now and did not before, in any of the checks of before.

        Where a check of before ended earlier, for the plan could not even be read or its
        references led nowhere, what is found now was hidden then: the plan is better, not worse.
        """
        left = self.grave(now.report)
        if now.report.fault is not None:  # it must not look like a plan in order
            return left
        for old in before:
            if old.stage < now.stage:
                return []
            left = part_known(left, map(remember, self.grave(old.report)))[0]
        return left

    def settings_for(self, path: str, tree: Mapping[str, str]) -> tuple[Settings, str]:
        """Return the settings for a plan, and the object that they stand in, if any.

        Raises ``SettingsError`` where they can not be used.
        """
        folder = path
        while folder:
            folder = folder.rpartition("/")[0]
            for name in SETTINGS:
                place = f"{folder}/{name}" if folder else name
                if place not in tree:
                    continue
                found = self.read_settings(place, tree[place])
                if found is not None:
                    return found, tree[place]
        return DEFAULTS, ""

    def read_settings(self, path: str, object_: str) -> Settings | None:
        """Read settings; None where the file has none. Raises ``SettingsError``."""
        if object_ not in self._settings:
            try:
                text = self.repository.read(object_).decode("utf-8")
            except UnicodeDecodeError:
                raise SettingsError(f"{path}: this is not UTF-8.") from None
            other = path.endswith("pyproject.toml") and "[tool.trappoint" not in text
            self._settings[object_] = None if other else read_settings(text, path)
        return self._settings[object_]


class ReportedFindings:
    """What hooks have told already, so that nothing of a board is told of every whole too."""

    def __init__(self) -> None:
        self._alone: set[tuple[str, str, str]] = set()
        self._in_wholes = ToldAlready()

    def new(self, report: FileReport, findings: Iterable[Finding]) -> list[Finding]:
        """Return the findings that were not told of a board by itself, or of a whole, before.

        Plans that are put together come after those of single files.
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
    """Why something is turned aside."""

    path: str
    report: FileReport | None
    """The report, with the findings that stand in the way alone; None where there is none."""
    reason: str = ""
    """A sentence, where there is no report."""


def tell(refusal: HookRefusal, look: RenderOptions) -> str:
    """Return a refusal in whole lines: its findings and the verdict, or its sentence."""
    from trappoint.reporting.excerpt import SourceLines
    from trappoint.reporting.findings_text import render_finding, render_verdict

    report = refusal.report
    if report is None:
        return "\n".join(look.wrap(refusal.reason, later="  ")) + "\n"
    blocks = []
    for found in report.findings:
        lines = SourceLines(report.text_of(found))
        blocks.append(render_finding(found.file or report.file, found, lines, look))
    return "\n".join([*blocks, render_verdict(report, look)])
