"""Why a parts plan is as it is, where that is surprising: each reason with its figures.

Three things surprise: a part is bought though a recipe makes it; a ready-made signal is changed
though it could stay whole; something owned is left, though it or what is made of it could serve.
For each, the planner looks for the cheapest way without the surprise, and tells the difference.
"""

from __future__ import annotations

from dataclasses import replace
from time import monotonic
from typing import TYPE_CHECKING, NamedTuple

from trappoint.core.quoting import listed
from trappoint.core.terminal import plural
from trappoint.parts.demand import whole_signals
from trappoint.parts.integer_programme import TooLateError
from trappoint.parts.money import tell_amount
from trappoint.parts.parts_model import PartsCase, Proviso
from trappoint.parts.planning import counted_total, plan_parts, scheme_of
from trappoint.parts.step_order import UndecidedError, settle

if TYPE_CHECKING:
    from collections.abc import Iterator

    from trappoint.parts.demand import PartNeed, SignalKey
    from trappoint.parts.planning import PartsPlan, Scheme
    from trappoint.parts.store import Part, Recipe, Store

MAX_REASONS = 8
"""Most reasons for one parts plan: each needs a search of its own."""

MAX_SECONDS = 20.0
"""Most seconds for the searches of all reasons together."""


class Reason(NamedTuple):
    """One surprise, and why it is best."""

    part: str
    text: str
    """One or two sentences."""
    more_money: str | None = None
    """The extra cost of the other way, in the store's currency; None without another way."""
    more_minutes: int | None = None
    """The extra work of the other way, in minutes; negative if it takes less."""


class _Surprise(NamedTuple):
    part: str
    what: str
    """The fact, as the first part of a sentence."""
    other: str
    """The other way, as the subject of a sentence."""
    none: str
    """The sentence if there is no other way."""
    proviso: Proviso


def plan_with_reasons(
    store: Store,
    needs: tuple[PartNeed, ...],
    *,
    left_out: tuple[SignalKey, ...] = (),
    at_most: int | None = None,
    seconds: float | None = None,
) -> PartsPlan:
    """Return the parts plan, as ``plan_parts`` does, with the reasons for what is surprising.

    ``seconds`` limits all searches together. Raises NotInstalled.
    """
    start = monotonic()
    answer = plan_parts(store, needs, left_out=left_out, at_most=at_most, seconds=seconds)
    rest = MAX_SECONDS
    if seconds is not None:
        rest = min(rest, seconds - (monotonic() - start))
    return replace(answer, reasons=tuple(reasons_of(answer, store, seconds=rest)))


def reasons_of(answer: PartsPlan, store: Store, *, seconds: float | None = None) -> list[Reason]:
    """Return the reasons for what is surprising in a parts plan, at most ``MAX_REASONS``.

    ``seconds`` limits the searches together; reasons that need longer are left out. Raises
    NotInstalled.
    """
    scheme = answer.scheme
    if scheme is None or scheme.gap is not None:
        return []
    until = None if seconds is None else monotonic() + seconds
    reasons = list(_left_for_good(answer, scheme, store))
    for surprise in _surprises(answer, scheme, store):
        if len(reasons) >= MAX_REASONS:
            break
        case = PartsCase(store, answer.needs, until=until, proviso=surprise.proviso)
        try:
            found = settle(case)
        except (TooLateError, UndecidedError):
            continue
        if found is None:
            reasons.append(Reason(surprise.part, f"{surprise.what}: {surprise.none}."))
        elif found.proven:
            reasons.append(
                _compared(surprise, scheme, scheme_of(store, answer.needs, found), store)
            )
    return reasons


