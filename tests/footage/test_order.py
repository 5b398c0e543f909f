"""Natural order, and what folders of footage are read as."""

import os
import sys
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from desk.errors import MediaError
from desk.footage.order import (
    PICTURE_SUFFIXES,
    SceneFolder,
    find_scenes,
    in_natural_order,
    natural_key,
    read_scene_name,
)


def lay(folder: Path, *names: str) -> None:
    """Make files, with the folders that they lie in."""
    for name in names:
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(b"x")


def names(paths: tuple[Path, ...], below: Path) -> list[str]:
    return [path.relative_to(below).as_posix() for path in paths]


# Natural order


@pytest.mark.parametrize(
    "ordered",
    [
        ["clip2", "clip10", "clip100"],
        ["A001_C003", "A001_C010", "A002_C001"],
        ["1m2", "1m2a", "1m10", "2m1"],  # cue numbers: natural sort, computed by hand
        ["1", "01", "001", "2"],
        ["a1", "B2", "b10", "C1"],
        ["scene", "scene 1", "scene 1 b", "scene 2"],
        ["été 2", "été 10"],
        ["take9", "take10000000000000000000000000"],
    ],
)
def test_natural_order(ordered: list[str]) -> None:
    shuffled = sorted(ordered, reverse=True)
    by_number = sorted(shuffled, key=natural_key)
    assert [name.lstrip("0") for name in by_number] == [name.lstrip("0") for name in ordered]


def test_order_of_files() -> None:
    ordered = ["1/z.mov", "2/a.mov", "10/a.mov", "10/b.mov", "b/clip.mp4", "b/clip 2.mp4", "b/clip 10.mp4"]
    paths = [Path(name) for name in ordered]
    assert in_natural_order(reversed(paths)) == tuple(paths)


@given(st.permutations(["a1", "A1", "a01", "a1.mov", "a1.mp4", "²", "1²", "٣", "", " ", "1", "1a"]))
def test_order_does_not_depend_on_how_files_are_listed(shuffled: list[str]) -> None:
    assert sorted(shuffled, key=natural_key) == sorted(sorted(shuffled), key=natural_key)


# Names of folders


@pytest.mark.parametrize(
    ("name", "number", "slugline"),
    [
        ("01 boathouse", "1", "BOATHOUSE"),
        ("02-shore", "2", "SHORE"),
        ("10 ferry deck", "10", "FERRY DECK"),
        ("4A_slipway dusk", "4A", "SLIPWAY DUSK"),
        ("004b slipway", "4B", "SLIPWAY"),
        ("12", "12", ""),
        ("007", "7", ""),
        ("0 prologue", "0", "PROLOGUE"),
        ("Scene 7 - pier", "7", "PIER"),
        ("scene_08_kiosk", "8", "KIOSK"),
        ("SC04 deck", "4", "DECK"),
        ("s05 deck", "5", "DECK"),
        ("#12 deck", "12", "DECK"),
        ("5.pier", "5", "PIER"),
        ("3) pier", "3", "PIER"),
        ("8 boat-house", "8", "BOAT HOUSE"),
        ("9 pier - day", "9", "PIER - DAY"),
        ("4 été", "4", "ÉTÉ"),
        ("INT. KITCHEN - NIGHT", "", "INT. KITCHEN - NIGHT"),
        ("int. kitchen - night", "", "INT. KITCHEN - NIGHT"),
        ("12 INT. KITCHEN - NIGHT", "12", "INT. KITCHEN - NIGHT"),
        ("03_int_kitchen_night", "3", "INT. KITCHEN NIGHT"),
        ("05-EXT-DECK-DAY", "5", "EXT. DECK DAY"),
        ("06 int./ext. car - dusk", "6", "INT./EXT. CAR - DUSK"),
        ("11 I/E CAR", "11", "I/E CAR"),
        ("shore", "", "SHORE"),
        ("internal affairs", "", "INTERNAL AFFAIRS"),
        ("estuary", "", "ESTUARY"),
        ("sunset", "", "SUNSET"),
        ("2nd unit", "", "2ND UNIT"),
        ("2026-11-25 ferry", "", "2026-11-25 FERRY"),
        ("20261125_ferry", "", "20261125 FERRY"),
        ("-dash", "", "DASH"),
        ("  7   two   words ", "7", "TWO WORDS"),
        ("a\nb", "", "A B"),
    ],
)
def test_names_of_scene_folders(name: str, number: str, slugline: str) -> None:
    assert read_scene_name(name) == (number, slugline)


@given(st.text(max_size=30))
def test_any_name_gives_words_in_capitals_on_one_line(name: str) -> None:
    number, slugline = read_scene_name(name)
    assert slugline == " ".join(slugline.split())
    assert slugline == slugline.upper()
    assert number == "" or number[0].isdigit()


@given(st.integers(0, 99_999), st.sampled_from(["", "A", "B"]), st.sampled_from([" ", "_", "-", " - "]))
def test_number_and_words_of_our_own_come_back(count: int, letter: str, between: str) -> None:
    assert read_scene_name(f"{count:03}{letter}{between}pier") == (f"{count}{letter}", "PIER")


