"""The reader of a club's settings.

Settings stand in ``trappoint.toml``, or in ``pyproject.toml`` under ``[tool.trappoint]``, in the
plan's folder or one above it. Every key is known here; an unknown one is an error.
"""

from __future__ import annotations

import os
import re
from typing import TYPE_CHECKING, Any

from trappoint.core.errors import CannotUse, reason_of
from trappoint.core.findings import LEVELS
from trappoint.core.spelling import nearest
from trappoint.model.settings import CHOICES, DEFAULTS, Settings
from trappoint.source.files import SETTINGS_NAMES
from trappoint.source.opening import OutOfReach, read_within, repository_of

if TYPE_CHECKING:
    from collections.abc import Mapping

    from trappoint.core.findings import Level


PYPROJECT = "pyproject.toml"
"""The file with the settings of all programs of a Python project."""

MAX_BYTES = 1024 * 1024
"""The size limit of a file of settings, in bytes: a longer one takes seconds to read."""

_PART = r"""(?:[\w-]+|"[^"\n]{0,100}"|'[^'\n]{0,100}')"""
_DEEP = rf"(?<![\w.-]){_PART}(?:[ \t]*\.[ \t]*{_PART}){{64}}"
"""A key of more than 64 parts: the standard library takes minutes for one of thousands."""


class SettingsError(CannotUse):
    """Settings that cannot be used. The message has the place and the cure."""

    def __init__(self, name: str, said: str) -> None:
        """``name`` is the name of the file; ``said`` is a sentence."""
        from trappoint.core.quoting import visible

        super().__init__(visible(f"{name}: {said}"))


def settings_in(content: bytes, name: str) -> Settings | None:
    """Read settings from the bytes of a file; None for a ``pyproject.toml`` that has none.

    Raises ``SettingsError``.
    """
    if len(content) > MAX_BYTES:
        raise SettingsError(name, f"this is longer than {MAX_BYTES:,} bytes.")
    try:
        text = content.decode("utf-8")
    except UnicodeDecodeError:
        raise SettingsError(name, "this is not UTF-8.") from None
    if not name.endswith(PYPROJECT):
        return read_settings(text, name)
    # The key may have spaces or escapes in it.
    if "trappoint" not in text and "\\u" not in text.lower():
        return None
    tools = _table(_read_toml(text, name), "tool", name)
    return _settings_of(_table(tools, "trappoint", name), name) if "trappoint" in tools else None


def read_settings(text: str, name: str) -> Settings:
    """Read settings from the text of a TOML file. Raises ``SettingsError``."""
    data = _read_toml(text, name)
    if name.endswith(PYPROJECT):
        data = _table(_table(data, "tool", name), "trappoint", name)
    return _settings_of(data, name)


def _settings_of(data: Mapping[str, Any], name: str) -> Settings:
    _only_known(data, ("exclude", "levels", "choices"), name)
    levels = _table(data, "levels", name)
    choices = _table(data, "choices", name)
    if "exclude" in levels or "exclude" in choices:
        raise SettingsError(name, "exclude belongs above the tables [levels] and [choices].")
    _only_known(choices, tuple(CHOICES), name)
    for key, value in choices.items():
        if not isinstance(value, bool):
            raise SettingsError(
                name, f"choices.{key} must be true or false, not {_shortened(value)}."
            )
    return Settings(
        {rule: _level(rule, word, name) for rule, word in levels.items()},
        overlap=bool(choices.get("overlap", False)),
        exclude=_patterns(data.get("exclude", []), name),
    )


def _patterns(value: object, name: str) -> tuple[str, ...]:
    if not isinstance(value, list) or not all(isinstance(each, str) for each in value):
        raise SettingsError(name, 'exclude must be a list of patterns, such as ["attic/**"].')
    for number, pattern in enumerate(value, 1):
        from trappoint.config.exclusion import MOST, why_unusable

        why = why_unusable(pattern) if number <= MOST else f"It has more than {MOST} patterns."
        if why:
            raise SettingsError(name, f"exclude: {why}")
    return tuple(value)


