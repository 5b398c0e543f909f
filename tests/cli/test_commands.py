"""What each command does when all is well, and the sentence when the film does not allow it."""

import json
from pathlib import Path

import pytest

from desk.cli import commands
from desk.cli.main import EXIT_CODES, main
from desk.errors import DeskError
from tests.cli.running import Desk
from tests.making import read_numbers

pytestmark = pytest.mark.ffmpeg


def scene(desk: Desk, number: str) -> dict:
    return next(scene for scene in desk.film()["scenes"] if scene["number"] == number)


def order(desk: Desk) -> list[str]:
    return [
        entry.get("number", entry["name"]) for entry in desk("show", "kiosk", "--json").json["running_order"]
    ]


def trim(desk: Desk, in_seconds: str = "0", length_frames: int = 12, at: int = 0) -> None:
    """Leave handles in every scene's clip."""

    def change(film: dict) -> None:
        for item in film["scenes"]:
            item["content"]["clips"][at] |= {"in_seconds": in_seconds, "length_frames": length_frames}

    desk.change_film(change)


class TestStart:
    def test_a_scene_for_each_folder_in_natural_order(self, desk, kiosk):
        film = desk.film()
        assert [(item["number"], item["slugline"]) for item in film["scenes"]] == [
            ("1", "BOATHOUSE"),
            ("2", "SHORE"),
            ("4A", "SLIPWAY DUSK"),
        ]
        sources = [clip["source"] for clip in scene(desk, "1")["content"]["clips"]]
        assert sources == ["../rushes/01 boathouse/C0001.mov", "../rushes/01 boathouse/C0002.mov"]
        assert (film["title"], film["rate"], film["size"]) == (
            "The Unprinted Ticket",
            "25",
            {"width": 96, "height": 54},
        )

    def test_says_what_it_made_and_what_to_do_next(self, desk):
        said = desk("start", "my films/kiosk", "--footage", "rushes").done(
            "3 scenes, 4 clips, 25 frames a second, 96x54",
            "Do not erase a card before two verified copies exist.",
            "desk show 'my films/kiosk'",
        )
        assert said.err == ""

    def test_takes_what_is_given(self, desk):
        desk("start", "kiosk", "--footage", "rushes", "--rate", "30000/1001", "--size", "1998x1080").done()
        assert (desk.film()["rate"], desk.film()["size"]["width"]) == ("30000/1001", 1998)
        assert desk.film()["title"] == "kiosk"

    @pytest.mark.parametrize(
        ("arguments", "words"),
        [
            (("--rate", "26"), "26 frames a second"),
            (("--rate", "fast"), "“fast” is not a frame rate"),
            (("--size", "big"), "2048x1080"),
            (("--size", "10x10"), "from 16 to 8192"),
            (("--size", "97x54"), "even"),
            (("--title", "two\nlines"), "one line"),
            (("--title", "x" * 10_001), "10,000 characters"),
        ],
    )
    def test_refuses_a_value_before_it_reads_any_footage(self, desk, arguments, words):
        desk("start", "kiosk", "--footage", "rushes", *arguments).refused(2, words)
        assert not (desk.folder / "kiosk").exists()

    def test_a_film_that_is_there_is_not_made_again(self, desk, kiosk):
        before = (kiosk / "film.json").read_bytes()
        desk("start", "kiosk", "--footage", "rushes").refused(3, "holds a film already")
        assert (kiosk / "film.json").read_bytes() == before


