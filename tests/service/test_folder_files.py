"""The files of a folder: nothing outside is read or written, and nothing is half written."""

from __future__ import annotations

import os
import resource
import signal
import socket
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from trappoint.app import open_folder
from trappoint.app.open_folder import (
    ChangedMeanwhile,
    DiskFull,
    FileInTheWay,
    FolderTrouble,
    NameRefused,
    NoSuchFile,
    NotWritten,
    OpenFolder,
)
from trappoint.core.errors import CannotUse

NORTH = "north.layout.json"


@pytest.fixture
def outside(tmp_path: Path) -> Path:
    found = tmp_path / "outside"
    found.mkdir()
    (found / NORTH).write_bytes(b"secret")
    return found


@pytest.fixture
def folder(tmp_path: Path) -> Iterator[OpenFolder]:
    top = tmp_path / "plans"
    (top / "clubs").mkdir(parents=True)
    (top / NORTH).write_bytes(b"north")
    (top / "clubs" / NORTH).write_bytes(b"club")
    opened = OpenFolder(str(top))
    yield opened
    opened.close()


def names(folder: OpenFolder) -> list[str]:
    return [entry.name for entry in folder.listing().files]


def files_in(folder: OpenFolder) -> set[str]:
    return {str(path.relative_to(folder.top)) for path in Path(folder.top).rglob("*")}


BAD_NAMES = [
    *("", ".", "..", "/", "//", "../outside/north.layout.json", "../plans/north.layout.json"),
    *("clubs/../north.layout.json", "clubs/../../outside/north.layout.json"),
    *("/etc/north.layout.json", "//host/share/north.layout.json", "clubs//north.layout.json"),
    *("..\\outside\\north.layout.json", "clubs\\north.layout.json", "C:\\north.layout.json"),
    *("C:north.layout.json", "c:/north.layout.json", "north.layout.json:stream.layout.json"),
    *("north.layout.json\0", "nor\0th.layout.json", "nor\nth.layout.json", "\x7f.layout.json"),
    *("\u202enorth.layout.json", "\ud800.layout.json", "north.layout.json ", "north.layout.json."),
    *(".layout.json", ".git/north.layout.json", "clubs/.git/north.layout.json"),
    *(".north.layout.json", "\ufffd.layout.json"),
    *(".store.json", "trappoint.toml", "north.json", "north.layout.json/", "north.layout.json.exe"),
    *("clubs./north.layout.json", "clubs /north.layout.json", f"{'n' * 1000}.layout.json"),
]


@pytest.mark.parametrize("name", BAD_NAMES)
def test_a_name_that_is_none_of_this_folder_is_refused(
    folder: OpenFolder, outside: Path, name: str
) -> None:
    before = files_in(folder)
    with pytest.raises(NameRefused):
        folder.read(name)
    for content in (None, b"north", b"secret"):
        with pytest.raises(NameRefused):
            folder.save(name, b"new", content)
    assert files_in(folder) == before
    assert [(path.name, path.read_bytes()) for path in outside.iterdir()] == [(NORTH, b"secret")]


@pytest.mark.parametrize(
    ("link", "to"),
    [
        (NORTH, "../outside/north.layout.json"),
        (NORTH, "../outside/fresh.layout.json"),
        (NORTH, ".git/config"),
        (NORTH, ".git/north.layout.json"),
        (NORTH, "parts.store.json"),
        (NORTH, "notes.txt"),
        ("clubs", "../outside"),
        ("clubs", ".git"),
        ("clubs", "/"),
    ],
)
def test_a_link_that_leads_elsewhere_is_refused(
    folder: OpenFolder, outside: Path, link: str, to: str
) -> None:
    top = Path(folder.top)
    (top / ".git").mkdir()
    (top / "notes.txt").write_bytes(b"notes")
    for name in ("config", NORTH):
        (top / ".git" / name).write_bytes(b"git")
    (top / "parts.store.json").write_bytes(b"store")
    for path in sorted(top.glob(f"{link}/*")):
        path.unlink()
    (top / link).rmdir() if (top / link).is_dir() else (top / link).unlink()
    (top / link).symlink_to(to)
    name = link if link == NORTH else f"{link}/{NORTH}"
    for act in (
        lambda: folder.read(name),
        lambda: folder.save(name, b"new", None),
        lambda: folder.save(name, b"new", b"secret"),
        lambda: folder.save(name, b"new", b"git"),
    ):
        with pytest.raises(FolderTrouble):
            act()
    assert name not in names(folder)
    assert [(path.name, path.read_bytes()) for path in outside.iterdir()] == [(NORTH, b"secret")]
    assert {path.read_bytes() for path in (top / ".git").iterdir()} == {b"git"}
    assert (top / "parts.store.json").read_bytes() == b"store"
    assert (top / "notes.txt").read_bytes() == b"notes"


