"""The pages of a folder: the list of its files, and each file as a text that can be saved.

They work without script. A script only fills in the verdicts that are found later.
"""

from __future__ import annotations

from contextlib import suppress
from typing import TYPE_CHECKING, Any

from flask import Blueprint, Response, redirect, render_template, request, url_for

from trappoint.app.folder_records import FolderFile
from trappoint.app.open_folder import ENDINGS, FolderTrouble, kind_of, stamp_of
from trappoint_service.config import LIMIT_BYTES
from trappoint_service.folder import bytes_of, text_of, told
from trappoint_service.folder_saving import Conflict
from trappoint_service.jobs import CompareFile, JudgeFile
from trappoint_service.problems import Problem, page_of_problem, problem_of
from trappoint_service.queues import Unanswered

if TYPE_CHECKING:
    from werkzeug.wrappers import Response as AnyResponse

    from trappoint.app.open_folder import OpenFolder
    from trappoint_service.folder_saving import Saving
    from trappoint_service.folder_verdicts import FolderVerdicts
    from trappoint_service.pool import Pool

FIRST_TEXTS = {
    "plan": '{\n  "format": "trappoint-layout/1",\n  "tracks": {}\n}\n',
    "store": '{\n  "format": "trappoint-store/1",\n  "currency": "",\n  "parts": {}\n}\n',
}
"""The texts of new files."""

GONE = "Nothing was written. Your text is in the form: save it to make the file again."
UNMERGED = (
    "Nothing was written. The form has your text: if you save it now, it takes the place of the "
    "file."
)
BOTH = (
    "Nothing was written: this page and the file have changes that conflict. The form has both "
    "versions, ours from this page and theirs from the file. Keep one of the two between the "
    "marks, remove the marks, and save."
)

BODY_BYTES = 3 * LIMIT_BYTES
"""Most bytes of a form with a text."""


def make_folder_pages(
    folder: OpenFolder, pool: Pool, verdicts: FolderVerdicts, saving: Saving, build: str | None
) -> Blueprint:
    """Make the part of the application that shows a folder to people.

    ``build`` is the endpoint of the page on which plans are built; None if there is none.
    """
    pages = Blueprint("folder_pages", __name__)
    texts = _Texts(folder, pool, saving)

    def home_page(message: str = "", name: str = "") -> str:
        listing = folder.listing()
        files = [told(known) for known in verdicts.look(listing.files)]
        shown = {"files": files, "cut": listing.cut, "message": message, "wished": name}
        return render_template("folder.html", **shown)

    def page_of(name: str) -> str:
        """Return the address of the page on which a file is worked on."""
        if build is not None and kind_of(name) == "plan":
            return url_for(build, file=name)
        return url_for("folder_pages.text", name=name)

    @pages.get("/")
    def home() -> str:
        return home_page()

    @pages.post("/new")
    def new() -> AnyResponse | Response:
        _take_form()
        wished, kind = request.form.get("name", "").strip(), request.form.get("kind", "plan")
        if kind not in ENDINGS:
            raise Problem(400, "bad-request", "A new file is a plan or a store.")
        ended = wished.lower().endswith(ENDINGS[kind])
        name = wished + ("" if ended or not wished else ENDINGS[kind])
        try:
            done = saving.save_new(name, bytes_of(FIRST_TEXTS[kind]))
        except FolderTrouble as error:
            return Response(home_page(str(error), wished), error.status, mimetype="text/html")
        if isinstance(done, Conflict):
            return Response(home_page(done.conflicts[0], wished), 409, mimetype="text/html")
        return redirect(page_of(name), 303)

    @pages.get("/text/<path:name>")
    def text(name: str) -> str:
        content = saving.open(name)
        return texts.page(name, text_of(name, content), stamp_of(content))

    @pages.post("/text/<path:name>")
    def save(name: str) -> Response:
        _take_form()
        return texts.save(name)

    @pages.errorhandler(Exception)
    def refuse(error: Exception) -> Response:
        return page_of_problem(problem_of(error), "problem.html")

    @pages.app_context_processor
    def common() -> dict[str, Any]:
        return {
            "folder_name": folder.name,
            "folder_address": f"{request.script_root}/folder",
            "page_of": page_of,
        }

    return pages


