"""Merge two versions of a plan, made from the same base, by id and key.

If both changed one value, the merged file has both versions, for a person to choose from. If the
merged plan no longer holds, it is written too, but the merge fails.
"""

from __future__ import annotations

import os.path
from typing import TYPE_CHECKING, NamedTuple

from trappoint.app.discovery import STANDARD_INPUT, PlanSource, read_standard_input
from trappoint.app.exit_codes import FINDINGS, INTERNAL_ERROR, OK
from trappoint.commands.shared import STANDARD_OUTPUT, add_output, write_output
from trappoint.core.errors import CannotUse
from trappoint.core.quoting import visible
from trappoint.core.terminal import WIDTH
from trappoint.merging.ancestors import Ancestor, read_ancestor
from trappoint.merging.merge import EMPTY, merge_sheets, read_version, write_both
from trappoint.source.reading import LIMIT_BYTES, Unreadable

if TYPE_CHECKING:
    from argparse import ArgumentParser, Namespace

    from trappoint.app.streams import Streams
    from trappoint.checking.report import FileReport
    from trappoint.model.settings import Settings
    from trappoint.tidying.tree import SourceTree


def add_arguments(parser: ArgumentParser) -> None:
    """Add the arguments and options of the command."""
    parser.add_argument("base", metavar="BASE", help="version that both others began from")
    parser.add_argument("ours", metavar="OURS", help="one version, overwritten by default")
    parser.add_argument("theirs", metavar="THEIRS", help="the other version")
    add_output(parser, "file for the merged plan, - for standard output (default: OURS)")
    parser.add_argument(
        "--name", metavar="NAME", help="name of the plan in messages (default: OURS)"
    )
    parser.add_argument(
        "--allow",
        action="store_true",
        help="exit 0 for a merge without conflicts, even if the plan no longer holds",
    )


def run(options: Namespace, streams: Streams) -> int:
    """Merge and return the exit code."""
    words = (options.base, options.ours, options.theirs)
    target: str = options.output_file or options.ours
    name: str = options.name or options.ours
    if words.count(STANDARD_INPUT) > 1:
        raise CannotUse("only one of the versions can be standard input.")
    _refuse_special(target)
    contents = [_read(word) for word in words]
    done = _merge(_Versions(*contents), name, streams, allow=options.allow)
    if done.code != INTERNAL_ERROR:
        write_output(target, done.content, streams)
    return done.code


class _Versions(NamedTuple):
    base: bytes
    ours: bytes
    theirs: bytes


class _Done(NamedTuple):
    content: bytes
    code: int


def _read(word: str) -> bytes:
    content = read_standard_input() if word == STANDARD_INPUT else PlanSource(word).read()
    if len(content) > LIMIT_BYTES:  # the rest was not read: a merge would lose it
        raise CannotUse(f"{visible(word)} is longer than 8 MiB, so it is not merged.")
    return content


def _refuse_special(target: str) -> None:
    """Refuse to write the merged plan through a link, or into anything but a plain file."""
    if target == STANDARD_OUTPUT or not os.path.lexists(target):
        return
    if os.path.islink(target) or not os.path.isfile(target):  # noqa: PTH113, PTH114 - pathlib costs start-up
        raise CannotUse(
            f"{visible(target)} is a link or not a plain file, so nothing is written to it. "
            "Name another file with -o, or - for standard output."
        )


def _merge(versions: _Versions, name: str, streams: Streams, *, allow: bool) -> _Done:
    base = read_ancestor(versions.base, name)
    ours, theirs = (read_version(content, name) for content in versions[1:])
    if isinstance(ours, Unreadable) or isinstance(theirs, Unreadable):
        return _merge_whole(versions, name, streams)
    conflicts = 0
    if isinstance(base, Unreadable):
        _complain(
            "conflict: the base version cannot be read. A thing that only one version has may be "
            "new, or the other may have removed it: check each.",
            name,
            streams,
        )
        base, conflicts = Ancestor(EMPTY, {}), 1
    merged = merge_sheets(base.sheet, ours, theirs, base.undecided)
    for conflict in merged.conflicts:
        _complain(f"conflict: {conflict.sentence()}", name, streams)
    conflicts += len(merged.conflicts)
    if conflicts:
        _tell_how_to_finish(name, conflicts, streams, marked=bool(merged.conflicts))
        return _Done(merged.text.encode(), FINDINGS)
    code = _judge(merged.text, ours, theirs, name, streams, allow=allow)
    return _Done(merged.text.encode(), code)


def _merge_whole(versions: _Versions, name: str, streams: Streams) -> _Done:
    """Merge versions that cannot be read: as a whole, or not at all."""
    base, ours, theirs = versions
    if ours in (base, theirs):
        return _Done(theirs, OK)
    if theirs == base:
        return _Done(ours, OK)
    for side, content in (("ours", ours), ("theirs", theirs)):
        sheet = read_version(content, name)
        if isinstance(sheet, Unreadable):
            first = sheet.findings[0]
            _complain(
                f"conflict: {side} cannot be read (line {first.line}, column {first.column}: "
                f"{first.message}), so the file has both versions whole.",
                name,
                streams,
            )
    _tell_how_to_finish(name, 1, streams, marked=True)
    return _Done(write_both(ours, theirs), FINDINGS)


def _tell_how_to_finish(name: str, conflicts: int, streams: Streams, *, marked: bool) -> None:
    what = "conflict is" if conflicts == 1 else "conflicts are"
    how = (
        "Keep one of the two versions between the marks, and remove the marks. Then: "
        if marked
        else "Then: "
    )
    check = f"`trappoint check {visible(name)}`"
    _complain(f"{conflicts} {what} left for you. {how}{check}.", name, streams)


def _complain(sentences: str, name: str, streams: Streams) -> None:
    streams.complain(f"trappoint: {visible(name)}: {sentences}")


def _judge(
    merged: str, ours: SourceTree, theirs: SourceTree, name: str, streams: Streams, *, allow: bool
) -> int:
    """Check a plan merged without conflicts, unless it equals one of the versions."""
    if merged in (ours.text, theirs.text) or not merged.strip():
        return OK
    from trappoint.merging.boards import files_of_merge
    from trappoint.merging.judging import judge

    settings, files = _settings(name, streams), files_of_merge(name)
    report = judge(merged, ours.text, theirs.text, name, settings, files)
    if not report.findings and report.fault is None:
        return OK
    _tell(report, streams)
    if report.fault is not None:
        return INTERNAL_ERROR
    if allow:
        _complain("merged all the same, because of --allow.", name, streams)
        return OK
    _complain(
        "there is no conflict, but together the changes cause findings that neither version has, "
        "so the merge fails. The file has the merged plan: mend it, or accept it with --allow.",
        name,
        streams,
    )
    return FINDINGS


def _settings(name: str, streams: Streams) -> Settings:
    from trappoint.app.load import settings_beside
    from trappoint.config.settings_file import SettingsError
    from trappoint.model.settings import DEFAULTS

    try:
        return settings_beside(name)
    except SettingsError as error:
        streams.complain(f"trappoint: {error}")
        return DEFAULTS


def _tell(report: FileReport, streams: Streams) -> None:
    from trappoint.core.terminal import RenderOptions
    from trappoint.reporting.formats import reporter

    look = RenderOptions(colour=False, width=WIDTH, encoding="ascii")
    streams.complain("".join(reporter("text")([report], look)).rstrip())
