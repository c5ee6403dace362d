"""The changes of a plan in the last commits, from real git."""

from __future__ import annotations

import shutil
from typing import TYPE_CHECKING

from hooks.meets import CLASH, EAST
from hooks.meets import GOOD as MEET
from hooks.page import SORREL_HALT
from sites.conftest import EVIL, WITHOUT_3, Site, run_here, write_site
from sites.test_pages import Markup

if TYPE_CHECKING:
    from pathlib import Path

    from compare.repositories import Club

PLAN = "halt.layout.json"


def changes(club: Club, out: Path, folder: str) -> str:
    """Write the site, and return the text below "Changes" on a page, in one line."""
    done = write_site(club, out)
    assert done.returncode == 0, done.stderr
    text = Markup((out / folder / "index.html").read_text("ascii")).text
    return " ".join(text.partition("Changes")[2].partition("Badge")[0].split())


def test_three_commits_in_railway_terms(site: Site) -> None:
    page = Markup(site.page("quay/sorrel/index.html")).text
    text = " ".join(page.partition("Changes")[2].split())
    back, shed, laid = (
        text.index(f"{day} {subject}")
        for day, subject in (
            ("2026-05-04", "Signal 3 comes back"),
            ("2026-05-02", f"Signal 3 goes to the shed {EVIL}"),
            ("2026-05-01", "Sorrel Halt, as laid"),
        )
    )
    assert back < shed < laid
    newest, middle, oldest = text[back:shed], text[shed:laid], text[laid:]
    assert "Before it did not hold. Now it holds" in newest
    assert "signal 3: added:" in newest
    assert "Before it held. Now it does not hold" in middle
    assert "signal 3: gone:" in middle
    assert "New findings error unheld-exit" in middle
    assert "This plan is new. It holds" in oldest
    assert site.club.git("rev-parse", "HEAD")[:10] in newest


def test_a_renamed_plan_is_followed(small: Club, tmp_path: Path) -> None:
    small.git("mv", PLAN, "wayside.layout.json")
    small.commit("Sorrel Halt gets another name")
    small.write(WITHOUT_3, "wayside.layout.json")
    small.commit("Signal 3 goes")
    text = changes(small, tmp_path / "out", "wayside")
    assert text.index("Signal 3 goes") < text.index("gets another name") < text.index("is new")
    assert "signal 3: gone" in text
    assert "The two texts are identical." in text


def test_a_version_that_cannot_be_read(small: Club, tmp_path: Path) -> None:
    small.write("{", PLAN)
    small.commit("A slip of the hand")
    small.write(WITHOUT_3, PLAN)
    small.commit("Mended")
    text = changes(small, tmp_path / "out", "halt")
    assert text.count("Not compared: one of the texts cannot be read as a plan") == 2


def test_a_version_that_git_has_lost(small: Club, tmp_path: Path) -> None:
    lost = small.git("rev-parse", f"HEAD:{PLAN}").strip()
    small.write(WITHOUT_3, PLAN)
    small.commit("Signal 3 goes")
    object_ = small.folder / ".git" / "objects" / lost[:2] / lost[2:]
    object_.chmod(0o644)
    object_.unlink()
    text = changes(small, tmp_path / "out", "halt")
    assert text.count("Not compared: git cannot read one of the two versions.") == 2


def test_a_change_of_a_board_is_a_change_of_the_whole(small: Club, tmp_path: Path) -> None:
    for name, text in MEET.items():
        small.write(text, name)
    small.commit("The meet")
    small.write(CLASH, EAST)
    small.commit("The second board gets a stand")
    told = changes(small, tmp_path / "out", "meets/spring")
    assert told.index("The second board gets a stand") < told.index("The meet")
    assert "Before it held. Now it does not hold" in told
    assert "The meet" in changes(small, tmp_path / "out", "boards/east")


def test_what_is_in_no_commit(small: Club, tmp_path: Path) -> None:
    assert "in no commit" not in changes(small, tmp_path / "out", "halt")
    small.write(WITHOUT_3, PLAN)
    small.write(SORREL_HALT, "new.layout.json")
    told = changes(small, tmp_path / "out", "halt")
    assert told.startswith("The plan on this page has changes that are in no commit.")
    assert "Sorrel Halt" in told
    page = (tmp_path / "out/new/index.html").read_text("ascii")
    assert "has changes that are in no commit" in page
    assert "<time" not in page


def test_a_shallow_clone_says_that_commits_are_missing(small: Club, tmp_path: Path) -> None:
    small.write(WITHOUT_3, PLAN)
    small.commit("Signal 3 goes")
    small.write(SORREL_HALT, PLAN)
    small.commit("Signal 3 comes back")
    clone = tmp_path / "shallow"
    small.git("clone", "--quiet", "--depth", "2", f"file://{small.folder}", str(clone))
    out = tmp_path / "out"
    done = run_here(small, str(clone), "-o", str(out))
    assert done.returncode == 0
    assert "the clone is shallow" in done.stderr
    text = Markup((out / "halt/index.html").read_text("ascii")).text
    assert "Signal 3 comes back" in text
    assert "Signal 3 goes" not in text
    assert "Older commits are missing" in text
    assert "is new" not in text


def test_a_repository_that_git_refuses_is_told(small: Club, tmp_path: Path) -> None:
    (small.folder / ".git/HEAD").write_text("nonsense", "ascii")
    done = write_site(small, tmp_path / "out")
    assert done.returncode == 0
    assert "trappoint: there are no dates and no changes: git says: " in done.stderr
    assert "<time" not in (tmp_path / "out/halt/index.html").read_text("ascii")


def test_outside_of_git_there_is_no_date(small: Club, tmp_path: Path) -> None:
    plans = tmp_path / "plans"
    plans.mkdir()
    shutil.copy(small.folder / PLAN, plans)
    done = run_here(small, str(plans), "-o", str(tmp_path / "out"))
    assert done.returncode == 0, done.stderr
    for page in (tmp_path / "out").rglob("index.html"):
        text = page.read_text("ascii")
        assert "<time" not in text
        assert "Changes" not in text
