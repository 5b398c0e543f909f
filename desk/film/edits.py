"""Every edit of a film in one place, for those who make them: the command line and the window.

Each is a pure function from a film to an `Edit`, checks all that it is given first and raises EditError with
a sentence and an advice.
"""

from desk.film.content_edits import (
    add_proof,
    choose_candidate,
    declare_no_music,
    set_content,
    set_grade_note,
    set_voices_levelled,
)
from desk.film.edit import Change, ChangeKind, Edit, IdMaker
from desk.film.entry_edits import (
    CardFields,
    StoryFields,
    delete_entry,
    duplicate_scene,
    edit_card,
    edit_story,
    insert_card,
    insert_scene,
    renumber,
)
from desk.film.film_edits import FilmFields, add_review_copy, edit_film, relink, relink_all, set_fades
from desk.film.lock_edits import bring_back, lock, unlock
from desk.film.order_edits import full_order, move, put_back, put_back_at, set_aside, set_join
from desk.film.scene_numbers import next_whole_number, number_between

__all__ = [
    "CardFields",
    "Change",
    "ChangeKind",
    "Edit",
    "FilmFields",
    "IdMaker",
    "StoryFields",
    "add_proof",
    "add_review_copy",
    "bring_back",
    "choose_candidate",
    "declare_no_music",
    "delete_entry",
    "duplicate_scene",
    "edit_card",
    "edit_film",
    "edit_story",
    "full_order",
    "insert_card",
    "insert_scene",
    "lock",
    "move",
    "next_whole_number",
    "number_between",
    "put_back",
    "put_back_at",
    "relink",
    "relink_all",
    "renumber",
    "set_aside",
    "set_content",
    "set_fades",
    "set_grade_note",
    "set_join",
    "set_voices_levelled",
    "unlock",
]
