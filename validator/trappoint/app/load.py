"""Reads one plan or store with its club's settings, and checks it alone."""

from __future__ import annotations

import os
from functools import cache
from typing import TYPE_CHECKING, NamedTuple

from trappoint.app.discovery import STANDARD_INPUT, PlanSource, read_standard_input
from trappoint.checking.check import check
from trappoint.checking.report import FileReport, Report
from trappoint.config.settings_file import SettingsError, find_settings, settings_named
from trappoint.core.findings import Finding
from trappoint.source.files import files_beside, is_store
from trappoint.source.reading import UnusableFile

if TYPE_CHECKING:
    from trappoint.model.settings import Settings


class Unusable(NamedTuple):
    """An unreadable file, with the error message."""

    file: str
    complaint: str


Outcome = FileReport | Unusable


class Overrides(NamedTuple):
    """The settings on the command line, which replace or extend a club's settings."""

    config: str | None = None
    """The file of settings for all plans; None for the settings beside each plan."""
    exclude: tuple[str, ...] = ()
    """Further patterns of plans to leave out, relative to the current folder."""


NO_OVERRIDES = Overrides()


def check_alone(source: PlanSource, overrides: Overrides = NO_OVERRIDES) -> Outcome:
    """Check one plan or store. Nothing is raised: an internal error is in the report."""
    try:
        name, around = source.name, source.around
        if is_store(name):
            return check_store(source.read(), name)
        settings = settings_for(source, overrides)
        files = files_beside(name) if around is None else around.files(name)
        report = check(source.read(), name=name, settings=settings, files=files)
        return report.for_printing()
    except (UnusableFile, SettingsError) as error:
        return Unusable(source.name, str(error))
    except Exception as error:  # the other plans are checked all the same
        return _faulty(source.name, error)


def check_store(content: bytes, name: str) -> FileReport:
    """Check a store, and return the report on it."""
    from trappoint.parts.store_reading import read_store

    found = read_store(content, name)
    text = found.text if found.findings else None
    return FileReport(name, None, found.findings, text=text, of_store=True)


def open_plan(name: str) -> tuple[bytes, Settings]:
    """Return a plan's bytes and its club's settings. Raises ``CannotUse`` if a file is unusable."""
    content = read_standard_input() if name == STANDARD_INPUT else PlanSource(name).read()
    return content, settings_beside(name)


def read_plan(name: str) -> Report:
    """Check one plan with its club's settings. Raises ``CannotUse`` if a file is unusable."""
    content, settings = open_plan(name)
    return check(content, name=name, settings=settings, files=files_beside(name))


def settings_for(source: PlanSource, overrides: Overrides) -> Settings:
    """Return the settings for a plan, from the disk, or from the commit that the plan is in.

    Raises ``SettingsError`` if they cannot be used.
    """
    if source.around is None or overrides.config is not None:
        return settings_beside(source.name, overrides)
    return source.around.settings(source.name)


def settings_beside(name: str, overrides: Overrides = NO_OVERRIDES) -> Settings:
    """Return the settings for a plan on the disk: beside it, or in the nearest folder above.

    Raises ``SettingsError`` if they cannot be used.
    """
    if overrides.config is not None:
        return _settings_in(overrides.config)
    return _settings_of(os.path.dirname(name))  # noqa: PTH120 # pathlib costs more than this


@cache
def _settings_of(folder: str) -> Settings:
    return find_settings(folder or ".")


@cache
def _settings_in(file: str) -> Settings:
    return settings_named(file)


def is_excluded(source: PlanSource, overrides: Overrides) -> bool:
    """Return whether the settings or the command line exclude a plan.

    Raises ``SettingsError`` if the settings cannot be used.
    """
    name, settings = source.name, settings_for(source, overrides)
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
