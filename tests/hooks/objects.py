"""Write any git object, even a wrong one, into the files of a repository."""

from __future__ import annotations

import hashlib
import zlib
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping
    from pathlib import Path

FILE, LINK, FOLDER, REPOSITORY = "100644", "120000", "40000", "160000"
"""The modes of entries of a tree."""

Entry = tuple[str, bytes, str]
"""A mode, a name and an object."""

PERSON = b"Signals <signals@example.org> 1700000000 +0000"


class Objects:
    """The objects of a repository: each method writes one, and returns its name."""

    def __init__(self, repository: Path, form: str = "sha1") -> None:
        """``repository`` is a bare one; ``form`` is the hash that names its objects."""
        self._folder = repository / "objects"
        self.form = form
        self.nothing = "0" * hashlib.new(form).digest_size * 2
        """Git's name for no object."""

    def write(self, kind: str, content: bytes) -> str:
        """Write an object of a kind, with any content."""
        whole = b"%s %d\0" % (kind.encode(), len(content))
        digest = hashlib.new(self.form, whole)
        digest.update(content)
        name = digest.hexdigest()
        path = self._folder / name[:2] / name[2:]
        if not path.exists():
            path.parent.mkdir(exist_ok=True)
            packer = zlib.compressobj(1)
            path.write_bytes(packer.compress(whole) + packer.compress(content) + packer.flush())
        return name

    def blob(self, content: str | bytes) -> str:
        """Write a file."""
        return self.write("blob", content.encode() if isinstance(content, str) else content)

    def tree(self, entries: Iterable[Entry]) -> str:
        """Write a tree with its entries in the given order."""
        return self.write(
            "tree",
            b"".join(
                mode.encode() + b" " + name + b"\0" + bytes.fromhex(object_)
                for mode, name, object_ in entries
            ),
        )

    def folder(self, files: Mapping[str, str]) -> str:
        """Write the trees of files; ``files`` has the object of each path."""
        inner: dict[str, dict[str, str]] = {}
        entries: list[Entry] = []
        for path, object_ in files.items():
            first, slash, rest = path.partition("/")
            if slash:
                inner.setdefault(first, {})[rest] = object_
            else:
                entries.append((FILE, path.encode(), object_))
        entries += [(FOLDER, name.encode(), self.folder(inside)) for name, inside in inner.items()]
        return self.tree(
            sorted(entries, key=lambda entry: entry[1] + (b"/" if entry[0] == FOLDER else b""))
        )

    def commit(self, tree: str, *parents: str, message: bytes = b"A push\n") -> str:
        """Write a commit."""
        heads = [b"tree %s" % tree.encode(), *(b"parent %s" % name.encode() for name in parents)]
        heads += [b"author " + PERSON, b"committer " + PERSON]
        return self.write("commit", b"\n".join(heads) + b"\n\n" + message)

    def tag(self, object_: str, kind: str) -> str:
        """Write a tag of an object of a kind."""
        about = b"object %s\ntype %s\ntag t\ntagger " % (object_.encode(), kind.encode())
        return self.write("tag", about + PERSON + b"\n\nA tag\n")
