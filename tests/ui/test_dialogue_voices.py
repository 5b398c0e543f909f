"""Voices and what is done to them: chains, listening with and without, names; each edit done and undone."""

import dataclasses
from itertools import pairwise

import numpy as np
import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from desk.film import edits
from desk.film.locking import Part
from desk.film.model import Band, Compression, SceneContent, Voice, VoiceChain
from desk.sound.chain import presets
from desk.ui.scene.voices.curve import curve_words
from desk.ui.scene.voices.voices_dialog import VoicesDialog
from desk.ui.viewer.player import Player
from tests.film.films import locked_media
from tests.ui.scene_sheets import is_done_undone_and_redone, name_of, open_sheet, tab_through, unfold
from tests.ui.spoken import FRAMES, music, put_sounds, says, spoken_film, spoken_sounds
from tests.ui.viewing import Device, SteppedClock, wait_for_media

pytestmark = pytest.mark.ffmpeg

CLIPS = (says("c1", "loud.wav", "v1"), says("c2", "soft.wav", "v2"), says("c3", "noisy.wav", "v1"))
BOOMY = presets()[1].chain("v1")


@pytest.fixture(scope="session")
def sounds(tmp_path_factory):
    return spoken_sounds(tmp_path_factory)


@pytest.fixture
def open_bench(make_bench, sounds, tmp_path, qtbot):
    def open_it(*contents):
        bench = make_bench(spoken_film(*contents), put_sounds(sounds, tmp_path / "film"))
        if contents[0].clips:
            wait_for_media(bench, qtbot)
        return bench

    return open_it


@pytest.fixture
def open_part(open_bench, qtbot):
    def open_it(*contents):
        bench = open_bench(*contents)
        sheet = open_sheet(qtbot, bench, "s1")
        for part, frame in sheet.frames.items():
            frame.set_unfolded(part is Part.DIALOGUE)
        return sheet.frames[Part.DIALOGUE].body

    return open_it


def content(body, scene="s1"):
    return body.bench.session.film.scene(scene).content


def chain(body, voice="v1", scene="s1"):
    chains = content(body, scene).voice_chains
    return next((item for item in chains if item.voice == voice), VoiceChain(voice=voice))


def type_into(field, text):
    field.edit.setText(text)
    field.edit.textEdited.emit(text)
    field.edit.editingFinished.emit()


def test_a_chain_is_set_field_by_field(open_part):
    body = open_part(SceneContent(clips=CLIPS))
    panel, bench = body.voice.chain, body.bench
    assert panel.voice == "v1"
    assert panel.preset.currentText() == "nothing"
    is_done_undone_and_redone(bench, lambda: type_into(panel.low_cut, "120"))
    assert chain(body).low_cut_hz == 120
    is_done_undone_and_redone(bench, panel.bands.add_button.click)
    assert chain(body).bands == (Band(frequency_hz=1000.0, gain_db=0.0),)
    first = panel.bands.rows[0]
    assert first.frequency.isVisible()
    is_done_undone_and_redone(bench, lambda: type_into(first.frequency, "2500"))
    is_done_undone_and_redone(bench, lambda: type_into(first.gain, "−4.5"))
    is_done_undone_and_redone(bench, lambda: type_into(first.q, "2"))
    assert chain(body).bands == (Band(frequency_hz=2500.0, gain_db=-4.5, q=2.0),)
    is_done_undone_and_redone(bench, panel.compression.buttons[2].click)
    assert chain(body).compression is Compression.FIRM
    assert "a quarter" in panel.compressed.text()
    assert panel.preset.currentText() == "own settings"
    assert panel.curve.accessibleName() == "Response: low cut at 120 Hz, −4.5 dB at 2,500 Hz"
    is_done_undone_and_redone(bench, panel.on.click)
    assert not chain(body).on
    for _ in range(2):
        panel.bands.add_button.click()
    assert not panel.bands.add_button.isVisible()
    assert len(chain(body).bands) == 3
    is_done_undone_and_redone(bench, panel.bands.rows[0].remove.click)
    assert [band.frequency_hz for band in chain(body).bands] == [1000, 1000]
    assert not panel.bands.rows[2].frequency.isVisible()


def test_what_is_not_allowed_is_said_beside_the_field(open_part):
    body = open_part(SceneContent(clips=CLIPS, voice_chains=(BOOMY,)))
    panel = body.voice.chain
    type_into(panel.low_cut, "900")
    assert "20 to 400 Hz" in panel.low_cut.fault.text()
    type_into(panel.bands.rows[0].gain, "99")
    assert panel.bands.rows[0].gain.fault.isVisible()
    assert chain(body) == BOOMY


