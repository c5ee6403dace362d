"""The pages of a site: links, verdicts, and the same bytes from the same plans."""

from __future__ import annotations

import re
from html.parser import HTMLParser
from typing import TYPE_CHECKING
from urllib.parse import unquote, urlsplit
from xml.etree import ElementTree

import pytest

from sites.conftest import EVIL, ODD, PLANS, Site, files_of
from trappoint.core.findings import CAUTION, CAUTION_SHORT
from trappoint.reporting.badge import badge, word_of

if TYPE_CHECKING:
    from pathlib import Path

SHEETS = {"work.html", "table.html", "chart.html", "fitting.html", "diagram.svg"}

FOLDERS = {
    "boards/west": "holds",
    "boards/east": "holds",
    "meets/spring": "holds",
    "quay/sorrel": "holds",
    "quay/worse": "does not hold",
    "comma": "cannot be judged",
    "twice": "cannot be judged",
    "form": "cannot be judged",
    "empty": "cannot be judged",
    ODD.removesuffix(".layout.json"): "holds",
    "index.html_": "holds",
    "HALT": "holds",
    "halt_": "holds",
}
"""From the folder of each plan to the verdict on it."""


class Markup(HTMLParser):
    """The links, ids, texts and elements of a page."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.links: list[str] = []
        self.ids: list[str] = []
        self.text = ""
        self.tags: list[str] = []
        self.feed(text)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        for name, value in attrs:
            if name in ("href", "src", "srcset", "action", "poster", "data") and value is not None:
                self.links.append(value)
            if name == "id" and value is not None:
                self.ids.append(value)

    def handle_data(self, data: str) -> None:
        self.text += data


def test_every_plan_has_its_pages_and_its_verdict(site: Site) -> None:
    pages = {str(path.parent.relative_to(site.folder)) for path in site.folder.rglob("badge.svg")}
    assert pages == set(FOLDERS)
    assert len(FOLDERS) == len(PLANS) + 1  # and Sorrel Halt
    for folder, word in FOLDERS.items():
        assert f'<p class="stamp">{word}</p>' in site.page(f"{folder}/index.html")
        assert f'aria-label="Signalling: {word}"' in site.page(f"{folder}/badge.svg")
        own = {path.name for path in (site.folder / folder).iterdir() if path.is_file()}
        assert own - {"index.html", "badge.svg"} == (
            set() if folder in ("comma", "form", "empty")
            else {"diagram.svg", "chart.html"} if folder == "twice" else SHEETS
        )  # fmt: skip


def test_every_link_leads_somewhere(site: Site) -> None:
    """Test each address as a browser reads it, from the place of its page."""
    followed = 0
    for path in site.folder.rglob("*.html"):
        page = Markup(path.read_text("ascii"))
        if path.parent.name != "twice":  # that plan itself has an id twice
            assert len(set(page.ids)) == len(page.ids), path
        for link in page.links:
            parts = urlsplit(link)
            assert (parts.scheme, parts.netloc, parts.query) == ("", "", ""), link
            target = path.parent / unquote(parts.path) if parts.path else path
            assert target.resolve().is_relative_to(site.folder.resolve()), link
            assert target.is_file(), (path, link)
            if parts.fragment:
                assert unquote(parts.fragment) in Markup(target.read_text("ascii")).ids
            followed += 1
    assert followed > 100


def test_every_file_can_be_reached_from_the_index(site: Site) -> None:
    seen, left = set[str](), [site.folder / "index.html"]
    while left:
        path = left.pop().resolve()
        if str(path) in seen:
            continue
        seen.add(str(path))
        if path.suffix == ".html":
            links = Markup(path.read_text("ascii")).links
            left += [path.parent / unquote(urlsplit(link).path) for link in links]
    marker = site.folder / "trappoint-site.json"
    assert seen == {str((site.folder / name).resolve()) for name in files_of(site.folder)} - {
        str(marker.resolve())
    }


def test_every_page_has_a_policy_and_the_caution(site: Site) -> None:
    for path in site.folder.rglob("*.html"):
        text = path.read_text("ascii")
        assert text.count("http-equiv=&quot;") == 0
        (policy,) = re.findall(r'<meta http-equiv="Content-Security-Policy" content="(.*?)">', text)
        assert policy.startswith("default-src &#x27;none&#x27;; ")
        assert "unsafe" not in policy
        assert ("script-src" in policy) == (path.name == "work.html")
        assert CAUTION in text
    for path in site.folder.rglob("*/index.html"):
        assert CAUTION_SHORT in path.read_text("ascii").partition("<h2>")[0]
    for path in site.folder.rglob("*/*.svg"):
        assert CAUTION_SHORT in path.read_text("utf-8")


def test_no_text_of_a_plan_or_a_commit_is_markup(site: Site) -> None:
    for path in site.folder.rglob("*.html"):
        text = path.read_text("ascii")
        assert "<script>alert" not in text
        assert "<img src=x" not in text
        scripts = Markup(text).tags.count("script")
        assert scripts == (2 if path.name == "work.html" else 0), path
    assert EVIL in Markup(site.page("index.html")).text
    assert EVIL in Markup(site.page("quay/sorrel/index.html")).text


def test_the_index_counts_the_plans(site: Site) -> None:
    text = Markup(site.page("index.html")).text
    assert "13 plans: 8 hold, 1 does not hold, 4 cannot be judged." in text
    assert site.page("index.html").count('loading="lazy"') == 10
    assert '<time datetime="2026-05-04T01:30:00Z">2026-05-04</time>' in site.page("index.html")


def test_findings_are_as_the_check_reports_them(site: Site) -> None:
    text = Markup(site.page("quay/worse/index.html")).text
    assert "Findings: 1 error." in text
    said = site.club.trappoint("check", "quay/worse.layout.json").stdout
    for start in ("Nothing stops a train", "How they meet", "Put a stop signal"):
        if start in said:
            assert start in text
    assert "unheld-exit" in said
    assert "unheld-exit" in text
    assert "The id 1L" in text or "There is an arm 1L" in Markup(site.page("twice/index.html")).text


def test_the_whole_links_to_its_boards(site: Site) -> None:
    assert '<a href="../../boards/west/index.html">boards/west.layout.json</a>' in site.page(
        "meets/spring/index.html"
    )


def test_the_same_plans_give_the_same_bytes(site: Site, tmp_path: Path) -> None:
    """Test two processes, which write the site of a clone elsewhere."""
    before = files_of(site.folder)
    clone = tmp_path / "a clone"
    site.club.git("clone", "--quiet", "--no-local", str(site.club.folder), str(clone))
    out = tmp_path / "out"
    words = ("site", str(clone), "-o", str(out), "--jobs", "2")
    done = site.club.trappoint(*words, cwd=tmp_path)
    assert done.returncode == 0, done.stderr
    assert files_of(out) == before


def test_the_marker_lists_every_file_but_itself(site: Site) -> None:
    import json

    listed = json.loads(site.page("trappoint-site.json"))["files"]
    assert sorted(files_of(site.folder)) == sorted([*listed, "trappoint-site.json"])


@pytest.mark.parametrize("holds", [True, False, None])
def test_a_badge_says_its_word(holds: bool | None) -> None:
    drawing = ElementTree.fromstring(badge(holds))  # noqa: S314 - our own
    space = "{http://www.w3.org/2000/svg}"
    assert drawing.get("role") == "img"
    assert drawing.get("aria-label") == f"Signalling: {word_of(holds)}"
    assert drawing.findtext(f"{space}title") == f"Signalling: {word_of(holds)}"
    assert drawing.findtext(f"{space}text") == word_of(holds)
    assert "http://" not in badge(holds).replace("http://www.w3.org/2000/svg", "")


def test_badges_differ_without_colour() -> None:
    plain = {
        re.sub(r"#\w{6}|\d+|>[a-z ]+<|: [a-z ]+\"", "", badge(holds)) for holds in (True, None)
    }
    assert len(plain) == 2
