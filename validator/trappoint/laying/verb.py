"""Verbs, and the reading of a step: each measure has a kind, and is refused in words if wrong."""

from __future__ import annotations

import inspect
import keyword
from typing import TYPE_CHECKING, NamedTuple

from trappoint.core.quoting import described, listed, quoted
from trappoint.core.spelling import nearest
from trappoint.laying.refusing import Refused

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from trappoint.laying.draft import Draft
    from trappoint.laying.measures import Measure


class Verb(NamedTuple):
    """A verb of the trade: what a step may do."""

    name: str
    told: str
    """What it does, in a sentence."""
    measures: Mapping[str, Measure]
    needed: tuple[str, ...]
    """The measures that each step must give."""
    act: Callable[..., str]
    """Does it on a draft, and returns a sentence on what is so now. Raises ``Refused``."""

    def do(self, draft: Draft, step: Mapping[str, object]) -> str:
        """Read the measures of a step and do it; return the sentence. Raises ``Refused``."""
        given: dict[str, object] = {}
        for key, value in step.items():
            if key == "do":
                continue
            measure = self.measures.get(key)
            if measure is None:
                raise self._unknown(key)
            given[_parameter(key)] = measure.read(draft, f"`{key}` of {self.name}", value)
        for key in self.needed:
            if key not in step:
                raise Refused(
                    f"The step {self.name} does not say {key}.",
                    f"Add `{key}`: {self.measures[key].told}.",
                )
        return self.act(draft, **given)

    def _unknown(self, key: object) -> Refused:
        word = key if isinstance(key, str) else repr(key)
        near = nearest(word, self.measures)
        fix = f"Write {near} if you mean that." if near else "Take it out."
        known = listed(list(self.measures), "and") or "nothing"
        return Refused(
            f"The step {self.name} has no measure {quoted(word)}; it takes {known}.", fix
        )


def verb(name: str, told: str, /, **measures: Measure) -> Callable[[Callable[..., str]], Verb]:
    """Declare the function below as a verb; parameters without a default must be given.

    A measure whose key is a word of Python, such as ``for``, is declared and taken as ``for_``.
    """
    keys = {key.removesuffix("_"): measure for key, measure in measures.items()}

    def declare(act: Callable[..., str]) -> Verb:
        parameters = inspect.signature(act).parameters
        needed = (
            key for key in keys if parameters[_parameter(key)].default is inspect.Parameter.empty
        )
        return Verb(name, told, keys, tuple(needed), act)

    return declare


def _parameter(key: str) -> str:
    return f"{key}_" if keyword.iskeyword(key) else key


def find_verb(step: object, verbs: Mapping[str, Verb]) -> tuple[Verb, Mapping[str, object]]:
    """Return the verb of a step, and the step as a mapping. Raises ``Refused``."""
    if not isinstance(step, dict):
        raise Refused(
            f'A step is an object such as {{"do": "lay-line"}}, not {described(step)}.',
            "Write an object with the verb under `do`.",
        )
    word = step.get("do")
    if not isinstance(word, str):
        raise Refused("The step has no verb.", "Write the verb under `do`.")
    found = verbs.get(word)
    if found is None:
        near = nearest(word, verbs)
        fix = f"Write {near} if you mean that." if near else f"Write {listed(sorted(verbs))}."
        raise Refused(f"There is no verb {quoted(word)}.", fix)
    return found, step
