"""Random edits on random films: what holds after every one of them, whatever came before."""

import dataclasses
from fractions import Fraction
from random import Random

from hypothesis import given, settings
from hypothesis import strategies as st

from desk.errors import EditError
from desk.film import edits
from desk.film.edits import Edit
from desk.film.faults import faults
from desk.film.model import Card, CardKind, Clip, Delivery, Film, Motion, Person, ReviewCopy, Size
from desk.film.paths import film_paths
from desk.film.rates import FILM_RATES
from tests.film.films import (
    LINES,
    PATHS,
    SPEEDS,
    films,
    locked_media,
    random_clip,
    random_content,
    random_join,
)


def some_edit(name: str, random: Random, film: Film) -> Edit | None:
    """An edit of a kind that a person might ask for, which may be refused; None where there is nothing to
    edit."""
    anything = [placement.entry for placement in film.order] + [aside.entry for aside in film.aside] or ["s0"]
    in_film = [placement.entry for placement in film.order] or anything
    aside = [item.entry for item in film.aside] or anything
    scene_id = random.choice([scene.id for scene in film.scenes] or ["s0"])
    line, path = random.choice(LINES), random.choice(PATHS)
    several = random.sample(in_film, random.randint(1, min(3, len(in_film))))
    index = random.randint(0, len(film.order))
    match name:
        case "move":
            return edits.move(film, several, random.randint(0, max(0, len(film.order) - len(several))))
        case "set_aside":
            return edits.set_aside(film, several, line)
        case "put_back":
            return edits.put_back(film, random.sample(aside, random.randint(1, min(3, len(aside)))))
        case "put_back_at":
            return edits.put_back_at(film, random.choice(aside), index)
        case "set_join":
            return edits.set_join(film, random.choice(in_film), random_join(random))
        case "insert_scene":
            return edits.insert_scene(film, index, slugline=line, tension=random.randint(0, 5))
        case "insert_card":
            return edits.insert_card(film, index, kind=CardKind.CREDITS, motion=Motion.ROLL, lines=(line,))
        case "duplicate_scene":
            return edits.duplicate_scene(film, scene_id)
        case "delete_entry":
            return edits.delete_entry(film, random.choice(anything))
        case "renumber":
            return edits.renumber(film, scene_id, random.choice(["1", "2A", "9", "A1"]))
        case "edit_story":
            return edits.edit_story(film, scene_id, purpose=line, planned_frames=random.randint(0, 99))
        case "edit_card":
            return edits.edit_card(
                film, random.choice([*film.cards, Card(id="k")]).id, name=line, picture=path
            )
        case "edit_film":
            return edits.edit_film(film, title=line, people=(Person(name="x"),), size=Size(640, 360))
        case "delivery":
            return edits.edit_film(film, delivery=Delivery(proofs_needed=random.randint(0, 2)))
        case "rate":
            return edits.edit_film(film, rate=random.choice(FILM_RATES))
        case "drop_frame":
            return edits.edit_film(film, drop_frame=random.random() < 0.5)
        case "camera_looks":
            return edits.edit_film(film, camera_looks=film.camera_looks[: random.randint(0, 1)])
        case "set_fades":
            return edits.set_fades(film, random.randint(0, 30), random.randint(0, 30))
        case "add_proof":
            return edits.add_proof(film, scene_id, "2026-03-05", "Ida", line)
        case "unlock":
            return edits.unlock(film, scene_id, "2026-03-07", line)
        case "bring_back":
            return edits.bring_back(film, scene_id, random.randint(1, 2))
        case "relink":
            return edits.relink(film, random.choice(film_paths(film) or ("x",)), path)
        case "add_review_copy":
            copy = ReviewCopy(
                number=random.randint(1, 5), date="2026-03-08", file=path, frames=9, include="all"
            )
            return edits.add_review_copy(film, copy)
    if not film.scenes:
        return None
    if name == "cut":
        return some_cut(random, film, scene_id)
    return some_content_edit(name, random, film, scene_id)


def some_content_edit(name: str, random: Random, film: Film, scene_id: str) -> Edit | None:
    content = film.scene(scene_id).content
    match name:
        case "set_content":
            made = random_content(random, f"{film.next_id}_", [look.id for look in film.camera_looks])
            return edits.set_content(film, scene_id, made, "Change everything")
        case "add_clip":
            clip = Clip(id=edits.IdMaker(film).new("c"), source=random.choice(PATHS), length_frames=9)
            more = dataclasses.replace(content, clips=(*content.clips, clip))
            return edits.set_content(film, scene_id, more, "Add a clip")
        case "set_grade_note":
            return edits.set_grade_note(film, scene_id, random.choice(LINES))
        case "declare_no_music":
            return edits.declare_no_music(film, scene_id, random.random() < 0.5)
        case "set_voices_levelled":
            return edits.set_voices_levelled(film, scene_id, random.random() < 0.5)
        case "choose_candidate":
            if not content.cues:
                return None
            cue = random.choice(content.cues)
            ids = ["", *(candidate.id for candidate in cue.candidates)]
            return edits.choose_candidate(film, scene_id, cue.id, random.choice(ids))
        case "lock":
            media = locked_media(content)
            return edits.lock(film, scene_id, "2026-03-06", media, random.choice(["", "in a hurry"]))
    raise AssertionError(name)


