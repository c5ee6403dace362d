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
from trappoint.merging.texts import Versions, merge_versions
from trappoint.source.reading import LIMIT_BYTES

if TYPE_CHECKING:
    from argparse import ArgumentParser, Namespace

    from trappoint.app.streams import Streams
    from trappoint.checking.report import FileReport
    from trappoint.merging.texts import MergedVersions
    from trappoint.model.settings import Settings


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
    done = _merge(Versions(*contents), name, streams, allow=options.allow)
    if done.code != INTERNAL_ERROR:
        write_output(target, done.content, streams)
    return done.code


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


def _merge(versions: Versions, name: str, streams: Streams, *, allow: bool) -> _Done:
    merged = merge_versions(versions, name)
    for sentence in merged.conflicts:
        _complain(f"conflict: {sentence}", name, streams)
    if merged.conflicts:
        count = 1 if merged.whole else len(merged.conflicts)
        _tell_how_to_finish(name, count, streams, marked=merged.marked)
        return _Done(merged.content, FINDINGS)
    code = _judge(merged, versions, name, streams, allow=allow) if merged.new else OK
    return _Done(merged.content, code)


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
    merged: MergedVersions, versions: Versions, name: str, streams: Streams, *, allow: bool
) -> int:
    """Check a plan merged without conflicts, which equals neither version."""
    from trappoint.merging.boards import files_of_merge
    from trappoint.merging.judging import judge

    settings, files = _settings(name, streams), files_of_merge(name)
    report = judge(merged.content, versions.ours, versions.theirs, name, settings, files)
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
