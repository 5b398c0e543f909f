"""The sheet of a card, through its controls: every edit is done, undone and done again."""

import dataclasses
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from PySide6.QtCore import QMimeData, QPoint, QPointF, Qt, QUrl
from PySide6.QtGui import QColor, QDragEnterEvent, QDropEvent, QGuiApplication, QImage
from PySide6.QtWidgets import (
    QAbstractButton,
    QAbstractItemView,
    QComboBox,
    QHeaderView,
    QLineEdit,
    QPlainTextEdit,
    QSlider,
)

from desk.cards.drawing import draw_backdrop, draw_card
from desk.film import edits
from desk.film.model import (
    Candidate,
    Card,
    CardKind,
    CreditBlock,
    CreditRow,
    Cue,
    Film,
    Motion,
    Person,
    Rights,
    Size,
)
from desk.film.reading import plan_roll
from desk.ui.card.sheet import CardSheet
from desk.ui.card.still import preview_size
from desk.ui.sheet.row_view import Wish
from tests.cards.pixels import decode
from tests.film.films import small_film
from tests.ui.tabbing import out_of_place, tab_stops

LEFT = Qt.MouseButton.LeftButton
SMALL = Size(320, 180)
CREDITS = (CreditBlock(heading="Crew", rows=(CreditRow(role="Camera", names=("Ida Holm",)),)),)
PEOPLE = (Person(name="Ida Holm", roles=("Camera",)), Person(name="Bo Lind", roles=("Sound",)))
WORDS_20 = " ".join("a" * 20)
CONTROLS = (QAbstractButton, QLineEdit, QPlainTextEdit, QComboBox, QSlider, QAbstractItemView)


def film_of(**card) -> Film:
    """The small film at a small size, with a title card of these fields."""
    film = small_film()
    title, rest = film.cards
    return dataclasses.replace(
        film, size=SMALL, people=PEOPLE, cards=(dataclasses.replace(title, **card), rest)
    )


@pytest.fixture
def show(make_bench, qtbot):
    """Shows the sheet of a card of a film."""

    def make(film: Film, card_id: str = "k1", size: tuple[int, int] = (620, 900)) -> CardSheet:
        bench = make_bench(film)
        sheet = CardSheet(bench)
        qtbot.addWidget(sheet)
        sheet.bench = bench
        sheet.resize(*size)
        sheet.show_card(card_id)
        sheet.show()
        sheet.activateWindow()
        qtbot.waitUntil(sheet.isActiveWindow)
        shown.append(sheet)
        return sheet

    shown: list[CardSheet] = []
    yield make
    for sheet in shown:
        # What waits for a pause would otherwise begin after the end.
        sheet.bench.saving.save_now()
        sheet.bench.media.look()


def card_of(sheet: CardSheet) -> Card:
    return next(card for card in sheet.bench.session.film.cards if card.id == sheet.card_id)


def enter(qtbot, edit: QLineEdit, text: str) -> None:
    """Type over what is in a line, and press Return."""
    edit.setFocus()
    edit.selectAll()
    qtbot.keyClicks(edit, text)
    qtbot.keyClick(edit, Qt.Key.Key_Return)


def press(qtbot, button: QAbstractButton) -> None:
    """Press a button as the space bar does: wherever the page is scrolled to."""
    button.setFocus()
    qtbot.keyClick(button, Qt.Key.Key_Space)


def picture_in(folder: Path, name: str = "sea.png") -> Path:
    image = QImage(64, 36, QImage.Format.Format_RGB32)
    image.fill(QColor("#3050a0"))
    assert image.save(str(folder / name))
    return folder / name


def drop(sheet: CardSheet, path: Path) -> bool:
    """Drop a file on the sheet; returns whether it is taken."""
    data = QMimeData()
    data.setUrls([QUrl.fromLocalFile(str(path))])
    buttons, modifiers = Qt.MouseButton.LeftButton, Qt.KeyboardModifier.NoModifier
    enters = QDragEnterEvent(QPoint(9, 9), Qt.DropAction.CopyAction, data, buttons, modifiers)
    sheet.dragEnterEvent(enters)
    if enters.isAccepted():
        sheet.dropEvent(QDropEvent(QPointF(9, 9), Qt.DropAction.CopyAction, data, buttons, modifiers))
    return enters.isAccepted()