def _read_toml(text: str, name: str) -> Mapping[str, Any]:
    import tomllib

    try:
        if re.search(_DEEP, text):
            raise RecursionError
        return tomllib.loads(text)
    except RecursionError:
        raise SettingsError(name, "this is nested too deeply.") from None
    except ValueError as error:  # also a number of thousands of digits
        raise SettingsError(name, f"this is not TOML: {error}") from None


def _table(data: Mapping[str, Any], key: str, name: str) -> Mapping[str, Any]:
    value = data.get(key, {})
    if not isinstance(value, dict):
        raise SettingsError(name, f"{key} must be a table: write [{key}].")
    return value


def _shortened(value: object) -> str:
    from reprlib import repr as shortened

    return shortened(value)


def _only_known(data: Mapping[str, Any], known: tuple[str, ...], name: str) -> None:
    for key in data:
        if key not in known:
            near = nearest(key, known)
            hint = f"Is {near} meant?" if near else f"Known are: {', '.join(known)}."
            raise SettingsError(name, f"there is no setting {_called(key)}. {hint}")


def _level(rule: str, word: object, name: str) -> Level | None:
    from trappoint.rules.catalogue import all_rules

    found = next((known for known in all_rules() if known.id == rule), None)
    if found is None:
        near = nearest(rule, [known.id for known in all_rules()])
        hint = f" Is {near} meant?" if near else ""
        raise SettingsError(name, f"there is no rule {_called(rule)}.{hint}")
    if found.fixed:
        raise SettingsError(
            name,
            f"the level of {rule} cannot be changed; a single finding can be accepted in the plan "
            "itself (`accept`).",
        )
    if word == "off":
        return None
    if word not in LEVELS:
        raise SettingsError(
            name,
            f"the level of {rule} must be one of {', '.join(LEVELS)}, off; not {_shortened(word)}.",
        )
    return word


def _called(key: str) -> str:
    """Return a key for a message: a plain word unchanged, any other quoted and shortened."""
    from trappoint.core.quoting import quoted

    return key if re.fullmatch(r"[\w-]{1,60}", key) else quoted(key)


def find_settings(start: str) -> Settings:
    """Search for settings in a folder and those above it, up to the one with ``.git``.

    Raises ``SettingsError`` if they cannot be used.
    """
    folder = os.path.abspath(start)  # noqa: PTH100 # pathlib costs more than this whole search
    while True:
        for name in SETTINGS_NAMES:
            path = os.path.join(folder, name)  # noqa: PTH118
            if os.path.lexists(path) and not os.path.isdir(path):  # noqa: PTH112
                found = settings_at(path)
                if found is not None:
                    return found
        above = os.path.dirname(folder)  # noqa: PTH120
        if above == folder or os.path.exists(os.path.join(folder, ".git")):  # noqa: PTH110, PTH118
            return DEFAULTS
        folder = above


def settings_at(path: str) -> Settings | None:
    """Read the settings of a file; None for a ``pyproject.toml`` that has none.

    It must be a plain file in its repository; in no repository, in its folder. Raises
    ``SettingsError``.
    """
    folder = os.path.dirname(os.path.abspath(path))  # noqa: PTH100, PTH120
    found = settings_in(read_settings_file(path, repository_of(folder) or folder), path)
    return None if found is None else found._replace(folder=folder)


def settings_named(path: str) -> Settings:
    """Read the settings in a file of any name. Raises ``SettingsError``."""
    found = settings_in(read_settings_file(path), path)
    if found is None:
        raise SettingsError(path, "there is no table [tool.trappoint] in it.")
    return found._replace(folder=os.path.dirname(os.path.abspath(path)))  # noqa: PTH100, PTH120


def read_settings_file(path: str, top: str | None = None) -> bytes:
    """Return the bytes of a file, up to one more than the limit. Raises ``SettingsError``.

    It must be a plain file in the folder ``top``, if that is given.
    """
    try:
        if top is not None:
            return read_within(top, path, MAX_BYTES + 1)
        with open(path, "rb") as file:  # noqa: PTH123
            return file.read(MAX_BYTES + 1)
    except OutOfReach:
        raise SettingsError(path, "this is a link that leads out of its repository.") from None
    except OSError as error:
        raise SettingsError(path, f"this cannot be read: {reason_of(error)}.") from None
