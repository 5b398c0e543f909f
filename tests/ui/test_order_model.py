"""The models of the running order and of the shelf follow the film through every edit, undo and redo."""

import dataclasses
from random import Random

import pytest
from PySide6.QtCore import QAbstractItemModel, Qt
from PySide6.QtTest import QAbstractItemModelTester

from desk.errors import EditError
from desk.film import edits
from desk.film.model import Film
from desk.film.timecode import format_label, format_length
from desk.film.timing import Include, lay_out
from desk.ui.order.model import OrderModel
from desk.ui.order.shelf_model import ShelfModel
from tests.film.editing import locked, ready
from tests.film.films import LINES, random_join, small_film

FILM = small_film()
FAULTS = QAbstractItemModelTester.FailureReportingMode.Warning
ROOM = Qt.ItemDataRole


class Watched:
    """A model with the signals that it sends, as words."""

    def __init__(self, model: QAbstractItemModel) -> None:
        self.model = model
        self.told: list[str] = []
        model.rowsMoved.connect(self._moved)
        model.rowsInserted.connect(self._inserted)
        model.rowsRemoved.connect(self._removed)
        model.modelReset.connect(self._reset)
        model.dataChanged.connect(self._changed)

    def _moved(self, parent, first, last, to_parent, to) -> None:
        self.told.append(f"moved {first}-{last} to {to}")

    def _inserted(self, parent, first, last) -> None:
        self.told.append(f"inserted {first}-{last}")

    def _removed(self, parent, first, last) -> None:
        self.told.append(f"removed {first}-{last}")

    def _reset(self) -> None:
        self.told.append("reset")

    def _changed(self, first, last, roles) -> None:
        self.told.append(f"changed {first.row()}-{last.row()}" + (" looks" if roles else ""))


def random_edit(random: Random, film: Film):
    """An edit that a person might ask for; some are refused."""
    in_film = [item.entry for item in film.order]
    aside = [item.entry for item in film.aside]
    some = random.sample(in_film, random.randint(1, min(4, len(in_film)))) if in_film else ["none"]
    one = random.choice(in_film + aside or ["none"])
    scene = random.choice([item.id for item in film.scenes] or ["none"])
    place = random.randint(0, len(in_film))
    return random.choice(
        [
            lambda film: edits.move(film, some, random.randint(0, max(0, len(in_film) - len(some)))),
            lambda film: edits.move(film, some, random.randint(0, max(0, len(in_film) - len(some)))),
            lambda film: edits.set_aside(film, some[:2], random.choice(LINES)),
            lambda film: edits.put_back(film, random.sample(aside, random.randint(1, len(aside)))),
            lambda film: edits.put_back_at(film, random.choice(aside), place),
            lambda film: edits.insert_scene(film, place, slugline=random.choice(LINES)),
            lambda film: edits.insert_card(film, place, lines=(random.choice(LINES),)),
            lambda film: edits.duplicate_scene(film, scene),
            lambda film: edits.delete_entry(film, one),
            lambda film: edits.edit_story(film, scene, slugline=random.choice(LINES)),
            lambda film: edits.set_join(film, some[0], random_join(random)),
            lambda film: edits.set_fades(film, random.randint(0, 30), random.randint(0, 30)),
            lambda film: edits.edit_film(film, start_frames=random.randint(0, 90_000)),
        ]
    )


def agree(model: OrderModel, shelf: ShelfModel, film: Film) -> None:
    """What the rows show is what the film holds, reckoned anew."""
    assert model.ids == tuple(item.entry for item in film.order)
    assert shelf.ids == tuple(item.entry for item in film.aside)
    starts = {slot.entry.id: slot.start_frames for slot in lay_out(film, Include.SLATES).slots}
    entries = film.entries()
    for row, entry_id in enumerate(model.ids):
        shown = model.row_at(row)
        assert shown.entry is entries[entry_id]
        assert shown.join == film.order[row].join
        if entry_id in starts:
            label = format_label(film.start_frames + starts[entry_id], film.rate, drop_frame=film.drop_frame)
            assert shown.start == label
    for row, aside in enumerate(film.aside):
        assert shelf.tile_at(row).reason == " ".join(aside.reason.split())


@pytest.mark.parametrize("seed", range(3))
def test_the_rows_are_those_of_the_film_after_any_edit(make_bench, qapp, seed):
    bench = make_bench(FILM)
    model, shelf = OrderModel(bench), ShelfModel(bench)
    testers = [QAbstractItemModelTester(item, FAULTS) for item in (model, shelf)]
    random, session = Random(seed), bench.session
    for _ in range(300):
        what = random.random()
        if what < 0.2:
            session.stack.undo()
        elif what < 0.3:
            session.stack.redo()
        elif what < 0.35:
            session.end_gesture()
        else:
            try:
                edit = random_edit(random, session.film)(session.film)
            except (EditError, ValueError, IndexError):
                continue
            session.apply(edit, merge="a drag" if what < 0.5 else "")
        agree(model, shelf, session.film)
    while session.stack.canUndo():
        session.stack.undo()
    agree(model, shelf, FILM)
    while session.stack.canRedo():
        session.stack.redo()
    agree(model, shelf, session.film)
    del testers


