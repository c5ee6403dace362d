"""What a club sets for itself: the levels of rules, and choices of practice.

They are read from a file by ``settings_file``.
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
"""The choices of practice, each with what it means; all are false unless set."""


class Settings(NamedTuple):
    """The settings of a club."""

    levels: Mapping[str, Level | None] = {}  # nobody writes into settings
    """From a rule to its level; None switches it off. Rules not named keep their own."""
    overlap: bool = False
    exclude: tuple[str, ...] = ()
    """Patterns of the plans that are left out, seen from the folder of the settings."""
    folder: str = ""
    """The folder of the settings, where they lie on a disk."""

    def level_of(self, rule: str, own: Level, *, optional: bool) -> Level | None:
        """Return the level at which a rule speaks here, None if it is not asked."""
        if rule in self.levels:
            return self.levels[rule]
        return None if optional else own


DEFAULTS = Settings()
"""What holds where a club has set nothing."""
