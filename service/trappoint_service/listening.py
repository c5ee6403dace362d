"""The sockets of ``trappoint serve``, and the choice of connections to close for others.

Places are connections, and memory for what is half sent or half read. Where they run out, the
address that holds the most gives up that of its connections which has waited longest for its
client. If all wait for the service, it is the newest of those whose request has no thread yet.
"""

from __future__ import annotations

import socket
import time
from collections import Counter, deque
from typing import TYPE_CHECKING

from waitress.server import TcpWSGIServer
from waitress.task import ThreadedTaskDispatcher

from trappoint_service.connections import PHASES, SEND_BUFFER_BYTES, Channel, Crowded, TimedOut
from trappoint_service.counters import Family, Samples
from trappoint_service.monitoring import PROBES

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from typing import Any

    from waitress.adjustments import Adjustments

    from trappoint_service.config import Config
    from trappoint_service.counters import Counters

HELD_BYTES = 256 * 1024 * 1024
"""Most bytes of requests and answers in memory."""

ACCEPTS = 64
"""Connections to accept between two looks at the open ones."""

SWEEP_SECONDS = 1.0
SWEEP_BYTES = 16 * 1024 * 1024
"""Seconds and received bytes between two looks at all connections."""


REASONS = (*(f"late-{phase}" for phase in PHASES if phase != "busy"), "crowded", "memory")
"""Reasons for closing connections that their clients left open."""


class FairQueue:
    """Requests that wait for a thread; the clients take turns."""

    def __init__(self, proxies: int) -> None:
        self._proxies = proxies
        self._lines: dict[str, deque[Channel]] = {}

    def append(self, channel: Channel) -> None:
        """Add a request to the end of its client's queue."""
        self._lines.setdefault(channel.client(self._proxies), deque()).append(channel)

    def popleft(self) -> Channel:
        """Return the next request; its client's others go behind those of the other clients."""
        client = next(iter(self._lines))
        line = self._lines.pop(client)
        channel = line.popleft()
        if line:
            self._lines[client] = line
        return channel

    def __len__(self) -> int:
        """Return how many requests wait."""
        return sum(len(line) for line in list(self._lines.values()))


