"""Two plans, built and signalled by pointing alone, saved into a folder and committed.

The folder is one of git, with the project's hook; the page writes the plans, nobody else.
"""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
from typing import TYPE_CHECKING, Any

import pytest

from amount import is_long
from service.conftest import Watched
from service.hands import Hand, make_hand, plan_of, size_for, wait_stamp
from service.pictures import hold_picture

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from pathlib import Path

    from playwright.sync_api import Browser, Page

MOST_PRESSES = {
    ("loop", "mouse"): 40,
    ("loop", "finger"): 40,
    ("loop", "keys"): 130,
    ("terminus", "mouse"): 60,
    ("terminus", "finger"): 60,
    ("terminus", "keys"): 200,
}
"""With the letters of the name under which the plan is saved."""


FEW = {**os.environ, "TRAPPOINT_SERVE_WORKERS": "1", "TRAPPOINT_SERVE_LONG_WORKERS": "1"}


class Club:
    """A folder of git with the hook, and the service that serves it."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.git("init", "-q", "-b", "main")
        for key, value in (("user.name", "Wim"), ("user.email", "wim@example.org")):
            self.git("config", key, value)
        hook = {
            "id": "trappoint-check",
            "name": "check the signalling of layout plans",
            "language": "system",
            "entry": f"{sys.executable} -m trappoint_hooks.check",
            "files": r"\.layout\.json$",
        }
        config = {"repos": [{"repo": "local", "hooks": [hook]}]}
        (folder / ".pre-commit-config.yaml").write_text(json.dumps(config), "utf-8")  # JSON is YAML
        subprocess.run(
            [sys.executable, "-m", "pre_commit", "install"],
            cwd=folder, check=True, capture_output=True,
        )  # fmt: skip
        words = [sys.executable, "-m", "trappoint", "serve", "--port", "0", str(folder)]
        self.process = subprocess.Popen(
            words, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True, env=FEW
        )
        assert self.process.stdout is not None
        found = re.search(r"http://\S+/", self.process.stdout.readline())
        assert found is not None
        self.address = found[0].rstrip("/")

    def git(self, *words: str) -> subprocess.CompletedProcess[str]:
        return subprocess.run(
            ["git", *words], cwd=self.folder, check=False, capture_output=True, text=True
        )

    def commit(self, name: str) -> subprocess.CompletedProcess[str]:
        self.git("add", name)
        return self.git("commit", "-m", f"Add {name}")

    def close(self) -> None:
        self.process.terminate()
        self.process.wait(20)
        assert self.process.stdout is not None
        self.process.stdout.close()


@pytest.fixture(scope="module")
def club(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Club]:
    found = Club(tmp_path_factory.mktemp("club"))
    yield found
    found.close()


@pytest.fixture
def hand_for(club: Club, browser: Browser) -> Iterator[Callable[[str], Hand]]:
    """Opens the page for a kind of hand; at the end it must have had no errors."""
    opened: list[Watched] = []

    def open_page(way: str) -> Hand:
        one = Watched(browser.new_context(**size_for(way), reduced_motion="reduce"), club.address)
        opened.append(one)
        return make_hand(way, one.go("/build"))

    yield open_page
    for one in opened:
        one.context.close()
        assert one.troubles == []


def lay_loop(hand: Hand) -> None:
    """Lay a line, a loop with a siding, and two platforms."""
    page = hand.page
    hand.act("Lay a line")
    hand.thing("tracks/line")
    hand.act("Lay a loop here")
    hand.thing("tracks/loop")
    hand.act("Lay a siding here")
    for ends in (("p1", "p2"), ("p3", "p2")):
        hand.thing(f"tracks/{between(page, *ends)}")
        hand.act("Build a platform beside it")


def lay_terminus(hand: Hand) -> None:
    """Lay two lines into a terminus: a crossover, three platforms, a goods yard of two roads."""
    page = hand.page
    hand.act("Lay a line")
    hand.thing("tracks/line/down")
    hand.act("End it at a buffer")
    hand.thing("plan")
    hand.act("Lay another line")
    hand.thing("tracks/line-2/down")
    hand.act("End it at a buffer")
    hand.thing("tracks/line")
    hand.act("Cross over to ...")
    hand.thing(f"tracks/{between(page, 'p1', 'buffer')}")
    hand.act("Lay a siding here")
    plan = plan_of(page)
    roads = [key for key, own in plan["tracks"].items() if own["down"] == "buffer"]
    assert len(roads) == 3
    for road in roads:
        hand.thing(f"tracks/{road}")
        hand.act("Build a platform beside it")
    hand.thing("tracks/line-2")
    hand.act("Lay a siding here")
    hand.thing("tracks/siding-2")
    hand.act("Make it a yard, under hand signals")
    hand.act("Put in points")


def between(page: Page, *met: str) -> str:
    """Return the id of a straight track whose ends meet these things."""
    own: dict[str, Any] = plan_of(page)["tracks"]
    return next(
        key
        for key, track in own.items()
        if {track["up"].split(".")[0], track["down"].split(".")[0]} == set(met) and key != "loop"
    )


PLANS = {"loop": lay_loop, "terminus": lay_terminus}
NAMES = {"loop": "wisp-halt", "terminus": "merrow-quay"}
"""The names under which the plans are saved; the page shows them as titles."""

PICTURED = {("loop", "mouse"): (".build > .head", 730), ("loop", "finger"): (".judgement", 700)}
"""Plans with a picture on the project's pages: the top of the picture, and its height."""

COUNTS = {"loop": (3, 2, 0), "terminus": (5, 3, 1)}
"""The points, platforms and yards of each plan."""


@pytest.mark.parametrize("way", ["mouse", "keys", "finger"])
@pytest.mark.parametrize("name", PLANS)
def test_a_plan_from_an_empty_line_to_the_commit(
    club: Club, hand_for: Callable[[str], Hand], name: str, way: str, rewrite: bool
) -> None:
    """It does not hold before it has signals, and the hook rejects it; with signals both agree."""
    if way != "mouse" and not is_long():
        pytest.skip("with --long")
    hand = hand_for(way)
    page = hand.page
    PLANS[name](hand)
    wait_stamp(page, "does not hold")
    hand.propose()
    wait_stamp(page, "holds")
    built = hand.presses
    file = f"{NAMES[name]}{'' if way == 'mouse' else f'-{way}'}.layout.json"
    hand.type(page.locator("[data-save-as]"), file.removesuffix(".layout.json"))
    page.wait_for_function(
        "file => document.querySelector('[data-saved]').textContent === `${file}: saved`", arg=file
    )
    print(f"\n{name} by {way}: {built} presses, saved after {hand.presses}")
    if (name, way) in PICTURED:
        hold_picture(page, f"build-by-{way}", *PICTURED[name, way], rewrite=rewrite)
    plan = plan_of(page)
    assert json.loads((club.folder / file).read_text("utf-8")) == plan
    counts = tuple(len(plan.get(key, ())) for key in ("points", "platforms", "yards"))
    assert counts == COUNTS[name]
    if name == "loop":
        bare = {**plan, "signals": {}}
        (club.folder / "bare.layout.json").write_text(json.dumps(bare), "utf-8")
        refused = club.commit("bare.layout.json")
        assert refused.returncode == 1
        assert "does not hold" in refused.stderr
        club.git("rm", "--cached", "bare.layout.json")
    done = club.commit(file)
    assert done.returncode == 0, done.stderr
    assert club.git("show", f"HEAD:{file}").stdout == (club.folder / file).read_text("utf-8")
    assert hand.presses <= MOST_PRESSES[name, way]
