"""The list of shapes as plain data, for pages that offer them."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from trappoint.shapes.options import KEYS_OF_LENGTHS, LABELS, Choice
from trappoint.shapes.shapes import SHAPES

if TYPE_CHECKING:
    from trappoint.shapes.options import Range


def shapes_as_data() -> list[dict[str, Any]]:
    """Return all shapes, with their options under the keys of the step ``lay-shape``.

    ``ends``: the line ends there. ``closed``: a circuit, with which a plan can only begin. An
    option has ``usual``, its default, and either ``choices`` or the numbers ``least`` and ``most``;
    ``unit`` is mm or empty. All can be written as JSON.
    """
    return [
        {
            "shape": shape.name,
            "called": shape.called,
            "told": shape.told,
            "ends": shape.ends,
            "closed": shape.closed,
            "options": [_option(word, given) for word, given in shape.takes.items()],
        }
        for shape in SHAPES.values()
    ]


def _option(word: str, given: Range | Choice) -> dict[str, Any]:
    label, told = LABELS[word]
    key = KEYS_OF_LENGTHS.get(word, word)
    about = {"key": key, "label": label, "told": told, "usual": given.usual}
    if isinstance(given, Choice):
        return {**about, "choices": list(given.words)}
    unit = "mm" if word in KEYS_OF_LENGTHS else ""
    return {**about, "least": given.least, "most": given.most, "unit": unit}
