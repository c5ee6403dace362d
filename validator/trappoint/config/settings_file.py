"""Reading what a club sets for itself.

Settings stand in ``trappoint.toml``, or in ``pyproject.toml`` under ``[tool.trappoint]``, in the
plan's folder or one above it. Every key is known here; an unknown one is an error.
"""

from __future__ import annotations

import os
from typing import TYPE_CHECKING, Any

from trappoint.core.errors import CannotUse, reason_of
from trappoint.core.findings import LEVELS
from trappoint.core.spelling import nearest
from trappoint.model.settings import CHOICES, DEFAULTS, Settings

if TYPE_CHECKING:
    from collections.abc import Mapping

    from trappoint.core.findings import Level


class SettingsError(CannotUse):
    """Settings that can not be used. The message says where and what to do."""


def read_settings(text: str, name: str) -> Settings:
    """Read settings from the text of a TOML file. Raises ``SettingsError``."""
    import tomllib

    try:
        data: dict[str, Any] = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise SettingsError(f"{name}: this is not TOML: {error}") from None
    if name.endswith("pyproject.toml"):
        data = dict(_table(_table(data, "tool", name), "trappoint", name))
    _only_known(data, ("exclude", "levels", "choices"), name)
    levels = _table(data, "levels", name)
    choices = _table(data, "choices", name)
    if "exclude" in levels or "exclude" in choices:
        raise SettingsError(f"{name}: exclude belongs above the tables [levels] and [choices].")
    _only_known(choices, tuple(CHOICES), name)
    for key, value in choices.items():
        if not isinstance(value, bool):
            raise SettingsError(f"{name}: choices.{key} must be true or false, not {value!r}.")
    return Settings(
        {rule: _level(rule, word, name) for rule, word in levels.items()},
        overlap=bool(choices.get("overlap", False)),
        exclude=_patterns(data.get("exclude", []), name),
    )


def _patterns(value: object, name: str) -> tuple[str, ...]:
    if not isinstance(value, list) or not all(isinstance(each, str) for each in value):
        raise SettingsError(f'{name}: exclude must be a list of patterns, such as ["attic/**"].')
    for number, pattern in enumerate(value, 1):
        from trappoint.config.exclusion import MOST, why_unusable

        why = why_unusable(pattern) if number <= MOST else f"It has more than {MOST} patterns."
        if why:
            raise SettingsError(f"{name}: exclude: {why}")
    return tuple(value)


def _table(data: Mapping[str, Any], key: str, name: str) -> Mapping[str, Any]:
    value = data.get(key, {})
    if not isinstance(value, dict):
        raise SettingsError(f"{name}: {key} must be a table: write [{key}].")
    return value


def _only_known(data: Mapping[str, Any], known: tuple[str, ...], name: str) -> None:
    for key in data:
        if key not in known:
            near = nearest(key, known)
            hint = f"Is {near} meant?" if near else f"Known are: {', '.join(known)}."
            raise SettingsError(f"{name}: there is no setting {key}. {hint}")


def _level(rule: str, word: object, name: str) -> Level | None:
    from trappoint.rules.catalogue import all_rules

    found = next((known for known in all_rules() if known.id == rule), None)
    if found is None:
        near = nearest(rule, [known.id for known in all_rules()])
        hint = f" Is {near} meant?" if near else ""
        raise SettingsError(f"{name}: there is no rule {rule}.{hint}")
    if found.fixed:
        raise SettingsError(
            f"{name}: the level of {rule} can not be changed; a single finding can be accepted in "
            "the plan itself (`accept`)."
        )
    if word == "off":
        return None
    if word not in LEVELS:
        raise SettingsError(
            f"{name}: the level of {rule} must be one of {', '.join(LEVELS)}, off; not {word!r}."
        )
    return word


def find_settings(start: str) -> Settings:
    """Look for settings in a folder and those above it, up to the one that holds ``.git``.

    Raises ``SettingsError`` where there are some that can not be used.
    """
    folder = os.path.abspath(start)  # noqa: PTH100 # pathlib costs more than this whole search
    while True:
        for name in ("trappoint.toml", "pyproject.toml"):
            path = os.path.join(folder, name)  # noqa: PTH118
            if os.path.isfile(path):  # noqa: PTH113
                text = _read(path)
                if name == "trappoint.toml" or "[tool.trappoint" in text:
                    return read_settings(text, path)._replace(folder=folder)
        above = os.path.dirname(folder)  # noqa: PTH120
        if above == folder or os.path.exists(os.path.join(folder, ".git")):  # noqa: PTH110, PTH118
            return DEFAULTS
        folder = above


def read_settings_file(path: str) -> Settings:
    """Read the settings of one file, whatever it is called. Raises ``SettingsError``."""
    text = _read(path)
    if path.endswith("pyproject.toml") and "[tool.trappoint" not in text:
        raise SettingsError(f"{path}: there is no table [tool.trappoint] in it.")
    folder = os.path.dirname(os.path.abspath(path))  # noqa: PTH100, PTH120
    return read_settings(text, path)._replace(folder=folder)


def _read(path: str) -> str:
    try:
        with open(path, encoding="utf-8") as file:  # noqa: PTH123
            return file.read()
    except OSError as error:
        raise SettingsError(f"{path} cannot be read: {reason_of(error)}.") from None
    except UnicodeDecodeError as error:
        raise SettingsError(f"{path} cannot be read: {error}.") from None
