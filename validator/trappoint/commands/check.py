"""Check plans: say whether each holds, and what else there is to say.

Findings go to standard output, complaints about files to standard error.
"""

from __future__ import annotations

from argparse import ArgumentTypeError
from typing import TYPE_CHECKING

from trappoint.app.batch import check_each
from trappoint.app.discovery import gather
from trappoint.app.exit_codes import FINDINGS, INTERNAL_ERROR, OK, USAGE_ERROR
from trappoint.app.load import Unusable
from trappoint.app.progress import show_progress
from trappoint.core.findings import LEVELS, reaches
from trappoint.core.terminal import WIDTH, RenderOptions, plural
from trappoint.reporting.formats import REPORTERS, reporter

if TYPE_CHECKING:
    from argparse import ArgumentParser, Namespace
    from collections.abc import Iterable, Iterator

    from trappoint.app.baseline import Baseline
    from trappoint.app.dedup import ToldAlready
    from trappoint.app.load import Outcome
    from trappoint.app.streams import Streams
    from trappoint.checking.report import FileReport
    from trappoint.core.findings import Level


def add_arguments(parser: ArgumentParser) -> None:
    """Say which words the command takes."""
    parser.add_argument(
        "files",
        nargs="+",
        metavar="FILE",
        help="a plan, a store (*.store.json), a folder of plans (*.layout.json; what git ignores "
        "is left out), or - for standard input",
    )
    parser.add_argument(
        "--format", choices=REPORTERS, default="text", help="how to print it (default: text)"
    )
    parser.add_argument(
        "--fail-on",
        choices=LEVELS[::-1],
        default="error",
        metavar="LEVEL",
        help="the least level that makes the exit code 1: error (default), warning or note",
    )
    parser.add_argument(
        "--quiet",
        action="store_true",
        help="print only findings at or above that level, and only files that have some",
    )
    parser.add_argument(
        "--colour",
        "--color",
        choices=("auto", "always", "never"),
        default="auto",
        help="whether to print in colour (default: auto, on a terminal without NO_COLOR)",
    )
    parser.add_argument(
        "--jobs", type=_count, default=1, metavar="N", help="check N plans at a time (default: 1)"
    )
    known = parser.add_mutually_exclusive_group()
    known.add_argument(
        "--baseline",
        metavar="FILE",
        help="findings recorded there (what --format json printed) do not block",
    )
    known.add_argument(
        "--write-baseline",
        metavar="FILE",
        help="record there all that is found; nothing of it blocks this time",
    )


def run(options: Namespace, streams: Streams) -> int:
    """Check the plans and return the exit code."""
    baseline = None
    if options.baseline is not None:
        baseline = _read_baseline(options.baseline)
    sources, complaints = gather(options.files)
    watch = _Watch(options.fail_on, quiet=options.quiet, streams=streams, baseline=baseline)
    watch.record = options.write_baseline is not None
    for complaint in complaints:
        watch.complain(complaint)
    look = RenderOptions(
        colour=streams.colour(options.colour),
        width=streams.width(WIDTH),
        encoding=streams.encoding,
        floor=options.fail_on,
    )
    outcomes = show_progress(check_each(sources, options.jobs), len(sources))
    for piece in reporter(options.format)(watch.pass_on(outcomes), look):
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
    """Say what the baseline records and nobody finds any more."""
    for file, known in baseline.gone:
        streams.complain(
            f"trappoint: {file}: {known.rule} at {known.pointer or 'the whole plan'} stands in the "
            "baseline, but is found no more."
        )
    for file in baseline.lost_files():
        streams.complain(f"trappoint: {file} stands in the baseline, but is there no more.")
    if baseline.gone or baseline.lost_files():
        streams.complain(f"trappoint: `--write-baseline {path}` writes it anew.")


class _Watch:
    """Stands between the checks and the reporter, and works out the exit code on the way."""

    def __init__(
        self, floor: Level, *, quiet: bool, streams: Streams, baseline: Baseline | None
    ) -> None:
        self.floor = floor
        self.quiet = quiet
        self.streams = streams
        self.baseline = baseline
        self.record = False
        """Whether what is found is to be written into a baseline, and does not block."""
        self.recorded: list[FileReport] = []
        self._told: ToldAlready | None = None
        self.exit_code = OK

    def complain(self, text: str) -> None:
        """Say on standard error what could not be used."""
        self.streams.complain(f"trappoint: {text}")
        self.exit_code = max(self.exit_code, USAGE_ERROR)

    def pass_on(self, outcomes: Iterable[Outcome]) -> Iterator[FileReport]:
        """Pass on the reports that are to be printed."""
        for outcome in outcomes:
            if isinstance(outcome, Unusable):
                self.complain(outcome.complaint)
                continue
            report = self._told_once(outcome) if outcome.boards else outcome
            if self.baseline is not None:
                new, known = self.baseline.part(report.file, report.findings)
                report = report._replace(findings=tuple(new), known=tuple(known))
            grave = tuple(f for f in report.findings if reaches(f.level, self.floor))
            if self.record:
                self._keep(report)
            elif grave:
                self.exit_code = max(self.exit_code, FINDINGS)
            if report.fault is not None:
                self.streams.complain(
                    f"trappoint: {report.file}: a fault of the program, in {report.fault}."
                )
                self.exit_code = max(self.exit_code, INTERNAL_ERROR)
            if not self.quiet:
                yield report
            elif grave or report.fault is not None:
                yield report._replace(findings=grave)

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
        """Write what was found into a baseline, and say so."""
        from trappoint.app.baseline import BaselineError, write_baseline

        try:
            write_baseline(path, self.recorded)
        except BaselineError as error:
            self.complain(str(error))
            return
        count = plural(sum(len(report.findings) for report in self.recorded), "finding")
        self.streams.complain(f"trappoint: {count} written to {path}.")


def _count(word: str) -> int:
    if not word.isascii() or not word.isdigit() or not 0 < int(word[:9]) < 1000:
        raise ArgumentTypeError(f"{word!r} is not a number from 1 to 999")
    return int(word)
