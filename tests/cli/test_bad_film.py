"""Film files that are damaged, illegal, from the future or from a stranger: told, and left as they are."""

import json
import os
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tests.cli.running import Desk

pytestmark = pytest.mark.ffmpeg

COMMANDS = (
    ("show", "kiosk"),
    ("show", "kiosk", "--json"),
    ("check", "kiosk"),
    ("note", "kiosk", "1", "--tension", "2"),
    ("proof", "kiosk", "1"),
    ("lock", "kiosk", "--all", "--reason", "rough"),
    ("unlock", "kiosk", "1"),
    ("move", "kiosk", "1", "--to", "1"),
    ("join", "kiosk", "1", "black", "4"),
    ("set-aside", "kiosk", "1"),
    ("put-back", "kiosk", "1"),
    ("assemble", "kiosk", "--out", "copies", "--include", "all"),
)


A_READER_AN_EDIT_AND_AN_ASSEMBLY = (COMMANDS[1], COMMANDS[7], COMMANDS[-1])
"""Every command opens a film in one of these three ways."""


def refused_by_all(
    desk: Desk, *words: str, commands: tuple[tuple[str, ...], ...] = A_READER_AN_EDIT_AND_AN_ASSEMBLY
) -> None:
    """Look that the film is refused with the same sentence, and that its file stays as it is."""
    path = desk.folder / "kiosk" / "film.json"
    before = path.read_bytes() if path.is_file() else None
    for command in commands:
        desk(*command).refused(3, *words)
    assert (path.read_bytes() if path.is_file() else None) == before
    assert not (desk.folder / "copies").exists()


def keep_nothing_else(kiosk: Path) -> None:
    """Take away the earlier versions, so that none is offered."""
    shutil.rmtree(kiosk / ".desk" / "earlier")