class TestShow:
    def test_the_running_order_as_a_table(self, desk, kiosk):
        lines = desk("show", "kiosk").done().out.splitlines()
        assert lines[0] == "The Unprinted Ticket: 25 frames a second, 96x54"
        heads = "No.  Scene or card  State  Clips   Length    Starts at  Tension  Then  Open"
        assert lines[1] == heads
        # 75 frames of title card, then 22 frames of scene 1.
        assert lines[3] == (
            "1    BOATHOUSE      draft      2  0:00:22  01:00:03:00                 "
            "story, dialogue, music, grade, proofs"
        )
        assert lines[4].startswith("2    SHORE          draft      1  0:00:12  01:00:03:22")
        assert (
            lines[-1] == "Running time 0:04:21 (minutes:seconds:frames), 0:00:00 of it locked: 0 of 3 scenes."
        )
        assert not any(line != line.rstrip() for line in lines)

    def test_the_keys_for_other_programs(self, desk, kiosk):
        desk("set-aside", "kiosk", "4A", "--reason", "no plot").done()
        told = desk("show", "kiosk", "--json").json
        assert list(told) == [
            "title", "rate", "size", "frames", "locked_frames", "running_order", "set_aside", "review_copies",
        ]  # fmt: skip
        scene_keys = [
            "kind", "id", "number", "name", "state", "clips", "frames", "tension", "purpose", "synopsis",
            "grade_note", "cues", "version", "open",
        ]  # fmt: skip
        places = ["start_frames", "timecode", "join"]
        card, first = told["running_order"][:2]
        assert list(card) == ["kind", "id", "name", "state", "frames", "open", *places]
        assert list(first) == [*scene_keys, *places]
        assert list(told["set_aside"][0]) == [*scene_keys, "reason"]
        assert list(first["join"]) == ["kind", "before_frames", "after_frames"]
        assert list(first["open"][0]) == ["part", "sentence"]
        assert first["start_frames"] == 75
        assert told["frames"] == 75 + 22 + 12

    def test_a_film_in_another_encoding(self, desk):
        desk("start", "kiosk", "--footage", "rushes", "--title", "Fähre 渡し").done()
        assert desk("show", "kiosk", "--json").json["title"] == "Fähre 渡し"


class TestCheck:
    def test_what_stands_in_the_way_and_what_deserves_a_look(self, desk, kiosk):
        said = desk("check", "kiosk")
        assert said.code == 1
        assert "BLOCKS: The film\n    There is nothing to assemble:" in said.out
        assert "look: Scenes 1, 2 and 4A, each\n    It is not locked, so it is left out." in said.out
        assert said.out.endswith(
            "1 thing stands in the way of an assembly of the locked scenes; 7 things to look at.\n"
        )
        desk("check", "kiosk", "--include", "all").done(
            "Nothing stands in the way of an assembly of all scenes"
        )

    def test_the_keys_for_other_programs(self, desk, kiosk):
        told = desk("check", "kiosk", "--json")
        assert told.code == 1
        assert list(told.json) == ["include", "blocking", "problems"]
        assert (told.json["include"], told.json["blocking"]) == ("locked", 1)
        problem = told.json["problems"][0]
        assert list(problem) == ["severity", "place", "subject", "sentence", "advice", "code"]
        assert (problem["severity"], problem["code"]) == ("blocks", "film.nothing")


