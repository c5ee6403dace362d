"""Records of the work on the files of a folder: what is asked, and the answers."""

from __future__ import annotations

from pathlib import Path
from typing import NamedTuple


class FolderFile(NamedTuple):
    """A plan or a store of a folder."""

    top: str
    """The folder."""
    name: str
    """The name of the file, from the folder, with / between folders."""
    content: bytes

    @property
    def place(self) -> Path:
        """The path of the file."""
        return Path(self.top, *self.name.split("/"))


class FileVerdict(NamedTuple):
    """The verdict on a plan or a store of a folder."""

    holds: bool | None
    """For a store, whether it can be used. None if a plan cannot be judged."""
    said: str
    """The verdict without its subject."""
    counts: str
    """The numbers of errors, warnings and notes; empty if there are none."""


class MergedFile(NamedTuple):
    """The text of a page, merged with the file."""

    content: bytes
    conflicts: tuple[str, ...] = ()
    """A sentence for each conflict; the content has both versions of each."""
    said: tuple[str, ...] = ()
    """Sentences on the changes of the file that came in."""


class FileChanges(NamedTuple):
    """What a plan or a store of a folder has that its last commit has not."""

    since: str | None
    """The last commit that changed it; None if there is none."""
    changes: tuple[str, ...]
    """Sentences in the railway's terms; none if nothing has changed."""
    text: tuple[str, ...] = ()
    """The lines that differ, with a sign before each."""
