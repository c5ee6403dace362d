"""Special files and links out of the repository are never read and never block."""

from __future__ import annotations

import os
import socket
from pathlib import Path
from threading import Thread

import pytest

from trappoint import FilesOnDisk, OutOfReach
from trappoint.source.opening import read_within
from trappoint.source.reading import UnusableFile, read_file


@pytest.fixture
def repository(tmp_path: Path) -> Path:
    """Return a folder that looks like a repository, with a secret file beside it."""
    (tmp_path / "secret").write_text("a secret", "utf-8")
    (tmp_path / "here" / ".git").mkdir(parents=True)
    (tmp_path / "here" / "plan").write_text("a plan", "utf-8")
    return tmp_path / "here"


def why(path: Path) -> str:
    with pytest.raises(UnusableFile) as caught:
        read_file(path)
    return str(caught.value).replace(str(path), "FILE")


def test_what_is_no_plain_file_is_not_read(repository: Path) -> None:
    os.mkfifo(repository / "pipe")
    assert why(repository / "pipe") == "FILE cannot be read: it is a pipe."
    with socket.socket(socket.AF_UNIX) as end:
        end.bind(str(repository / "socket"))
        assert why(repository / "socket") == "FILE cannot be read: it is a socket."
    (repository / "folder").mkdir()
    assert why(repository / "folder") == "FILE is a folder, not a file."
    with pytest.raises(OSError, match="it is a device"):
        read_within("/dev", "/dev/zero", 10)


def test_links_are_followed_within_the_repository_alone(repository: Path) -> None:
    astray = "FILE is a link that leads out of its repository or folder."
    (repository / "below").mkdir()
    (repository / "below" / "inward").symlink_to("../plan")
    assert read_file(repository / "below" / "inward") == b"a plan"
    (repository / "outward").symlink_to("../secret")
    assert why(repository / "outward") == astray
    (repository / "out").symlink_to(repository.parent)
    assert why(repository / "out" / "secret") == astray
    (repository / "device").symlink_to("/dev/zero")
    assert why(repository / "device") == astray
    (repository / "circle").symlink_to("circle")
    assert why(repository / "circle").startswith("FILE cannot be read: too many levels")


def test_boards_are_plain_files_too(repository: Path) -> None:
    os.mkfifo(repository / "pipe")
    (repository / "outward").symlink_to("../secret")
    files = FilesOnDisk(str(repository))
    with pytest.raises(OSError, match="it is a pipe"):
        files.read("pipe")
    with pytest.raises(OutOfReach):
        files.read("outward")
    assert files.read("plan") == b"a plan"


def test_a_pipe_outside_of_repositories_is_read_if_it_is_named(tmp_path: Path) -> None:
    pipe = tmp_path / "pipe"
    os.mkfifo(pipe)
    writer = Thread(target=pipe.write_text, args=("a plan", "utf-8"))
    writer.start()
    assert read_file(pipe) == b"a plan"
    writer.join()


def test_a_link_put_in_the_way_meanwhile_is_not_followed(
    repository: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Test that links are refused if they replace a file or its folder just before it is opened."""
    (repository / "below").mkdir()
    (repository / "below" / "secret").write_text("a plan", "utf-8")
    (repository / "secret").write_text("a plan", "utf-8")
    look = os.stat

    def look_and_swap(place: str) -> os.stat_result:
        found = look(place)
        path = Path(place)
        if path.parent.name == "below":
            path.parent.rename(repository / "gone")
            path.parent.symlink_to(repository.parent)
        else:
            path.unlink()
            path.symlink_to("../secret")
        return found

    monkeypatch.setattr("trappoint.source.opening.os.stat", look_and_swap)
    for name in ("secret", "below/secret"):
        with pytest.raises(OSError, match=r"Too many levels|Not a directory"):
            read_within(str(repository), str(repository / name), 100)
