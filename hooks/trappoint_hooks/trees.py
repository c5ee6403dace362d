"""The files of a commit or of the index, including those behind links and in submodules."""

from __future__ import annotations

import errno
from collections.abc import Mapping
from posixpath import dirname, join
from typing import TYPE_CHECKING

from trappoint.source.files import within
from trappoint.source.git import try_git

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator

    from trappoint_hooks.repository import Repository

FILES = ("100644", "100755")
"""The modes of plain files."""
LINK = "120000"
"""The mode of a symbolic link."""
SUBMODULE = "160000"
"""The mode of a submodule: its object is the pinned commit."""

MAX_LINKS = 40
"""The maximum links on the way of one path."""

MAX_LETTERS = 4096
"""The maximum characters of a path: no system opens a longer one."""

Entry = tuple[str, str, str]
"""A mode, an object and a path."""


class Tree(Mapping[str, str]):
    """Maps the paths of plain files to their objects; it is read when first used.

    ``find`` also follows links and looks into submodules.
    """

    def __init__(
        self, repository: Repository, entries: Callable[[], Iterable[Entry]], place: str = ""
    ) -> None:
        """``place`` is the path of the submodule whose tree this is; empty if it is none."""
        self._repository = repository
        self._entries = entries
        self._place = place
        self._files: dict[str, str] | None = None
        self._links: dict[str, str] = {}
        self._submodules: dict[str, str] = {}
        self._opened: dict[str, Tree] = {}
        self.boards: dict[tuple[str, str], tuple[tuple[str, str], ...]] = {}
        """The boards of its plans, by path and object, as far as they are known."""

    def __getitem__(self, path: str) -> str:
        """Return the object of a plain file."""
        return self._plain()[path]

    def __iter__(self) -> Iterator[str]:
        """Yield the paths of the plain files."""
        return iter(self._plain())

    def __len__(self) -> int:
        """Return the number of plain files."""
        return len(self._plain())

    def links(self) -> Iterator[str]:
        """Yield the paths of links."""
        self._plain()
        return iter(self._links)

    def is_link(self, path: str) -> bool:
        """Return whether there is a link with this path."""
        self._plain()
        return path in self._links

    def find(self, path: str) -> str:
        """Return the object of a file, even behind links or in a submodule.

        Raises ``OutOfReach`` if the path leads out of the repository, ``FileNotFoundError`` if
        there is no file, and another ``OSError`` if the commit of a submodule is missing.
        """
        for _ in range(MAX_LINKS):
            if path in self._plain():
                return self._plain()[path]
            above = self._crossed(path) if len(path) <= MAX_LETTERS else None
            if above is None:
                break
            below = path[len(above) :]
            if above in self._submodules:
                return self._submodule(above).find(below.removeprefix("/"))
            target = self._repository.read(self._links[above]).decode("utf-8", "surrogateescape")
            path = within(dirname(above), target.rstrip("/") + below)
        raise FileNotFoundError(errno.ENOENT, "no such file")

    def _crossed(self, path: str) -> str | None:
        """Return the first link or submodule on the way of a path; None if there is none."""
        if not self._links and not self._submodules:
            return None
        parts = path.split("/")
        ways = ("/".join(parts[: number + 1]) for number in range(len(parts)))
        return next((way for way in ways if way in self._links or way in self._submodules), None)

    def _submodule(self, path: str) -> Tree:
        if path not in self._opened:
            place = join(self._place, path)
            self._opened[path] = tree_of_submodule(self._repository, place, self._submodules[path])
        return self._opened[path]

    def _plain(self) -> dict[str, str]:
        if self._files is None:
            self._files = {}
            by_mode = {LINK: self._links, SUBMODULE: self._submodules}
            by_mode |= dict.fromkeys(FILES, self._files)
            for mode, object_, path in self._entries():
                if mode in by_mode:
                    by_mode[mode][path] = object_
        return self._files


def tree_of_submodule(repository: Repository, place: str, commit: str) -> Tree:
    """Return the tree of a submodule at its pinned commit.

    Searches the folder of the submodule, then the repository itself, which may borrow objects from
    others. Raises ``OSError`` if the commit is missing.
    """
    words = ("ls-tree", "-r", "-z", "--full-tree", commit)
    top = repository.top()
    folder = None if top is None else join(top, place)
    listed = None if folder is None else try_git(*words, folder=folder, any_repository=True)
    own = listed is None
    if listed is None:
        listed = try_git(*words)
    if listed is None:
        raise OSError(errno.EIO, f"it is in a submodule, whose commit {commit[:7]} is missing")

    entries = list(listed_entries(listed))
    if folder is not None and not own:
        repository.keep_home(folder, (object_ for _, object_, _ in entries))
    return Tree(repository, lambda: entries, place)


def listed_entries(listed: str) -> Iterator[Entry]:
    """Read what ``git ls-tree -z`` prints: ``MODE KIND OBJECT``, a tab and a path."""
    for entry in filter(None, listed.split("\0")):
        about, _, path = entry.partition("\t")
        mode, _, object_ = about.split(" ")[:3]
        yield mode, object_, path
