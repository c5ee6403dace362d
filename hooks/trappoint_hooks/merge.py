"""Git's merge driver: it merges plans by id and key, not by lines.

``trappoint-merge --install`` sets it up in the repository of the current folder;
``trappoint-merge --uninstall`` undoes that exactly. Git calls the driver as gitattributes(5)
describes under "Defining a custom merge driver": with the base, ours and theirs as files, and the
name of the plan. The driver writes the merged plan to the file of ours.
"""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING

from trappoint.app.exit_codes import FINDINGS, OK
from trappoint_hooks.drivers import Driver, report_of, run_driver, start_of

if TYPE_CHECKING:
    from collections.abc import Sequence


USAGE = """\
trappoint-merge --install    let git merge plans by id and key
trappoint-merge --uninstall  undo that
trappoint-merge --version    print the version

Run it in a folder of the repository. Git calls this program itself, with three
versions of a plan and its name. To merge three files without git, run
`trappoint merge`.

A check on paper, for models: no safety system, not for anything that carries people.
"""

MODULE = "trappoint_hooks.merge"

LEFT_TO_A_PERSON = 94
"""The exit code for conflicts and refused merges: the driver has done its work.

A Python that cannot start, or is killed, never ends with this code.
"""

_ASKED = {"--merge": False, "--merge-bases": True}
"""The first argument of git's commands: True if git merges the bases of a criss-cross merge."""

_COMMAND = """\
{start} {word} %O %A %B %P
case $? in 0) exit 0;; {left}) exit 1;; esac
{report}
echo 'The merged plan is not checked: look through it, then git add it.' >&2
git merge-file -L ours -L base -L theirs %A %O %B
test $? -lt 126 || printf '%%s\\n' '' '<<<<<<< ours' 'The text above is our version.' \
'=======' 'To get the other version, run git checkout --theirs.' '>>>>>>> theirs' >> %A
exit 1
"""
"""The shell command that git calls.

If Trappoint fails, git merges lines, and the merge stops even if all lines merge. Git puts its own
folder first on the search path, so the shell finds ``git``. If git fails too, the shell writes
marks below ours, so ours never looks like the merged plan.
"""


def _command(word: str) -> str:
    start, report = start_of(MODULE), report_of("trappoint-merge", "merge.trappoint")
    given = {"start": start.replace("%", "%%"), "report": report}
    return _COMMAND.format(word=word, left=LEFT_TO_A_PERSON, **given)


DRIVER = Driver(
    program="trappoint-merge",
    usage=USAGE,
    module=MODULE,
    settings={
        "merge.trappoint.name": "plans, by id and key",
        "merge.trappoint.driver": _command("--merge"),
        "merge.trappoint.recursive": "trappoint-bases",
        "merge.trappoint-bases.name": "the bases of a criss-cross merge of plans",
        "merge.trappoint-bases.driver": _command("--merge-bases"),
    },
    attribute="merge=trappoint",
    installed="merges plans by id and key",
    uninstalled="merges plans by lines again",
)


def main(argv: Sequence[str] | None = None) -> int:
    """Install or uninstall the driver, or merge. Returns the exit code.

    For git it is 0 if the plan is merged, ``LEFT_TO_A_PERSON`` if a person must look, and another
    number if the program failed.
    """

    words = list(sys.argv[1:] if argv is None else argv)
    return run_driver(DRIVER, words, lambda _: _answer(words, alone=argv is None))


def _answer(words: list[str], *, alone: bool) -> int | None:
    if len(words) != 5 or words[0] not in _ASKED:
        return None
    asked, base, ours, theirs, name = words
    if _ASKED[asked]:
        return _merge_bases(base, ours, theirs)
    from trappoint.cli import main as run

    code = run(["merge", f"--name={name}", "--", base, ours, theirs], alone=alone)
    return LEFT_TO_A_PERSON if code == FINDINGS else code


def _merge_bases(base: str, ours: str, theirs: str) -> int:
    from trappoint.merging.ancestors import merge_ancestors
    from trappoint.source.reading import read_file
    from trappoint.source.writing import write_file

    write_file(ours, merge_ancestors(*map(read_file, (base, ours, theirs))))
    return OK


if __name__ == "__main__":
    sys.exit(main())
