"""The player shows at each frame what an assembly has there, plays each at its time, and follows edits."""

import dataclasses
import functools
import threading
import time

import numpy as np
import pytest
from PySide6.QtCore import QEvent
from PySide6.QtWidgets import QApplication

from desk.ffmpeg.program import find_program
from desk.film import edits
from desk.film.rates import SAMPLE_RATE_HZ
from desk.film.timing import Include
from desk.render.showing import Origin, Showing, Shown
from desk.sound.streaming import stream, track_of_scene
from desk.ui.viewer.player import Player
from desk.ui.viewer.subject import FilmPlaces, Kind
from tests.making import read_pictures
from tests.render.films import decode_copy, run_assembly
from tests.ui.viewing import (
    EMPTY_FRAMES,
    FRAMES_1,
    FRAMES_2,
    RATE,
    Device,
    SteppedClock,
    number_at,
    number_of,
    numbered_footage,
    put_footage,
    viewed_film,
    wait_for_frame,
    wait_for_media,
)

pytestmark = pytest.mark.ffmpeg


@pytest.fixture(scope="session")
def footage(tmp_path_factory):
    return numbered_footage(tmp_path_factory)


@pytest.fixture
def bench(make_bench, footage, tmp_path, qtbot):
    made = make_bench(viewed_film(), put_footage(footage, tmp_path / "film"))
    wait_for_media(made, qtbot)
    made.cut.open("s1")
    return made


@pytest.fixture
def make_player(bench):
    players = []

    def make(**options):
        players.append(Player(bench, make_output=options.pop("make_output", lambda _: None), **options))
        return players[-1]

    yield make
    for player in players:
        player.close()
        player.deleteLater()


@pytest.fixture
def player(make_player):
    return make_player()


def shown_while_playing(player, qtbot, play=None):
    """Play to the end, and return the frames that were shown, each with its number."""
    seen = []

    def note(picture):
        if player.playing.is_on:
            seen.append((picture.frame, number_of(picture)))

    player.pictured.connect(note)
    with qtbot.waitSignal(player.played, timeout=20_000, check_params_cb=lambda is_on: not is_on):
        (play or player.play)()
    player.pictured.disconnect(note)
    return seen


# -- standing


def test_each_frame_of_a_scene_shows_what_an_assembly_has_there(player, bench, qtbot, tmp_path):
    """Read from the review copy itself, frame by frame."""
    film = dataclasses.replace(viewed_film(), order=viewed_film().order[:1], scenes=viewed_film().scenes[:1])
    made = run_assembly(
        tmp_path / "copy", find_program(), _of(film, bench.session.folder), include=Include.ALL
    )
    wanted = [reading.number for reading in read_pictures(decode_copy(made.files[0]).luma)]
    assert len(wanted) == FRAMES_1 == player.frames
    for frame in range(FRAMES_1):
        player.go_to(frame)
        number = number_of(wait_for_frame(player, qtbot, frame))
        assert number == number_at(frame)
        assert number is None or number == wanted[frame]


def _of(film, folder):
    """Return a film whose footage is named from elsewhere."""

    def moved(content):
        clips = (dataclasses.replace(item, source=str(folder / item.source)) for item in content.clips)
        return dataclasses.replace(content, clips=tuple(clips))

    scenes = (dataclasses.replace(scene, content=moved(scene.content)) for scene in film.scenes)
    return dataclasses.replace(film, scenes=tuple(scenes))


def test_it_goes_with_the_playhead_and_takes_it_along(player, bench, qtbot):
    bench.cut.go_to(7)
    assert player.frame == 7
    wait_for_frame(player, qtbot, 7)
    player.go_to(31)
    assert bench.cut.frame == bench.choice.frame == 31
    player.step(1)
    assert bench.cut.frame == 32
    player.step(-40)
    assert (player.frame, bench.cut.frame) == (0, 0)
    player.go_to(999)
    assert player.frame == FRAMES_1 - 1
    assert number_of(wait_for_frame(player, qtbot, FRAMES_1 - 1)) == number_at(FRAMES_1 - 1)


