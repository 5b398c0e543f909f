"""Making edits in tests, and what must hold for each."""

import dataclasses

import pytest

from desk.errors import EditError
from desk.film import edits
from desk.film.edits import Edit
from desk.film.faults import faults
from desk.film.model import (
    CameraLook,
    Film,
)
from tests.film.films import locked_media, small_film

DAY = "2026-03-01"
FILM = small_film()


def order(film: Film) -> str:
    return " ".join(placement.entry for placement in film.order)


def done(edit: Edit) -> Film:
    """The film after an edit, which must be allowed and take itself back."""
    assert faults(edit.after) == ()
    assert edit.inverse().after == edit.before
    assert edit.inverse().inverse() == edit
    return edit.after


def locked(film: Film, scene_id: str) -> Film:
    scene = film.scene(scene_id)
    return done(edits.lock(film, scene_id, DAY, locked_media(scene.content), "for the test"))


def refused(call, *args, code: str, **kwargs) -> str:
    with pytest.raises(EditError) as caught:
        call(*args, **kwargs)
    assert caught.value.code == code
    assert caught.value.advice
    assert caught.value.exit_code == 2
    return caught.value.message


def ready(film: Film, scene_id: str) -> Film:
    """The film with all that a lock asks settled in a scene."""
    film = done(edits.set_voices_levelled(film, scene_id))
    film = done(edits.set_grade_note(film, scene_id, "plain"))
    if not film.scene(scene_id).content.cues:
        film = done(edits.declare_no_music(film, scene_id))
    return done(edits.add_proof(film, scene_id, DAY))


def camera_film() -> Film:
    film = done(edits.edit_film(FILM, camera_looks=(CameraLook(id="l1", name="Small camera"),)))
    content = film.scene("s2").content
    clips = tuple(dataclasses.replace(clip, camera="l1") for clip in content.clips)
    return done(edits.set_content(film, "s2", dataclasses.replace(content, clips=clips), "Name the camera"))
