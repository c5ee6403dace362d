"""The settings of the service: environment variables, checked at the start."""

from __future__ import annotations

import os
import re
from dataclasses import dataclass, fields
from ipaddress import ip_address
from typing import TYPE_CHECKING

from trappoint.core.spelling import nearest

if TYPE_CHECKING:
    from collections.abc import Mapping

    from trappoint.model.settings import Settings

PREFIX = "TRAPPOINT_SERVE_"
"""The prefix of all variables."""

LIMIT_BYTES = 8 * 1024 * 1024
"""Most bytes of a request's body: the limit of a plan."""


THREADS_FOR_PAGES = 4
"""Threads that no job may take, so that pages and the health route always find one."""


class ConfigError(Exception):
    """Raised for an unusable setting; the message names it and its allowed values."""


@dataclass(frozen=True, slots=True)
class Config:
    """The settings of the service. The variable of each is ``TRAPPOINT_SERVE_`` and its name."""

    host: str = "127.0.0.1"
    """The address to listen on (only for ``trappoint serve``)."""
    port: int = 8080
    """The port to listen on (only for ``trappoint serve``)."""
    threads: int = 64
    """Requests served at a time; under another server, the number of its threads."""
    connections: int = 1000
    """Connections open at a time (only for ``trappoint serve``)."""
    header_seconds: float = 10.0
    """Time limit for the header of a request (only for ``trappoint serve``)."""
    transfer_seconds: float = 20.0
    """Time limit for receiving a body or sending an answer, plus one second for each 16 KiB
    (only for ``trappoint serve``)."""
    idle_seconds: float = 30.0
    """Time limit for a connection without a request (only for ``trappoint serve``)."""
    stop_seconds: float = 15.0
    """Time limit for running requests when the service stops (only for ``trappoint serve``)."""
    workers: int = 2
    """Plans checked at a time, each in a separate process."""
    long_workers: int = 2
    """Long jobs done at a time: proposals, parts, slow checks."""
    long_places: int = 8
    """Long jobs that may wait."""
    quick_seconds: float = 1.0
    """Processor time after which a check counts as a long job."""
    deadline_seconds: float = 10.0
    """Time limit of a job; then its process is ended."""
    wait_seconds: float = 20.0
    """Time that a check waits for a free process before it gets 503."""
    memory_mb: int = 1024
    """Memory limit of a process, in MiB; 0 for no limit."""
    cors_origins: tuple[str, ...] = ()
    """Origins whose pages may use the API (or ``*``), separated by commas; none by default."""
    hosts: tuple[str, ...] = ()
    """Host names of the service, separated by commas; any by default."""
    proxies: int = 0
    """Number of proxies in front whose X-Forwarded headers are trusted."""
    log_requests: bool = False
    """Whether to log a line for each request, without its content."""
    metrics: str = "local"
    """Who may read the counters: ``local`` (this computer, not through a proxy), ``anyone`` or
    ``nobody``."""
    settings: str = ""
    """The club's ``trappoint.toml`` for all checks; none by default."""

    @property
    def quick_places(self) -> int:
        """The number of checks that may wait: the threads that other jobs and pages leave."""
        return self.threads - THREADS_FOR_PAGES - self._threads_for_jobs

    @property
    def _threads_for_jobs(self) -> int:
        """Threads for all jobs except waiting checks."""
        return self.workers + self.long_workers + self.long_places

    def check_threads(self) -> None:
        """Raise ``ConfigError`` if there are fewer threads than jobs and pages need."""
        least = self._threads_for_jobs + self.workers + THREADS_FOR_PAGES
        if self.threads < least:
            raise ConfigError(
                f"{PREFIX}THREADS must be at least {least}, not {self.threads}: "
                f"{self.workers} for checks (WORKERS) and as many for waiting checks, "
                f"{self.long_workers} for long jobs (LONG_WORKERS), "
                f"{self.long_places} for waiting long jobs (LONG_PLACES), "
                f"{THREADS_FOR_PAGES} for pages."
            )

    def check_folder(self) -> None:
        """Raise ``ConfigError`` for settings with which a folder would be open to others."""
        if not _is_loopback(self.host):
            raise ConfigError(
                f"A folder is served on this computer alone, so the address to listen on must be "
                f"127.0.0.1, not {self.host!r}. Leave out --host and {PREFIX}HOST."
            )
        for name in ("cors_origins", "hosts", "proxies"):
            if getattr(self, name):
                raise ConfigError(
                    f"A folder is served on this computer alone: {PREFIX}{name.upper()} cannot be "
                    "set together with it."
                )


def _is_loopback(host: str) -> bool:
    try:
        return ip_address(host) in (ip_address("127.0.0.1"), ip_address("::1"))
    except ValueError:
        return False