def test_cuts_and_black_are_gone_to(player):
    places = []
    for _ in range(5):
        player.go_to_cut(1)
        places.append(player.frame)
    assert places == [20, 25, 39, 39, 39]
    for _ in range(4):
        player.go_to_cut(-1)
        places.append(player.frame)
    assert places[5:] == [25, 20, 0, 0]


def test_scrubbing_ends_on_the_last_frame_asked_for_and_is_silent(make_player, qtbot):
    device = Device(time.monotonic)
    player = make_player(make_output=lambda _: device)
    for frame in (3, 30, 12, 39, 26, 8, 17):
        player.go_to(frame)
        QApplication.processEvents()
    assert number_of(wait_for_frame(player, qtbot, 17)) == number_at(17)
    assert device.starts == 0


def test_the_way_to_a_frame_is_broken_off_when_another_one_is_wanted(make_player, qtbot):
    """A picture that would never be ready by itself holds nothing up."""
    maker = _EndlessMaker()
    player = make_player(make_maker=maker.make)
    wait_for_frame(player, qtbot, 0)
    player.go_to(20)
    qtbot.waitUntil(lambda: maker.begun[-1] == 20)
    player.go_to(21)
    assert number_of(wait_for_frame(player, qtbot, 21)) is None
    player.go_to(20)
    qtbot.waitUntil(lambda: maker.begun[-1] == 20)
    player.close()


class _EndlessMaker:
    """Shows black, and of frame 20 nothing at all; each thread that makes pictures gets one of its own."""

    def __init__(self, begun=None, check=None):
        self.begun = [] if begun is None else begun
        self._check = check

    def make(self, kit, check):
        return _EndlessMaker(self.begun, check)

    def near(self, reel, frame, width_px, height_px, *, on=None):
        return None

    def picture(self, reel, frame, width_px, height_px):
        self.begun.append(frame)
        while frame == 20:
            self._check()
            threading.Event().wait(0.001)
        return Shown(pixels=np.zeros((height_px, width_px, 4), np.uint8), origin=Origin.DRAWING)

    def close(self):
        pass


def test_the_last_picture_stays_while_a_wanted_one_is_made(player, qtbot):
    wait_for_frame(player, qtbot, 0)
    gone = []
    player.pictured.connect(lambda picture: gone.append(picture is None or picture.image.isNull()))
    player.go_to(39)
    assert player.picture.frame == 0
    wait_for_frame(player, qtbot, 39)
    assert not any(gone)


def test_pictures_have_the_size_that_they_are_shown_at(player, bench, qtbot):
    for width, height in ((160, 90), (320, 180)):
        player.set_size("a view", dataclasses.replace(bench.session.film.size, width=width, height=height))
        qtbot.waitUntil(
            lambda width=width: player.picture is not None and player.picture.image.width() == width
        )
        assert player.picture.image.height() == height
    player.set_size("another", dataclasses.replace(bench.session.film.size, width=80, height=44))
    player.set_size("a view", None)
    qtbot.waitUntil(lambda: player.picture.image.width() == 80)


def test_a_picture_whose_rows_are_padded_is_shown_like_any_other(make_player, qtbot):
    """FFmpeg pads rows to whole words, so that those of a piece shown 322 px wide stand apart."""
    player = make_player(make_maker=lambda _kit, _check: _PaddedMaker())
    for frame in (0, 1):
        player.go_to(frame)
        picture = wait_for_frame(player, qtbot, frame)
        width, height = picture.image.width(), picture.image.height()
        corners = [picture.image.pixelColor(x, y).getRgb() for x in (0, width - 1) for y in (0, height - 1)]
        assert corners == [(3, 2, 1, 255)] * 4


class _PaddedMaker:
    """Shows one colour, in rows that are longer than the picture is wide."""

    def near(self, reel, frame, width_px, height_px, *, on=None):
        return None

    def picture(self, reel, frame, width_px, height_px):
        rows = np.zeros((height_px, width_px + 2, 4), np.uint8)
        rows[:, :width_px] = (1, 2, 3, 255)
        return Shown(pixels=rows[:, :width_px], origin=Origin.PIECE)

    def close(self):
        pass


