"""From the words of a command line to the plans that are meant."""

from __future__ import annotations

import os
import os.path
import sys
from typing import NamedTuple

from trappoint.reading import LIMIT_BYTES, UnusableFile, read_file

STANDARD_INPUT = "-"
PLAN_ENDING = ".layout.json"


class Source(NamedTuple):
    """A plan that is to be read: a file, or what came by standard input."""

    name: str
    content: bytes | None = None
    """The bytes, where they were read already."""

    def read(self) -> bytes:
        """Return the bytes. Raises UnusableFile where there are none to be had."""
        return read_file(self.name) if self.content is None else self.content


def gather(words: list[str]) -> tuple[list[Source], list[str]]:
    """Return the plans that are meant, sorted by name and each once, and complaints.

    A word is a file, a folder (all its plans, those in folders below included; folders whose name
    begins with a dot are left out), or ``-`` for standard input.
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
        sources.append(Source(name, content))
    return sources, complaints


def read_standard_input() -> bytes:
    """Return what comes by standard input, at most one byte more than a plan may have."""
    if sys.stdin is None:
        raise UnusableFile("Nothing comes by standard input: it is closed.")
    try:
        return sys.stdin.buffer.read(LIMIT_BYTES + 1)
    except OSError as error:
        said = (error.strerror or "the system gives no reason").lower()
        raise UnusableFile(f"Standard input cannot be read: {said}.") from None


def _plans_in(folder: str, complaints: list[str]) -> list[str]:
    def closed(error: OSError) -> None:
        said = (error.strerror or "the system gives no reason").lower()
        complaints.append(f"The folder {error.filename} cannot be read: {said}.")

    found = []
    for here, folders, files in os.walk(folder, onerror=closed):
        folders[:] = [name for name in folders if not name.startswith(".")]
        found += [
            os.path.normpath(os.path.join(here, name))  # noqa: PTH118
            for name in files
            if name.endswith(PLAN_ENDING)
        ]
    return found
