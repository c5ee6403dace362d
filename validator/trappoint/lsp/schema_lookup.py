"""Look-ups in the schema: the keys, words and descriptions for a place of a plan."""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING, Any

from trappoint.schema.published import layout_schema

if TYPE_CHECKING:
    from trappoint.model.references import Path

Form = dict[str, Any]


def form_at(path: Path) -> Form:
    """Return the schema of the value at a place, references resolved; empty if there is none.

    Keys beside a reference, such as a description, override the schema that it refers to.
    """
    return _form_at(tuple("" if isinstance(part, int) else part for part in path))


@cache
def _form_at(path: tuple[str, ...]) -> Form:
    form = _followed(layout_schema())
    for part in path:
        below = form.get("properties", {}).get(part)
        if below is None:
            more = form.get("items") if part == "" else form.get("additionalProperties")
            below = more if isinstance(more, dict) else {}
        form = _followed(below)
    return form


def _followed(form: Form) -> Form:
    if "$ref" not in form:
        return form
    referred = layout_schema()["$defs"][form["$ref"].rsplit("/", 1)[-1]]
    return {**_followed(referred), **{key: value for key, value in form.items() if key != "$ref"}}


def keys_of(form: Form) -> list[str]:
    """Return the keys of an object, required ones first."""
    known = list(form.get("properties", {}))
    needed = [key for key in form.get("required", ()) if key in known]
    return needed + [key for key in known if key not in needed]


def words_of(form: Form) -> list[str]:
    """Return the allowed words of a text; empty if any text is allowed."""
    words = form.get("enum") or ([form["const"]] if "const" in form else [])
    return [word for word in words if isinstance(word, str)]


def types_of(form: Form) -> list[str]:
    """Return the allowed JSON types of a value."""
    types = form.get("type", "string" if "enum" in form or "const" in form else [])
    return types if isinstance(types, list) else [types]


def description_of(form: Form) -> str:
    """Return the description of a place with its default; empty if there is none."""
    parts = [str(form.get("description", ""))]
    if "default" in form:
        default = form["default"]
        shown = str(default).lower() if isinstance(default, bool) else default
        parts.append(f"Default: {shown}.")
    return " ".join(part for part in parts if part)
