"""Work on the files of a folder: verdicts, merges, and what changed since the last commit."""

from __future__ import annotations

from datetime import UTC, datetime
from difflib import unified_diff
from pathlib import Path
from typing import TYPE_CHECKING

from trappoint.app.folder_records import FileChanges, FileVerdict, MergedFile
from trappoint.app.load import check_store
from trappoint.checking.check import check
from trappoint.comparing.comparison import compare, read_side
from trappoint.comparing.history import since_commit
from trappoint.config.settings_file import SettingsError, find_settings
from trappoint.core.quoting import visible
from trappoint.merging.boards import Sides
from trappoint.merging.judging import judge
from trappoint.merging.line_merge import merge_lines
from trappoint.merging.texts import Versions, merge_versions
from trappoint.model.settings import DEFAULTS
from trappoint.reporting.compare_words import sections, verdict
from trappoint.reporting.wording import count_findings, verdict_of_file
from trappoint.source.files import is_store, within
from trappoint.source.git import without_fetching
from trappoint.source.opening import read_within
from trappoint.source.reading import LIMIT_BYTES, UnusableFile

if TYPE_CHECKING:
    from trappoint.app.folder_records import FolderFile
    from trappoint.comparing.model import Comparison
    from trappoint.model.settings import Settings

SHORT = 10
"""The letters of a commit's name that are shown."""

MOST_LINES = 400
"""The number of lines of a difference between two texts."""

LONGEST_DIFF = 1_000_000
"""Bytes of the longest text whose lines are compared."""


class FilesWithin:
    """The files around one plan, within one folder."""

    def __init__(self, top: str, name: str) -> None:
        self._top = top
        self._folder = name.rpartition("/")[0]

    def read(self, path: str) -> bytes:
        """Return the bytes of a file. A path or link that leads out raises ``OutOfReach``."""
        place = Path(self._top, *within(self._folder, path).split("/"))
        return read_within(self._top, str(place), LIMIT_BYTES + 1)


def judge_file(file: FolderFile, settings: Settings) -> FileVerdict:
    """Return the verdict on a plan or a store.

    ``settings`` are those of the service; if they set nothing, those beside the file count.
    """
    name = file.name
    try:
        if is_store(name):
            light = check_store(file.content, name)
        else:
            wishes, files = _settings(file, settings), FilesWithin(file.top, name)
            light = check(file.content, name=name, settings=wishes, files=files).for_printing()
    except SettingsError as error:
        return FileVerdict(None, f"cannot be judged: {error}", "")
    holds = light.holds
    if is_store(name):
        holds = not light.findings
    counts = count_findings(light.findings) if light.findings else ""
    return FileVerdict(holds, visible(verdict_of_file(light)), counts)


def merge_file(file: FolderFile, base: bytes, ours: bytes, settings: Settings) -> MergedFile:
    """Merge the text of a page, ``ours``, with the file as it is now.

    ``base`` is the text with which the page began; ``settings`` as for ``judge_file``.
    """
    versions = Versions(base, ours, file.content)
    merged = (
        _merge_store(versions) if is_store(file.name) else _merge_plan(file, versions, settings)
    )
    if len(merged.content) > LIMIT_BYTES:
        return MergedFile(merged.content, ("The merged text is longer than 8 MiB.",))
    return merged


def _merge_plan(file: FolderFile, versions: Versions, settings: Settings) -> MergedFile:
    name = file.name
    merged = merge_versions(versions, name)
    if merged.conflicts:
        return MergedFile(merged.content, merged.conflicts)
    try:
        wishes = _settings(file, settings)
    except SettingsError:
        wishes = DEFAULTS
    files = FilesWithin(file.top, name)
    before, now = (read_side(text, name, wishes, files) for text in (versions.base, file.content))
    said = ["The file had changed meanwhile. These changes came in:"]
    said += _rows(compare(before, now)) or ["none that changes the railway."]
    if merged.new:
        beside = Sides(files, files, files)
        found = judge(merged.content, versions.ours, file.content, name, wishes, beside)
        said += [
            f"Together the changes cause a finding that neither version has: {finding.message}"
            for finding in found.findings
        ]
    return MergedFile(merged.content, (), tuple(map(visible, said)))


def _merge_store(versions: Versions) -> MergedFile:
    """Merge a store by lines."""
    base, ours, theirs = (each.decode("utf-8", "surrogateescape") for each in versions)
    merged = merge_lines(base, ours, theirs)
    content = merged.text.encode("utf-8", "surrogateescape")
    if merged.conflicts:
        places = tuple(
            f"line {line}: ours and theirs have different lines." for line in merged.conflicts
        )
        return MergedFile(content, places)
    broken = not _is_store(content) and _is_store(versions.ours) and _is_store(versions.theirs)
    if broken:
        why = "Merged by lines, the text is no longer a store, though both versions are."
        return MergedFile(content, (why,))
    said = "The file had changed meanwhile. Stores are merged by lines: look through the text."
    return MergedFile(content, (), (said,))


def _is_store(content: bytes) -> bool:
    return not check_store(content, "").findings


def compare_file(file: FolderFile, settings: Settings) -> FileChanges:
    """Return what a plan or store has that its last commit has not."""
    files = FilesWithin(file.top, file.name)
    try:
        with without_fetching():
            found = since_commit(str(file.place), file.content, _settings(file, settings), files)
    except (SettingsError, UnusableFile) as error:
        return FileChanges(None, (f"Not compared: {visible(str(error))}",))
    if found is None:
        why = "This folder is in no git repository, so there is no commit to compare with."
        return FileChanges(None, (why,))
    since = None
    if found.commit is not None:
        day = datetime.fromtimestamp(found.commit.seconds, UTC)
        since = visible(f"{day:%Y-%m-%d} {found.commit.subject} ({found.commit.id[:SHORT]})")
    changed = found.old.replace(b"\r\n", b"\n") != file.content.replace(b"\r\n", b"\n")
    if not changed and since is not None:
        return FileChanges(since, ())
    if is_store(file.name):
        what = "has changed" if since else "is in no commit yet"
        said = [f"This store {what}. The page compares the text alone."]
    else:
        said = [*verdict(found.comparison), *_rows(found.comparison)]
    text = _difference(found.old, file.content) if since else ()
    return FileChanges(since, tuple(map(visible, said)), text)


def _settings(file: FolderFile, given: Settings) -> Settings:
    """Return the settings of the service, or those beside the file. Raises ``SettingsError``."""
    if given != DEFAULTS:
        return given
    return find_settings(str(file.place.parent))


def _rows(comparison: Comparison) -> list[str]:
    return [
        f"{row.lead}: {sentence}"
        for section in sections(comparison)
        for row in section.rows
        for sentence in row.sentences
    ]


def _difference(old: bytes, new: bytes) -> tuple[str, ...]:
    """Return the lines that differ, with a sign before each; none for texts that are too long."""
    if max(len(old), len(new)) > LONGEST_DIFF:
        return ()
    before, now = (each.decode("utf-8", "replace").splitlines() for each in (old, new))
    lines = list(unified_diff(before, now, n=1, lineterm=""))[2:]
    return tuple(map(visible, lines[:MOST_LINES]))
