"""The clip sheet of a clip: each field is done, undone and done again, and says what it refuses."""

import dataclasses
from fractions import Fraction

import pytest
from PySide6.QtCore import Qt, QUrl
from PySide6.QtGui import QAction, QDesktopServices
from PySide6.QtWidgets import QFileDialog

from desk.film import edits
from desk.film.model import CameraLook, Fit, Framing, Size, SoundKind
from desk.film.rates import Rate
from desk.render.placing import place
from desk.ui.cutting.clip_sheet.framing import enlargement_words, most_enlarged
from tests.film.editing import locked
from tests.film.films import facts, small_film
from tests.ui.clip_sheets import clip_of, open_clip_sheet, put
from tests.ui.scene_parts import MISSING, paths, with_media
from tests.ui.scene_sheets import is_done_undone_and_redone, notices

LOOKS = (CameraLook(id="l1", name="camera A"), CameraLook(id="l2", name="camera B"))
FILM = dataclasses.replace(small_film(), camera_looks=LOOKS)
FIVE_SECONDS = {path: facts(5, sound=5) for path in paths(FILM)}


@pytest.fixture
def bench(make_bench):
    return with_media(make_bench(FILM), dict(FIVE_SECONDS))


@pytest.fixture
def sheet(bench, qtbot):
    return open_clip_sheet(qtbot, bench, "s1", ["c1"])


def now(bench):
    return clip_of(bench.session.film, "c1")


def test_what_it_shows_of_a_clip(sheet):
    assert sheet.title.text() == "CLIP 1 OF 2"
    assert sheet.footage.source.name.text() == "quay.mov"
    assert sheet.footage.in_point.edit.text() == "00:00:02:00"
    assert sheet.footage.out_point.edit.text() == "00:00:04:00"
    assert sheet.footage.length.edit.text() == "0:02:00"
    assert sheet.footage.handles.text() == "48 before, 24 after"
    assert sheet.footage.speed.edit.text() == "1"
    assert sheet.footage.percent.text() == "100 %"
    assert sheet.framing.enlarged.text() == "Shown at 100 % of its own pixels."
    assert not sheet.sound.offset.isVisible()


FIELDS = {
    "in by a label": (
        "footage.in_point",
        "00:00:02:12",
        lambda c: (c.in_seconds, c.length_frames),
        (2.5, 36),
    ),
    "in by seconds": ("footage.in_point", "1.5 s", lambda c: (c.in_seconds, c.length_frames), (1.5, 60)),
    "in by frames": ("footage.in_point", "-24", lambda c: (c.in_seconds, c.length_frames), (1, 72)),
    "out by a label": ("footage.out_point", "00:00:04:06", lambda c: c.length_frames, 54),
    "out by frames": ("footage.out_point", "+6", lambda c: c.length_frames, 54),
    "length": ("footage.length", "0:01:12", lambda c: c.length_frames, 36),
    "length by frames": ("footage.length", "-12 frames", lambda c: c.length_frames, 36),
    "speed": ("footage.speed", "1/2", lambda c: (c.speed, c.length_frames), (Fraction(1, 2), 96)),
    "speed in per cent": ("footage.speed", "200 %", lambda c: (c.speed, c.length_frames), (2, 24)),
    "scale": ("framing.scale", "135", lambda c: c.framing.scale, 1.35),
    "across": ("framing.across", "-192", lambda c: c.framing.x, -0.1),
    "down": ("framing.down", "54", lambda c: c.framing.y, 0.05),
    "gain": ("levels.gain", "-6,5", lambda c: c.sound.gain_db, -6.5),
    "fade in": ("levels.fade_in", "12", lambda c: c.sound.fade_in_frames, 12),
    "fade out": ("levels.fade_out", "8", lambda c: c.sound.fade_out_frames, 8),
    "lead": ("sound.lead", "10", lambda c: c.sound.lead_frames, 10),
    "lag": ("sound.lag", "9", lambda c: c.sound.lag_frames, 9),
}


