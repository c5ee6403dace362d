"""The files of the last commit, for the list of a folder."""

from __future__ import annotations

from trappoint.source.git import try_git, without_fetching
from trappoint.source.opening import repository_of


def list_committed(top: str) -> dict[str, str] | None:
    """Return the objects of the files in the last commit, by their names from the folder ``top``.

    None outside of git. Empty if there is no commit yet.
    """
    if repository_of(top) is None:
        return None
    with without_fetching():
        if try_git("rev-parse", folder=top, any_repository=True) is None:
            return None
        listed = try_git("ls-tree", "-r", "-z", "HEAD", folder=top, any_repository=True) or ""
    found = {}
    for entry in filter(None, listed.split("\0")):
        about, _, path = entry.partition("\t")
        found[path] = about.split(" ")[2]
    return found
