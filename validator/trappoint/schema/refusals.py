"""Explain where a document breaks its schema: findings in plain words, in document order.

Only this module imports ``jsonschema``; ``messages`` turns each of its errors into findings.
"""

from __future__ import annotations

from itertools import islice
from typing import TYPE_CHECKING, Any

from trappoint.core.findings import Finding, pointer_to
from trappoint.schema.compiled import Acceptor, all_differ, ecma_pattern
from trappoint.schema.messages import Refusal, explain, unknown_format
from trappoint.source.json_errors import too_deep
from trappoint.source.limits import MAX_DEPTH, MAX_FINDINGS
from trappoint.source.positions import parts_of
from trappoint.source.reading import not_an_object

if TYPE_CHECKING:
    from collections.abc import Iterator

    from jsonschema import ValidationError

    from trappoint.core.meaning import Meanings
    from trappoint.schema.vocabulary import Vocabulary


def refusal_findings(data: object, accepts: Acceptor, words: Vocabulary) -> list[Finding]:
    """Return a finding for each place where a value breaks a schema, in document order.

    ``accepts`` is the compiled schema. The findings have pointers, but no lines and columns yet.
    """
    if not isinstance(data, dict):
        return [not_an_object(data)]
    deep = _too_deep(data)
    if deep:
        return [deep]
    given = data.get("format", words.format)
    if given != words.format and isinstance(given, str):
        # The schema does not apply to another format.
        return [unknown_format(given, words)]
    return _in_order(data, _explained(data, accepts, words))


def _explained(data: dict[str, Any], accepts: Acceptor, words: Vocabulary) -> Iterator[Finding]:
    meanings: dict[tuple[str, ...], Meanings] = {}
    for error in _errors(words.schema, _suspects(data, accepts, words)):
        schema: Any = error.schema
        refusal = Refusal(
            words,
            data,
            tuple(error.absolute_path),
            error.instance,
            str(error.validator),
            error.validator_value,
            schema,
            meanings,
            is_name="propertyNames" in error.absolute_schema_path,
        )
        yield from explain(refusal)


def _suspects(data: dict[str, Any], accepts: Acceptor, words: Vocabulary) -> dict[str, Any]:
    """Return the document without the map entries that follow the schema.

    No keyword of the schema compares two entries of a map, so each entry can be tested alone. The
    slow full validator then has little to do, even for a large document.
    """
    left = MAX_FINDINGS
    suspects: dict[str, Any] = {}
    for key, value in data.items():
        if not isinstance(value, dict):
            suspects[key] = value
            continue
        suspects[key] = {}
        for id_, entry in value.items():
            if left and not accepts({**words.least, key: {id_: entry}}):
                suspects[key][id_] = entry
                left -= 1
    return suspects


def _errors(schema: dict[str, Any], data: dict[str, Any]) -> Iterator[ValidationError]:
    from jsonschema import Draft202012Validator
    from jsonschema.exceptions import ValidationError
    from jsonschema.validators import extend

    def pattern(_: Any, argument: str, value: object, __: Any) -> Iterator[ValidationError]:
        if isinstance(value, str) and not ecma_pattern(argument).search(value):
            yield ValidationError("")

    def unique_items(_: Any, __: bool, value: object, ___: Any) -> Iterator[ValidationError]:
        # The library compares every two entries if their types differ, which is slow.
        if isinstance(value, list) and not all_differ(value):
            yield ValidationError("")

    keywords = {"pattern": pattern, "uniqueItems": unique_items}
    validator: Any = extend(Draft202012Validator, keywords)  # type: ignore[no-untyped-call]
    return iter(validator(schema).iter_errors(data))


def _in_order(data: dict[str, Any], findings: Iterator[Finding]) -> list[Finding]:
    """Return at most ``MAX_FINDINGS`` findings in document order, without duplicates."""
    ranks: dict[int, dict[str, int]] = {}

    def place(finding: Finding) -> list[int]:
        steps = []
        value: Any = data
        for part in parts_of(finding.pointer):
            if isinstance(value, dict):
                keys = ranks.setdefault(id(value), {})
                if not keys:
                    keys.update((key, rank) for rank, key in enumerate(value))
                steps.append(keys[part])
                value = value[part]
            else:
                steps.append(int(part))
                value = value[int(part)]
        return steps

    unique = dict.fromkeys(islice(findings, 4 * MAX_FINDINGS))
    ordered = sorted(unique, key=lambda finding: (place(finding), finding.rule, finding.message))
    return ordered[:MAX_FINDINGS]


def _too_deep(data: dict[str, Any]) -> Finding | None:
    """Return the finding for the first place nested too deep; None if there is none."""
    path: list[str | int] = []
    todo = [_inner(data)]
    while todo:
        step = next(todo[-1], None)
        if step is None:
            todo.pop()
            del path[-1:]
            continue
        path.append(step[0])
        if len(path) == MAX_DEPTH:
            mistake = too_deep(0, MAX_DEPTH)
            return Finding(
                mistake.rule, "error", pointer_to(*path), mistake.message, mistake.why, mistake.fix
            )
        todo.append(_inner(step[1]))
    return None


def _inner(value: Any) -> Iterator[tuple[str | int, Any]]:
    """Return the objects and lists directly inside a value that are not empty, with their keys."""
    members = value.items() if isinstance(value, dict) else enumerate(value)
    return (member for member in members if member[1] and isinstance(member[1], dict | list))
