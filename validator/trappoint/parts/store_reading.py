"""Reading the text of a store: the store, or the findings on it."""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING, Any, NamedTuple

from trappoint.core.findings import Finding, pointer_to
from trappoint.parts.store import Store, build_store
from trappoint.rules.stores import CHANGES_NOTHING, OWN_RATE
from trappoint.schema.compiled import Acceptor, compile_acceptor
from trappoint.schema.published import store_schema
from trappoint.source.limits import MAX_FINDINGS
from trappoint.source.reading import Unreadable, read_document

if TYPE_CHECKING:
    from collections.abc import Iterator


class StoreReport(NamedTuple):
    """A store, or the findings on its text."""

    file: str
    store: Store | None
    """None if there are findings."""
    findings: tuple[Finding, ...]
    text: str | None


@cache
def _acceptor() -> Acceptor:
    return compile_acceptor(store_schema())


def read_store(content: str | bytes, name: str) -> StoreReport:
    """Read a store as strictly as a plan. It raises nothing; equal texts give equal reports."""
    document = read_document(content, name)
    if isinstance(document, Unreadable):
        return StoreReport(name, None, document.findings, document.text)
    data = document.data
    found = _form_findings(data) or list(_sense_findings(data))
    if not found:
        return StoreReport(name, build_store(data), (), document.text)
    from trappoint.source.positions import place_findings

    unique = list(dict.fromkeys(found))[:MAX_FINDINGS]
    placed = place_findings(document.text, unique)
    ordered = sorted(placed, key=lambda f: (f.line, f.column, f.rule, f.message))
    return StoreReport(name, None, tuple(ordered), document.text)


def _form_findings(data: dict[str, Any]) -> list[Finding]:
    accepts = _acceptor()
    if accepts(data):
        return []
    from trappoint.parts.store_words import STORE
    from trappoint.schema.refusals import refusal_findings

    return refusal_findings(data, accepts, STORE)


def _sense_findings(data: dict[str, Any]) -> Iterator[Finding]:
    """Yield the findings that the schema cannot express."""
    if data["currency"] in data.get("rates", {}):
        yield OWN_RATE.finding(
            pointer_to("rates", data["currency"]),
            f"The store has a rate for {data['currency']}, which is its own currency.",
            "Remove the rate, or correct the currency.",
            at_key=True,
        )
    for path, bill in _bills(data):
        for part in bill:
            if part not in data["parts"]:
                yield _no_such_part(data, path, part)
    for id_, recipe in data.get("recipes", {}).items():
        if recipe["uses"] == recipe["yields"]:
            yield CHANGES_NOTHING.finding(
                pointer_to("recipes", id_),
                f"Recipe {id_} yields exactly the parts that it uses.",
                "Correct yields, or remove the recipe.",
            )


def _no_such_part(data: dict[str, Any], path: tuple[str, ...], part: str) -> Finding:
    from trappoint.core.quoting import quoted
    from trappoint.core.spelling import nearest
    from trappoint.parts.store_words import STORE
    from trappoint.schema.vocabulary import capitalised

    where = capitalised(STORE.name_of(data, path))
    near = nearest(part, data["parts"])
    return Finding(
        "unknown-reference",
        "error",
        pointer_to(*path, part),
        f"{where} names the part {quoted(part)}, which is not in the store.",
        "Recipes and offers can name only parts of the store.",
        f"Write {near}, if you mean that." if near else f"Add {part} to parts.",
        at_key=True,
    )


def _bills(data: dict[str, Any]) -> Iterator[tuple[tuple[str, ...], dict[str, int]]]:
    for id_, recipe in data.get("recipes", {}).items():
        yield ("recipes", id_, "uses"), recipe["uses"]
        yield ("recipes", id_, "yields"), recipe["yields"]
    for id_, shop in data.get("shops", {}).items():
        for number, offer in shop["offers"].items():
            yield ("shops", id_, "offers", number, "contains"), offer["contains"]
