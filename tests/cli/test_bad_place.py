"""Places that can't be written to, and an ffmpeg that is missing or fails."""

import contextlib
import os
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.making import bundled_ffmpeg

pytestmark = pytest.mark.ffmpeg


def assemble(out: str | Path, *more: str | Path) -> tuple[str | Path, ...]:
    return ("assemble", "kiosk", "--include", "all", "--out", out, *more)


def fill(path: Path) -> None:
    """Write until the disk is full."""
    with contextlib.suppress(OSError), path.open("wb", buffering=0) as stream:
        while stream.write(b"\0" * 512):
            pass


@pytest.fixture
def mounted(tmp_path: Path) -> Iterator[object]:
    """Mounts a small disk where that is allowed."""
    places: list[Path] = []

    def mount(name: str, options: str) -> Path:
        place = tmp_path / name
        place.mkdir()
        command = ["mount", "-t", "tmpfs", "-o", options, "desk-test", str(place)]
        try:
            subprocess.run(command, check=True, capture_output=True)
        except (OSError, subprocess.CalledProcessError):
            pytest.skip("a small disk can only be made by root")
        places.append(place)
        return place

    yield mount
    for place in places:
        subprocess.run(["umount", str(place)], check=True)


class TestOut:
    @pytest.mark.parametrize(
        ("out", "words"),
        [
            ("a file", "“a file” could not be written"),
            ("a file/deeper", "part of the path is a file"),
            ("loop", "“loop” is a link that leads round in a circle"),
            ("x" * 300, "too long"),
            ("rushes", "lies in the footage"),
            ("rushes/02-shore/copies", "lies in the footage"),
            ("link/copies", "lies in the footage"),
            ("kiosk/../rushes/copies", "lies in the footage"),
        ],
    )
    def test_is_refused(self, desk, kiosk, out, words):
        (desk.folder / "a file").touch()
        (desk.folder / "loop").symlink_to("loop")
        (desk.folder / "link").symlink_to("rushes")
        desk(*assemble(out)).refused(5, words)
        assert desk("show", "kiosk", "--json").json["review_copies"] == []

    def test_is_made_where_it_is_missing(self, desk, kiosk):
        desk(*assemble("a/b/c")).done("a/b/c/the-unprinted-ticket-review-001.mp4")

    @pytest.mark.skipif(not hasattr(os, "geteuid"), reason="permissions are others there")
    def test_read_only(self, desk, kiosk, mounted):
        if os.geteuid() == 0:
            place = mounted("fixed", "size=1m,ro")
            words = "the disk is read-only"
        else:
            place = desk.folder / "fixed"
            place.mkdir(mode=0o555)
            words = "not allowed"
        desk(*assemble(place)).refused(5, words, "Choose another folder")
        desk(*assemble(place / "deeper")).refused(5, words)
        desk("start", place / "kiosk", "--footage", "rushes").refused(5, words)

    @pytest.mark.parametrize("room", ["4k", "8k", "32k"])
    def test_full(self, desk, kiosk, mounted, room):
        place = mounted("small", f"size={room}")
        before = (kiosk / "film.json").read_bytes()
        desk(*assemble(place)).refused(5, "disk", "Free some space")
        assert list(place.iterdir()) == []
        assert (kiosk / "film.json").read_bytes() == before
        desk(*assemble("elsewhere")).done("Review copy 1")

    def test_a_file_that_has_a_copy_s_name_is_kept(self, desk, kiosk):
        (desk.folder / "copies").mkdir()
        other = desk.folder / "copies" / "the-unprinted-ticket-review-001.mp4"
        other.write_text("somebody's")
        desk(*assemble("copies")).done("Review copy 2")
        assert other.read_text() == "somebody's"


class TestProject:
    def test_on_a_full_disk(self, desk, mounted):
        place = mounted("small", "size=256k")
        kiosk = place / "kiosk"
        desk("start", kiosk, "--footage", "rushes").done()
        whole = (kiosk / "film.json").read_bytes()
        fill(place / "filler")
        desk("note", kiosk, "1", "--purpose", "x" * 9000).refused(5, "the disk is full", "Free some space")
        assert (kiosk / "film.json").read_bytes() == whole
        desk("show", kiosk).done("BOATHOUSE")
        desk("check", kiosk, "--include", "all").done()
        desk("assemble", kiosk, "--out", "copies", "--include", "all").refused(5, "full")
        assert not list((desk.folder / "copies").glob("*"))
        (place / "filler").unlink()
        desk("note", kiosk, "1", "--purpose", "She reads the date.").done()

    def test_on_a_read_only_disk(self, desk, mounted):
        place = mounted("fixed", "size=1m")
        kiosk = place / "kiosk"
        desk("start", kiosk, "--footage", "rushes").done()
        subprocess.run(["mount", "-o", "remount,ro", str(place)], check=True)
        desk("show", kiosk).done("BOATHOUSE")
        desk("check", kiosk, "--include", "all").done()
        desk("move", kiosk, "1", "--to", "1").refused(5, "read-only")
        desk("assemble", kiosk, "--out", "copies", "--include", "all").refused(5, "read-only")

    def test_files_where_folders_are_needed(self, desk, kiosk):
        (desk.folder / "a file").touch()
        desk("start", "a file/kiosk", "--footage", "rushes").refused(5, "part of the path is a file")
        desk("start", "a file", "--footage", "rushes").refused(5, "a file")
        pieces = kiosk / ".desk" / "pieces"
        pieces.touch()
        desk(*assemble("copies")).refused(5, "pieces” is a file where a folder is needed")

    def test_a_piece_that_is_damaged_is_made_again(self, desk, kiosk):
        desk(*assemble("copies")).done("5 pieces made")
        piece = max((kiosk / ".desk" / "pieces").glob("*.mp4"))
        piece.write_bytes(piece.read_bytes()[:100])
        desk(*assemble("copies")).done("is damaged and will be made again.", "1 piece made, 4 already there.")