@pytest.mark.parametrize(("name", "text", "value", "expected"), FIELDS.values(), ids=FIELDS)
def test_a_field_is_one_step(sheet, bench, qtbot, name, text, value, expected):
    part, _, field_name = name.partition(".")
    field = getattr(getattr(sheet, part), field_name)
    before = field.edit.text()
    is_done_undone_and_redone(bench, lambda: put(qtbot, field, text))
    assert value(now(bench)) == expected
    after = field.edit.text()
    bench.session.stack.undo()
    assert field.edit.text() == before
    bench.session.stack.redo()
    assert field.edit.text() == after
    assert not field.fault.text()


def test_the_note_is_taken_as_it_is_typed(sheet, bench, qtbot):
    note = sheet.words.note
    note.setFocus()
    is_done_undone_and_redone(bench, lambda: qtbot.keyClicks(note.edit, "Gulls."))
    assert now(bench).note == "Gulls."


PICKS = {
    "fill": ("framing.fit", 1, lambda c: c.framing.fit, Fit.FILL),
    "silence": ("sound.kind", 1, lambda c: c.sound.kind, SoundKind.SILENCE),
    "camera look": ("words.camera", 2, lambda c: c.camera, "l2"),
}


@pytest.mark.parametrize(("name", "place_in_list", "value", "expected"), PICKS.values(), ids=PICKS)
def test_a_pick_is_one_step(sheet, bench, name, place_in_list, value, expected):
    part, _, field_name = name.partition(".")
    picks = getattr(getattr(sheet, part), field_name)

    def picked() -> None:
        picks.setCurrentIndex(place_in_list)
        picks.activated.emit(place_in_list)

    is_done_undone_and_redone(bench, picked)
    assert value(now(bench)) == expected
    bench.session.stack.undo()
    assert picks.currentIndex() == 0


def test_arrow_keys_step_by_a_frame_as_one_step_of_undoing(sheet, bench, qtbot):
    field = sheet.footage.in_point
    field.setFocus()

    def stepped() -> None:
        for key in (Qt.Key.Key_Up, Qt.Key.Key_Up, Qt.Key.Key_Down, Qt.Key.Key_Up):
            qtbot.keyClick(field.edit, key)

    is_done_undone_and_redone(bench, stepped)
    assert field.edit.text() == "00:00:02:02"
    assert now(bench).length_frames == 46


def test_arrow_keys_step_even_where_the_window_uses_them(sheet, bench, qtbot):
    pressed: list[str] = []
    action = QAction(sheet.window())
    action.setShortcut("Up")
    action.triggered.connect(lambda: pressed.append("Up"))
    sheet.window().addAction(action)
    sheet.levels.gain.setFocus()
    qtbot.keyClick(sheet.levels.gain.edit, Qt.Key.Key_Up)
    assert (pressed, now(bench).sound.gain_db) == ([], 0.5)


REFUSALS = {
    "longer than its footage": (
        "footage.length",
        "0:04:00",
        "There are 24 frames too few after the tail of clip 1 in scene 1. Extend it by 24 frames at most.",
    ),
    "out beyond its footage": (
        "footage.out_point",
        "00:00:05:02",
        "There are 2 frames too few after the tail of clip 1 in scene 1. Extend it by 24 frames at most.",
    ),
    "in before its footage": (
        "footage.in_point",
        "-50",
        "There are 2 frames too few before the head of clip 1 in scene 1. Extend it by 48 frames at most.",
    ),
    "nothing left": (
        "footage.in_point",
        "00:00:04:00",
        "Clip 1 in scene 1 has 48 frames, so 48 can't be trimmed off. Trim 47 frames at most, or remove it.",
    ),
    "backwards": (
        "footage.speed",
        "-1",
        "Clip 1 in scene 1 can't run backwards: pictures and sound are read forwards from the in point on. "
        "Choose a speed above 0, or make a reversed copy of the footage and use that.",
    ),
    "no speed": ("footage.speed", "fast", "“fast” is not a speed. Write it as 1/2, 0.5 or 50 %."),
    "a fade longer than its sound": (
        "levels.fade_in",
        "49",
        "A fade in of 49 frames is longer than the sound of clip 1 in scene 1. Make it 48 frames or shorter.",
    ),
    "a lag beyond its sound": (
        "sound.lag",
        "30",
        "There are 6 frames too few of sound after clip 1 in scene 1. Move it by 24 frames at most.",
    ),
}