def some_cut(random: Random, film: Film, scene_id: str) -> Edit | None:
    """An edit of a scene's cut."""
    content = film.scene(scene_id).content
    clips, spots = [clip.id for clip in content.clips], [spot.id for spot in content.spots]
    cues = [cue.id for cue in content.cues]
    clip_id, spot_id, cue_id = (random.choice(ids or ["none"]) for ids in (clips, spots, cues))
    several = random.sample(clips, random.randint(0, len(clips)))
    count, index, path = random.randint(-30, 30), random.randint(0, len(clips)), random.choice(PATHS)
    frame = random.randint(0, 200)
    known = {path: Fraction(random.randint(0, 2000)) for path in random.sample(PATHS, 2)}
    new = [random_clip(random, "none", [look.id for look in film.camera_looks])]
    other_id = random.choice([scene.id for scene in film.scenes])
    candidates = [item.id for cue in content.cues if cue.id == cue_id for item in cue.candidates]
    candidate_id = random.choice(candidates or ["none"])

    def paste() -> Edit:
        return edits.paste_clips(
            film, scene_id, edits.copy_clips(film, other_id, whole(film, other_id)), index
        )

    calls = {
        "trim_head": lambda: edits.trim_head(film, scene_id, clip_id, count),
        "trim_tail": lambda: edits.trim_tail(film, scene_id, clip_id, count, source_seconds=known),
        "move_cut": lambda: edits.move_cut(film, scene_id, clip_id, count, source_seconds=known),
        "slide": lambda: edits.slide(film, scene_id, clip_id, count, source_seconds=known),
        "split": lambda: edits.split(film, scene_id, frame),
        "insert": lambda: edits.insert_clips(film, scene_id, new, index),
        "insert_at": lambda: edits.insert_clips_at(film, scene_id, new, frame),
        "paste": paste,
        "move": lambda: edits.move_clips(film, scene_id, several, random.randint(0, 3)),
        "remove": lambda: edits.remove_clips(film, scene_id, several, close=random.random() < 0.5),
        "set_gap": lambda: edits.set_gap(film, scene_id, clip_id, abs(count)),
        "replace": lambda: edits.replace_source(film, scene_id, clip_id, path, source_seconds=known),
        "speed": lambda: edits.set_speed(film, scene_id, clip_id, random.choice(SPEEDS)),
        "every_frame": lambda: edits.show_every_frame(film, scene_id, clip_id, random.choice(FILM_RATES)),
        "sheet": lambda: edits.edit_clips(film, scene_id, several, note=random.choice(LINES)),
        "sound": lambda: edits.edit_clip_sound(film, scene_id, several, gain_db=count, fade_in_frames=3),
        "recording": lambda: edits.lay_recording(film, scene_id, clip_id, path, Fraction(count, 7)),
        "sound_head": lambda: edits.drag_sound_head(film, scene_id, clip_id, count),
        "sound_tail": lambda: edits.drag_sound_tail(film, scene_id, clip_id, count, sound_seconds=known),
        "add_spot": lambda: edits.add_spot(film, scene_id, path, count, frame),
        "edit_spot": lambda: edits.edit_spot(film, scene_id, spot_id, gain_db=count),
        "move_spots": lambda: edits.move_spots(film, scene_id, spots, count),
        "spot_head": lambda: edits.trim_spot_head(film, scene_id, spot_id, count),
        "spot_tail": lambda: edits.trim_spot_tail(film, scene_id, spot_id, count),
        "remove_spots": lambda: edits.remove_spots(film, scene_id, spots[:1]),
        "add_cue": lambda: edits.add_cue(film, scene_id, count, frame, file=random.choice(["", path])),
        "edit_cue": lambda: edits.edit_cue(film, scene_id, cue_id, length_frames=frame),
        "move_cues": lambda: edits.move_cues(film, scene_id, cues, count),
        "cue_head": lambda: edits.trim_cue_head(film, scene_id, cue_id, count),
        "cue_tail": lambda: edits.trim_cue_tail(film, scene_id, cue_id, count),
        "remove_cues": lambda: edits.remove_cues(film, scene_id, cues[:1]),
        "add_candidate": lambda: edits.add_candidate(film, scene_id, cue_id, path),
        "edit_candidate": lambda: edits.edit_candidate(film, scene_id, cue_id, candidate_id, gain_db=count),
        "remove_candidate": lambda: edits.remove_candidate(film, scene_id, cue_id, candidate_id),
    }
    return calls[random.choice(list(calls))]()