def type_lines(sheet: CardSheet, qtbot) -> None:
    sheet.words.lines.edit.setFocus()
    sheet.words.lines.edit.selectAll()
    qtbot.keyClicks(sheet.words.lines.edit, "Low Water")
    qtbot.keyClick(sheet.words.lines.edit, Qt.Key.Key_Return)
    qtbot.keyClicks(sheet.words.lines.edit, "a film")


def paste_rows(sheet: CardSheet, qtbot) -> None:
    QGuiApplication.clipboard().setText("Sound\tBo Lind\nEditing\tEva Moss, Ada Reed")
    sheet.credits.table.view.setFocus()
    sheet.credits.table.view.go_to(1)
    qtbot.keyClick(sheet.credits.table.view, Qt.Key.Key_V, Qt.KeyboardModifier.ControlModifier)


def on_row(row: int, wish: Wish) -> Callable[[CardSheet, object], None]:
    def act(sheet: CardSheet, qtbot) -> None:
        sheet.credits.table.view.go_to(row)
        press(qtbot, sheet.credits.table.buttons[wish])

    return act


TWO_ROWS = dataclasses.replace(
    CREDITS[0], rows=(*CREDITS[0].rows, CreditRow(role="Sound", names=("Bo Lind",)))
)

# What is done, on a card with which fields, and the fields that come of it.
EDITS = {
    "name": (
        {},
        lambda sheet, qtbot: enter(qtbot, sheet.words.name.edit, "Main title"),
        {"name": "Main title"},
    ),
    "text": ({}, type_lines, {"lines": ("Low Water", "a film")}),
    "kind": (
        {},
        lambda sheet, qtbot: press(qtbot, sheet.words.kind.buttons[1]),
        {"kind": CardKind.CREDITS},
    ),
    "roll": ({}, lambda sheet, qtbot: press(qtbot, sheet.lasting.motion.buttons[1]), {"motion": Motion.ROLL}),
    "speed": (
        {"motion": Motion.ROLL},
        lambda sheet, qtbot: enter(qtbot, sheet.lasting.speed.edit, "5"),
        {"roll_px": 5},
    ),
    "own length": (
        {},
        lambda sheet, qtbot: press(qtbot, sheet.lasting.own.buttons[1]),
        {"length_frames": 72},
    ),
    "length": (
        {"length_frames": 48},
        lambda sheet, qtbot: enter(qtbot, sheet.lasting.length.edit, "0:05:12"),
        {"length_frames": 132},
    ),
    "no own length": (
        {"length_frames": 48},
        lambda sheet, qtbot: press(qtbot, sheet.lasting.own.buttons[0]),
        {"length_frames": None},
    ),
    "colour behind": (
        {},
        lambda sheet, qtbot: enter(qtbot, sheet.behind.background.edit, "#102030"),
        {"background": "#102030"},
    ),
    "ink": ({}, lambda sheet, qtbot: enter(qtbot, sheet.behind.ink.edit, "FFcc00"), {"ink": "#ffcc00"}),
    "picture": (
        {},
        lambda sheet, qtbot: drop(sheet, picture_in(sheet.bench.session.folder)),
        {"picture": "sea.png"},
    ),
    "no picture": (
        {"picture": "sea.png"},
        lambda sheet, qtbot: press(qtbot, sheet.behind.remove),
        {"picture": ""},
    ),
    "row removed": (
        {"credits": CREDITS},
        on_row(1, Wish.REMOVE),
        {"credits": (CreditBlock(heading="Crew"),)},
    ),
    "row up": (
        {"credits": (TWO_ROWS,)},
        on_row(2, Wish.UP),
        {"credits": (dataclasses.replace(TWO_ROWS, rows=TWO_ROWS.rows[::-1]),)},
    ),
    "row down": (
        {"credits": (TWO_ROWS,)},
        on_row(1, Wish.DOWN),
        {"credits": (dataclasses.replace(TWO_ROWS, rows=TWO_ROWS.rows[::-1]),)},
    ),
    "heading": (
        {"credits": CREDITS},
        on_row(1, Wish.ADD_HEADING),
        {"credits": (*CREDITS, CreditBlock())},
    ),
    "rows pasted": (
        {"credits": CREDITS},
        paste_rows,
        {
            "credits": (
                CreditBlock(
                    heading="Crew",
                    rows=(
                        *CREDITS[0].rows,
                        CreditRow(role="Sound", names=("Bo Lind",)),
                        CreditRow(role="Editing", names=("Eva Moss", "Ada Reed")),
                    ),
                ),
            )
        },
    ),
    "the film's people": (
        {"kind": CardKind.CREDITS},
        lambda sheet, qtbot: press(qtbot, sheet.credits.people),
        {
            "credits": (
                CreditBlock(
                    rows=(
                        CreditRow(role="Camera", names=("Ida Holm",)),
                        CreditRow(role="Sound", names=("Bo Lind",)),
                    )
                ),
            )
        },
    ),
}