def test_the_film_is_shown_with_its_drafts_where_the_playhead_stands(player, bench, qtbot):
    """Scene 1A has no clips: the running order counts its planned length, which nothing is shown of."""
    player.show_film()
    assert player.kind is Kind.FILM
    assert player.frames == FRAMES_1 + FRAMES_2
    player.go_to(FRAMES_1 + 10)
    assert bench.choice.frame == FRAMES_1 + EMPTY_FRAMES + 10
    assert number_of(wait_for_frame(player, qtbot, FRAMES_1 + 10)) == 2065
    bench.choice.go_to(FRAMES_1 + 20)
    assert player.frame == FRAMES_1
    bench.choice.go_to(12)
    assert number_of(wait_for_frame(player, qtbot, 12)) == number_at(12)
    assert bench.cut.frame == 12
    player.show_scene()
    assert (player.kind, player.frame, player.frames) == (Kind.SCENE, 12, FRAMES_1)


def test_places_of_the_running_order_and_of_what_is_shown_lead_to_each_other():
    film = viewed_film()
    places = FilmPlaces(film)
    for frame in range(FRAMES_1 + FRAMES_2):
        assert places.to_shown(places.to_order(frame)) == frame
    assert [places.to_shown(frame) for frame in (39, 40, 89, 90, 91)] == [39, 40, 40, 40, 41]


def test_raw_footage_is_shown_with_a_way_back(player, bench, qtbot):
    player.go_to(9)
    player.show_footage("b.mov", bench.media.facts["b.mov"], 50)
    assert (player.kind, player.frames) == (Kind.FOOTAGE, 100)
    assert number_of(wait_for_frame(player, qtbot, 50)) == 2050
    player.step(1)
    assert number_of(wait_for_frame(player, qtbot, 51)) == 2051
    assert bench.cut.frame == 9
    bench.cut.go_to(11)
    assert player.frame == 51
    player.show_scene()
    assert number_of(wait_for_frame(player, qtbot, 11)) == number_at(11)


def test_what_is_missing_is_said(player, bench, qtbot):
    (bench.session.folder / "a.mov").unlink()
    player.go_to(3)
    wait_for_frame(player, qtbot, 3)
    bench.media.look()
    qtbot.waitUntil(
        lambda: player.picture is not None and player.picture.origin is Origin.MISSING, timeout=20_000
    )
    assert "a.mov" in player.picture.note
    player.go_to(30)
    assert number_of(wait_for_frame(player, qtbot, 30)) == number_at(30)


def test_a_scene_without_clips_has_no_picture(player, bench, qtbot):
    bench.cut.open("s3")
    qtbot.waitUntil(lambda: player.picture is None)
    assert player.frames == 0
    for act in (player.play, player.play_around, player.toggle, functools.partial(player.step, 1)):
        act()
        assert not player.is_playing


# -- playing


def test_playing_shows_every_frame_in_order_and_ends_on_the_last(player, bench, qtbot):
    frames = shown_while_playing(player, qtbot)
    assert [frame for frame, _ in frames] == sorted({frame for frame, _ in frames})
    assert all(number == number_at(frame) for frame, number in frames)
    assert player.shown == len(frames)
    assert player.shown + player.dropped == FRAMES_1
    assert player.frame == bench.cut.frame == FRAMES_1 - 1
    assert number_of(wait_for_frame(player, qtbot, FRAMES_1 - 1)) == number_at(FRAMES_1 - 1)


def test_a_frame_is_shown_at_its_time_and_never_before(make_player, qtbot):
    """The clock stands until it is set. A frame that is passed over is never shown."""
    clock = SteppedClock()
    player = make_player(now=clock)
    player.play()
    qtbot.waitUntil(lambda: player.picture is not None and player.playing.shown == 1)
    qtbot.wait(60)
    assert (player.frame, player.shown) == (0, 1)
    clock.pass_frames(0.99)
    qtbot.wait(60)
    assert player.frame == 0
    clock.pass_frames(0.02)
    qtbot.waitUntil(lambda: player.frame == 1 and player.picture.frame == 1)
    clock.pass_frames(5)
    qtbot.waitUntil(lambda: player.frame == 6 and player.picture.frame == 6)
    assert (player.shown, player.dropped) == (3, 4)
    player.pause()
    assert not player.is_playing
    assert number_of(wait_for_frame(player, qtbot, 6)) == number_at(6)