def test_arrow_keys_step_and_are_one_step_of_undoing(open_part):
    body = open_part(SceneContent(clips=CLIPS, voice_chains=(BOOMY,)))
    gain = body.voice.chain.bands.rows[0].gain
    gain.setFocus()
    for _ in range(3):
        QTest.keyClick(gain.edit, Qt.Key.Key_Up)
    assert chain(body).bands[0].gain_db == -3.5
    assert body.bench.session.stack.count() == 1


def test_every_preset_says_what_it_is_for(open_part):
    body = open_part(SceneContent(clips=CLIPS))
    panel = body.voice.chain
    for preset in presets():
        panel.preset.picked.emit(preset.name)
        assert chain(body) == preset.chain("v1")
        assert panel.told.text() == preset.told
        assert panel.preset.currentText() == preset.name
    panel.preset.picked.emit("nothing")
    assert content(body).voice_chains == ()


def test_each_voice_has_its_own(open_part):
    body = open_part(SceneContent(clips=CLIPS, voice_chains=(BOOMY,)))
    section = body.voice
    assert [section.pick.itemText(at) for at in range(section.pick.count())] == ["Ada", "Ben"]
    body.table.select(["c2"])
    assert section.voice == "v2"
    assert section.chain.low_cut.edit.text() == "0"
    type_into(section.chain.low_cut, "70")
    assert chain(body, "v2").low_cut_hz == 70
    assert chain(body, "v1") == BOOMY
    section.choose("v1")
    assert section.chain.low_cut.edit.text() == "100"


def test_the_same_in_all_drafts(open_part):
    other, locked = (
        SceneContent(clips=(says("c8", "loud.wav", "v1"),)),
        SceneContent(clips=(says("c9", "loud.wav", "v1"),)),
    )
    body = open_part(SceneContent(clips=CLIPS, voice_chains=(BOOMY,)), other, locked)
    session = body.bench.session
    session.apply(edits.lock(session.film, "s3", "2026-03-01", locked_media(locked), "trial"))
    is_done_undone_and_redone(body.bench, body.voice.chain.everywhere.click)
    assert chain(body, scene="s2") == BOOMY
    assert chain(body, scene="s3") == VoiceChain(voice="v1")
    body.voice.choose("v2")
    body.voice.chain.everywhere.click()
    assert "speaks in no other draft" in body.voice.chain.fault.text()


def test_scenes_where_nobody_is_said_to_speak(open_part):
    body = open_part(SceneContent(clips=(says("c1", "loud.wav"),)))
    assert body.voice.empty.isVisible()
    assert not body.voice.chain.isVisible()
    body.bench.session.do(lambda film: edits.set_voice(film, "s1", ["c1"], "v2"))
    assert body.voice.voice == "v2"
    assert body.voice.chain.isVisible()


def test_what_the_curve_says_in_words():
    assert curve_words(VoiceChain(voice="")) == "Response: flat"


def test_the_keyboard_goes_down_the_page_and_everything_has_a_name(open_part):
    body = open_part(SceneContent(clips=CLIPS, voice_chains=(BOOMY,)))
    body.table.select(["c1"])
    QApplication.processEvents()
    stops = [stop for stop in tab_through(body.window()) if body.isAncestorOf(stop)]
    assert len(stops) > 18
    assert [stop for stop in stops if not name_of(stop)] == []
    centres = [stop.mapTo(body, stop.rect().center()) for stop in stops]
    for before, after in pairwise(centres):
        # Down the page, or to the right in a line.
        assert after.y() > before.y() + 12 or (abs(after.y() - before.y()) <= 12 and after.x() > before.x())


# -- listening


@pytest.fixture
def playing(open_bench, qtbot):
    """The part with a player whose sound can be looked into."""
    from desk.ui.scene.dialogue import DialogueBody

    clock = SteppedClock()
    device = Device(clock)
    made = []

    def make(*contents):
        bench = open_bench(*contents)
        bench.cut.open("s1")
        player = Player(bench, make_output=lambda _: device, now=clock)
        body = DialogueBody(bench)
        qtbot.addWidget(body)
        body.attach(player)
        bench.session.changed.connect(lambda film, _: body.show_scene(film.scene("s1")))
        body.show_scene(bench.session.film.scene("s1"))
        body.show()
        made.append(player)
        return body, player

    yield make, device, clock
    for player in made:
        player.close()
        player.deleteLater()