@pytest.mark.parametrize(("fields", "act", "result"), EDITS.values(), ids=EDITS)
def test_an_edit_is_done_undone_and_done_again(show, qtbot, fields, act, result):
    sheet = show(film_of(**fields))
    session, before = sheet.bench.session, card_of(sheet)
    act(sheet, qtbot)
    after = dataclasses.replace(before, **result)
    assert card_of(sheet) == after
    assert session.stack.count() == 1
    assert session.stack.undoText() == "Change card “Title”" or "name" in result
    session.stack.undo()
    assert card_of(sheet) == before
    session.stack.redo()
    assert card_of(sheet) == after


def test_a_new_row_with_what_is_typed_in_it_is_one_step(show, qtbot):
    sheet = show(film_of(credits=CREDITS))
    table = sheet.credits.table
    table.view.setFocus()
    table.view.go_to(1)
    qtbot.keyClick(table.view, Qt.Key.Key_Insert)

    def cell() -> QLineEdit:
        return table.view.indexWidget(table.view.currentIndex())

    qtbot.keyClicks(cell(), "Sound")
    assert card_of(sheet).credits[0].rows[1] == CreditRow(role="Sound")
    assert sheet.bench.session.stack.count() == 1
    qtbot.keyClick(cell(), Qt.Key.Key_Return)
    qtbot.keyClicks(cell(), "Bo Lind, Eva,")
    assert card_of(sheet).credits[0].rows[1] == CreditRow(role="Sound", names=("Bo Lind", "Eva"))
    assert cell().text() == "Bo Lind, Eva,"
    assert sheet.bench.session.stack.count() == 2
    sheet.bench.session.stack.undo()
    sheet.bench.session.stack.undo()
    assert card_of(sheet).credits == CREDITS


def test_typing_is_one_step_until_the_field_is_left(show, qtbot):
    sheet = show(film_of())
    edit, other, stack = sheet.words.name.edit, sheet.words.lines.edit, sheet.bench.session.stack
    edit.setFocus()
    qtbot.keyClicks(edit, "Main")
    assert card_of(sheet).name == "TitleMain" or card_of(sheet).name == "MainTitle"
    assert stack.count() == 1
    other.setFocus()
    edit.setFocus()
    qtbot.keyClicks(edit, "x")
    assert stack.count() == 2


def test_the_film_does_not_overwrite_what_is_being_typed(show, qtbot):
    sheet = show(film_of())
    edit = sheet.words.name.edit
    edit.setFocus()
    edit.selectAll()
    qtbot.keyClicks(edit, "Main ")
    assert card_of(sheet).name == "Main"
    assert edit.text() == "Main "
    sheet.words.lines.edit.setFocus()
    assert edit.text() == "Main"


