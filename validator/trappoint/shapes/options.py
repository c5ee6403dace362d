"""The options of a shape and their ranges."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple, TypeAlias

from trappoint.core.quoting import listed, visible

if TYPE_CHECKING:
    from collections.abc import Mapping

    from trappoint.shapes.ground import Edge, Side

Answer: TypeAlias = int | str
"""The value of an option: a number or a word."""


class Wish(NamedTuple):
    """A request for a shape; 0 or a usual word for an option that the shape does not have."""

    lines: int = 0
    """1: a single line, 2: a double one."""
    roads: int = 0
    platforms: int = 0
    faces: int = 0
    """Platform faces: an island has two. Counts instead of ``platforms`` if it is not 0."""
    bays: int = 0
    sidings: int = 0
    hidden: int = 0
    """Roads out of sight on the far side of a circuit."""
    release: int = 0
    """Crossovers by which an engine leaves its train at the buffers."""
    length: int = 0
    radius: int = 0
    side: Edge = "north"
    """Where it lies beside the line."""
    buffers: Side = "east"
    """Where the buffers of its sidings or bays are, seen from their points."""
    trap: str = "no"
    """Whether there are trap points: ``yes`` or ``no``."""
    facing: str = "no"
    """Whether trains on their usual line meet the points of a crossover from the toe."""


WORDS = Wish._fields


class WrongWish(ValueError):  # noqa: N818 - named after the mistake
    """A request for a shape that cannot be laid; the message gives the reason in a sentence."""


LABELS = {
    "lines": ("Lines", "number of lines: 1 single, 2 double (default: that of the shape before)"),
    "roads": ("Roads", "number of roads side by side, both directions together"),
    "platforms": ("Platforms", "number of platforms, an island counted once"),
    "faces": ("Platform faces", "number of platform faces, in place of platforms: an island has 2"),
    "bays": ("Bays", "number of bays, which end at buffers"),
    "sidings": ("Sidings", "number of sidings in the goods yard of a station"),
    "hidden": ("Hidden roads", "number of hidden roads of a round-and-round"),
    "release": ("Release crossovers", "number of crossovers for engines at the buffers"),
    "length": ("Length", "length of plain line, in mm"),
    "radius": ("Radius", "radius of a corner, in mm"),
    "side": ("Side", "side of the line, with the west on the left: north or south"),
    "buffers": ("Buffers", "direction from the points to the buffers: east or west"),
    "trap": ("Trap points", "trap points behind the points on the line: yes or no"),
    "facing": ("Facing points", "crossover points that face trains on their usual line: yes or no"),
}
"""The label of each option, and its help text: a noun phrase with its unit or words."""

KEYS_OF_LENGTHS = {"length": "length_mm", "radius": "radius_mm"}
"""The options that are lengths in mm, and their keys in a step, which are those of the format."""


class Range(NamedTuple):
    """The least, default and greatest number of an option."""

    least: int
    usual: int
    most: int

    def told(self) -> str:
        """Return the range in words."""
        if self.least == self.most:
            return f"always {self.most}"
        return f"{self.least:,} to {self.most:,} (default: {self.usual})"

    def read(self, shape: str, word: str, text: str) -> int:
        """Return the number in a text. Raises ``WrongWish``."""
        if not text.isascii() or not text.isdigit() or len(text) > 6:
            said = f"{word}={visible(text)}" if text else word
            raise WrongWish(f"{said} says no number: write {word}={self.usual}.")
        self.hold(shape, word, int(text))
        return int(text)

    def hold(self, shape: str, word: str, value: Answer) -> None:
        """Raise ``WrongWish`` if the number is out of range."""
        if not isinstance(value, int) or not self.least <= value <= self.most:
            may = f"{self.least:,} to {self.most:,}" if self.least < self.most else f"{self.most}"
            raise WrongWish(f"A {shape} may have {word}={may}, not {value}.")


class Choice(NamedTuple):
    """The words of an option, the default first."""

    words: tuple[str, ...]

    @property
    def usual(self) -> str:
        """The default."""
        return self.words[0]

    def told(self) -> str:
        """Return the words."""
        return f"{listed(list(self.words), 'or')} (default: {self.usual})"

    def read(self, shape: str, word: str, text: str) -> str:
        """Return the word. Raises ``WrongWish``."""
        self.hold(shape, word, text)
        return text

    def hold(self, shape: str, word: str, value: Answer) -> None:
        """Raise ``WrongWish`` if it is none of the words."""
        if value not in self.words:
            may = listed([f"{word}={each}" for each in self.words], "or")
            raise WrongWish(f"A {shape} may have {may}, not {visible(str(value)) or 'nothing'}.")


Takes: TypeAlias = "Mapping[str, Range | Choice]"
"""What a shape takes: the range of each option, by name."""