_BOUNDS: Mapping[str, tuple[float, float]] = {
    "port": (0, 65535),
    "threads": (1, 1024),
    "connections": (10, 100_000),
    "header_seconds": (1, 600),
    "transfer_seconds": (1, 3600),
    "idle_seconds": (1, 3600),
    "stop_seconds": (0, 3600),
    "proxies": (0, 10),
    "workers": (1, 64),
    "long_workers": (1, 64),
    "long_places": (0, 256),
    "quick_seconds": (0.1, 600),
    "deadline_seconds": (0.1, 600),
    "wait_seconds": (0, 60),
    "memory_mb": (0, 1024 * 1024),
}
READERS = ("local", "anyone", "nobody")
"""Who may read the counters."""

_LEAST_MEMORY = 128
"""MiB that a process needs to start."""


def read_config(environ: Mapping[str, str] | None = None) -> Config:
    """Read the settings. Raises ``ConfigError`` for an unusable one."""
    environ = os.environ if environ is None else environ
    names = [field.name for field in fields(Config)]
    found: dict[str, object] = {}
    for variable, value in environ.items():
        if not variable.startswith(PREFIX):
            continue
        name = variable.removeprefix(PREFIX).lower()
        if name not in names or variable != variable.upper():
            near = nearest(name, names)
            known = ", ".join(PREFIX + name.upper() for name in names)
            hint = f"Is {PREFIX}{near.upper()} meant?" if near else f"Known: {known}."
            raise ConfigError(f"The setting {variable} is unknown. {hint}")
        found[name] = _value(variable, name, value.strip())
    config = Config(**found)  # type: ignore[arg-type] # _value gives each its type
    config.check_threads()
    _check_settings(config)
    return config


def _value(variable: str, name: str, text: str) -> object:
    default = getattr(Config(), name)
    if isinstance(default, bool):
        if text.lower() not in ("true", "false"):
            raise ConfigError(f"{variable} must be true or false, not {text!r}.")
        return text.lower() == "true"
    if isinstance(default, int | float):
        return _number(variable, name, text, whole=isinstance(default, int))
    if isinstance(default, tuple):
        parts = tuple(part.strip() for part in text.split(",") if part.strip())
        return _hosts(variable, parts) if name == "hosts" else _origins(variable, parts)
    if not text and name == "host":
        raise ConfigError(f"{variable} is empty; use 127.0.0.1 for this computer only.")
    if name == "metrics" and text not in READERS:
        raise ConfigError(f"{variable} must be local, anyone or nobody, not {text!r}.")
    return text


def _number(variable: str, name: str, text: str, *, whole: bool) -> float:
    low, high = _BOUNDS[name]
    kind = "a whole number" if whole else "a number"
    wrong = ConfigError(f"{variable} must be {kind} from {low:g} to {high:g}, not {text!r}.")
    try:
        value = int(text) if whole else float(text)
    except ValueError:
        raise wrong from None
    if not low <= value <= high:
        raise wrong
    if name == "memory_mb" and 0 < value < _LEAST_MEMORY:
        raise ConfigError(f"{variable} must be 0 (no limit) or at least {_LEAST_MEMORY}.")
    return value


def _hosts(variable: str, hosts: tuple[str, ...]) -> tuple[str, ...]:
    for host in hosts:
        if re.search(r"[/\s@*]|:\d", host):
            raise ConfigError(
                f"{variable} must be names such as plans.example (or .plans.example for all below "
                f"it), separated by commas, without a port; {host!r} is not."
            )
    return hosts


def _origins(variable: str, origins: tuple[str, ...]) -> tuple[str, ...]:
    for origin in origins:
        scheme, _, rest = origin.partition("://")
        if origin != "*" and (scheme not in ("http", "https") or not rest or "/" in rest):
            raise ConfigError(
                f"{variable} must be * or origins such as https://plans.example, separated by "
                f"commas; {origin!r} is neither."
            )
    return origins


def _check_settings(config: Config) -> None:
    if not config.settings:
        return
    try:
        load_settings(config.settings)
    except ConfigError as error:
        raise ConfigError(f"{PREFIX}SETTINGS: {error}") from None


def load_settings(path: str) -> Settings:
    """Read the club's settings from a file; without a name those of a club that has set nothing.

    Raises ``ConfigError`` where they cannot be used.
    """
    from trappoint.config.settings_file import SettingsError, read_settings_file, settings_in
    from trappoint.model.settings import DEFAULTS

    if not path:
        return DEFAULTS
    try:
        return settings_in(read_settings_file(path), path) or DEFAULTS
    except SettingsError as error:
        raise ConfigError(str(error)) from None
