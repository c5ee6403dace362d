"""Links in the pages lead to existing places, and DEVELOPERS.md matches the code."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from trappoint.core.version import __version__

ROOT = Path(__file__).parents[2]
LIBRARY = ROOT / "validator" / "trappoint"
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text("utf-8")
PAGES = [
    *(ROOT / name for name in ("README.md", "DEVELOPERS.md", "CHANGELOG.md")),
    *(ROOT / ".github").rglob("*.md"),
    ROOT / "schema" / "DECISIONS.md",
    *(ROOT / folder / "README.md" for folder in ("schema", "service", "hooks", "examples")),
    ROOT / "examples" / "EVENING.md",
    *(ROOT / "tests" / folder / "README.md" for folder in ("bench", "slips")),
]


def anchors(page: Path) -> set[str]:
    """Return the anchors of the headings of a page, as forges make them."""
    headings = re.findall(r"^#+ (.+)$", page.read_text("utf-8"), re.MULTILINE)
    return {re.sub(r"[^\w\- ]", "", head.lower()).replace(" ", "-") for head in headings}


def section(heading: str) -> str:
    """Return the text under a heading of DEVELOPERS.md."""
    return DEVELOPERS.partition(f"\n## {heading}\n")[2].partition("\n## ")[0]


def first_cells(text: str) -> list[str]:
    """Return the names of folders in the first column of all tables in a text."""
    cells = re.findall(r"^\| (`.*?) \|", text, re.MULTILINE)
    return [name for cell in cells for name in re.findall(r"`([\w/]+)/`", cell)]


@pytest.mark.parametrize("page", PAGES, ids=lambda page: str(page.relative_to(ROOT)))
def test_links_lead_somewhere(page: Path) -> None:
    for target, anchor in re.findall(r"\]\(([^)#:]*)#?([^):]*)\)", page.read_text("utf-8")):
        linked = (page.parent / target).resolve() if target else page
        assert linked.exists(), f"{target} is not there"
        if anchor:
            assert anchor in anchors(linked), f"{target} has no heading {anchor}"


def test_pages_install_the_release_that_they_belong_to() -> None:
    tags = [
        (page.name, tag)
        for page in PAGES
        for tag in re.findall(r"(?:@|rev: )(v\d[\w.]*)", page.read_text("utf-8"))
    ]
    assert len(tags) >= 3
    assert {tag for _, tag in tags} == {f"v{__version__}"}, tags


def test_the_table_of_rooms_has_every_room_once() -> None:
    rooms = first_cells(section("The house").partition("The rooms of")[2])
    assert sorted(rooms) == sorted(path.parent.name for path in LIBRARY.glob("*/__init__.py"))


def test_the_table_of_tests_has_every_folder_once() -> None:
    listed = first_cells(section("Tests"))
    folders = {path.parent.name for path in (ROOT / "tests").glob("*/__init__.py")}
    assert sorted(listed) == sorted(folders)


def test_files_that_are_named_exist() -> None:
    named = set(re.findall(r"`(\w[\w./]*\.(?:py|json|csv|md|lock|toml))`", DEVELOPERS))
    bases = (ROOT, LIBRARY, LIBRARY / "lsp", LIBRARY / "model", LIBRARY / "boards")
    bases += (ROOT / "tests" / "drawing", ROOT / ".ci")
    assert named
    for name in named:
        assert any((base / name).exists() for base in bases), f"{name} is not there"


def test_the_walk_starts_at_names_that_are_there() -> None:
    steps = re.findall(r"^\| (\d+) \| `(.+?)` \| `(\w+)` \|", DEVELOPERS, re.MULTILINE)
    assert [int(number) for number, _, _ in steps] == list(range(1, 11))
    for _, file, name in steps:
        code = (LIBRARY / file).read_text("utf-8")
        assert re.search(rf"^(?:(?:def|class) {name}\b|{name}\b.*=)", code, re.MULTILINE), name