def test_a_link_to_another_plan_of_the_folder_is_followed(folder: OpenFolder) -> None:
    place = Path(folder.top, "main.layout.json")
    place.symlink_to(f"clubs/{NORTH}")
    assert "main.layout.json" in names(folder)
    assert folder.read("main.layout.json") == b"club"
    folder.save("main.layout.json", b"new", b"club")
    assert place.is_symlink()
    assert folder.read(f"clubs/{NORTH}") == b"new"


SWAPPED = {
    "read a file": lambda folder: folder.read(f"clubs/{NORTH}"),
    "save a file": lambda folder: folder.save(f"clubs/{NORTH}", b"new", b"club"),
    "overwrite the file outside": lambda folder: folder.save(f"clubs/{NORTH}", b"new", b"secret"),
    "make a file": lambda folder: folder.save("clubs/fresh.layout.json", b"new", None),
}


@pytest.mark.parametrize("of_file", [False, True], ids=["folder", "file"])
@pytest.mark.parametrize("act", SWAPPED.values(), ids=SWAPPED)
def test_a_link_put_in_the_way_meanwhile_leads_nowhere(
    folder: OpenFolder,
    outside: Path,
    monkeypatch: pytest.MonkeyPatch,
    act: Callable[[OpenFolder], object],
    of_file: bool,
) -> None:
    """The link comes after the name has been looked at, and before the file is opened."""
    victim = Path(folder.top, "clubs", *([NORTH] if of_file else []))
    real = open_folder.open_folder

    def swap(top: str | int, path: str) -> int:
        if not victim.is_symlink():
            victim.rename(Path(folder.top, "away"))
            victim.symlink_to(outside / NORTH if of_file else outside)
        return real(top, path)

    monkeypatch.setattr(open_folder, "open_folder", swap)
    if of_file and act is SWAPPED["make a file"]:
        act(folder)  # the link is beside it
        assert Path(folder.top, "clubs/fresh.layout.json").read_bytes() == b"new"
    else:
        with pytest.raises(FolderTrouble):
            act(folder)
    assert victim.is_symlink()
    assert [(path.name, path.read_bytes()) for path in outside.iterdir()] == [(NORTH, b"secret")]


def test_links_swapped_all_the_time_lead_nowhere(folder: OpenFolder, outside: Path) -> None:
    top, ended = Path(folder.top), threading.Event()

    def swap() -> None:
        (top / "link").symlink_to(outside)
        while not ended.is_set():
            (top / "clubs").rename(top / "away")
            (top / "link").rename(top / "clubs")
            (top / "clubs").rename(top / "link")
            (top / "away").rename(top / "clubs")

    swapping = threading.Thread(target=swap)
    swapping.start()
    seen = set()
    for _ in range(300):
        try:
            seen.add(folder.read(f"clubs/{NORTH}"))
            folder.save(f"clubs/{NORTH}", b"club", b"club")
        except FolderTrouble as error:
            seen.add(type(error).__name__.encode())
    ended.set()
    swapping.join()
    assert b"secret" not in seen
    assert [(path.name, path.read_bytes()) for path in outside.iterdir()] == [(NORTH, b"secret")]


def test_pipes_sockets_and_folders_are_not_opened(folder: OpenFolder, tmp_path: Path) -> None:
    top = Path(folder.top)
    os.mkfifo(top / "pipe.layout.json")
    (top / "folder.layout.json").mkdir()
    (top / "zero.layout.json").symlink_to("/dev/zero")
    with socket.socket(socket.AF_UNIX) as plug:
        plug.bind(os.path.relpath(top / "plug.layout.json"))
        for name in ("pipe", "folder", "zero", "plug"):
            with pytest.raises(FolderTrouble):
                folder.read(f"{name}.layout.json")
            with pytest.raises(FolderTrouble):
                folder.save(f"{name}.layout.json", b"new", b"")
    assert names(folder) == [f"clubs/{NORTH}", NORTH]


