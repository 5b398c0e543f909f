"""Pieces on disk: whole or not there, whatever happens while they are made or afterwards."""

import errno
import logging
import os
import time

import pytest

from desk.errors import OutputError
from desk.render.cache import PieceStore


def make(store, key, data=b"picture" * 1000):
    return store.make(key, ".mp4", lambda part: part.write_bytes(data))


def test_a_piece_made_is_found_again_by_another_store(tmp_path):
    path = make(PieceStore(tmp_path), "k1")
    assert PieceStore(tmp_path).find("k1") == path
    assert path.read_bytes() == b"picture" * 1000
    assert PieceStore(tmp_path).find("k2") is None


@pytest.mark.parametrize("damage", ["cut off", "changed", "gone", "a folder"])
def test_a_damaged_piece_counts_as_not_there_and_is_made_again(tmp_path, damage, caplog):
    store = PieceStore(tmp_path)
    path = make(store, "k1")
    data = path.read_bytes()
    match damage:
        case "cut off":
            path.write_bytes(data[:-1])
        case "changed":
            path.write_bytes(data[:100] + b"x" + data[101:])
        case "gone":
            path.unlink()
        case "a folder":
            path.unlink()
            path.mkdir()
    with caplog.at_level(logging.WARNING):
        assert store.find("k1") is None
    assert "made again" in caplog.text
    if damage != "a folder":
        assert store.find("k1") is None
        assert make(store, "k1").read_bytes() == data


def test_nothing_is_left_when_making_fails(tmp_path):
    store = PieceStore(tmp_path)

    def write(part):
        part.write_bytes(b"half")
        raise OSError(errno.ENOSPC, "No space left on device")

    with pytest.raises(OutputError) as caught:
        store.make("k1", ".mp4", write)
    assert caught.value.code == "output.full"
    assert list(tmp_path.iterdir()) == []
    assert store.find("k1") is None


def test_over_the_limit_the_pieces_not_used_for_longest_go(tmp_path):
    store = PieceStore(tmp_path)
    for index in range(4):
        os.utime(make(store, f"k{index}", b"x" * 1000), (index, index))
    assert store.find("k0") is not None  # which makes it the one used last
    store.tidy(limit_bytes=2000)
    left = PieceStore(tmp_path)
    assert [key for key in ("k0", "k1", "k2", "k3") if left.find(key)] == ["k0", "k3"]


def test_parts_that_a_crash_left_go_after_a_day_and_not_before(tmp_path):
    old, young = tmp_path / ".k1.00000000.mp4", tmp_path / ".k2.00000000.mp4"
    for path, age in ((old, 2), (young, 0)):
        path.write_bytes(b"half")
        os.utime(path, (time.time() - age * 86_400,) * 2)
    folder = tmp_path / ".join-x"
    folder.mkdir()
    (folder / "pieces.txt").touch()
    os.utime(folder, (time.time() - 2 * 86_400,) * 2)
    PieceStore(tmp_path).tidy()
    assert not old.exists()
    assert not folder.exists()
    assert young.exists()


def test_a_folder_that_can_not_be_made_is_told(tmp_path):
    (tmp_path / "file").touch()
    with pytest.raises(OutputError, match="file"):
        PieceStore(tmp_path / "file" / "pieces")
