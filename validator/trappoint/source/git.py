"""Run git: start it, set its environment variables, read its output.

Git never asks for a password. Each function that waits for the output waits at most
``MAX_SECONDS``.
"""

from __future__ import annotations

import os
import shlex
from contextlib import contextmanager
from contextvars import ContextVar
from typing import TYPE_CHECKING

from trappoint.core.errors import reason_of

if TYPE_CHECKING:
    from collections.abc import Iterator
    from subprocess import Popen

MAX_SECONDS = 600
"""Time limit for one git command, in seconds."""

_OF_A_REPOSITORY = ("GIT_DIR", "GIT_WORK_TREE", "GIT_INDEX_FILE", "GIT_PREFIX")
"""The environment variables by which git names the repository to its hooks."""

_ALONE = {"GIT_ALLOW_PROTOCOL": "none", "GIT_NO_LAZY_FETCH": "1", "GIT_OPTIONAL_LOCKS": "0"}
_IS_ALONE = ContextVar("is_alone", default=False)


class GitError(Exception):
    """A git command failed. The message is a sentence."""


class GitRefusalError(GitError):
    """Git ran and returned an error."""


class GitMissingError(GitError):
    """Git is not installed."""


@contextmanager
def without_fetching() -> Iterator[None]:
    """Let git answer from its own disk alone, against any settings of the repository.

    A hostile repository can lack an object and name any program that fetches it.
    """
    before = _IS_ALONE.set(True)
    try:
        yield
    finally:
        _IS_ALONE.reset(before)


def ask_git(
    *words: str,
    folder: str | None = None,
    any_repository: bool = False,
    given: str | None = None,
) -> str:
    """Return the output of a git command as text. Raises ``GitError`` if the command fails.

    The command runs in ``folder`` (default: the current folder). In a hook it uses the hook's
    repository; with ``any_repository`` it uses the repository of the folder instead. ``given`` is
    the text for its standard input.
    """
    from subprocess import PIPE, TimeoutExpired

    stdin = None if given is None else PIPE
    process = _start(words, folder, any_repository=any_repository, stdin=stdin, stderr=PIPE)
    with process:
        try:
            content, said = process.communicate(
                None if given is None else os.fsencode(given), timeout=MAX_SECONDS
            )
        except TimeoutExpired:
            process.kill()
            raise GitError(f"git does not answer `{_shown(words)}`.") from None
        except BaseException:
            process.kill()
            raise
    if process.returncode:
        first = os.fsdecode(said).strip().split("\n")[0]
        raise GitRefusalError(f"git says: {first}" if first else f"`{_shown(words)}` failed.")
    return os.fsdecode(content)


def try_git(*words: str, folder: str | None = None, any_repository: bool = False) -> str | None:
    """Return the output of a git command as text; None if it fails or git is not installed."""
    try:
        return ask_git(*words, folder=folder, any_repository=any_repository)
    except GitError:
        return None


def read_from_git(*words: str, most: int, folder: str | None = None) -> bytes | None:
    """Return the output of a git command, at most ``most`` bytes; None if the command fails.

    The command uses the repository of ``folder`` (default: the current one). Raises
    ``GitMissingError`` if git is not installed.
    """
    from subprocess import DEVNULL
    from threading import Timer

    try:
        process = _start(words, folder, any_repository=folder is not None, stderr=DEVNULL)
    except GitMissingError:
        raise
    except GitError:
        return None
    with process:
        if process.stdout is None:
            return None
        watch = Timer(MAX_SECONDS, process.kill)
        watch.start()
        try:
            content: bytes = process.stdout.read(most)
        finally:
            watch.cancel()
        if len(content) == most:
            process.kill()
            return content
    return content if process.returncode == 0 else None


def talk_to_git(*words: str, folder: str | None = None) -> Popen[bytes]:
    """Start a git command that answers many questions; return its process.

    The command uses the repository of ``folder`` (default: the current one). Its errors go to
    standard error. Raises ``GitError`` if git cannot be started.
    """
    from subprocess import PIPE

    return _start(words, folder, any_repository=folder is not None, stdin=PIPE, stderr=None)


def _start(
    words: tuple[str, ...],
    folder: str | None,
    *,
    any_repository: bool,
    stdin: int | None = None,
    stderr: int | None,
) -> Popen[bytes]:
    from subprocess import DEVNULL, PIPE, Popen

    try:
        return Popen(  # noqa: S603 - the words are git's own, or follow a colon
            ["git", *(() if folder is None else ("-C", folder)), *words],  # noqa: S607
            env=_environment(any_repository=any_repository),
            stdin=DEVNULL if stdin is None else stdin,
            stdout=PIPE,
            stderr=stderr,
        )
    except FileNotFoundError as error:
        raise GitMissingError(f"git cannot be started: {reason_of(error)}.") from None
    except OSError as error:
        raise GitError(f"git cannot be started: {reason_of(error)}.") from None
    except ValueError:  # a NUL in a word
        raise GitError(f"git cannot be asked `{_shown(words)}`.") from None


def _environment(*, any_repository: bool) -> dict[str, str]:
    """Return the environment variables for git.

    All variables are passed on unchanged, except, with ``any_repository``, those that name a
    repository. A hook needs the rest to find the objects of a push that git has not accepted yet.
    """
    left_out = _OF_A_REPOSITORY if any_repository else ()
    around = {name: value for name, value in os.environ.items() if name not in left_out}
    return {**around, "GIT_TERMINAL_PROMPT": "0", **(_ALONE if _IS_ALONE.get() else {})}


def _shown(words: tuple[str, ...]) -> str:
    return f"git {shlex.join(words)}"
