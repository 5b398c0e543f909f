"""The clip sheet of several clips, of spots and cues, of a mix of them, and of nothing."""

import dataclasses
from fractions import Fraction

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication, QScrollArea

from desk.film import edits
from desk.film.model import ClipSound, Fit, Framing, SceneContent, SoundKind
from desk.film.rates import Rate
from desk.ui.cutting.clip_sheet.fields import SEVERAL
from desk.ui.cutting.clip_sheet.scene import scene_figures
from desk.ui.look.theme import Appearance
from tests.film.editing import locked
from tests.film.films import facts, small_film
from tests.ui.clip_sheets import clip_of, open_clip_sheet, put, scene_of
from tests.ui.scene_parts import many_clips, paths, scene_with, with_media
from tests.ui.scene_sheets import focusable, is_done_undone_and_redone, name_of, notices

FILM = small_film()
KNOWN = {path: facts(5, sound=5) for path in paths(FILM)}


@pytest.fixture
def bench(make_bench):
    return with_media(make_bench(FILM), dict(KNOWN))


class TestSeveral:
    @pytest.fixture
    def sheet(self, bench, qtbot):
        framing = Framing(scale=2, x=0.1)
        bench.session.do(lambda film: edits.edit_clips(film, "s1", ["c2"], framing=framing, note="Wide."))
        return open_clip_sheet(qtbot, bench, "s1", ["c1", "c2"])

    def test_what_they_share_is_shown_and_what_differs_is_called_several(self, sheet):
        assert sheet.title.text() == "2 CLIPS SELECTED"
        assert sheet.footage.source.name.text() == "2 files"
        assert sheet.footage.length_of_all.text() == "0:05:00, 120 frames"
        assert not sheet.footage.in_point.isVisible()
        assert sheet.footage.speed.edit.text() == "1"
        scale = sheet.framing.scale.edit
        assert (scale.text(), scale.placeholderText()) == ("", SEVERAL)
        assert sheet.framing.fit.currentText() == "whole picture"
        assert sheet.words.note.edit.placeholderText() == SEVERAL
        assert sheet.framing.enlarged.text().startswith("Enlarged to up to 200 %")
        assert not sheet.framing.frame.isEnabled()

    def test_a_scale_goes_to_all_and_leaves_the_rest_of_each(self, sheet, bench, qtbot):
        is_done_undone_and_redone(bench, lambda: put(qtbot, sheet.framing.scale, "150"))
        first, second = (clip_of(bench.session.film, item).framing for item in ("c1", "c2"))
        assert (first, second) == (Framing(scale=1.5), Framing(scale=1.5, x=0.1))
        assert bench.session.stack.undoText() == "Change the framing of 2 clips in scene 1"

    def test_speed_gain_sound_and_note_go_to_all_in_one_step_each(self, sheet, bench, qtbot):
        is_done_undone_and_redone(bench, lambda: put(qtbot, sheet.footage.speed, "1/2"))
        is_done_undone_and_redone(bench, lambda: put(qtbot, sheet.levels.gain, "-3"))
        is_done_undone_and_redone(bench, lambda: sheet.sound.kind.activated.emit(1))
        sheet.words.note.setFocus()
        is_done_undone_and_redone(bench, lambda: qtbot.keyClicks(sheet.words.note.edit, "Both"))
        for clip in scene_of(bench).content.clips:
            assert (clip.speed, clip.sound.gain_db, clip.note) == (Fraction(1, 2), -3, "Both")
            assert clip.sound.kind is SoundKind.SILENCE

    def test_every_frame_of_each_at_its_own_rate(self, sheet, bench):
        bench.media.now(**{"footage/1/quay.mov": facts(5, rate=Rate(48))})
        assert sheet.footage.every_frame.text() == "Every frame"
        is_done_undone_and_redone(bench, sheet.footage.every_frame.click)
        assert [clip.speed for clip in scene_of(bench).content.clips] == [Fraction(1, 2), 1]

    def test_what_one_refuses_is_done_to_none(self, sheet, bench, qtbot):
        film = bench.session.film
        put(qtbot, sheet.sound.lead, "30")
        fault = sheet.sound.lead.fault.text()
        assert fault.startswith("There are 6 frames too few of sound before clip 2 in scene 1.")
        assert bench.session.film is film

    def test_a_drag_of_the_first_leaves_the_others(self, sheet, bench):
        bench.cut.attempt(lambda film: edits.trim_tail(film, "s1", "c1", 24))
        assert sheet.footage.length_of_all.text() == "0:04:00, 96 frames"

    def test_two_hundred_clips(self, make_bench, qtbot):
        film, scene = scene_with(many_clips(200))
        bench = with_media(make_bench(film))
        sheet = open_clip_sheet(qtbot, bench, scene.id, [clip.id for clip in scene.content.clips])
        is_done_undone_and_redone(bench, lambda: put(qtbot, sheet.levels.gain, "-3"))
        is_done_undone_and_redone(bench, lambda: put(qtbot, sheet.framing.scale, "90"))
        assert {clip.framing.scale for clip in scene_of(bench).content.clips} == {0.9}


