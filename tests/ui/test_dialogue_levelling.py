"""Levelling a scene and the film: what would change is shown first, then it is one step."""

import dataclasses

import numpy as np
import pyloudnorm
import pytest

from desk.film import edits
from desk.film.locking import Part
from desk.film.model import Candidate, Clip, ClipSound, Cue, SceneContent, SoundKind
from desk.film.rates import SAMPLE_RATE_HZ
from desk.sound.levelling import PEAK_CEILING_DBTP
from desk.sound.streaming import stream, track_of_scene
from desk.ui.scene.dialogue import DialogueBody
from desk.ui.scene.voices.level_dialog import LevelDialog
from desk.ui.scene.voices.level_lines import LineKind
from tests.film.films import locked_media
from tests.ui.scene_sheets import is_done_undone_and_redone, name_of, open_sheet
from tests.ui.spoken import FRAMES, RATE, put_sounds, says, spoken_film, spoken_sounds
from tests.ui.viewing import wait_for_media

pytestmark = pytest.mark.ffmpeg

CLIPS = (says("c1", "loud.wav", "v1", -3.0), says("c2", "soft.wav", "v2"), says("c3", "room.wav", "v1"))
SILENT = Clip(id="c7", source="picture.mov", length_frames=FRAMES, sound=ClipSound(kind=SoundKind.SILENCE))
UNDER = Cue(
    id="m1",
    label="m1",
    length_frames=150,
    candidates=(Candidate(id="a1", file="music.wav", under_voices_lu=10.0),),
    chosen="a1",
)
BY_EAR = dataclasses.replace(
    UNDER, id="m2", label="m2", candidates=(Candidate(id="a2", file="music.wav"),), chosen="a2"
)


@pytest.fixture(scope="session")
def sounds(tmp_path_factory):
    return spoken_sounds(tmp_path_factory)


@pytest.fixture
def open_bench(make_bench, sounds, tmp_path, qtbot):
    def open_it(*contents):
        bench = make_bench(spoken_film(*contents), put_sounds(sounds, tmp_path / "film"))
        wait_for_media(bench, qtbot)
        return bench

    return open_it


@pytest.fixture
def open_dialog(qtbot):
    def open_it(bench, scene_id=""):
        dialog = LevelDialog(bench, scene_id)
        qtbot.addWidget(dialog)
        dialog.show()
        return dialog

    return open_it


def wait_until_shown(dialog, qtbot):
    qtbot.waitUntil(lambda: not dialog.is_measuring and not dialog.stop_button.isVisible(), timeout=20_000)


def lines(dialog):
    return {line.name: line for line in dialog.list.levels.lines}


def gains(bench, scene="s1"):
    return [clip.sound.gain_db for clip in bench.session.film.scene(scene).content.clips]


def test_a_scene_is_shown_first_and_then_levelled_in_one_step(open_bench, open_dialog, qtbot):
    bench = open_bench(SceneContent(clips=CLIPS, cues=(UNDER, BY_EAR)))
    dialog = open_dialog(bench, "s1")
    assert dialog.windowTitle() == "Level scene 1"
    wait_until_shown(dialog, qtbot)
    assert bench.session.stack.count() == 0
    assert dialog.words.text() == "These gains bring the speech of scene 1 to −23.0 LUFS."
    shown = lines(dialog)
    first = shown["1  picture.mov, Ada"]
    assert first.gain.startswith("−3 dB → ")
    assert first.level.endswith("→ −23.0 LUFS")
    silent = shown["3  picture.mov, Ada"]
    assert (silent.gain, silent.told) == ("0 dB, stays", "No speech was found, so its gain stays.")
    assert shown["Music m1"].level.endswith("→ 10.0 LU below")
    assert shown["Music m2"].told == "Its gain was set by ear, so it stays."
    is_done_undone_and_redone(bench, dialog.take_button.click)
    assert not dialog.isVisible()
    content = bench.session.film.scene("s1").content
    assert content.voices_levelled
    assert gains(bench)[2] == 0.0
    # A second opinion of BS.1770: each clip's words as they are heard now.
    alone = dataclasses.replace(content, cues=())
    files = {path: bench.session.folder / path for path in bench.media.facts}
    heard = np.concatenate(list(stream(track_of_scene(alone, RATE), files, bench.media.facts)))
    meter = pyloudnorm.Meter(SAMPLE_RATE_HZ)
    for start in (0, 3):
        words = heard[round((start + 0.5) * SAMPLE_RATE_HZ) : round((start + 2.5) * SAMPLE_RATE_HZ)]
        assert meter.integrated_loudness(words.astype(np.float64)) == pytest.approx(-23, abs=0.5)


def test_clips_in_which_nobody_speaks_stay_and_take_no_room_in_the_film(open_bench, open_dialog, qtbot):
    bench = open_bench(SceneContent(clips=(*CLIPS[:2], says("c9", "room.wav"))))
    dialog = open_dialog(bench, "s1")
    wait_until_shown(dialog, qtbot)
    line = lines(dialog)["3  picture.mov"]
    assert (line.gain, line.told) == ("0 dB, stays", "Nobody is said to speak in it.")
    of_film = open_dialog(bench)
    wait_until_shown(of_film, qtbot)
    assert "3  picture.mov" not in lines(of_film)


