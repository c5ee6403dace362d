"""The own pages of a site: the index of all plans, and one page for each plan.

They need no script. All links are relative, so the pages work from a server and from the disk.
"""

from __future__ import annotations

import os
from html import escape
from itertools import groupby
from typing import TYPE_CHECKING, NamedTuple
from urllib.parse import quote

from trappoint.core.findings import CAUTION_SHORT
from trappoint.core.quoting import visible
from trappoint.core.terminal import plural
from trappoint.reporting.badge import word_of
from trappoint.reporting.html_sheet import OWN_PICTURES, html_sheet
from trappoint.reporting.site_changes import changes_html, date_html
from trappoint.reporting.site_findings import elsewhere_html, findings_html
from trappoint.reporting.site_style import STYLE
from trappoint.reporting.wording import GRANTED

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping, Sequence

    from trappoint.checking.report import FileReport
    from trappoint.comparing.history import History

PAGE, ICON = "index.html", "mark.svg"
DIAGRAM, BADGE = "diagram.svg", "badge.svg"
"""The names of files: a page, the icon of the site, and pictures beside the page of a plan."""

SHEETS = {
    "work.html": "Work the diagram",
    "table.html": "Locking table",
    "chart.html": "Wall chart",
    "fitting.html": "Fitting sheet",
    DIAGRAM: "Diagram alone",
}
"""From each sheet beside the page of a plan to the words of its link."""

_KINDS = {True: "holds", False: "fails", None: "unjudged"}


class PlanEntry(NamedTuple):
    """A plan in the index."""

    file: str
    """Its name, from the folder of all plans, with / between folders."""
    folder: str
    """The folder of its pages, from the top of the site, with / between folders."""
    title: str
    """Its title; the name of its file if it has none."""
    holds: bool | None
    counts: str = ""
    """The number of its findings by level; empty if there are none."""
    seconds: int | None = None
    """The time of the last commit that changed it, in seconds since 1970 (UTC); None if there is
    none."""
    sheets: tuple[str, ...] = ()
    """The names of the sheets beside its page."""


class PlanDetails(NamedTuple):
    """The contents of a plan's page that its entry lacks."""

    sentence: str
    """The verdict, as a whole sentence."""
    report: FileReport | None = None
    """None if the file cannot be read."""
    history: History | None = None
    """None outside of git."""


def index_page(entries: Sequence[PlanEntry], title: str) -> str:
    """Return the index of a site, in ASCII. The plans of each folder are together."""
    found = [entry.holds for entry in entries]
    counted = (
        (found.count(True), "holds", "hold"),
        (found.count(False), "does not hold", "do not hold"),
        (found.count(None), "cannot be judged", "cannot be judged"),
    )
    words = (f"{count} {one if count == 1 else many}" for count, one, many in counted if count)
    parts = [
        f"<header>\n<h1>{_text(title)}</h1>",
        f"<p>{plural(len(entries), 'plan')}: {', '.join(words)}.</p>",
        f'<p class="caution">{CAUTION_SHORT}</p>\n</header>',
    ]
    for folder, some in groupby(sorted(entries, key=_order), key=_folder_of):
        parts.append(f"<h2>{_text(folder or 'Top folder')}</h2>")
        parts.append(f'<ul class="plans">\n{"".join(map(_card, some))}</ul>')
    return _own_page(title, parts, "")


def _own_page(title: str, parts: Iterable[str], up: str) -> str:
    """Return a page with the icon; ``up`` is the way from its folder to the top of the site."""
    body = "\n".join(filter(None, parts))
    page = html_sheet(visible(title), STYLE, body, pictures=OWN_PICTURES)
    icon = f'<link rel="icon" href="{up}{ICON}" type="image/svg+xml">'
    return page.replace("<title>", f"{icon}\n<title>", 1)


def _order(entry: PlanEntry) -> tuple[str, str]:
    return _folder_of(entry), entry.file


def _folder_of(entry: PlanEntry) -> str:
    return entry.file.rpartition("/")[0]


def _card(entry: PlanEntry) -> str:
    folder = _address(entry.folder)
    picture = "no diagram"
    if DIAGRAM in entry.sheets:
        picture = f'<img src="{folder}/{DIAGRAM}" alt="" loading="lazy">'
    facts = " &middot; ".join(filter(None, (entry.counts, date_html(entry.seconds))))
    return (
        f'<li>\n<div class="picture">{picture}</div>\n<div class="about">\n'
        f'<h3><a href="{folder}/{PAGE}">{_text(entry.title)}</a></h3>\n'
        f'<p class="stamp {_KINDS[entry.holds]}">{word_of(entry.holds)}</p>\n'
        f'<p class="counts">{facts or "no findings"}</p>\n'
        f'<p class="file">{_text(entry.file.rpartition("/")[2])}</p>\n</div>\n</li>\n'
    )


