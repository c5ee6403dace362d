"""The schema of layout plans: does a document follow it, and if not, what is wrong with it.

A document in order is only ever seen by ``compiled``. What explains a refusal is imported where
there is one.
"""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING

from trappoint.schema.compiled import Acceptor, compile_acceptor
from trappoint.schema.published import layout_schema

if TYPE_CHECKING:
    from trappoint.core.findings import Finding


@cache
def layout_acceptor() -> Acceptor:
    """Return the function that tells whether a value is a layout plan by the schema."""
    return compile_acceptor(layout_schema())


def schema_findings(data: object) -> list[Finding]:
    """Return where a value, as it was read, does not follow the schema, in document order.

    Empty if it does. The findings have pointers, not yet lines and columns.
    """
    accepts = layout_acceptor()
    if accepts(data):
        return []
    from trappoint.schema.layout_words import LAYOUT
    from trappoint.schema.refusals import refusal_findings

    return refusal_findings(data, accepts, LAYOUT)
