"""The settings of a club: levels of rules and choices of practice.

``config.settings_file`` reads them from a file.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Mapping

    from trappoint.core.findings import Level

CHOICES: Mapping[str, str] = {
    "overlap": "true: a route also keeps the way beyond its end signal, up to the next points, "
    "free of trains that run against it",
}
"""The choices of practice, each with its meaning; the default of all is false."""


class Settings(NamedTuple):
    """The settings of a club."""

    levels: Mapping[str, Level | None] = {}  # never modified
    """The level of each rule set here; None switches it off. Other rules keep their default."""
    overlap: bool = False
    exclude: tuple[str, ...] = ()
    """Patterns of plans to leave out, relative to the folder of the settings."""
    folder: str = ""
    """The folder of the settings file; empty if there is no file."""

    def level_of(self, rule: str, own: Level, *, optional: bool) -> Level | None:
        """Return the level of a rule under these settings; None if the rule is off."""
        if rule in self.levels:
            return self.levels[rule]
        return None if optional else own


DEFAULTS = Settings()
"""The settings of a club that has set nothing."""
