"""The walk of examples/EVENING.md in the browser, with a mouse, as the page tells it.

The tables of the page name each press and each answer; each word in *italics* is met in its order.
`pytest --rewrite --long` takes the screenshots of the page again.
"""

from __future__ import annotations

import json
import re
import shutil
import subprocess
import sys
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

import pytest

from amount import is_long
from service.building import CALM, text_of
from service.conftest import Watched
from service.hands import Hand, drawn, middle, spot_on
from service.pictures import BUILDING, hold_picture

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from playwright.sync_api import Browser, Locator, Page

EXAMPLES = Path(__file__).parents[2] / "examples"
EVENING = EXAMPLES / "evening"
PLAN, STORE, CHART = "spriggan-end.layout.json", "drawer.store.json", "spriggan-end.chart.html"
WINDOW = {"viewport": {"width": 1000, "height": 720}, "reduced_motion": "reduce"}
NO_PREVIEWS = """const later = window.setTimeout;
window.setTimeout = (act, wait, ...more) => (wait === 160 ? 0 : later(act, wait, ...more));"""
"""Keeps acts from being shown before they are done: other tests have that, and it costs much."""
KINDS = {"Points": "points", "Signal": "signals"}
POLLING = 100
"""Milliseconds between two looks at the page: a look at every frame costs as much as the page."""
PAGE = (EXAMPLES / "EVENING.md").read_text("utf-8")

pytest.importorskip("highspy")


class Row(NamedTuple):
    """One row of a table of the page."""

    place: str
    act: str
    answers: tuple[tuple[str, str], ...]


def tables() -> list[list[Row]]:
    """Return the tables of the page for the browser, row by row."""
    found = []
    for table in re.findall(r"(?:^\|[^\n]*\| act \|[^\n]*\n)((?:\|.*\n)+)", PAGE, re.MULTILINE):
        cells = [[cell.strip() for cell in line.split("|")[1:-1]] for line in table.splitlines()]
        found.append(
            [
                Row(place, act, tuple(_answer(each) for each in answers.split("; ") if each))
                for _, place, act, answers in cells[1:]
            ]
        )
    return found


def _answer(text: str) -> tuple[str, str]:
    label, _, value = text.partition(": ")
    return label, value


def words_in_italics() -> list[str]:
    """Return what the halves for the browser call by its name on the screen, in their order."""
    halves = re.findall(
        r"^\*\*In the browser\*\*.*?(?=^\*\*On the|\Z)", PAGE, re.DOTALL | re.MULTILINE
    )
    prose = (re.sub(r"^\|[^\n]*|^```.*?^```", "", half, flags=re.S | re.M) for half in halves)
    return [
        " ".join(word.split())
        for half in prose
        for word in re.findall(r"(?<![*\w])\*([^*|]+)\*(?!\*)", half)
    ]


