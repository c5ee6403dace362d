"""Worker processes: time limit, memory limit, and queues."""

from __future__ import annotations

import os
import signal
import threading
import time
from collections.abc import Callable, Iterator
from typing import TYPE_CHECKING, Any

import pytest

from trappoint_service import create_app
from trappoint_service import pool as pools
from trappoint_service.clients import Client
from trappoint_service.config import Config
from trappoint_service.jobs import CheckPlans, Plan, ProposeSignals, SignalsWish
from trappoint_service.pool import (
    Busy,
    ClientGone,
    JobFault,
    JobLost,
    JobTooLong,
    Place,
    Pool,
    TooMuch,
)

if TYPE_CHECKING:
    from trappoint_service.jobs import Job

SMALL = Config(
    workers=1,
    long_workers=1,
    long_places=2,
    quick_seconds=0.1,
    deadline_seconds=60,
    wait_seconds=30,
)
SLOW = b'{"format":"trappoint-layout/1","tracks":{},"note":[' + b"1," * 2_000_000 + b"1]}"
"""A text that takes about a second to check."""
PROPOSED = '"level": "least"'
WISH = SignalsWish("least", repair=True, seconds=20)


class Asking(threading.Thread):
    """Gives a pool a job, as the thread of a request does."""

    client = threading.local()

    def __init__(self, pool: Pool, job: Job[Any], client: Client | None = None) -> None:
        super().__init__(daemon=True)
        self._pool, self._job, self._client = pool, job, client or Client()
        self._answer: object = None
        self.start()

    def run(self) -> None:
        self.client.now = self._client
        try:
            self._answer = self._pool.run(self._job)
        except Exception as error:
            self._answer = error

    def answer(self) -> object:
        self.join(60)
        assert not self.is_alive()
        return self._answer


def until(condition: Callable[[], object]) -> None:
    """Wait until a condition is true."""
    end = time.monotonic() + 60
    while not condition():
        assert time.monotonic() < end, "it never came to be"
        time.sleep(0.02)


def make(config: Config) -> Pool:
    return Pool(config, lambda: getattr(Asking.client, "now", Client()))


