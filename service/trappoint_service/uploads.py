"""Plans and stores of a request: its body, files, or texts in a form."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from flask import request
from werkzeug.datastructures import MultiDict

from trappoint_service.jobs import Plan
from trappoint_service.problems import Problem

if TYPE_CHECKING:
    from werkzeug.datastructures import FileStorage

MAX_NAME = 200
UNNAMED = "-"
"""The name of a plan that came without one, as on the command line."""
PASTED = "plan.layout.json"

MAX_ECHO = 1_000_000
"""Largest file, in bytes, that goes back into the form: browsers are slow with long texts."""

_TYPED = ("text", "name", "store-text", "ticket")
"""The fields of the form that are not choices: plan, store, and the ticket for the queue."""


@dataclass(frozen=True, slots=True)
class HandedIn:
    """Everything that a person sent with the page's form."""

    plan: Plan
    store: bytes = b""
    chosen: MultiDict[str, str] = field(default_factory=MultiDict)
    """The choices: a road, a scene, a practice, the button."""
    from_file: bool = False

    @property
    def text(self) -> str | None:
        """The text of the plan for the form; None if the file is not text, or is too long."""
        if self.from_file and len(self.plan.content) > MAX_ECHO:
            return None
        return _as_text(self.plan.content)

    @property
    def store_text(self) -> str:
        """The text of the store for the form; empty if it is not text."""
        return _as_text(self.store) or ""


def handed_in() -> HandedIn:
    """Return everything sent with the form. A chosen file goes before the typed text."""
    if request.mimetype != "multipart/form-data":
        # The other kind of form has no limit on its fields, and this process, which must stay
        # free, would parse it.
        raise Problem(415, "unsupported-media-type", "Send this form as multipart/form-data.")
    chosen = MultiDict(
        (name, value) for name, value in request.form.items(multi=True) if name not in _TYPED
    )
    file = request.files.get("plan")
    if file is not None and file.filename:
        plan = Plan(_named(file.filename), _content(file))
        return HandedIn(plan, _store_of_form(), chosen, from_file=True)
    name = request.form.get("name", "").strip()
    plan = Plan(_named(name) if name else PASTED, _typed("text"))
    return HandedIn(plan, _store_of_form(), chosen)


def _store_of_form() -> bytes:
    file = request.files.get("store")
    if file is not None and file.filename:
        return _content(file)
    content = _typed("store-text")
    return content if content.strip() else b""


def _content(file: FileStorage) -> bytes:
    """Return the content of a file; may be called more than once."""
    file.stream.seek(0)
    content: bytes = file.stream.read()
    return content


def _as_text(content: bytes) -> str | None:
    try:
        return content.decode("utf-8")
    except UnicodeDecodeError:
        return None


def _typed(name: str) -> bytes:
    # Forms send every line end as CR LF.
    text = request.form.get(name, "").replace("\r\n", "\n")
    return text.encode("utf-8", "surrogatepass")


def plans_of_request() -> list[Plan]:
    """Return the plans that a program sent, at least one."""
    name = request.args.get("name", UNNAMED)
    if not 0 < len(name) <= MAX_NAME or not all("!" <= char <= "~" for char in name):
        raise Problem(
            400,
            "name-not-usable",
            f"`name` must have 1 to {MAX_NAME} visible ASCII characters and no spaces. Files in "
            "a form may have any name.",
        )
    if request.mimetype == "multipart/form-data":
        plans = [Plan(_named(f.filename), f.read()) for f in request.files.getlist("plan")]
        for text in request.form.getlist("plan"):
            plans.append(Plan(UNNAMED, text.encode("utf-8", "surrogatepass")))
        if not plans:
            raise Problem(400, "no-plan", "The form has no part `plan`.")
        return plans
    if request.mimetype != "application/json":
        raise Problem(
            415,
            "unsupported-media-type",
            "Send a plan as application/json, or as a file `plan` in multipart/form-data.",
        )
    return [Plan(name, request.get_data(cache=False))]


def one_plan() -> Plan:
    """Return the plan that a program sent. Raises Problem if there is more than one."""
    plans = plans_of_request()
    if len(plans) > 1:
        raise Problem(400, "more-than-one-plan", "This address accepts one plan at a time.")
    return plans[0]


def store_of_request() -> bytes | None:
    """Return the store, a part ``store`` of a form beside the plan; None if there is none."""
    if request.mimetype != "multipart/form-data":
        return None
    file = request.files.get("store")
    if file is not None:
        content: bytes = file.read()
        return content
    text = request.form.get("store")
    return None if text is None else text.encode("utf-8", "surrogatepass")


def _named(name: str | None) -> str:
    """Return a file's name without folders and invisible characters, cut to ``MAX_NAME``."""
    name = (name or "").replace("\\", "/").rpartition("/")[2]
    name = "".join(char for char in name if char.isprintable())
    return name[:MAX_NAME] or UNNAMED
