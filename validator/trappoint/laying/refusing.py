"""The one error of this room: a step that cannot be done."""

from __future__ import annotations


class Refused(ValueError):  # noqa: N818 - named after what happened
    """Raised for a step that cannot be done, with the reason and what to do instead."""

    def __init__(self, message: str, fix: str, step: int = 0) -> None:
        super().__init__(message)
        self.message = message
        """The mistake, in a sentence."""
        self.fix = fix
        """What to do, as one imperative sentence."""
        self.step = step
        """The index of the step, from 0."""
