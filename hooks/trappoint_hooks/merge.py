"""Git's merge driver: plans are merged by id and key, not by lines.

``trappoint-merge --install`` sets it up in the repository of the current folder, and
``trappoint-merge --uninstall`` undoes that exactly. Otherwise git calls it, as gitattributes(5)
has it under "Defining a custom merge driver": with the base, ours and theirs as files, and the
name of the plan. What was merged is written to the file of ours.
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

All are meant for the repository of the current folder. Git calls this program
itself, with three versions of a plan and its name. `trappoint merge` merges
three files without git.
"""

MODULE = "trappoint_hooks.merge"

LEFT_TO_A_PERSON = 94
"""The exit code for conflicts and for a merge that is refused: the file is as it should be.

No interpreter that cannot start, and none that is killed, ends with it.
"""

_ASKED = {"--merge": False, "--merge-bases": True}
"""The first word of git's commands, and whether the bases of a criss-cross merge are merged."""

_COMMAND = """\
{start} {word} %O %A %B %P
case $? in 0) exit 0;; {left}) exit 1;; esac
{report}
echo 'Nothing was checked: look through the plan, then git add it.' >&2
git merge-file -L ours -L base -L theirs %A %O %B
test $? -lt 126 || printf '%%s\\n' '' '<<<<<<< ours' 'The version above is ours.' \
'=======' 'git checkout --theirs brings the other one.' '>>>>>>> theirs' >> %A
exit 1
"""
"""What git calls. Without Trappoint git merges lines, and a person looks even if all lines merge.

Git puts its own folder first on the search path, so that ``git`` is found without any other. Where
that fails too, the shell alone writes marks below ours: no version is passed off as merged.
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
        "merge.trappoint-bases.name": "the bases of plans that are merged crosswise",
        "merge.trappoint-bases.driver": _command("--merge-bases"),
    },
    attribute="merge=trappoint",
    installed="merges plans by id and key",
    uninstalled="merges plans by lines again",
)


def main(argv: Sequence[str] | None = None) -> int:
    """Set the driver up, take it away, or merge. Returns the exit code.

    Towards git it is 0 for a plan that was merged, ``LEFT_TO_A_PERSON`` where a person must look,
    and anything else if the program could not do its work.
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