@pytest.fixture
def bench(make_bench):
    return make_bench(FILM)


@pytest.fixture
def watched(bench):
    model = OrderModel(bench)
    yield Watched(model)
    model.deleteLater()


def test_a_move_is_told_as_one_and_only_later_starts_change(bench, watched):
    bench.session.do(lambda film: edits.move(film, ["s4"], 2))
    # Scenes 2 and 4 change places, and scene 1 meets another; the title and the credits start when they did.
    assert watched.told == ["moved 2-2 to 4", "changed 1-3"]
    watched.told.clear()
    bench.session.stack.undo()
    assert watched.told == ["moved 2-2 to 4", "changed 1-3"] or watched.told == [
        "moved 3-3 to 2",
        "changed 1-3",
    ]


def test_words_of_one_scene_change_one_row(bench, watched):
    bench.session.do(lambda film: edits.edit_story(film, "s2", purpose="Another"))
    assert watched.told == ["changed 2-2"]


def test_setting_aside_and_undoing_it_are_told_as_rows(bench, watched):
    bench.session.do(lambda film: edits.set_aside(film, ["k1"]))
    bench.session.stack.undo()
    assert watched.told[0] == "removed 0-0"
    assert "inserted 0-0" in watched.told
    assert "reset" not in watched.told


def test_a_change_elsewhere_tells_nothing(bench, watched):
    bench.session.do(lambda film: edits.edit_film(film, title="Another"))
    bench.session.do(lambda film: edits.edit_story(film, "s3", purpose="It is on the shelf"))
    assert watched.told == []


def test_asking_for_more_proofs_paints_all_rows_again(bench, watched):
    delivery = dataclasses.replace(FILM.delivery, proofs_needed=3)
    bench.session.do(lambda film: edits.edit_film(film, delivery=delivery))
    assert watched.told == ["changed 0-4 looks"]


def test_a_thumbnail_paints_only_rows_of_its_source_again(bench, watched):
    bench.thumbnails.made.emit("footage/2/ticket.mov")
    assert watched.told == ["changed 2-2 looks"]


def test_a_status_paints_only_its_row_again(bench, watched):
    bench.statuses.changed.emit(frozenset({"s4", "s3"}))
    assert watched.told == ["changed 3-3 looks"]


def test_a_row_is_told_for_the_ear(make_bench):
    bench = make_bench(locked(ready(FILM, "s2"), "s2"))
    model = OrderModel(bench)
    spoken = [model.index(row).data(ROOM.AccessibleTextRole) for row in range(5)]
    assert spoken == [
        "Card Title, “The Late Ferry”, 0:03:00",
        "Scene 1, EXT. QUAY - DAWN, draft, 0:05:00, tension 0",
        "Scene 2, INT. KIOSK - DAY, locked, 0:04:00, tension 3",
        "Scene 4, INT. KIOSK - NIGHT, draft, 0:02:12, tension not said",
        "Card Credits, “Crew Camera Ida Holm”, 0:03:00",
    ]
    told = model.index(1).data(ROOM.AccessibleDescriptionRole)
    assert "Starts at 01:00:03:00. Then dissolve 24, handles 72 / –." in told
    assert "It has no grade note." in told
    assert "no purpose" in model.index(3).data(ROOM.ToolTipRole)
    model.deleteLater()


def test_a_tile_is_told_for_the_ear(bench):
    shelf = ShelfModel(bench)
    told = shelf.index(0).data(ROOM.AccessibleTextRole)
    assert told == "Scene 3, EXT. FERRY - DAY, set aside, no footage yet, 0:05:00"
    assert shelf.index(0).data(ROOM.AccessibleDescriptionRole) == "no purpose written"
    assert "no purpose written" in shelf.index(0).data(ROOM.ToolTipRole)
    shelf.deleteLater()


def test_a_scene_is_renamed_in_its_row(bench, watched):
    model = watched.model
    assert model.setData(model.index(2), "INT. KIOSK - NIGHT ", ROOM.EditRole)
    assert bench.session.film.scene("s2").slugline == "INT. KIOSK - NIGHT"
    assert model.setData(model.index(0), "Opening", ROOM.EditRole)
    assert model.index(0).data(ROOM.EditRole) == "Opening"
    bench.session.stack.undo()
    assert model.index(0).data(ROOM.EditRole) == "Title"
    assert not model.setData(model.index(2), 5, ROOM.EditRole)
    assert not model.setData(model.index(9), "x", ROOM.EditRole)


def test_lengths_are_told_in_frames(bench, watched):
    rate = FILM.rate
    assert watched.model.row_at(1).facts.length == format_length(120, rate)
