"""The session: every edit is done, undone and done again, and undoing can't fail."""

import dataclasses

import pytest

from desk.film import edits
from desk.film.model import Film, Join, JoinKind, ReviewCopy
from desk.ui.session import Session, several
from tests.film.editing import locked, ready
from tests.film.films import locked_media, small_film

FILM = small_film()
DAY = "2026-03-01"
DISSOLVE = Join(kind=JoinKind.DISSOLVE, before_frames=4, after_frames=4)

EDITS = {
    "move": lambda film: edits.move(film, ["s2"], 0),
    "set aside": lambda film: edits.set_aside(film, ["s2"]),
    "join": lambda film: edits.set_join(film, film.order[0].entry, DISSOLVE),
    "insert scene": lambda film: edits.insert_scene(film, 1, slugline="EXT. PIER - DAY"),
    "insert card": lambda film: edits.insert_card(film, 0, lines=("Part one",)),
    "duplicate": lambda film: edits.duplicate_scene(film, "s2"),
    "delete": lambda film: edits.delete_entry(film, "s2"),
    "renumber": lambda film: edits.renumber(film, "s2", "9B"),
    "story": lambda film: edits.edit_story(film, "s2", purpose="They meet"),
    "proof": lambda film: edits.add_proof(film, "s2", DAY),
    "grade note": lambda film: edits.set_grade_note(film, "s2", "colder"),
    "lock": lambda film: edits.lock(film, "s2", DAY, locked_media(film.scene("s2").content), "trial"),
    "film": lambda film: edits.edit_film(film, title="Another"),
    "fades": lambda film: edits.set_fades(film, 12, 12),
}


@pytest.fixture
def session(qapp, tmp_path):
    made = Session(FILM, tmp_path)
    yield made
    made.deleteLater()


@pytest.mark.parametrize("make", EDITS.values(), ids=EDITS)
def test_an_edit_is_done_undone_and_done_again(session, make):
    seen: list[Film] = []
    session.changed.connect(lambda film, change: seen.append(film))
    assert session.do(make)
    after = session.film
    assert after == make(FILM).after
    session.stack.undo()
    assert session.film == FILM
    session.stack.redo()
    assert session.film == after
    assert seen == [after, FILM, after]


def test_the_undo_text_says_what_it_undoes(session):
    session.do(EDITS["move"])
    assert session.stack.undoText() == make_text("move")


def make_text(name: str) -> str:
    return EDITS[name](FILM).text


def test_undoing_a_set_aside_is_told_as_putting_back(session):
    kinds = []
    session.changed.connect(lambda film, change: kinds.append(change.kind))
    session.do(EDITS["set aside"])
    session.stack.undo()
    assert kinds == [edits.ChangeKind.SET_ASIDE, edits.ChangeKind.PUT_BACK]


def test_a_refused_edit_changes_nothing_and_is_told(session, qtbot):
    with qtbot.waitSignal(session.refused) as told:
        assert not session.do(lambda film: edits.move(film, ["no such"], 0))
    assert "no such" in told.args[0].message
    assert session.film is FILM
    assert session.stack.count() == 0


def test_an_edit_that_changes_nothing_leaves_no_step(session):
    assert session.do(lambda film: edits.edit_film(film, title=film.title))
    assert session.stack.count() == 0


def test_what_is_typed_is_one_step_until_the_gesture_ends(session):
    for purpose in ("T", "Th", "The"):
        session.do(lambda film, text=purpose: edits.edit_story(film, "s2", purpose=text), merge="purpose s2")
    assert session.stack.count() == 1
    session.end_gesture()
    session.do(lambda film: edits.edit_story(film, "s2", purpose="They"), merge="purpose s2")
    assert session.stack.count() == 2
    session.stack.undo()
    session.stack.undo()
    assert session.film == FILM


def test_typing_back_to_what_was_there_leaves_no_step(session):
    before = FILM.scene("s2").purpose
    for purpose in ("T", before):
        session.do(lambda film, text=purpose: edits.edit_story(film, "s2", purpose=text), merge="purpose s2")
    assert session.stack.count() == 0
    assert session.film == FILM


def test_a_review_copy_is_a_fact_that_undoing_keeps(session):
    session.do(EDITS["move"])
    copy = ReviewCopy(number=1, date=DAY, file="copies/film-review-001.mp4", frames=100)
    session.enter_copy(copy)
    session.stack.undo()
    assert session.film == dataclasses.replace(FILM, review_copies=(copy,))
    session.stack.redo()
    assert session.film.review_copies == (copy,)
    assert [item.entry for item in session.film.order] == [item.entry for item in make_moved().order]


def make_moved() -> Film:
    return EDITS["move"](FILM).after


def test_a_film_that_is_read_only_refuses_with_the_reason(qapp, tmp_path, qtbot):
    session = Session(FILM, tmp_path, read_only="It is open elsewhere.")
    with qtbot.waitSignal(session.refused) as told:
        assert not session.do(EDITS["move"])
    assert "open elsewhere" in told.args[0].message
    session.deleteLater()


def test_several_edits_are_one_step_or_none(session):
    both = several("Name and move", [EDITS["renumber"], EDITS["move"]])
    assert session.do(both)
    assert session.stack.count() == 1
    assert session.stack.undoText() == "Name and move"
    session.stack.undo()
    assert session.film == FILM
    assert not session.do(several("Move and fail", [EDITS["move"], lambda film: edits.move(film, ["x"], 0)]))
    assert session.film == FILM


def test_an_edit_of_another_film_is_our_own_mistake(session):
    edit = EDITS["move"](ready(FILM, "s2"))
    with pytest.raises(ValueError, match="another film"):
        session.apply(edit)


def test_a_locked_scene_refuses_what_its_lock_closes_over(session):
    made = Session(locked(FILM, "s2"), session.folder)
    assert not made.do(lambda film: edits.set_grade_note(film, "s2", "warm"))
    assert made.do(lambda film: edits.edit_story(film, "s2", purpose="Still allowed"))
    made.deleteLater()
