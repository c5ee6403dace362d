"""From the words of a command line to the plans that are meant."""

from __future__ import annotations

import os
import os.path
import sys
from typing import NamedTuple

from trappoint.core.errors import reason_of
from trappoint.source.files import repository_of
from trappoint.source.reading import LIMIT_BYTES, UnusableFile, read_file

STANDARD_INPUT = "-"
PLAN_ENDING = ".layout.json"


class PlanSource(NamedTuple):
    """A plan that is to be read: a file, or what came by standard input."""

    name: str
    content: bytes | None = None
    """The bytes, where they were read already."""

    def read(self) -> bytes:
        """Return the bytes. Raises UnusableFile where there are none to be had."""
        return read_file(self.name) if self.content is None else self.content


def gather(words: list[str]) -> tuple[list[PlanSource], list[str]]:
    """Return the plans that are meant, sorted by name and each once, and complaints.

    A word is a file, a folder (all its plans, those in folders below included; folders whose name
    begins with a dot are left out, and so is what git ignores), or ``-`` for standard input.
    """
    names: dict[str, str] = {}
    complaints: list[str] = []
    for word in words:
        if word != STANDARD_INPUT and os.path.isdir(word):  # noqa: PTH112 - pathlib costs start-up
            found = _plans_in(word, complaints)
            if not found:
                complaints.append(f"There is no *{PLAN_ENDING} in the folder {word}.")
        else:
            found = [word]
        for name in found:
            names.setdefault(os.path.normpath(name) if name else name, name)
    sources = []
    for name in sorted(names.values()):
        try:
            content = read_standard_input() if name == STANDARD_INPUT else None
        except UnusableFile as error:
            complaints.append(str(error))
            continue
        sources.append(PlanSource(name, content))
    return sources, complaints


def read_standard_input() -> bytes:
    """Return what comes by standard input, at most one byte more than a plan may have."""
    if sys.stdin is None:
        raise UnusableFile("Nothing comes by standard input: it is closed.")
    try:
        return sys.stdin.buffer.read(LIMIT_BYTES + 1)
    except OSError as error:
        raise UnusableFile(f"Standard input cannot be read: {reason_of(error)}.") from None


def _plans_in(folder: str, complaints: list[str]) -> list[str]:
    return [
        os.path.normpath(os.path.join(folder, name))  # noqa: PTH118
        for name in _names_in(folder, complaints)
    ]


def _names_in(folder: str, complaints: list[str]) -> list[str]:
    """Return the plans in a folder, named from there."""
    listed = _listed_by_git(folder) if repository_of(folder) else None
    if listed is None:
        return _names_lying_in(folder, complaints)
    found = []
    for name in listed:
        parts = name.split("/")
        if any(part.startswith(".") for part in parts[:-1]):
            continue
        path = os.path.join(folder, name)  # noqa: PTH118
        if name.endswith(PLAN_ENDING):
            if os.path.lexists(path) and not os.path.isdir(path):  # noqa: PTH112 # else deleted
                found.append(name)
        elif os.path.isdir(path) and not os.path.islink(path) and parts[-1][:1] != ".":  # noqa: PTH112, PTH114
            # A repository within the repository: git names it, and says no more of it.
            found += [os.path.join(name, below) for below in _names_in(path, complaints)]  # noqa: PTH118
    return found


def _names_lying_in(folder: str, complaints: list[str]) -> list[str]:
    def closed(error: OSError) -> None:
        complaints.append(f"The folder {error.filename} cannot be read: {reason_of(error)}.")

    found = []
    for here, folders, files in os.walk(folder, onerror=closed):
        folders[:] = [name for name in folders if not name.startswith(".")]
        found += [
            os.path.relpath(os.path.join(here, name), folder)  # noqa: PTH118
            for name in files
            if name.endswith(PLAN_ENDING)
        ]
    return found


def _listed_by_git(folder: str) -> list[str] | None:
    """Return what git keeps or would keep in a folder, named from there.

    None where git cannot say, and where the folder as a whole is ignored: whoever names it means
    it.
    """
    from trappoint.source.git import try_git

    words = ("ls-files", "-z", "--cached", "--others", "--exclude-standard")
    listed = try_git(*words, folder=folder, any_repository=True)
    if listed is None:
        return None
    names = list(dict.fromkeys(name.rstrip("/") for name in listed.split("\0") if name))
    if names:
        return names
    ignored = try_git("check-ignore", "--quiet", ".", folder=folder, any_repository=True)
    return names if ignored is None else None
