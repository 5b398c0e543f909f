"""Who speaks, what is done to each voice, and gains set by levelling."""

import dataclasses

import pytest

from desk.errors import EditError
from desk.film import edits
from desk.film.change_list import change_list
from desk.film.model import Band, Clip, Compression, Film, Placement, Scene, SceneContent, Size, VoiceChain
from desk.film.rates import Rate
from tests.film.editing import done, locked, refused


def _scene(scene_id: str, number: str) -> Scene:
    clips = tuple(
        Clip(id=f"c{number}{at}", source=f"0{number}/A00{at}.mov", length_frames=50) for at in range(3)
    )
    return Scene(id=scene_id, number=number, content=SceneContent(clips=clips))


FILM = Film(
    title="The Late Ferry",
    rate=Rate(25),
    size=Size(1920, 1080),
    start_frames=90_000,
    scenes=(_scene("s1", "1"), _scene("s2", "2"), _scene("s3", "3")),
    order=tuple(Placement(entry=f"s{number}") for number in (1, 2, 3)),
    next_id=100,
)


def _spoken(film: Film = FILM) -> tuple[Film, str]:
    """A film in which one voice speaks in two clips of scene 1 and one of scene 2."""
    film = done(edits.add_voice(film, "The ticket seller", scene_id="s1", clip_ids=["c10", "c12"]))
    voice = film.voices[0].id
    return done(edits.set_voice(film, "s2", ["c21"], voice)), voice


CHAIN = VoiceChain(
    voice="v100",
    low_cut_hz=80.0,
    bands=(Band(frequency_hz=3000.0, gain_db=2.0),),
    compression=Compression.GENTLE,
)


def test_a_voice_is_added_with_the_clips_in_which_it_speaks():
    film, voice = _spoken()
    assert [(item.id, item.name) for item in film.voices] == [(voice, "The ticket seller")]
    assert [clip.sound.voice for clip in film.scene("s1").content.clips] == [voice, "", voice]
    assert film.next_id > int(voice[1:])


def test_no_two_voices_have_the_same_name():
    film, voice = _spoken()
    assert "already" in refused(edits.add_voice, film, " the TICKET seller ", code="edit.taken")
    other = done(edits.add_voice(film, "The mate"))
    refused(edits.edit_voice, other, voice, name="The mate", code="edit.taken")
    renamed = done(edits.edit_voice(other, voice, name="the ticket seller", note="close"))
    assert renamed.voices[0].note == "close"


@pytest.mark.parametrize("name", ["", "  ", "two\nlines"])
def test_a_voice_has_a_name(name):
    refused(edits.add_voice, FILM, name, code="edit.value")


def test_removing_a_voice_leaves_no_trace_of_it_in_drafts():
    film, voice = _spoken()
    film = done(edits.set_voice_chain(film, "s1", dataclasses.replace(CHAIN, voice=voice)))
    film = done(edits.remove_voice(film, voice))
    assert film.voices == ()
    assert film.scene("s1").content == FILM.scene("s1").content
    assert film.scene("s2").content == FILM.scene("s2").content


def test_a_voice_in_a_locked_scene_stays():
    film, voice = _spoken()
    assert "scene 2" in refused(edits.remove_voice, locked(film, "s2"), voice, code="edit.locked")


def test_a_chain_belongs_to_a_voice_in_a_scene():
    film, voice = _spoken()
    chain = dataclasses.replace(CHAIN, voice=voice)
    film = done(edits.set_voice_chain(film, "s1", chain))
    assert film.scene("s1").content.voice_chains == (chain,)
    off = done(edits.set_voice_chain(film, "s1", dataclasses.replace(chain, on=False)))
    assert off.scene("s1").content.voice_chains == (dataclasses.replace(chain, on=False),)
    none = done(edits.set_voice_chain(film, "s1", VoiceChain(voice=voice)))
    assert none.scene("s1").content.voice_chains == (), "one that does nothing is none"
    refused(edits.set_voice_chain, film, "s1", CHAIN.__class__(voice="v7"), code="edit.unknown")