def whole(film: Film, scene_id: str) -> list[str]:
    return [clip.id for clip in film.scene(scene_id).content.clips]


EDITS = [
    *(
        "move",
        "set_aside",
        "put_back",
        "put_back_at",
        "set_join",
        "insert_scene",
        "insert_card",
        "duplicate_scene",
    ),
    *("delete_entry", "renumber", "edit_story", "edit_card", "edit_film", "delivery", "rate", "drop_frame"),
    *("camera_looks", "set_fades", "set_content", "add_clip", "set_grade_note", "declare_no_music"),
    *("set_voices_levelled", "choose_candidate", "add_proof", "lock", "unlock", "bring_back", "relink"),
    "add_review_copy",
    # One name for all cuts, several times, so that they come as often as all the others.
    *["cut"] * 24,
]


STEPS = st.lists(st.tuples(st.sampled_from(EDITS), st.integers(0, 2**32)), min_size=1, max_size=12)


def attempt(name: str, seed: int, film: Film) -> Edit | None:
    """An edit, or None where it was refused or there was nothing to edit."""
    try:
        return some_edit(name, Random(seed), film)
    except EditError as error:
        told = (error.message.endswith("."), bool(error.advice), error.code.startswith("edit."))
    assert told == (True, True, True), name
    return None


@settings(max_examples=200)
@given(films(), STEPS)
def test_any_edits_in_any_order_leave_a_film_without_faults_and_can_be_taken_back(film, steps):
    states, done = [film], []
    for name, seed in steps:
        edit = attempt(name, seed, states[-1])
        if edit is None:
            continue
        assert edit.before is states[-1]
        assert faults(edit.after) == ()
        assert edit.text
        assert edit.text.isprintable()
        placed = [item.entry for item in edit.after.order] + [item.entry for item in edit.after.aside]
        assert sorted(placed) == sorted(edit.after.entries())
        assert edit.after.next_id >= edit.before.next_id
        _only_what_the_change_names(edit)
        done.append(edit)
        states.append(edit.after)
    redone = list(states)
    for edit in reversed(done):
        assert states.pop() == edit.inverse().before
        assert edit.inverse().after == states[-1]
    assert states == [film]
    for edit, state in zip(done, redone[1:], strict=True):
        assert edit.inverse().inverse().after == state


def _only_what_the_change_names(edit: Edit) -> None:
    """Whoever shows the film refreshes only the entries of the change: all others must be as they were."""
    before, after = edit.before.entries(), edit.after.entries()
    named = set(edit.change.entries)
    if edit.change.kind.value == "film":
        return
    assert {key for key in before.keys() & after.keys() if before[key] != after[key]} <= named
    assert before.keys() ^ after.keys() <= named


@settings(max_examples=200)
@given(films(), STEPS)
def test_a_locked_scene_keeps_its_content_through_every_edit(film, steps):
    """All but taking the lock off, and naming a moved file anew, leaves a locked scene's content as it is."""
    for name, seed in steps:
        edit = attempt(name, seed, film)
        if edit is None:
            continue
        for scene in edit.before.scenes:
            if scene.lock is None or edit.change.kind.value == "media":
                continue
            after = edit.after.scene(scene.id)
            assert after.content == scene.content
            assert after.lock == scene.lock or after.history[-1].lock == scene.lock
        film = edit.after


@settings(max_examples=200)
@given(films(), st.data())
def test_what_is_set_aside_comes_back_to_its_place_with_its_join(film, data):
    film = dataclasses.replace(film, aside=(), order=film.order + _as_placements(film))
    aside = film
    for _ in range(data.draw(st.integers(1, 4))):
        ids = [placement.entry for placement in aside.order]
        if ids:
            chosen = data.draw(st.lists(st.sampled_from(ids), min_size=1, max_size=3, unique=True))
            aside = edits.set_aside(aside, chosen).after
    assert edits.full_order(aside) == tuple(placement.entry for placement in film.order)
    while aside.aside:
        ids = [item.entry for item in aside.aside]
        chosen = data.draw(st.lists(st.sampled_from(ids), min_size=1, max_size=3, unique=True))
        aside = edits.put_back(aside, chosen).after
    assert aside == film


def _as_placements(film: Film):
    return tuple(edits.put_back_at(film, item.entry, 0).after.order[0] for item in film.aside)


@given(films(), st.data())
def test_a_block_stands_where_it_was_asked_to(film, data):
    ids = [placement.entry for placement in film.order]
    if not ids:
        return
    moving = data.draw(st.lists(st.sampled_from(ids), min_size=1, max_size=3, unique=True))
    place = data.draw(st.integers(0, len(ids) - len(moving)))
    after = [item.entry for item in edits.move(film, moving, place).after.order]
    assert after[place : place + len(moving)] == [item for item in ids if item in moving]
    assert [item for item in after if item not in moving] == [item for item in ids if item not in moving]
