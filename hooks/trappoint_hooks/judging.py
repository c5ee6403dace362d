"""What a hook finds out about the plans of a commit, whole or against what was before."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, NamedTuple

from trappoint.checking import Report, check_content
from trappoint.commands.known import part_known, remember
from trappoint.findings import reaches
from trappoint.settings import DEFAULTS
from trappoint.settings_file import SettingsError, read_settings
from trappoint_hooks.repository import SETTINGS

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from trappoint.findings import Finding, Level
    from trappoint.reporting.page import Look
    from trappoint.settings import Settings
    from trappoint_hooks.repository import Repository, Tree


class Checked(NamedTuple):
    """What came of the check of one plan, without what was derived on the way."""

    report: Report
    stage: int
    """How far it came: 0 to 2 where it ended early, 3 where it went to its end."""


class Judge:
    """Checks plans of one repository, each text once for each settings."""

    def __init__(self, repository: Repository, floor: Level) -> None:
        """``floor`` is the least level of a finding that stands in the way."""
        self.repository = repository
        self.floor = floor
        self._checked: dict[tuple[str, str], Checked] = {}
        self._settings: dict[str, Settings | None] = {}

    def check(self, path: str, object_: str, tree: Tree) -> Checked:
        """Check a plan by the settings of a tree. Raises ``SettingsError``, ``GitError``."""
        settings, named = self.settings_for(path, tree)
        key = (object_, named)
        if key not in self._checked:
            report = check_content(self.repository.read(object_), path, settings)
            light = replace(report, layout=None, facts=None)
            self._checked[key] = Checked(light, _stage(report))
        checked = self._checked[key]
        return checked._replace(report=replace(checked.report, file=path))

    def grave(self, report: Report) -> list[Finding]:
        """Return the findings of a report that stand in the way."""
        return [found for found in report.findings if reaches(found.level, self.floor)]

    def keep(self, report: Report, findings: Iterable[Finding]) -> Report:
        """Return the report with these findings alone."""
        return replace(report, findings=tuple(findings))

    def worse(self, now: Checked, before: Iterable[Checked]) -> list[Finding]:
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


def _stage(report: Report) -> int:
    if report.facts is not None or report.fault is not None:
        return 3
    if report.layout is not None:
        return 2
    from trappoint.rules import RULES

    stages = {rule.id: rule.stage for rule in RULES}
    reading = any(stages.get(found.rule) == "reading" for found in report.findings)
    return 0 if reading or report.text is None else 1


class Refusal(NamedTuple):
    """Why something is turned aside."""

    path: str
    report: Report | None
    """The report, with the findings that stand in the way alone; None where there is none."""
    reason: str = ""
    """A sentence, where there is no report."""


def tell(refusal: Refusal, look: Look) -> str:
    """Return a refusal in whole lines: its findings and the verdict, or its sentence."""
    from trappoint.reporting.excerpt import SourceLines
    from trappoint.reporting.findings_text import render_finding, render_verdict

    report = refusal.report
    if report is None:
        return "\n".join(look.wrap(refusal.reason, later="  ")) + "\n"
    lines = SourceLines(report.text or "")
    blocks = [render_finding(report.file, found, lines, look) for found in report.findings]
    return "\n".join([*blocks, render_verdict(report, look)])