def test_a_picture_that_takes_too_long_is_dropped_and_counted(make_player, qtbot):
    """One picture in three takes as long as four frames. All frames are accounted for."""
    player = make_player(make_maker=_SlowMaker)
    frames = [frame for frame, _ in shown_while_playing(player, qtbot)]
    assert frames == sorted(set(frames))
    assert player.dropped > 0
    assert len(frames) + player.dropped == FRAMES_1


class _SlowMaker:
    def __init__(self, kit, check):
        self._showing = Showing(kit, proxy=lambda _: None, check=check)
        self._made = 0

    def near(self, reel, frame, width_px, height_px, *, on=None):
        return None

    def picture(self, reel, frame, width_px, height_px):
        self._made += 1
        if self._made % 3 == 0:
            threading.Event().wait(4 / 25)
        return self._showing.picture(reel, frame, width_px, height_px)

    def renew(self, kit):
        self._showing.renew(kit)

    def close(self):
        self._showing.close()


def test_from_the_last_frame_it_plays_from_the_start(player, qtbot):
    player.go_to(FRAMES_1 - 1)
    assert shown_while_playing(player, qtbot)[0][0] <= 1


def test_playing_around_a_frame_comes_back(player, bench, qtbot):
    """Two seconds on either side are more than the scene has: all of it."""
    player.go_to(22)
    frames = shown_while_playing(player, qtbot, player.play_around)
    assert frames[0][0] == 0
    assert frames[-1][0] > 22
    assert player.frame == bench.cut.frame == 22
    wait_for_frame(player, qtbot, 22)


def test_around_goes_two_seconds_each_way(make_player, bench, qtbot):
    clock = SteppedClock()
    player = make_player(now=clock)
    player.show_footage("a.mov", bench.media.facts["a.mov"], 10)
    player.play_around(70)
    qtbot.waitUntil(lambda: player.playing.shown == 1)
    assert player.frame == 70 - 50
    clock.pass_frames(79.5)
    qtbot.waitUntil(lambda: player.frame == 99)
    clock.pass_frames(1)
    qtbot.waitUntil(lambda: not player.is_playing)
    assert player.frame == 10


def test_a_loop_plays_again_and_again_until_it_is_taken_away(make_player, bench, qtbot):
    clock = SteppedClock()
    player = make_player(now=clock)
    bench.cut.set_loop(18, 27)
    assert player.is_looping
    player.go_to(25)
    player.play()
    qtbot.waitUntil(lambda: player.playing.shown == 1)
    places = [player.frame]
    for _ in range(20):
        clock.pass_frames(1)
        before = player.playing.shown
        qtbot.waitUntil(lambda before=before: player.playing.shown == before + 1)
        places.append(player.frame)
        assert number_of(player.picture) == number_at(player.frame)
    assert places == [25, 26, *range(18, 27), *range(18, 27), 18]
    shown = player.shown
    bench.cut.clear_loop()
    assert not player.is_looping
    assert player.is_playing
    qtbot.waitUntil(lambda: player.shown == shown + 1)
    clock.pass_frames(5)
    qtbot.waitUntil(lambda: player.frame == 23)
    clock.pass_frames(60)
    qtbot.waitUntil(lambda: not player.is_playing)
    assert player.frame == FRAMES_1 - 1


def test_a_loop_without_a_range_is_all_of_it(make_player, qtbot):
    clock = SteppedClock()
    player = make_player(now=clock)
    player.set_looping(True)
    player.go_to(FRAMES_1 - 1)
    player.play()
    qtbot.waitUntil(lambda: player.playing.shown == 1)
    assert player.frame == FRAMES_1 - 1
    clock.pass_frames(1)
    qtbot.waitUntil(lambda: player.frame == 0)
    assert player.is_playing


def test_the_playhead_moved_while_playing_is_played_from(player, bench, qtbot):
    player.set_looping(True)
    player.play()
    qtbot.waitUntil(lambda: player.shown > 2)
    bench.cut.go_to(30)
    assert player.is_playing
    qtbot.waitUntil(lambda: 30 < player.frame < 36)
    player.pause()


# -- edits


