"""Plans and stores of a request: its body, files, or texts in a form."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from hashlib import sha256
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

_TYPED = ("text", "name", "served", "store-text", "ticket", "top")
_BOARDS = ("board-text", "board-name", "board-served")
"""The fields of the form that are not choices: plans, store, the ticket for the queue."""


@dataclass(frozen=True, slots=True)
class HandedIn:
    """Everything that a person sent with the page's form.

    The plan is empty if it is still to be found among several files, which then are its boards.
    """

    plan: Plan
    store: bytes = b""
    chosen: MultiDict[str, str] = field(default_factory=MultiDict)
    """The choices: a road, a scene, a practice, the button."""
    from_file: bool = False

    @property
    def text(self) -> str | None:
        """The text of the plan for the form; None if the file is not text, or is too long."""
        return self.text_of(self.plan)

    def text_of(self, plan: Plan) -> str | None:
        """Return the text of the plan, or of one of its boards, for the form; None as above."""
        if self.from_file and len(plan.content) > MAX_ECHO:
            return None
        return _as_text(plan.content)

    @property
    def store_text(self) -> str:
        """The text of the store for the form; empty if it is not text."""
        return _as_text(self.store) or ""

    def led_by(self, name: str) -> HandedIn:
        """Return the same with the plan of this name as the whole; the others are its boards."""
        sent = [plan for plan in (self.plan, *self.plan.boards) if plan.content.strip()]
        top = next((plan for plan in sent if plan.name == name), Plan(name, b""))
        return replace(self, plan=replace(top, boards=tuple(p for p in sent if p.name != name)))


class TwoPlans(Exception):  # noqa: N818 - it describes the request
    """Raised if the form has a chosen file and a text that the user edited."""

    def __init__(self, chosen: HandedIn, typed: HandedIn) -> None:
        super().__init__("a chosen file and an edited text")
        self.chosen, self.typed = chosen, typed


def handed_in() -> HandedIn:
    """Return everything sent with the form. Raises TwoPlans.

    Chosen files go before a text that came with the page. On the page of an assembled plan they
    take the places of the plans with their names.
    """
    if request.mimetype != "multipart/form-data":
        # The other kind of form has no limit on its fields, and this process, which must stay
        # free, would parse it.
        raise Problem(415, "unsupported-media-type", "Send this form as multipart/form-data.")
    chosen = MultiDict(
        (name, value)
        for name, value in request.form.items(multi=True)
        if name not in _TYPED and name not in _BOARDS
    )
    files = [
        Plan(_named(file.filename), _content(file))
        for file in request.files.getlist("plan")
        if file.filename
    ]
    typed = _typed_plan()
    edited = _edited_plans(typed)
    form = HandedIn(typed, _store_of_form(), chosen)
    if not files:
        top = request.form.get("top")
        return form.led_by(top) if top else form
    if not typed.boards:
        together = {plan.name: plan for plan in files}
    else:
        together = {plan.name: plan for plan in (replace(typed, boards=()), *typed.boards, *files)}
    if len({file.name for file in files}) < len(files):
        raise Problem(400, "same-name", "Two of the files have the same name: rename one.")
    sent = tuple(together.values())
    plan = sent[0] if len(sent) == 1 else Plan("", b"", sent)
    found = replace(form, plan=plan, from_file=True)
    if edited - {plan.content for plan in sent}:
        raise TwoPlans(found, form)
    return found


def _typed_plan() -> Plan:
    """Return the plan in the form, with its boards."""
    form = request.form
    name = form.get("name", "").strip()
    boards = zip(form.getlist("board-name"), form.getlist("board-text"), strict=False)
    return Plan(
        _named(name) if name else PASTED,
        _bytes_of(form.get("text", "")),
        tuple(Plan(_named(board), _bytes_of(text)) for board, text in boards),
    )


def _edited_plans(typed: Plan) -> set[bytes]:
    """Return the texts that differ from those that came with the page, the empty ones left out."""
    served = [request.form.get("served", ""), *request.form.getlist("board-served")]
    served += [""] * len(typed.boards)
    return {
        plan.content
        for plan, mark in zip((typed, *typed.boards), served, strict=False)
        if plan.content.strip() and mark_of(plan.content) != mark
    }


def mark_of(content: bytes | str | None) -> str:
    """Return the mark by which the service sees whether a text in a form was edited."""
    text = content if isinstance(content, str) else _as_text(content or b"") or ""
    lines = text.replace("\r\n", "\n").replace("\r", "\n")
    return sha256(lines.encode("utf-8", "surrogatepass")).hexdigest()[:16]


def _store_of_form() -> bytes:
    file = request.files.get("store")
    if file is not None and file.filename:
        return _content(file)
    content = _bytes_of(request.form.get("store-text", ""))
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


def _bytes_of(text: str) -> bytes:
    # Forms send every line end as CR LF.
    return text.replace("\r\n", "\n").encode("utf-8", "surrogatepass")


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
