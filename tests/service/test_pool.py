"""Processes that check plans: a deadline, a limit of memory, and what is done when all are busy."""

from __future__ import annotations

import os
import signal
import threading
import time
from collections.abc import Iterator

import pytest

from service.conftest import HEAVY
from trappoint_service import create_app
from trappoint_service.config import Config
from trappoint_service.jobs import CheckPlans, Plan
from trappoint_service.pool import Busy, JobFault, JobTooLong, Pool, TooMuch


@pytest.fixture
def pool(request: pytest.FixtureRequest) -> Iterator[Pool]:
    made = Pool(request.param)
    made.start()
    yield made
    made.close()


def check(pool: Pool, content: bytes) -> str:
    return pool.run(CheckPlans((Plan("a", content),))).text


@pytest.mark.parametrize("pool", [Config(workers=1, deadline_seconds=0.6)], indirect=True)
def test_what_takes_too_long_is_ended_and_replaced(pool: Pool, kelpie: bytes) -> None:
    assert '"holds": true' in check(pool, kelpie)
    begun = time.monotonic()
    with pytest.raises(JobTooLong):
        check(pool, HEAVY)
    assert 0.6 <= time.monotonic() - begun < 3
    assert '"holds": true' in check(pool, kelpie)


@pytest.mark.parametrize(
    "pool", [Config(workers=1, deadline_seconds=0.7, wait_seconds=0.1)], indirect=True
)
def test_when_all_are_busy_others_are_turned_away(pool: Pool, kelpie: bytes) -> None:
    check(pool, kelpie)
    slow: list[type[Exception]] = []

    def take() -> None:
        try:
            check(pool, HEAVY)
        except JobTooLong as error:
            slow.append(type(error))

    thread = threading.Thread(target=take)
    thread.start()
    time.sleep(0.2)
    with pytest.raises(Busy):
        check(pool, kelpie)
    thread.join()
    assert slow == [JobTooLong]
    pool._config = Config(wait_seconds=5)
    assert '"holds": true' in check(pool, kelpie)


@pytest.mark.parametrize("pool", [Config(workers=1, memory_mb=192)], indirect=True)
def test_what_needs_too_much_memory_is_refused(pool: Pool, kelpie: bytes) -> None:
    text = (
        b'{"tracks": {"note": "", "a": ' + b'{"up":"buffer","b":[' + b"[1]," * 2_000_000 + b"1]}}}"
    )
    with pytest.raises(TooMuch):
        check(pool, text)
    assert '"holds": true' in check(pool, kelpie)


@pytest.mark.parametrize("pool", [Config(workers=1)], indirect=True)
def test_a_process_that_was_killed_is_replaced(pool: Pool, kelpie: bytes) -> None:
    check(pool, kelpie)
    process = pool._all[0]._process
    assert process is not None
    os.kill(process.pid, signal.SIGKILL)
    process.wait()
    assert '"holds": true' in check(pool, kelpie)


@pytest.mark.parametrize("pool", [Config(workers=1)], indirect=True)
def test_a_fault_tells_nothing_of_the_document(pool: Pool) -> None:
    with pytest.raises(JobFault) as raised:
        pool.run(CheckPlans((Plan("a", b"secret"),), format="secret"))
    assert str(raised.value).startswith("KeyError in trappoint")
    assert ", line " in str(raised.value)
    assert "secret" not in str(raised.value)


def test_the_service_answers_for_them(kelpie: bytes) -> None:
    app = create_app(Config(workers=1, deadline_seconds=0.7, wait_seconds=0.1))
    client = app.test_client()
    sent = {"content_type": "application/json"}
    assert client.post("/api/v1/check", data=kelpie, **sent).status_code in (200, 422)
    answers = []
    thread = threading.Thread(
        target=lambda: answers.append(
            app.test_client().post("/api/v1/check", data=HEAVY, **sent).get_json()
        )
    )
    thread.start()
    time.sleep(0.4)
    busy = client.post("/api/v1/check", data=kelpie, **sent)
    assert busy.status_code == 503
    assert int(busy.headers["Retry-After"]) > 0
    assert busy.mimetype == "application/problem+json"
    assert busy.get_json()["type"] == "urn:trappoint:problem:busy"
    page = client.post("/check", data={"text": kelpie.decode()}, content_type="multipart/form-data")
    assert page.status_code == 503
    assert "Please try again soon" in page.get_data(as_text=True)
    assert client.get("/healthz").status_code == 200
    thread.join()
    assert answers[0]["status"] == 422
    assert answers[0]["type"] == "urn:trappoint:problem:takes-too-long"
    app.pool.close()  # type: ignore[attr-defined]