@pytest.mark.parametrize(("name", "text", "told"), REFUSALS.values(), ids=REFUSALS)
def test_a_refusal_stands_at_its_field_which_keeps_the_text(sheet, bench, qtbot, name, text, told):
    part, _, field_name = name.partition(".")
    field = getattr(getattr(sheet, part), field_name)
    heard, film, held = notices(bench), bench.session.film, field.edit.text()
    put(qtbot, field, text)
    assert field.fault.isVisible()
    assert field.fault.text() == told
    assert field.edit.text() == text
    assert bench.session.film is film
    assert heard == []
    qtbot.keyClick(field.edit, Qt.Key.Key_Escape)
    assert (field.edit.text(), field.fault.text()) == (held, "")


def test_a_speed_that_keeps_the_length_says_how_many_frames_are_too_few(sheet, bench, qtbot):
    keeps = sheet.footage.keeps
    keeps.setCurrentIndex(1)
    keeps.activated.emit(1)
    # 48 film frames at twice the speed take 4 s of the 3 s that are left.
    put(qtbot, sheet.footage.speed, "2")
    assert sheet.footage.speed.fault.text() == (
        "The footage of clip 1 in scene 1 is 12 frames too short for that speed. Trim the clip to 36 frames "
        "first, or let it show the same stretch of its footage."
    )
    put(qtbot, sheet.footage.speed, "1.5")
    assert (now(bench).speed, now(bench).length_frames) == (Fraction(3, 2), 48)


def test_every_frame_says_what_it_would_be(sheet, bench, qtbot):
    bench.media.now(**{"footage/1/quay.mov": facts(5, rate=Rate(60))})
    button = sheet.footage.every_frame
    assert button.text() == "Every frame: 2/5"
    assert sheet.footage.pace.text() == "frames left out"
    is_done_undone_and_redone(bench, button.click)
    assert now(bench).speed == Fraction(2, 5)
    assert sheet.footage.pace.text() == "every frame"
    assert not button.isEnabled()
    bench.media.now(**{"footage/1/quay.mov": facts(5, rate=Rate(60), variable=True)})
    assert "not evenly spaced" in button.toolTip()


def test_labels_that_the_camera_gave(sheet, bench, qtbot):
    known = dataclasses.replace(facts(5), timecode="10:00:00:00")
    bench.media.now(**{"footage/1/quay.mov": known})
    assert sheet.footage.in_point.edit.text() == "10:00:02:00"
    put(qtbot, sheet.footage.in_point, "10:00:02:12")
    assert now(bench).in_seconds == Fraction(5, 2)
    put(qtbot, sheet.footage.in_point, "00:00:02:00")
    assert sheet.footage.in_point.fault.text() == "Its footage begins at 10:00:00:00, after 00:00:02:00."


@pytest.mark.parametrize("source_rate", [Rate(25), Rate(30000, 1001), Rate(50), Rate(60)])
def test_an_in_point_shows_the_label_that_was_typed(make_bench, qtbot, source_rate):
    known = {path: facts(30, rate=source_rate) for path in paths(FILM)}
    bench = with_media(make_bench(FILM), known)
    sheet = open_clip_sheet(qtbot, bench, "s1", ["c1"])
    put(qtbot, sheet.footage.in_point, "00:00:01:00")
    assert sheet.footage.in_point.edit.text() == "00:00:01:00"
    # From 48 film frames after 2 s to them after 1 s, to within one.
    assert now(bench).length_frames in (71, 72, 73)


def test_footage_that_is_missing_is_not_said_to_be_read_later(make_bench, qtbot):
    bench = with_media(make_bench(FILM), dict.fromkeys(paths(FILM), MISSING))
    sheet = open_clip_sheet(qtbot, bench, "s1", ["c1"])
    assert sheet.footage.handles.text() == "48 before, after not known"