# Folders


def test_one_scene_for_each_folder_in_natural_order(tmp_path: Path) -> None:
    lay(tmp_path, "10 deck/a.mov", "2-shore/C10.MP4", "2-shore/C2.MP4", "01 boathouse/x.mts", "4A_pier/a.mkv")
    found = find_scenes(tmp_path)
    assert [(scene.number, scene.slugline) for scene in found.scenes] == [
        ("1", "BOATHOUSE"),
        ("2", "SHORE"),
        ("4A", "PIER"),
        ("10", "DECK"),
    ]
    assert names(found.scenes[1].clips, tmp_path) == ["2-shore/C2.MP4", "2-shore/C10.MP4"]
    assert found.loose == ()
    assert found.remarks == ()


def test_numbers_that_are_taken_or_missing(tmp_path: Path) -> None:
    for name in ("01 a", "1 b", "1A c", "3 d", "shore", "INT. KITCHEN"):
        lay(tmp_path, f"{name}/a.mov")
    found = {scene.path.name: scene for scene in find_scenes(tmp_path).scenes}
    assert {name: scene.number for name, scene in found.items()} == {
        "01 a": "1",
        "1 b": "1B",
        "1A c": "1A",
        "3 d": "3",
        "INT. KITCHEN": "4",
        "shore": "5",
    }
    assert found["1 b"].remarks == ("“1 b”: scene number 1 is taken, so it is 1B.",)
    assert found["01 a"].remarks == ()


def test_a_folder_without_sub_folders_is_one_scene(tmp_path: Path) -> None:
    folder = tmp_path / "7 pier"
    lay(folder, "b.mov", "a.mov", "voice.wav")
    (scene,) = find_scenes(folder).scenes
    assert (scene.path, scene.number, scene.slugline) == (folder, "7", "PIER")
    assert names(scene.clips, folder) == ["a.mov", "b.mov"]
    assert names(scene.sounds, folder) == ["voice.wav"]


def test_one_file(tmp_path: Path) -> None:
    lay(tmp_path, "a.mov")
    (scene,) = find_scenes(tmp_path).scenes
    assert (scene.number, names(scene.clips, tmp_path)) == ("1", ["a.mov"])


def test_media_beside_the_scenes_belong_to_none(tmp_path: Path) -> None:
    lay(tmp_path, "1/a.mov", "loose2.mov", "loose10.wav", "notes.txt")
    found = find_scenes(tmp_path)
    assert names(found.loose, tmp_path) == ["loose2.mov", "loose10.wav"]
    assert len(found.remarks) == 1
    assert "(2)" in found.remarks[0]


def test_side_files_are_no_clips(tmp_path: Path) -> None:
    lay(tmp_path, "1/a.mp4", "1/A.THM", "1/a.lrv", "1/a.srt", "1/a.xml", "1/b.WAV", "1/still.jpg", "1/none")
    lay(tmp_path, "1/.DS_Store", "1/._a.mp4", "1/.hidden/c.mp4", ".trash/d.mp4", "$RECYCLE.BIN/e.mp4")
    (scene,) = find_scenes(tmp_path).scenes
    assert names(scene.clips, tmp_path) == ["1/a.mp4"]
    assert names(scene.sounds, tmp_path) == ["1/b.WAV"]
    assert names(scene.others, tmp_path) == [
        "1/A.THM",
        "1/a.lrv",
        "1/a.srt",
        "1/a.xml",
        "1/none",
        "1/still.jpg",
    ]
    assert scene.remarks == ()


def test_folders_of_cards_are_walked(tmp_path: Path) -> None:
    lay(tmp_path, "1 pier/A/PRIVATE/M4ROOT/CLIP/C0002.MP4", "1 pier/A/PRIVATE/M4ROOT/CLIP/C0010.MP4")
    lay(tmp_path, "1 pier/B/DCIM/100CAM/X1.MOV", "1 pier/B/DCIM/99CAM/X2.MOV", "1 pier/Z.MOV")
    (scene,) = find_scenes(tmp_path).scenes
    assert names(scene.clips, tmp_path / "1 pier") == [
        "Z.MOV",
        "A/PRIVATE/M4ROOT/CLIP/C0002.MP4",
        "A/PRIVATE/M4ROOT/CLIP/C0010.MP4",
        "B/DCIM/99CAM/X2.MOV",
        "B/DCIM/100CAM/X1.MOV",
    ]


def test_a_scene_that_has_no_footage_yet(tmp_path: Path) -> None:
    lay(tmp_path, "1/a.mov")
    (tmp_path / "2 to be shot").mkdir()
    assert find_scenes(tmp_path).scenes[1] == SceneFolder(
        path=tmp_path / "2 to be shot", number="2", slugline="TO BE SHOT"
    )


def test_five_hundred_files(tmp_path: Path) -> None:
    lay(tmp_path, *(f"{scene} s/C{clip}.mov" for scene in range(1, 11) for clip in range(1, 51)))
    found = find_scenes(tmp_path)
    assert [len(scene.clips) for scene in found.scenes] == [50] * 10
    assert [path.stem for path in found.scenes[9].clips] == [f"C{clip}" for clip in range(1, 51)]