class TestDamaged:
    @pytest.mark.parametrize(
        ("damage", "words"),
        [
            (lambda data: b"", "is empty"),
            (lambda data: data[:-3], "film.json"),
            (lambda data: data[: len(data) // 2], "film.json"),
            (lambda data: data[:1], "film.json"),
            (lambda data: b"\0" * len(data), "film.json"),
            (lambda data: b"\xff\xfe" + data, "film.json"),
            (lambda data: data + data, "film.json"),
            (lambda data: b"[]", "film.json"),
            (lambda data: b"null", "film.json"),
            (lambda data: b"[" * 100_000, "film.json"),
            (lambda data: b'{"format": 1}', "film"),
            (lambda data: data.replace(b'"format": 1', b'"format": 0'), "format"),
            (lambda data: data.replace(b'"format": 1', b'"format": "one"'), "format"),
        ],
    )
    def test_is_told_and_the_last_good_version_offered(self, desk, kiosk, damage, words):
        path = kiosk / "film.json"
        whole = path.read_bytes()
        path.write_bytes(damage(whole))
        refused_by_all(desk, words, "desk recover")
        desk("recover", "kiosk").done("Brought back")
        assert path.read_bytes() == whole

    def test_without_an_earlier_version(self, desk, kiosk):
        keep_nothing_else(kiosk)
        path = kiosk / "film.json"
        path.write_bytes(path.read_bytes()[:500])
        refused_by_all(desk, "film.json", commands=COMMANDS)
        desk("recover", "kiosk").refused(3, "film.json")

    def test_gone(self, desk, kiosk):
        (kiosk / "film.json").unlink()
        refused_by_all(desk, "there is no film.json", "desk recover", commands=COMMANDS)
        keep_nothing_else(kiosk)
        refused_by_all(desk, "there is no film.json", "desk start")
        desk("recover", "kiosk").refused(3)

    @pytest.mark.parametrize("stand_in", ["a folder", "a link", "a loop", "a pipe"])
    def test_something_else_in_its_place(self, desk, kiosk, stand_in):
        path = kiosk / "film.json"
        kept = path.rename(kiosk / "kept.json")
        if stand_in == "a folder":
            path.mkdir()
        elif stand_in == "a link":
            path.symlink_to(kept)
        elif stand_in == "a loop":
            path.symlink_to("film.json")
        else:
            os.mkfifo(path)
        refused_by_all(desk, "film.json")
        assert path.is_dir() or path.is_symlink() or path.is_fifo()

    def test_no_project_at_all(self, desk):
        for command in COMMANDS:
            desk(*command).refused(3, "“kiosk” is missing")
        assert not (desk.folder / "kiosk").exists()
        (desk.folder / "kiosk").write_text("a file")
        for command in COMMANDS:
            desk(*command).refused(3, "is a file where a project folder is needed")

    def test_larger_than_any_film(self, desk, kiosk):
        with (kiosk / "film.json").open("ab") as stream:
            stream.truncate(40 << 20)
        desk("show", "kiosk").refused(3, "larger than a film file can be")


def at(*places: Any) -> Callable[[dict[str, Any], Any], None]:
    """Return what puts a value at a place in a film."""

    def put(film: dict[str, Any], value: Any) -> None:
        thing: Any = film
        for place in places[:-1]:
            thing = thing[place]
        thing[places[-1]] = value

    return put


CLIP = ("scenes", 0, "content", "clips", 0)

ILLEGAL = [
    # wrong types
    (at("scenes"), "none", "film.scenes"),
    (at("scenes", 0), None, "film.scenes[0]"),
    (at("scenes", 0, "number"), 1, "film.scenes[0].number"),
    (at("title"), ["x"], "film.title"),
    (at("title"), "two\nlines", "film.title"),
    (at("rate"), 25, "film.rate"),
    (at("rate"), "25/0", "film.rate"),
    (at("size", "width"), "wide", "film.size.width"),
    (at(*CLIP, "in_seconds"), 0.5, "in_seconds"),
    (at(*CLIP, "sound"), {"kind": "loud"}, "sound.kind"),
    (at("cards", 0, "ink"), "black", "ink"),
    # unknown ids
    (at("order", 0, "entry"), "s99", "film.order[0].entry"),
    (at("order", 1, "entry"), "k1", "film.order"),
    (at("order"), [], "must stand in the running order"),
    (at(*CLIP, "camera"), "l5", "camera"),
    (at("scenes", 1, "id"), "s5", "id"),
    # negative, zero and huge
    (at(*CLIP, "length_frames"), -12, "length"),
    (at(*CLIP, "length_frames"), 0, "length"),
    (at(*CLIP, "length_frames"), 10**15, "length"),
    (at(*CLIP, "length_frames"), 10**400, "film.json"),
    (at(*CLIP, "length_frames"), 1.5, "length_frames"),
    (at(*CLIP, "in_seconds"), "-1/2", "in point"),
    (at(*CLIP, "in_seconds"), f"1/{10**90}", "in"),
    (at(*CLIP, "speed"), "0", "speed"),
    (at(*CLIP, "speed"), "1000000", "speed"),
    (at(*CLIP, "framing"), {"scale": 1e300}, "scale"),
    (at(*CLIP, "sound"), {"gain_db": 1000}, "gain"),
    (at("size"), {"width": 2, "height": 2}, "film.size"),
    (at("size"), {"width": 10**9, "height": 10**9}, "film.size"),
    (at("rate"), "1000", "film.rate"),
    (at("start_frames"), -1, "start"),
    (at("next_id"), 10**30, "film.next_id"),
    (at("fade_in_frames"), -5, "fade"),
    (at("order", 1, "join"), {"kind": "dissolve", "before_frames": -4, "after_frames": 8}, "join"),
    (at("order", 1, "join"), {"kind": "wipe", "before_frames": 4, "after_frames": 4}, "kind"),
    (at("scenes", 0, "tension"), 6, "tension"),
    (at("delivery"), {"review_height": 0}, "height of review copies"),
]


@pytest.mark.parametrize(("put", "value", "words"), ILLEGAL)
def test_an_illegal_value_is_named_with_its_place(desk, kiosk, put, value, words):
    keep_nothing_else(kiosk)
    desk.change_film(lambda film: put(film, value))
    refused_by_all(desk, "kiosk/film.json", words)


@pytest.mark.parametrize("text", ["NaN", "Infinity", "-Infinity", "1e999", "1" * 5000])
def test_numbers_that_are_none(desk, kiosk, text):
    keep_nothing_else(kiosk)
    path = kiosk / "film.json"
    path.write_text(
        path.read_text(encoding="utf-8").replace('"start_frames": 90000', f'"start_frames": {text}')
    )
    refused_by_all(desk, "film.json")


class TestNewer:
    @pytest.mark.parametrize("newer", [{"format": 2}, {"format": 999_999}])
    def test_is_never_written_over(self, desk, kiosk, newer):
        path = kiosk / "film.json"
        data = json.loads(path.read_text(encoding="utf-8")) | newer | {"written_by": "assembly-desk 9.0"}
        path.write_text(json.dumps(data), encoding="utf-8")
        before = path.read_bytes()
        for command in COMMANDS:
            said = desk(*command)
            assert said.code in (0, 1, 2, 3), said
            assert "reading only" in said.err or "newer" in said.err, said
        assert path.read_bytes() == before
        desk("move", "kiosk", "1", "--to", "1").refused(3)
        desk("recover", "kiosk").refused(3)
        assert path.read_bytes() == before

    def test_what_this_version_does_not_know_is_kept(self, desk, kiosk):
        desk.change_film(lambda film: film["scenes"][0].update({"smell": "tar"}))
        path = kiosk / "film.json"
        before = path.read_bytes()
        desk("show", "kiosk").done("smell", "reading only")
        desk("move", "kiosk", "1", "--to", "1").refused(3, "reading only")
        desk("assemble", "kiosk", "--out", "copies", "--include", "all").done("not entered in the film")
        assert path.read_bytes() == before


SOURCES = [
    "http://127.0.0.1:9/a.mov",
    "HTTPS://example.org/a.mov",
    "rtmp://127.0.0.1/a",
    "ftp://127.0.0.1/a.mov",
    "tcp://127.0.0.1:9",
    "udp:127.0.0.1:9",
    "file:///etc/passwd",
    "file:etc/passwd",
    "pipe:0",
    "pipe:",
    "fd:0",
    "data:video/mp4;base64,AAAA",
    "concat:a.mov|b.mov",
    "crypto:a.mov",
    "subfile,,start,0,end,9,,:a.mov",
    "async:cache:http://127.0.0.1:9/a",
    "//server/share/a.mov",
    "\\\\server\\share\\a.mov",
    "/etc/passwd",
    "C:\\a.mov",
    "C:/a.mov",
    "a\0b.mov",
    "",
]

PLACES = [
    at(*CLIP, "source"),
    at("scenes", 0, "reference_picture"),
    at("scenes", 0, "folder"),
    at("cards", 0, "picture"),
    lambda film, path: at(*CLIP, "sound")(film, {"kind": "separate", "file": path}),
    lambda film, path: at("scenes", 0, "content", "spots")(
        film, [{"id": "f90", "file": path, "start_frames": 0, "length_frames": 5}]
    ),
    lambda film, path: at("scenes", 0, "content", "cues")(
        film,
        [{"id": "m90", "length_frames": 5, "candidates": [{"id": "a91", "file": path}], "chosen": "a91"}],
    ),
]


class TestStrangers:
    @pytest.mark.parametrize("source", SOURCES)
    def test_a_source_that_is_no_local_file(self, desk, kiosk, source):
        keep_nothing_else(kiosk)
        desk.change_film(lambda film: at(*CLIP, "source")(film, source))
        refused_by_all(desk, "source")

    @pytest.mark.parametrize("put", PLACES)
    def test_no_place_for_a_path_takes_an_address(self, desk, kiosk, put):
        keep_nothing_else(kiosk)
        desk.change_film(lambda film: put(film, "http://127.0.0.1:9/a.png"))
        refused_by_all(desk, "must be a local file, not an address")

    @pytest.mark.parametrize(
        "source", ["../../../../../../../../etc/passwd", "|touch was-run", "`touch was-run`", "$(x)"]
    )
    def test_a_path_that_is_no_footage_is_no_more_than_that(self, desk, kiosk, source):
        desk.change_film(lambda film: at(*CLIP, "source")(film, source))
        desk("show", "kiosk").done()
        said = desk("check", "kiosk", "--include", "all")
        assert said.code == 1
        assert "root:" not in said.out
        desk("assemble", "kiosk", "--out", "copies", "--include", "all", "--bundle").refused(1)
        assert not list(desk.folder.rglob("was-run"))
        assert not list((desk.folder / "copies").glob("*"))

    @pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="there are no pipes on disk here")
    def test_a_pipe_in_the_place_of_every_file_holds_nobody_up(self, desk, kiosk):
        os.mkfifo(kiosk / "pipe.mov")

        def use(film: dict[str, Any]) -> None:
            for put in PLACES:
                put(film, "pipe.mov")

        desk.change_film(use)
        desk("show", "kiosk").done()
        assert desk("check", "kiosk", "--include", "all").code == 1
        desk("assemble", "kiosk", "--out", "copies", "--include", "all").refused(1, "pipe.mov")
        desk("lock", "kiosk", "1").refused(2, "pipe.mov")

    def test_words_that_would_move_the_cursor_are_shown_and_not_obeyed(self, desk, kiosk):
        keep_nothing_else(kiosk)
        desk.change_film(lambda film: at("scenes", 0, "slugline")(film, "INT. \x1b]0;title\x07\x1b[2J"))
        for command in COMMANDS:
            said = desk(*command).refused(3, "slugline")
            assert "\x1b" not in said.out + said.err
        desk.change_film(lambda film: at("scenes", 0, "slugline")(film, "right to left \u202e[red]x[/red]"))
        said = desk("show", "kiosk").done("[red]x[/red]")
        assert "\u202e" not in said.out

    def test_links_inside_the_project(self, desk, kiosk, tmp_path):
        """What the program keeps beside the film is never written through a link to a file elsewhere."""
        precious = tmp_path / "precious.txt"
        precious.write_text("mine")
        for name in ("film.lock", "probes.json", "unsaved.json"):
            (kiosk / ".desk" / name).unlink(missing_ok=True)
            (kiosk / ".desk" / name).symlink_to(precious)
        for command in COMMANDS:
            said = desk(*command)
            assert said.code in (0, 1, 2, 5), said
        assert precious.read_text() == "mine"


class TestLegalButHard:
    def test_a_film_without_scenes(self, desk, kiosk):
        def empty(film: dict[str, Any]) -> None:
            film["scenes"], film["order"], film["cards"] = [], [], []

        desk.change_film(empty)
        desk("show", "kiosk").done("0 of 0 scenes")
        assert desk("check", "kiosk").code == 1
        desk("assemble", "kiosk", "--out", "copies", "--include", "all").refused(
            1, "no scenes in its running order"
        )
        desk("lock", "kiosk", "--all").done("Every scene is locked.")
        desk("lock", "kiosk", "1").refused(2, "The film is empty.")

    def test_names_that_could_mean_several(self, desk, kiosk):
        desk.change_film(lambda film: at("cards", 1, "name")(film, "Title"))
        desk("move", "kiosk", "title", "--to", "1").refused(2, "could be 2 cards", "Name one by its id: k1")
        desk("move", "kiosk", "k1", "--to", "3").done()

    def test_a_clip_of_a_whole_day(self, desk, kiosk):
        desk.change_film(lambda film: at(*CLIP, "length_frames")(film, 2_160_000))
        desk("show", "kiosk").done("1440:00:10")
        desk("assemble", "kiosk", "--out", "copies", "--include", "all").refused(
            1, "beyond the end of its footage"
        )

    def test_a_scene_number_that_begins_like_an_option(self, desk, kiosk):
        desk.change_film(lambda film: at("cards", 0, "name")(film, "--all"))
        desk("move", "kiosk", "--to", "2", "--", "--all").done("card “--all”")
        desk("move", "kiosk", "1", "--after=--all").done()
