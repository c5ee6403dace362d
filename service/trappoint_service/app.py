"""The application, put together from its parts."""

from __future__ import annotations

import atexit
from io import BytesIO
from typing import IO, TYPE_CHECKING

from flask import Blueprint, Flask, Request

from trappoint.drawing.working_page import FOLDER
from trappoint_service.addresses import believe
from trappoint_service.api import make_api
from trappoint_service.clients import client_of_request
from trappoint_service.compression import compress
from trappoint_service.config import LIMIT_BYTES
from trappoint_service.counters import Counters
from trappoint_service.monitoring import watch
from trappoint_service.pages import make_pages
from trappoint_service.pool import Pool
from trappoint_service.problems import answer_errors
from trappoint_service.request_checks import check_requests
from trappoint_service.security_headers import guard

if TYPE_CHECKING:
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


def build_app(config: Config) -> Service:
    """Make the application. The first plan starts the processes."""
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
    check_requests(app)
    answer_errors(app)
    app.register_blueprint(make_pages(app.pool))
    app.register_blueprint(make_api(app.pool))
    # The scripts and the style of the diagram, from the library.
    app.register_blueprint(
        Blueprint("diagram", "trappoint", static_folder=FOLDER, static_url_path="/diagram")
    )
    atexit.register(app.pool.close)
    return app
