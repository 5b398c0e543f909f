"""Music tried against the picture, sounds heard by themselves, measured levels and fitted lengths."""

import numpy as np
import pytest
from PySide6.QtCore import Qt

from desk.film.locking import Part
from desk.film.model import Duck
from desk.ui.music.gain_part import USUAL_UNDER_LU
from desk.ui.music.hearing import Hearing, file_blocks
from desk.ui.scene.music import MusicBody
from desk.ui.scene.sheet import SceneSheet
from desk.ui.viewer.player import Player
from tests.ui.music_parts import put_sounds, sounding_film, tone, write_sound
from tests.ui.viewing import Device, SteppedClock, numbered_footage, put_footage, wait_for_media


@pytest.fixture(scope="session")
def footage(tmp_path_factory):
    return numbered_footage(tmp_path_factory)


@pytest.fixture
def clock():
    return SteppedClock()


@pytest.fixture
def show(make_bench, footage, tmp_path, qtbot, clock):
    """Shows the part of scene 1 of a film whose sounds are there, with a player that has no device."""
    made = []

    def show_it(film, *, voice=True):
        project = put_footage(footage, tmp_path / "heard")
        put_sounds(project, voice=voice)
        bench = make_bench(film, project)
        wait_for_media(bench, qtbot)
        body = MusicBody(bench)
        qtbot.addWidget(body)
        player = Player(bench, body, make_output=lambda _: None, now=clock)
        made.append(player)
        body.attach(player)
        bench.session.changed.connect(lambda film, change: body.show_scene(film.scene("s1")))
        bench.media.changed.connect(lambda _: body.show_scene(bench.session.film.scene("s1")))
        body.resize(640, 1000)
        body.show_scene(bench.session.film.scene("s1"))
        body.show()
        body.player = player
        return body

    yield show_it
    for player in made:
        player.close()


def cue_of(body):
    return body.bench.session.film.scene("s1").content.cues[0]


def typed(field, text, qtbot):
    field.edit.setFocus()
    field.edit.selectAll()
    qtbot.keyClicks(field.edit, text)
    qtbot.keyClick(field.edit, Qt.Key.Key_Return)


class TestTrying:
    def test_the_next_one_is_chosen_and_played_from_two_seconds_before(self, show):
        body = show(sounding_film(start_frames=70, length_frames=30))
        body.music.try_music(1)
        assert cue_of(body).chosen == "a2"
        assert body.player.is_playing
        # 70 frames less two seconds of 25.
        assert body.player.frame == 20
        assert body.music.trying.isVisible()
        assert body.music.trying.name.text() == "two.wav"
        assert body.music.trying.count.text().startswith("2 of 2. It is chosen now.")
        assert "F7" in body.music.trying.keys.text()

    def test_a_cue_near_the_start_is_played_from_the_start(self, show):
        body = show(sounding_film(start_frames=10))
        body.music.try_music(1)
        assert (body.player.is_playing, body.player.frame) == (True, 0)

    def test_next_and_back_go_round(self, show):
        body = show(sounding_film())
        chosen = []
        for step in (1, 1, -1, -1, 0):
            body.music.try_music(step)
            chosen.append(cue_of(body).chosen)
        assert chosen == ["a2", "a1", "a2", "a1", "a1"]

    def test_tries_are_one_step_of_undoing(self, show):
        body = show(sounding_film(chosen=""))
        stack = body.bench.session.stack
        for _ in range(5):
            body.music.try_music(1)
        assert stack.count() == 1
        assert cue_of(body).chosen == "a1"
        body.music.trying.close_button.click()
        assert not body.music.trying.isVisible()
        assert not body.player.is_playing
        body.music.try_music(1)
        assert stack.count() == 2
        assert body.music.trying.name.text() == "two.wav"
        stack.undo()
        assert cue_of(body).chosen == "a1"
        assert body.music.trying.name.text() == "One"
        stack.undo()
        assert cue_of(body).chosen == ""
        assert not body.music.trying.isVisible()
        stack.redo()
        assert cue_of(body).chosen == "a1"

    def test_a_round_of_tries_that_ends_where_it_began_leaves_no_step(self, show):
        body = show(sounding_film())
        body.music.try_music(1)
        body.music.try_music(1)
        assert cue_of(body).chosen == "a1"
        assert not body.bench.session.stack.canUndo()

    def test_the_buttons_do_the_same(self, show):
        body = show(sounding_film())
        body.music.cues[0].next.click()
        assert cue_of(body).chosen == "a2"
        assert body.player.is_playing
        body.music.cues[0].back.click()
        assert cue_of(body).chosen == "a1"

    def test_a_cue_after_the_end_of_the_picture(self, show):
        body = show(sounding_film(start_frames=400))
        body.music.try_music(1)
        assert not body.player.is_playing
        assert not body.music.trying.isVisible()

    def test_another_scene_ends_it(self, show):
        body = show(sounding_film())
        body.music.try_music(1)
        body.show_scene(body.bench.session.film.scene("s2"))
        assert not body.music.trying.isVisible()