def plan_page(entry: PlanEntry, details: PlanDetails, pages: Mapping[str, str]) -> str:
    """Return the page of a plan, in ASCII. ``pages``: from the name of each plan to its folder."""

    def link(file: str) -> str:
        shown = _text(file)
        if file not in pages:
            return shown
        return f'<a href="{_up(entry.folder)}{_address(pages[file])}/{PAGE}">{shown}</a>'

    report, history = details.report, details.history
    parts = [
        f"<h1>{_text(entry.title)}</h1>",
        f'<p class="file">{_text(entry.file)}</p>' if entry.file != entry.title else "",
        _verdict(entry, details),
        _sheets(entry),
    ]
    if DIAGRAM in entry.sheets:
        parts.append(
            f'<h2>Diagram</h2>\n<div class="diagram" tabindex="0"><img src="{DIAGRAM}" '
            f'alt="Diagram of {_text(entry.title)}"></div>'
        )
    if report is not None:
        found = findings_html(report, link)
        parts += [f"<h2>Findings</h2>\n{found or '<p>No findings.</p>'}"]
        parts += [elsewhere_html(report.elsewhere, link), _boards(report, link)]
        parts += [_granted(report.takes_for_granted)]
    if history is not None:
        parts.append(f"<h2>Changes</h2>\n{changes_html(history)}")
    word = word_of(entry.holds)
    parts.append(
        f'<h2>Badge</h2>\n<p><a href="{BADGE}"><img src="{BADGE}" alt="Signalling: {word}"></a></p>'
        "\n<p>Another page can show this badge from its address here. It follows the plan.</p>"
    )
    return with_way_back(_own_page(f"{entry.title}: {word}", parts, _up(entry.folder)), entry)


def _verdict(entry: PlanEntry, details: PlanDetails) -> str:
    report, facts = details.report, []
    if report is not None:
        facts.append(f"Findings: {entry.counts}." if entry.counts else "No findings.")
    if report is not None and report.accepted:
        facts.append(f"{plural(len(report.accepted), 'finding')} accepted by the plan itself.")
    day = date_html(entry.seconds)
    if day:
        facts.append(f"Last changed on {day}.")
    return (
        f'<div class="verdict {_KINDS[entry.holds]}">\n'
        f'<p class="stamp">{word_of(entry.holds)}</p>\n'
        f"<p>{_text(details.sentence)}</p>\n"
        f'<p class="counts">{" ".join(facts)}</p>\n'
        f'<p class="caution">{CAUTION_SHORT}</p>\n</div>'
    )


def _sheets(entry: PlanEntry) -> str:
    items = "".join(
        f'<li><a href="{name}">{words}</a></li>\n'
        for name, words in SHEETS.items()
        if name in entry.sheets
    )
    return f'<ul class="links">\n{items}</ul>' if items else ""


def _boards(report: FileReport, link: Callable[[str], str]) -> str:
    items = "".join(f"<li>{_text(each.name)}: {link(each.file)}</li>\n" for each in report.boards)
    return f"<h2>Boards</h2>\n<ul>\n{items}</ul>" if items else ""


def _granted(sentences: Iterable[str]) -> str:
    items = "".join(f"<li>{_text(sentence)}</li>\n" for sentence in sentences)
    return f"<h2>{GRANTED}</h2>\n<ul>\n{items}</ul>" if items else ""


def with_way_back(page: str, entry: PlanEntry, sheet: str = "") -> str:
    """Return a page in the folder of a plan, with links to the index at its top.

    ``sheet`` is the name of a sheet, which also links to the page of the plan; empty for that page.
    """
    links = [f'<a href="{_up(entry.folder)}{PAGE}">All plans</a>']
    if sheet:
        links.append(f'<a href="{PAGE}">{_text(entry.title)}</a>')
    nav = f'<nav aria-label="Site">{" &middot; ".join(links)}</nav>'
    nav = nav.encode("ascii", "xmlcharrefreplace").decode("ascii")
    return page.replace("<body>\n", f"<body>\n{nav}\n", 1)


def _up(folder: str) -> str:
    """Return the way from the folder of a plan to the top of the site."""
    return "../" * (folder.count("/") + 1)


def _address(path: str) -> str:
    """Return a relative path as part of an address (RFC 3986)."""
    return "/".join(quote(os.fsencode(part), safe="") for part in path.split("/"))


def _text(text: str) -> str:
    return escape(visible(text))
