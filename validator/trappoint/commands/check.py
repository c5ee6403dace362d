"""Check plans: does each one hold, and what else is wrong?

Findings go to standard output, errors about files to standard error.
"""

from __future__ import annotations

from argparse import ArgumentTypeError
from typing import TYPE_CHECKING

from trappoint.app.batch import check_each
from trappoint.app.exit_codes import FINDINGS, INTERNAL_ERROR
from trappoint.app.load import Unusable
from trappoint.app.progress import show_progress
from trappoint.commands.shared import (
    STANDARD_OUTPUT,
    add_output,
    add_plans,
    complain,
    plans_meant,
    write_output,
)
from trappoint.core.findings import LEVELS, reaches
from trappoint.core.terminal import WIDTH, RenderOptions, plural
from trappoint.reporting.formats import REPORTERS, reporter
from trappoint.source.files import is_checked, is_document

if TYPE_CHECKING:
    from argparse import ArgumentParser, Namespace
    from collections.abc import Iterable, Iterator

    from trappoint.app.baseline import Baseline
    from trappoint.app.dedup import ToldAlready
    from trappoint.app.load import Outcome
    from trappoint.app.streams import Streams
    from trappoint.checking.report import FileReport
    from trappoint.core.findings import Level


SCREENFUL = 40
"""Lines of findings printed for each plan in text without ``--all``."""

FOR_FORGES = ("sarif", "junit", "github")
"""The formats that name files as a forge does."""


def add_arguments(parser: ArgumentParser) -> None:
    """Add the arguments and options of the command."""
    add_plans(
        parser,
        "a plan, a store (*.store.json), a folder (its plans, stores and settings; what git "
        "ignores is left out), or - for standard input",
    )
    parser.add_argument(
        "--format", choices=REPORTERS, default="text", help="output format (default: text)"
    )
    parser.add_argument(
        "--fail-on",
        choices=LEVELS[::-1],
        default="error",
        metavar="LEVEL",
        help="exit 1 on findings at or above LEVEL: error (default), warning or note",
    )
    parser.add_argument(
        "--exit-zero",
        action="store_true",
        help="exit 0 in spite of findings; usage and internal errors keep their exit codes",
    )
    add_output(parser, "file for the report (default: standard output)")
    parser.add_argument(
        "--quiet",
        action="store_true",
        help="findings at or above that level only, and files that have some",
    )
    parser.add_argument(
        "--all",
        action="store_true",
        help=f"all findings of each plan in text (default: the first {SCREENFUL} lines)",
    )
    parser.add_argument(
        "--colour",
        "--color",
        choices=("auto", "always", "never"),
        default="auto",
        help="colour of the output (default: auto, on a terminal without NO_COLOR)",
    )
    parser.add_argument(
        "--jobs",
        type=job_count,
        default=1,
        metavar="N",
        help="number of plans checked at a time (default: 1)",
    )
    known = parser.add_mutually_exclusive_group()
    known.add_argument(
        "--baseline",
        metavar="FILE",
        help="file of known findings, which do not block; --format json prints them (default: "
        "none)",
    )
    known.add_argument(
        "--write-baseline",
        metavar="FILE",
        help="file for the current findings as the new baseline; exit 0 (default: none)",
    )


def run(options: Namespace, streams: Streams) -> int:
    """Check the plans and return the exit code."""
    baseline = None
    if options.baseline is not None:
        baseline = _read_baseline(options.baseline)
    wanted = is_checked if options.config is None else is_document
    plans = plans_meant(options, streams, quiet=options.quiet, wanted=wanted)
    watch = _Watch(options, streams, baseline, plans.exit_code)
    to_file = options.output_file not in (None, STANDARD_OUTPUT)
    look = RenderOptions(
        colour=streams.colour("never" if to_file and options.colour == "auto" else options.colour),
        width=WIDTH if to_file else streams.width(WIDTH),
        encoding="utf-8" if to_file else streams.encoding,
        floor=options.fail_on,
        most_lines=None if options.all else SCREENFUL,
        only_some=options.quiet,
        excluded=plans.excluded,
    )
    outcomes = show_progress(
        check_each(plans.sources, options.jobs, plans.overrides), len(plans.sources)
    )
    reports = watch.pass_on(outcomes)
    if options.format in FOR_FORGES:
        from trappoint.app.forge_names import named_from_top

        reports = named_from_top(reports)
    pieces = reporter(options.format)(reports, look)
    if to_file:  # written only when all of it is ready
        write_output(
            options.output_file, "".join(pieces).encode(errors="backslashreplace"), streams
        )
    else:
        for piece in pieces:
            streams.say(piece)
    if baseline is not None:
        _tell_gone(baseline, options.baseline, streams)
    if options.write_baseline is not None:
        watch.write_record(options.write_baseline)
    return watch.exit_code