@pytest.mark.parametrize(
    "wrong",
    [
        {"low_cut_hz": 10.0},
        {"low_cut_hz": 500.0},
        {"bands": (Band(frequency_hz=3000.0, gain_db=1.0),) * 4},
        {"bands": (Band(frequency_hz=0.0, gain_db=1.0),)},
        {"bands": (Band(frequency_hz=100.0, gain_db=90.0),)},
        {"bands": (Band(frequency_hz=100.0, gain_db=1.0, q=0.0),)},
    ],
)
def test_a_chain_with_a_value_that_is_not_allowed_is_refused(wrong):
    film, voice = _spoken()
    refused(
        edits.set_voice_chain,
        film,
        "s1",
        dataclasses.replace(CHAIN, voice=voice, **wrong),
        code="edit.value",
    )


def test_a_chain_is_copied_to_the_other_drafts_where_the_voice_speaks():
    film, voice = _spoken()
    chain = dataclasses.replace(CHAIN, voice=voice)
    film = done(edits.set_voice_chain(film, "s1", chain))
    copied = done(edits.copy_voice_chain(film, "s1", voice))
    assert copied.scene("s2").content.voice_chains == (chain,)
    assert copied.scene("s3").content.voice_chains == ()
    refused(edits.copy_voice_chain, locked(film, "s2"), "s1", voice, code="edit.nothing")


def test_levels_of_several_scenes_are_one_step():
    film, _ = _spoken()
    edit = edits.set_levels(film, {"s1": {"clips": {"c10": -3.5, "c12": 2.0}}, "s2": {"clips": {"c21": 6.0}}})
    after = done(edit)
    gains = [[clip.sound.gain_db for clip in scene.content.clips] for scene in after.scenes]
    assert gains == [[-3.5, 0.0, 2.0], [0.0, 6.0, 0.0], [0.0, 0.0, 0.0]]
    assert [scene.content.voices_levelled for scene in after.scenes] == [True, True, False]
    assert edit.change.entries == ("s1", "s2")


def test_levels_set_the_music_of_cues():
    film = done(edits.add_cue(FILM, "s1", 0, 100, file="music/slack water.flac"))
    candidate = film.scene("s1").content.cues[0].candidates[0].id
    after = done(edits.set_levels(film, {"s1": {"candidates": {candidate: -12.25}}}))
    assert after.scene("s1").content.cues[0].candidates[0].gain_db == -12.25


def test_a_levelling_is_made_whole_or_not_at_all():
    film, _ = _spoken()
    gains = {"s1": {"clips": {"c10": -3.5}}, "s2": {"clips": {"c21": 99.0}}}
    refused(edits.set_levels, film, gains, code="edit.value")
    refused(edits.set_levels, film, {"s1": {"clips": {"c99": 1.0}}}, code="edit.unknown")
    refused(edits.set_levels, locked(film, "s2"), {"s2": {"clips": {"c21": 1.0}}}, code="edit.locked")
    refused(edits.set_levels, film, {}, code="edit.nothing")


def test_what_is_done_to_voices_is_in_the_change_list():
    film, voice = _spoken()
    before = film.scene("s1").content
    after = edits.set_voice_chain(film, "s1", dataclasses.replace(CHAIN, voice=voice)).after
    after = edits.set_voices_offset(after, "s1", -2).after
    lines = change_list(before, after.scene("s1").content, film.rate)
    assert lines == (
        "Voices: offset 0 → −2 LU",
        f"Voices: {voice} low cut 80 Hz; 2 dB at 3000 Hz, q 1; compression gentle",
    )


def test_an_offset_beyond_reason_is_refused():
    with pytest.raises(EditError, match="LU"):
        edits.set_voices_offset(FILM, "s1", 100)
