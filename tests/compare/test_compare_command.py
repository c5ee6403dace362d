"""Run ``trappoint compare`` with files and standard input, and as a process with real git."""

from __future__ import annotations

import json
import subprocess
import sys
import time
from pathlib import Path

import pytest

from commands.in_process import trappoint
from commands.running import BAD, GOOD, KELPIE, environment
from compare.repositories import PLAN, Club, copied, found_club
from trappoint.core.findings import CAUTION, CAUTION_SHORT

pytestmark = pytest.mark.usefixtures("quick")

EXPECTED = Path(__file__).parent / "expected"

RENAMED = GOOD.replace("loop-west", "loop")
MOVED = GOOD.replace('"2": {"track": "main",', '"2": {"track": "loop-east", "at_mm": 100,')


def flat(text: str) -> str:
    return " ".join(text.split())


def rebuilt() -> str:
    """Kelpie Quay with a new title, a new signal, one removed, two arms exchanged, a new length."""
    plan = json.loads(RENAMED)
    del plan["signals"]["6"]
    one, other = plan["signals"]["1"]["arms"]
    one["to"], other["to"] = other["to"], one["to"]
    plan["signals"]["2"]["at_mm"] = 1300
    plan["signals"]["8"] = {"track": "loop-east", "for": "up", "arms": [{"id": "8"}]}
    plan["tracks"]["siding"]["length_mm"] = 700
    return json.dumps(plan, indent=2)


@pytest.mark.parametrize("form", ["text", "markdown", "json"])
def test_each_format_whole(form: str, tmp_path: Path, rewrite: bool) -> None:
    (tmp_path / "old.layout.json").write_text(GOOD, "utf-8")
    (tmp_path / "new.layout.json").write_text(rebuilt(), "utf-8")
    words = ("compare", "old.layout.json", "new.layout.json", "--format", form)
    done = trappoint(*words, cwd=tmp_path)
    assert (done.returncode, done.stderr) == (0, "")
    golden = EXPECTED / f"rebuilt.{'json' if form == 'json' else 'md' if form[0] == 'm' else 'txt'}"
    if rewrite:
        golden.parent.mkdir(exist_ok=True)
        golden.write_text(done.stdout, "utf-8")
    assert done.stdout == golden.read_text("utf-8")
    if form == "text":
        assert max(map(len, done.stdout.splitlines())) <= 80
        assert CAUTION_SHORT in flat(done.stdout)
    if form == "markdown":
        assert CAUTION in done.stdout


def test_json_has_the_documented_form(tmp_path: Path) -> None:
    from trappoint.reporting import compare_json

    new = tmp_path / "new.layout.json"
    new.write_text(rebuilt(), "utf-8")
    found = json.loads(trappoint("compare", KELPIE, new, "--format", "json").stdout)
    assert list(found) == [
        *("tool", "version", "old", "new", "differ", "written_differently", "compared"),
        *("things", "arms", "routes", "conflicts", "duties", "findings", "caution"),
    ]
    assert (found["old"]["holds"], found["new"]["holds"], found["differ"]) == (True, False, True)
    keys: set[str] = set()

    def gather(value: object) -> None:
        if isinstance(value, dict):
            keys.update(value)
            for each in value.values():
                gather(each)
        elif isinstance(value, list):
            for each in value:
                gather(each)

    gather({**found, "findings": {}})
    ids = {"p1", "p2", "p3"}
    for key in keys - ids:
        assert f'"{key}"' in (compare_json.__doc__ or ""), key


def test_exit_codes(tmp_path: Path) -> None:
    (tmp_path / "renamed.layout.json").write_text(RENAMED, "utf-8")
    (tmp_path / "respaced.layout.json").write_text(json.dumps(json.loads(GOOD)), "utf-8")
    (tmp_path / "broken.layout.json").write_text(GOOD[:300], "utf-8")

    def code(*words: str | Path) -> int:
        return trappoint("compare", *words, cwd=tmp_path).returncode

    assert code(KELPIE, "renamed.layout.json") == 0
    assert code(KELPIE, "renamed.layout.json", "--exit-code") == 1
    assert code(KELPIE, "respaced.layout.json", "--exit-code") == 0
    assert code(KELPIE, KELPIE, "--exit-code") == 0
    assert code(KELPIE, "broken.layout.json") == 2
    assert code("broken.layout.json", KELPIE) == 2
    assert code("broken.layout.json", "broken.layout.json") == 0  # the same text
    assert code(KELPIE, "missing.layout.json") == 2
    assert code(KELPIE) == 2
    assert code("-", "-") == 2


