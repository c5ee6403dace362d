"""Standard output and standard error, written so that nothing can go wrong with a traceback."""

from __future__ import annotations

import os
import sys
from io import TextIOWrapper

from trappoint.core.errors import reason_of


class NotWritten(Exception):  # noqa: N818 - it names what was met, as the message does
    """Output that could not be written: a full disk, for instance."""


class Streams:
    """Writes results to standard output and complaints to standard error.

    Characters that an encoding lacks are written as escapes. A reader that has gone away
    (``| head``) is no fault: the rest is dropped, and the exit code stays what it would have been.
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
        """Return whether to colour: ``always``, ``never``, or ``auto``.

        ``auto``: on a terminal that is not dumb, unless NO_COLOR is set and not empty
        (the convention of no-color.org, by which an explicit wish goes before the variable).
        """
        if wish != "auto":
            return wish == "always"
        if os.environ.get("NO_COLOR") or os.environ.get("TERM", "") == "dumb":
            return False
        if sys.platform == "win32" and "WT_SESSION" not in os.environ:
            return False  # older consoles print the codes themselves
        return sys.stdout is not None and sys.stdout.isatty()

    def width(self, most: int) -> int:
        """Return the columns to write in: fewer than ``most`` only on a narrower terminal."""
        if sys.stdout is not None and sys.stdout.isatty():
            try:
                columns = os.get_terminal_size(sys.stdout.fileno()).columns
            except (OSError, ValueError):
                return most
            return min(most, max(columns, 40)) if columns else most
        return most

    def say(self, text: str) -> None:
        """Write to standard output. Raises NotWritten where it does not take it."""
        if self._gone:
            return
        try:
            sys.stdout.write(text)
        except OSError as error:
            self._give_up(error)

    def say_bytes(self, content: bytes) -> None:
        """Write a file's content to standard output as it is, whatever the encoding.

        Raises NotWritten where it is not taken.
        """
        self.flush()
        if self._gone:
            return
        try:
            sys.stdout.buffer.write(content)
        except OSError as error:
            self._give_up(error)

    def complain(self, text: str) -> None:
        """Write a line to standard error, after all that was said before it."""
        try:
            self.flush()
        except NotWritten:
            self._gone = True
        try:
            print(text, file=sys.stderr, flush=True)  # noqa: T201 - the one place that may
        except (OSError, AttributeError):
            return

    def flush(self) -> None:
        """Send on what is still held back. Raises NotWritten where it is not taken."""
        if self._gone:
            return
        try:
            sys.stdout.flush()
        except OSError as error:
            self._give_up(error)

    def close(self) -> None:
        """Send on what is still held back, and say nothing where that fails."""
        try:
            self.flush()
        except (NotWritten, KeyboardInterrupt):
            return

    def _give_up(self, error: OSError) -> None:
        self._gone = True
        try:
            # The interpreter writes out what is held back when it ends, and would complain.
            nowhere = os.open(os.devnull, os.O_WRONLY)
            os.dup2(nowhere, sys.stdout.fileno())
            os.close(nowhere)
        except (OSError, ValueError):
            pass
        if not isinstance(error, BrokenPipeError):
            raise NotWritten(f"the output cannot be written: {reason_of(error)}.") from None
