"""The web form and its API: checks plans in a browser.

It stores nothing, except what a person saves into a folder of this computer.

``create_app`` makes the service as a WSGI application (PEP 3333). Flask is imported only then.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from flask import Flask

    from trappoint.app.open_folder import OpenFolder
    from trappoint_service.config import Config

__all__ = ["create_app"]


def create_app(config: Config | None = None, folder: OpenFolder | None = None) -> Flask:
    """Make the service. Without ``config``, the environment provides the settings.

    With a folder, it opens and saves the plans and stores in it, for one person on this computer;
    all addresses then begin with ``folder.secret``.

    Raises ``trappoint_service.config.ConfigError`` for an unusable setting.
    """
    from trappoint_service.app import build_app
    from trappoint_service.config import read_config

    return build_app(read_config() if config is None else config, folder)