def _compared(surprise: _Surprise, scheme: Scheme, other: Scheme, store: Store) -> Reason:
    more, minutes = other.counted - scheme.counted, other.minutes - scheme.minutes
    # The difference of the rounded totals, so that the figures add up.
    shown = counted_total(other) - counted_total(scheme)
    apart = [
        f"{currency} {tell_amount(other.totals.get(currency, 0) - scheme.totals.get(currency, 0))}"
        for currency in store.kept_apart()
        if other.totals.get(currency, 0) > scheme.totals.get(currency, 0)
    ]
    if apart:
        words = f"costs {listed(apart, 'and')} more, which has no rate"
    elif more:
        by = f"{store.currency} {tell_amount(shown)}" if shown > 0 else "a fraction of 0.01"
        words = (
            f"costs {by} more ({store.currency} {tell_amount(counted_total(other))} instead of "
            f"{store.currency} {tell_amount(counted_total(scheme))})"
        )
    else:
        words = "costs the same"
    if minutes:
        than = "longer" if minutes > 0 else "less"
        joint = "and" if minutes > 0 or not more else "but"
        words += f" {joint} takes {plural(abs(minutes), 'minute')} {than}"
    elif not more and not apart:
        words += ", takes as long and has more parts or steps"
    amount = tell_amount(max(0, shown))
    return Reason(surprise.part, f"{surprise.what}: {surprise.other} {words}.", amount, minutes)


def _surprises(answer: PartsPlan, scheme: Scheme, store: Store) -> Iterator[_Surprise]:
    yield from _changed(scheme, store)
    yield from _bought(scheme, store)
    yield from _left(answer.needs, scheme, store)


def _changed(scheme: Scheme, store: Store) -> Iterator[_Surprise]:
    """Ready-made signals that a step changes or takes apart."""
    times: dict[str, int] = {}
    for step in scheme.steps:
        times[step.recipe.id] = times.get(step.recipe.id, 0) + step.times
    for id_, count in times.items():
        recipe = store.recipes[id_]
        for part in recipe.parts_touched()[1]:
            if store.parts[part].as_signal is not None:
                number = count * -recipe.net(part)
                yield _Surprise(
                    part,
                    f"{_so_many(number, part)} changed ({id_})",
                    f"the cheapest way without {id_}",
                    f"there is no way without {id_}",
                    Proviso("runs", id_, most=0),
                )


def _bought(scheme: Scheme, store: Store) -> Iterator[_Surprise]:
    """Parts that are bought though recipes make them."""
    bought: dict[str, int] = {}
    for order in scheme.orders:
        for offer, packs in order.packs:
            if len(offer.contains) == 1:  # a kit is bought as a whole
                ((part, each),) = offer.contains.items()
                bought[part] = bought.get(part, 0) + packs * each
    for part, count in bought.items():
        if scheme.left_over.get(part, 0) >= count:
            continue  # it came with a pack that is bought for something else
        makers = [r for r in store.recipes.values() if r.net(part) > 0 and r.most != 0]
        if makers:
            names = listed([recipe.id for recipe in makers], "or")
            makes = f"{names} {'makes' if len(makers) == 1 else 'make'}"
            yield _Surprise(
                part,
                f"{_so_many(count, part)} bought, though {makes} {'it' if count == 1 else 'them'}",
                f"the cheapest way without buying {part}",
                _why_no_more(makers, scheme),
                Proviso("packs", part, most=0),
            )


def _so_many(number: int, part: str) -> str:
    return f"{number} x {part} {'is' if number == 1 else 'are'}"


def _why_no_more(makers: list[Recipe], scheme: Scheme) -> str:
    """Return why no recipe of these can be done often enough."""
    words = []
    for recipe in makers:
        done = sum(step.times for step in scheme.steps if step.recipe is recipe)
        so_far = (
            f"{recipe.id} is done {plural(done, 'time')}" if done else f"{recipe.id} is not done"
        )
        lacking = [p for p, n in recipe.uses.items() if scheme.left_over.get(p, 0) < n]
        if recipe.most is not None and done >= recipe.most:
            words.append(f"{so_far}, its limit")
        elif lacking:
            words.append(f"{so_far}, and there is too little {listed(lacking, 'and')} for more")
        else:
            words.append(f"{so_far}, and cannot be done often enough")
    return "; ".join(words)


