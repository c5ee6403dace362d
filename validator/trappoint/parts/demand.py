"""The parts that plans need: a mount for each signal, and its arms."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING, NamedTuple

from trappoint.core.quoting import number

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from trappoint.model.layout import Layout, Signal


class Want(NamedTuple):
    """One kind of mount or arm that a signal needs."""

    is_mount: bool
    word: str
    """The mount (``post``), or the kind of arm (``stop``)."""
    form: str
    dolls: int
    """How many dolls a mount has; 0 for an arm."""
    height_mm: float | None
    """The height of the arm, or of the mount's highest arm; None if the plan has none."""

    def tell(self) -> str:
        """Return it in words: ``bracket of 2 dolls, upper-quadrant``."""
        if self.is_mount:
            words = f"{self.word} of {self.dolls} dolls" if self.dolls > 1 else self.word
            words = f"{words}, {self.form}"
        else:
            words = f"{self.word} disc" if self.form == "disc" else f"{self.word} arm, {self.form}"
        return words if self.height_mm is None else f"{words}, {number(self.height_mm)} mm high"


class PartNeed(NamedTuple):
    """One mount or arm that one signal needs."""

    plan: str
    signal: str
    arm: str | None
    """None for the mount."""
    want: Want
    doll: int = 1
    """The doll of the arm, from 1 at the left; 1 for the mount."""


class WholeSignal(NamedTuple):
    """All that one signal needs."""

    mount: Want
    arms: tuple[tuple[int, Want], ...]
    """Each arm with its doll, sorted."""

    def wants(self) -> Counter[Want]:
        """Return the wants, each with its number."""
        return Counter((self.mount, *(want for _, want in self.arms)))

    def kinds(self) -> tuple[tuple[str, ...], ...]:
        """Return the kinds of the arms of each doll, sorted; the dolls from left to right."""
        dolls: dict[int, list[str]] = {}
        for doll, want in self.arms:
            dolls.setdefault(doll, []).append(want.word)
        return tuple(tuple(sorted(dolls[doll])) for doll in sorted(dolls))


class SignalKey(NamedTuple):
    """A signal of one of the plans."""

    plan: str
    signal: str


def demand_of(plans: Iterable[tuple[str, Layout]]) -> tuple[PartNeed, ...]:
    """Return the needs of plans, which come with their names, in the order of the plans."""
    return tuple(
        need
        for name, layout in plans
        for signal in layout.signals.values()
        for need in _needs_of(name, signal)
    )


def _needs_of(plan: str, signal: Signal) -> list[PartNeed]:
    heights = [arm.height_mm for arm in signal.arms if arm.height_mm is not None]
    dolls = len({arm.doll for arm in signal.arms})
    mount = Want(True, signal.mount, signal.form, dolls, max(heights, default=None))
    needs = [PartNeed(plan, signal.id, None, mount)]
    for arm in signal.arms:
        want = Want(False, arm.kind, signal.form, 0, arm.height_mm)
        needs.append(PartNeed(plan, signal.id, arm.id, want, arm.doll))
    return needs


def whole_signals(needs: Iterable[PartNeed]) -> dict[SignalKey, WholeSignal]:
    """Return the whole of each signal that has one mount, in order."""
    of_signal: dict[SignalKey, list[PartNeed]] = {}
    for need in needs:
        of_signal.setdefault(SignalKey(need.plan, need.signal), []).append(need)
    wholes = {}
    for key, own in of_signal.items():
        mounts = [need.want for need in own if need.arm is None]
        arms = sorted(
            ((need.doll, need.want) for need in own if need.arm is not None),
            key=lambda arm: (arm[0], arm[1].word, arm[1].height_mm or 0.0),
        )
        if len(mounts) == 1:
            wholes[key] = WholeSignal(mounts[0], tuple(arms))
    return wholes


def signals_of(needs: Iterable[PartNeed]) -> tuple[SignalKey, ...]:
    """Return the signals of these needs, in order."""
    return tuple(dict.fromkeys(SignalKey(need.plan, need.signal) for need in needs))


def without(needs: Iterable[PartNeed], left_out: Sequence[SignalKey]) -> tuple[PartNeed, ...]:
    """Return the needs except those of the signals left out."""
    gone = frozenset(left_out)
    return tuple(need for need in needs if SignalKey(need.plan, need.signal) not in gone)
