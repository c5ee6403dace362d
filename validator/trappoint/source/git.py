"""Calling git: how it is started, what it is told of the surroundings, how its answers are read.

Git asks nobody anything here: it gets no input, and no terminal to ask for a password. Whoever
waits for its answer waits ``MAX_SECONDS`` at most.
"""

from __future__ import annotations

import os
import shlex
from typing import TYPE_CHECKING

from trappoint.core.errors import reason_of

if TYPE_CHECKING:
    from subprocess import Popen

MAX_SECONDS = 600
"""The longest time that one answer may take; even the history of a large repository takes less."""

_OF_A_REPOSITORY = ("GIT_DIR", "GIT_WORK_TREE", "GIT_INDEX_FILE", "GIT_PREFIX")
"""The variables by which git tells its hooks which repository they are called for."""


class GitError(Exception):
    """Git could not do what it was asked to. The message is a sentence."""


class GitRefusalError(GitError):
    """Git ran, and failed or refused."""


class GitMissingError(GitError):
    """The program git is not there."""


def ask_git(
    *words: str,
    folder: str | None = None,
    any_repository: bool = False,
    given: str | None = None,
) -> str:
    """Return what git answers, as text. Raises ``GitError`` where it fails.

    It is asked in the current folder or in ``folder``. A hook's own repository goes before that of
    the folder, unless ``any_repository`` says that the folder's is meant, whichever that is.
    ``given`` is what it reads from standard input.
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
    """Return what git answers, as text; None if it fails or is not there."""
    try:
        return ask_git(*words, folder=folder, any_repository=any_repository)
    except GitError:
        return None


def read_from_git(*words: str, most: int) -> bytes | None:
    """Return what git answers, at most so many bytes; None if it fails.

    Raises ``GitMissingError`` where git is not there.
    """
    from subprocess import DEVNULL
    from threading import Timer

    try:
        process = _start(words, None, any_repository=False, stderr=DEVNULL)
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
    """Start git so that it can be asked again and again; its complaints go to standard error.

    It is asked about the repository of the current folder, or about that of ``folder``. Raises
    ``GitError`` where it cannot be started.
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
    """Return the variables that git gets.

    They are passed on as they are: in a hook they tell git where a push that is not taken yet
    keeps its objects.
    """
    left_out = _OF_A_REPOSITORY if any_repository else ()
    around = {name: value for name, value in os.environ.items() if name not in left_out}
    return {**around, "GIT_TERMINAL_PROMPT": "0"}


def _shown(words: tuple[str, ...]) -> str:
    return f"git {shlex.join(words)}"