def test_trying_from_the_sheet_unfolds_the_part_and_brings_the_picture_into_view(
    make_bench, footage, tmp_path, qtbot
):
    project = put_footage(footage, tmp_path / "sheet")
    put_sounds(project)
    bench = make_bench(sounding_film(), project)
    wait_for_media(bench, qtbot)
    sheet = SceneSheet(bench)
    qtbot.addWidget(sheet)
    sheet.resize(640, 420)
    sheet.show_scene("s1")
    for frame in sheet.frames.values():
        frame.set_unfolded(False)
    sheet.show()
    sheet.try_music(1)
    assert bench.session.film.scene("s1").content.cues[0].chosen == "a2"
    assert sheet.frames[Part.MUSIC].is_unfolded
    trying = sheet.music.music.trying
    qtbot.waitUntil(lambda: not trying.visibleRegion().isEmpty())
    trying.close_button.click()
    assert not trying.isVisible()


class TestHearing:
    def test_a_file_is_heard_as_it_is(self, tmp_path, qtbot, clock, theme):
        samples = tone(0.4)
        path = write_sound(tmp_path / "a.wav", samples)
        device = Device(clock)
        hearing = Hearing(make_output=lambda _: device)
        told = []
        hearing.changed.connect(told.append)
        hearing.toggle("a", file_blocks(path))
        assert hearing.name == "a"

        def is_over():
            clock.seconds += 0.05
            return not hearing.name

        before = len(device.samples)
        qtbot.waitUntil(lambda: len(device.samples) > before, timeout=5000)
        heard = []

        def collect():
            heard[:] = [device.samples] if len(device.samples) else heard
            return is_over()

        qtbot.waitUntil(collect, timeout=10_000)
        played = heard[0][: len(samples)]
        assert len(played) == len(samples)
        # 16 bits, both channels alike.
        assert np.abs(played[:, 0] - samples).max() < 2 / 32767
        assert np.array_equal(played[:, 0], played[:, 1])
        assert told == ["a", ""]
        hearing.close()
        hearing.deleteLater()

    def test_the_same_again_is_silence(self, tmp_path, clock, theme):
        path = write_sound(tmp_path / "a.wav", tone(5))
        hearing = Hearing(make_output=lambda _: Device(clock))
        hearing.toggle("a", file_blocks(path))
        hearing.toggle("b", file_blocks(path))
        assert hearing.name == "b"
        hearing.toggle("b", file_blocks(path))
        assert hearing.name == ""
        hearing.close()
        hearing.deleteLater()

    def test_without_a_device_it_is_said(self, tmp_path, theme):
        hearing = Hearing(make_output=lambda _: None)
        told = []
        hearing.unheard.connect(told.append)
        hearing.start("a", file_blocks(tmp_path / "a.wav"))
        assert told == ["No sound device was found, so nothing can be heard."]
        assert hearing.name == ""
        hearing.close()
        hearing.deleteLater()

    def test_it_stops_when_the_viewer_plays_and_the_other_way_round(self, show, clock):
        body = show(sounding_film())
        body.hearing._make_output = lambda _: Device(clock)
        body.bench.cut.open("s1")
        body.music.cues[0].rows[1].listen.click()
        assert body.hearing.name == "a2"
        assert body.music.cues[0].rows[1].listen.accessibleName() == "Stop listening to two.wav"
        body.player.play()
        assert body.hearing.name == ""
        assert body.music.cues[0].rows[1].listen.accessibleName() == "Listen to two.wav"
        body.music.cues[0].rows[0].listen.click()
        assert not body.player.is_playing
        body.hearing.stop()


