"""What is shared while a scene is cut: playhead, selection, and a drag that is no edit yet."""

import functools

from desk.film import edits
from desk.film.model import Film
from desk.film.timing import content_frames
from desk.ui.cutting.cut import Loop
from tests.film.films import small_film
from tests.ui.conftest import MakeBench


def _cut_scene(film: Film) -> str:
    """Return a draft of the running order with two clips or more."""
    ordered = {place.entry for place in film.order}
    return next(
        scene.id
        for scene in film.scenes
        if scene.id in ordered and not scene.lock and len(scene.content.clips) > 1
    )


def _trim(scene_id: str, clip_id: str, frames: int):
    return functools.partial(
        lambda film: edits.trim_tail(film, scene_id, clip_id, frames, source_seconds={}),
    )


def test_playheads_of_film_and_scene_go_together(make_bench: MakeBench) -> None:
    bench = make_bench(small_film())
    scene_id = _cut_scene(bench.session.film)
    bench.cut.open(scene_id)
    start = bench.cut.film_frame
    assert start is not None
    bench.cut.go_to(5)
    assert bench.choice.frame == start + 5
    bench.choice.go_to(start + 2)
    assert bench.cut.frame == 2
    bench.choice.go_to(0)
    assert bench.cut.frame == 2, "elsewhere in the film, the scene's own stays"


def test_playhead_stays_on_the_picture(make_bench: MakeBench) -> None:
    bench = make_bench(small_film())
    bench.cut.open(_cut_scene(bench.session.film))
    bench.cut.go_to(10**6)
    assert bench.cut.frame == content_frames(bench.cut.content) - 1
    bench.cut.go_to(-3)
    assert bench.cut.frame == 0


def test_drag_is_an_edit_only_when_taken(make_bench: MakeBench) -> None:
    bench = make_bench(small_film())
    film = bench.session.film
    scene_id = _cut_scene(film)
    bench.cut.open(scene_id)
    clip = bench.cut.content.clips[0]
    for frames in (1, 2, 1):
        bench.cut.attempt(_trim(scene_id, clip.id, frames), edge=clip.length_frames - frames, words="tail")
    assert bench.session.film is film
    assert bench.cut.content.clips[0].length_frames == clip.length_frames - 1
    assert bench.cut.take()
    assert bench.session.film.scene(scene_id).content.clips[0].length_frames == clip.length_frames - 1
    assert bench.session.stack.count() == 1
    bench.session.stack.undo()
    assert bench.session.film == film


def test_refused_drag_keeps_what_was_allowed_and_says_why(make_bench: MakeBench) -> None:
    bench = make_bench(small_film())
    scene_id = _cut_scene(bench.session.film)
    bench.cut.open(scene_id)
    clip = bench.cut.content.clips[0]
    bench.cut.attempt(_trim(scene_id, clip.id, 1))
    bench.cut.attempt(_trim(scene_id, clip.id, clip.length_frames))
    trial = bench.cut.trial
    assert trial is not None
    assert "trimmed off" in trial.refusal
    assert bench.cut.content.clips[0].length_frames == clip.length_frames - 1
    bench.cut.give_up()
    assert bench.cut.trial is None
    assert bench.cut.content.clips[0] == clip
    assert not bench.cut.take(), "what was given up is not made later"


def test_selection_is_in_the_order_of_the_scene_and_lets_go_of_what_went(make_bench: MakeBench) -> None:
    bench = make_bench(small_film())
    scene_id = _cut_scene(bench.session.film)
    bench.cut.open(scene_id)
    first, second = (clip.id for clip in bench.cut.content.clips[:2])
    bench.cut.select((second, first, "nobody"), main=first)
    assert bench.cut.selection == (first, second)
    assert bench.cut.main == first
    bench.session.do(lambda film: edits.remove_clips(film, scene_id, (first,), close=True))
    assert bench.cut.selection == (second,)
    assert bench.cut.main == second
    bench.cut.toggle(second)
    assert bench.cut.selection == ()


def test_what_undoing_brings_back_is_selected_again(make_bench: MakeBench) -> None:
    bench = make_bench(small_film())
    scene_id = _cut_scene(bench.session.film)
    bench.cut.open(scene_id)
    first, second = (clip.id for clip in bench.cut.content.clips[:2])
    bench.cut.select((first, second), main=first)
    bench.session.do(lambda film: edits.remove_clips(film, scene_id, (first,), close=True))
    bench.cut.select((second,))
    bench.session.do(lambda film: edits.edit_story(film, scene_id, purpose="The lamp goes out."))
    assert bench.cut.selection == (second,)
    bench.session.stack.undo()
    assert bench.cut.selection == (second,), "nothing came back yet"
    bench.session.stack.undo()
    assert (bench.cut.selection, bench.cut.main) == ((first, second), first)
    bench.cut.select((second,))
    bench.session.stack.redo()
    bench.session.stack.undo()
    assert bench.cut.selection == (second,), "it was not in hand when it went"


def test_loop_is_cut_to_the_scene(make_bench: MakeBench) -> None:
    bench = make_bench(small_film())
    bench.cut.open(_cut_scene(bench.session.film))
    bench.cut.set_loop(-5, 10**6)
    assert bench.cut.loop == Loop(0, content_frames(bench.cut.content))
    bench.cut.set_loop(3, 3)
    assert bench.cut.loop is None


def test_another_scene_begins_with_nothing_in_hand(make_bench: MakeBench) -> None:
    bench = make_bench(small_film())
    film = bench.session.film
    scene_id = _cut_scene(film)
    bench.cut.open(scene_id)
    clip = bench.cut.content.clips[0]
    bench.cut.select((clip.id,))
    bench.cut.attempt(_trim(scene_id, clip.id, 1))
    other = next(scene.id for scene in film.scenes if scene.id != scene_id)
    bench.cut.open(other)
    assert (bench.cut.selection, bench.cut.trial, bench.cut.loop) == ((), None, None)
