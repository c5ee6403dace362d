"""Every id and reference that the schema knows has its board before it in the whole."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from boards.wholes import as_one, at_hand
from oracle.cases import a_plan
from schema.test_layout_schema import EVERYTHING
from trappoint.schema.published import layout_schema

BOARD = "shelf"
OWN_LEGS = ("/turntables/*/roads/*", "/points/*/curves/*")
NOT_PREFIXED = ("/boards/*", "/joins/*", "/accept/*")
"""Legs are those of their own turntable or points; boards, joins and accepted
findings have own rules."""


def whole() -> dict[str, Any]:
    """Return an assembled plan whose only board uses every key of the format once."""
    board = {key: value for key, value in EVERYTHING.items() if key not in ("boards", "joins")}
    plan = {**a_plan({}, {}), "boards": {BOARD: {"plan": "shelf.layout.json"}}}
    return as_one(plan, at_hand({"shelf.layout.json": board}))


def names(schema: dict[str, Any], value: Any, place: str = "") -> Iterator[tuple[str, str]]:
    """Yield the place and the name of every id, reference and track end in a value.

    Keys of maps are `*` in places.
    """
    definitions = layout_schema()["$defs"]
    ref = schema.get("$ref", "").rpartition("/")[2]
    own = {**definitions[ref], **schema} if ref else schema
    if isinstance(value, str):
        if ref in ("end", "whereabouts") and value != "buffer":
            kind, _, name = value.rpartition(":")
            yield f"{place} ({kind})", name
        elif ref in ("id", "reference", "one_or_more") or "){0,7}$" in own.get("pattern", ""):
            yield place, value
    elif isinstance(value, list):
        for each in value:
            yield from names(own["items"], each, f"{place}/*")
    elif isinstance(value, dict):
        for key, entry in value.items():
            known = own.get("properties", {}).get(key)
            if known is not None:
                yield from names(known, entry, f"{place}/{key}")
            elif "propertyNames" in own:
                yield f"{place}/*", key
                yield from names(own["additionalProperties"], entry, f"{place}/*")


def test_every_name_has_its_board_before_it() -> None:
    found = list(names(layout_schema(), whole()))
    assert len({place for place, _ in found}) > 30
    for place, name in found:
        if not place.startswith(tuple(each.removesuffix("*") for each in NOT_PREFIXED)):
            assert name.startswith(f"{BOARD}/") is (place not in OWN_LEGS), (place, name)


def test_nothing_else_is_changed() -> None:
    """Test that the whole without the prefixes is the board as written."""

    def bare(value: Any) -> Any:
        if isinstance(value, str):
            return value.replace(f"{BOARD}/", "")
        if isinstance(value, list):
            return [bare(each) for each in value]
        if isinstance(value, dict):
            return {bare(key): bare(entry) for key, entry in value.items()}
        return value

    kept = ("boards", "joins", "accept", "title", "note", "format", "$schema")
    written = {key: value for key, value in EVERYTHING.items() if key not in kept}
    found = {key: value for key, value in bare(whole()).items() if key not in kept}
    assert found == written