class TestScenes:
    def test_note_says_what_is_still_open(self, desk, kiosk):
        desk("note", "kiosk", "1", "--tension", "3", "--purpose", "She reads the date.").done(
            "Done: change the purpose and tension of scene 1.",
            "Still open: dialogue, music, grade and proofs.",
        )
        desk("note", "kiosk", "1", "--grade-note", "cold", "--no-music", "--voices-levelled").done(
            "Still open: proofs."
        )
        assert scene(desk, "1")["tension"] == 3
        assert scene(desk, "1")["content"]["grade_note"] == "cold"
        desk("note", "kiosk", "1", "--tension", "3").done("Nothing to change")

    def test_a_note_is_taken_whole_or_not_at_all(self, desk, kiosk):
        desk("note", "kiosk", "1", "--purpose", "x", "--tension", "9").refused(2, "0 (light) to 5 (dread)")
        desk("note", "kiosk", "1", "--no-music", "--grade-note", "bad \x07").refused(2, "control characters")
        assert "purpose" not in scene(desk, "1")
        assert "no_music" not in scene(desk, "1")["content"]
        desk("note", "kiosk", "1").refused(2, "Nothing to note")

    def test_from_proof_to_lock_and_back(self, desk, kiosk):
        desk("lock", "kiosk", "1").refused(2, "Scene 1 is not ready to be locked", "no proof", "--reason")
        desk("note", "kiosk", "1", "--grade-note", "cold", "--no-music", "--voices-levelled").done()
        desk("proof", "kiosk", "1", "--by", "Ana", "--remark", "fine").done("Still open: story.")
        desk("lock", "kiosk", "1").done("Done: lock scene 1.", "locked 0:00:22 (+0:00:22)")
        assert desk("show", "kiosk", "--json").json["running_order"][1]["state"] == "locked"
        desk("note", "kiosk", "1", "--grade-note", "warm").refused(2, "Scene 1 is locked", "Unlock it first")
        desk("note", "kiosk", "1", "--tension", "1").done("It stays locked.")
        desk("unlock", "kiosk", "1", "--reason", "new take").done("locked 0:00:00 (−0:00:22)")
        desk("unlock", "kiosk", "1").refused(2, "Scene 1 is not locked")
        assert scene(desk, "1")["history"][0]["reason"] == "new take"

    def test_lock_all_locks_what_it_can(self, desk, kiosk):
        desk("note", "kiosk", "2", "--grade-note", "cold", "--no-music", "--voices-levelled").done()
        desk("proof", "kiosk", "2").done()
        said = desk("lock", "kiosk", "--all")
        assert said.code == 2
        assert "Done: lock scene 2." in said.out
        assert said.err.count("is not ready to be locked") == 2
        assert said.err.count("Settle this") == 1
        desk("lock", "kiosk", "--all", "--reason", "for a first look").done()
        assert scene(desk, "4A")["lock"]["reason"] == "for a first look"
        assert "reason" not in scene(desk, "2")["lock"]
        desk("lock", "kiosk", "--all").done("Every scene is locked.")

    def test_lock_wants_to_know_what(self, desk, kiosk):
        desk("lock", "kiosk").refused(2, "Name scenes, or say --all")
        desk("lock", "kiosk", "1", "--all").refused(2, "Name scenes, or say --all")
        desk("lock", "kiosk", "title").refused(2, "“title” is a card")

    def test_unlock_opens_all_or_none(self, desk, kiosk):
        desk("lock", "kiosk", "1", "2", "--reason", "rough").done()
        desk("unlock", "kiosk", "1", "4A").refused(2, "Scene 4A is not locked")
        assert scene(desk, "1")["lock"]["version"] == 1
        desk("unlock", "kiosk", "1", "2", "1").done("Done: unlock scene 1 and unlock scene 2.")

    def test_changed_media_break_a_lock(self, desk, kiosk):
        desk("lock", "kiosk", "2", "--reason", "rough").done()
        with (desk.rushes / "02-shore" / "C0001.mov").open("ab") as stream:
            stream.write(b"\0" * 8)
        desk("show", "kiosk").done("lock broken")
        assert desk("check", "kiosk").code == 1
        desk("assemble", "kiosk", "--out", "copies").refused(
            1, "lock is broken", "is not the one that was locked"
        )
        assert not list((desk.folder / "copies").glob("*"))