REFUSALS = {
    "length": ({"length_frames": 48}, lambda sheet: sheet.lasting.length, "0", "must be 1 to"),
    "length that is none": (
        {"length_frames": 48},
        lambda sheet: sheet.lasting.length,
        "soon",
        "is not a length",
    ),
    "frames": ({"length_frames": 48}, lambda sheet: sheet.lasting.length, "0:01:24", "the most is 23"),
    "speed": ({"motion": Motion.ROLL}, lambda sheet: sheet.lasting.speed, "0", "must be 1 to 1,000 px"),
    "half a pixel": ({"motion": Motion.ROLL}, lambda sheet: sheet.lasting.speed, "2.5", "not a whole number"),
    "colour": ({}, lambda sheet: sheet.behind.ink, "#12345", "must be a colour"),
}


@pytest.mark.parametrize(("fields", "field", "text", "told"), REFUSALS.values(), ids=REFUSALS)
def test_a_bad_value_is_told_below_it_and_stays(show, qtbot, fields, field, text, told):
    sheet = show(film_of(**fields))
    before, line = card_of(sheet), field(sheet)
    held = line.edit.text()
    enter(qtbot, line.edit, text)
    assert told in line.fault.text()
    assert line.fault.isVisible()
    assert line.edit.text() == text
    assert card_of(sheet) == before
    # Another edit leaves it alone; Escape puts back what the film holds.
    enter(qtbot, sheet.words.name.edit, "Other")
    assert line.edit.text() == text
    qtbot.keyClick(line.edit, Qt.Key.Key_Escape)
    assert line.edit.text() == held
    assert not line.fault.isVisible()


def test_a_text_that_is_too_long_is_refused_as_it_is_typed(show, qtbot):
    sheet = show(film_of())
    sheet.words.lines.edit.setPlainText("x" * 10_001)
    assert "at most 10,000 characters" in sheet.words.lines.fault.text()
    assert card_of(sheet).lines == ("The Late Ferry",)


def shown_pixels(sheet: CardSheet) -> np.ndarray:
    """The picture that the sheet shows, before it is scaled to the screen."""
    image = sheet.preview.frame.picture.convertToFormat(QImage.Format.Format_RGB888)
    rows = np.frombuffer(image.constBits(), dtype=np.uint8).reshape(image.height(), image.bytesPerLine())
    # The bytes are those of the image, which goes.
    return rows[:, : 3 * image.width()].reshape(image.height(), image.width(), 3).copy()


def wait_for_preview(sheet: CardSheet, qtbot) -> None:
    qtbot.waitUntil(lambda: sheet.preview.is_current, timeout=20_000)


def test_the_preview_is_the_picture_that_is_rendered(show, qtbot, tmp_path):
    sheet = show(film_of(lines=("Low Water", "a film")))
    wait_for_preview(sheet, qtbot)
    target = tmp_path / "same.png"
    draw_card(card_of(sheet), film_size=SMALL, size=SMALL, target=target)
    assert np.array_equal(shown_pixels(sheet), decode(target))
    assert sheet.preview.frame.picture == QImage(str(target)).convertToFormat(
        sheet.preview.frame.picture.format()
    )


def test_the_preview_of_a_card_with_a_picture_is_the_picture_that_is_rendered(show, qtbot, tmp_path):
    sheet = show(film_of(lines=("Low Water",)))
    picture = picture_in(sheet.bench.session.folder)
    assert drop(sheet, picture)
    wait_for_preview(sheet, qtbot)
    target = tmp_path / "same.png"
    draw_card(card_of(sheet), film_size=SMALL, size=SMALL, target=target, picture=picture)
    assert np.array_equal(shown_pixels(sheet), decode(target))


