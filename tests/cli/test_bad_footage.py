"""Footage of every bad kind, and folders of every shape: a sentence each, never a traceback or a change."""

import os
import shutil
import socket
import sys
import threading
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from tests.cli.running import FILM_SIZE, Desk
from tests.making import make_numbered, read_numbers, run_ffmpeg

pytestmark = pytest.mark.ffmpeg

SOURCE = "C0001.mov"
MakeBad = Callable[[Path, Path], object]


def _truncated(path: Path, whole: Path) -> None:
    path.write_bytes(whole.read_bytes()[:700])


def _zero_length(path: Path, whole: Path) -> None:
    run_ffmpeg("-i", whole, "-map", "0:v", "-c", "copy", "-frames:v", "0", "-f", "mov", path)


def _audio_only(path: Path, whole: Path) -> None:
    run_ffmpeg("-i", whole, "-map", "0:a", "-c", "copy", "-f", "mov", path)


def _unreadable(path: Path, whole: Path) -> None:
    shutil.copy(whole, path)
    path.chmod(0)
    if os.access(path, os.R_OK):
        path.chmod(0o644)
        pytest.skip("who may read everything, such as root, finds no file unreadable")


def _pipe(path: Path, _: Path) -> None:
    if not hasattr(os, "mkfifo"):
        pytest.skip("there are no pipes on disk here")
    os.mkfifo(path)


def _still(path: Path, whole: Path) -> None:
    run_ffmpeg("-i", whole, "-frames:v", "1", "-f", "image2", "-c:v", "png", path)


