"""Compile a JSON Schema to functions that accept or refuse a document.

Most documents follow the schema. For them a yes is enough, and loading a full validator would
take longer than the whole check. This compiler knows only the keywords of draft 2020-12 that the
schemas of the project use. It raises an error for any other keyword, so it never ignores one. The
functions return only True or False; ``refusals`` explains a False.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

Acceptor = Callable[[object], bool]
"""A function that returns whether a value from ``json.loads`` follows a schema."""

_ANNOTATIONS = frozenset(
    ("$schema", "$id", "$comment", "$defs", "title", "description", "default", "examples")
)
_COMPILED_WITH_OTHERS = frozenset(("properties", "additionalProperties"))


def compile_acceptor(schema: dict[str, Any]) -> Acceptor:
    """Return the function that accepts the values that follow a schema.

    Raises ``ValueError`` if the schema uses an unknown keyword or an unknown kind of reference.
    """
    return _Compiler(schema.get("$defs", {})).schema(schema)


def ecma_pattern(pattern: str) -> re.Pattern[str]:
    """Return a regular expression compiled with its meaning in ECMA 262, as JSON Schema requires.

    In ECMA 262, ``$`` matches only at the end; in Python, also before a final line feed. This
    replaces each ``$`` outside character classes. The schemas use no other syntax that differs.
    """
    return re.compile(_DOLLAR.sub(lambda found: found.group(1) or r"\Z", pattern))


_DOLLAR = re.compile(r"(\\.|\[\^?\]?(?:\\.|[^\]\\])*\])|\$", re.DOTALL)


class _Compiler:
    def __init__(self, definitions: dict[str, Any]) -> None:
        self._definitions = definitions
        self._compiled: dict[str, Acceptor] = {}
        self._open: set[str] = set()

    def schema(self, schema: object) -> Acceptor:
        if schema is True:
            return lambda value: True
        if schema is False:
            return lambda value: False
        if not isinstance(schema, dict):
            raise ValueError(f"not a schema: {schema!r}")
        tests = []
        for keyword, argument in schema.items():
            if keyword in _ANNOTATIONS or keyword in _COMPILED_WITH_OTHERS:
                continue
            compiler = _KEYWORDS.get(keyword)
            if compiler is None:
                raise ValueError(f"unknown keyword in the schema: {keyword}")
            tests.append(compiler(self, argument))
        if not _COMPILED_WITH_OTHERS.isdisjoint(schema):
            tests.append(self._members(schema))
        return _all_of(tests)

    def reference(self, target: str) -> Acceptor:
        prefix, _, name = target.rpartition("/")
        if prefix != "#/$defs" or name not in self._definitions:
            raise ValueError(f"unknown reference in the schema: {target}")
        if name not in self._compiled:
            if name in self._open:
                raise ValueError(f"the schema refers to itself: {target}")
            self._open.add(name)
            self._compiled[name] = self.schema(self._definitions[name])
        return self._compiled[name]

    def negation(self, schema: object) -> Acceptor:
        test = self.schema(schema)
        return lambda value: not test(value)

    def items(self, schema: object) -> Acceptor:
        test = self.schema(schema)

        def accepts(value: object) -> bool:
            if isinstance(value, list):
                for item in value:
                    if not test(item):
                        return False
            return True

        return accepts

    def property_names(self, schema: object) -> Acceptor:
        test = self.schema(schema)

        def accepts(value: object) -> bool:
            if isinstance(value, dict):
                for key in value:
                    if not test(key):
                        return False
            return True

        return accepts

    def _members(self, schema: dict[str, Any]) -> Acceptor:
        known = {key: self.schema(part) for key, part in schema.get("properties", {}).items()}
        other = self.schema(schema.get("additionalProperties", True))

        def accepts(value: object) -> bool:
            if isinstance(value, dict):
                for key, member in value.items():
                    if not known.get(key, other)(member):
                        return False
            return True

        return accepts


def _all_of(tests: list[Acceptor]) -> Acceptor:
    if len(tests) == 1:
        return tests[0]
    if len(tests) == 2:
        first, second = tests
        return lambda value: first(value) and second(value)

    def accepts(value: object) -> bool:
        for test in tests:  # noqa: SIM110 - all() with a generator takes twice the time
            if not test(value):
                return False
        return True

    return accepts


_CLASSES: dict[str, tuple[type, ...]] = {
    "object": (dict,),
    "array": (list,),
    "string": (str,),
    "boolean": (bool,),
    "null": (type(None),),
    "number": (int, float),
}
"""From each type of JSON Schema to the Python classes that ``json.loads`` uses for it."""


def _type(argument: str | list[str]) -> Acceptor:
    names = [argument] if isinstance(argument, str) else argument
    if names == ["integer"]:
        # JSON Schema calls 1.0 an integer too (core, section 4.2.3).
        return lambda value: type(value) is int or (type(value) is float and value.is_integer())
    # Compare classes exactly: in Python, True is an int.
    classes = frozenset(found for name in names for found in _CLASSES[name])
    return lambda value: type(value) in classes


_is_number, _is_text, _is_list = _type("number"), _type("string"), _type("array")


def _same(value: object) -> object:
    """Return a hashable stand-in. Two are equal if JSON Schema calls their values equal.

    1 and true are equal in Python, but not in JSON Schema; 1 and 1.0 are equal in both.
    """
    if isinstance(value, bool):
        return ("truth", value)
    if isinstance(value, list):
        return ("list", tuple(_same(item) for item in value))
    if isinstance(value, dict):
        return ("object", frozenset((key, _same(member)) for key, member in value.items()))
    return value


def _enum(argument: list[object]) -> Acceptor:
    allowed = {_same(value) for value in argument}
    if all(isinstance(value, str) for value in argument):
        return lambda value: isinstance(value, str) and value in allowed
    return lambda value: _same(value) in allowed


def _pattern(argument: str) -> Acceptor:
    search = ecma_pattern(argument).search
    return lambda value: not isinstance(value, str) or search(value) is not None


def all_differ(items: list[Any]) -> bool:
    """Return whether all entries of a list differ, as JSON Schema compares values."""
    return len(items) < 2 or len({_same(item) for item in items}) == len(items)


def _unique(argument: bool) -> Acceptor:
    if not argument:
        return lambda value: True
    return lambda value: not isinstance(value, list) or all_differ(value)


def _required(argument: list[str]) -> Acceptor:
    return lambda value: not isinstance(value, dict) or all(key in value for key in argument)


def _dependent(argument: dict[str, list[str]]) -> Acceptor:
    def accepts(value: object) -> bool:
        if not isinstance(value, dict):
            return True
        return all(
            key not in value or all(other in value for other in others)
            for key, others in argument.items()
        )

    return accepts


def _compare(fits: Callable[[Any], bool], applies: Acceptor) -> Acceptor:
    return lambda value: not applies(value) or fits(value)


_KEYWORDS: dict[str, Callable[[_Compiler, Any], Acceptor]] = {
    "$ref": _Compiler.reference,
    "not": _Compiler.negation,
    "items": _Compiler.items,
    "propertyNames": _Compiler.property_names,
    "type": lambda _, argument: _type(argument),
    "enum": lambda _, argument: _enum(argument),
    "const": lambda _, argument: _enum([argument]),
    "pattern": lambda _, argument: _pattern(argument),
    "uniqueItems": lambda _, argument: _unique(argument),
    "required": lambda _, argument: _required(argument),
    "dependentRequired": lambda _, argument: _dependent(argument),
    "minimum": lambda _, least: _compare(lambda value: value >= least, _is_number),
    "exclusiveMinimum": lambda _, floor: _compare(lambda value: value > floor, _is_number),
    "exclusiveMaximum": lambda _, ceiling: _compare(lambda value: value < ceiling, _is_number),
    "minLength": lambda _, least: _compare(lambda value: len(value) >= least, _is_text),
    "minItems": lambda _, least: _compare(lambda value: len(value) >= least, _is_list),
}