def test_what_would_clip_is_told(open_bench, open_dialog, qtbot):
    bench = open_bench(SceneContent(clips=(says("c1", "loud.wav", "v1"),), voices_offset_lu=20.0))
    dialog = open_dialog(bench, "s1")
    wait_until_shown(dialog, qtbot)
    (line,) = lines(dialog).values()
    assert f"above −{-PEAK_CEILING_DBTP:g} dBTP" in line.told.replace("-", "−")
    dialog.list.selectRow(0)
    assert dialog.detail.text() == line.told
    assert dialog.detail.isVisible()


def test_a_scene_that_is_level_is_called_so(open_bench, open_dialog, qtbot):
    bench = open_bench(SceneContent(clips=CLIPS))
    dialog = open_dialog(bench, "s1")
    wait_until_shown(dialog, qtbot)
    dialog.take()
    bench.session.do(lambda film: edits.set_voices_levelled(film, "s1", False))
    again = open_dialog(bench, "s1")
    wait_until_shown(again, qtbot)
    assert "is level already" in again.words.text()
    assert again.take_button.text() == "Call them level"
    is_done_undone_and_redone(bench, again.take_button.click)
    assert bench.session.film.scene("s1").content.voices_levelled
    done = open_dialog(bench, "s1")
    wait_until_shown(done, qtbot)
    assert not done.take_button.isEnabled()


def test_without_speech_there_is_nothing_to_do(open_bench, open_dialog, qtbot):
    bench = open_bench(SceneContent(clips=(says("c1", "room.wav"),)))
    dialog = open_dialog(bench, "s1")
    wait_until_shown(dialog, qtbot)
    assert dialog.words.text() == "No speech was found in scene 1, so there is nothing to level."
    assert not dialog.take_button.isEnabled()


def test_a_locked_scene_is_shown_and_not_changed(open_bench, open_dialog, qtbot):
    content = SceneContent(clips=CLIPS)
    bench = open_bench(content)
    bench.session.apply(edits.lock(bench.session.film, "s1", "2026-03-01", locked_media(content), "trial"))
    dialog = open_dialog(bench, "s1")
    wait_until_shown(dialog, qtbot)
    assert "Scene 1 is locked." in dialog.words.text()
    assert not dialog.take_button.isEnabled()


def test_it_follows_the_film_while_it_is_open(open_bench, open_dialog, qtbot):
    bench = open_bench(SceneContent(clips=CLIPS[:1]))
    dialog = open_dialog(bench, "s1")
    wait_until_shown(dialog, qtbot)
    bench.session.do(lambda film: edits.edit_clip_sound(film, "s1", ["c1"], gain_db=6.0))
    assert not dialog.take_button.isEnabled()
    wait_until_shown(dialog, qtbot)
    assert lines(dialog)["1  picture.mov, Ada"].gain.startswith("+6 dB → ")
    bench.session.stack.undo()
    wait_until_shown(dialog, qtbot)
    assert lines(dialog)["1  picture.mov, Ada"].gain.startswith("−3 dB → ")


def test_a_film_for_reading_only_shows_it_and_takes_nothing(open_bench, open_dialog, qtbot):
    bench = open_bench(SceneContent(clips=CLIPS))
    bench.session.read_only = "It is open elsewhere."
    dialog = open_dialog(bench, "s1")
    wait_until_shown(dialog, qtbot)
    assert not dialog.take_button.isEnabled()
    assert dialog.take_button.toolTip() == "It is open elsewhere."


def film_of_four(open_bench):
    """Scene 1 and 4 drafts with speech, 2 locked, 3 without speech."""
    locked = SceneContent(clips=(says("c4", "loud.wav"),))
    bench = open_bench(
        SceneContent(clips=CLIPS[:1]),
        locked,
        SceneContent(clips=(says("c5", "room.wav"), SILENT)),
        SceneContent(clips=(says("c6", "soft.wav"),)),
    )
    bench.session.apply(edits.lock(bench.session.film, "s2", "2026-03-01", locked_media(locked), "trial"))
    return bench