SPOT_FIELDS = {
    "start": ("spot.start", "0:01:00", "start_frames", 24),
    "start before the scene": ("spot.start", "-0:00:12", "start_frames", -12),
    "start by frames": ("spot.start", "+5", "start_frames", 15),
    "length": ("spot.length", "36", "length_frames", 36),
    "in": ("spot.in_point", "0.5", "in_seconds", Fraction(1, 2)),
    "gain": ("levels.gain", "-9", "gain_db", -9),
    "fade in": ("levels.fade_in", "4", "fade_in_frames", 4),
}


class TestSpot:
    @pytest.fixture
    def sheet(self, bench, qtbot):
        return open_clip_sheet(qtbot, bench, "s1", ["f1"])

    @pytest.mark.parametrize(("name", "text", "attribute", "expected"), SPOT_FIELDS.values(), ids=SPOT_FIELDS)
    def test_a_field_is_one_step(self, sheet, bench, qtbot, name, text, attribute, expected):
        part, _, field_name = name.partition(".")
        field = getattr(getattr(sheet, part), field_name)
        is_done_undone_and_redone(bench, lambda: put(qtbot, field, text))
        assert getattr(scene_of(bench).content.spots[0], attribute) == expected

    def test_its_file_label_and_place_in_the_film(self, sheet, bench, qtbot):
        assert sheet.title.text() == "SPOT HORN"
        assert sheet.spot.file.name.text() == "horn.wav"
        start = bench.cut.film_frame
        assert start is not None
        assert sheet.spot.film_place.text().startswith("film 01:00:0")
        sheet.spot.label.setFocus()
        sheet.spot.label.edit.selectAll()
        is_done_undone_and_redone(bench, lambda: qtbot.keyClicks(sheet.spot.label.edit, "foghorn"))
        assert scene_of(bench).content.spots[0].label == "foghorn"

    def test_longer_than_its_file(self, sheet, bench, qtbot):
        put(qtbot, sheet.spot.length, "0:06:00")
        fault = sheet.spot.length.fault.text()
        assert fault.startswith("There are 24 frames too few of sound after spot horn in scene 1.")


class TestCue:
    @pytest.fixture
    def sheet(self, bench, qtbot):
        return open_clip_sheet(qtbot, bench, "s1", ["m1"])

    def test_the_candidates_and_the_chosen_one(self, sheet, bench):
        music = sheet.cue.music
        assert [music.itemText(at) for at in range(music.count())] == ["tide.wav", "fog.wav"]
        assert (music.currentText(), sheet.cue.file.name.text()) == ("tide.wav", "tide.wav")
        assert "2 pieces tried." in sheet.cue.tried.text()
        is_done_undone_and_redone(bench, lambda: music.activated.emit(1))
        assert scene_of(bench).content.cues[0].chosen == "a2"
        assert sheet.cue.file.name.text() == "fog.wav"

    def test_place_gain_and_in_point_of_the_chosen_music(self, sheet, bench, qtbot):
        is_done_undone_and_redone(bench, lambda: put(qtbot, sheet.cue.start, "12"))
        is_done_undone_and_redone(bench, lambda: put(qtbot, sheet.cue.length, "90"))
        is_done_undone_and_redone(bench, lambda: put(qtbot, sheet.cue.in_point, "1.25"))
        is_done_undone_and_redone(bench, lambda: put(qtbot, sheet.levels.gain, "-12"))
        (cue,) = scene_of(bench).content.cues
        assert (cue.start_frames, cue.length_frames) == (12, 90)
        assert cue.choice is not None
        assert (cue.choice.in_seconds, cue.choice.gain_db) == (Fraction(5, 4), -12)
        assert cue.candidates[1].gain_db == 0

    def test_a_cue_without_music(self, sheet, bench):
        bench.session.do(lambda film: edits.remove_candidate(film, "s1", "m1", "a1"))
        assert sheet.cue.music.currentText() == "none chosen"
        assert not sheet.cue.in_point.isVisible()
        assert not sheet.levels.gain.isVisible()
        assert sheet.levels.silent.text() == "Nothing that is selected sounds."


