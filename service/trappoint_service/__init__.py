"""The web form and its API: checks plans in a browser, and stores nothing.

``create_app`` makes the service as a WSGI application (PEP 3333). Flask is imported only then.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from flask import Flask

    from trappoint_service.config import Config

__all__ = ["create_app"]


def create_app(config: Config | None = None) -> Flask:
    """Make the service. Without ``config``, the environment provides the settings.

    Raises ``trappoint_service.config.ConfigError`` for an unusable setting.
    """
    from trappoint_service.app import build_app
    from trappoint_service.config import read_config

    return build_app(read_config() if config is None else config)