def test_the_film_is_levelled_in_one_step_and_what_is_left_out_is_told(open_bench, open_dialog, qtbot):
    bench = film_of_four(open_bench)
    dialog = open_dialog(bench)
    assert dialog.windowTitle() == "Level the film"
    assert name_of(dialog.progress) == "How far measuring is"
    wait_until_shown(dialog, qtbot)
    assert dialog.words.text() == "2 gains in 2 scenes would change. 2 scenes are left out."
    shown = dialog.list.levels.lines
    assert [line.name for line in shown if line.kind is LineKind.SCENE] == ["Scene 1", "Scene 4", "Left out"]
    assert [(line.name, line.told) for line in shown if line.kind is LineKind.LEFT] == [
        ("Scene 2", "Locked. Unlock it to level it."),
        ("Scene 3", "No speech was found."),
    ]
    before = gains(bench, "s2")
    is_done_undone_and_redone(bench, dialog.take_button.click)
    film = bench.session.film
    assert [scene.content.voices_levelled for scene in film.scenes] == [True, False, False, True]
    assert gains(bench, "s2") == before
    assert gains(bench, "s4")[0] > 3
    again = open_dialog(bench)
    wait_until_shown(again, qtbot)
    assert again.words.text() == "Nothing is to be changed: all drafts with speech are level."
    assert not again.take_button.isEnabled()


def test_drafts_that_are_level_already_are_called_so_with_the_film(open_bench, open_dialog, qtbot):
    bench = film_of_four(open_bench)
    dialog = open_dialog(bench)
    wait_until_shown(dialog, qtbot)
    dialog.take()
    for scene in ("s1", "s4"):
        bench.session.do(lambda film, scene=scene: edits.set_voices_levelled(film, scene, False))
    again = open_dialog(bench)
    wait_until_shown(again, qtbot)
    told = "2 scenes are level already and are only called so. 2 scenes are left out."
    assert again.words.text() == told
    assert again.take_button.text() == "Call them level"
    shown = again.list.levels.lines
    assert [(line.name, line.told) for line in shown if line.kind is LineKind.SCENE] == [
        ("Scene 1", "Level already: it is only called so."),
        ("Scene 4", "Level already: it is only called so."),
        ("Left out", ""),
    ]
    # One that is level beside one that is not: both in the same step.
    bench.session.do(lambda film: edits.edit_clip_sound(film, "s4", ["c6"], gain_db=0.0))
    told = (
        "1 gain in 1 scene would change. 1 scene is level already and is only called so. "
        "2 scenes are left out."
    )
    qtbot.waitUntil(lambda: again.words.text() == told, timeout=20_000)
    assert again.take_button.text() == "Take these gains"
    is_done_undone_and_redone(bench, again.take_button.click)
    film = bench.session.film
    assert [scene.content.voices_levelled for scene in film.scenes] == [True, False, False, True]


def test_measuring_the_film_can_be_stopped_and_begun_again(open_bench, open_dialog, qtbot):
    bench = film_of_four(open_bench)
    dialog = open_dialog(bench)
    dialog.stop_button.click()
    wait_until_shown(dialog, qtbot)
    assert dialog.words.text() == "Stopped. What was measured by then is kept."
    assert not dialog.take_button.isEnabled()
    dialog.again_button.click()
    wait_until_shown(dialog, qtbot)
    assert dialog.take_button.isEnabled()


def test_closing_it_while_it_measures_leaves_nothing_behind(open_bench, open_dialog, qtbot):
    bench = film_of_four(open_bench)
    dialog = open_dialog(bench)
    dialog.close()
    qtbot.waitUntil(lambda: not bench.jobs.jobs, timeout=20_000)
    assert dialog.list.levels.lines == ()


def test_the_part_opens_both_and_shows_what_came_of_it(open_bench, qtbot):
    bench = open_bench(SceneContent(clips=CLIPS))
    body = DialogueBody(bench)
    qtbot.addWidget(body)
    bench.session.changed.connect(lambda film, _: body.show_scene(film.scene("s1")))
    body.show_scene(bench.session.film.scene("s1"))
    body.show()
    body.level_scene.click()
    dialog = body.dialog
    assert isinstance(dialog, LevelDialog)
    wait_until_shown(dialog, qtbot)
    dialog.take_button.click()
    assert body.dialog is None
    assert body.levelled.isChecked()
    assert [abs(row.away_lu) < 0.06 for row in body.table.voices.rows[:2]] == [True, True]
    bench.session.stack.undo()
    assert not body.levelled.isChecked()
    assert abs(body.table.voices.rows[1].away_lu) > 3
    body.level_film.click()
    assert body.dialog.windowTitle() == "Level the film"
    body.speaker.all_button.click()
    assert body.dialog.windowTitle() == "Voices of the film"
    body.dialog.reject()


def test_both_are_reached_from_the_sheet_of_a_scene_whose_part_is_folded(open_bench, qtbot):
    bench = open_bench(SceneContent(clips=CLIPS))
    sheet = open_sheet(qtbot, bench, "s1")
    sheet.frames[Part.DIALOGUE].set_unfolded(False)
    sheet.level()
    assert sheet.frames[Part.DIALOGUE].is_unfolded
    wait_until_shown(sheet.dialogue.dialog, qtbot)
    assert sheet.dialogue.dialog.windowTitle() == "Level scene 1"
    assert sheet.dialogue.dialog.take_button.isEnabled()
    sheet.level_film()
    wait_until_shown(sheet.dialogue.dialog, qtbot)
    assert sheet.dialogue.dialog.windowTitle() == "Level the film"
    sheet.dialogue.dialog.reject()