def test_names_with_signs_in_them(tmp_path: Path) -> None:
    signs = [
        "-i.mov",
        "100%.mov",
        "a b.mov",
        'it\'s "x".mov',
        "line\nbreak.mov",
        "#1?.mov",
        "⛴️.mov",
        "$5.mov",
    ]
    lay(tmp_path, *(f"1 -x⛴️/{name}" for name in signs))
    (scene,) = find_scenes(tmp_path).scenes
    assert {path.name for path in scene.clips} == set(signs)
    assert all(path.exists() for path in scene.clips)


@pytest.mark.skipif(sys.platform != "linux", reason="other systems have no such names")
def test_names_that_are_not_unicode(tmp_path: Path) -> None:
    lay(tmp_path, "1/a.mov")
    Path(os.fsdecode(os.fsencode(tmp_path) + b"/1/caf\xe9.mov")).write_bytes(b"x")
    Path(os.fsdecode(os.fsencode(tmp_path) + b"/2 caf\xe9")).mkdir()
    found = find_scenes(tmp_path)
    assert [names(scene.clips, tmp_path) for scene in found.scenes] == [["1/a.mov"]]
    for remark in (*found.remarks, *found.scenes[0].remarks):
        assert "not Unicode" in remark
        remark.encode()
    assert len(found.remarks) == len(found.scenes[0].remarks) == 1


def test_links(tmp_path: Path) -> None:
    disk, footage = tmp_path / "disk", tmp_path / "footage"
    lay(disk, "card/a.mov", "card/b.mov", "one.mov")
    lay(footage, "1/x.mov", "2/y.mov")
    (footage / "1" / "card").symlink_to(disk / "card")
    (footage / "1" / "card again").symlink_to(disk / "card")
    (footage / "1" / "one.mov").symlink_to(disk / "one.mov")
    (footage / "1" / "gone.mov").symlink_to(disk / "gone.mov")
    (footage / "2" / "loop").symlink_to(footage)
    (footage / "2" / "self").symlink_to(footage / "2")
    (footage / "2" / "root").symlink_to("/")
    (footage / "2" / "knot").symlink_to(footage / "2" / "knot")
    first, second = find_scenes(footage).scenes
    assert names(first.clips, footage) == ["1/one.mov", "1/x.mov", "1/card/a.mov", "1/card/b.mov"]
    assert names(second.clips, footage) == ["2/y.mov"]
    assert any("gone.mov" in remark for remark in first.remarks)
    assert sum("above" in remark for remark in second.remarks) == 2
    assert any("knot" in remark for remark in second.remarks)


def test_a_folder_is_met_where_it_really_is(tmp_path: Path) -> None:
    lay(tmp_path, "1/real/a.mov")
    (tmp_path / "1" / "also").symlink_to(tmp_path / "1" / "real")
    (scene,) = find_scenes(tmp_path).scenes
    assert names(scene.clips, tmp_path) == ["1/real/a.mov"]


def test_footage_in_a_link_to_a_folder(tmp_path: Path) -> None:
    lay(tmp_path, "real/1 pier/a.mov")
    (tmp_path / "link").symlink_to(tmp_path / "real")
    (scene,) = find_scenes(tmp_path / "link").scenes
    assert scene.clips == (tmp_path / "link" / "1 pier" / "a.mov",)


def test_pipes_are_passed_over(tmp_path: Path) -> None:
    lay(tmp_path, "1/a.mov")
    os.mkfifo(tmp_path / "1" / "b.mov")
    (scene,) = find_scenes(tmp_path).scenes
    assert names(scene.clips, tmp_path) == ["1/a.mov"]
    assert "pipe" in scene.remarks[0]


@pytest.mark.parametrize(
    ("make", "code"),
    [
        (lambda path: None, "media.missing"),
        (lambda path: path.write_bytes(b"x"), "media.refused"),
        (lambda path: path.mkdir(), "media.empty"),
        (lambda path: lay(path, "notes.txt", ".a.mov"), "media.empty"),
    ],
)
def test_a_folder_that_can_not_be_used(tmp_path: Path, make: object, code: str) -> None:
    path = tmp_path / "footage"
    assert callable(make)
    make(path)
    with pytest.raises(MediaError) as caught:
        find_scenes(path)
    assert caught.value.code == code
    assert str(path) in caught.value.message
    assert caught.value.advice


def test_nothing_is_written(tmp_path: Path) -> None:
    lay(tmp_path, "1/a.mov")
    before = {path: path.stat().st_mtime_ns for path in tmp_path.rglob("*")}
    find_scenes(tmp_path)
    assert {path: path.stat().st_mtime_ns for path in tmp_path.rglob("*")} == before


def test_suffixes_are_written_alike() -> None:
    assert all(suffix == suffix.lower() and suffix.startswith(".") for suffix in PICTURE_SUFFIXES)