class TestOrder:
    def test_move(self, desk, kiosk):
        desk("move", "kiosk", "4a", "--before", "1").done(
            "Done: move scene 4A.", "Scene 4A starts at 01:00:03:00."
        )
        assert order(desk) == ["Title", "4A", "1", "2", "Credits"]
        desk("move", "kiosk", "1", "4A", "--after", "credits").done()
        assert order(desk) == ["Title", "2", "Credits", "4A", "1"]
        desk("move", "kiosk", "1", "--to", "1").done()
        assert order(desk) == ["1", "Title", "2", "Credits", "4A"]

    @pytest.mark.parametrize(
        ("arguments", "words"),
        [
            (("1", "--to", "0"), "no place 0"),
            (("1", "--to", "6"), "from 1 to 5"),
            (("1", "--to", "99999999999999999999999"), "no place"),
            (("1", "--after", "1"), "can't stand beside itself"),
            (("1", "--after", "9"), "no scene or card “9”"),
            (("1",), "--before"),
            (("--to", "1"), "SCENE"),
            (("1", "--to", "first"), "first"),
        ],
    )
    def test_move_refuses(self, desk, kiosk, arguments, words):
        desk("move", "kiosk", *arguments).refused(2, words)
        assert order(desk) == ["Title", "1", "2", "4A", "Credits"]

    def test_set_aside_and_put_back(self, desk, kiosk):
        desk("set-aside", "kiosk", "1", "2", "--reason", "no plot").done("(−0:01:09)")
        desk("show", "kiosk").done(
            "Set aside:\n  1 BOATHOUSE, 0:00:22: no plot\n  2 SHORE, 0:00:12: no plot\n"
        )
        desk("set-aside", "kiosk", "1").refused(2, "Scene 1 is set aside")
        desk("move", "kiosk", "4A", "--after", "1").refused(2, "nothing can stand beside it")
        desk("put-back", "kiosk", "2").done("(+0:00:12)")
        assert order(desk) == ["Title", "2", "4A", "Credits"]
        desk("put-back", "kiosk", "1", "--after", "4A").done("Scene 1 starts at")
        assert order(desk) == ["Title", "2", "4A", "1", "Credits"]
        desk("put-back", "kiosk", "1").refused(2, "Scene 1 is not set aside")

    def test_one_at_a_time_is_put_at_a_place(self, desk, kiosk):
        desk("set-aside", "kiosk", "1", "2").done()
        desk("put-back", "kiosk", "1", "2", "--before", "4A").refused(2, "one entry at a time")
        desk("put-back", "kiosk", "2", "1").done()
        assert order(desk) == ["Title", "1", "2", "4A", "Credits"]

    def test_a_dissolve_with_handles(self, desk, kiosk):
        trim(desk, "4/25", 4)
        said = desk("join", "kiosk", "2", "dissolve", "5").done("2 before the cut, 3 after it.")
        assert said.err == ""
        assert desk.film()["order"][2]["join"] == {"kind": "dissolve", "before_frames": 2, "after_frames": 3}
        desk("join", "kiosk", "2", "cut").done()
        assert "join" not in desk.film()["order"][2]

    def test_handles_that_are_too_short_are_told_at_once(self, desk, kiosk):
        # 4 frames from frame 2 of 12: 2 before the head, 6 after the tail.
        trim(desk, "2/25", 4)
        said = desk("join", "kiosk", "2", "dissolve", "7").done("Done:", "Saved all the same")
        assert "1 frame too few before the head of scene 4A (2 of 3)" in said.err
        assert "A dissolve of 6 frames fits: 2 before the cut and 4 after it." in said.err
        assert "desk join kiosk 2 black 7" in said.err
        assert desk.film()["order"][2]["join"]["kind"] == "dissolve"
        desk("assemble", "kiosk", "--out", "copies", "--include", "all").refused(1, "handles are too short")
        desk("join", "kiosk", "2", "dissolve", "7").done("Nothing to change", "1 frame too few")
        assert desk("join", "kiosk", "2", "dissolve", "5").done().err == ""

    def test_a_move_tells_the_joins_it_spoils(self, desk, kiosk):
        trim(desk, "4/25", 4)
        desk("join", "kiosk", "2", "dissolve", "8").done()
        said = desk("move", "kiosk", "1", "--after", "2").done()
        assert said.err == ""
        # The dissolve travels with scene 2, and a card has no handles to lack.
        said = desk("set-aside", "kiosk", "1").done()
        assert said.err == ""
        trim(desk, "0", 4)
        desk("put-back", "kiosk", "1").done("4 frames too few before the head of scene 1 (0 of 4)")

    def test_a_join_after_the_last_waits(self, desk, kiosk):
        desk("join", "kiosk", "credits", "black", "10").done("Nothing follows it yet")

    @pytest.mark.parametrize(
        ("arguments", "words"),
        [
            (("1", "dissolve"), "1 frame or more"),
            (("1", "dissolve", "0"), "not 0"),
            (("1", "black", "-3"), "not -3"),
            (("1", "cut", "3"), "no length"),
            (("1", "dissolve", "9999999999"), "2,160,000 frames"),
            (("1", "wipe", "3"), "wipe"),
            (("9", "cut"), "no scene or card “9”"),
        ],
    )
    def test_join_refuses(self, desk, kiosk, arguments, words):
        desk("join", "kiosk", *arguments).refused(2, words)


