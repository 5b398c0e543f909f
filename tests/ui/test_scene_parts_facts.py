"""What is said of a clip, of its files, and of what deserves a look."""

import dataclasses
from fractions import Fraction

import pytest

from desk.film.edits import lock
from desk.film.model import (
    CameraLook,
    Clip,
    ClipSound,
    Fit,
    Framing,
    LockedMedia,
    SceneContent,
    SoundKind,
)
from desk.film.problem import MediaTrouble
from desk.film.rates import Rate
from desk.ui.scene.clip_facts import clip_facts, file_trouble, gain_text, shown_rate, source_label
from desk.ui.scene.grade import flashing_words, shown_figure
from desk.ui.scene.worth_a_look import clip_looks, dialogue_looks, music_looks
from tests.film.films import HASH, RATE, SHA256, facts, small_film
from tests.ui.scene_parts import MISSING, many_clips, scene_with

CLIP = Clip(
    id="c70",
    source="footage/2/C0041.MP4",
    in_seconds=Fraction(12) + Fraction(3, 100),
    length_frames=129,
    speed=Fraction(6, 25),
    framing=Framing(fit=Fit.FILL, scale=1.12, y=0.02),
    sound=ClipSound(
        kind=SoundKind.SEPARATE, file="footage/2/R1.wav", offset_seconds=Fraction(5, 2), lead_frames=6
    ),
    camera="l1",
    note="The ferry\nleaves again.",
)
LOOK = CameraLook(id="l1", name="camera B", note="blacks a little raised")


def film_of(clip):
    film = dataclasses.replace(small_film(), camera_looks=(LOOK,))
    return scene_with(SceneContent(clips=(clip,)), film)


def told(clip, known):
    film, scene = film_of(clip)
    return {fact.name: fact for fact in clip_facts(film, scene, clip, known)}


def test_a_clip_with_every_feature():
    source = dataclasses.replace(
        facts(20, width=2048, height=1152, rate=Rate(100), codec="h264", bit_depth=10),
        timecode="10:00:00:00",
        camera="Small Camera 2",
    )
    rows = told(CLIP, {CLIP.source: source})
    assert {name: fact.text for name, fact in rows.items()} == {
        "source": "C0041.MP4",
        "in": "00:00:12:03",  # 12.03 s at 100 a second
        "timecode": "10:00:12:03",
        "length": "0:05:09",  # 129 = 5 · 24 + 9
        "speed": "6/25, every frame",  # 100 · 6/25 = 24
        "framing": "112 %, 2 % down, 5 % beyond pixels",  # 1920 / 2048 · 1.12 = 1.05
        "handles": "1,203 before, 668 after",
        "sound": "separate, lead 6, lag 0",
        "camera look": "camera B",
        "camera": "Small Camera 2",
        "footage": "2048 × 1152 at 100",
    }
    assert rows["framing"].kind == "open"
    assert rows["source"].more == CLIP.source
    assert "10 bits" in rows["footage"].more
    assert "footage/2/R1.wav, from 2.500 s" in rows["sound"].more


def test_a_plain_clip():
    clip = Clip(id="c70", source="a.mov", in_seconds=Fraction(1), length_frames=48)
    rows = told(clip, {"a.mov": facts(10, rate=RATE)})
    assert rows["speed"].text == "1"
    assert rows["framing"].text == "whole picture"
    assert rows["handles"].text == "24 before, 168 after"
    assert rows["sound"].text == "own, lead 0, lag 0"
    assert (rows["camera look"].text, rows["camera look"].kind) == ("none", "open")
    assert {"timecode", "camera"}.isdisjoint(rows)


@pytest.mark.parametrize(
    ("rate", "speed", "words"),
    [
        (Rate(25), Fraction(1), "1, frames left out"),
        (Rate(12), Fraction(1), "1, frames repeat"),
        (Rate(24), Fraction(1, 4), "1/4, frames repeat"),
        (Rate(48), Fraction(1, 2), "1/2, every frame"),
    ],
)
def test_speed_says_what_becomes_of_frames(rate, speed, words):
    clip = dataclasses.replace(CLIP, speed=speed)
    assert told(clip, {clip.source: facts(100, rate=rate)})["speed"].text == words


