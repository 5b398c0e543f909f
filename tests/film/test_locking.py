"""What a lock asks, whether it holds, and what differs between two versions."""

import dataclasses

import pytest

from desk.film.locking import Open, Part, broken, proofs_since_change, what_a_lock_asks, what_is_open
from desk.film.model import ClipSound, Delivery, SoundKind
from tests.film.editing import locked, ready
from tests.film.films import HASH, small_film

FILM = small_film()


def parts(film, scene_id, present=lambda path: True) -> list[str]:
    return [item.part.value for item in what_a_lock_asks(film, film.scene(scene_id), present)]


def test_a_lock_asks_for_everything_in_the_order_of_the_craft():
    asks = what_a_lock_asks(FILM, FILM.scene("s2"), lambda path: False)
    assert asks == (
        Open(Part.PICTURE, "1 file missing: “footage/2/ticket.mov”."),
        Open(Part.DIALOGUE, "Its voices are not called level."),
        Open(Part.MUSIC, "It has no music, and is not declared to have none."),
        Open(Part.GRADE, "It has no grade note."),
        Open(Part.PROOFS, "It has no proof since its last change, and 1 is needed."),
    )


def test_what_is_settled_is_not_asked_for():
    assert parts(ready(FILM, "s1"), "s1") == []
    assert parts(ready(FILM, "s2"), "s2") == []


def test_music_is_settled_when_each_cue_has_a_choice_or_there_is_declared_to_be_none():
    content = FILM.scene("s1").content
    (cue,) = content.cues
    undecided = dataclasses.replace(cue, id="m9", label="m2", chosen="", candidates=())

    def asked(**fields) -> str:
        scene = dataclasses.replace(FILM.scene("s1"), content=dataclasses.replace(content, **fields))
        asks = what_a_lock_asks(FILM, scene, lambda path: True)
        return "".join(item.sentence for item in asks if item.part is Part.MUSIC)

    assert asked() == ""
    assert asked(cues=(cue, undecided)) == "No music is chosen for cue m2."
    assert (
        asked(cues=(undecided, dataclasses.replace(undecided, label="")))
        == "No music is chosen for cues m2 and m9."
    )
    assert asked(cues=(undecided,), no_music=True) == ""


def test_only_files_that_are_used_have_to_be_there():
    seen = []
    what_a_lock_asks(FILM, FILM.scene("s1"), lambda path: bool(seen.append(path)) or True)
    assert "music/tide.wav" in seen
    assert "music/fog.wav" not in seen  # tried, not chosen


def test_a_silent_scene_has_no_voices_to_level():
    scene = FILM.scene("s2")
    clips = tuple(
        dataclasses.replace(clip, sound=ClipSound(kind=SoundKind.SILENCE)) for clip in scene.content.clips
    )
    silent = dataclasses.replace(scene, content=dataclasses.replace(scene.content, clips=clips))
    asks = what_a_lock_asks(FILM, silent, lambda path: True)
    assert Part.DIALOGUE not in [item.part for item in asks]


def test_the_set_number_of_proofs_is_needed():
    film = dataclasses.replace(ready(FILM, "s2"), delivery=Delivery(proofs_needed=2))
    (asked,) = what_a_lock_asks(film, film.scene("s2"), lambda path: True)
    assert asked.sentence == "It has 1 proof since its last change, and 2 are needed."
    assert proofs_since_change(film.scene("s2")) == 1
    film = dataclasses.replace(film, delivery=Delivery(proofs_needed=0))
    assert parts(film, "s2") == []


def test_a_scene_without_purpose_is_open_though_a_lock_does_not_ask():
    film = ready(FILM, "s4")
    assert parts(film, "s4") == []
    (story,) = what_is_open(film, film.scene("s4"), lambda path: True)
    assert story.part is Part.STORY
    assert what_is_open(ready(FILM, "s1"), ready(FILM, "s1").scene("s1"), lambda path: True) == ()


def test_an_empty_scene_asks_for_clips():
    assert parts(FILM, "s3")[0] == "picture"


@pytest.mark.parametrize(
    ("current", "told"),
    [
        ((9, HASH), ()),
        (None, ("Its file “footage/2/ticket.mov” is missing or can't be read.",)),
        ((10, HASH), ("Its file “footage/2/ticket.mov” is not the one that was locked.",)),
        ((9, "1" * 32), ("Its file “footage/2/ticket.mov” is not the one that was locked.",)),
    ],
)
def test_a_lock_is_broken_by_its_media(current, told):
    scene = locked(FILM, "s2").scene("s2")
    assert broken(scene, {"footage/2/ticket.mov": current}) == told
    assert broken(scene, {}) == ()
    assert broken(FILM.scene("s2"), {"footage/2/ticket.mov": current}) == ()


def test_a_lock_is_broken_by_its_content():
    scene = locked(FILM, "s2").scene("s2")
    other = dataclasses.replace(scene, content=dataclasses.replace(scene.content, grade_note="warmer"))
    assert broken(other, {}) == ("Its content is not what was locked.",)
    assert broken(dataclasses.replace(scene, slugline="INT. KIOSK - NIGHT", tension=5), {}) == ()
