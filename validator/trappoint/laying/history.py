"""Undo and redo: the texts of a plan before and after each step."""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.laying.steps import Laid, lay

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence


class History:
    """The texts of a plan, from the first to the newest."""

    def __init__(self, content: str | None = None) -> None:
        self._texts = [content]
        self._at = 0

    @property
    def text(self) -> str | None:
        """The text as it is now; None if the plan began with nothing."""
        return self._texts[self._at]

    @property
    def can_undo(self) -> bool:
        """True if there is a step to undo."""
        return self._at > 0

    @property
    def can_redo(self) -> bool:
        """True if there is an undone step to do again."""
        return self._at + 1 < len(self._texts)

    def do(self, steps: Sequence[Mapping[str, object]]) -> Laid:
        """Do steps, which count as one. Undone steps are forgotten. Raises ``Refused``."""
        laid = lay(self.text, steps)
        self._texts[self._at + 1 :] = [laid.text]
        self._at += 1
        return laid

    def undo(self) -> str | None:
        """Go back before the last step and return the text; the first text stays."""
        self._at = max(self._at - 1, 0)
        return self.text

    def redo(self) -> str | None:
        """Do the step again that was undone last, and return the text."""
        self._at = min(self._at + 1, len(self._texts) - 1)
        return self.text