def test_a_mix_shares_gain_and_fades(bench, qtbot):
    sheet = open_clip_sheet(qtbot, bench, "s1", ["c1", "f1", "m1"])
    assert sheet.title.text() == "1 CLIP, 1 SPOT AND 1 CUE SELECTED"
    assert not sheet.footage.isVisible()
    is_done_undone_and_redone(bench, lambda: put(qtbot, sheet.levels.gain, "-4"))
    content = scene_of(bench).content
    assert content.clips[0].sound.gain_db == content.spots[0].gain_db == -4
    assert content.cues[0].choice is not None
    assert content.cues[0].choice.gain_db == -4
    assert bench.session.stack.undoText() == "Change the gain of 1 clip, 1 spot and 1 cue in scene 1"


def test_nothing_selected_shows_the_scene_and_says_what_to_do(bench, qtbot):
    sheet = open_clip_sheet(qtbot, bench, "s1")
    assert sheet.title.text() == "SCENE 1"
    assert "Select a clip" in sheet.scene_page.advice.text()
    assert dict(scene_figures(scene_of(bench), Rate(24))) == {
        "length": "0:05:00, 120 frames",
        "clips": "2",
        "each": "0:02:00 to 0:03:00",
        "sound": "2 own",
        "spots": "1",
        "cues": "1, 1 with music",
    }
    bench.cut.open("s3")
    assert sheet.scene_page.advice.text() == "The scene has no clips yet. Add some of its footage."


def test_a_film_that_is_read_only_says_why(bench, qtbot):
    bench.session.read_only = "It is open in another window."
    sheet = open_clip_sheet(qtbot, bench, "s1", ["c1"])
    assert sheet.why.text() == "It is open in another window."
    assert sheet.footage.length.edit.isReadOnly()


def test_what_is_typed_for_another_selection_and_refused_is_told(bench, qtbot):
    sheet = open_clip_sheet(qtbot, bench, "s1", ["c1"])
    heard = notices(bench)
    sheet.footage.length.setFocus()
    sheet.footage.length.edit.selectAll()
    qtbot.keyClicks(sheet.footage.length.edit, "0:09:00")
    bench.cut.select(["c2"])
    assert heard[0].startswith("There are ")
    assert sheet.footage.length.fault.text() == ""


@pytest.mark.parametrize("width", [260, 480, 700])
@pytest.mark.parametrize("look", [Appearance.DARK, Appearance.LIGHT])
def test_nothing_is_cut_off_at_any_width(bench, qtbot, theme, width, look):
    theme.set_appearance(look)
    recording = ClipSound(kind=SoundKind.SEPARATE, file="sound/a long name of a recording.wav")
    clip = dataclasses.replace(
        FILM.scene("s1").content.clips[0], sound=recording, framing=Framing(fit=Fit.FILL, scale=1.7)
    )
    bench.session.do(lambda film: edits.set_content(film, "s1", SceneContent(clips=(clip,)), "For the test"))
    sheet = open_clip_sheet(qtbot, bench, "s1", ["c1"], size=(width, 700))
    put(qtbot, sheet.footage.length, "9:00:00")
    QApplication.processEvents()
    assert isinstance(sheet, QScrollArea)
    room = sheet.viewport().width()
    assert sheet.widget().width() <= room
    for widget in focusable(sheet.widget()):
        right = widget.mapTo(sheet.widget(), widget.rect().topRight()).x()
        assert right < room, f"{name_of(widget)} ends at {right} of {room}"
        assert name_of(widget), widget


def test_tab_goes_down_the_sheet(bench, qtbot):
    sheet = open_clip_sheet(qtbot, bench, "s1", ["c1"])
    sheet.footage.source.reveal.setFocus()
    for widget in (
        sheet.footage.in_point.edit,
        sheet.footage.out_point.edit,
        sheet.footage.length.edit,
        sheet.footage.speed.edit,
        sheet.footage.keeps,
    ):
        qtbot.keyClick(QApplication.focusWidget(), Qt.Key.Key_Tab)
        assert QApplication.focusWidget() is widget


def test_a_locked_scene_lets_nothing_of_a_spot_be_changed(make_bench, qtbot):
    bench = with_media(make_bench(locked(FILM, "s1")), dict(KNOWN))
    sheet = open_clip_sheet(qtbot, bench, "s1", ["f1"])
    film = bench.session.film
    for field in (sheet.spot.label, sheet.spot.start, sheet.levels.gain):
        assert field.edit.isReadOnly()
        qtbot.keyClick(field.edit, Qt.Key.Key_Up)
    assert bench.session.film is film
