"""The frame of a scene's sheet: what it says, how it folds, how it is reached, and when it is read only."""

import dataclasses

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication, QLabel, QLineEdit, QVBoxLayout, QWidget

from desk.film import edits
from desk.film.locking import Part
from desk.film.model import LockedVersion, Scene
from desk.film.problem import MediaTrouble
from desk.ui.look.marks import Mark
from desk.ui.scene.header import meaning
from desk.ui.scene.sheet import SceneSheet
from desk.ui.scene.tab_order import tab_down
from desk.ui.status import SceneStatus
from tests.film.editing import locked, ready
from tests.film.films import small_film
from tests.ui.scene_sheets import focusable, name_of, notices, open_sheet, tab_through, unfold
from tests.ui.tabbing import tab_stops

FILM = small_film()
IN_ORDER = (Part.STORY, Part.PICTURE, Part.DIALOGUE, Part.MUSIC, Part.GRADE, Part.PROOFS)


def shown_parts(sheet: SceneSheet) -> list[Part]:
    return [part for part, frame in sheet.frames.items() if frame.is_unfolded]


def with_purpose(film):
    return edits.edit_story(film, "s4", purpose="The lamp goes out.")


def test_the_parts_stand_in_the_order_of_the_craft(qtbot, make_bench):
    sheet = open_sheet(qtbot, make_bench(FILM), "s2")
    assert tuple(sheet.frames) == IN_ORDER
    tops = [frame.y() for frame in sheet.frames.values()]
    assert tops == sorted(tops)


def test_the_first_part_with_something_open_is_unfolded(qtbot, make_bench):
    sheet = open_sheet(qtbot, make_bench(FILM), "s4")
    assert shown_parts(sheet) == [Part.STORY]
    sheet = open_sheet(qtbot, make_bench(with_purpose(FILM).after), "s4")
    assert shown_parts(sheet) == [Part.DIALOGUE]


def test_what_is_open_stands_after_the_title_and_unfolded_above_the_body(qtbot, make_bench):
    sheet = open_sheet(qtbot, make_bench(FILM), "s2")
    fold = sheet.frames[Part.GRADE].fold
    assert (fold.is_open, fold.line) == (True, "It has no grade note.")
    assert name_of(fold) == "Grade, open: It has no grade note."
    unfold(sheet, Part.GRADE)
    lines = [label for label in sheet.frames[Part.GRADE].findChildren(QLabel) if label.isVisible()]
    assert "It has no grade note." in [label.text() for label in lines]


def test_a_settled_part_says_why_in_its_line(qtbot, make_bench):
    sheet = open_sheet(qtbot, make_bench(FILM), "s2")
    fold = sheet.frames[Part.STORY].fold
    assert not fold.is_open
    assert fold.line == "what changes: A ticket comes back that has not been printed yet. · tension 3"


@pytest.mark.parametrize("key", [Qt.Key.Key_Space, Qt.Key.Key_Return, Qt.Key.Key_Enter])
def test_keys_fold_and_unfold_and_keep_the_focus(qtbot, make_bench, key):
    bench = make_bench(FILM)
    sheet = open_sheet(qtbot, bench, "s2")
    fold = sheet.frames[Part.STORY].fold
    fold.setFocus()
    qtbot.keyClick(fold, key)
    assert sheet.story.isVisible()
    assert fold.accessibleDescription() == "Unfolded"
    qtbot.keyClick(fold, key)
    assert not sheet.story.isVisible()
    assert fold.hasFocus()
    assert bench.session.stack.count() == 0


def test_a_click_folds(qtbot, make_bench):
    sheet = open_sheet(qtbot, make_bench(FILM), "s2")
    fold = sheet.frames[Part.STORY].fold
    qtbot.mouseClick(fold, Qt.MouseButton.LeftButton)
    assert sheet.story.isVisible()


