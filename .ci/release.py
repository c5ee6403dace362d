#!/usr/bin/env python3
"""Build a release and try it; with --tag, tag it. Nothing is pushed or uploaded.

The tree must be clean, and CHANGELOG.md must have a dated entry for the version. The wheel and the
sdist are each installed in a new virtual environment outside the checkout and tried there.
"""

from __future__ import annotations

import argparse
import json
import os
import re
import subprocess
import sys
import tarfile
import threading
import urllib.request
import venv
import zipfile
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import NoReturn

ROOT = Path(__file__).resolve().parents[1]
VERSION_FILE = ROOT / "validator" / "trappoint" / "core" / "version.py"
CHANGELOG = ROOT / "CHANGELOG.md"

IN_SDIST = ("README.md", "DEVELOPERS.md", "CHANGELOG.md", "LICENSE", "pyproject.toml")
"""Files that the sdist must hold, besides every tracked file in FOLDERS."""

FOLDERS = ("schema", "validator", "service", "hooks", "tests", "examples")

IN_WHEEL = (
    "trappoint/py.typed",
    "trappoint/data/layout.schema.json",
    "trappoint/data/store.schema.json",
    "trappoint_service/__init__.py",
    "trappoint_hooks/__init__.py",
)

PROBE = """
import json, sys
from pathlib import Path
import trappoint
from trappoint.core.resources import read_resource
from trappoint.schema.published import layout_schema
good, bad = "kelpie-quay.layout.json", "slips/siding-signal-forgotten.layout.json"
for name in (good, bad):
    Path(Path(name).name).write_text(read_resource(name), "utf-8")
print(json.dumps({
    "where": trappoint.__file__,
    "schema": layout_schema()["$id"],
    "missing": [name for name in trappoint.__all__ if not hasattr(trappoint, name)],
    "good": trappoint.check(good).holds,
    "bad": trappoint.check(Path(bad).name).holds,
}))
"""
"""A program for the installed copy to run in an empty folder; it writes two plans there."""

SECONDS = 60
"""Time limit for the service to start and to answer, in seconds."""


def main() -> None:
    """Check, build, try, and tag if `--tag` is given."""
    parser = argparse.ArgumentParser(".ci/release.py", description=__doc__)
    parser.add_argument("--tag", action="store_true", help="tag the commit vVERSION at the end")
    parser.add_argument(
        "--out", type=Path, default=ROOT / "dist", help="folder of the built files (default: dist)"
    )
    options = parser.parse_args()
    out: Path = options.out.resolve()
    version = read_version()
    entry = check_tree(version, tag=options.tag)
    # Workers of the service can write for a moment after the service has ended.
    with TemporaryDirectory(prefix="release-", ignore_cleanup_errors=True) as name:
        folder = Path(name)
        wheel, sdist = build(folder, out, version)
        check_contents(wheel, sdist)
        for built in (wheel, sdist):
            try_out(built, folder / built.suffix.strip("."), version)
    check_clean()
    print(f"\n{wheel}\n{sdist}\nBoth can be installed and work.")
    if options.tag:
        text = f"Trappoint {version}\n\n{entry}"
        git("tag", "--annotate", "--cleanup=whitespace", f"v{version}", "--message", text)
        print(f"Tagged v{version}. Push the tag and upload the files yourself.")
    else:
        print(f"Not tagged: --tag makes the tag v{version}.")


def read_version() -> str:
    """Return the program's version."""
    found = re.search(r'^__version__ = "(\d+\.\d+\.\d+)"$', VERSION_FILE.read_text("utf-8"), re.M)
    if found is None:
        stop(f"{VERSION_FILE.relative_to(ROOT)} has no version of the form 1.2.3.")
    return found[1]


def check_tree(version: str, *, tag: bool) -> str:
    """Return the version's entry in the changelog; stop if this commit cannot be released."""
    say(f"check that {version} can be released")
    check_clean()
    entry = entry_of(version)
    if tag and git("tag", "--list", f"v{version}"):
        stop(f"The tag v{version} exists already.")
    return entry


def check_clean() -> None:
    """Stop if git reports a changed or an untracked file."""
    changed = git("status", "--porcelain")
    if changed:
        stop(f"The tree is not clean:\n{changed}")


def entry_of(version: str) -> str:
    """Return a version's entry in the changelog; stop if there is none."""
    parts = re.split(r"^## ", CHANGELOG.read_text("utf-8"), flags=re.M)
    heading, _, entry = (parts[1] if len(parts) > 1 else "").partition("\n")
    if not re.fullmatch(rf"{re.escape(version)} \(\d{{4}}-\d\d-\d\d\)", heading):
        wanted = f"{version} (YEAR-MONTH-DAY)"
        stop(f"The first heading of {CHANGELOG.name} is {heading!r}, not {wanted!r}.")
    if not re.search(r"^- \S", entry, re.M):
        stop(f"The entry for {version} in {CHANGELOG.name} lists no change.")
    return entry.strip()


def build(folder: Path, out: Path, version: str) -> tuple[Path, Path]:
    """Build the sdist, and the wheel from it; return the wheel and the sdist."""
    say("build the wheel and the sdist")
    python = environment(folder / "build", "build")
    run(python, "-m", "build", "--outdir", str(out), str(ROOT), cwd=folder)
    wheel, sdist = (
        out / f"trappoint-{version}-py3-none-any.whl",
        out / f"trappoint-{version}.tar.gz",
    )
    for built in (wheel, sdist):
        if not built.is_file():
            stop(f"{built.name} was not built.")
    return wheel, sdist


