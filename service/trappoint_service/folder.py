"""The interface of a folder: its plans and stores, for the page on which plans are built."""

from __future__ import annotations

import json
from datetime import UTC, datetime
from typing import TYPE_CHECKING, Any

from flask import Blueprint, Response, request

from trappoint.app.folder_records import FolderFile
from trappoint.app.open_folder import kind_of, stamp_of
from trappoint.core.findings import CAUTION
from trappoint_service.config import LIMIT_BYTES
from trappoint_service.folder_saving import Conflict
from trappoint_service.jobs import CompareFile
from trappoint_service.problems import Problem

if TYPE_CHECKING:
    from trappoint.app.folder_records import FileChanges
    from trappoint.app.open_folder import OpenFolder
    from trappoint_service.folder_saving import Saved, Saving
    from trappoint_service.folder_verdicts import FolderVerdicts, KnownFile
    from trappoint_service.pool import Pool

BODY_BYTES = 8 * LIMIT_BYTES
"""Most bytes of a request that saves: two texts, with escapes."""

_KEYS = {"text": str, "base": str, "stamp": str, "new": bool}


def make_folder(
    folder: OpenFolder, pool: Pool, verdicts: FolderVerdicts, saving: Saving
) -> Blueprint:
    """Make the part of the application that lists, opens and saves the files of a folder."""
    routes = Blueprint("folder", __name__)

    @routes.get("/folder/plans")
    def plans() -> Response:
        listing = folder.listing()
        files = [told(known) for known in verdicts.look(listing.files)]
        shown = {"folder": folder.name, "files": files, "cut": listing.cut, "caution": CAUTION}
        return _json(shown)

    @routes.get("/folder/plans/<path:name>")
    def read(name: str) -> Response:
        content = saving.open(name)
        return _json({"name": name, "text": text_of(name, content), "stamp": stamp_of(content)})

    @routes.put("/folder/plans/<path:name>")
    def save(name: str) -> Response:
        wish = _wish()
        content = bytes_of(wish["text"])
        if wish.get("new"):
            done = saving.save_new(name, content)
        else:
            base = wish.get("base")
            done = saving.save(
                name, content, None if base is None else bytes_of(base), wish.get("stamp", "")
            )
        return _answer(done)

    @routes.get("/folder/changes/<path:name>")
    def changes(name: str) -> Response:
        found = changes_of(folder, pool, name)
        return _json(
            {
                "since": found.since,
                "changes": list(found.changes),
                "text": list(found.text),
                "caution": CAUTION,
            }
        )

    return routes


def told(known: KnownFile) -> dict[str, Any]:
    """Return an entry of the list as JSON values."""
    entry, verdict = known.entry, known.verdict
    return {
        "name": entry.name,
        "kind": kind_of(entry.name),
        "judged": verdict is not None,
        "holds": None if verdict is None else verdict.holds,
        "verdict": "" if verdict is None else verdict.said,
        "findings": "" if verdict is None else verdict.counts,
        "changed": datetime.fromtimestamp(entry.seconds, UTC).strftime("%Y-%m-%dT%H:%M:%SZ"),
        "bytes": entry.bytes,
        "commit": known.commit,
    }


def changes_of(folder: OpenFolder, pool: Pool, name: str) -> FileChanges:
    """Return what a file has that its last commit has not. Raises what ``read`` and jobs do."""
    return pool.run(CompareFile(FolderFile(folder.top, name, folder.read(name))))


def text_of(name: str, content: bytes) -> str:
    """Return the text of a file, from which ``bytes_of`` makes the same bytes. Raises Problem."""
    if len(content) > LIMIT_BYTES:
        raise Problem(422, "too-long", f"{name} is longer than 8 MiB, so it is not opened here.")
    text = _decoded(content)
    if text is None:
        raise Problem(
            422, "not-text", f"{name} is not UTF-8, so it is not opened here. Save it as UTF-8."
        )
    return text


def bytes_of(text: str) -> bytes:
    """Return the bytes of a text. Half a surrogate pair is kept too."""
    return text.encode("utf-8", "surrogatepass")


def _decoded(content: bytes | None) -> str | None:
    try:
        return None if content is None else content.decode("utf-8", "surrogatepass")
    except UnicodeDecodeError:
        return None


def _wish() -> dict[str, Any]:
    """Return what a request to save says. Raises Problem for anything else in it."""
    if request.mimetype != "application/json":
        raise Problem(415, "unsupported-media-type", "Send the text as application/json.")
    if request.content_length is None:
        raise Problem(411, "length-required", "A request to save gives its Content-Length.")
    request.max_content_length = BODY_BYTES
    try:
        wish = json.loads(request.get_data(cache=False))
    except (ValueError, RecursionError):
        raise Problem(400, "bad-request", "This is not JSON.") from None
    if not isinstance(wish, dict) or not isinstance(wish.get("text"), str):
        raise Problem(400, "bad-request", "Send an object with the text to save under `text`.")
    for key, value in wish.items():
        kind = _KEYS.get(key)
        if kind is None:
            raise Problem(400, "unknown-field", f"The keys are {', '.join(_KEYS)} alone.")
        if not isinstance(value, kind):
            what = "true or false" if kind is bool else "a text"
            raise Problem(400, "bad-request", f"`{key}` must be {what}.")
    return wish


def _answer(done: Saved | Conflict) -> Response:
    if isinstance(done, Conflict):
        theirs = done.theirs
        answer = {
            "theirs": _decoded(theirs),
            "stamp": "" if theirs is None else stamp_of(theirs),
            "merged": _decoded(done.merged),
            "conflicts": list(done.conflicts),
        }
        return _json(answer, 409)
    text, stamp = _decoded(done.content), stamp_of(done.content)
    return _json({"text": text, "stamp": stamp, "merged": done.merged, "said": list(done.said)})


def _json(value: object, status: int = 200) -> Response:
    response = Response(json.dumps(value) + "\n", status, mimetype="application/json")
    response.headers["Cache-Control"] = "no-store"
    return response
