"""What a lock keeps of a scene's media."""

import hashlib
import os
from pathlib import Path

import pytest

from desk.errors import MediaError
from desk.files import sample_hash
from desk.footage.locking import hash_media
from desk.jobs import Cancelled, CancelToken

# FIPS 180-4, the worked example for the message “abc” (from memory), and the well-known one of no bytes.
ABC = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
NOTHING = "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"


def test_hashes_all_bytes(tmp_path):
    (tmp_path / "a.mov").write_bytes(b"abc")
    (tmp_path / "b c.mov").touch()
    first, second = hash_media(["a.mov", "b c.mov"], tmp_path)
    assert (first.path, first.size_bytes, first.sha256) == ("a.mov", 3, ABC)
    assert (second.path, second.size_bytes, second.sha256) == ("b c.mov", 0, NOTHING)
    assert first.sample_hash == sample_hash(tmp_path / "a.mov")


def test_a_file_of_many_blocks(tmp_path):
    data = os.urandom(9 << 20)
    (tmp_path / "long.mov").write_bytes(data)
    (found,) = hash_media(["long.mov"], tmp_path)
    assert found.sha256 == hashlib.sha256(data).hexdigest()


def test_what_is_no_file_is_missing(tmp_path):
    (tmp_path / "folder").mkdir()
    (tmp_path / "link").symlink_to("nowhere")
    (tmp_path / "loop").symlink_to("loop")
    (tmp_path / "real.mov").write_bytes(b"abc")
    (tmp_path / "good link").symlink_to("real.mov")
    paths = ["folder", "link", "loop", "nowhere", "real.mov/deeper", "good link"]
    if hasattr(os, "mkfifo"):
        os.mkfifo(tmp_path / "pipe")
        paths.append("pipe")
    assert [found.path for found in hash_media(paths, tmp_path)] == ["good link"]
    assert hash_media([], tmp_path) == ()


def test_tells_how_far_it_is_by_bytes(tmp_path):
    (tmp_path / "short.mov").write_bytes(b"x" * (1 << 20))
    (tmp_path / "long.mov").write_bytes(b"x" * (9 << 20))
    told = []
    hash_media(["short.mov", "long.mov"], tmp_path, progress=told.append)
    fractions = [report.fraction for report in told]
    assert fractions[0] == pytest.approx(0.1)
    assert fractions == sorted(fractions)
    assert fractions[-1] == 1.0
    assert told[-1].text == "Reading long.mov"
    assert {report.stage for report in told} == {"hash"}


def test_can_be_stopped_within_a_file_and_started_again(tmp_path):
    (tmp_path / "long.mov").write_bytes(b"x" * (9 << 20))
    cancel = CancelToken()
    told = []

    def stop(report):
        told.append(report)
        cancel.set()

    with pytest.raises(Cancelled):
        hash_media(["long.mov"], tmp_path, progress=stop, cancel=cancel)
    assert len(told) == 1
    assert len(hash_media(["long.mov"], tmp_path)) == 1


def test_a_file_that_is_still_being_copied(tmp_path):
    path = tmp_path / "growing.mov"
    path.write_bytes(b"x" * (5 << 20))

    def grow(_):
        with path.open("ab") as stream:
            stream.write(b"y")

    with pytest.raises(MediaError, match="grew or shrank") as caught:
        hash_media(["growing.mov"], tmp_path, progress=grow)
    assert caught.value.code == "media.changed"
    assert caught.value.advice


def test_a_file_that_can_not_be_read(tmp_path):
    # The start of `/proc/self/mem` is there, and reading it is an error of the disk.
    if not Path("/proc/self/mem").exists():
        pytest.skip("there is no such file here")
    (tmp_path / "bad.mov").symlink_to("/proc/self/mem")
    with pytest.raises(MediaError, match=r"bad\.mov” can't be read") as caught:
        hash_media(["bad.mov"], tmp_path)
    assert caught.value.path == tmp_path / "bad.mov"
    assert "permissions" in caught.value.advice