class Walker(Hand):
    """A reader with a mouse, who meets the words of the page in their order."""

    def __init__(self, page: Page, *, rewrite: bool) -> None:
        super().__init__(page)
        self.words = words_in_italics()
        self._rewrite = rewrite

    def word(self, words: str) -> str:
        """Take the next word in italics of the page, which must be this."""
        assert self.words.pop(0) == words
        return words

    def called(self, words: str, within: str = "body") -> Locator:
        """Return the visible thing that the page calls so."""
        named = self.page.locator(within).get_by_text(self.word(words), exact=True)
        return named.locator("visible=true").first

    def stamp(self, words: str) -> None:
        """Find the verdict that the page gives next."""
        assert self.page.inner_text("[data-stamp]").lower() == self.word(words).lower()

    def picture(self, name: str, top: str, parts: str = BUILDING) -> None:
        """Hold a picture of the page to what is on the screen, or take it again."""
        rewrite = self._rewrite
        hold_picture(self.page, f"evening-{name}", top, 540, rewrite=rewrite, parts=parts)

    def do(self, row: Row, picture: str = "") -> None:
        """Do what a row of a table tells."""
        self._reach(row.place)
        heading, _, label = row.act.rpartition(" / ")
        act = self.page.locator("[data-offers] .act, [data-first] .act")
        act = act.filter(has_text=re.compile(f"^{re.escape(label)}$")).first
        act.wait_for(state="attached")
        headings = act.locator("xpath=ancestor::details/summary").all_inner_texts()
        assert headings == [heading][: len(heading)], (row, headings)
        self._reveal(act)
        form = act.locator("xpath=..")
        for label, value in row.answers:
            self._answer(form, label, value)
        if picture:
            self.picture(picture, ".desk")
        self.change(act)

    def change(self, found: Locator) -> None:
        """Press what changes the plan, and wait until the new plan is judged."""
        before = text_of(self.page)
        self.button(found)
        self._wait(
            f"before => ({CALM})() && document.querySelector('#build-text').value !== before",
            before,
        )

    def _wait(self, condition: str, value: str) -> None:
        self.page.wait_for_function(condition, arg=value, polling=POLLING)

    def _reach(self, place: str) -> None:
        """Press a thing in the diagram, or choose it in the list of places."""
        if not place:
            return
        if place == "The whole plan" or place.startswith("Session "):
            self.page.get_by_label("Go to").select_option(label=place)
            return
        kind, _, key = place.rpartition(" ")
        if kind.lower().endswith("track"):
            side = "" if kind == "Track" else f"/{kind.split()[0].lower()}"
            self.at(*self.at_rest(lambda: spot_on(self.page, f"tracks/{key}{side}")))
        else:
            thing = drawn(self.page, f"{KINDS[kind]}/{key}")
            thing.scroll_into_view_if_needed()
            self.at(*self.at_rest(lambda: middle(thing)))
        self._wait("name => document.querySelector('#h-offers').textContent === name", place)

    def at_rest(self, find: Callable[[], tuple[float, float]]) -> tuple[float, float]:
        """Return the place that ``find`` finds, once the page has stopped to scroll."""
        before, now = None, find()
        while now != before:
            self.page.wait_for_timeout(POLLING)
            before, now = now, find()
        return now

    def _reveal(self, found: Locator) -> None:
        """Open what is folded around something."""
        found.wait_for(state="attached")
        folded = found.locator("xpath=ancestor::details[not(@open)]/summary")
        while folded.count():
            self.button(folded.first)

    def _answer(self, form: Locator, label: str, value: str) -> None:
        field = form.get_by_label(label, exact=True)
        self._reveal(field)
        if field.evaluate("own => own.matches('select')"):
            field.select_option(label=value)
        elif field.evaluate("own => own.matches('[type=checkbox]')"):
            assert value == "yes"
            self.button(field)
        else:
            self.button(field)
            self.page.keyboard.press("Control+a")
            self.page.keyboard.type(value)

    def download(self, words: str) -> str:
        """Press the button of a file; return its text."""
        with self.page.expect_download() as waiting:
            self.button(self.page.get_by_role("button", name=self.word(words), exact=True))
        return Path(waiting.value.path()).read_text("utf-8")

    def choose(self, field: Locator, file: Path) -> None:
        """Press the field of a file and choose one."""
        with self.page.expect_file_chooser() as waiting:
            self.button(field)
        waiting.value.set_files(file)


@pytest.fixture
def reader(browser: Browser, address: str) -> Iterator[Walker]:
    """A reader before the page to build on."""
    with _reading(browser, address, rewrite=False) as found:
        yield found


@pytest.fixture
def reader_with_folder(tmp_path: Path, browser: Browser, rewrite: bool) -> Iterator[Walker]:
    """A reader before the first page of `trappoint serve` in a folder with the store alone."""
    shutil.copy(EVENING / STORE, tmp_path)
    words = [sys.executable, "-m", "trappoint", "serve", "--port", "0", str(tmp_path)]
    process = subprocess.Popen(words, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True)
    assert process.stdout is not None
    found = re.search(r"http://\S+/", process.stdout.readline())
    assert found is not None
    try:
        with _reading(browser, found[0].rstrip("/"), rewrite=rewrite) as one:
            yield one
    finally:
        process.terminate()
        process.wait(20)
        process.stdout.close()


@contextmanager
def _reading(browser: Browser, address: str, *, rewrite: bool) -> Iterator[Walker]:
    one = Watched(browser.new_context(**WINDOW), address)  # type: ignore[arg-type]
    one.page.add_init_script(NO_PREVIEWS)
    try:
        yield Walker(one.go("/"), rewrite=rewrite)
    finally:
        one.context.close()
    assert one.troubles == []