def test_standard_input_may_be_either_side() -> None:
    one = trappoint("compare", "-", KELPIE, given=RENAMED.encode()).stdout
    assert "track loop-west: renamed from loop" in one
    other = trappoint("compare", KELPIE, "-", given=RENAMED.encode()).stdout
    assert "track loop: renamed from loop-west" in other
    assert "standard input" in other


def test_plans_with_the_same_meaning() -> None:
    done = trappoint("compare", KELPIE, "-", given=json.dumps(json.loads(GOOD)).encode())
    assert "Still holds" in done.stdout
    assert "The railway is the same" in flat(done.stdout)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("nonsense", "one of the texts cannot be read as a plan"),
        ("", "one of the texts cannot be read as a plan"),
        ("[]", "one of the texts cannot be read as a plan"),
        (GOOD.replace("trappoint-layout/1", "trappoint-layout/9"), "cannot be read as a plan"),
    ],
)
def test_a_text_that_is_no_plan(text: str, said: str) -> None:
    for words in (("compare", KELPIE, "-"), ("compare", "-", KELPIE)):
        done = trappoint(*words, given=text.encode())
        assert done.returncode == 2
        assert said in flat(done.stdout)
        assert "Traceback" not in done.stdout + done.stderr


def test_a_plan_with_mistakes_is_compared_as_far_as_it_is_understood() -> None:
    """It has a wrong value, a missing key, an unknown key, and a change of meaning."""
    plan = json.loads(RENAMED)
    plan["signals"]["2"]["for"] = "sideways"
    del plan["points"]["p2"]["normal"]
    plan["tracks"]["siding"]["lenght_mm"] = 5
    plan["tracks"]["main"]["length_mm"] = 1500
    done = trappoint("compare", KELPIE, "-", given=json.dumps(plan).encode())
    assert done.returncode == 0
    text = flat(done.stdout)
    assert "Now it cannot be judged: correct 3 errors first." in text
    assert "Not compared, because of errors in the new plan: points p2, signal 2." in text
    assert "track main: length: now 1500 mm, before 1450 mm" in text
    assert "track loop: renamed from loop-west" in text
    for quiet in ("points p2: gone", "signal 2: gone", "arm 2: gone"):
        assert quiet not in text


# --- git


@pytest.fixture(scope="module")
def first(tmp_path_factory: pytest.TempPathFactory) -> Club:
    """A repository with two commits on main, and a branch that moves a signal."""
    club = found_club(tmp_path_factory.mktemp("club"))
    club.write(GOOD)
    club.commit("Kelpie Quay")
    club.git("switch", "--quiet", "--create", "winter")
    club.write(MOVED)
    club.commit("Signal 2 moved")
    club.git("switch", "--quiet", "main")
    club.write(RENAMED)
    club.commit("The loop has a shorter name")
    return club


@pytest.fixture
def history(first: Club, tmp_path: Path) -> Club:
    return copied(first, tmp_path)


def test_revisions(history: Club) -> None:
    done = history.trappoint("compare", f"HEAD~1:{PLAN}", f"HEAD:{PLAN}")
    assert (done.returncode, done.stderr) == (0, "")
    assert "track loop: renamed from loop-west" in done.stdout
    done = history.trappoint("compare", f"HEAD~1:{PLAN}", PLAN)
    assert f"{PLAN}, compared with HEAD~1:{PLAN}" in flat(done.stdout)


def test_branch_against_branch(history: Club) -> None:
    done = history.trappoint("compare", f"main:{PLAN}", f"winter:{PLAN}")
    assert "track loop-west: renamed from loop" in done.stdout
    assert "100 mm from the up end; before on main" in flat(done.stdout)
    assert "Before it held. Now it does not hold" in flat(done.stdout)


