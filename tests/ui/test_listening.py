"""Clips are listened to beside the window, once each; then the music goes down while somebody speaks."""

import dataclasses
import functools

import numpy as np
import pytest

from desk.film import edits
from desk.film.lanes import spans
from desk.film.model import Clip, ClipSound, Compression, SceneContent, SoundKind, VoiceChain
from desk.film.timing import Include, lay_out
from desk.sound.plan import speech_kept
from desk.sound.speech import SpeechFile
from desk.sound.streaming import stream, track_of_film, track_of_scene
from desk.ui.music.trying import TryView
from desk.ui.viewer.player import NOT_DOWN_YET, Player
from desk.ui.viewer.viewer import Viewer
from tests.ui.spoken import RATE, music, put_sounds, says, spoken_film, spoken_sounds
from tests.ui.viewing import wait_for_media

pytestmark = pytest.mark.ffmpeg


@pytest.fixture(scope="session")
def sounds(tmp_path_factory):
    return spoken_sounds(tmp_path_factory)


@pytest.fixture
def open_film(make_bench, sounds, tmp_path, qtbot):
    def open_it(*clips, **content):
        film = spoken_film(SceneContent(clips=clips, **content))
        bench = make_bench(film, put_sounds(sounds, tmp_path / "film"))
        wait_for_media(bench, qtbot)
        return bench

    return open_it


def want(bench, qtbot, scene_id, who="test"):
    """Have a scene listened to, and return the names of what was heard for it."""
    heard = []
    bench.listening.heard.connect(heard.append)
    content, rate = bench.session.film.scene(scene_id).content, bench.session.film.rate
    with qtbot.waitSignal(bench.listening.settled, check_params_cb=lambda name: name == who, timeout=20_000):
        bench.listening.want(who, content, functools.partial(spans, content, rate))
    bench.listening.heard.disconnect(heard.append)
    return heard


def test_each_sound_is_listened_to_once(open_film, qtbot):
    bench = open_film(says("c1", "loud.wav", "v1"), says("c2", "soft.wav", "v1"))
    (first,) = bench.session.film.scenes
    assert len(want(bench, qtbot, first.id)) == 2
    listening = bench.listening
    own = [span for span in spans(first.content, RATE) if span.kind == "dialogue"]
    found = [listening.find(listening.key(span)) for span in own]
    assert all(speech.loudness_lufs is not None for speech in found)
    # A gain changes nothing of what is kept, a chain does, and only for the clips of its voice.
    clip_id = first.content.clips[0].id
    bench.session.do(lambda film: edits.edit_clip_sound(film, first.id, [clip_id], gain_db=-6.0))
    assert want(bench, qtbot, first.id) == []
    chain = VoiceChain(voice="v1", low_cut_hz=200.0)
    bench.session.do(lambda film: edits.set_voice(film, first.id, [first.content.clips[1].id], ""))
    bench.session.do(lambda film: edits.set_voice_chain(film, first.id, chain))
    assert len(want(bench, qtbot, first.id)) == 1
    # Kept in the project folder, for the next time it is opened.
    kept = SpeechFile(bench.session.folder)
    assert [kept.find(listening.key(span)) for span in own] == found


def test_what_can_not_be_read_is_tried_once(open_film, qtbot):
    bench = open_film(says("c1", "loud.wav"), says("c2", "soft.wav"))
    (first,) = bench.session.film.scenes
    (bench.session.folder / "soft.wav").write_bytes(b"RIFF of nothing")
    assert len(want(bench, qtbot, first.id)) == 2
    broken = spans(first.content, RATE)[1]
    assert bench.listening.is_unreadable(bench.listening.key(broken))
    assert want(bench, qtbot, first.id, who="another") == []


def test_who_wants_nothing_more_is_not_listened_for(open_film, qtbot):
    bench = open_film(says("c1", "loud.wav"))
    (first,) = bench.session.film.scenes
    told = []
    bench.listening.settled.connect(told.append)
    bench.listening.want("test", first.content, functools.partial(spans, first.content, RATE))
    bench.listening.forget("test")
    qtbot.waitUntil(lambda: not bench.jobs.jobs)
    assert told == []
    assert bench.listening.listening_for == ""


@pytest.fixture
def player_of(qtbot):
    made = []

    def make(bench):
        made.append(Player(bench, make_output=lambda _: None))
        return made[-1]

    yield make
    for player in made:
        player.close()
        player.deleteLater()


def heard_of(player):
    subject = player.subject
    return np.concatenate(list(stream(subject.track, subject.files, subject.media)))