def test_variable_rate():
    rows = told(CLIP, {CLIP.source: facts(20, rate=Rate(30), variable=True)})
    assert rows["speed"].text == "6/25, each frame at its own time"
    assert rows["footage"].text == "1920 × 1080 at about 30, varying"


def test_a_file_that_was_not_looked_at_is_not_called_missing():
    rows = told(CLIP, {})
    assert (rows["source"].text, rows["source"].kind) == ("C0041.MP4", "")
    assert rows["in"].text == "12.030 s"
    assert rows["handles"].text == "1,203 before, after not read yet"
    assert "footage" not in rows


def test_a_clip_that_overruns_its_footage():
    clip = Clip(id="c70", source="a.mov", in_seconds=Fraction(9), length_frames=48)
    row = told(clip, {"a.mov": facts(10)})["handles"]
    assert (row.text, row.kind) == ("216 before, runs 24 frames beyond its end", "fault")


@pytest.mark.parametrize(
    ("known", "words"),
    [
        (MISSING, "missing"),
        (MediaTrouble("It is cut off.", "Copy it again.", "media.truncated"), "can't be read"),
        (facts(None), "has no picture"),
    ],
)
def test_footage_that_can_not_be_used(known, words):
    rows = told(CLIP, {CLIP.source: known})
    assert (rows["source"].text, rows["source"].kind) == ("C0041.MP4", "fault")
    assert (rows[""].text, rows[""].kind) == (words, "fault")


def test_black_before_a_clip():
    clip = dataclasses.replace(CLIP, gap_frames=12)
    film, scene = film_of(clip)
    row = told(clip, {})["before it"]
    assert (row.text, row.kind) == ("12 frames of black", "open")
    assert clip_looks(film, scene, clip, {}) == (
        "12 frames of black stand before it. Close the gap, or put a clip there.",
    )


def test_own_sound_of_a_file_without_any():
    clip = Clip(id="c70", source="a.mov", length_frames=48)
    row = told(clip, {"a.mov": facts(10, sound=None)})["sound"]
    assert (row.text, row.kind) == ("own, but the file has none, lead 0, lag 0", "open")


def locked_scene():
    film, scene = film_of(CLIP)
    media = tuple(
        LockedMedia(path=path, size_bytes=9, sample_hash=HASH, sha256=SHA256)
        for path in ("footage/2/C0041.MP4", "footage/2/R1.wav")
    )
    film = lock(film, scene.id, "2026-03-01", media, "trial").after
    return film, film.scene(scene.id)


def test_media_that_changed_since_the_lock():
    film, scene = locked_scene()
    changed = dataclasses.replace(facts(20), size_bytes=10)
    rows = clip_facts(film, scene, CLIP, {CLIP.source: changed})
    assert [(fact.text, fact.kind) for fact in rows[:2]] == [
        ("C0041.MP4", "fault"),
        ("is not the file that was locked", "fault"),
    ]
    trouble = file_trouble(scene, CLIP.source, {CLIP.source: changed})
    assert trouble.sentence == "“C0041.MP4” is another file than the one that was locked."
    assert "unlock the scene" in trouble.advice
    assert file_trouble(scene, CLIP.source, {CLIP.source: facts(20)}) is None
    assert file_trouble(scene, CLIP.source, {}) is None


def test_missing_media_in_plain_words():
    _, scene = film_of(CLIP)
    trouble = file_trouble(scene, CLIP.source, {CLIP.source: MISSING})
    assert trouble.sentence == "“footage/2/C0041.MP4” is missing."
    assert trouble.advice == "Connect its disk, or say where it is now."