def test_what_the_person_folds_stays_and_goes_with_them(qtbot, make_bench):
    bench = make_bench(FILM)
    sheet = open_sheet(qtbot, bench, "s4")
    sheet.frames[Part.STORY].fold.click()
    sheet.frames[Part.GRADE].fold.click()
    assert shown_parts(sheet) == [Part.GRADE]
    bench.session.do(lambda film: edits.edit_story(film, "s4", synopsis="Night."))
    assert shown_parts(sheet) == [Part.GRADE]
    bench.choice.choose("s3")
    # Story is open there too, but was folded; Picture is the next that is.
    assert shown_parts(sheet) == [Part.PICTURE, Part.GRADE]


def test_a_part_that_gets_settled_stays_unfolded(qtbot, make_bench):
    bench = make_bench(FILM)
    sheet = open_sheet(qtbot, bench, "s4")
    bench.session.do(with_purpose)
    assert not sheet.frames[Part.STORY].fold.is_open
    assert shown_parts(sheet) == [Part.STORY]


def test_a_folded_body_shows_the_scene_as_it_is_when_it_is_unfolded(qtbot, make_bench):
    bench = make_bench(FILM)
    sheet = open_sheet(qtbot, bench, "s2")
    bench.session.do(lambda film: edits.edit_story(film, "s2", synopsis="Rain."))
    unfold(sheet, Part.STORY)
    assert sheet.story.synopsis.edit.toPlainText() == "Rain."


def test_focus_part_unfolds_it_brings_it_to_the_top_and_focuses_it(qtbot, make_bench):
    sheet = open_sheet(qtbot, make_bench(FILM), "s2", size=(700, 400))
    unfold(sheet)
    sheet.focus_part(Part.DIALOGUE)
    frame = sheet.frames[Part.DIALOGUE]
    assert frame.fold.hasFocus()
    qtbot.waitUntil(lambda: 0 <= frame.mapTo(sheet, frame.rect().topLeft()).y() < 150)


def test_a_part_that_is_gone_to_stays_in_view_while_the_page_gets_its_height(qtbot, make_bench):
    sheet = open_sheet(qtbot, make_bench(FILM), "s2", size=(700, 600))
    frame = sheet.frames[Part.PROOFS]
    sheet.focus_part(Part.PROOFS)
    QApplication.processEvents()
    # As words do that are wrapped, and pictures that come late.
    sheet.frames[Part.STORY].setMinimumHeight(700)
    view = frame.parentWidget().parentWidget()
    qtbot.waitUntil(lambda: sheet.frames[Part.STORY].height() >= 700)

    def is_whole() -> bool:
        top = frame.mapTo(view, frame.rect().topLeft()).y()
        return top >= 0 and top + frame.height() <= view.height()

    qtbot.waitUntil(is_whole, timeout=1000)
    sheet._scroll.verticalScrollBar().setValue(0)
    qtbot.waitUntil(lambda: not sheet._arrival_timer.isActive())
    sheet._scroll.verticalScrollBar().setValue(0)
    sheet.frames[Part.STORY].setMinimumHeight(800)
    qtbot.waitUntil(lambda: sheet.frames[Part.STORY].height() >= 800)
    QApplication.processEvents()
    assert sheet._scroll.verticalScrollBar().value() == 0, "later on the person scrolls as they like"


@pytest.mark.parametrize("folded", [False, True])
def test_a_scene_with_nothing_open_shows_its_picture_unless_the_person_folded_it(qtbot, make_bench, folded):
    bench = make_bench(locked(ready(FILM, "s2"), "s2"))
    sheet = open_sheet(qtbot, bench, "s1")
    if folded:
        unfold(sheet)
        for frame in sheet.frames.values():
            frame.fold.click()
    bench.choice.choose("s2")
    assert not any(frame.fold.is_open for frame in sheet.frames.values())
    assert shown_parts(sheet) == ([] if folded else [Part.PICTURE])


def test_the_header_says_number_slugline_state_and_what_to_do(qtbot, make_bench):
    sheet = open_sheet(qtbot, make_bench(FILM), "s2")
    header = sheet.header
    assert name_of(header.name) == "Scene 2 INT. KIOSK - DAY"
    assert header.mark.mark is Mark.DRAFT
    assert header.mark.accessibleName() == "Draft"
    assert header.text.text() == "Draft"
    assert header.more.text() == "4 things to settle before it is locked"
    assert header.button.text() == "Lock…"


