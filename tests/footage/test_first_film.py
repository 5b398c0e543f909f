"""The film that comes of a folder of footage."""

import os
import shutil
from fractions import Fraction
from pathlib import Path

import pytest

from desk.errors import MediaError
from desk.film.faults import faults
from desk.film.model import Motion, Size, SoundKind
from desk.film.rates import Rate
from desk.footage.first_film import film_path_of, first_film
from desk.footage.probing import ProbeCache
from desk.jobs import Cancelled, CancelToken
from tests.making import make_numbered, run_ffmpeg

pytestmark = pytest.mark.ffmpeg

SIZE = (64, 36)


@pytest.fixture(scope="session")
def clip(tmp_path_factory):
    """Ten frames at 25 a second, with sound."""
    return make_numbered(tmp_path_factory.mktemp("clip") / "a.mov", frames=10, size=SIZE, sound="beeps")


@pytest.fixture
def rushes(tmp_path, clip):
    """Puts clips where a test wants them, and returns the folder of footage."""

    def put(*names):
        for name in names:
            path = tmp_path / "rushes" / name
            path.parent.mkdir(parents=True, exist_ok=True)
            shutil.copy(clip, path)
        return tmp_path / "rushes"

    return put


def sources(film, number=0):
    return [item.source for item in film.scenes[number].content.clips]


def test_scenes_clips_and_cards(tmp_path, rushes):
    footage = rushes("02-shore/C10.mov", "02-shore/C9.mov", "4A_slipway dusk/a.mov", "01 boathouse/a.mov")
    made = first_film(tmp_path / "The Late Ferry", footage)
    film = made.film
    assert faults(film) == ()
    assert (film.title, film.rate, film.size) == ("The Late Ferry", Rate(25), Size(*SIZE))
    assert film.start_frames == 25 * 3600  # 01:00:00:00
    assert film.footage == "../rushes"
    assert [(scene.number, scene.slugline, scene.folder) for scene in film.scenes] == [
        ("1", "BOATHOUSE", "../rushes/01 boathouse"),
        ("2", "SHORE", "../rushes/02-shore"),
        ("4A", "SLIPWAY DUSK", "../rushes/4A_slipway dusk"),
    ]
    assert sources(film, 1) == ["../rushes/02-shore/C9.mov", "../rushes/02-shore/C10.mov"]
    opening, closing = film.cards
    assert opening.lines == ("The Late Ferry",)
    assert (closing.name, closing.lines, closing.motion) == ("Credits", (), Motion.HOLD)
    assert [place.entry for place in film.order] == [
        opening.id,
        *(scene.id for scene in film.scenes),
        closing.id,
    ]
    assert made.remarks == ()


def test_clips_are_whole_at_the_film_s_rate(tmp_path, rushes):
    footage = rushes("1/a.mov")
    make_numbered(footage / "1" / "b.mp4", frames=10, size=SIZE, rate=Rate(30000, 1001))
    make_numbered(footage / "1" / "c.mp4", frames=10, size=SIZE, rate=Rate(100))
    film = first_film(tmp_path / "kiosk", footage, rate=Rate(25)).film
    clips = film.scenes[0].content.clips
    # Ten frames last 0.4 s, 0.3337 s and 0.1 s: 10, 8.34 and 2.5 film frames, all shown.
    assert [clip.length_frames for clip in clips] == [10, 9, 3]
    assert [clip.sound.kind for clip in clips] == [SoundKind.OWN, SoundKind.SILENCE, SoundKind.SILENCE]
    assert all(clip.in_seconds == 0 and clip.speed == Fraction(1) for clip in clips)


def test_rate_size_and_title_may_be_given(tmp_path, rushes):
    made = first_film(
        tmp_path / "kiosk", rushes("1/a.mov"), title="Nocturne", rate=Rate(24), size=Size(1998, 1080)
    )
    assert (made.film.title, made.film.rate, made.film.size) == ("Nocturne", Rate(24), Size(1998, 1080))
    assert made.film.start_frames == 24 * 3600
    assert "25 frames a second" in made.why


def test_chapters_of_a_recording_follow_each_other(tmp_path, rushes):
    """Two recordings of two chapters each, whose names sort by chapter (common practice, no source)."""
    names = ["GX010007.MP4", "GX020007.MP4", "GX010008.MP4", "GX020008.MP4"]
    made = first_film(tmp_path / "kiosk", rushes(*(f"1/{name}" for name in names)))
    assert [Path(source).name for source in sources(made.film)] == names
    assert sum("one recording in 2 files" in remark for remark in made.remarks) == 2


def test_what_is_left_out_is_said(tmp_path, rushes):
    footage = rushes("1/a.mov", "2/a.mov", "stray.mov")
    (footage / "1" / "empty.mov").touch()
    (footage / "2" / "notes.txt").write_text("x")
    run_ffmpeg("-i", footage / "1" / "a.mov", "-map", "0:a", "-c", "copy", footage / "2" / "voice.mov")
    (footage / "2" / "wild.wav").write_bytes(b"RIFF")
    made = first_film(tmp_path / "kiosk", footage)
    assert [len(scene.content.clips) for scene in made.film.scenes] == [1, 1]
    remarks = "\n".join(made.remarks)
    assert len(made.remarks) == 4
    assert "empty.mov” is empty: it has no bytes. It is left out. Copy it again from the card." in remarks
    assert "voice.mov” has no picture. It is left out." in remarks
    assert "Scene 2 has 1 sound recording beside its footage; none is used yet." in remarks
    assert "media outside of the scenes' folders (1)" in remarks


