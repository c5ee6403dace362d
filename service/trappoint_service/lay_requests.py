"""Requests for building a plan: which keys the body has, and what they may hold."""

from __future__ import annotations

import json
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, NoReturn

from trappoint_service.jobs import UnusableWish

if TYPE_CHECKING:
    from collections.abc import Mapping

PARTS = ("report", "diagram", "work", "outline", "offers", "fixes")
"""All parts of an answer, in its order."""

USUAL_PARTS = ("report", "diagram", "offers")
"""The parts of an answer to a request that names none."""

MAX_STEPS = 500
"""Most steps of one request."""

MAX_PLACES = 100
"""Most places of one request."""

MAX_BOARDS = 100
"""Most files of boards in one request."""


@dataclass(frozen=True, slots=True)
class LayRequest:
    """A request: the text of the plan, the steps, and the parts of the answer."""

    plan: str | None
    """None to begin with nothing."""
    steps: tuple[Mapping[str, object], ...]
    at: tuple[str, ...]
    """The places for which offers are made."""
    before: object
    """The memory of the diagram before; None if there is none."""
    want: frozenset[str]
    boards: Mapping[str, str]
    """The texts of boards, by file."""


def read_lay_request(body: bytes) -> LayRequest:
    """Return a request from its body. Raises UnusableWish with the mistake."""
    try:
        given = json.loads(body, object_pairs_hook=_each_key_once, parse_constant=_no_number)
    except (ValueError, RecursionError):
        raise UnusableWish("The body is not valid JSON (RFC 8259) in UTF-8.") from None
    if not isinstance(given, dict):
        raise UnusableWish("The body must be a JSON object.")
    unknown = [key for key in given if key not in _KEYS]
    if unknown or not {"plan", "steps"} <= set(given):
        raise UnusableWish(
            "The body must have the keys `plan` and `steps`. It may also have `at`, `before`, "
            "`want` and `boards`, and no other key."
        )
    for key, (is_right, what) in _KEYS.items():
        if key in given and not is_right(given[key]):
            raise UnusableWish(f"`{key}` must be {what}.")
    return LayRequest(
        given["plan"],
        tuple(given["steps"]),
        tuple(dict.fromkeys(given.get("at", ()))),
        given.get("before"),
        frozenset(given.get("want", USUAL_PARTS)),
        given.get("boards", {}),
    )


def _each_key_once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found = dict(pairs)
    if len(found) != len(pairs):
        raise ValueError
    return found


def _no_number(word: str) -> NoReturn:
    """Refuse NaN and Infinity, which are not JSON."""
    raise ValueError(word)


def _is_plan(value: object) -> bool:
    return value is None or isinstance(value, str)


def _are_steps(value: object) -> bool:
    return (
        isinstance(value, list)
        and len(value) <= MAX_STEPS
        and all(isinstance(step, dict) and isinstance(step.get("do"), str) for step in value)
    )


def _are_places(value: object) -> bool:
    return (
        isinstance(value, list)
        and len(value) <= MAX_PLACES
        and all(isinstance(place, str) for place in value)
    )


def _are_parts(value: object) -> bool:
    return isinstance(value, list) and all(
        isinstance(part, str) and part in PARTS for part in value
    )


def _are_boards(value: object) -> bool:
    return (
        isinstance(value, dict)
        and len(value) <= MAX_BOARDS
        and all(isinstance(text, str) for text in value.values())
    )


def _is_anything(value: object) -> bool:
    return True


_KEYS: Mapping[str, tuple[Any, str]] = {
    "plan": (_is_plan, "the text of a plan, or null to begin with nothing"),
    "steps": (
        _are_steps,
        f"a list of at most {MAX_STEPS} objects, each with the key `do`, a text",
    ),
    "at": (_are_places, f"a list of at most {MAX_PLACES} places, each a text"),
    "before": (_is_anything, "the `memory` of a diagram, or null"),
    "want": (_are_parts, f"a list of these: {', '.join(f'`{part}`' for part in PARTS)}"),
    "boards": (
        _are_boards,
        f"an object with the texts of at most {MAX_BOARDS} plans, each under its file",
    ),
}
"""For each key: the test of its value, and the words for what the value must be."""