class TestAssemble:
    def test_a_copy_and_its_side_files(self, desk, kiosk):
        said = desk("assemble", "kiosk", "--out", "copies/first", "--include", "all").done(
            "Review copy 1, 0:04:21: copies/first/the-unprinted-ticket-review-001.mp4",
            "Left out: card “Credits”, the card is empty.",
            "5 pieces made, 0 already there.",
            "asked were -14.0 LUFS (online); true peak",
        )
        assert said.err == ""
        folder = desk.folder / "copies" / "first"
        stem = "the-unprinted-ticket-review-001"
        assert sorted(path.name for path in folder.iterdir()) == [
            f"{stem}.chapters.vtt", f"{stem}.manifest.json", f"{stem}.mp4", f"{stem}.otio",
        ]  # fmt: skip
        for name in sorted(path.name for path in folder.iterdir()):
            assert name in said.out
        numbers = read_numbers(folder / f"{stem}.mp4")
        assert numbers[75:] == [*range(12), *range(10), *range(12), *range(12)]
        assert json.loads((folder / f"{stem}.manifest.json").read_bytes())["copy"]["number"] == 1

        desk("move", "kiosk", "4A", "--before", "1").done()
        desk("assemble", "kiosk", "--out", "copies/first", "--include", "all").done(
            "Review copy 2", "0 pieces made, 5 already there."
        )
        copies = desk("show", "kiosk", "--json").json["review_copies"]
        assert [copy["number"] for copy in copies] == [1, 2]

    def test_only_locked_scenes_or_slates(self, desk, kiosk):
        desk("lock", "kiosk", "2", "--reason", "rough").done()
        said = desk("assemble", "kiosk", "--out", "copies").done("Left out: scene 1, not locked.")
        assert "0:03:12" in said.out
        desk("assemble", "kiosk", "--out", "copies", "--include", "slates", "--size", "full", "--flat").done(
            "0:04:21"
        )

    def test_a_film_of_drafts_is_told_how_to_be_watched(self, desk, kiosk):
        desk("assemble", "kiosk", "--out", "copies").refused(
            1, "There is nothing to assemble", "--include all"
        )
        assert not (desk.folder / "copies").exists()

    def test_music_without_a_licence_is_told(self, desk, kiosk):
        def add_music(film: dict) -> None:
            film["scenes"][0]["content"]["cues"] = [
                {
                    "id": "m90",
                    "label": "m1",
                    "length_frames": 10,
                    "candidates": [{"id": "a91", "file": "../rushes/02-shore/C0001.mov"}],
                    "chosen": "a91",
                }
            ]

        desk.change_film(add_music)
        said = desk("assemble", "kiosk", "--out", "copies", "--include", "all", "--bundle").done(".otioz")
        assert (
            said.err
            == "Scene 1, cue m1: No licence is entered for its music “../rushes/02-shore/C0001.mov”.\n"
        )

    def test_what_has_to_be_credited_and_is_not_is_told(self, desk, kiosk):
        def add_sounds(film: dict) -> None:
            rights = {"title": "Rain", "author": "A. Bee", "source": "a record", "licence": "CC BY 4.0"}
            file = "../rushes/02-shore/C0001.mov"
            tried = [{"id": "a91", "file": file, "rights": rights}]
            cue = {"id": "m90", "length_frames": 10, "candidates": tried, "chosen": "a91"}
            bell = {**rights, "title": "Bell", "licence": "CC BY-ND 4.0"}
            spot = {"id": "f92", "file": file, "start_frames": 0, "length_frames": 9, "rights": bell}
            film["scenes"][0]["content"] |= {"cues": [cue], "spots": [spot]}
            film["delivery"] = {"compression": "firm"}

        desk.change_film(add_sounds)
        said = desk("assemble", "kiosk", "--out", "copies", "--include", "all").done()
        assert "dB after firm compression" in said.out
        assert said.err == (
            "Scene 1, spot f92: The licence of its sound “Bell” allows no adaptation; setting it to picture "
            "is one.\n"
            "The credits: “Rain” and “Bell” have to be credited, and no card names them.\n"
        )

    @pytest.mark.parametrize("workers", ["0", "-1", "100000", "many"])
    def test_refuses_workers(self, desk, kiosk, workers):
        desk("assemble", "kiosk", "--out", "copies", "--workers", workers).refused(2)
        assert not (desk.folder / "copies").exists()