def test_a_scene_whose_footage_is_all_bad_stays(tmp_path, rushes):
    footage = rushes("1/a.mov")
    (footage / "2 pier").mkdir()
    (footage / "2 pier" / "bad.mov").write_text("no pictures")
    film = first_film(tmp_path / "kiosk", footage).film
    assert [(scene.number, len(scene.content.clips)) for scene in film.scenes] == [("1", 1), ("2", 0)]


def test_nothing_that_can_be_used(tmp_path):
    (tmp_path / "rushes" / "1").mkdir(parents=True)
    (tmp_path / "rushes" / "1" / "bad.mov").write_text("no pictures")
    with pytest.raises(MediaError, match=r"no footage in .* that can be used\. .*bad\.mov") as caught:
        first_film(tmp_path / "kiosk", tmp_path / "rushes")
    assert (caught.value.code, bool(caught.value.advice)) == ("media.none", True)


def test_it_can_be_stopped_and_what_was_read_is_remembered(tmp_path, rushes):
    footage = rushes("1/a.mov", "1/b.mov")
    cancel = CancelToken()
    cancel.set()
    with pytest.raises(Cancelled):
        first_film(tmp_path / "kiosk", footage, cancel=cancel)
    cache = ProbeCache(tmp_path / "probes.json")
    told = []
    first_film(tmp_path / "kiosk", footage, cache=cache, progress=told.append)
    assert told[-1].fraction == 1.0
    told.clear()
    first_film(tmp_path / "kiosk", footage, cache=cache, progress=told.append)
    assert told == []


@pytest.mark.skipif(os.name == "nt", reason="disks there allow none of these names")
class TestNames:
    @pytest.mark.parametrize(
        ("folder", "title"),
        [("a\nb\x1b[31m", "a b [31m"), ("Fähre 渡し \U0001f6a2", "Fähre 渡し \U0001f6a2"), ("\x01", "Film")],
    )
    def test_a_title_from_any_folder(self, tmp_path, rushes, folder, title):
        film = first_film(tmp_path / folder, rushes("1/a.mov")).film
        assert film.title == title
        assert faults(film) == ()

    def test_a_slugline_from_any_folder(self, tmp_path, rushes):
        film = first_film(tmp_path / "kiosk", rushes("3 a\x1b[2Jb\x07c\u2028/a.mov")).film
        assert film.scenes[0].slugline == "A [2JB C"
        assert faults(film) == ()

    @pytest.mark.parametrize("name", ["a:b.mov", "file:x.mov", "subfile,,start,0,,:x.mov"])
    def test_a_name_that_looks_like_an_address(self, tmp_path, clip, name):
        scene = tmp_path / "kiosk"
        scene.mkdir()
        shutil.copy(clip, scene / name)
        film = first_film(scene, scene).film
        assert sources(film) == [f"./{name}"]
        assert faults(film) == ()

    def test_a_backslash(self, tmp_path, rushes):
        made = first_film(tmp_path / "kiosk", rushes("1/a.mov", "1/b\\c.mov", "2\\3/a.mov"))
        assert [len(scene.content.clips) for scene in made.film.scenes] == [1, 0]
        assert sum("without backslashes" in remark for remark in made.remarks) == 2
        assert faults(made.film) == ()


class TestPaths:
    def test_lead_from_the_project_to_the_footage(self, tmp_path):
        footage = tmp_path / "rushes"
        footage.mkdir()
        inside = footage / "1" / "a.mov"
        assert film_path_of(inside, footage, tmp_path / "kiosk") == "../rushes/1/a.mov"
        assert film_path_of(inside, footage, tmp_path) == "rushes/1/a.mov"
        assert film_path_of(inside, footage, footage) == "1/a.mov"
        assert film_path_of(inside, footage, tmp_path / "x" / "y" / "z") == "../../../rushes/1/a.mov"

    def test_are_right_through_links(self, tmp_path, monkeypatch):
        """`..` leads out of where a link leads to, and not back along the way that was named."""
        (tmp_path / "deep" / "er" / "kiosk").mkdir(parents=True)
        (tmp_path / "rushes").mkdir()
        (tmp_path / "short").symlink_to("deep/er")
        (tmp_path / "link").symlink_to("rushes")
        (tmp_path / "rushes" / "a.mov").write_text("x")
        monkeypatch.chdir(tmp_path)
        for folder in (Path("short/kiosk"), Path("deep/er/kiosk"), Path("short/../er/kiosk")):
            path = film_path_of(Path("link/a.mov"), Path("link"), folder)
            assert path == "../../../rushes/a.mov"
            assert (folder / path).read_text() == "x"

    def test_links_below_the_footage_keep_their_names(self, tmp_path, rushes):
        footage = rushes("1/a.mov")
        (footage / "2 linked").symlink_to("1")
        (footage / "1" / "b.mov").symlink_to("a.mov")
        film = first_film(tmp_path / "kiosk", footage).film
        assert sources(film) == ["../rushes/1/a.mov", "../rushes/1/b.mov"]
        assert sources(film, 1) == ["../rushes/2 linked/a.mov", "../rushes/2 linked/b.mov"]