def test_footage_that_is_not_read_yet_is_counted_in_seconds(make_bench, qtbot):
    bench = with_media(make_bench(FILM), {})
    sheet = open_clip_sheet(qtbot, bench, "s1", ["c1"])
    assert sheet.footage.in_point.edit.text() == "2.000 s"
    assert sheet.footage.handles.text() == "48 before, after not read yet"
    assert not sheet.footage.every_frame.isEnabled()
    put(qtbot, sheet.footage.in_point, "2.5")
    assert now(bench).in_seconds == Fraction(5, 2)
    put(qtbot, sheet.footage.in_point, "soon")
    assert sheet.footage.in_point.fault.text().startswith("“soon” is not a place.")


def test_black_before_a_clip_is_changed_and_closed(sheet, bench, qtbot):
    assert not sheet.footage.black.isVisible()
    bench.session.do(lambda film: edits.set_gap(film, "s1", "c1", 12))
    assert sheet.footage.black.edit.text() == "0:00:12"
    is_done_undone_and_redone(bench, lambda: put(qtbot, sheet.footage.black, "6"))
    assert now(bench).gap_frames == 6
    put(qtbot, sheet.footage.black, "0")
    assert now(bench).gap_frames == 0
    assert not sheet.footage.black.isVisible()


def test_footage_without_sound_says_so(sheet, bench):
    assert not sheet.sound.lacking.isVisible()
    bench.media.now(**{"footage/1/quay.mov": facts(5, sound=None)})
    assert sheet.sound.lacking.text() == "Its footage has no sound."
    bench.session.do(lambda film: edits.edit_clip_sound(film, "s1", ["c1"], kind=SoundKind.SILENCE))
    assert not sheet.sound.lacking.isVisible()


def test_back_to_whole(sheet, bench, qtbot):
    assert not sheet.framing.back.isEnabled()
    bench.session.do(lambda film: edits.edit_clips(film, "s1", ["c1"], framing=Framing(scale=2, x=0.3)))
    is_done_undone_and_redone(bench, sheet.framing.back.click)
    assert now(bench).framing == Framing()


@pytest.mark.parametrize("size", [(1280, 720), (1920, 1080), (960, 540), (1440, 1920)])
@pytest.mark.parametrize(
    "framing", [Framing(), Framing(fit=Fit.FILL), Framing(scale=1.8), Framing(scale=0.3)]
)
def test_the_enlargement_told_is_the_one_that_is_rendered(size, framing):
    clip = dataclasses.replace(FILM.scene("s1").content.clips[0], framing=framing)
    width, height = size
    factor = most_enlarged([clip], {clip.source: facts(width=width, height=height)}, Size(1920, 1080))
    placed = place(framing, (Fraction(width), Fraction(height)), Size(1920, 1080))
    # Sizes are rounded to even pixels when they are rendered.
    assert abs(factor * width - placed.scaled.width) <= 1
    percent = int(factor * 100 + Fraction(1, 2))
    words, kind = enlargement_words(factor)
    assert f"{percent} % of its own pixels" in words
    assert (kind == "open") == (factor > 1)
    assert ("soft" in words) == (factor > 1)


def test_the_enlargement_follows_the_scale(sheet, qtbot):
    put(qtbot, sheet.framing.scale, "135")
    assert sheet.framing.enlarged.text() == "Enlarged to 135 % of its own pixels: it will look soft."
    assert sheet.framing.enlarged.property("kind") == "open"


def test_a_separate_recording_is_chosen(sheet, bench, qtbot):
    folder = bench.session.folder / "sound"
    folder.mkdir()
    (folder / "boom.wav").write_bytes(b"x")

    def chosen() -> None:
        sheet.sound.kind.activated.emit(2)
        assert sheet.sound.kind.currentIndex() == 0
        (dialog,) = sheet.sound.findChildren(QFileDialog)
        dialog.fileSelected.emit(str(folder / "boom.wav"))
        dialog.close()

    is_done_undone_and_redone(bench, chosen)
    assert (now(bench).sound.kind, now(bench).sound.file) == (SoundKind.SEPARATE, "sound/boom.wav")
    assert sheet.sound.recording.name.text() == "boom.wav"
    assert sheet.sound.offset.isVisible()
    is_done_undone_and_redone(bench, lambda: put(qtbot, sheet.sound.offset, "12.345678"))
    assert now(bench).sound.offset_seconds == Fraction(12345678, 1_000_000)
    assert sheet.sound.offset.edit.text() == "12.3457 s"
    put(qtbot, sheet.sound.offset, "-1 f")
    assert now(bench).sound.offset_seconds == Fraction(12345678, 1_000_000) - Fraction(1, 24)
    put(qtbot, sheet.sound.offset, "-2")
    assert now(bench).sound.offset_seconds == -2


