"""A bench that runs git with its own settings."""

from __future__ import annotations

import os
import sys
from pathlib import Path

from hooks.clubs import Bench

SETTINGS = (
    "[user]\nname = Signals\nemail = signals@example.org\n"
    "[init]\ndefaultBranch = main\n[advice]\ndefaultBranchName = false\n"
)


def bare_bench(folder: Path) -> Bench:
    """Return a bench whose git ignores the settings of the person who runs the tests."""
    settings = folder / "gitconfig"
    settings.write_text(SETTINGS, "utf-8")
    kept = {name: value for name, value in os.environ.items() if not name.startswith("GIT_")}
    env = kept | {
        "GIT_CONFIG_GLOBAL": str(settings),
        "GIT_CONFIG_NOSYSTEM": "1",
        "PRE_COMMIT_HOME": str(folder / "pre-commit"),
        "PRE_COMMIT_COLOR": "never",
        "PATH": os.pathsep.join([str(Path(sys.executable).parent), os.environ["PATH"]]),
    }
    return Bench(folder, "", env, folder)
