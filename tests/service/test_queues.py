"""The order of jobs: fair to each address, bounded, without starvation."""

from __future__ import annotations

import pytest

from trappoint_service.clients import Client, network_of
from trappoint_service.queues import Busy, Queue, Turn


def queue(size: int = 1, places: int = 10, mean: float = 2.0) -> Queue:
    return Queue(size, places, mean, patience=float("inf"))


def join(line: Queue, address: str, now: float = 100.0) -> Turn:
    turn = Turn(Client(address), now)
    line.join(turn, now)
    return turn


def served(line: Queue) -> str:
    """Serve all waiting jobs in order, and return their addresses."""
    found = ""
    while (turn := line.pop()) is not None:
        found += turn.client.address
        line.finish(turn, 2.0, measure=True)
    return found


def test_one_address_alone_has_every_place_in_the_order_of_its_coming() -> None:
    line = queue(places=5)
    turns = [join(line, "a") for _ in range(6)]
    with pytest.raises(Busy) as raised:
        join(line, "a")
    assert (raised.value.waiting, raised.value.seconds) == (6, 14)
    assert line.waiting == turns


def test_a_mass_of_one_address_comes_after_the_first_of_others() -> None:
    line = queue()
    for _ in range(5):
        join(line, "a")
    first = line.pop()
    assert first is not None
    join(line, "b")
    join(line, "c")
    line.finish(first, 2.0, measure=True)
    assert served(line) == "bcaaaa"


def test_a_full_queue_takes_a_newcomer_for_the_last_of_a_mass() -> None:
    line = queue(places=3)
    mass = [join(line, "a") for _ in range(4)]
    newcomer = Turn(Client("b"), 100.0)
    assert line.join(newcomer, 100.0) is mass[-1]
    assert newcomer in line.waiting and mass[-1] not in line.waiting
    with pytest.raises(Busy):
        join(line, "a")
    join(line, "c", 101.0)
    join(line, "d", 101.0)
    with pytest.raises(Busy):
        join(line, "e", 101.0)
    assert served(line) == "abcd"


def test_who_took_long_comes_after_those_who_did_not() -> None:
    """By the time that his share would have taken, and no longer: then he is as any other."""
    line = queue()
    slow = join(line, "a")
    assert line.pop() is slow
    line.finish(slow, 30.0, measure=False)
    again = join(line, "a", 110.0)
    assert again.rank == pytest.approx(130.0)
    assert join(line, "b", 129.0).rank < again.rank < join(line, "b", 131.0).rank
    assert join(line, "a", 500.0).rank == 500.0


def test_patience_bounds_what_an_address_owes() -> None:
    line = Queue(1, 10, 2.0, patience=1.5)
    slow = join(line, "a")
    line.pop()
    line.finish(slow, 1000.0, measure=False)
    assert join(line, "a", 101.0).rank == 102.5


def test_who_leaves_the_queue_owes_nothing() -> None:
    line = queue()
    for _ in range(3):
        line.leave(join(line, "a"))
    assert join(line, "a").rank == 100.0


def test_estimates_follow_what_was_measured() -> None:
    line = queue(size=2, mean=1.0)
    assert [line.seconds_for(place) for place in (1, 2, 3, 5)] == [1, 1, 2, 3]
    for _ in range(40):
        turn = join(line, "a")
        line.pop()
        line.finish(turn, 9.0, measure=True)
    assert line.seconds_for(1) == 9


def test_many_addresses_are_not_remembered_for_ever() -> None:
    line = queue(mean=0.001)
    for number in range(3000):
        turn = join(line, str(number), float(number))
        line.pop()
        line.finish(turn, 0.001, measure=True)
    assert len(line._used) < 600


def test_a_network_of_ipv6_is_one_address() -> None:
    assert network_of("2001:db8::1") == network_of("2001:db8::2:3:4:5") == "2001:db8::/64"
    assert network_of("192.0.2.7") == "192.0.2.7"
    assert network_of("fe80::1%eth0") == "fe80::/64"