BAD: dict[str, tuple[MakeBad, str]] = {
    "missing": (lambda path, whole: None, "missing"),
    "a link to nothing": (lambda path, whole: path.symlink_to("nowhere.mov"), "missing"),
    "empty": (lambda path, whole: path.touch(), "is empty"),
    "truncated": (_truncated, "is cut off"),
    "zero-length": (_zero_length, ""),
    "audio-only": (_audio_only, "has no picture"),
    "unreadable": (_unreadable, "may not be read"),
    "a folder": (lambda path, whole: path.mkdir(), "is a folder"),
    "a pipe": (_pipe, "is a pipe"),
    "text": (lambda path, whole: path.write_text("These are not pictures.\n" * 50), ""),
    "noise": (lambda path, whole: path.write_bytes(bytes((n * 77 + n // 13) % 256 for n in range(5000))), ""),
    "a still picture": (_still, "still picture"),
    "a program": (lambda path, whole: path.write_text("#!/bin/sh\ntouch was-run\n"), ""),
}


@pytest.fixture(params=BAD, ids=[name.replace(" ", "-") for name in BAD])
def bad(request: pytest.FixtureRequest, desk: Desk) -> tuple[MakeBad, str]:
    return BAD[request.param]


class TestFiles:
    def test_a_bad_file_is_left_out_of_a_new_film_and_named(self, desk, bad):
        make, words = bad
        path = desk.rushes / "02-shore" / "C0009.mov"
        make(path, desk.rushes / "02-shore" / SOURCE)
        said = desk("start", "kiosk", "--footage", "rushes").done("3 scenes, 4 clips")
        if path.is_file():
            assert "C0009.mov" in said.err
            assert "left out" in said.err
            assert words in said.err
        if path.is_symlink():
            assert "is a link to nothing and was passed over" in said.err

    def test_nothing_but_a_bad_file_makes_no_film(self, desk, bad):
        make, _ = bad
        scene = desk.folder / "bad rushes" / "1"
        scene.mkdir(parents=True)
        make(scene / SOURCE, desk.rushes / "02-shore" / SOURCE)
        desk("start", "kiosk", "--footage", "bad rushes").refused(4, "There is no footage in “bad rushes”")
        assert not (desk.folder / "kiosk").exists()

    def test_a_file_that_went_bad_is_named_by_every_command(self, desk, kiosk, bad):
        make, words = bad
        path = desk.rushes / "02-shore" / SOURCE
        whole = desk.rushes / "01 boathouse" / SOURCE
        path.unlink()
        make(path, whole)
        desk("show", "kiosk").done("SHORE")
        said = desk("check", "kiosk", "--include", "all")
        assert said.code == 1
        assert "BLOCKS: Scene 2" in said.out
        assert "02-shore/C0001.mov" in said.out
        assert words in said.out
        desk("assemble", "kiosk", "--out", "copies", "--include", "all").refused(1, "02-shore/C0001.mov")
        assert not list((desk.folder / "copies").glob("*"))
        # Every edit is possible all the same, and joins that need the file say nothing untrue.
        desk("join", "kiosk", "2", "black", "4").done()
        desk("move", "kiosk", "2", "--to", "1").done()
        desk("set-aside", "kiosk", "2").done()
        desk("assemble", "kiosk", "--out", "copies", "--include", "all").done("Review copy 1")

    def test_one_that_can_not_be_read_is_not_locked(self, desk, kiosk):
        path = desk.rushes / "02-shore" / SOURCE
        path.unlink()
        desk("lock", "kiosk", "2").refused(2, "1 file missing: “../rushes/02-shore/C0001.mov”")
        path.symlink_to(path.name)
        desk("lock", "kiosk", "2").refused(2, "1 file missing")

    def test_picture_alone_is_enough(self, desk):
        scene = desk.folder / "silent" / "1"
        scene.mkdir(parents=True)
        make_numbered(scene / SOURCE, frames=6, size=FILM_SIZE)
        desk("start", "kiosk", "--footage", "silent").done()
        desk("assemble", "kiosk", "--out", "copies", "--include", "all").done("Review copy 1, 0:03:06")

    def test_a_folder_of_sound_alone(self, desk):
        scene = desk.folder / "sounds" / "1"
        scene.mkdir(parents=True)
        _audio_only(scene / SOURCE, desk.rushes / "02-shore" / SOURCE)
        desk("start", "kiosk", "--footage", "sounds").refused(4, "has no picture")


NAMES = [
    "a b.mov",
    "it's.mov",
    'quo"te.mov',
    "100%.mov",
    "%03d.mov",
    "new\nline.mov",
    "-dash.mov",
    "--help.mov",
    "\U0001f6a2.mov",
    "what#?.mov",
    "é.mov",
    "co,ma;semi[1]=x.mov",
    "a:b.mov",
    "http:x.mov",
    "concat:a|b.mov",
    "$HOME `touch was-run`.mov",
    "\x1b[31mred.mov",
    "C0001.MOV",
]


@pytest.mark.skipif(sys.platform == "win32", reason="its disks allow none of these names")
class TestNames:
    def test_every_name_is_used(self, desk, tmp_path):
        footage = tmp_path / "rush's #1 100%\n\U0001f6a2"
        scenes = [footage / "-1 it's 50% #?", footage / "2 \x1b[31mred\n\U0001f6a2", footage / "3"]
        for scene in scenes:
            scene.mkdir(parents=True)
        whole = make_numbered(tmp_path / "whole.mov", frames=2, size=FILM_SIZE)
        for index, name in enumerate(NAMES):
            shutil.copy(whole, scenes[index % len(scenes)] / name)
        said = desk("start", "kiosk", "--footage", footage).done(f"3 scenes, {len(NAMES)} clips")
        assert said.err == ""
        desk("check", "kiosk", "--include", "all").done()
        said = desk("show", "kiosk").done()
        assert len(said.out.splitlines()) == 8
        desk("lock", "kiosk", "--all", "--reason", "rough").done()
        desk("assemble", "kiosk", "--out", "co pies' #?%\n", "--bundle").done("Review copy 1")
        copy = next((tmp_path / "co pies' #?%\n").glob("*.mp4"))
        assert read_numbers(copy)[75:] == [0, 1] * len(NAMES)
        assert not list(tmp_path.rglob("was-run"))

    def test_a_backslash_is_refused_by_name(self, desk):
        shutil.copy(desk.rushes / "02-shore" / SOURCE, desk.rushes / "02-shore" / "a\\b.mov")
        desk("start", "kiosk", "--footage", "rushes").done("4 clips", "without backslashes", "Rename it")

    def test_a_name_that_is_not_unicode(self, desk):
        name = os.fsencode(desk.rushes / "02-shore") + b"/\xff.mov"
        try:
            shutil.copy(desk.rushes / "02-shore" / SOURCE, name)
        except OSError:
            pytest.skip("this disk takes no such name")
        desk("start", "kiosk", "--footage", "rushes").done("4 clips", "not Unicode")

    def test_a_project_with_such_a_name(self, desk):
        desk("start", "a 'b' #? 100%\n\U0001f6a2", "--footage", "rushes").done()
        assert desk.film("a 'b' #? 100%\n\U0001f6a2")["title"] == "a 'b' #? 100% \U0001f6a2"
        desk("move", "a 'b' #? 100%\n\U0001f6a2", "1", "--to", "1").done()

    def test_a_project_whose_name_begins_with_a_dash(self, desk):
        desk("start", "--footage", "rushes", "--", "-kiosk").done()
        desk("show", "--", "-kiosk").done()
        desk("assemble", "--out=-copies", "--include", "all", "--", "-kiosk").done(
            "-copies/kiosk-review-001.mp4"
        )


class TestFolders:
    @pytest.mark.parametrize(
        ("footage", "words"),
        [
            ("nowhere", "is missing"),
            ("a file", "is a file"),
            ("empty", "has no scene folders and no footage"),
        ],
    )
    def test_no_footage(self, desk, footage, words):
        (desk.folder / "empty").mkdir()
        (desk.folder / "a file").touch()
        desk("start", "kiosk", "--footage", footage).refused(4, words)
        assert not (desk.folder / "kiosk").exists()

    def test_a_folder_without_media(self, desk):
        (desk.folder / "notes").mkdir()
        (desk.folder / "notes" / "read me.txt").write_text("Nothing here.")
        desk("start", "kiosk", "--footage", "notes").refused(4, "no scene folders and no footage")

    def test_one_file_and_no_sub_folder(self, desk):
        desk("start", "kiosk", "--footage", "rushes/02-shore").done("1 scene, 1 clip")
        assert desk.film()["scenes"][0]["number"] == "2"

    def test_500_files(self, desk):
        scene = desk.folder / "many" / "7 pier"
        scene.mkdir(parents=True)
        for number in range(500):
            (scene / f"C{number}.mov").symlink_to("../../rushes/02-shore/C0001.mov")
        desk("start", "kiosk", "--footage", "many").done("1 scene, 500 clips")
        sources = [clip["source"] for clip in desk.film()["scenes"][0]["content"]["clips"]]
        assert [source.rpartition("/")[2] for source in sources] == [
            f"C{number}.mov" for number in range(500)
        ]
        desk("show", "kiosk").done("500")
        desk("check", "kiosk", "--include", "all").done()

    def test_links_and_loops_of_links(self, desk):
        rushes = desk.rushes
        (rushes / "03 linked").symlink_to("02-shore")
        (rushes / "02-shore" / "loop").symlink_to("..")
        (rushes / "02-shore" / "self").symlink_to("self")
        (rushes / "05 linked file").mkdir()
        (rushes / "05 linked file" / "a.mov").symlink_to("../02-shore/C0001.mov")
        said = desk("start", "kiosk", "--footage", "rushes").done("5 scenes, 6 clips")
        assert "loop” is a link to a folder above it" in said.err
        desk("assemble", "kiosk", "--out", "copies", "--include", "all").done("Review copy 1")

    def test_links_on_the_way_to_the_project_and_to_the_footage(self, desk, tmp_path):
        (tmp_path / "deep" / "er").mkdir(parents=True)
        (tmp_path / "short").symlink_to("deep/er")
        (tmp_path / "rushes link").symlink_to("rushes")
        desk("start", "short/kiosk", "--footage", "rushes link").done("4 clips")
        desk("check", "short/kiosk", "--include", "all").done()
        desk("check", "deep/er/kiosk", "--include", "all").done()

    def test_a_project_that_is_a_loop(self, desk, tmp_path):
        (tmp_path / "loop").symlink_to("loop")
        desk("start", "loop", "--footage", "rushes").refused(5, "round in a circle")
        desk("show", "loop").refused(3)
        desk("start", "kiosk", "--footage", "loop").refused(4)

    def test_footage_inside_the_project(self, desk, tmp_path):
        shutil.copytree(desk.rushes, tmp_path / "kiosk" / "rushes")
        desk("start", "kiosk", "--footage", "kiosk/rushes").done("4 clips")
        assert desk.film()["footage"] == "rushes"
        desk("assemble", "kiosk", "--out", "kiosk/copies", "--include", "all").done()
        desk("assemble", "kiosk", "--out", "kiosk/rushes/copies", "--include", "all").refused(
            5, "in the footage"
        )
        assert not (tmp_path / "kiosk" / "rushes" / "copies").exists()

    def test_scenes_beside_the_film_file(self, desk, tmp_path):
        shutil.copytree(desk.rushes, tmp_path / "kiosk")
        desk("start", "kiosk", "--footage", "kiosk").done("4 clips")
        assert desk.film()["scenes"][0]["folder"] == "01 boathouse"
        desk("assemble", "kiosk", "--out", "kiosk/01 boathouse/copies", "--include", "all").refused(5)

    @pytest.mark.parametrize("project", ["rushes/kiosk", "rushes/02-shore/kiosk", "link/kiosk"])
    def test_a_project_inside_the_footage_is_refused(self, desk, tmp_path, project):
        (tmp_path / "link").symlink_to("rushes/02-shore")
        desk("start", project, "--footage", "rushes").refused(5, "lies in the footage", "beside the footage")

    def test_scenes_without_anything_to_show(self, desk):
        (desk.rushes / "9 later").mkdir()
        (desk.rushes / "10 music").mkdir()
        _audio_only(desk.rushes / "10 music" / "theme.mov", desk.rushes / "02-shore" / SOURCE)
        (desk.rushes / "10 music" / "theme.mov").rename(desk.rushes / "10 music" / "theme.wav")
        desk("start", "kiosk", "--footage", "rushes").done(
            "5 scenes, 4 clips", "Scene 10 has 1 sound recording"
        )
        desk("assemble", "kiosk", "--out", "copies", "--include", "all").done(
            "Left out: scene 9, no clips yet."
        )


@pytest.fixture
def server() -> Iterator[tuple[int, list[object]]]:
    """A port that notes who calls it."""
    calls: list[object] = []
    with socket.create_server(("127.0.0.1", 0)) as listening:
        listening.settimeout(0.1)
        done = threading.Event()

        def listen() -> None:
            while not done.is_set():
                try:
                    connection, address = listening.accept()
                except TimeoutError:
                    continue
                connection.close()
                calls.append(address)

        thread = threading.Thread(target=listen)
        thread.start()
        yield listening.getsockname()[1], calls
        done.set()
        thread.join()


POINTERS = {
    "playlist": "#EXTM3U\n#EXT-X-TARGETDURATION:9\n#EXTINF:9,\nhttp://127.0.0.1:{port}/a.ts\n#EXT-X-ENDLIST\n",
    "list of local files": "#EXTM3U\n#EXT-X-TARGETDURATION:9\n#EXTINF:9,\nfile:///etc/passwd\n#EXT-X-ENDLIST\n",
    "concat list": "ffconcat version 1.0\nfile http://127.0.0.1:{port}/a.mov\n",
    "session": "v=0\no=- 0 0 IN IP4 127.0.0.1\ns=x\nc=IN IP4 127.0.0.1\nt=0 0\nm=video {port} RTP/AVP 96\n",
    "manifest": '<?xml version="1.0"?>\n<MPD><BaseURL>http://127.0.0.1:{port}/</BaseURL></MPD>\n',
}


class TestStrangers:
    """Files that would make a reader of footage open something else."""

    @pytest.mark.parametrize("kind", POINTERS)
    @pytest.mark.parametrize("suffix", [".mov", ".ts"])
    def test_nothing_else_is_opened(self, desk, kiosk, server, kind, suffix):
        port, calls = server
        path = desk.rushes / "02-shore" / f"trap{suffix}"
        path.write_text(POINTERS[kind].format(port=port))
        desk("start", "second", "--footage", "rushes").done("4 clips", f"trap{suffix}", "left out")

        def use(film: dict) -> None:
            film["scenes"][1]["content"]["clips"][0]["source"] = f"../rushes/02-shore/trap{suffix}"

        desk.change_film(use)
        assert desk("check", "kiosk", "--include", "all").code == 1
        desk("assemble", "kiosk", "--out", "copies", "--include", "all").refused(1, f"trap{suffix}")
        assert calls == []