def _left(needs: tuple[PartNeed, ...], scheme: Scheme, store: Store) -> Iterator[_Surprise]:
    """Owned parts that are left, though they suit a signal or a recipe uses them."""
    if not scheme.orders and not scheme.steps:
        return
    new = _new_parts(scheme)
    fitted: dict[str, int] = {}
    for pieces in scheme.pieces().values():
        for piece in pieces:
            fitted[piece] = fitted.get(piece, 0) + 1
    for id_, left in scheme.left_over.items():
        part = store.parts[id_]
        if not part.owned:
            continue
        stay = f"{min(left, part.owned)} x {id_} {'stays' if left == 1 else 'stay'} in the drawer"
        if _suits(part, needs):
            if _served_otherwise(part, needs, scheme, store):
                yield _Surprise(
                    id_,
                    stay,
                    "the cheapest way with one more fitted",
                    "no way has one more fitted",
                    Proviso("fitted", id_, least=fitted.get(id_, 0) + 1),
                )
        elif part.as_signal or part.as_mount or part.as_arm:
            for recipe in _uses_of(part, store):
                if new.isdisjoint(recipe.parts_touched()[2]):
                    continue
                done = sum(step.times for step in scheme.steps if step.recipe is recipe)
                yield _Surprise(
                    id_,
                    stay,
                    f"the cheapest way with {recipe.id} done {'once more' if done else 'once'}",
                    _why_no_more([recipe], scheme),
                    Proviso("runs", recipe.id, least=done + 1),
                )


def _suits(part: Part, needs: tuple[PartNeed, ...]) -> bool:
    if part.as_signal is not None:
        return any(part.as_signal.fits(whole) for whole in whole_signals(needs).values())
    return any(part.serves(need.want) for need in needs)


def _served_otherwise(
    part: Part, needs: tuple[PartNeed, ...], scheme: Scheme, store: Store
) -> bool:
    """Return whether something bought or made serves where this part would suit."""
    new = _new_parts(scheme)
    served: dict[tuple[str, str], set[str]] = {}
    for need, other in scheme.served:
        served.setdefault((need.plan, need.signal), set()).add(other)
    if part.as_signal is not None:
        wholes = whole_signals(needs)
        return any(
            part.as_signal.fits(wholes[key]) and not new.isdisjoint(served[key] - {part.id})
            for key in wholes
            if key in served
        )
    return any(
        part.serves(need.want) and other in new and other != part.id
        for need, other in scheme.served
    )


def _new_parts(scheme: Scheme) -> set[str]:
    """Return the parts that are bought or made."""
    new = {p for order in scheme.orders for offer, _ in order.packs for p in offer.contains}
    return new | {p for step in scheme.steps for p in step.recipe.parts_touched()[2]}


def _uses_of(part: Part, store: Store) -> list[Recipe]:
    return [recipe for recipe in store.recipes.values() if recipe.net(part.id) < 0]


def _left_for_good(answer: PartsPlan, scheme: Scheme, store: Store) -> Iterator[Reason]:
    """Ready-made signals that are left because nothing here can use them."""
    for id_, left in scheme.left_over.items():
        part = store.parts[id_]
        ready = part.as_signal
        if not part.owned or ready is None or _suits(part, answer.needs) or _uses_of(part, store):
            continue
        dolls = [" and ".join(kinds) for kinds in ready.dolls]
        yield Reason(
            id_,
            f"{min(left, part.owned)} x {id_} {'stays' if left == 1 else 'stay'} in the drawer: no "
            f"signal here is a {ready.mount}, {ready.form}, with {listed(dolls, 'and')}"
            f"{' from the left' if len(dolls) > 1 else ''}"
            f"{' at its height' if ready.least_mm or ready.most_mm else ''}; no recipe uses it.",
        )
