"""Plans as they come in: as the body of a request, as files, as a text in a form."""

from __future__ import annotations

from flask import request

from trappoint_service.jobs import Plan
from trappoint_service.problems import Problem

MAX_NAME = 200
UNNAMED = "-"
"""What the command line calls a plan that came without a name."""
PASTED = "plan.layout.json"


def plan_of_form() -> Plan:
    """Return the plan of the page's form: a file, where one was chosen, else the text."""
    if request.mimetype != "multipart/form-data":
        # In the other kind of form nothing bounds the number of fields, and it is read here, in
        # the process that must stay free.
        raise Problem(415, "unsupported-media-type", "This form is sent as multipart/form-data.")
    file = request.files.get("plan")
    if file is not None and file.filename:
        return Plan(_named(file.filename), file.read())
    name = request.form.get("name", "").strip()
    return Plan(_named(name) if name else PASTED, _typed("text"))


def store_of_form() -> bytes:
    """Return the store of the page's form: a file, where one was chosen, else the text."""
    file = request.files.get("store")
    if file is not None and file.filename:
        content: bytes = file.read()
        return content
    content = _typed("store-text")
    return content if content.strip() else b""


def _typed(field: str) -> bytes:
    # Forms send every end of a line as CR LF, whatever stood in the file.
    text = request.form.get(field, "").replace("\r\n", "\n")
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
        raise Problem(400, "more-than-one-plan", "Only one plan at a time can be taken here.")
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