class _Texts:
    """The page of a file as a text."""

    def __init__(self, folder: OpenFolder, pool: Pool, saving: Saving) -> None:
        self._folder = folder
        self._pool = pool
        self._saving = saving

    def save(self, name: str) -> Response:
        """Save the text of the form. After any error the text comes back."""
        typed, stamp = _typed(), request.form.get("stamp", "")
        try:
            if request.form.get("new") == "yes":
                done = self._saving.save_new(name, bytes_of(typed))
            else:
                done = self._saving.save(name, bytes_of(typed), None, stamp)
        except Exception as error:
            problem = problem_of(error)
            new = request.form.get("new") == "yes"
            page = self.page(name, typed, stamp, problem.detail, new=new)
            return Response(page, problem.status, problem.headers, mimetype="text/html")
        if isinstance(done, Conflict):
            return Response(self._conflict(name, typed, done), 409, mimetype="text/html")
        shown, stamp = text_of(name, done.content), stamp_of(done.content)
        return Response(self.page(name, shown, stamp, "Saved.", said=done.said))

    def page(self, name: str, text: str, stamp: str, message: str = "", **more: Any) -> str:
        """Return the page with a text in its form.

        ``stamp`` is that of the file with which the form begins.
        """
        file = FolderFile(self._folder.top, name, bytes_of(text))
        verdict, changes = None, None
        with suppress(Unanswered):  # the text counts more
            verdict = self._pool.run(JudgeFile(file))
            changes = self._pool.run(CompareFile(file))
        plain = _is_plain(text)
        if not plain:
            text = text.replace("\0", "\ufffd").encode("utf-8", "replace").decode("utf-8")
        shown = {"name": name, "text": text, "stamp": stamp, "message": message, **more}
        return render_template(
            "folder_text.html",
            verdict=verdict,
            changes=changes,
            crlf=_has_crlf(text),
            plain=plain,
            **shown,
        )

    def _conflict(self, name: str, typed: str, conflict: Conflict) -> str:
        """Show both versions, and let a person choose."""
        said = conflict.conflicts
        if conflict.theirs is None:
            return self.page(name, typed, "", GONE, said=said, new=True)
        stamp, both = stamp_of(conflict.theirs), None
        if conflict.merged is not None:
            with suppress(Problem):
                both = text_of(name, conflict.merged)
        if both is None:
            return self.page(name, typed, stamp, UNMERGED, said=said)
        return self.page(name, both, stamp, BOTH, said=said, ours=typed)


def _take_form() -> None:
    """Refuse other kinds of forms, and let this one be as large as a text."""
    if request.mimetype != "multipart/form-data":
        raise Problem(415, "unsupported-media-type", "Send this form as multipart/form-data.")
    request.max_content_length = request.max_form_memory_size = BODY_BYTES


def _typed() -> str:
    """Return the text of the form. Forms send every line end as CR LF."""
    text = request.form.get("text", "").replace("\r\n", "\n")
    return text.replace("\n", "\r\n") if request.form.get("ends") == "crlf" else text


def _has_crlf(text: str) -> bool:
    return text.count("\r\n") * 2 > text.count("\n")


def _is_plain(text: str) -> bool:
    """Return whether a form gives the text back as it is."""
    if "\0" in text or any("\ud800" <= char <= "\udfff" for char in text):
        return False
    ends = "\r\n" if _has_crlf(text) else "\n"
    return text.replace(ends, "\n").count("\r") == 0 and (
        ends == "\n" or "\n" not in text.replace("\r\n", "")
    )
