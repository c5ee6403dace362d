"""From the file names on a command line to the plans."""

from __future__ import annotations

import os
import os.path
import sys
from typing import TYPE_CHECKING, NamedTuple, Protocol

from trappoint.core.errors import CannotUse, reason_of
from trappoint.source.files import PLAN_ENDING, is_checked, is_plan, is_settings
from trappoint.source.opening import repository_of
from trappoint.source.reading import LIMIT_BYTES, UnusableFile, read_file

STANDARD_INPUT = "-"


if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator, Sequence

    from trappoint.model.settings import Settings
    from trappoint.source.files import Files


class Surroundings(Protocol):
    """A place other than the disk that plans are read from, for instance a commit."""

    def __hash__(self) -> int:
        """Return a hash: reports are cached by their surroundings."""

    def read(self, name: str) -> bytes:
        """Return a file. Raises ``UnusableFile``."""

    def settings(self, name: str) -> Settings:
        """Return the settings for a plan. Raises ``SettingsError``."""

    def files(self, name: str) -> Files:
        """Return the files around a plan."""


class PlanSource(NamedTuple):
    """A plan to read: a file, or standard input."""

    name: str
    content: bytes | None = None
    """The bytes, if they were read already."""
    top: str | None = None
    """The folder that the file must not leave; None for a file that a person named."""
    around: Surroundings | None = None
    """Where it is read from; None for the disk."""

    def read(self) -> bytes:
        """Return the bytes. Raises UnusableFile if they cannot be read."""
        if self.content is not None:
            return self.content
        if self.around is not None:
            return self.around.read(self.name)
        return read_file(self.name, self.top)


Word = str | PlanSource | CannotUse


def gather(
    words: Sequence[Word], wanted: Callable[[str], bool] = is_plan
) -> tuple[list[PlanSource], list[str]]:
    """Return the plans, sorted by name and each once, and the error messages.

    A word is a file, a folder (its plans, folders below included; without those that git ignores,
    and without folders whose name begins with a dot), or ``-`` for standard input. A source is
    returned unchanged; an error becomes a message. ``wanted`` decides by their names which files of
    a folder are returned. Wanted settings that cannot be used give a message.
    """
    sources: dict[str, PlanSource] = {}
    complaints: list[str] = []
    for word in words:
        if isinstance(word, CannotUse):
            complaints.append(str(word))
            continue
        if isinstance(word, PlanSource):
            found = [word]
        elif is_settings(word) and wanted(word):
            found = []
            complaints += _bad_settings([word])
        elif word != STANDARD_INPUT and os.path.isdir(word):  # noqa: PTH112 - pathlib costs start-up
            found = _sources_in(word, wanted, complaints)
        else:
            found = [PlanSource(word)]
        for source in found:
            name = source.name
            sources.setdefault(os.path.normpath(name) if name else name, source)
    read = []
    for source in sorted(sources.values(), key=lambda source: source.name):
        try:
            is_input = source == PlanSource(STANDARD_INPUT)
            read.append(PlanSource(source.name, read_standard_input()) if is_input else source)
        except UnusableFile as error:
            complaints.append(str(error))
    return read, complaints


def read_standard_input() -> bytes:
    """Return the bytes of standard input, at most one more than a plan may have."""
    if sys.stdin is None:
        raise UnusableFile("Standard input is closed.")
    try:
        return sys.stdin.buffer.read(LIMIT_BYTES + 1)
    except OSError as error:
        raise UnusableFile(f"Standard input cannot be read: {reason_of(error)}.") from None


def _sources_in(
    folder: str, wanted: Callable[[str], bool], complaints: list[str]
) -> list[PlanSource]:
    top = repository_of(folder) or folder
    names = [
        os.path.normpath(os.path.join(folder, name))  # noqa: PTH118
        for name in _names_in(folder, complaints)
        if wanted(name)
    ]
    complaints += _bad_settings(filter(is_settings, names))
    found = [name for name in names if not is_settings(name)]
    if not found:
        complaints.append(f"There is no *{PLAN_ENDING} in the folder {folder}.")
    return [PlanSource(name, top=top) for name in found]


def _bad_settings(names: Iterable[str]) -> Iterator[str]:
    """Yield an error message for each file of settings that cannot be used."""
    for name in names:
        from trappoint.config.settings_file import SettingsError, settings_at

        try:
            settings_at(os.path.abspath(name))  # noqa: PTH100 - as it is named for each plan
        except SettingsError as error:
            yield str(error)


def _names_in(folder: str, complaints: list[str]) -> list[str]:
    """Return the plans, stores and settings in a folder, named from there."""
    listed = _listed_by_git(folder) if repository_of(folder) else None
    if listed is None:
        return _names_lying_in(folder, complaints)
    found = []
    for name in listed:
        parts = name.split("/")
        if any(part.startswith(".") for part in parts[:-1]):
            continue
        path = os.path.join(folder, name)  # noqa: PTH118
        if is_checked(name):
            if os.path.lexists(path) and not os.path.isdir(path):  # noqa: PTH112 # else deleted
                found.append(name)
        elif os.path.isdir(path) and not os.path.islink(path) and parts[-1][:1] != ".":  # noqa: PTH112, PTH114
            # A repository within the repository: git lists its folder, not its files.
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
            if is_checked(name)
        ]
    return found


def _listed_by_git(folder: str) -> list[str] | None:
    """Return the files in a folder that git tracks or does not ignore, relative to the folder.

    None if git fails, or if git ignores the whole folder: then its name was meant.
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