def test_labels_of_sources():
    # 1001/30000 s a frame: frame 30 is at 1.001 s and is labelled 00:00:01:00 (SMPTE ST 12-1, non-drop).
    assert source_label(Fraction(1001, 1000), Rate(30000, 1001)) == "00:00:01:00"
    assert source_label(Fraction(1), Rate(30000, 1001)) == "00:00:00:29"
    assert source_label(Fraction(5, 2), Rate(240)) == "2.500 s"
    assert [shown_rate(rate) for rate in (Rate(25), Rate(30000, 1001), Rate(100))] == ["25", "29.97", "100"]


def test_gains():
    assert [gain_text(gain) for gain in (0, -9.0, 2.5, -96)] == ["0 dB", "−9 dB", "+2.5 dB", "−96 dB"]


class TestWorthALook:
    def test_of_a_clip(self):
        film, scene = film_of(CLIP)
        (line,) = clip_looks(film, scene, CLIP, {CLIP.source: facts(20)})
        assert line.startswith("Its framing enlarges the picture by 12 % beyond its own pixels")

    def test_what_is_known_of_its_footage_is_told_without_naming_it(self):
        """Cameras that write no colour tags are common: it is one line, for whatever clip."""
        clip = Clip(id="c70", source="footage/01 kiosk/A005_C003.mp4", length_frames=48)
        film, scene = film_of(clip)
        assert clip_looks(film, scene, clip, {clip.source: facts(20, primaries="")}) == (
            "It uses footage without colour tags, so that its colours are guessed. "
            "Compare it with the camera's own player.",
        )

    def test_of_voices(self):
        clips = (
            Clip(id="c71", source="a.mov", length_frames=48, speed=Fraction(1, 2)),
            Clip(id="c72", source="b.mov", length_frames=48),
            Clip(id="c73", source="a.mov", length_frames=48, speed=Fraction(1, 2)),
        )
        film, scene = scene_with(SceneContent(clips=clips))
        lines = dialogue_looks(film, scene, {"a.mov": facts(100), "b.mov": facts(100, sound=1)})
        assert lines[0].startswith("Clip 1 and clip 3, each: its own sound runs at 1/2 times its speed")
        assert lines[1].startswith("Clip 2: “b.mov” has no sound for its last 24 frames.")

    def test_of_music(self):
        film = small_film()
        scene = film.scene("s1")
        lines = music_looks(
            film, scene, {"effects/horn.wav": facts(5, sound=None), "music/tide.wav": facts(9)}
        )
        assert lines == ("Spot horn: “effects/horn.wav” has no sound. Choose another file.",)

    def test_files_that_were_not_looked_at_are_not_spoken_of(self):
        film, scene = film_of(CLIP)
        assert clip_looks(film, scene, CLIP, {}) == ()
        assert dialogue_looks(film, scene, {}) == ()
        assert music_looks(small_film(), small_film().scene("s1"), {}) == ()


class TestFlashing:
    """WCAG 2.3.1: no more than three flashes in any one second, a flash being a pair of opposing changes."""

    def content(self, *lengths):
        clips = tuple(
            Clip(id=f"c{100 + place}", source="a.mov", length_frames=length)
            for place, length in enumerate(lengths)
        )
        return SceneContent(clips=clips)

    def test_six_cuts_within_a_second(self):
        words = flashing_words(self.content(48, 4, 4, 4, 4, 4, 48), RATE)
        assert words.startswith("6 cuts within a second at 0:02:00. ")
        assert "ITU-R BT.1702" in words

    def test_five_cuts_within_a_second(self):
        assert flashing_words(self.content(48, 4, 4, 4, 4, 48), RATE) == ""

    def test_six_cuts_in_just_a_second(self):
        assert flashing_words(self.content(48, 5, 5, 5, 5, 4, 48), RATE) == ""

    def test_none_in_a_scene_of_long_clips(self):
        assert flashing_words(many_clips(200), RATE) == ""


def test_figures_of_a_grade():
    assert [shown_figure(value) for value in (1.0, 0.95, -0.006, 1.23456789, -0.0, 12)] == [
        "1.000",
        "0.950",
        "−0.006",
        "1.234568",
        "0.000",
        "12.000",
    ]
