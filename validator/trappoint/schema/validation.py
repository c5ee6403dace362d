"""Check a document against the schema of layout plans.

A correct document needs only ``compiled``. The modules that explain a refusal are imported only
for a document that breaks the schema, to save time.
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
    """Return the function that accepts the values that follow the schema of layout plans."""
    return compile_acceptor(layout_schema())


def schema_findings(data: object) -> list[Finding]:
    """Return a finding for each place where a value breaks the schema, in document order.

    Empty if the value follows the schema. The findings have pointers, but no lines and columns
    yet.
    """
    accepts = layout_acceptor()
    if accepts(data):
        return []
    from trappoint.schema.layout_words import LAYOUT
    from trappoint.schema.refusals import refusal_findings

    return refusal_findings(data, accepts, LAYOUT)
