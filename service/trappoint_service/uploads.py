"""Plans as they come in: as the body of a request, as files, as a text in a form."""

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
"""What the command line calls a plan that came without a name."""
PASTED = "plan.layout.json"

MAX_ECHO = 1_000_000
"""Bytes up to which a file goes back into the form: browsers are slow with long texts."""

_TYPED = ("text", "name", "store-text", "ticket")
"""The fields of the form that are no choices: plan and store, and the ticket for the queue."""


@dataclass(frozen=True, slots=True)
class HandedIn:
    """All that a person handed in with the page's form."""

    plan: Plan
    store: bytes = b""
    chosen: MultiDict[str, str] = field(default_factory=MultiDict)
    """The fields that are chosen, not typed: a road, a scene, a practice, the button."""
    from_file: bool = False

    @property
    def text(self) -> str | None:
        """The text of the plan for the form, None for a file that is no text or a long one."""
        if self.from_file and len(self.plan.content) > MAX_ECHO:
            return None
        return _as_text(self.plan.content)

    @property
    def store_text(self) -> str:
        """The text of the store as it goes back into the form, empty if it is no text."""
        return _as_text(self.store) or ""


def handed_in() -> HandedIn:
    """Return what was handed in: files, where some were chosen, else the texts."""
    if request.mimetype != "multipart/form-data":
        # In the other kind of form nothing bounds the number of fields, and it is read here, in
        # the process that must stay free.
        raise Problem(415, "unsupported-media-type", "This form is sent as multipart/form-data.")
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
    """Return the content of a file, each time that it is asked for."""
    file.stream.seek(0)
    content: bytes = file.stream.read()
    return content


def _as_text(content: bytes) -> str | None:
    try:
        return content.decode("utf-8")
    except UnicodeDecodeError:
        return None


def _typed(name: str) -> bytes:
    # Forms send every end of a line as CR LF, whatever stood in the file.
    text = request.form.get(name, "").replace("\r\n", "\n")
    return text.encode("utf-8", "surrogatepass")


def plans_of_request() -> list[Plan]:
    """Return the plans that a program sent, at least one."""
    name = request.args.get("name", UNNAMED)
    if not 0 < len(name) <= MAX_NAME or not all("!" <= char <= "~" for char in name):
        raise Problem(
            400,
            "name-not-usable",
            f"`name` must have 1 to {MAX_NAME} characters of ASCII, all of them visible and "
            "no spaces; files sent in a form may be called anything.",
        )
    if request.mimetype == "multipart/form-data":
        plans = [Plan(_named(f.filename), f.read()) for f in request.files.getlist("plan")]
        for text in request.form.getlist("plan"):
            plans.append(Plan(UNNAMED, text.encode("utf-8", "surrogatepass")))
        if not plans:
            raise Problem(400, "no-plan", "There is no part called `plan` in this form.")
        return plans
    if request.mimetype != "application/json":
        raise Problem(
            415,
            "unsupported-media-type",
            "A plan is sent as application/json, or as a file `plan` in multipart/form-data.",
        )
    return [Plan(name, request.get_data(cache=False))]


def one_plan() -> Plan:
    """Return the plan that a program sent. More than one are a problem."""
    plans = plans_of_request()
    if len(plans) > 1:
        raise Problem(400, "more-than-one-plan", "Send one plan at a time here.")
    return plans[0]


def store_of_request() -> bytes | None:
    """Return the store that was sent beside a plan, as a part ``store`` of a form; None: none."""
    if request.mimetype != "multipart/form-data":
        return None
    file = request.files.get("store")
    if file is not None:
        content: bytes = file.read()
        return content
    text = request.form.get("store")
    return None if text is None else text.encode("utf-8", "surrogatepass")


def _named(name: str | None) -> str:
    """Return a name as it can be shown: no folders, nothing that is not visible, not too long."""
    name = (name or "").replace("\\", "/").rpartition("/")[2]
    name = "".join(char for char in name if char.isprintable())
    return name[:MAX_NAME] or UNNAMED