def test_the_list_has_plans_and_stores_outside_hidden_folders(folder: OpenFolder) -> None:
    top = Path(folder.top)
    for path in (".git/x.layout.json", ".hidden.layout.json", "b/c/d.STORE.json", "notes.txt"):
        (top / path).parent.mkdir(parents=True, exist_ok=True)
        (top / path).write_bytes(b"")
    (top / os.fsdecode(b"\xff.layout.json")).write_bytes(b"")
    assert names(folder) == ["b/c/d.STORE.json", f"clubs/{NORTH}", NORTH]


# --- saving


def test_a_saved_file_keeps_its_mode_and_has_the_bytes_as_they_are(folder: OpenFolder) -> None:
    place = Path(folder.top, NORTH)
    place.chmod(0o640)
    text = b"\xef\xbb\xbf{\r\n}\r\n\n\r no end"
    folder.save(NORTH, text, b"north")
    assert place.read_bytes() == text
    assert place.stat().st_mode & 0o777 == 0o640
    mask = os.umask(0o027)
    folder.save("new.layout.json", b"", None)
    os.umask(mask)
    assert Path(folder.top, "new.layout.json").stat().st_mode & 0o777 == 0o640


def test_a_new_file_overwrites_none(folder: OpenFolder) -> None:
    with pytest.raises(FileInTheWay, match=r"There is a file north\.layout\.json already"):
        folder.save(NORTH, b"new", None)
    with pytest.raises(FileInTheWay, match=r"Some disks cannot tell it from North\.layout\.json"):
        folder.save("North.layout.json", b"new", None)
    with pytest.raises(FileInTheWay, match="There is clubs already"):
        folder.save("CLUBS/south.layout.json", b"new", None)
    with pytest.raises(NoSuchFile):
        folder.save("nowhere/south.layout.json", b"new", None)
    with pytest.raises(NameRefused, match="names a device"):
        folder.save("aux.layout.json", b"new", None)
    assert files_in(folder) == {NORTH, "clubs", f"clubs/{NORTH}"}
    assert folder.read(NORTH) == b"north"


