"""Files are written whole or not at all."""

import os
from pathlib import Path

import pytest

from spawnwright.errors import BadFile
from spawnwright.store.files import check_writable, write_whole


def test_an_older_file_is_replaced_and_keeps_its_permissions(tmp_path):
    file = tmp_path / "batch.pdf"
    file.write_bytes(b"old")
    file.chmod(0o640)

    write_whole(file, b"new")

    assert file.read_bytes() == b"new"
    assert file.stat().st_mode & 0o777 == 0o640
    assert list(tmp_path.iterdir()) == [file], "nothing is left beside it"


def test_a_new_file_has_the_usual_permissions(tmp_path):
    before = os.umask(0o022)
    try:
        write_whole(tmp_path / "batch.ics", b"new")
    finally:
        os.umask(before)

    assert (tmp_path / "batch.ics").stat().st_mode & 0o777 == 0o644


def test_a_write_that_fails_leaves_the_older_file_and_nothing_else(tmp_path, monkeypatch):
    file = tmp_path / "batch.pdf"
    file.write_bytes(b"old")

    def full(_: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(BadFile, match="No space left"):
        write_whole(file, b"new")

    assert file.read_bytes() == b"old"
    assert list(tmp_path.iterdir()) == [file]


def test_places_that_cannot_be_written_to_are_refused_beforehand(tmp_path):
    wish = tmp_path / "wish.toml"
    wish.write_bytes(b"")

    check_writable(tmp_path / "new.pdf", keep=wish)
    for path, said in (
        (tmp_path, "is a folder"),
        (tmp_path / "none" / "new.pdf", "no folder"),
        (tmp_path / "." / "wish.toml", "is the file that"),
    ):
        with pytest.raises(BadFile, match=said):
            check_writable(path, keep=wish)


def test_a_device_is_not_replaced():
    """Run by root, a file renamed over /dev/null would break the whole machine."""
    with pytest.raises(BadFile, match="no ordinary file"):
        check_writable(Path("/dev/null"))