def test_the_header_of_a_locked_scene(qtbot, make_bench):
    sheet = open_sheet(qtbot, make_bench(locked(ready(FILM, "s2"), "s2")), "s2")
    assert sheet.header.text.text() == "Locked"
    assert sheet.header.more.text() == "version 1, locked 1 Mar 2026; 1 proof of it"
    assert sheet.header.mark.mark is Mark.LOCKED
    assert sheet.header.button.text() == "Unlock…"
    assert not sheet.broken.isVisible()


def test_a_scene_without_footage_and_without_slugline(qtbot, make_bench):
    film = edits.edit_story(FILM, "s3", slugline="").after
    sheet = open_sheet(qtbot, make_bench(film), "s3")
    assert sheet.header.mark.mark is Mark.SLATE
    assert sheet.header.text.text() == "Set aside"
    assert sheet.header.more.text().startswith("Draft, no footage yet; ")


def test_a_scene_set_aside_says_why(qtbot, make_bench):
    bench = make_bench(FILM)
    sheet = open_sheet(qtbot, bench, "s2")
    bench.session.do(lambda film: edits.set_aside(film, ["s2"], "It slows the middle."))
    assert sheet.header.text.text() == "Set aside: It slows the middle."
    bench.session.stack.undo()
    assert sheet.header.text.text() == "Draft"


@pytest.mark.parametrize(
    ("broken", "text"),
    [
        (
            ("Its file “footage/4A/C0041.MP4” is not the one that was locked.",),
            "Lock broken: “C0041.MP4” is not the one that was locked.",
        ),
        (
            ("Its content is not what was locked.", "Its file “footage/4A/C0041.MP4” is missing."),
            "Lock broken: its content is not what was locked. And 1 more.",
        ),
    ],
)
def test_a_broken_lock_in_words(broken, text):
    film = locked(FILM, "s2")
    lock = film.scene("s2").lock
    media = (dataclasses.replace(lock.media[0], path="footage/4A/C0041.MP4"),)
    scene = dataclasses.replace(film.scene("s2"), lock=dataclasses.replace(lock, media=media, version=3))
    said = meaning(film, scene, SceneStatus(mark=Mark.BROKEN, open=(), asked=(), broken=broken))
    assert said.text == text
    assert said.kind == "fault"
    assert said.more == "version 3, locked 1 Mar 2026; no proof of it"


def test_the_parts_of_a_locked_scene_say_once_that_they_are_closed(qtbot, make_bench):
    bench = make_bench(locked(FILM, "s2"))
    sheet = open_sheet(qtbot, bench, "s2")
    unfold(sheet)
    words = "Locked. Unlock to change picture, sound or grade."
    shown = [label for label in sheet.findChildren(QLabel) if label.text() == words and label.isVisible()]
    assert len(shown) == 1
    assert sheet.frames[Part.STORY].y() < shown[0].y() < sheet.frames[Part.PICTURE].y()
    bench.session.do(lambda film: edits.unlock(film, "s2", "2026-03-02"))
    assert not shown[0].isVisible()


def test_every_control_has_a_name(qtbot, make_bench):
    film = locked(ready(FILM, "s2"), "s2")
    for bench, scene_id in ((make_bench(FILM), "s1"), (make_bench(FILM), "s3"), (make_bench(film), "s2")):
        sheet = open_sheet(qtbot, bench, scene_id)
        unfold(sheet)
        controls = list(focusable(sheet))
        assert len(controls) > 12
        unnamed = [widget for widget in controls if not name_of(widget)]
        assert not unnamed


def test_tab_goes_down_the_page(qtbot, make_bench):
    sheet = open_sheet(qtbot, make_bench(FILM), "s1")
    unfold(sheet)
    sheet.header.button.setFocus()
    visited = [sheet.header.button, *tab_through(sheet)]
    sections = [sheet.header, *sheet.frames.values()]
    places = [
        next(at for at, section in enumerate(sections) if section.isAncestorOf(widget))
        for widget in dict.fromkeys(visited)
    ]
    assert places == sorted(places)
    assert set(places) == set(range(len(sections)))
    # What stands inside another control, such as the field of a spin box, is reached with it.
    unreached = [
        widget
        for widget in focusable(sheet)
        if widget.isEnabled() and not any(seen is widget or seen.isAncestorOf(widget) for seen in visited)
    ]
    assert not unreached