def test_of_many_that_make_one_file_one_does(folder: OpenFolder) -> None:
    done: list[bytes] = []

    def make(content: bytes) -> None:
        try:
            folder.save("one.layout.json", content, None)
        except FileInTheWay:
            return
        done.append(content)

    threads = [threading.Thread(target=make, args=(b"%d" % number,)) for number in range(20)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert done == [folder.read("one.layout.json")]


def test_what_came_in_meanwhile_is_not_overwritten(
    folder: OpenFolder, monkeypatch: pytest.MonkeyPatch
) -> None:
    with pytest.raises(ChangedMeanwhile):
        folder.save(NORTH, b"new", b"old")
    real = os.fsync

    def come_in(handle: int) -> None:
        real(handle)
        Path(folder.top, NORTH).write_bytes(b"from elsewhere")

    monkeypatch.setattr(os, "fsync", come_in)
    with pytest.raises(ChangedMeanwhile):
        folder.save(NORTH, b"new", b"north")
    assert folder.read(NORTH) == b"from elsewhere"
    assert files_in(folder) == {NORTH, "clubs", f"clubs/{NORTH}"}


COUNTING = """
import sys
from trappoint.app.open_folder import ChangedMeanwhile, OpenFolder

folder = OpenFolder(sys.argv[1])
for _ in range(int(sys.argv[2])):
    while True:
        now = folder.read("north.layout.json")
        try:
            folder.save("north.layout.json", b"%d" % (int(now) + 1), now)
        except ChangedMeanwhile:
            continue
        break
"""


def test_two_services_on_one_folder_lose_nothing(folder: OpenFolder) -> None:
    """Each adds one to a number, again and again."""
    Path(folder.top, NORTH).write_bytes(b"0")
    words = [sys.executable, "-c", COUNTING, folder.top, "30"]
    processes = [subprocess.Popen(words) for _ in range(2)]
    assert [process.wait(60) for process in processes] == [0, 0]
    assert folder.read(NORTH) == b"60"


WRITING = """
import sys
from trappoint.app.open_folder import OpenFolder

folder = OpenFolder(sys.argv[1])
texts = [bytes([65 + number]) * 3_000_000 for number in range(3)]
now = folder.read("north.layout.json")
print("ready", flush=True)
while True:
    for text in texts:
        folder.save("north.layout.json", text, now)
        now = text
"""


def test_nobody_sees_half_a_file_even_if_the_program_is_killed(folder: OpenFolder) -> None:
    seen = set()
    for delay in (0.02, 0.09):
        words = [sys.executable, "-c", WRITING, folder.top]
        with subprocess.Popen(words, stdout=subprocess.PIPE) as process:
            assert process.stdout is not None
            process.stdout.readline()
            now = first = folder.read(NORTH)
            end = time.monotonic() + delay
            latest = end + 30  # a busy machine may save nothing for a while
            while time.monotonic() < end or (now == first and time.monotonic() < latest):
                now = folder.read(NORTH)
                seen.add(now)
            process.send_signal(signal.SIGKILL)
        seen.add(folder.read(NORTH))
    assert {(len(text), len(set(text))) for text in seen - {b"north"}} == {(3_000_000, 1)}
    assert NORTH in names(folder)
    assert not [name for name in names(folder) if "trappoint-" in name]


def test_a_full_disk_leaves_the_file_as_it_was(
    folder: OpenFolder, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(handle: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    for name, before in ((NORTH, b"north"), ("new.layout.json", None)):
        with pytest.raises(DiskFull, match=r"no space left on device\. Your text is still on"):
            folder.save(name, b"new", before)
    assert folder.read(NORTH) == b"north"
    assert files_in(folder) == {NORTH, "clubs", f"clubs/{NORTH}"}


def test_a_file_over_a_limit_of_the_system_leaves_the_old_one(folder: OpenFolder) -> None:
    """A real error in the middle of writing: the process may write no file of this length."""
    before = resource.getrlimit(resource.RLIMIT_FSIZE)
    told = signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
    resource.setrlimit(resource.RLIMIT_FSIZE, (1000, before[1]))
    try:
        with pytest.raises(NotWritten):
            folder.save(NORTH, b"x" * 5000, b"north")
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, before)
        signal.signal(signal.SIGXFSZ, told)
    assert folder.read(NORTH) == b"north"
    assert files_in(folder) == {NORTH, "clubs", f"clubs/{NORTH}"}


@pytest.mark.parametrize("of_folder", [True, False])
def test_what_is_read_only_is_not_written(folder: OpenFolder, of_folder: bool) -> None:
    place = Path(folder.top)
    (place if of_folder else place / NORTH).chmod(0o555 if of_folder else 0o444)
    words = (
        "import fcntl, os, secrets, sys\n"
        "from trappoint.app.open_folder import NotWritten, OpenFolder\n"
        "folder = OpenFolder(sys.argv[1])\n"
        "if os.geteuid() == 0:\n    os.setuid(65534)\n"
        "try:\n    folder.save('north.layout.json', b'new', b'north')\n"
        "except NotWritten as error:\n    print(error)\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", words, folder.top], capture_output=True, text=True, check=False
    )
    place.chmod(0o755)
    assert "north.layout.json cannot be written: permission" in done.stdout, done.stderr
    assert folder.read(NORTH) == b"north"


def test_a_folder_that_cannot_be_used_is_named(tmp_path: Path) -> None:
    (tmp_path / "file").write_bytes(b"")
    for name in ("missing", "file", "nul\0"):
        with pytest.raises(CannotUse, match="cannot be used as a folder"):
            OpenFolder(str(tmp_path / name))


def test_a_folder_renamed_meanwhile_stays_the_folder(folder: OpenFolder, outside: Path) -> None:
    Path(folder.top).rename(Path(folder.top).with_name("renamed"))
    Path(folder.top).symlink_to(outside)
    act: Callable[[], object] = lambda: folder.save(NORTH, b"new", b"secret")  # noqa: E731
    with pytest.raises(FolderTrouble):
        act()
    assert (outside / NORTH).read_bytes() == b"secret"