def test_the_plan_is_that_of_the_command_line(reader: Walker) -> None:
    """Its track, its signals and its posts; the long test goes on from there."""
    lay_and_signal(reader)
    plan = json.loads(text_of(reader.page))
    kept = json.loads((EVENING / PLAN).read_bytes())
    assert plan == {key: kept[key] for key in kept if key not in ("trains", "sessions")}


def test_the_whole_evening(request: pytest.FixtureRequest, tmp_path: Path) -> None:
    """From an empty line to a first session: the same plan as on the command line, to the byte."""
    if not is_long():
        pytest.skip("with --long")
    walker: Walker = request.getfixturevalue("reader_with_folder")
    lay_and_signal(walker, pictured=True)
    page = walker.page
    for word in ("Session first-evening", "Go to"):
        walker.word(word)
    for row in tables()[2]:
        walker.do(row)
    assert page.inner_text("[data-stamp]").lower() == "holds"
    walker.button(page.get_by_label(walker.word("Save as"), exact=True))
    page.keyboard.type(PLAN.partition(".")[0])
    walker.button(walker.called("Save under this name"))
    page.wait_for_function(
        "() => document.querySelector('[data-saved]').textContent.endsWith(': saved')"
    )
    assert (tmp_path / PLAN).read_bytes() == (EVENING / PLAN).read_bytes()
    go_on_with_the_saved_plan(walker, tmp_path)
    assert walker.words == []


def lay_and_signal(walker: Walker, *, pictured: bool = False) -> None:
    """Lay the track, take the first proposal, and move the two posts."""
    track, posts, _ = tables()
    page = walker.page
    walker.button(walker.called("Build a plan", "nav"))
    for word in ("Names and notes", "The whole plan", "Go to"):
        walker.word(word)
    for number, row in enumerate(track, 1):
        walker.do(row, "laying" if pictured and number == 4 else "")
    assert page.locator("button", has_text=walker.word("Undo")).is_enabled()
    walker.stamp("Does not hold")
    assert walker.called("Show how they meet").is_enabled()
    walker.button(walker.called("Propose signals"))
    taken = walker.called("Take this proposal (least)")
    taken.wait_for()
    walker.at_rest(lambda: middle(taken))
    walker.change(taken)
    walker.stamp("Holds")
    if pictured:
        walker.picture("signalled", ".desk")
    for row in posts:
        walker.do(row)


def go_on_with_the_saved_plan(walker: Walker, folder: Path) -> None:
    """The shopping list, the fitting sheet, the chart and the session."""
    page = walker.page
    walker.button(walker.called("Check a plan", "nav"))
    walker.choose(page.locator("#plan-file"), folder / PLAN)
    walker.button(walker.called("Check this plan"))
    page.wait_for_selector(".verdict.holds")
    assert walker.called("Parts and fitting", "h2").is_visible()
    walker.choose(page.locator("#store-file"), folder / STORE)
    walker.button(walker.called("Make the sheet"))
    page.wait_for_selector(".fitting-sheet")
    shopping = re.findall(r"\d+ x [A-Z]\d \(.*?\)", PAGE)
    assert len(shopping) >= 2
    told = page.inner_text("#parts-and-fitting")
    assert all(line in told for line in shopping), told
    signals = json.loads((folder / PLAN).read_bytes())["signals"]
    assert walker.download("Fitting sheet (HTML)").count('class="post"') == len(signals)
    assert walker.called("Download", "h2").is_visible()
    assert walker.download("Wall chart (HTML)") == (EVENING / CHART).read_text("utf-8")
    walker.word("Download")
    assert "Movement 4" in walker.download("Running sessions (HTML)")
    walker.word("Download")
    assert walker.called("Diagram", "h2").is_visible()
    page.locator("[data-play] select").select_option(label=walker.word("Session: First evening"))
    walker.button(walker.called("Show it"))
    walker.button(walker.called("Next"))
    assert page.inner_text("[data-say]").startswith("Movement 1")
    walker.picture("running", "#diagram", "[data-say], [data-drawing], [data-play]")
    page.goto("about:blank")
    page.set_content((EVENING / CHART).read_text("utf-8"))
    walker.picture("chart", "body", "body")
