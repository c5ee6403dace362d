"""Write plans with all their default values (explicit), or without any (short).

Both mean the same as the original, and keep its notes, its digits and its order.
"""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any, Literal

from trappoint.source.reading import Unreadable, read_document
from trappoint.tidying.defaults import plain_defaults
from trappoint.tidying.tidy import tidy_sheet
from trappoint.tidying.tree import Number, read_sheet

if TYPE_CHECKING:
    from collections.abc import Iterator

    from trappoint.source.reading import Document
    from trappoint.tidying.defaults import Data, Default, Path

Length = Literal["explicit", "short"]


def write_at_length(content: str | bytes, length: Length, name: str = "<text>") -> str | Unreadable:
    """Return the tidied text of a plan with all default values written out, or with none.

    Returns Unreadable, with its findings, if the text is not a readable plan. In a plan that
    has boards or cannot be judged, values that depend on how trains run stay as they are. Raises
    nothing.
    """
    document = read_document(content, name)
    if isinstance(document, Unreadable):
        return document
    refused = _refused(document)
    if refused is not None:
        return refused
    sheet = read_sheet(content, name)
    if isinstance(sheet, Unreadable):
        return sheet
    for default in [*plain_defaults(sheet.tree), *_spoken(document)]:
        thing = _at(sheet.tree, default.path)
        if length == "short" and default.said:
            del thing[default.key]
        elif length == "explicit" and default.key not in thing:
            thing[default.key] = _as_tree(default.value)
    return tidy_sheet(sheet)


def _refused(document: Document) -> Unreadable | None:
    """Return the schema findings with lines and columns; None if the document fits the schema."""
    from trappoint.schema.validation import schema_findings
    from trappoint.source.positions import place_findings

    found = schema_findings(document.data)
    if not found:
        return None
    return Unreadable(document.name, document.text, place_findings(document.text, found))


def _spoken(document: Document) -> Iterator[Default]:
    """Yield the defaults that depend on how trains run; none if the plan has boards or no facts."""
    if document.data.get("boards") or document.data.get("joins"):
        return
    from trappoint.checking.check import check_content
    from trappoint.tidying.derived_defaults import spoken_defaults

    report = check_content(document.text, document.name)
    if report.facts is not None:
        yield from spoken_defaults(document.data, report.facts)


def _at(tree: Data, path: Path) -> Data:
    thing: Any = tree
    for step in path:
        thing = thing[step]
    found: Data = thing
    return found


def _as_tree(value: Any) -> Any:
    return value if isinstance(value, Number) else json.loads(json.dumps(value), parse_int=Number)