def test_after_an_edit_the_same_frame_is_shown_as_it_is_now(player, bench, qtbot):
    player.go_to(5)
    wait_for_frame(player, qtbot, 5)
    bench.session.do(lambda film: edits.trim_head(film, "s1", "c1", 3))
    assert player.frames == FRAMES_1 - 3
    assert number_of(wait_for_frame(player, qtbot, player.frame)) == number_at(player.frame + 3)
    bench.session.stack.undo()
    assert number_of(wait_for_frame(player, qtbot, player.frame)) == number_at(player.frame)
    player.go_to(FRAMES_1 - 1)
    bench.session.do(lambda film: edits.trim_tail(film, "s1", "c2", 4))
    assert player.frame == FRAMES_1 - 5
    assert number_of(wait_for_frame(player, qtbot, FRAMES_1 - 5)) == number_at(FRAMES_1 - 5)


def test_an_edit_of_something_else_changes_nothing(player, bench, qtbot):
    wait_for_frame(player, qtbot, 0)
    subject = player.subject
    bench.session.do(lambda film: edits.edit_story(film, "s1", synopsis="They wait."))
    assert player.subject is subject


def test_playing_goes_on_after_a_trim(make_player, bench, qtbot):
    clock = SteppedClock()
    player = make_player(now=clock)
    player.play()
    qtbot.waitUntil(lambda: player.shown == 1)
    clock.pass_frames(4)
    qtbot.waitUntil(lambda: player.frame == 4)
    bench.session.do(lambda film: edits.trim_head(film, "s1", "c1", 6))
    assert player.is_playing
    qtbot.waitUntil(lambda: player.picture.subject is player.subject)
    assert player.frame == 4
    assert number_of(player.picture) == number_at(4 + 6)
    clock.pass_frames(2)
    qtbot.waitUntil(lambda: player.frame == 6 and player.picture.frame == 6)
    assert number_of(player.picture) == number_at(6 + 6)


def test_a_drag_shows_both_sides_of_the_cut(player, bench, qtbot):
    player.go_to(2)
    wait_for_frame(player, qtbot, 2)
    looks = []
    player.looked.connect(looks.append)
    for frames in (1, 2, 3):
        bench.cut.attempt(lambda film, by=frames: edits.trim_tail(film, "s1", "c1", by), edge=20 - frames)
    qtbot.waitUntil(
        lambda: (
            player.look is not None
            and player.look.before.picture is not None
            and player.look.before.picture.subject is player.subject
            and player.look.after.picture is not None
            and player.look.after.picture.subject is player.subject
        )
    )
    assert player.look.before.name == "Last of a.mov"
    assert number_of(player.look.before.picture) == 1010 + 16
    assert player.look.after.name == "Black"
    assert number_of(player.look.after.picture) is None
    bench.cut.take()
    qtbot.waitUntil(lambda: player.look is None)
    assert looks[-1] is None
    assert number_of(wait_for_frame(player, qtbot, 2)) == number_at(2)


def test_the_ends_of_the_scene_have_one_side(player, bench, qtbot):
    bench.cut.attempt(lambda film: edits.trim_head(film, "s1", "c1", 5), edge=0)
    qtbot.waitUntil(lambda: player.look is not None and player.look.after.picture is not None)
    assert (player.look.before.picture, player.look.before.words) == (None, "The scene begins here.")
    assert number_of(player.look.after.picture) == 1015
    bench.cut.give_up()
    qtbot.waitUntil(lambda: player.look is None)


# -- sound


def test_sound_and_picture_start_together_and_the_sound_is_the_scenes(make_player, bench, qtbot):
    clock = SteppedClock()
    device = Device(clock)
    player = make_player(make_output=lambda _: device, now=clock)
    player.go_to(6)
    player.play()
    while player.is_playing:
        clock.seconds += 0.01
        qtbot.wait(1)
        assert device.heard_samples <= len(device.samples)
    wanted = np.concatenate(
        list(
            stream(
                track_of_scene(bench.session.film.scene("s1").content, RATE),
                player.subject.files,
                player.subject.media,
                first=RATE.samples(6),
            )
        )
    )
    given = device.samples
    assert len(given) >= len(wanted)
    np.testing.assert_array_equal(given[: len(wanted)], wanted)
    assert not given[len(wanted) :].any()


