"""The clips that come of one scene's folder."""

import os
import shutil
from fractions import Fraction

import pytest

from desk.errors import EditError, MediaError
from desk.film.edits import lock
from desk.film.faults import faults
from desk.film.model import SoundKind
from desk.film.rates import Rate
from desk.footage.first_film import first_film
from desk.footage.probing import ProbeCache
from desk.footage.scene_clips import read_scene_folder, take_clips
from desk.jobs import Cancelled, CancelToken
from tests.film.films import small_film
from tests.making import make_numbered, run_ffmpeg

pytestmark = pytest.mark.ffmpeg

SIZE = (64, 36)


@pytest.fixture(scope="session")
def clip(tmp_path_factory):
    """Ten frames at 25 a second, with sound."""
    return make_numbered(tmp_path_factory.mktemp("clip") / "a.mov", frames=10, size=SIZE, sound="beeps")


@pytest.fixture
def rushes(tmp_path, clip):
    """Puts clips into a scene's folder, and returns it."""

    def put(*names):
        for name in names:
            path = tmp_path / "rushes" / "03 deck" / name
            path.parent.mkdir(parents=True, exist_ok=True)
            shutil.copy(clip, path)
        return tmp_path / "rushes" / "03 deck"

    return put


@pytest.fixture
def project(tmp_path):
    return tmp_path / "kiosk"


def names(found):
    return [item.source.rpartition("/")[2] for item in found.files]


def test_files_in_natural_order(rushes, project):
    found = read_scene_folder(rushes("C10.mov", "C9.mov", "b/C1.mov"), project)
    assert [item.source for item in found.files] == [
        "../rushes/03 deck/C9.mov",
        "../rushes/03 deck/C10.mov",
        "../rushes/03 deck/b/C1.mov",
    ]
    assert found.remarks == ()


def test_folders_of_cards_are_no_scenes(rushes, project):
    """Cards have folders whose names would give scenes a number, and files beside them."""
    folder = rushes("100_A/DCIM/C2.mov", "100_A/DCIM/C1.mov", "100_B/C3.mov", "C0.mov")
    found = read_scene_folder(folder, project)
    assert names(found) == ["C0.mov", "C1.mov", "C2.mov", "C3.mov"]
    assert found.remarks == ()


def test_it_is_what_the_first_film_would_have(rushes, project, tmp_path):
    folder = rushes("2/C10.mov", "2/C9.mov", "C1.mov", "GX010007.MP4", "GX020007.MP4", "GX010008.MP4")
    first = first_film(project, tmp_path / "rushes").film
    wanted = first.scenes[0].content.clips
    empty = small_film()
    film = take_clips(empty, "s3", read_scene_folder(folder, project)).after
    made = film.scene("s3").content.clips
    assert [clip.source for clip in made] == [clip.source for clip in wanted]
    assert [clip.sound for clip in made] == [clip.sound for clip in wanted]


def test_clips_are_whole_and_at_the_films_rate(rushes, project):
    film = small_film()
    edit = take_clips(film, "s3", read_scene_folder(rushes("a.mov"), project))
    (made,) = edit.after.scene("s3").content.clips
    # 10 frames at 25 a second are 0.4 s: 9.6 frames at 24.
    assert (made.length_frames, made.in_seconds, made.speed) == (10, 0, 1)
    assert film.rate == Rate(24)
    assert made.sound.kind is SoundKind.OWN
    assert faults(edit.after) == ()
    assert edit.text == "Take the files of the folder of scene 3"
    assert edit.inverse().after == film


def test_clips_that_are_there_stay_before_them(rushes, project):
    film = small_film()
    edit = take_clips(film, "s2", read_scene_folder(rushes("a.mov", "b.mov"), project))
    ids = [clip.id for clip in edit.after.scene("s2").content.clips]
    assert ids[0] == "c3"
    assert len(set(ids)) == 3
    assert faults(edit.after) == ()


