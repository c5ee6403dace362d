"""Work shared among processes that end at once, and silently, on Ctrl-C.

The executors of the standard library share queues and locks among their processes: if one ends
while it works, the others may wait for ever. Here each process has its own pipe, and can end at any
time.
"""

from __future__ import annotations

import signal
import threading
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any, Generic, NamedTuple, TypeVar

from trappoint.app.exit_codes import INTERNAL_ERROR
from trappoint.core.errors import NoAnswer

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence
    from multiprocessing.connection import Connection
    from multiprocessing.process import BaseProcess

Item = TypeVar("Item")
Result = TypeVar("Result")


class _Worker(NamedTuple):
    process: BaseProcess
    pipe: Connection


def share_out(
    work: Callable[[Item], Result], items: Sequence[Item], processes: int
) -> Iterator[Result]:
    """Yield ``work(item)`` for each item, in order, computed by several processes at a time.

    ``work`` raises nothing; items and results can be pickled. Ctrl-C takes effect between two steps
    of this function only, and ends all processes. Raises ``NoAnswer`` if something else ended a
    process, and ``KeyboardInterrupt``.
    """
    interrupts = _Interrupts()
    crew = _Crew(work, items, processes, interrupts.pressed)
    interrupts.keep()
    try:
        for result in crew.results():
            interrupts.let_through()
            yield result
            interrupts.keep()
    finally:
        interrupts.keep()
        crew.end()
        interrupts.end()


class _Crew(Generic[Item, Result]):
    """The processes, and the items that each works on."""

    def __init__(
        self,
        work: Callable[[Item], Result],
        items: Sequence[Item],
        processes: int,
        interrupts: Connection,
    ) -> None:
        self._work = work
        self._items = items
        self._processes = processes
        self._interrupts = interrupts
        """Readable after Ctrl-C."""
        self._size = max(1, min(4, len(items) // (4 * processes)))
        self._workers: list[_Worker] = []
        self._at: dict[Connection, int] = {}
        """From the pipe of a process to the number of the first item that it works on."""

    def results(self) -> Iterator[Result]:
        """Yield the results in the order of the items."""
        done: dict[int, list[Result]] = {}
        given, wanted = 0, 0
        self._start()
        idle = [worker.pipe for worker in self._workers]
        while wanted < len(self._items):
            # Limit the results that wait for an earlier one.
            while idle and given < min(len(self._items), wanted + 64 * self._processes):
                pipe = idle.pop()
                pipe.send(self._items[given : given + self._size])
                self._at[pipe] = given
                given += self._size
            for pipe, results in self._received():
                done[self._at.pop(pipe)] = results
                idle.append(pipe)
            while wanted in done:
                results = done.pop(wanted)
                yield from results
                wanted += len(results)

    def _start(self) -> None:
        import multiprocessing

        for _ in range(self._processes):
            ours, theirs = multiprocessing.Pipe()
            process = multiprocessing.Process(
                target=_work_on, args=(theirs, self._work), daemon=True
            )
            self._workers.append(_Worker(process, ours))
            with _deaf_to_interrupts():
                process.start()
            theirs.close()

    def _received(self) -> Iterator[tuple[Connection, list[Result]]]:
        """Wait for results, and yield each with its pipe."""
        from multiprocessing.connection import wait

        ready = wait([*self._at, self._interrupts])
        if self._interrupts in ready:
            raise KeyboardInterrupt
        for pipe in list(self._at):
            if pipe in ready:
                yield pipe, self._receive(pipe)

    def _receive(self, pipe: Connection) -> list[Result]:
        try:
            results: list[Result] = pipe.recv()
        except (EOFError, OSError):
            first = self._items[self._at[pipe]]
            raise NoAnswer(
                f"trappoint: the system ended a process, at or after "
                f"{getattr(first, 'name', first)}. Memory may be short: try fewer --jobs.",
                INTERNAL_ERROR,
            ) from None
        return results

    def end(self) -> None:
        """End all processes at once."""
        for worker in self._workers:
            worker.pipe.close()
            if worker.process.pid is not None:
                worker.process.kill()
        for worker in self._workers:
            if worker.process.pid is not None:
                worker.process.join()


def _work_on(pipe: Connection, work: Callable[[Any], Any]) -> None:
    """Answer the items from a pipe until it is closed."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # the first process gets it, and ends this one
    try:
        while True:
            pipe.send([work(item) for item in pipe.recv()])
    except (EOFError, OSError):
        return


@contextmanager
def _deaf_to_interrupts() -> Iterator[None]:
    """Start processes that Ctrl-C never reaches, not even while they start."""
    if not hasattr(signal, "pthread_sigmask"):  # Windows
        yield
        return
    before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)


class _Interrupts:
    """Delays Ctrl-C until the program waits for it.

    At any other point, ``KeyboardInterrupt`` could leave processes half started, or get lost in a
    hook of the interpreter that can only print it.
    """

    def __init__(self) -> None:
        import multiprocessing

        self.pressed, self._press = multiprocessing.Pipe(duplex=False)
        """``pressed`` is readable after Ctrl-C."""
        self._before = signal.getsignal(signal.SIGINT)
        self._ours = (
            threading.current_thread() is threading.main_thread()
            and self._before is signal.default_int_handler
        )

    def keep(self) -> None:
        """Only record Ctrl-C from now on."""
        if self._ours:
            signal.signal(signal.SIGINT, self._note)

    def let_through(self) -> None:
        """Let Ctrl-C interrupt as usual."""
        if self._ours:
            signal.signal(signal.SIGINT, self._before)

    def end(self) -> None:
        """Restore the handler, and close the pipe."""
        self.let_through()
        self.pressed.close()
        self._press.close()

    def _note(self, _signal: int, _frame: object) -> None:
        self._press.send_bytes(b"^C")