@pytest.fixture(scope="module")
def shared() -> Iterator[Pool]:
    """A pool of two processes: one for checks, one for long jobs."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(pools, "SPARE_PROCESSES", 0)
        made = make(SMALL)
        made.start()
    yield made
    made.close()


@pytest.fixture
def alone(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> Iterator[Pool]:
    """A pool of one process."""
    monkeypatch.setattr(pools, "SPARE_PROCESSES", -1)
    made = make(request.param)
    made.start()
    yield made
    made.close()


def checking(content: bytes) -> CheckPlans:
    return CheckPlans((Plan("a", content),))


def proposing(content: bytes) -> ProposeSignals:
    return ProposeSignals(Plan("a", content), WISH)


def holds(pool: Pool, kelpie: bytes) -> bool:
    return '"holds": true' in pool.run(checking(kelpie)).text


def stopped(pool: Pool) -> int:
    """Freeze the process of the running long job, and return its id: the job never ends."""
    until(lambda: pool.state().long.running == 1)
    process = pool._long.running[0].process
    assert process is not None and process.pid is not None
    os.kill(process.pid, signal.SIGSTOP)
    return process.pid


def test_a_check_that_takes_long_goes_on_as_a_long_job(shared: Pool, kelpie: bytes) -> None:
    assert holds(shared, kelpie)
    heavy = Asking(shared, checking(SLOW))
    pid = stopped(shared)
    assert shared.state().quick.running == 0
    assert holds(shared, kelpie)
    os.kill(pid, signal.SIGCONT)
    assert '"holds": null' in heavy.answer().text  # type: ignore[attr-defined]
    state = shared.state()
    assert (state.quick.counts["moved"], state.long.counts["done"]) == (1, 1)
    assert state.long.mean_seconds != Pool(SMALL).seconds_to_search


def test_long_jobs_wait_in_their_own_queue(shared: Pool, kelpie: bytes) -> None:
    """With all long places taken, checks continue, and each waiting job has its place."""
    first = Asking(shared, proposing(SLOW))
    pid = stopped(shared)
    moved = Asking(shared, checking(SLOW), Client(ticket="x" * 16))
    assert holds(shared, kelpie)  # the check that takes long makes room for it
    until(lambda: shared.state().long.waiting == 1)
    last = Asking(shared, proposing(kelpie), Client(ticket="y" * 16))
    until(lambda: shared.state().long.waiting == 2)
    places = [shared.place_of(letter * 16) for letter in "xyz"]
    assert [found and (found.place, found.waiting) for found in places] == [(1, 2), (2, 2), None]
    assert places[0] is not None and places[1] is not None
    assert 0 < places[0].seconds <= places[1].seconds
    with pytest.raises(Busy) as raised:
        shared.run(proposing(kelpie))
    assert raised.value.waiting == 2 and raised.value.seconds > 0
    refused = Asking(shared, checking(SLOW))
    until(lambda: shared.state().quick.running == 1)
    assert holds(shared, kelpie)
    assert isinstance(refused.answer(), Busy)  # it makes room, and finds no place either
    assert all(holds(shared, kelpie) for _ in range(5))
    # One from another address comes before all of these, and the last of them loses its place.
    other = Asking(shared, proposing(kelpie), Client("192.0.2.1"))
    assert isinstance(last.answer(), Busy)
    found = shared.place_of("x" * 16)
    assert found is not None and found.place == 2
    os.kill(pid, signal.SIGKILL)
    assert isinstance(first.answer(), JobLost)
    assert PROPOSED in other.answer().text  # type: ignore[attr-defined]
    until(lambda: shared.place_of("x" * 16) == Place(0, 0, 0))
    assert '"holds": null' in moved.answer().text  # type: ignore[attr-defined]


def test_a_job_ends_with_its_client(shared: Pool, kelpie: bytes) -> None:
    """While it runs, and while it waits."""
    hung_up = threading.Event()
    begun = shared.state().long.counts["gone"]
    one = Asking(shared, proposing(SLOW), Client(gone=hung_up.is_set))
    pid = stopped(shared)
    two = Asking(shared, proposing(SLOW), Client(gone=hung_up.is_set))
    until(lambda: shared.state().long.waiting == 1)
    hung_up.set()
    assert isinstance(one.answer(), ClientGone) and isinstance(two.answer(), ClientGone)
    state = shared.state()
    assert (state.long.running, state.long.waiting) == (0, 0)
    assert state.long.counts["gone"] == begun + 2
    assert PROPOSED in shared.run(proposing(kelpie)).text  # type: ignore[union-attr]
    assert pid not in [process.pid for process in shared._all]


def test_a_process_that_was_killed_is_replaced(shared: Pool, kelpie: bytes) -> None:
    """Killed in the middle of a job, which then fails, and while idle."""
    job = Asking(shared, proposing(SLOW))
    os.kill(stopped(shared), signal.SIGKILL)
    assert isinstance(job.answer(), JobLost)
    assert holds(shared, kelpie)
    until(lambda: shared.state().idle == 2)
    next_one = shared._idle[-1]
    assert next_one.pid is not None
    os.kill(next_one.pid, signal.SIGKILL)
    until(lambda: not next_one.alive)
    assert holds(shared, kelpie)


def test_a_fault_tells_nothing_of_the_document(shared: Pool) -> None:
    with pytest.raises(JobFault) as raised:
        shared.run(CheckPlans((Plan("a", b"secret"),), format="secret"))
    assert str(raised.value).startswith("KeyError in trappoint")
    assert ", line " in str(raised.value)
    assert "secret" not in str(raised.value)


@pytest.mark.parametrize(
    "alone", [Config(workers=1, long_workers=1, deadline_seconds=0.6)], indirect=True
)
def test_what_takes_too_long_is_ended_and_replaced(alone: Pool, kelpie: bytes) -> None:
    assert holds(alone, kelpie)
    begun = time.monotonic()
    with pytest.raises(JobTooLong):
        alone.run(checking(SLOW))
    assert time.monotonic() - begun >= 0.6
    assert holds(alone, kelpie)
    alone.close()
    with pytest.raises(Busy):
        holds(alone, kelpie)


@pytest.mark.parametrize("alone", [Config(workers=1, long_workers=1, memory_mb=192)], indirect=True)
def test_what_needs_too_much_memory_is_refused(alone: Pool, kelpie: bytes) -> None:
    text = (
        b'{"tracks": {"note": "", "a": ' + b'{"up":"buffer","b":[' + b"[1]," * 2_000_000 + b"1]}}}"
    )
    with pytest.raises(TooMuch):
        alone.run(checking(text))
    assert holds(alone, kelpie)


@pytest.mark.parametrize(
    "alone", [Config(workers=1, long_workers=1, settings="/nowhere.toml")], indirect=True
)
def test_processes_that_do_not_start_are_no_endless_wait(alone: Pool, kelpie: bytes) -> None:
    for _ in range(2):
        with pytest.raises(JobFault, match="does not start"):
            holds(alone, kelpie)


def test_the_service_answers_for_them(kelpie: bytes, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(pools, "SPARE_PROCESSES", 0)
    app = create_app(Config(workers=1, long_workers=1, long_places=0, wait_seconds=30))
    pool: Pool = app.pool  # type: ignore[attr-defined]
    client = app.test_client()
    sent = {"content_type": "application/json"}
    answers = []
    thread = threading.Thread(
        target=lambda: answers.append(
            app.test_client().post("/api/v1/propose", data=SLOW, **sent).get_json()
        )
    )
    thread.start()
    pid = stopped(pool)
    busy = client.post("/api/v1/propose", data=kelpie, **sent)
    assert busy.status_code == 503
    assert int(busy.headers["Retry-After"]) > 0
    assert busy.mimetype == "application/problem+json"
    assert busy.get_json()["type"] == "urn:trappoint:problem:busy"
    assert busy.get_json()["waiting"] == 0
    large = client.post("/api/v1/check", data=SLOW, **sent)
    assert large.status_code == 503
    page = client.post("/draft", data={"text": kelpie.decode()}, content_type="multipart/form-data")
    assert page.status_code == 503
    assert "Please try again soon" in page.get_data(as_text=True)
    for _ in range(5):
        assert client.post("/api/v1/check", data=kelpie, **sent).status_code == 200
    assert client.get("/healthz").status_code == 200
    assert client.get("/queue/0123456789abcdef").get_json() is None
    os.kill(pid, signal.SIGKILL)
    thread.join()
    assert answers[0]["status"] == 503
    assert answers[0]["type"] == "urn:trappoint:problem:process-lost"
    pool.close()
