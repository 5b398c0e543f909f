"""The dialog that notes a proof."""

import datetime
from dataclasses import dataclass

from PySide6.QtCore import QDate, QLocale, Qt
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import (
    QDateEdit,
    QDialog,
    QDialogButtonBox,
    QFormLayout,
    QLineEdit,
    QPlainTextEdit,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from desk.errors import EditError
from desk.film import edits
from desk.film.wording import entry_name
from desk.ui.bench import Bench
from desk.ui.dates import today
from desk.ui.labels import label
from desk.ui.settings import settings

_WIDTH_PX = 440
_REMARK_PX = 96
_LAST_NAME = "proofs/by"
_ABOUT = "A proof is one careful viewing of the whole scene. It counts until picture, sound or grade change."


@dataclass(frozen=True, slots=True)
class ProofAnswer:
    """What was noted.

    Attributes:
        date: ISO 8601.
        by: Who looked, or "".
        remark: What was seen, or "".
    """

    date: str
    by: str
    remark: str


class ProofDialog(QDialog):
    """Asks who looked, when, and what was seen. After `accepted`, `answer` holds it."""

    def __init__(self, bench: Bench, scene_id: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._bench = bench
        self.scene_id = scene_id
        self.setMinimumWidth(_WIDTH_PX)
        scene = bench.session.film.scene(scene_id)
        self.setWindowTitle(f"Add a proof of {entry_name(scene)}")
        about = label(_ABOUT, self, kind="dim", wraps=True)
        self.date_field = QDateEdit(_qt_date(today()), self)
        self.date_field.setLocale(QLocale(QLocale.Language.English, QLocale.Country.UnitedKingdom))
        self.date_field.setDisplayFormat("d MMM yyyy")
        self.date_field.setCalendarPopup(True)
        self.date_field.setMaximumDate(_qt_date(today()))
        self.date_field.setAccessibleName("Date of the proof")
        self.by_field = QLineEdit(str(settings().value(_LAST_NAME, "")), self)
        self.by_field.setAccessibleName("Who looked")
        self.remark_field = QPlainTextEdit(self)
        self.remark_field.setAccessibleName("What was seen")
        self.remark_field.setPlaceholderText("What was seen?")
        self.remark_field.setTabChangesFocus(True)
        self.remark_field.setFixedHeight(_REMARK_PX)
        self.fault = label("", self, kind="fault", wraps=True)
        self.fault.hide()
        add = QPushButton("Add proof", self)
        add.setProperty("kind", "main")
        add.setToolTip("Ctrl+Return")
        self.add_button = add
        buttons = QDialogButtonBox(QDialogButtonBox.StandardButton.Cancel, parent=self)
        buttons.addButton(add, QDialogButtonBox.ButtonRole.AcceptRole)
        buttons.accepted.connect(self.accept)
        buttons.rejected.connect(self.reject)
        form = QFormLayout()
        form.setHorizontalSpacing(12)
        form.setVerticalSpacing(8)
        form.addRow("Date", self.date_field)
        form.addRow("By", self.by_field)
        form.addRow("Remark", self.remark_field)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(16, 16, 16, 16)
        layout.setSpacing(12)
        layout.addWidget(about)
        layout.addLayout(form)
        layout.addWidget(self.fault)
        layout.addStretch(1)
        layout.addWidget(buttons)
        (self.remark_field if self.by_field.text() else self.by_field).setFocus()

    @property
    def answer(self) -> ProofAnswer:
        """What was noted."""
        day = self.date_field.date()
        date = datetime.date(day.year(), day.month(), day.day()).isoformat()
        return ProofAnswer(date, self.by_field.text().strip(), self.remark_field.toPlainText().strip())

    def accept(self) -> None:
        answer = self.answer
        try:
            # Tried here, so that nothing that was written is lost where it is refused.
            edits.add_proof(self._bench.session.film, self.scene_id, answer.date, answer.by, answer.remark)
        except EditError as error:
            self.fault.setText(str(error))
            self.fault.show()
            return
        settings().setValue(_LAST_NAME, answer.by)
        super().accept()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        # Return alone begins a line of the remark.
        is_return = event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter)
        if is_return and event.modifiers() & Qt.KeyboardModifier.ControlModifier:
            self.accept()
        else:
            super().keyPressEvent(event)


def _qt_date(date: str) -> QDate:
    day = datetime.date.fromisoformat(date)
    return QDate(day.year, day.month, day.day)