def test_a_drag_is_shown_while_it_lasts(sheet, bench):
    bench.cut.attempt(lambda film: edits.trim_tail(film, "s1", "c1", 12))
    assert sheet.footage.length.edit.text() == "0:01:12"
    bench.cut.give_up()
    assert sheet.footage.length.edit.text() == "0:02:00"


def test_an_echo_does_not_disturb_what_is_being_typed(sheet, bench, qtbot):
    field = sheet.footage.length
    field.setFocus()
    field.edit.selectAll()
    qtbot.keyClicks(field.edit, "0:0")
    bench.session.do(lambda film: edits.edit_clips(film, "s1", ["c1"], note="From elsewhere."))
    assert field.edit.text() == "0:0"
    assert sheet.words.note.edit.toPlainText() == "From elsewhere."


def test_what_was_typed_is_taken_when_something_else_is_selected(sheet, bench, qtbot):
    field = sheet.footage.length
    field.setFocus()
    field.edit.selectAll()
    qtbot.keyClicks(field.edit, "30")
    bench.cut.select(["c2"])
    assert now(bench).length_frames == 30
    assert sheet.title.text() == "CLIP 2 OF 2"
    assert field.edit.text() == "0:03:00"


def test_a_clip_that_goes_away_takes_its_sheet_along(sheet, bench, qtbot):
    sheet.footage.length.setFocus()
    qtbot.keyClicks(sheet.footage.length.edit, "9")
    bench.session.do(lambda film: edits.remove_clips(film, "s1", ["c1"]))
    assert sheet.title.text() == "SCENE 1"
    bench.session.do(lambda film: edits.delete_entry(film, "s1"))
    assert sheet.title.text() == "NO SCENE"


def test_the_folder_of_a_file_is_opened_or_told_to_be_missing(sheet, bench, monkeypatch):
    heard = notices(bench)
    asked: list[QUrl] = []
    monkeypatch.setattr(QDesktopServices, "openUrl", asked.append)
    sheet.footage.source.reveal.click()
    assert heard == ["The folder of “quay.mov” is missing. Is its disk there?"]
    folder = bench.session.folder / "footage" / "1"
    folder.mkdir(parents=True)
    sheet.footage.source.reveal.click()
    assert asked == [QUrl.fromLocalFile(str(folder))]


def test_a_locked_scene_is_read_only_and_says_so(make_bench, qtbot):
    bench = with_media(make_bench(locked(FILM, "s1")), dict(FIVE_SECONDS))
    sheet = open_clip_sheet(qtbot, bench, "s1", ["c1"])
    assert sheet.why.text() == "Scene 1 is locked. Unlock it to change it."
    for field in (sheet.footage.in_point, sheet.footage.speed, sheet.framing.scale, sheet.levels.gain):
        assert field.edit.isReadOnly()
        assert field.edit.toolTip() == sheet.why.text()
    for widget in (sheet.footage.every_frame, sheet.framing.frame, sheet.framing.fit, sheet.sound.kind):
        assert not widget.isEnabled()
    film = bench.session.film
    qtbot.keyClicks(sheet.footage.length.edit, "3")
    qtbot.keyClick(sheet.footage.length.edit, Qt.Key.Key_Up)
    assert bench.session.film is film
    bench.session.do(lambda now: edits.unlock(now, "s1", date="2026-11-25"))
    assert not sheet.why.isVisible()
    assert not sheet.footage.in_point.edit.isReadOnly()