def test_a_roll_is_shown_at_its_middle_and_at_every_place(show, qtbot, tmp_path):
    sheet = show(film_of(motion=Motion.ROLL, credits=CREDITS, kind=CardKind.CREDITS))
    wait_for_preview(sheet, qtbot)
    card, target = card_of(sheet), tmp_path / "strip.png"
    draw_card(card, film_size=SMALL, size=SMALL, target=target)
    strip, roll = decode(target), plan_roll(card, SMALL, SMALL)
    slider = sheet.preview.slider
    assert (slider.minimum(), slider.maximum()) == (0, roll.frames - 1)
    assert slider.value() == roll.frames // 2
    # Frame n shows the rows from n · pixels a frame on: the rule of `desk.cards.drawing.draw_card`.
    for frame in (slider.value(), 0, roll.frames - 1, 7):
        slider.setValue(frame)
        top = frame * roll.px_per_frame
        assert np.array_equal(shown_pixels(sheet), strip[top : top + SMALL.height])


def test_a_roll_moves_over_its_picture_which_stands_still(show, qtbot, tmp_path):
    sheet = show(film_of(motion=Motion.ROLL, credits=CREDITS))
    picture = picture_in(sheet.bench.session.folder)
    drop(sheet, picture)
    wait_for_preview(sheet, qtbot)
    behind, strip = tmp_path / "behind.png", tmp_path / "strip.png"
    draw_backdrop(card_of(sheet), size=SMALL, target=behind, picture=picture)
    draw_card(card_of(sheet), film_size=SMALL, size=SMALL, target=strip, picture=picture)
    sheet.preview.slider.setValue(0)
    # A blank frame stands before the list, so the first frame is the backdrop alone.
    assert np.array_equal(shown_pixels(sheet), decode(behind))
    sheet.preview.slider.setValue(sheet.preview.slider.maximum() // 2)
    roll = plan_roll(card_of(sheet), SMALL, SMALL)
    top = sheet.preview.slider.value() * roll.px_per_frame
    over = decode(strip)[top : top + SMALL.height].astype(np.float64)
    share = over[:, :, 3:] / 255
    expected = over[:, :, :3] * share + decode(behind) * (1 - share)
    # Two roundings of 8 bits lie between.
    assert np.abs(shown_pixels(sheet) - expected).max() <= 2


def test_while_a_newer_picture_is_drawn_the_old_one_stays_and_stale_ones_are_dropped(show, qtbot):
    sheet = show(film_of(lines=("One",)))
    wait_for_preview(sheet, qtbot)
    drawn = []
    sheet.preview.drawn.connect(lambda: drawn.append(sheet.preview.shown.sitting.card.lines))
    old = sheet.preview.frame.picture
    edit = sheet.words.lines.edit
    edit.setFocus()
    for letter in "Two":
        qtbot.keyClicks(edit, letter)
        assert sheet.preview.frame.picture is old
    wait_for_preview(sheet, qtbot)
    assert drawn[-1] == card_of(sheet).lines
    assert len(drawn) < 3


def test_another_card_does_not_show_the_picture_of_the_one_before(show, qtbot):
    sheet = show(film_of())
    wait_for_preview(sheet, qtbot)
    sheet.show_card("k2")
    assert sheet.preview.frame.picture is None
    wait_for_preview(sheet, qtbot)
    assert sheet.preview.shown.sitting.card.id == "k2"
    sheet.show_card("k1")
    sheet.show_card("k2")
    wait_for_preview(sheet, qtbot)
    assert sheet.preview.frame.picture is not None


@pytest.mark.parametrize(
    ("film_size", "size"),
    [(Size(1920, 1080), Size(1920, 1080)), (Size(3840, 2160), Size(1920, 1080)), (SMALL, SMALL)],
)
def test_the_preview_has_the_films_size_or_the_largest_that_fits(film_size, size):
    assert preview_size(Card(id="k"), film_size) == size


def test_a_long_roll_is_shown_smaller_rather_than_not_at_all():
    names = tuple(f"Name {number}" for number in range(300))
    card = Card(id="k", motion=Motion.ROLL, credits=(CreditBlock(rows=(CreditRow(names=names),)),))
    size = preview_size(card, Size(1920, 1080))
    assert size.height < 1080
    assert size.width * 9 == size.height * 16


def test_a_card_that_can_not_be_drawn_says_why(show, qtbot):
    sheet = show(film_of(lines=tuple(f"Line {number} of far too many lines" for number in range(60))))
    wait_for_preview(sheet, qtbot)
    assert "more text than can be read on a still picture" in sheet.preview.told.text()
    assert sheet.preview.frame.picture is None


def test_characters_that_no_font_has_are_named(show, qtbot):
    # The last of the private use characters: no font has a sign for it.
    sheet = show(film_of(lines=("Low \U0010fffd Water",)))
    wait_for_preview(sheet, qtbot)
    assert "No font on this machine can draw" in sheet.preview.told.text()
    assert "U+10FFFD" in sheet.preview.told.text()


def test_an_empty_card_says_what_to_do(show, qtbot):
    sheet = show(film_of(lines=()))
    wait_for_preview(sheet, qtbot)
    assert sheet.preview.told.text() == (
        "The card is empty, so it is left out of the film. Write its first line."
    )


def test_reading_time_is_that_of_the_film(show):
    # 180 words a minute and 17 characters a second, broadcasters' subtitle guidance (from memory; see
    # desk/film/reading.py): 20 words take 6.667 s, at 24 frames a second 160 frames, 0:06:16.
    sheet = show(film_of(lines=(WORDS_20,)))
    assert sheet.lasting.own.buttons[0].text() == "As long as reading takes (0:06:16)"
    assert sheet.lasting.takes.text().startswith("Reading takes 0:06:16: 20 words at 180 a minute")
    assert not sheet.lasting.short.isVisible()


def test_a_length_that_is_too_short_to_read_is_told(show, qtbot):
    sheet = show(film_of(lines=(WORDS_20,), length_frames=159))
    assert sheet.lasting.short.text() == "0:06:15 is shorter than reading takes; 0:06:16 is the least."
    enter(qtbot, sheet.lasting.length.edit, "160")
    assert not sheet.lasting.short.isVisible()


def test_a_short_title_says_why_it_stands_longer_than_reading_takes(show):
    # Three seconds at least: common practice, no source.
    sheet = show(film_of(lines=("Low Water",)))
    assert sheet.lasting.own.buttons[0].text() == "As long as reading takes (0:03:00)"
    assert "A card stands 3 seconds at least." in sheet.lasting.takes.text()


def test_a_roll_says_how_long_it_takes(show, qtbot):
    # 1080 lines, list 5400 px (90 lines of 60 px): travel 6480 px, at 3 px a frame 2160 frames, 90 s at 24; a
    # line crosses 1080 px in 15 s. The arithmetic of tests/film/test_reading.py.
    rows = tuple(CreditRow(names=("a",)) for _ in range(89))
    film = film_of(motion=Motion.ROLL, lines=(), credits=(CreditBlock(rows=rows),), kind=CardKind.CREDITS)
    film = dataclasses.replace(
        film,
        size=Size(1920, 1080),
        cards=tuple(
            dataclasses.replace(card, credits=(CreditBlock(rows=rows),)) if card.id == "k1" else card
            for card in film.cards
        ),
    )
    sheet = show(film)
    assert sheet.lasting.takes.text() == (
        "It takes 1:30:00 at 3 pixels a frame; each line is on the screen for 15.0 seconds."
    )
    assert sheet.lasting.own.buttons[0].text() == "As long as the roll takes (1:30:00)"
    sheet.lasting.speed.edit.setFocus()
    qtbot.keyClick(sheet.lasting.speed.edit, Qt.Key.Key_Up)
    assert card_of(sheet).roll_px == 4
    assert sheet.lasting.takes.text().startswith("It takes 1:07:12 at 4 pixels a frame")


def test_too_little_contrast_is_told(show, qtbot):
    # WCAG 2.x, 1.4.3: 4.5:1 for text, not rounded up. On white, #777777 has 4.48:1 and #767676 has 4.54:1
    # (widely cited, from memory).
    sheet = show(film_of(background="#ffffff", ink="#777777"))
    assert sheet.behind.contrast.text() == (
        "The ink is hard to read on the colour behind: 4.4:1; 4.5:1 is the least."
    )
    assert sheet.behind.contrast.property("kind") == "fault"
    enter(qtbot, sheet.behind.ink.edit, "#767676")
    assert sheet.behind.contrast.text() == "Contrast 4.5:1."
    assert sheet.behind.contrast.property("kind") == "small"


def test_the_colour_dialog_is_followed_and_cancelling_it_goes_back(show, qtbot):
    sheet = show(film_of())
    stack = sheet.bench.session.stack
    press(qtbot, sheet.behind.ink.patch)
    dialog = sheet.behind.ink.dialog
    for colour in ("#112233", "#445566"):
        dialog.setCurrentColor(QColor(colour))
        assert card_of(sheet).ink == colour
    assert stack.count() == 1
    dialog.reject()
    assert card_of(sheet).ink == film_of().cards[0].ink
    press(qtbot, sheet.behind.ink.patch)
    sheet.behind.ink.dialog.setCurrentColor(QColor("#aabbcc"))
    sheet.behind.ink.dialog.accept()
    assert card_of(sheet).ink == "#aabbcc"


def test_a_picture_is_chosen_in_a_dialog_and_named_from_the_project_folder(show, qtbot, tmp_path):
    sheet = show(film_of())
    folder = tmp_path / "pictures"
    folder.mkdir()
    press(qtbot, sheet.behind.choose)
    sheet.behind.dialog.fileSelected.emit(str(picture_in(folder)))
    sheet.behind.dialog.close()
    assert card_of(sheet).picture == "../pictures/sea.png"
    assert sheet.behind.path.toolTip() == "../pictures/sea.png"


def test_only_a_picture_can_be_dropped(show, tmp_path):
    sheet = show(film_of())
    (tmp_path / "notes.txt").write_text("x")
    assert not drop(sheet, tmp_path / "notes.txt")
    assert card_of(sheet).picture == ""


def test_a_missing_picture_is_told(show, qtbot):
    sheet = show(film_of(picture="gone.png"))
    wait_for_preview(sheet, qtbot)
    assert "“gone.png” behind a card is missing" in sheet.preview.told.text()


def test_the_head_says_length_and_place(show, qtbot):
    film = film_of()
    sheet = show(film)
    # The small film starts at 01:00:00:00; its title card is first and stands 3 s.
    assert sheet.head.accessibleName() == "Card Title, 0:03:00, starts at 01:00:00:00"
    sheet.show_card("k2")
    assert "starts at 01:00:14:12" in sheet.head.accessibleName()


def test_names_and_roles_are_there_for_credits(show, qtbot):
    sheet = show(film_of())
    assert not sheet.credits.isVisible()
    press(qtbot, sheet.words.kind.buttons[1])
    assert sheet.credits.isVisible()


def test_the_films_people_can_be_taken_once(show, qtbot):
    sheet = show(film_of(kind=CardKind.CREDITS, credits=CREDITS))
    press(qtbot, sheet.credits.people)
    # Ida Holm stands there already.
    assert card_of(sheet).credits == (
        *CREDITS,
        CreditBlock(rows=(CreditRow(role="Sound", names=("Bo Lind",)),)),
    )
    assert not sheet.credits.people.isEnabled()
    assert sheet.credits.people.toolTip() == "All of the film's people stand here."


def test_the_music_that_is_really_in_the_film_is_taken_with_the_words_that_it_asks_for(show, qtbot):
    film = film_of(kind=CardKind.CREDITS, credits=CREDITS)
    licence = "“Low Tide” by Bo Lind, CC BY 4.0"
    rights = {
        "s1": Rights(title="Tide", author="Ada Reed"),
        "s2": Rights(title="Low Tide", author="Bo Lind", required_credit=licence),
        "s3": Rights(title="Set aside", author="Nobody"),
    }
    cues = {
        scene: (Cue(id=f"m9{scene}", length_frames=9, candidates=(choice,), chosen=choice.id),)
        for scene, words in rights.items()
        for choice in [Candidate(id=f"a9{scene}", file="music/a.wav", rights=words)]
    }
    scenes = tuple(
        dataclasses.replace(scene, content=dataclasses.replace(scene.content, cues=cues.get(scene.id, ())))
        for scene in film.scenes
    )
    sheet = show(dataclasses.replace(film, scenes=scenes))
    before = card_of(sheet)
    press(qtbot, sheet.credits.music)
    rows = (CreditRow(role="“Tide”", names=("Ada Reed",)), CreditRow(names=(licence,)))
    assert card_of(sheet).credits == (*CREDITS, CreditBlock(heading="Music", rows=rows))
    assert not sheet.credits.music.isEnabled()
    sheet.bench.session.stack.undo()
    assert card_of(sheet) == before
    sheet.bench.session.stack.redo()
    assert card_of(sheet).credits[-1].rows == rows


def test_what_changed_while_the_sheet_was_hidden_is_shown_when_it_comes_back(show, qtbot):
    sheet = show(film_of())
    sheet.hide()
    sheet.bench.session.do(lambda film: edits.edit_card(film, "k1", name="Main"))
    sheet.show()
    assert sheet.words.name.edit.text() == "Main"
    assert "Main" in sheet.head.accessibleName()
    wait_for_preview(sheet, qtbot)


@pytest.mark.parametrize("width", [560, 1000])
def test_every_control_has_a_name_and_can_be_reached(show, width):
    sheet = show(film_of(kind=CardKind.CREDITS, motion=Motion.ROLL), size=(width, 700))
    controls = [
        control
        for kind in CONTROLS
        for control in sheet.findChildren(kind)
        if control.isVisible() and not isinstance(control, QHeaderView)
    ]
    assert len(controls) > 15
    for control in controls:
        assert control.accessibleName(), control
        assert control.focusPolicy() & Qt.FocusPolicy.TabFocus or isinstance(control, QAbstractButton)


def test_two_columns_where_there_is_room(show, qtbot):
    narrow, wide = show(film_of(), size=(620, 800)), show(film_of(), size=(1000, 800))
    qtbot.waitUntil(lambda: wide.lasting.mapTo(wide, QPoint()).x() > 0)
    assert narrow.lasting.mapTo(narrow, QPoint()).x() == narrow.words.mapTo(narrow, QPoint()).x()
    assert wide.lasting.mapTo(wide, QPoint()).x() > wide.words.mapTo(wide, QPoint()).x()
    assert wide.preview.mapTo(wide, QPoint()).x() == wide.words.mapTo(wide, QPoint()).x()


def test_a_film_that_is_read_only_says_why_on_every_control(make_bench, qtbot):
    bench = make_bench(film_of(kind=CardKind.CREDITS, motion=Motion.ROLL, credits=CREDITS, picture="sea.png"))
    bench.session.read_only = "It is open elsewhere."
    sheet = CardSheet(bench)
    qtbot.addWidget(sheet)
    sheet.resize(620, 900)
    sheet.show_card("k1")
    sheet.show()
    controls = [
        control
        for section in (sheet.words, sheet.credits, sheet.behind, sheet.lasting)
        for kind in (QAbstractButton, QLineEdit, QPlainTextEdit)
        for control in section.findChildren(kind)
        if control.isVisible()
    ]
    assert len(controls) > 15
    for control in controls:
        assert control.toolTip() == "It is open elsewhere.", control.accessibleName()
        assert not control.isEnabled() or control.isReadOnly()


@pytest.mark.parametrize(
    "fields", [{}, {"kind": CardKind.CREDITS, "motion": Motion.ROLL, "credits": CREDITS}]
)
def test_the_tab_key_goes_down_the_sheet(show, fields):
    """Focus in the order in which a page is read: WCAG 2.x, success criterion 2.4.3 (from memory)."""
    sheet = show(film_of(**fields), size=(620, 2400))
    first = sheet.preview.findChild(QSlider) if fields else sheet.words.kind.buttons[0]
    first.setFocus()
    stops = tab_stops(sheet)
    assert {"Text of the card", "Choose the ink", "Ink"} <= {stop.accessibleName() for stop in stops}
    assert out_of_place(sheet, stops) == []
