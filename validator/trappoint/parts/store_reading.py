"""Reading the text of a store: the store, and the findings on it."""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING, Any, NamedTuple

from trappoint.core.findings import Finding, pointer_to, worst
from trappoint.core.quoting import listed
from trappoint.parts.store import Store, build_store
from trappoint.rules.stores import CHANGES_NOTHING, OWN_RATE, TWO_USES
from trappoint.schema.compiled import Acceptor, compile_acceptor
from trappoint.schema.published import store_schema
from trappoint.source.limits import MAX_FINDINGS
from trappoint.source.reading import Unreadable, read_document

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator


class StoreReport(NamedTuple):
    """A store, and the findings on its text."""

    file: str
    store: Store | None
    """None if there is an error."""
    findings: tuple[Finding, ...]
    text: str | None


@cache
def _acceptor() -> Acceptor:
    return compile_acceptor(store_schema())


def read_store(content: str | bytes, name: str) -> StoreReport:
    """Read a store as strictly as a plan. It raises nothing; equal texts give equal reports."""
    document = read_document(content, name)
    if isinstance(document, Unreadable):
        found = _ordered([*document.findings, *_beyond_slips(document)])
        return StoreReport(name, None, found, document.text)
    data = document.data
    found = _placed(document.text, _form_findings(data) or list(_sense_findings(data)))
    store = None if worst(found) == "error" else build_store(data)
    return StoreReport(name, store, found, document.text)


def _beyond_slips(document: Unreadable) -> list[Finding]:
    """Return what else is wrong with a text whose JSON has nothing but slips such as comments."""
    from trappoint.source.mending import mend_unreadable

    mended = mend_unreadable(document)
    return [] if mended is None else mended.as_written(read_store(mended.text, "").findings)


def _placed(text: str, found: list[Finding]) -> tuple[Finding, ...]:
    if not found:
        return ()
    from trappoint.source.positions import place_findings

    return _ordered(place_findings(text, list(dict.fromkeys(found))[:MAX_FINDINGS]))


def _ordered(found: Iterable[Finding]) -> tuple[Finding, ...]:
    return tuple(sorted(found, key=lambda f: (f.line, f.column, f.rule, f.message)))


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
    for path, day in _dates(data):
        if not _in_the_calendar(day):
            yield _no_such_day(data, path, day)
    for id_, part in data["parts"].items():
        uses = [use for use in ("as_signal", "as_mount", "as_arm") if use in part]
        if len(uses) > 1:
            yield TWO_USES.finding(
                pointer_to("parts", id_, uses[-1]),
                f"Part {id_} has {listed(uses, 'and')}, but one piece has one use only.",
                "Keep as_signal alone for a ready-made signal; else make a part for each use.",
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


def _dates(data: dict[str, Any]) -> Iterator[tuple[tuple[str, ...], str]]:
    if "rated_on" in data:
        yield ("rated_on",), data["rated_on"]
    for id_, shop in data.get("shops", {}).items():
        if "priced_on" in shop:
            yield ("shops", id_, "priced_on"), shop["priced_on"]
        for number, offer in shop["offers"].items():
            if "priced_on" in offer:
                yield ("shops", id_, "offers", number, "priced_on"), offer["priced_on"]


def _in_the_calendar(day: str) -> bool:
    from datetime import date

    try:
        date.fromisoformat(day)
    except ValueError:
        return False
    return True


def _no_such_day(data: dict[str, Any], path: tuple[str, ...], day: str) -> Finding:
    from trappoint.core.quoting import quoted
    from trappoint.parts.store_words import STORE
    from trappoint.schema.vocabulary import capitalised

    return Finding(
        "bad-form",
        "error",
        pointer_to(*path),
        f"{capitalised(STORE.name_of(data, path))} is {quoted(day)}, which is not in the calendar.",
        "A date is a day of the calendar: year, month and day.",
        "Correct the date.",
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