@pytest.mark.skipif(sys.platform == "win32", reason="scripts are others there")
class TestFfmpeg:
    @pytest.mark.parametrize(
        ("program", "words"),
        [
            ("/bin/false", "“/bin/false” is not an ffmpeg"),
            ("/bin/echo", "is not an ffmpeg"),
            ("nowhere/ffmpeg", "no ffmpeg at “nowhere/ffmpeg”"),
            ("rushes", "no ffmpeg at “rushes”"),
            ("rushes/02-shore/C0001.mov", "no ffmpeg at"),
            ("broken", "can't be started"),
        ],
    )
    def test_is_missing_or_something_else(self, desk, kiosk, program, words):
        broken = desk.folder / "broken"
        broken.write_text("#!/nowhere/interpreter\n")
        broken.chmod(0o755)
        name = desk.folder / program if program == "broken" else program
        desk(*assemble("copies", "--ffmpeg", name)).refused(6, words, "Name another, or none")
        assert not (desk.folder / "copies").exists()

    def test_is_missing_by_the_environment(self, desk, kiosk, monkeypatch):
        monkeypatch.setenv("DESK_FFMPEG", "nowhere/ffmpeg")
        desk(*assemble("copies")).refused(6, "unset DESK_FFMPEG")
        desk(*assemble("copies", "--ffmpeg", bundled_ffmpeg())).done("Review copy 1")

    @pytest.mark.parametrize(
        ("does", "words"),
        [
            ("exit 1", "ffmpeg could not make"),
            ('echo "Invalid data found" >&2; exit 183', "Invalid data found"),
            ("kill -9 $$", "ffmpeg was stopped from outside (signal 9)"),
            ('echo half > "${@: -1}"; kill -9 $$', "stopped from outside"),
            ('echo half > "${@: -1}"; kill -SEGV $$', "stopped from outside"),
            ('echo "No space left on device" >&2; exit 228', "The disk filled up"),
            ("exit 0", ""),
        ],
    )
    @pytest.mark.parametrize("when", ["pieces", "copy"])
    def test_fails_half_way(self, desk, kiosk, does, words, when):
        """Both while pieces are made and while the copy is put together from them."""
        which = "*concat*" if when == "copy" else "*"
        stand_in = desk.folder / "stand-in"
        stand_in.write_text(
            f'#!/bin/bash\nreal={bundled_ffmpeg()}\ncase "$*" in\n'
            f'*-version*) exec "$real" "$@";;\n{which}) {does};;\n*) exec "$real" "$@";;\nesac\n'
        )
        stand_in.chmod(0o755)
        before = (kiosk / "film.json").read_bytes()
        code = 5 if "space" in does else 6
        said = desk(*assemble("copies", "--ffmpeg", stand_in))
        if words:
            said.refused(code, words)
        else:
            assert said.code in (5, 6), said
        assert list((desk.folder / "copies").iterdir()) == []
        assert (kiosk / "film.json").read_bytes() == before
        desk(*assemble("copies")).done("Review copy 1")

    def test_ends_long_after_it_was_started(self, desk, kiosk):
        """What was finished before is kept, and the next time goes on from there."""
        stand_in = desk.folder / "stand-in"
        count = desk.folder / "count"
        stand_in.write_text(
            f'#!/bin/bash\nreal={bundled_ffmpeg()}\ncase "$*" in *-version*) exec "$real" "$@";; esac\n'
            f'echo >> "{count}"\n[ $(wc -l < "{count}") -gt 4 ] && kill -9 $$\nexec "$real" "$@"\n'
        )
        stand_in.chmod(0o755)
        desk(*assemble("copies", "--ffmpeg", stand_in, "--workers", "1")).refused(
            6, "what was finished is kept"
        )
        said = desk(*assemble("copies")).done("Review copy 1")
        assert "5 pieces made, 0 already there" not in said.out
