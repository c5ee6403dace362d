"""A coverage-guided fuzzer over the reading and the check: ``python fuzz.py --seconds N``.

It is libFuzzer by way of atheris (``pip install atheris``). It starts from the examples; half of
its changes are made to the bytes, half to what the JSON says. What it finds is written beside where
it is started, as ``crash-...``, and is tried again with ``python fuzz.py FILE``.
"""

from __future__ import annotations

import argparse
import json
import random
import sys
import tempfile
from pathlib import Path

if __package__ in (None, ""):
    sys.path.insert(0, str(Path(__file__).parents[1]))

MAX_BYTES = 16_384


def main() -> None:
    """Fuzz for a while."""
    parser = argparse.ArgumentParser(description="Fuzzes the reading and the check.")
    parser.add_argument("--seconds", type=int, default=60)
    parser.add_argument("--seed", type=int, default=0, help="0: another one each time")
    parser.add_argument("--corpus", type=Path, help="a folder in which what is new is kept")
    parser.add_argument("again", nargs="*", help="files to be tried once")
    options = parser.parse_args()
    try:
        import atheris
    except ImportError:
        sys.exit("atheris is not there: pip install atheris")
    with atheris.instrument_imports(include=["trappoint"]):
        import trappoint.rules  # noqa: F401 # every rule is to be watched
        from robust.near_plans import PLANS, WORDS, mutate
        from robust.test_arbitrary import hold
        from trappoint.checking.check import check_content

    def try_one(content: bytes) -> None:
        hold(check_content(content, "fuzz"))

    def change(content: bytes, most: int, seed: int) -> bytes:
        chosen = random.Random(seed)
        if chosen.random() < 0.5:
            return atheris.Mutate(content, most)  # type: ignore[no-any-return]
        try:
            plan = json.loads(content)
        except (ValueError, RecursionError):
            plan = None
        if not isinstance(plan, dict) or not plan:
            plan = json.loads(json.dumps(chosen.choice(PLANS)))
        for _ in range(chosen.randint(1, 4)):
            mutate(plan, chosen, lambda: chosen.choice(WORDS))
        return json.dumps(plan).encode("utf-8", "surrogatepass")[:most]

    with tempfile.TemporaryDirectory() as folder:
        corpus = options.corpus or Path(folder)
        corpus.mkdir(exist_ok=True)
        for number, plan in enumerate(PLANS):
            (corpus / f"example-{number}").write_text(json.dumps(plan), "utf-8")
        arguments = [sys.argv[0], *options.again]
        if not options.again:
            seed = [f"-seed={options.seed}"] if options.seed else []
            arguments += [
                f"-max_total_time={options.seconds}",
                f"-max_len={MAX_BYTES}",
                "-timeout=10",
                "-rss_limit_mb=1500",
                *seed,
                str(corpus),
            ]
        atheris.Setup(arguments, try_one, custom_mutator=change)
        atheris.Fuzz()


if __name__ == "__main__":
    main()