def test_tab_within_story_goes_down_the_page(qtbot, make_bench):
    sheet = open_sheet(qtbot, make_bench(FILM), "s3")
    story = sheet.story
    sheet.frames[Part.STORY].fold.setFocus()
    expected = [
        story.number.edit,
        story.slugline.edit,
        story.purpose.edit,
        story.synopsis.edit,
        story.tension,
        story.picture.choose,
        story.planned.edit,
    ]
    for widget in expected:
        qtbot.keyClick(QApplication.focusWidget(), Qt.Key.Key_Tab)
        assert QApplication.focusWidget() is widget


def test_tab_is_put_in_order_from_a_control_of_the_page_itself(qtbot):
    page = QWidget()
    qtbot.addWidget(page)
    lower, middle, upper = QLineEdit(page), QLineEdit(page), QLineEdit(page)
    column = QVBoxLayout(page)
    for field in (upper, middle, lower):
        column.addWidget(field)
    tab_down(upper, page)
    page.show()
    upper.setFocus()
    assert tab_stops(page) == [upper, middle, lower]


def test_a_film_that_is_read_only_says_why_nothing_can_be_changed(qtbot, make_bench):
    bench = make_bench(FILM)
    bench.session.read_only = "It is open in another window."
    heard = notices(bench)
    sheet = open_sheet(qtbot, bench, "s3")
    unfold(sheet, Part.STORY, Part.PROOFS)
    story, proofs = sheet.story, sheet.proofs
    for widget in (sheet.header.button, proofs.add, proofs.lock, story.tension, story.picture.choose):
        assert not widget.isEnabled()
        assert widget.toolTip() == "It is open in another window."
    for field in (story.number, story.slugline, story.purpose, story.synopsis, story.planned):
        assert field.edit.isReadOnly()
        assert field.edit.toolTip() == "It is open in another window."
    for does in (sheet.lock, sheet.lock_now, sheet.add_proof):
        does()
    assert heard == ["Nothing was changed. It is open in another window."] * 3
    assert bench.session.film == FILM


def test_when_the_scene_is_gone_the_film_is_chosen(qtbot, make_bench):
    bench = make_bench(FILM)
    sheet = open_sheet(qtbot, bench, "s2")
    unfold(sheet)
    bench.session.do(lambda film: edits.delete_entry(film, "s2"))
    assert bench.choice.entry == ""
    bench.session.stack.undo()
    bench.choice.choose("s2")
    assert sheet.scene_id == "s2"


def test_a_scene_that_goes_while_another_is_chosen_changes_no_choice(qtbot, make_bench):
    bench = make_bench(FILM)
    open_sheet(qtbot, bench, "s2")
    bench.choice.choose("")
    bench.choice.choose("s4")
    bench.session.do(lambda film: edits.delete_entry(film, "s2"))
    assert bench.choice.entry == "s4"


def test_it_follows_its_scene_and_the_film_and_nothing_else(qtbot, make_bench, monkeypatch):
    bench = make_bench(FILM)
    sheet = open_sheet(qtbot, bench, "s2")
    told: list[Scene] = []
    show = sheet.header.show_scene
    monkeypatch.setattr(sheet.header, "show_scene", lambda scene: (told.append(scene), show(scene)))
    bench.session.do(lambda film: edits.edit_story(film, "s4", purpose="Other."))
    bench.session.do(lambda film: edits.move(film, ["s4"], 0))
    assert told == []
    bench.session.do(lambda film: edits.renumber(film, "s2", "2B"))
    bench.session.do(lambda film: edits.edit_film(film, title="Other"))
    assert [scene.number for scene in told] == ["2B", "2B"]
    assert sheet.header.name.text() == "2B INT. KIOSK - DAY"