def _read_baseline(path: str) -> Baseline:
    from trappoint.app.baseline import read_baseline

    return read_baseline(path)


def _tell_gone(baseline: Baseline, path: str, streams: Streams) -> None:
    """Print the entries of the baseline that no longer occur."""
    for file, known in baseline.gone:
        streams.complain(
            f"trappoint: {file}: {known.rule} at {known.pointer or 'the whole plan'} is in the "
            "baseline, but no longer occurs."
        )
    for file in baseline.lost_files():
        streams.complain(f"trappoint: {file} is in the baseline, but no longer exists.")
    if baseline.gone or baseline.lost_files():
        streams.complain(f"trappoint: `--write-baseline {path}` writes it again.")


class _Watch:
    """Passes reports to the reporter, and works out the exit code."""

    def __init__(
        self, options: Namespace, streams: Streams, baseline: Baseline | None, exit_code: int
    ) -> None:
        self.options = options
        self.floor: Level = options.fail_on
        self.streams = streams
        self.baseline = baseline
        self.recorded: list[FileReport] = []
        """For a baseline: the reports with findings, which do not block."""
        self._told: ToldAlready | None = None
        self.exit_code = exit_code

    def pass_on(self, outcomes: Iterable[Outcome]) -> Iterator[FileReport]:
        """Yield the reports to print."""
        for outcome in outcomes:
            if isinstance(outcome, Unusable):
                self._end_with(complain(outcome.complaint, self.streams))
                continue
            report = self._told_once(outcome) if outcome.boards else outcome
            if self.baseline is not None:
                new, known = self.baseline.part(report.file, report.findings)
                report = report._replace(findings=tuple(new), known=tuple(known))
            grave = tuple(f for f in report.findings if reaches(f.level, self.floor))
            if self.options.write_baseline is not None:
                self._keep(report)
            elif grave and not self.options.exit_zero:
                self._end_with(FINDINGS)
            if report.fault is not None:
                self.streams.complain(
                    f"trappoint: {report.file}: internal error in {report.fault}."
                )
                self._end_with(INTERNAL_ERROR)
            if not self.options.quiet:
                yield report
            elif grave or report.fault is not None:
                yield report._replace(findings=grave)

    def _end_with(self, code: int) -> None:
        self.exit_code = max(self.exit_code, code)

    def _told_once(self, report: FileReport) -> FileReport:
        if self._told is None:
            from trappoint.app.dedup import ToldAlready

            self._told = ToldAlready()
        return self._told.leave_out(report)

    def _keep(self, report: FileReport) -> None:
        lasting = tuple(f for f in report.findings if not f.rule.startswith("fault-in-"))
        if lasting:
            self.recorded.append(report._replace(findings=lasting, accepted=(), text=None))

    def write_record(self, path: str) -> None:
        """Write the findings to a baseline, and print how many."""
        from trappoint.app.baseline import BaselineError, write_baseline

        try:
            write_baseline(path, self.recorded)
        except BaselineError as error:
            self._end_with(complain(str(error), self.streams))
            return
        count = plural(sum(len(report.findings) for report in self.recorded), "finding")
        self.streams.complain(f"trappoint: {count} written to {path}.")


def job_count(word: str) -> int:
    """Read a value of ``--jobs``."""
    if not word.isascii() or not word.isdigit() or not 0 < int(word[:9]) < 1000:
        raise ArgumentTypeError(f"{word!r} is not a number from 1 to 999")
    return int(word)
