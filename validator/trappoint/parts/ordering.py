"""The order of recipes, in which each finds its parts ready."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from trappoint.parts.store import Recipe

MAX_TRIES = 50_000
"""Most states in the search for an order of recipes that form a circle."""


class RecipeStep(NamedTuple):
    """One recipe, done a number of times in a row."""

    recipe: Recipe
    times: int


def blocks_of(recipes: Iterable[Recipe]) -> list[list[Recipe]]:
    """Split recipes into ordered blocks; no block yields a part that an earlier block uses.

    A block of several recipes, or of one that uses a part that it yields, is a circle.
    """
    recipes = list(recipes)
    users: dict[str, list[int]] = {}
    for index, recipe in enumerate(recipes):
        for part in recipe.uses:
            users.setdefault(part, []).append(index)
    after = [
        sorted({user for part in recipe.yields for user in users.get(part, ())})
        for recipe in recipes
    ]
    return [[recipes[i] for i in sorted(block)] for block in _strong_components(after)]


def goes_round(block: list[Recipe]) -> bool:
    """Return whether a block is a circle."""
    return len(block) > 1 or not block[0].uses.keys().isdisjoint(block[0].yields)


def _strong_components(after: list[list[int]]) -> list[list[int]]:
    """Return the strong components of a graph, each before those it leads to (Tarjan, 1972)."""
    found: list[list[int]] = []
    number: dict[int, int] = {}
    low: dict[int, int] = {}
    stack: list[int] = []
    on_stack: set[int] = set()
    for root in range(len(after)):
        if root in number:
            continue
        work = [(root, 0)]
        while work:
            node, at = work.pop()
            if at == 0:
                number[node] = low[node] = len(number)
                stack.append(node)
                on_stack.add(node)
            else:
                low[node] = min(low[node], low[after[node][at - 1]])
            while at < len(after[node]):
                other = after[node][at]
                at += 1
                if other not in number:
                    work += [(node, at), (other, 0)]
                    break
                if other in on_stack:
                    low[node] = min(low[node], number[other])
            else:
                if low[node] == number[node]:
                    cut = stack.index(node)
                    found.append(stack[cut:])
                    on_stack.difference_update(stack[cut:])
                    del stack[cut:]
    return found[::-1]


def order_runs(
    stock: Mapping[str, int], runs: Iterable[RecipeStep]
) -> tuple[RecipeStep, ...] | None:
    """Return the steps in an order that works from this stock; None if none is found.

    For circles it tries all orders, up to `MAX_TRIES` states.
    """
    times = {step.recipe.id: step.times for step in runs if step.times}
    recipes = {step.recipe.id: step.recipe for step in runs if step.times}
    have = dict(stock)
    steps: list[RecipeStep] = []
    for block in blocks_of(recipes.values()):
        if goes_round(block):
            found = _order_circle(have, block, [times[recipe.id] for recipe in block])
        else:
            found = [block[0]] * times[block[0].id]
        if found is None:
            return None
        for recipe in found:
            if not _enough(have, recipe):
                return None
            _carry_out(have, recipe)
            if steps and steps[-1].recipe is recipe:
                steps[-1] = RecipeStep(recipe, steps[-1].times + 1)
            else:
                steps.append(RecipeStep(recipe, 1))
    return tuple(steps)


def _enough(have: Mapping[str, int], recipe: Recipe) -> bool:
    return all(have.get(part, 0) >= count for part, count in recipe.uses.items())


def _carry_out(have: dict[str, int], recipe: Recipe, times: int = 1) -> None:
    for part in {**recipe.uses, **recipe.yields}:
        have[part] = have.get(part, 0) + times * recipe.net(part)


def _order_circle(
    have: Mapping[str, int], block: list[Recipe], times: list[int]
) -> list[Recipe] | None:
    """Try all orders, each time the last recipe again first; None if none works."""
    now = dict(have)
    left = list(times)
    done: list[int] = []
    seen = {tuple(left)}
    todo = [iter(range(len(block)))]
    while any(left):
        for index in todo[-1]:
            if not left[index] or not _enough(now, block[index]):
                continue
            left[index] -= 1
            if tuple(left) in seen:
                left[index] += 1
                continue
            seen.add(tuple(left))
            _carry_out(now, block[index])
            done.append(index)
            others = (other for other in range(len(block)) if other != index)
            todo.append(iter((index, *others)))
            break
        else:
            todo.pop()
            if not done or len(seen) > MAX_TRIES:
                return None
            index = done.pop()
            left[index] += 1
            _carry_out(now, block[index], -1)
    return [block[index] for index in done]


def out_of_reach(stock: Mapping[str, int], recipes: Iterable[Recipe]) -> tuple[set[str], set[str]]:
    """Return parts that no order of recipes can supply, and recipes that need one of them.

    It ignores quantities: one piece of a part counts as any number.
    """
    have = {part for part, count in stock.items() if count}
    waiting = list(recipes)
    while True:
        ready = [recipe for recipe in waiting if have.issuperset(recipe.uses)]
        if not ready:
            break
        waiting = [recipe for recipe in waiting if recipe not in ready]
        for recipe in ready:
            have.update(recipe.yields)
    missing = {part for recipe in waiting for part in recipe.uses} - have
    return missing, {recipe.id for recipe in waiting}