def test_a_missing_file_is_told_when_it_is_known(qtbot, make_bench):
    bench = make_bench(FILM)
    sheet = open_sheet(qtbot, bench, "s2")
    assert not sheet.frames[Part.PICTURE].fold.is_open
    bench.media.look()
    qtbot.waitUntil(lambda: isinstance(bench.media.facts.get("footage/2/ticket.mov"), MediaTrouble))
    fold = sheet.frames[Part.PICTURE].fold
    assert fold.is_open
    assert "1 file missing: “footage/2/ticket.mov”." in (*fold.toolTip().split("\n"), fold.line)
    unfold(sheet, Part.PICTURE)
    frame = sheet.frames[Part.PICTURE]
    words = [
        text for item in frame.findChildren(QLabel) if item.isVisible() for text in item.text().split("\n")
    ]
    told = [text.replace("\u200b", "") for text in words if "ticket.mov" in text and "missing" in text]
    assert told == ["“footage/2/ticket.mov” is missing. Connect its disk, or say where it is now."]


def test_proofs_that_the_film_asks_for_count_at_once(qtbot, make_bench):
    bench = make_bench(ready(FILM, "s2"))
    sheet = open_sheet(qtbot, bench, "s2")
    assert sheet.header.more.text() == "Ready to be locked."
    delivery = dataclasses.replace(FILM.delivery, proofs_needed=2)
    bench.session.do(lambda film: edits.edit_film(film, delivery=delivery))
    assert sheet.frames[Part.PROOFS].fold.is_open
    assert sheet.header.more.text() == "1 thing to settle before it is locked"


def test_a_long_slugline_is_cut_and_told_in_full(qtbot, make_bench):
    slugline = "EXT. THE FAR END OF THE OLD BREAKWATER BEHIND THE COAL YARD - MAGIC HOUR"
    film = edits.edit_story(FILM, "s2", slugline=slugline).after
    sheet = open_sheet(qtbot, make_bench(film), "s2", size=(420, 600))
    assert sheet.header.name.toolTip() == f"2 {slugline}"
    assert sheet.width() == 420


def test_words_of_the_film_are_shown_as_they_are(qtbot, make_bench):
    film = edits.edit_story(FILM, "s2", purpose="<b>bold</b>", slugline="<i>INT.</i>").after
    sheet = open_sheet(qtbot, make_bench(film), "s2")
    unfold(sheet)
    plain = [label for label in sheet.findChildren(QLabel) if "<" in label.text()]
    assert plain
    assert all(label.textFormat() is Qt.TextFormat.PlainText for label in plain)


def test_a_narrow_sheet_puts_the_meaning_under_the_name(qtbot, make_bench):
    sheet = open_sheet(qtbot, make_bench(locked(FILM, "s2")), "s2", size=(1000, 600))
    header = sheet.header
    assert header.text.mapTo(sheet, header.text.rect().topLeft()).x() > header.name.x()
    wide = header.height()
    sheet.resize(520, 600)
    text_top = lambda: header.text.mapTo(header, header.text.rect().topLeft()).y()  # noqa: E731
    qtbot.waitUntil(lambda: text_top() > header.name.geometry().bottom())
    assert header.height() > wide


def test_history_grows_old_without_harm(qtbot, make_bench):
    """A scene with many versions and proofs, and one that names nothing, are shown."""
    film = locked(FILM, "s2")
    scene = film.scene("s2")
    past = tuple(
        LockedVersion(
            lock=dataclasses.replace(scene.lock, version=at), content=scene.content, unlocked="2026-03-02"
        )
        for at in range(1, 40)
    )
    many = dataclasses.replace(
        scene, history=past, lock=dataclasses.replace(scene.lock, version=40), number="16LETTERSANDMORE"
    )
    film = dataclasses.replace(film, scenes=tuple(many if s.id == "s2" else s for s in film.scenes))
    sheet = open_sheet(qtbot, make_bench(film), "s2")
    unfold(sheet, Part.PROOFS)
    assert sheet.proofs.history.text() == "39 earlier versions…"
