"""Settings from the environment, and the errors for unusable ones."""

from __future__ import annotations

import subprocess
import sys
from dataclasses import fields
from pathlib import Path

import pytest

from trappoint_service.config import PREFIX, Config, ConfigError, read_config

README = Path(__file__).parents[2] / "service" / "README.md"


def test_nothing_set() -> None:
    assert read_config({"PATH": "/bin", "TRAPPOINT": "x"}) == Config()


def test_every_thread_is_counted() -> None:
    config = Config(threads=30, workers=3, long_workers=4, long_places=5)
    assert config.quick_places == 30 - 4 - 3 - 4 - 5


def test_everything_set(tmp_path: Path) -> None:
    settings = tmp_path / "trappoint.toml"
    settings.write_text("[choices]\noverlap = true\n", "utf-8")
    values = {
        "HOST": "0.0.0.0",  # noqa: S104 # only read, not listened on
        "PORT": "1",
        "THREADS": "30",
        "CONNECTIONS": "11",
        "HEADER_SECONDS": "12",
        "TRANSFER_SECONDS": "13",
        "IDLE_SECONDS": "14",
        "STOP_SECONDS": "15",
        "WORKERS": "4",
        "LONG_WORKERS": "5",
        "LONG_PLACES": "6",
        "QUICK_SECONDS": "1.5",
        "DEADLINE_SECONDS": "2.5",
        "WAIT_SECONDS": "0",
        "MEMORY_MB": "0",
        "CORS_ORIGINS": "https://a.example, http://b.example:81",
        "HOSTS": "a.example, .b.example",
        "PROXIES": "1",
        "LOG_REQUESTS": "true",
        "METRICS": "anyone",
        "SETTINGS": str(settings),
    }
    assert read_config({PREFIX + key: value for key, value in values.items()}) == Config(
        host="0.0.0.0",  # noqa: S104
        port=1,
        threads=30,
        connections=11,
        header_seconds=12.0,
        transfer_seconds=13.0,
        idle_seconds=14.0,
        stop_seconds=15.0,
        workers=4,
        long_workers=5,
        long_places=6,
        quick_seconds=1.5,
        deadline_seconds=2.5,
        wait_seconds=0.0,
        memory_mb=0,
        cors_origins=("https://a.example", "http://b.example:81"),
        hosts=("a.example", ".b.example"),
        proxies=1,
        log_requests=True,
        metrics="anyone",
        settings=str(settings),
    )


@pytest.mark.parametrize(
    ("name", "value", "said"),
    [
        ("PORT", "http", "must be a whole number from 0 to 65535, not 'http'"),
        ("PORT", "65536", "must be a whole number from 0 to 65535, not '65536'"),
        ("WORKERS", "0", "must be a whole number from 1 to 64"),
        ("WORKERS", "2.5", "must be a whole number"),
        (
            "THREADS",
            "17",
            "must be at least 18, not 17: 2 for checks (WORKERS) and as",
        ),
        ("LONG_PLACES", "60", "THREADS must be at least 70, not 64"),
        ("DEADLINE_SECONDS", "nan", "must be a number from 0.1 to 600"),
        ("MEMORY_MB", "5", "must be 0 (no limit) or at least 128"),
        ("LOG_REQUESTS", "yes", "must be true or false, not 'yes'"),
        ("CORS_ORIGINS", "plans.example", "must be * or origins such as https://plans.example"),
        ("CORS_ORIGINS", "https://a.example/x", "must be * or origins"),
        ("HOSTS", "https://plans.example", "must be names such as plans.example"),
        ("HOSTS", "plans.example:8080", "without a port"),
        ("METRICS", "me", "must be local, anyone or nobody, not 'me'"),
        ("HOST", "", "is empty"),
        ("SETTINGS", "/nowhere/trappoint.toml", "/nowhere/trappoint.toml: this cannot be read"),
        (
            "WORKER",
            "2",
            "The setting TRAPPOINT_SERVE_WORKER is unknown. Is TRAPPOINT_SERVE_WORKERS",
        ),
        ("XYZZY", "1", "Known: TRAPPOINT_SERVE_HOST, TRAPPOINT_SERVE_PORT"),
    ],
)
def test_what_can_not_be_used(name: str, value: str, said: str) -> None:
    with pytest.raises(ConfigError) as raised:
        read_config({PREFIX + name: value})
    assert said in str(raised.value)


def test_club_settings_that_can_not_be_used(tmp_path: Path) -> None:
    settings = tmp_path / "trappoint.toml"
    settings.write_text("[levels]\nunheld-exit = 'note'\n", "utf-8")
    with pytest.raises(ConfigError, match=r"TRAPPOINT_SERVE_SETTINGS: .*cannot be changed"):
        read_config({PREFIX + "SETTINGS": str(settings)})


def test_every_setting_is_documented() -> None:
    text = README.read_text("utf-8")
    for field in fields(Config):
        assert f"`{PREFIX}{field.name.upper()}`" in text


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--port", "x"], "TRAPPOINT_SERVE_PORT must be a whole number"),
        (["--host", "256.0.0.1"], "256.0.0.1:8080 cannot be used"),
    ],
)
def test_the_command_says_what_can_not_be_used(words: list[str], said: str) -> None:
    done = subprocess.run(
        [sys.executable, "-m", "trappoint", "serve", *words],
        capture_output=True,
        text=True,
        check=False,
        timeout=30,
    )
    assert (done.returncode, done.stdout) == (2, "")
    assert said in done.stderr
    assert "Traceback" not in done.stderr
