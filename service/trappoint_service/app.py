"""The application, put together from its parts."""

from __future__ import annotations

import atexit
from io import BytesIO
from typing import IO, TYPE_CHECKING

from flask import Blueprint, Flask, Request

from trappoint.drawing.working_page import FOLDER
from trappoint_service.addresses import believe
from trappoint_service.api import make_api
from trappoint_service.build_page import make_build_page
from trappoint_service.clients import client_of_request
from trappoint_service.compression import compress
from trappoint_service.config import LIMIT_BYTES
from trappoint_service.counters import Counters
from trappoint_service.folder import make_folder
from trappoint_service.folder_door import Door
from trappoint_service.folder_pages import make_folder_pages
from trappoint_service.folder_saving import Saving
from trappoint_service.folder_verdicts import FolderVerdicts
from trappoint_service.monitoring import watch
from trappoint_service.pages import make_pages
from trappoint_service.pool import Pool
from trappoint_service.problems import answer_errors
from trappoint_service.request_checks import check_requests
from trappoint_service.security_headers import guard

if TYPE_CHECKING:
    from trappoint.app.open_folder import OpenFolder
    from trappoint_service.config import Config

FORM_PARTS = 1000
"""Most fields and files of a form."""


class MemoryRequest(Request):
    """A request that is never written to a file."""

    def _get_file_stream(
        self,
        total_content_length: int | None,
        content_type: str | None,
        filename: str | None = None,
        content_length: int | None = None,
    ) -> IO[bytes]:
        return BytesIO()


class Service(Flask):
    """The web form and its interface."""

    request_class = MemoryRequest

    def __init__(self, config: Config) -> None:
        super().__init__("trappoint_service")
        self.settings = config
        self.pool = Pool(config, client_of_request)
        self.counters = Counters()


def build_app(config: Config, folder: OpenFolder | None = None) -> Service:
    """Make the application. The first plan starts the processes.

    With a folder, every address begins with its secret, and its pages are there too.
    """
    app = Service(config)
    app.config.update(
        MAX_CONTENT_LENGTH=LIMIT_BYTES,
        MAX_FORM_MEMORY_SIZE=LIMIT_BYTES,
        MAX_FORM_PARTS=FORM_PARTS,
        SEND_FILE_MAX_AGE_DEFAULT=3600,
    )
    app.json.sort_keys = False  # type: ignore[attr-defined] # Flask's own provider has it
    app.jinja_env.trim_blocks = app.jinja_env.lstrip_blocks = True
    watch(app, config, app.pool, app.counters)
    believe(app, config)
    guard(app, config)
    compress(app)
    check_requests(app, folder=folder is not None)
    answer_errors(app)
    app.register_blueprint(make_pages(app.pool, "/" if folder is None else "/form"))
    app.register_blueprint(make_build_page())
    app.register_blueprint(make_api(app.pool, folder=folder is not None))
    # The scripts and the style of the diagram, from the library.
    app.register_blueprint(
        Blueprint("diagram", "trappoint", static_folder=FOLDER, static_url_path="/diagram")
    )
    if folder is not None:
        _add_folder(app, folder)
    atexit.register(app.pool.close)
    return app


def _add_folder(app: Service, folder: OpenFolder) -> None:
    """Add the pages and the interface of a folder, and close all else to the outside."""
    verdicts, saving = FolderVerdicts(folder, app.pool), Saving(folder, app.pool)
    rules = app.url_map.iter_rules()
    build = next((rule.endpoint for rule in rules if rule.rule == "/build"), None)
    app.register_blueprint(make_folder(folder, app.pool, verdicts, saving))
    app.register_blueprint(make_folder_pages(folder, app.pool, verdicts, saving, build))
    door = Door(app.wsgi_app, folder.secret)
    app.wsgi_app = door.answer  # type: ignore[method-assign] # as Flask's page has it