class Places:
    """All connections, on all addresses of this computer."""

    def __init__(self, config: Config, most: int, counters: Counters) -> None:
        self.config, self.most, self.counters = config, most, counters
        self.channels: dict[int, Channel] = {}
        self.ending = False
        self.held = 0
        """Known bytes in memory for clients."""
        self.closed: Counter[str] = Counter()
        """Number of connections closed by the server, by reason."""
        self.requests = ThreadedTaskDispatcher()
        self.probes = ThreadedTaskDispatcher()
        for lane in (self.requests, self.probes):
            lane.queue = FairQueue(config.proxies)
        self._swept, self._taken, self._wanted = time.monotonic(), 0, False

    def start_threads(self) -> None:
        """Start the threads that answer."""
        self.requests.set_thread_count(self.config.threads)
        self.probes.set_thread_count(1)

    def families(self) -> Iterator[Family]:
        """Yield the counters of the connections."""
        found = Counter(channel.phase for channel in list(self.channels.values()))
        phases = [({"phase": phase}, found[phase]) for phase in PHASES]
        yield Family("trappoint_connections", "gauge", "Open connections.", phases)
        closed = [({"reason": why}, self.closed[why]) for why in REASONS]
        yield Family(
            "trappoint_connections_closed", "counter", "Connections closed by the server.", closed
        )
        waiting: Samples = [({}, len(self.requests.queue))]
        yield Family("trappoint_requests_waiting", "gauge", "Requests without a thread.", waiting)
        held: Samples = [({}, self.held)]
        yield Family("trappoint_held_bytes", "gauge", "Bytes in memory for clients.", held)

    def has_room(self) -> bool:
        """Return whether there is room for one more connection."""
        return len(self.channels) < self.most or self._to_close(_one) is not None

    def full(self) -> bool:
        """Return whether all connections are in use; if so, close one.

        It goes before the loop looks at sockets again. Were it closed now, the next connection
        could get its number, and with it the events that were meant for the old one.
        """
        self._wanted = len(self.channels) >= self.most
        return self._wanted

    def take(self, number: int) -> None:
        """Count bytes that came in."""
        self._taken += number
        self.held += number

    def threads_for(self, channel: Channel) -> ThreadedTaskDispatcher:
        """Return the threads for a request."""
        request = channel.requests[0]
        probe = request.error is None and request.path in PROBES
        return self.probes if probe else self.requests

    def sweep(self) -> None:
        """Close connections that are late, or hold memory that others need."""
        if self._wanted:
            self._wanted = False
            self._close_one(_one, "crowded")
        now = time.monotonic()
        if not self.ending and now < self._swept + SWEEP_SECONDS and self._taken < SWEEP_BYTES:
            return
        self._swept, self._taken = now, 0
        for channel in list(self.channels.values()):
            phase = channel.phase
            if self.ending and phase in ("idle", "header", "closing"):
                channel.dismiss(Crowded(""))
            elif channel.late(self.config):
                self.closed[f"late-{phase}"] += 1
                channel.dismiss(TimedOut(""))
        self.held = sum(channel.held for channel in self.channels.values())
        while self.held > HELD_BYTES and (freed := self._close_one(_held, "memory")):
            self.held -= freed

    def _to_close(self, weight: Callable[[Channel], int]) -> Channel | None:
        """Return the connection that goes first; None if each address has only one at work."""
        crowds: Counter[str] = Counter()
        for channel in self.channels.values():
            crowds[channel.crowd] += weight(channel)
        left = [channel for channel in self.channels.values() if weight(channel)]
        waiting = [channel for channel in left if channel.phase != "busy"]
        if waiting:
            return min(waiting, key=lambda channel: (-crowds[channel.crowd], channel.since))
        queued = [
            channel
            for channel in left
            if not channel.serving and crowds[channel.crowd] > weight(channel)
        ]
        return max(queued, key=lambda channel: (crowds[channel.crowd], channel.since), default=None)

    def _close_one(self, weight: Callable[[Channel], int], why: str) -> int:
        """Close the connection that goes first; return its weight."""
        chosen = self._to_close(weight)
        if chosen is None:
            return 0
        freed = weight(chosen)
        self.closed[why] += 1
        chosen.dismiss(Crowded(""))
        return freed


def _one(channel: Channel) -> int:
    return 1


def _held(channel: Channel) -> int:
    return channel.held


class Listener(TcpWSGIServer):
    """A listening socket."""

    channel_class = Channel
    accepting: bool

    def __init__(
        self, application: Any, places: Places, adj: Adjustments, sockinfo: Any, shared: Any
    ) -> None:
        super().__init__(
            application, shared, dispatcher=places.requests, adj=adj, sockinfo=sockinfo
        )
        self.places = places
        self.active_channels = places.channels

    def set_socket_options(self, connection: socket.socket) -> None:
        """Set what each connection has."""
        super().set_socket_options(connection)
        connection.setsockopt(socket.SOL_SOCKET, socket.SO_SNDBUF, SEND_BUFFER_BYTES)

    def readable(self) -> bool:
        """Return whether a connection can be accepted."""
        return self.accepting and self.places.has_room()

    def handle_accept(self) -> None:
        """Accept new connections."""
        for _ in range(ACCEPTS):
            before = len(self.places.channels)
            if self.places.full():
                return
            super().handle_accept()
            if len(self.places.channels) == before:
                return

    def add_task(self, channel: Channel) -> None:
        """Pass on a request, once the client has read the previous answer."""
        if channel.serving:
            channel.parked = True
        else:
            self.places.threads_for(channel).add_task(channel)

    def stop_listening(self) -> None:
        """Stop listening. Connections that are open stay."""
        if self.accepting:
            self.del_channel()
            self.socket.close()
            self.accepting = False