def test_the_picture_goes_with_what_is_heard_however_the_device_runs(make_player, bench, qtbot):
    """A device that is 10 % fast: after 3.6 s of footage they would be 9 frames apart, and are not."""
    clock = SteppedClock()
    device = Device(clock, pace=1.1)
    player = make_player(make_output=lambda _: device, now=clock)
    player.show_footage("a.mov", bench.media.facts["a.mov"])
    player.play()
    qtbot.waitUntil(lambda: player.shown == 1)
    for _ in range(90):
        clock.seconds += 0.04
        QApplication.processEvents()
        qtbot.waitUntil(lambda: device.heard_samples < len(device.samples))
        qtbot.wait(1)
    qtbot.wait(30)
    heard_frame = device.heard_samples * 25 / SAMPLE_RATE_HZ
    assert abs(player.frame - heard_frame) < 3


def test_a_device_that_goes_away_leaves_the_picture_playing(make_player, bench, qtbot):
    clock = SteppedClock()
    device = Device(clock)
    player = make_player(make_output=lambda _: device, now=clock)
    player.play()
    qtbot.waitUntil(lambda: player.shown == 1)
    device.is_lost = True
    qtbot.waitUntil(lambda: device.is_closed)
    clock.pass_frames(10)
    qtbot.waitUntil(lambda: player.frame == 10)
    assert player.is_playing


def test_a_device_that_says_nothing_and_stands_still_is_left(make_player, bench, qtbot):
    clock = SteppedClock()
    device = Device(clock)
    player = make_player(make_output=lambda _: device, now=clock)
    player.set_looping(True)
    player.play()
    qtbot.waitUntil(lambda: player.shown == 1)
    clock.pass_frames(3)
    qtbot.waitUntil(lambda: player.frame == 3)
    device.stand_still()
    clock.pass_frames(25)
    qtbot.wait(50)
    assert player.frame < 6
    clock.pass_frames(30)
    qtbot.waitUntil(lambda: device.is_closed)
    before = player.shown
    clock.pass_frames(3)
    qtbot.waitUntil(lambda: player.shown > before)


def test_the_next_time_it_plays_on_the_device_that_is_meant_then(make_player, qtbot):
    devices = [Device(time.monotonic), Device(time.monotonic)]
    waiting = iter(devices)
    player = make_player(make_output=lambda _: next(waiting))
    player.play()
    qtbot.waitUntil(lambda: devices[0].starts == 1)
    player.pause()
    devices[0].is_outdated = True
    player.play()
    qtbot.waitUntil(lambda: devices[1].starts == 1)
    assert devices[0].is_closed


def test_volume_begins_moderate_and_muting_keeps_it(make_player, qtbot):
    device = Device(time.monotonic)
    player = make_player(make_output=lambda _: device)
    player.play()
    qtbot.waitUntil(lambda: device.starts == 1)
    assert device.gain == pytest.approx(0.25)
    player.set_muted(True)
    assert device.gain == 0
    player.set_muted(False)
    assert device.gain == pytest.approx(0.25)
    player.set_volume(1)
    assert device.gain == 1
    player.set_volume(0)
    assert device.gain == 0


# -- the end


def test_closing_while_playing_leaves_no_thread(make_player, qtbot):
    player = make_player(make_output=lambda _: Device(time.monotonic))
    player.set_looping(True)
    player.play()
    qtbot.waitUntil(lambda: player.shown > 1)
    names = {thread.name for thread in threading.enumerate()}
    assert {"desk-viewer-picture", "desk-viewer-sound"} <= names
    player.close()
    assert not {thread.name for thread in threading.enumerate() if thread.name.startswith("desk-viewer")}


def test_a_player_that_is_deleted_while_playing_leaves_no_thread(bench, qtbot):
    player = Player(bench, make_output=lambda _: Device(time.monotonic))
    player.play()
    qtbot.waitUntil(lambda: player.shown > 1)
    player.deleteLater()
    QApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete)
    qtbot.waitUntil(
        lambda: not [thread for thread in threading.enumerate() if thread.name.startswith("desk-viewer")]
    )