class TestRecover:
    def test_brings_back_what_was_saved_last(self, desk, kiosk):
        desk("note", "kiosk", "1", "--tension", "4").done()
        path = kiosk / "film.json"
        whole = path.read_bytes()
        path.write_bytes(whole[: len(whole) // 2])
        desk("show", "kiosk").refused(3, "desk recover")
        desk("recover", "kiosk").done("Brought back “The Unprinted Ticket”", "film-damaged-")
        assert path.read_bytes() == whole
        desk("recover", "kiosk").refused(3, "is whole")

    def test_without_a_project(self, desk):
        desk("recover", "nowhere").refused(3, "“nowhere” is missing")
        (desk.folder / "empty").mkdir()
        desk("recover", "empty").refused(3, "holds no film")
        assert not list((desk.folder / "empty").iterdir())


class TestHelp:
    @pytest.mark.parametrize("command", commands.ALL, ids=lambda command: command.name)
    def test_each_command_has_an_example_that_can_be_read(self, desk, command):
        said = desk(command.name, "--help").done(f"example:\n  {command.example}")
        assert "SUPPRESS" not in said.out

    def test_the_exit_codes(self, desk):
        said = desk("--help").done()
        for code, meaning in EXIT_CODES.items():
            assert f"  {code:<5}{meaning}\n" in said.out
        branches = DeskError.__subclasses__() + [
            below for branch in DeskError.__subclasses__() for below in branch.__subclasses__()
        ]
        assert {branch.exit_code for branch in branches} <= set(EXIT_CODES)

    def test_version(self, desk):
        assert desk("--version").done().out.startswith("assembly-desk ")

    @pytest.mark.parametrize(
        ("arguments", "words"),
        [
            (("asemble",), "asemble"),
            (("show",), "FOLDER"),
            (("show", "kiosk", "--jso"), "“--jso”"),
            (("check", "kiosk", "--include", "some"), "locked"),
            (("lock", "kiosk", "-A"), "stands after “ -- ”"),
        ],
    )
    def test_a_command_line_that_is_wrong(self, desk, arguments, words):
        desk(*arguments).refused(2, words, "--help")

    @pytest.mark.parametrize("name", ["-A", "--all", "", " ", "9", "💥", "a\nb\x1b[31m", "x" * 300, "s1"])
    def test_a_scene_that_does_not_exist(self, desk, kiosk, name):
        said = desk("unlock", "kiosk", "--", name).refused(
            2, "There is no scene or card", "1, 2, 4A, Title and Credits"
        )
        assert "\x1b" not in said.err


def test_examples_run_as_they_are_written(desk: Desk, monkeypatch: pytest.MonkeyPatch) -> None:
    """The examples in the help, on a film that has the scenes they name."""
    import shlex
    import shutil

    from desk import app

    # `test_opening.py` opens the window.
    monkeypatch.setattr(app, "run", lambda _: 0)
    shutil.copytree(desk.rushes / "02-shore", desk.rushes / "06 pier")
    for command in commands.ALL:
        code = main(shlex.split(command.example)[1:])
        expected = {"recover": 3, "lock": 2, "unlock": 2}.get(command.name, 0)
        assert code == expected, command.example
    assert (Path("copies") / "the-unprinted-ticket-review-001.mp4").is_file()
