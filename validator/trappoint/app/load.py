"""One plan or store: read with its club's settings, and checked by itself."""

from __future__ import annotations

import os
from functools import cache
from typing import TYPE_CHECKING, NamedTuple

from trappoint.app.discovery import STANDARD_INPUT, PlanSource, read_standard_input
from trappoint.checking.check import check
from trappoint.checking.report import FileReport, Report
from trappoint.config.settings_file import SettingsError, find_settings, read_settings_file
from trappoint.core.findings import Finding
from trappoint.source.files import files_beside
from trappoint.source.reading import UnusableFile

if TYPE_CHECKING:
    from trappoint.model.settings import Settings


STORE_ENDING = ".store.json"


class Unusable(NamedTuple):
    """A file that could not be read, and the sentence that says why."""

    file: str
    complaint: str


Outcome = FileReport | Unusable


class Overrides(NamedTuple):
    """What a command line sets in place of a club's settings, or beside them."""

    config: str | None = None
    """The file of settings for all plans; None for those that are found beside each plan."""
    exclude: tuple[str, ...] = ()
    """Patterns of plans that are left out as well, seen from the current folder."""


NO_OVERRIDES = Overrides()


def check_alone(source: PlanSource, overrides: Overrides = NO_OVERRIDES) -> Outcome:
    """Check one plan or store. Nothing is raised: a fault of the program is in the report."""
    try:
        if source.name.endswith(STORE_ENDING):
            return _check_store(source)
        settings, files = settings_beside(source.name, overrides), files_beside(source.name)
        report = check(source.read(), name=source.name, settings=settings, files=files)
        return report.for_printing()
    except (UnusableFile, SettingsError) as error:
        return Unusable(source.name, str(error))
    except Exception as error:  # whatever it is, the other plans are checked all the same
        return _faulty(source.name, error)


def _check_store(source: PlanSource) -> FileReport:
    from trappoint.parts.store_reading import read_store

    found = read_store(source.read(), source.name)
    text = found.text if found.findings else None
    return FileReport(source.name, None, found.findings, text=text, of_store=True)


def open_plan(name: str) -> tuple[bytes, Settings]:
    """Return a plan's bytes and its club's settings. Raises ``CannotUse`` where there are none."""
    content = read_standard_input() if name == STANDARD_INPUT else PlanSource(name).read()
    return content, settings_beside(name)


def read_plan(name: str) -> Report:
    """Check one plan with its club's settings. Raises ``CannotUse`` where it cannot be opened."""
    content, settings = open_plan(name)
    return check(content, name=name, settings=settings, files=files_beside(name))


def settings_beside(name: str, overrides: Overrides = NO_OVERRIDES) -> Settings:
    """Find the settings of the club whose plan this is: beside it, or in a folder above.

    Raises ``SettingsError`` where there are some that can not be used.
    """
    if overrides.config is not None:
        return _settings_in(overrides.config)
    return _settings_of(os.path.dirname(name))  # noqa: PTH120 # pathlib costs more than this


@cache
def _settings_of(folder: str) -> Settings:
    return find_settings(folder or ".")


@cache
def _settings_in(file: str) -> Settings:
    return read_settings_file(file)


def is_excluded(name: str, overrides: Overrides = NO_OVERRIDES) -> bool:
    """Tell whether the settings, or the command line, leave a plan out.

    Raises ``SettingsError`` where there are settings that can not be used.
    """
    settings = settings_beside(name, overrides)
    if not settings.exclude and not overrides.exclude:
        return False
    from trappoint.config.exclusion import is_file_excluded

    return is_file_excluded(name, settings.exclude, settings.folder) or is_file_excluded(
        name, overrides.exclude, "."
    )


def _faulty(name: str, error: Exception) -> FileReport:
    what = f"{type(error).__name__}: {error}"
    finding = Finding(
        "fault-in-program",
        "error",
        "",
        f"The program failed on this plan ({what}).",
        "This is a fault of the program, not of the plan: there is no verdict.",
        "Please report it, with the plan.",
        line=1,
        column=1,
    )
    return FileReport(name, None, (finding,), fault=what)
