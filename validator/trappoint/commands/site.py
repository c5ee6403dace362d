"""Write the plans of a folder as a site: an index, and pages for each plan.

A plan gets a page with its verdict, findings, diagram and last changes in git, a badge, and its
working diagram, locking table, wall chart and fitting sheet. A plan that cannot be judged has its
page too, so the exit code is 0 in every state of the plans.
"""

from __future__ import annotations

import os.path
from argparse import Namespace
from typing import TYPE_CHECKING

from trappoint.app.exit_codes import INTERNAL_ERROR, OK, USAGE_ERROR
from trappoint.commands.check import job_count
from trappoint.commands.shared import plans_meant
from trappoint.core.errors import CannotUse
from trappoint.core.quoting import visible
from trappoint.core.terminal import plural

if TYPE_CHECKING:
    from argparse import ArgumentParser

    from trappoint.app.discovery import PlanSource
    from trappoint.app.streams import Streams


def add_arguments(parser: ArgumentParser) -> None:
    """Add the arguments and options of the command."""
    parser.add_argument(
        "folder",
        metavar="FOLDER",
        help="a folder: its plans, as `trappoint check FOLDER` finds them",
    )
    parser.add_argument(
        "-o",
        "--output-folder",
        metavar="OUT",
        required=True,
        help="folder for the site, required: new, empty, or the site of an earlier run, whose "
        "pages of plans that are gone are removed",
    )
    parser.add_argument(
        "--title", default="Plans", metavar="TEXT", help="heading of the index (default: Plans)"
    )
    parser.add_argument(
        "--jobs",
        type=job_count,
        default=1,
        metavar="N",
        help="number of plans written at a time (default: 1)",
    )
    parser.epilog = (
        "Exit codes: 0 = the site is written, whether its plans hold or not, 2 = usage error, "
        "3 = internal error."
    )


def run(options: Namespace, streams: Streams) -> int:
    """Write the site and return the exit code. Usage errors leave the folder as it was."""
    from trappoint.app.progress import show_progress
    from trappoint.app.site_building import FILES, build_each, place_pages
    from trappoint.app.site_folder import SiteFolder
    from trappoint.reporting.badge import MARK
    from trappoint.reporting.site_pages import ICON, PAGE, index_page

    folder, out = options.folder, options.output_folder
    _refuse_same(folder, out)
    site = SiteFolder(out)
    sources = _sources(folder, out, streams)
    if not sources:
        return USAGE_ERROR
    plans = place_pages(folder, sources)
    site.begin([PAGE, ICON, *(f"{page}/{name}" for page in plans.pages.values() for name in FILES)])
    entries, code = [], OK
    for built in show_progress(build_each(plans, sources, options.jobs), len(sources)):
        site.write(built.entry.folder, built.files)
        entries.append(built.entry)
        if built.fault is not None:
            streams.complain(
                f"trappoint: {visible(built.entry.file)}: internal error ({built.fault})."
            )
            code = INTERNAL_ERROR
    index = index_page(entries, options.title)
    site.write("", {PAGE: index.encode("ascii"), ICON: MARK.encode("ascii")})
    removed = site.finish()
    _tell_history(folder, streams)
    gone = f"; {plural(removed, 'stale file')} removed" if removed else ""
    streams.complain(f"trappoint: {plural(len(entries), 'plan')} written to {visible(out)}{gone}.")
    return code


def _refuse_same(folder: str, out: str) -> None:
    """Raise ``CannotUse`` if the site would lie in or around its plans."""
    if not os.path.isdir(folder):  # noqa: PTH112
        raise CannotUse(f"{visible(folder)} is not a folder.")
    if _is_below(folder, out):
        raise CannotUse("the site cannot be written into the folder of the plans itself, or above.")


def _is_below(path: str, folder: str) -> bool:
    """Return whether a path is a folder, or leads to a place in it."""
    top = os.path.realpath(folder)
    return os.path.realpath(path) == top or os.path.realpath(path).startswith(
        os.path.join(top, "")  # noqa: PTH118
    )


def _sources(folder: str, out: str, streams: Streams) -> list[PlanSource]:
    """Return the plans, without those in the site; none if there was a usage error."""
    words = Namespace(files=[folder], exclude=[], config=None, stdin_filename=None)
    meant = plans_meant(words, streams)
    if meant.exit_code != OK:
        return []
    return [source for source in meant.sources if not _is_below(source.name, out)]


def _tell_history(folder: str, streams: Streams) -> None:
    """Print why dates and changes are missing, if the repository is to blame."""
    from trappoint.comparing.history import shallow_commits
    from trappoint.source.git import GitError, ask_git
    from trappoint.source.opening import repository_of

    top = repository_of(folder)
    if top is None:
        return
    try:
        ask_git("rev-parse", "--git-dir", folder=top, any_repository=True)
    except GitError as error:
        streams.complain(f"trappoint: there are no dates and no changes: {visible(str(error))}")
    if shallow_commits(top):
        streams.complain(
            "trappoint: the clone is shallow: dates and older changes may be missing. Fetch the "
            "whole history first."
        )