def test_music_goes_down_in_the_viewer_as_in_an_assembly(open_film, player_of, qtbot):
    bench = open_film(says("c1", "loud.wav", "v1"), says("c2", "soft.wav", "v1"), cues=(music(),))
    (first,) = bench.session.film.scenes
    bench.cut.open(first.id)
    player = player_of(bench)
    told = []
    player.listened.connect(told.append)
    # Until it was listened to, music is as loud as ever, and that is said.
    assert not any(sound.speech for sound in player.subject.track.sounds)
    qtbot.waitUntil(lambda: player.subject.heard > 0, timeout=20_000)
    assert (told, player.is_listening) == ([True, False], False)
    subject = player.subject
    known = speech_kept(SpeechFile(bench.session.folder), RATE, subject.media)
    wanted = np.concatenate(
        list(stream(track_of_scene(first.content, RATE, known), subject.files, subject.media))
    )
    steady = np.concatenate(list(stream(track_of_scene(first.content, RATE), subject.files, subject.media)))
    assert np.array_equal(heard_of(player), wanted)
    assert np.abs(wanted - steady).max() > 0.02
    player.show_film()
    qtbot.waitUntil(lambda: bench.listening.is_settled("viewer"), timeout=20_000)
    film = bench.session.film
    assert player.subject.track == track_of_film(film, lay_out(film, Include.ALL), known)
    assert player.subject.track.sounds[0].speech


def test_the_viewer_says_that_music_does_not_go_down_yet(open_film, player_of, qtbot):
    bench = open_film(says("c1", "loud.wav", "v1"), says("c2", "soft.wav", "v1"), cues=(music(),))
    viewer = Viewer(bench, player=player_of(bench))
    qtbot.addWidget(viewer)
    viewer.show()
    trying = TryView(bench.theme, viewer)
    trying.attach(viewer.player)
    said = []
    viewer.player.listened.connect(lambda on: said.append((on, viewer.state_words, trying.waiting.text())))
    bench.cut.open("s1")
    qtbot.waitUntil(lambda: len(said) == 2, timeout=20_000)
    assert said[0] == (True, NOT_DOWN_YET, NOT_DOWN_YET)
    assert said[1][0] is False
    assert viewer.state_words != NOT_DOWN_YET
    assert trying.waiting.text() == ""
    # What is known is not listened to again, so nothing is said after an edit.
    bench.session.do(lambda film: edits.edit_clip_sound(film, "s1", ["c1"], gain_db=-2.0))
    qtbot.waitUntil(lambda: bench.listening.is_settled("viewer"), timeout=20_000)
    assert len(said) == 2


def test_nothing_is_listened_to_for_music_that_stays_as_it_is(open_film, player_of, qtbot):
    bench = open_film(says("c1", "loud.wav"), cues=(music(duck=None),))
    bench.cut.open(bench.session.film.scenes[0].id)
    player = player_of(bench)
    qtbot.waitUntil(lambda: not bench.jobs.jobs, timeout=20_000)
    (span, _) = spans(bench.session.film.scene("s1").content, RATE)
    assert bench.listening.find(bench.listening.key(span)) is None
    assert player.subject.heard == 0


def test_a_voice_is_heard_without_its_chain_and_nothing_is_edited(open_film, player_of, qtbot):
    chain = VoiceChain(voice="v1", low_cut_hz=400.0, compression=Compression.FIRM)
    bench = open_film(says("c1", "loud.wav", "v1"), cues=(music(),), voice_chains=(chain,))
    bench.cut.open("s1")
    player = player_of(bench)
    qtbot.waitUntil(lambda: player.subject.heard > 0, timeout=20_000)
    with_it, ducked = heard_of(player), player.subject.track.sounds[0].speech
    player.hear_plain("v1")
    # Music goes down for the same words, so that nothing but the chain is compared.
    assert player.subject.track.sounds[0].speech == ducked != ()
    bare = dataclasses.replace(bench.session.film.scene("s1").content, voice_chains=(), cues=())
    plain = heard_of(player)
    subject = player.subject
    only_voice = np.concatenate(list(stream(track_of_scene(bare, RATE), subject.files, subject.media)))
    alone = dataclasses.replace(
        subject.track,
        sounds=tuple(
            dataclasses.replace(sound, spans=tuple(span for span in sound.spans if span.kind == "dialogue"))
            for sound in subject.track.sounds
        ),
    )
    assert np.array_equal(np.concatenate(list(stream(alone, subject.files, subject.media))), only_voice)
    assert np.abs(plain - with_it).max() > 0.01
    assert bench.session.stack.count() == 0
    player.hear_plain("")
    assert np.array_equal(heard_of(player), with_it)


def test_silent_clips_are_left_alone(open_film, qtbot):
    bench = open_film(
        Clip(id="c1", source="loud.wav", length_frames=75, sound=ClipSound(kind=SoundKind.SILENCE))
    )
    assert want(bench, qtbot, bench.session.film.scenes[0].id) == []
