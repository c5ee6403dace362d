"""A coverage-guided fuzzer: ``python fuzz.py SUBJECT --seconds N``.

The subjects are those of ``subjects.py``: boards, check, reader, schema, settings, stores. The
fuzzer is libFuzzer through atheris (``pip install atheris``). It starts from the examples and
changes bytes half the time, JSON values the other half. It writes a failing input to
``crash-...`` in the current folder; ``python fuzz.py SUBJECT FILE`` tries that input again.
"""

from __future__ import annotations

import argparse
import importlib
import json
import pkgutil
import random
import sys
import tempfile
from pathlib import Path
from typing import Any

if __package__ in (None, ""):
    sys.path.insert(0, str(Path(__file__).parents[1]))

MAX_BYTES = 16_384
NAMES = ("boards", "check", "reader", "schema", "settings", "stores")

SETTINGS = (
    b'exclude = ["attic"]\n[levels]\nunheld-exit = "warning"\nlong-train = "off"\n',
    b"[choices]\noverlap = true\n",
    b'[tool.trappoint]\n[tool.trappoint.levels]\nno-such-rule = "note"\n',
)


def main() -> None:
    """Fuzz one subject for the given seconds, or try given files again."""
    parser = argparse.ArgumentParser(description="Fuzzes one subject.")
    parser.add_argument("subject", choices=NAMES)
    parser.add_argument("--seconds", type=int, default=60, help="how long (default: 60)")
    parser.add_argument("--seed", type=int, default=0, help="0: another one each time")
    parser.add_argument("--corpus", type=Path, help="a folder in which new inputs are kept")
    parser.add_argument("again", nargs="*", help="files to be tried once")
    options = parser.parse_args()
    try:
        import atheris
    except ImportError:
        sys.exit("atheris is not there: pip install atheris")
    with atheris.instrument_imports(include=["trappoint"]):
        _import_all()
        from robust.near_plans import WORDS, mutate
        from robust.subjects import BETWEEN_FILES, SUBJECTS, documents_for

    documents = documents_for(options.subject)

    def changed_document(content: bytes, chosen: random.Random) -> bytes:
        try:
            document = json.loads(content)
        except (ValueError, RecursionError):
            document = None
        if not isinstance(document, dict) or not document:
            document = _copy(chosen.choice(documents))
        for _ in range(chosen.randint(1, 4)):
            mutate(document, chosen, lambda: chosen.choice(WORDS))
        return json.dumps(document).encode("utf-8", "surrogatepass")

    def change(content: bytes, most: int, seed: int) -> bytes:
        chosen = random.Random(seed)
        if options.subject == "settings" or chosen.random() < 0.5:
            return atheris.Mutate(content, most)  # type: ignore[no-any-return]
        if options.subject == "boards":
            files = content.split(BETWEEN_FILES)
            number = chosen.randrange(len(files) + 1)
            old = files[number] if number < len(files) else b""
            files[number : number + 1] = [changed_document(old, chosen)]
            return BETWEEN_FILES.join(files)[:most]
        return changed_document(content, chosen)[:most]

    with tempfile.TemporaryDirectory() as folder:
        corpus = options.corpus or Path(folder)
        corpus.mkdir(exist_ok=True)
        for number, content in enumerate(_beginnings(options.subject, documents)):
            (corpus / f"example-{number}").write_bytes(content)
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
        atheris.Setup(arguments, SUBJECTS[options.subject], custom_mutator=change)
        atheris.Fuzz()


def _import_all() -> None:
    """Import the modules that the check imports late: atheris watches only imports made here."""
    import trappoint

    for module in pkgutil.walk_packages(trappoint.__path__, "trappoint."):
        if module.name.split(".")[1] not in {"__main__", "lsp", "drawing", "proposing"}:
            importlib.import_module(module.name)


def _beginnings(subject: str, documents: list[Any]) -> list[bytes]:
    """Return the first inputs for a subject."""
    from robust.subjects import BETWEEN_FILES

    if subject == "settings":
        return list(SETTINGS)
    texts = [json.dumps(document).encode() for document in documents]
    if subject == "boards":
        return [BETWEEN_FILES.join([text, *texts]) for text in texts]
    return texts


def _copy(document: Any) -> Any:
    return json.loads(json.dumps(document))


if __name__ == "__main__":
    main()