def test_a_voice_is_listened_to_at_the_playhead_with_and_without_its_chain(playing, qtbot):
    make, device, _clock = playing
    dull = dataclasses.replace(BOOMY, low_cut_hz=400.0)
    body, player = make(SceneContent(clips=CLIPS, voice_chains=(dull,), cues=(music(duck=None),)))
    panel = body.voice.chain
    body.bench.cut.go_to(2 * FRAMES + 60)
    panel.listen.click()
    qtbot.waitUntil(lambda: len(device.given) > 0, timeout=20_000)
    assert player.is_playing
    assert panel.listen.text() == "Stop listening"
    with_it = device.samples[:4800].copy()
    # Two seconds before the playhead, within the clip.
    assert player.frame == 2 * FRAMES + 10
    starts = device.starts
    panel.plain.click()
    assert player.plain_voice == "v1"
    qtbot.waitUntil(lambda: device.starts > starts and len(device.given) > 0, timeout=20_000)
    assert player.is_playing
    assert panel.listen.text() == "Stop listening"
    assert np.abs(device.samples[:4800] - with_it).max() > 1e-3
    assert body.bench.session.stack.count() == 0
    panel.listen.click()
    assert not player.is_playing
    assert panel.listen.text() == "Listen to this voice"
    assert panel.plain.isChecked()
    # Who leaves the part hears all as it is again.
    body.hide()
    assert player.plain_voice == ""


def test_a_chain_is_heard_at_once_while_it_plays(playing, qtbot):
    make, device, _clock = playing
    body, player = make(SceneContent(clips=CLIPS))
    body.voice.chain.listen.click()
    qtbot.waitUntil(lambda: len(device.given) > 0, timeout=20_000)
    plain, starts = device.samples[:4800].copy(), device.starts
    type_into(body.voice.chain.low_cut, "400")
    qtbot.waitUntil(lambda: device.starts > starts and len(device.given) > 0, timeout=20_000)
    assert player.is_playing
    assert body.voice.chain.listen.text() == "Stop listening"
    assert np.abs(device.samples[:4800] - plain).max() > 1e-5
    player.pause()


def test_the_first_clip_of_a_voice_is_played_where_the_playhead_is_elsewhere(playing, qtbot):
    make, device, _clock = playing
    body, player = make(SceneContent(clips=CLIPS))
    body.voice.choose("v2")
    body.voice.chain.listen.click()
    qtbot.waitUntil(lambda: len(device.given) > 0, timeout=20_000)
    assert player.playing.is_on
    body.bench.session.do(lambda film: edits.set_voice(film, "s1", ["c2"], "v1"))
    player.pause()
    assert body.voice.voice == "v1"


# -- names


@pytest.fixture
def dialog(open_bench, qtbot):
    bench = open_bench(
        SceneContent(clips=CLIPS), SceneContent(clips=(says("c8", "loud.wav", "v1"),), voice_chains=(BOOMY,))
    )
    made = VoicesDialog(bench)
    qtbot.addWidget(made)
    made.show()
    return bench, made


def test_voices_are_told_with_how_often_they_speak(dialog):
    bench, made = dialog
    assert made.rows["v1"].used.text() == "in 2 scenes"
    assert made.rows["v2"].used.text() == "in 1 scene"
    made.new_name.edit.setText("Carla")
    is_done_undone_and_redone(bench, lambda: QTest.keyClick(made.new_name.edit, Qt.Key.Key_Return))
    assert [voice.name for voice in bench.session.film.voices] == ["Ada", "Ben", "Carla"]
    assert made.rows[bench.session.film.voices[2].id].used.text() == "not used"
    assert made.isVisible()


def test_a_voice_is_renamed(dialog):
    bench, made = dialog
    is_done_undone_and_redone(bench, lambda: type_into(made.rows["v1"].name, "Adele"))
    assert bench.session.film.voices[0] == Voice(id="v1", name="Adele")
    type_into(made.rows["v2"].name, "adele")
    assert "There is a voice “Adele” already." in made.rows["v2"].name.fault.text()


def test_a_voice_is_removed_from_drafts_and_kept_in_locked_scenes(dialog):
    bench, made = dialog
    is_done_undone_and_redone(bench, made.rows["v2"].remove.click)
    assert [voice.name for voice in bench.session.film.voices] == ["Ada"]
    assert list(made.rows) == ["v1"]
    locked = bench.session.film.scene("s2").content
    bench.session.apply(edits.lock(bench.session.film, "s2", "2026-03-01", locked_media(locked), "trial"))
    made.rows["v1"].remove.click()
    assert "speaks in scene 2, which is locked" in made.rows["v1"].name.fault.text()
    assert [voice.name for voice in bench.session.film.voices] == ["Ada"]


def test_a_film_without_voices_says_what_to_do(open_bench, qtbot):
    bench = open_bench(SceneContent())
    bench.session.do(lambda film: edits.remove_voice(film, "v1"))
    bench.session.do(lambda film: edits.remove_voice(film, "v2"))
    made = VoicesDialog(bench)
    qtbot.addWidget(made)
    made.show()
    assert made._none.isVisible()
    assert "no voices yet" in made._none.text()


def test_the_sheet_reads_the_part_in_every_state(open_bench, qtbot):
    bench = open_bench(SceneContent(clips=CLIPS))
    sheet = open_sheet(qtbot, bench, "s1")
    unfold(sheet)
    assert "voices not called level" in sheet.frames[Part.DIALOGUE].fold.line