def test_the_index_and_a_folder_below(history: Club) -> None:
    history.write(MOVED)
    history.git("add", PLAN)
    history.write(GOOD)
    below = history.folder / "below"
    below.mkdir()
    assert "signal 2: moved" in history.trappoint("compare", f"HEAD:{PLAN}", f":{PLAN}").stdout
    done = history.trappoint("compare", f"HEAD:../{PLAN}", f"../{PLAN}", cwd=below)
    assert done.returncode == 0
    assert "track loop-west: renamed" in done.stdout
    (below / "b.layout.json").write_text(GOOD, "utf-8")
    history.commit("Below")
    done = history.trappoint("compare", "HEAD:b.layout.json", "b.layout.json", cwd=below)
    assert done.returncode == 2
    assert "Did you mean HEAD:./b.layout.json?" in flat(done.stderr)


@pytest.mark.parametrize(
    ("word", "said"),
    [
        ("HEAD:no.layout.json", "There is no file no.layout.json in HEAD."),
        (f"nowhere:{PLAN}", "git has no revision nowhere"),
        ("HEAD:", "A path is missing"),
        (":no.layout.json", "There is no file no.layout.json in the index."),
        ("HEAD:below", "There is no file below in HEAD."),
    ],
)
def test_revisions_and_files_that_do_not_exist(history: Club, word: str, said: str) -> None:
    history.write(GOOD, "below/other.layout.json")
    history.commit("A folder")
    done = history.trappoint("compare", word, PLAN)
    assert (done.returncode, done.stdout) == (2, "")
    assert said in done.stderr


def test_outside_of_any_repository(club: Club, tmp_path: Path) -> None:
    done = club.trappoint("compare", f"HEAD:{PLAN}", str(KELPIE), cwd=tmp_path)
    assert done.returncode == 2
    assert "not in a git repository" in done.stderr


def test_a_file_whose_name_has_a_colon_is_a_file(history: Club) -> None:
    name = "HEAD:odd.layout.json"
    history.write(MOVED, name)
    done = history.trappoint("compare", PLAN, name)
    assert done.returncode == 0
    assert "signal 2: moved" in done.stdout


def test_no_program_of_the_repository_runs(history: Club) -> None:
    """A text conversion or a filter of the repository does not run."""
    history.write("*.json diff=x filter=x\n", ".gitattributes")
    history.git("config", "diff.x.textconv", "touch ran; cat")
    history.git("config", "filter.x.smudge", "touch ran; cat")
    assert history.trappoint("compare", f"HEAD~1:{PLAN}", f"HEAD:{PLAN}").returncode == 0
    assert not (history.folder / "ran").exists()


def test_odd_texts_come_out_harmless(tmp_path: Path) -> None:
    plan = json.loads(GOOD)
    plan["title"] = "A\x1b[31m <b>*red*</b> | \u202etitle"
    new = json.dumps(plan).encode()
    done = trappoint("compare", KELPIE, "-", given=new)
    assert "\x1b" not in done.stdout
    assert "\u202e" not in done.stdout
    page = trappoint("compare", KELPIE, "-", "--format", "markdown", given=new).stdout
    assert r"\<b\>\*red\*" in page


def test_colour_only_with_the_option(tmp_path: Path) -> None:
    assert (
        "\x1b["
        in trappoint("compare", KELPIE, "-", "--colour", "always", given=BAD.encode()).stdout
    )
    assert "\x1b[" not in trappoint("compare", KELPIE, "-", given=BAD.encode()).stdout


@pytest.mark.bench
def test_a_large_plan_is_quick(tmp_path: Path) -> None:
    """A plan of 40 points with new ids takes less than a second on an idle machine."""
    import random

    from oracle.plans import large_plan
    from properties.changes import Renaming

    plan = large_plan(random.Random(1), points=40)
    for name, each in (("old", plan), ("new", Renaming(random.Random(2), plan).apply())):
        (tmp_path / f"{name}.layout.json").write_text(json.dumps(each), "utf-8")
    begun = time.perf_counter()
    words = [sys.executable, "-m", "trappoint", "compare", "old.layout.json", "new.layout.json"]
    subprocess.run(words, cwd=tmp_path, env=environment(), check=True, capture_output=True)
    assert time.perf_counter() - begun < 1
