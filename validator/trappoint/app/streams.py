"""Standard output and standard error, written without tracebacks."""

from __future__ import annotations

import os
import sys
from io import TextIOWrapper

from trappoint.core.errors import reason_of


class NotWritten(Exception):  # noqa: N818 - the name says what happened
    """Raised when output cannot be written, for example on a full disk."""


class Streams:
    """Writes results to standard output and errors to standard error.

    Characters that an encoding lacks become escapes. If the reader closes the pipe (``| head``),
    the rest is dropped and the exit code stays the same.
    """

    def __init__(self) -> None:
        self._gone = sys.stdout is None
        for stream in (sys.stdout, sys.stderr):
            if isinstance(stream, TextIOWrapper):
                stream.reconfigure(errors="backslashreplace")

    @property
    def encoding(self) -> str:
        """The encoding of standard output."""
        return getattr(sys.stdout, "encoding", None) or "utf-8"

    def colour(self, wish: str) -> bool:
        """Return whether to print in colour; ``wish`` is ``always``, ``never`` or ``auto``.

        ``auto``: on a terminal that is not dumb, unless NO_COLOR is set and not empty (the
        convention of no-color.org, by which an option overrides the variable).
        """
        if wish != "auto":
            return wish == "always"
        if os.environ.get("NO_COLOR") or os.environ.get("TERM", "") == "dumb":
            return False
        if sys.platform == "win32" and "WT_SESSION" not in os.environ:
            return False  # older consoles print the codes themselves
        return sys.stdout is not None and sys.stdout.isatty()

    def width(self, most: int) -> int:
        """Return the width in columns: ``most``, or less on a narrower terminal."""
        if sys.stdout is not None and sys.stdout.isatty():
            try:
                columns = os.get_terminal_size(sys.stdout.fileno()).columns
            except (OSError, ValueError):
                return most
            return min(most, max(columns, 40)) if columns else most
        return most

    def say(self, text: str) -> None:
        """Write to standard output. Raises NotWritten if that fails."""
        if self._gone:
            return
        try:
            sys.stdout.write(text)
        except OSError as error:
            self._give_up(error)

    def say_bytes(self, content: bytes) -> None:
        """Write bytes to standard output unchanged. Raises NotWritten if that fails."""
        self.flush()
        if self._gone:
            return
        try:
            sys.stdout.buffer.write(content)
        except OSError as error:
            self._give_up(error)

    def complain(self, text: str) -> None:
        """Write a line to standard error, after all earlier output."""
        try:
            self.flush()
        except NotWritten:
            self._gone = True
        try:
            print(text, file=sys.stderr, flush=True)  # noqa: T201 - the one place that may
        except (OSError, AttributeError):
            return

    def flush(self) -> None:
        """Flush standard output. Raises NotWritten if that fails."""
        if self._gone:
            return
        try:
            sys.stdout.flush()
        except OSError as error:
            self._give_up(error)

    def close(self) -> None:
        """Flush standard output; ignore an error."""
        try:
            self.flush()
        except (NotWritten, KeyboardInterrupt):
            return

    def _give_up(self, error: OSError) -> None:
        self._gone = True
        try:
            # At its end the interpreter flushes the stream, and would print an error.
            nowhere = os.open(os.devnull, os.O_WRONLY)
            os.dup2(nowhere, sys.stdout.fileno())
            os.close(nowhere)
        except (OSError, ValueError):
            pass
        if not isinstance(error, BrokenPipeError):
            raise NotWritten(f"the output cannot be written: {reason_of(error)}.") from None