class TestMeasured:
    """Loudness by ITU-R BS.1770, as `desk.sound.levelling` measures it."""

    def test_so_far_below_the_voices(self, show, qtbot):
        body = show(sounding_film())
        gain = body.music.details.gain
        qtbot.waitUntil(
            lambda: "below the voices" in gain.told.text() or "above" in gain.told.text(), timeout=20_000
        )
        levels = body.music.levels.levels
        own = levels.music[0].loudness_lufs
        gain.way.buttons[1].click()
        assert cue_of(body).choice.under_voices_lu is not None
        typed(gain.under, "15", qtbot)
        choice = cue_of(body).choice
        assert choice.under_voices_lu == 15
        # The gain adds to the loudness, so that this is the difference to within rounding to 0.1 dB.
        assert own + choice.gain_db == pytest.approx(levels.voices_lufs - 15, abs=0.051)
        qtbot.waitUntil(lambda: "now 15.0 LU below the voices" in gain.told.text(), timeout=20_000)
        body.bench.session.stack.undo()
        assert cue_of(body).choice.gain_db == 0
        gain.way.buttons[0].click()
        assert cue_of(body).choice.under_voices_lu is None

    def test_the_gain_that_would_follow(self, show, qtbot):
        """Where the distance was set before anything was measured, the gain is offered."""
        body = show(sounding_film())
        gain = body.music.details.gain
        gain.way.buttons[1].click()
        assert cue_of(body).choice.under_voices_lu == USUAL_UNDER_LU
        qtbot.waitUntil(gain.follow.isVisible, timeout=20_000)
        gain.follow.click()
        assert cue_of(body).choice.gain_db != 0
        assert not gain.follow.isVisible()

    def test_no_voices(self, show, qtbot):
        body = show(sounding_film(duck=Duck()), voice=False)
        gain, duck = body.music.details.gain, body.music.details.duck
        qtbot.waitUntil(lambda: "No voices are measured" in gain.told.text(), timeout=20_000)
        assert "No voices are measured" in duck.told.text()
        assert not duck.curve.isVisible()

    def test_the_curve_goes_down_where_somebody_speaks(self, show, qtbot):
        body = show(sounding_film(duck=Duck(depth_db=9), start_frames=0))
        curve = body.music.details.duck.curve
        qtbot.waitUntil(curve.isVisible, timeout=20_000)
        assert min(point.gain_db for point in curve.points) == -9
        assert curve.points[0].gain_db == 0
        # A voice that speaks in the first second of every two, over a cue of four seconds.
        assert curve.accessibleName() == "The music goes down 2 times during this cue, by up to 9 dB."
        body.music.details.duck.is_on.click()
        assert not curve.isVisible()

    def test_typing_measures_nothing_anew(self, show, qtbot):
        body = show(sounding_film())
        qtbot.waitUntil(lambda: not body.music.levels.is_measuring, timeout=20_000)
        qtbot.keyClicks(body.music.details.rights.title.edit, "s")
        assert not body.music.levels.is_measuring
        typed(body.music.details.gain.gain, "-3", qtbot)
        assert body.music.levels.is_measuring
        qtbot.waitUntil(lambda: not body.music.levels.is_measuring, timeout=20_000)


class TestFitting:
    def test_too_short_fitted_and_whole_again(self, show, qtbot):
        body = show(sounding_film(start_frames=0, length_frames=250))
        fit = body.music.details.fit
        # 6 s of music for a cue of 10 s at 25 frames a second.
        assert fit.told.text() == "The music is 0:04:00 too short for the cue."
        fit.fit.click()
        assert fit.stop.isVisible()
        qtbot.waitUntil(lambda: fit.found is not None, timeout=30_000)
        assert "parts with" in fit.proposed.text()
        assert cue_of(body).choice.parts == ()
        fit.take.click()

        def after():
            parts = cue_of(body).choice.parts
            assert sum(part.length_seconds for part in parts) == 10
            assert len(parts) >= 2
            assert fit.told.text().startswith(f"It plays in {len(parts)} parts")
            assert fit.whole.isVisible()

        def before():
            assert cue_of(body).choice.parts == ()
            assert fit.fit.isVisible()

        after()
        body.bench.session.stack.undo()
        before()
        body.bench.session.stack.redo()
        after()
        fit.whole.click()
        before()

    def test_each_seam_can_be_heard_before_it_is_taken(self, show, qtbot, clock):
        body = show(sounding_film(start_frames=0, length_frames=250))
        body.hearing._make_output = lambda _: Device(clock)
        fit = body.music.details.fit
        fit.fit.click()
        qtbot.waitUntil(lambda: fit.found is not None, timeout=30_000)
        first = fit.hear.text()
        assert first.startswith("Listen to seam 1 of ")
        fit.hear.click()
        assert body.hearing.name.startswith("seam at ")
        assert cue_of(body).choice.parts == ()
        fit.leave.click()
        assert fit.found is None
        assert fit.fit.isVisible()
        body.hearing.stop()

    def test_a_cue_that_changes_meanwhile_drops_it(self, show, qtbot):
        body = show(sounding_film(start_frames=0, length_frames=250))
        fit = body.music.details.fit
        fit.fit.click()
        qtbot.waitUntil(lambda: fit.found is not None, timeout=30_000)
        typed(body.music.details.place.length, "0:09:00", qtbot)
        assert fit.found is None
        assert not fit.take.isVisible()

    def test_too_long(self, show):
        body = show(sounding_film(length_frames=100))
        told = body.music.details.fit.told.text()
        assert told == "The music is 0:02:00 longer than the cue, which ends before it does."
