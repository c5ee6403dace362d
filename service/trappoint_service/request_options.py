"""Options of a request, read from the query of an address or the fields of a form."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

from trappoint.operation.road import Asked
from trappoint_service.jobs import PartsWish, SceneWish, SignalsWish, UnusableWish

if TYPE_CHECKING:
    from collections.abc import Mapping

    from werkzeug.datastructures import MultiDict

    from trappoint.model.layout import Heading

MAX_NAMES = 200
"""The names that one request may give."""

POINTS, OFF, BEGIN = "points:", "off", "begin"
"""The fields of a scene: the position of each lever, the arms off, a scene to start from."""


def wish_for_road(given: MultiDict[str, str]) -> Asked:
    """Return the options of a road. Raises UnusableWish."""
    start, to = given.get("from", ""), given.get("to", "")
    if not start or not to:
        raise UnusableWish("`from` and `to` are both required.")
    return Asked(
        start,
        to,
        leaving=_heading(given, "leaving"),
        arriving=_heading(given, "arriving"),
        scene=given.get("scene") or None,
        via=_names(given, "via"),
        standing=_names(given, "standing"),
    )


def _heading(given: MultiDict[str, str], key: str) -> Heading | None:
    match given.get(key):
        case "up":
            return "up"
        case "down":
            return "down"
        case None | "":
            return None
    raise UnusableWish(f"`{key}` must be `up` or `down`.")


def _names(given: MultiDict[str, str], key: str) -> tuple[str, ...]:
    names = tuple(name for name in given.getlist(key) if name)
    if len(names) > MAX_NAMES:
        raise UnusableWish(f"`{key}` may be given at most {MAX_NAMES} times.")
    return names


def wish_for_signals(given: Mapping[str, str], seconds: float) -> SignalsWish:
    """Return the options of a proposal. Raises UnusableWish."""
    from trappoint.proposing.levels import LEVELS

    asked, repair = given.get("level", "least"), given.get("repair", "no")
    level = next((level for level in LEVELS if level == asked), None)
    if level is None:
        raise UnusableWish(f"`level` must be one of {', '.join(LEVELS)}.")
    if repair not in ("yes", "no"):
        raise UnusableWish("`repair` must be `yes` or `no`.")
    return SignalsWish(level, repair == "yes", seconds)


def wish_for_parts(given: MultiDict[str, str], seconds: float) -> PartsWish:
    """Return the options of a parts plan. Raises UnusableWish."""
    from trappoint.parts.money import parse_amount

    try:
        at_most = parse_amount(given["at_most"]) if "at_most" in given else None
    except ValueError:
        raise UnusableWish("`at_most` must be an amount such as 25.50.") from None
    return PartsWish(seconds, tuple(given.getlist("without")), at_most)


def wish_for_scene(given: MultiDict[str, str]) -> SceneWish | None:
    """Return the scene to try, None if the user did not choose one. Raises UnusableWish."""
    if given.get(BEGIN):
        try:
            scene = json.loads(given[BEGIN])
            points = {str(key): str(lie) for key, lie in scene["points"].items()}
            return SceneWish(points, tuple(str(arm) for arm in scene["off"]))
        except (ValueError, KeyError, TypeError, AttributeError, RecursionError):
            raise UnusableWish("The chosen scene is malformed.") from None
    return scene_chosen(given) if given.get("ask") == "scene" or BEGIN in given else None


def scene_chosen(given: MultiDict[str, str]) -> SceneWish:
    """Return the scene as set in the form."""
    points = {}
    for key, word in given.items():
        if key.startswith(POINTS) and word != "normal":
            for name in key.removeprefix(POINTS).split(" "):
                points[name] = word
    return SceneWish(points, tuple(given.getlist(OFF)))
