"""Fields that both sheets use: what they read, and whose undoing Ctrl+Z is."""

import pytest
from PySide6.QtCore import QPoint, QPointF, Qt
from PySide6.QtGui import QAction, QKeySequence, QWheelEvent
from PySide6.QtWidgets import QApplication, QVBoxLayout, QWidget

from desk.film.rates import Rate
from desk.ui.fields import LineField, NumberField, TypedField
from desk.ui.figures import parse_length, parse_number
from desk.ui.sheet.picks import PathLabel, Picks
from desk.ui.text_field import TextField


@pytest.mark.parametrize(
    ("text", "rate", "frames"),
    [
        ("0:04:12", Rate(24), 108),
        ("4:12", Rate(24), 108),
        ("90:00", Rate(25), 2250),
        ("1:02:05", Rate(25), 1555),
        ("120", Rate(24), 120),
        (" 0:00:01 ", Rate(24), 1),
        ("0:01:100", Rate(120), 220),
        ("4.5 s", Rate(24), 108),
        ("1,5s", Rate(25), 38),  # 37.5 frames: halves go up
        # Counted at the nominal rate, as timecode is (SMPTE ST 12-1).
        ("1:00:00", Rate(30000, 1001), 1800),
    ],
)
def test_lengths_are_read_as_people_write_them(text, rate, frames):
    assert parse_length(text, rate) == frames


@pytest.mark.parametrize("text", ["", "soon", "1:2:3:4", "-3", "0:75:00", "0:00:24", "1.5", "9" * 30, "１２"])
def test_what_is_no_length_is_refused_with_a_sentence(text):
    with pytest.raises(ValueError, match=r"^“.*[.]$"):
        parse_length(text, Rate(24))


def test_numbers_are_read_as_people_write_them():
    assert parse_number(" −14,5 ", whole=False) == -14.5
    assert parse_number("24", whole=True) == 24
    for text in ("2.5", "", "x", "1e9", "9" * 30):
        with pytest.raises(ValueError, match=r"^“.*[.]$"):
            parse_number(text, whole=True)


class _Owner(QWidget):
    """A window with an undo of its own and one field."""

    def __init__(self) -> None:
        super().__init__()
        self.undone = 0
        self.taken: list[str] = []
        action = QAction("Undo", self)
        action.setShortcuts(QKeySequence.StandardKey.Undo)
        action.triggered.connect(self._on_undo)
        self.addAction(action)
        self.page = QVBoxLayout(self)

    def take(self, text: str) -> str:
        self.taken.append(text)
        for field in self.findChildren(TypedField):
            field.show_text(text)
        return ""

    def _on_undo(self) -> None:
        self.undone += 1


@pytest.fixture
def owner(theme, qtbot):
    made = _Owner()
    qtbot.addWidget(made)
    return made


@pytest.mark.parametrize("kind", [LineField, TextField])
def test_undoing_in_a_field_is_undoing_in_the_film(owner, qtbot, kind):
    field = kind("Name", owner.take, owner)
    owner.page.addWidget(field)
    owner.show()
    owner.activateWindow()
    qtbot.waitUntil(owner.isActiveWindow)
    field.edit.setFocus()
    qtbot.keyClicks(field.edit, "ab")
    qtbot.keyClick(field.edit, Qt.Key.Key_Z, Qt.KeyboardModifier.ControlModifier)
    assert owner.undone == 1
    assert owner.taken == ["a", "ab"]


@pytest.mark.parametrize("lines", [1, 2, 3, 9])
def test_a_text_is_seen_whole_without_scrolling(owner, qtbot, lines):
    field = TextField("Text", owner.take, owner)
    owner.page.addWidget(field)
    owner.resize(400, 400)
    owner.show()
    field.show_text("\n".join("abcdefghi"[:lines]))
    QApplication.processEvents()
    assert field.edit.verticalScrollBar().maximum() == 0


def test_text_that_the_film_does_not_have_is_undone_in_its_field(owner, qtbot):
    field = LineField("Name", owner.take, owner, live=False)
    field.show_text("a")
    owner.page.addWidget(field)
    owner.show()
    owner.activateWindow()
    qtbot.waitUntil(owner.isActiveWindow)
    field.edit.setFocus()
    field.edit.selectAll()
    qtbot.keyClicks(field.edit, "b")
    for undone in (0, 1):
        qtbot.keyClick(field.edit, Qt.Key.Key_Z, Qt.KeyboardModifier.ControlModifier)
        assert (field.edit.text(), owner.undone, owner.taken) == ("a", undone, [])


def test_arrow_keys_change_a_number_in_steps(owner, qtbot):
    taken: list[float] = []

    def take(value: float) -> str:
        taken.append(value)
        return ""

    field = NumberField("Peak", take, owner, step=0.5, whole=False)
    field.show_number(-1.0)
    for key in (Qt.Key.Key_Up, Qt.Key.Key_Down, Qt.Key.Key_Down):
        qtbot.keyClick(field.edit, key)
    assert taken == [-0.5, -1.0, -1.5]


def test_a_page_that_is_scrolled_under_the_pointer_changes_nothing(owner, qtbot):
    picks = Picks("Rate", (("24", 24), ("25", 25)), owner)
    picks.show_value(24)
    with qtbot.assertNotEmitted(picks.picked):
        down = QWheelEvent(
            QPointF(5, 5),
            QPointF(5, 5),
            QPoint(0, -120),
            QPoint(0, -120),
            Qt.MouseButton.NoButton,
            Qt.KeyboardModifier.NoModifier,
            Qt.ScrollPhase.NoScrollPhase,
            False,
        )
        QApplication.sendEvent(picks, down)
    assert picks.currentText() == "24"


def test_what_is_not_in_a_list_is_called_another(owner):
    picks = Picks("Rate", (("24", 24), ("25", 25)), owner)
    for value, shown in ((30, "Other"), (25, "25"), (48, "Other")):
        picks.show_value(value)
        assert picks.currentText() == shown
    picks.show_value(24)
    assert picks.count() == 2


def test_a_long_path_is_shortened_in_its_middle_and_whole_in_the_tool_tip(owner, qtbot):
    label = PathLabel(owner)
    label.resize(120, 20)
    path = "pictures/of the quay/in the morning/before the ferry/sea.png"
    label.show_path(path)
    assert "…" in label.text()
    assert label.text().endswith(".png")
    assert label.toolTip() == path