def test_footage_without_sound_is_silent(tmp_path, project):
    folder = tmp_path / "deck"
    folder.mkdir()
    make_numbered(folder / "mute.mov", frames=5, size=SIZE)
    edit = take_clips(small_film(), "s3", read_scene_folder(folder, project))
    assert edit.after.scene("s3").content.clips[0].sound.kind is SoundKind.SILENCE


def test_a_locked_or_unknown_scene_takes_none(rushes, project):
    found = read_scene_folder(rushes("a.mov"), project)
    film = lock(small_film(), "s3", "2026-03-01", (), "trial").after
    with pytest.raises(EditError, match="locked"):
        take_clips(film, "s3", found)
    with pytest.raises(EditError, match="no scene or card"):
        take_clips(film, "s99", found)


def test_what_is_left_out_is_said(rushes, project):
    folder = rushes("a.mov")
    (folder / "empty.mov").touch()
    (folder / "wild.wav").write_bytes(b"RIFF")
    run_ffmpeg("-i", folder / "a.mov", "-map", "0:a", "-c", "copy", folder / "voice.mov")
    found = read_scene_folder(folder, project)
    assert names(found) == ["a.mov"]
    remarks = "\n".join(found.remarks)
    assert len(found.remarks) == 3
    assert "empty.mov” is empty: it has no bytes. It is left out." in remarks
    assert "voice.mov” has no picture. It is left out." in remarks
    assert "1 sound recording lies beside the footage; none is used yet." in remarks


def test_one_recording_in_chapters(rushes, project):
    """Chapters follow each other, whatever their names sort like (common practice, no source)."""
    chapters = ["GX010007.MP4", "GX020007.MP4", "GX010008.MP4", "GX020008.MP4"]
    found = read_scene_folder(rushes(*chapters), project)
    assert names(found) == chapters
    assert sum("are one recording in 2 files" in remark for remark in found.remarks) == 2


@pytest.mark.parametrize("case", ["missing", "empty", "bad", "file"])
def test_a_folder_that_gives_nothing(tmp_path, project, case):
    folder = tmp_path / "deck"
    if case == "file":
        folder.write_text("x")
    elif case != "missing":
        folder.mkdir()
    if case == "bad":
        (folder / "bad.mov").write_text("no pictures")
    with pytest.raises(MediaError) as caught:
        read_scene_folder(folder, project)
    assert caught.value.advice
    assert str(folder) in caught.value.message
    if case in ("empty", "bad"):
        assert caught.value.code == "media.none"


def test_it_can_be_stopped_and_what_was_read_is_remembered(rushes, project, tmp_path):
    folder = rushes("a.mov", "b.mov")
    cancel = CancelToken()
    cancel.set()
    with pytest.raises(Cancelled):
        read_scene_folder(folder, project, cancel=cancel)
    cache = ProbeCache(tmp_path / "probes.json")
    told = []
    read_scene_folder(folder, project, cache=cache, progress=told.append)
    assert told[-1].fraction == 1.0
    told.clear()
    found = read_scene_folder(folder, project, cache=cache, progress=told.append)
    assert told == []
    assert found.files[0].facts.picture.seconds == Fraction(2, 5)


@pytest.mark.skipif(os.name == "nt", reason="disks there allow no such name")
def test_a_name_that_no_film_can_hold(rushes, project):
    found = read_scene_folder(rushes("a.mov", "b\\c.mov"), project)
    assert names(found) == ["a.mov"]
    assert any("without backslashes" in remark for remark in found.remarks)


def test_footage_is_not_touched(rushes, project):
    folder = rushes("a.mov")
    before = {path: (path.stat().st_mtime_ns, path.read_bytes()) for path in folder.rglob("*")}
    read_scene_folder(folder, project)
    assert {path: (path.stat().st_mtime_ns, path.read_bytes()) for path in folder.rglob("*")} == before
    assert not project.exists()