def check_contents(wheel: Path, sdist: Path) -> None:
    """Stop if the wheel or the sdist lacks a file."""
    say("check their files")
    tracked = git("ls-files", "-z", "--", *FOLDERS).strip("\0").split("\0")
    with tarfile.open(sdist) as archive:
        held = {name.partition("/")[2] for name in archive.getnames()}
    absent(sdist, [*IN_SDIST, *tracked], held)
    with zipfile.ZipFile(wheel) as packed:
        inside = set(packed.namelist())
    packages = re.compile(r"(?:validator|service|hooks)/(.+\.py)")
    modules = [found[1] for name in tracked if (found := packages.fullmatch(name))]
    absent(wheel, [*IN_WHEEL, *modules], inside)
    stray = {name.partition("/")[0] for name in inside} & {*FOLDERS}
    if stray:
        stop(f"{wheel.name} would install {', '.join(sorted(stray))} as packages.")


def absent(built: Path, wanted: list[str], held: set[str]) -> None:
    """Stop if a built file lacks one of the wanted files."""
    missing = [name for name in wanted if name not in held]
    if missing:
        more = f" and {len(missing) - 5} more" if len(missing) > 5 else ""
        stop(f"{built.name} lacks {', '.join(missing[:5])}{more}.")


def try_out(built: Path, folder: Path, version: str) -> None:
    """Install a built file in a new virtual environment and use it there."""
    say(f"try {built.name}")
    python = environment(folder / "venv", str(built))
    program = str(Path(python).with_name("trappoint"))
    empty = folder / "empty"
    empty.mkdir()
    probed = json.loads(run(python, "-c", PROBE, cwd=empty))
    if not Path(probed.pop("where")).is_relative_to(folder):
        stop("The copy that was tried is not the installed one.")
    expect(
        "the installed library", probed,
        {"schema": "urn:trappoint:layout:1", "missing": [], "good": True, "bad": False},
    )  # fmt: skip
    expect("--version", run(program, "--version", cwd=empty), f"trappoint {version}\n")
    run(program, "check", "kelpie-quay.layout.json", cwd=empty)
    run(program, "check", "siding-signal-forgotten.layout.json", cwd=empty, code=1)
    run(program, "table", "kelpie-quay.layout.json", cwd=empty)
    run(program, "serve", cwd=empty, code=2)  # it names the missing extra
    install(python, f"trappoint[service] @ {built.as_uri()}", cwd=empty)
    try_service(program, empty)


def try_service(program: str, folder: Path) -> None:
    """Start the service, ask it to check a plan, and end it."""
    words = [program, "serve", "--port", "0"]
    pipe = subprocess.PIPE
    with subprocess.Popen(words, cwd=folder, env=clean_environment(), stdout=pipe) as process:
        watchdog = threading.Timer(SECONDS, process.kill)
        watchdog.start()
        try:
            first_line = process.stdout.readline().decode() if process.stdout else ""
            address = re.search(r"http://127\.0\.0\.1:\d+/", first_line)
            if address is None:
                stop(f"The service does not print its address but {first_line!r}.")
            ask(address[0])
            ask(f"{address[0]}healthz")
            plan = (folder / "kelpie-quay.layout.json").read_bytes()
            report = json.loads(ask(f"{address[0]}api/v1/check", plan))
            expect("the service's verdict", report["files"][0]["holds"], True)
        except OSError as error:
            stop(f"The service does not answer: {error}.")
        finally:
            watchdog.cancel()
            process.terminate()


def ask(address: str, body: bytes | None = None) -> bytes:
    """Return the answer of the service; post ``body`` if one is given."""
    headers = {"Content-Type": "application/json"}
    request = urllib.request.Request(address, body, headers)  # noqa: S310 - it begins with http:
    with urllib.request.urlopen(request) as answer:  # noqa: S310
        content: bytes = answer.read()
    return content


def environment(folder: Path, *wanted: str) -> str:
    """Make a virtual environment, install packages there, and return its Python."""
    venv.create(folder, with_pip=True)
    python = str(folder / "bin" / "python")
    install(python, *wanted, cwd=folder)
    return python


def install(python: str, *wanted: str, cwd: Path) -> None:
    """Install into a virtual environment."""
    run(python, "-m", "pip", "install", "--quiet", "--disable-pip-version-check", *wanted, cwd=cwd)


def clean_environment() -> dict[str, str]:
    """Return this process's environment without the variables that redirect Python."""
    return {
        name: value
        for name, value in os.environ.items()
        if not name.startswith("PYTHON") and name != "VIRTUAL_ENV"
    }


def run(*words: str, cwd: Path, code: int = 0) -> str:
    """Run a command that must exit with ``code``; return its standard output."""
    done = subprocess.run(
        words, cwd=cwd, env=clean_environment(), capture_output=True, text=True, check=False
    )
    if done.returncode != code:
        stop(f"{' '.join(words)}\nexits with {done.returncode}:\n{done.stdout}{done.stderr}")
    return done.stdout


def git(*words: str) -> str:
    """Run git in the checkout; return its output."""
    return run("git", "-C", str(ROOT), *words, cwd=ROOT).rstrip("\n")


def expect(what: str, found: object, wanted: object) -> None:
    """Stop if a result is not the expected one."""
    if found != wanted:
        stop(f"{what}: {found!r}, not {wanted!r}.")


def say(text: str) -> None:
    """Print a heading."""
    print(f"\n== {text}", flush=True)


def stop(why: str) -> NoReturn:
    """Exit with an error message."""
    sys.exit(f"release: {why}")


if __name__ == "__main__":
    main()
