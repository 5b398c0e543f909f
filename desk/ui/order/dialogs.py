"""Two small questions: why a scene is set aside, and what number it takes."""

from PySide6.QtWidgets import (
    QDialog,
    QDialogButtonBox,
    QFormLayout,
    QLabel,
    QLineEdit,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from desk.errors import EditError
from desk.film import edits
from desk.film.model import Film
from desk.film.wording import entry_name, sentence
from desk.ui.order.placing import number_that_fits

_WIDTH_PX = 400


def _make_main(button: QPushButton) -> None:
    """Mark the one thing to do; the box has given its buttons their style by then."""
    button.setProperty("kind", "main")
    button.style().unpolish(button)
    button.style().polish(button)


class ReasonDialog(QDialog):
    """Asks why something is set aside."""

    def __init__(self, names: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setWindowTitle("Set aside")
        self.field = QLineEdit(self)
        self.field.setAccessibleName("Reason")
        self.field.setPlaceholderText("It does not move the plot.")
        told = QLabel(f"{sentence(names)} will be kept whole, with the reason.", self)
        told.setWordWrap(True)
        self.buttons = QDialogButtonBox(self)
        does = self.buttons.addButton("Set aside", QDialogButtonBox.ButtonRole.AcceptRole)
        _make_main(does)
        self.buttons.addButton(QDialogButtonBox.StandardButton.Cancel)
        self.buttons.accepted.connect(self.accept)
        self.buttons.rejected.connect(self.reject)
        form = QFormLayout()
        form.addRow("Reason", self.field)
        column = QVBoxLayout(self)
        column.setSpacing(12)
        column.addWidget(told)
        column.addLayout(form)
        column.addWidget(self.buttons)
        self.setMinimumWidth(_WIDTH_PX)

    @classmethod
    def ask(cls, names: str, parent: QWidget | None = None) -> str | None:
        """Ask and wait; returns the reason, "" for none, or None when it is not to be set aside after all."""
        dialog = cls(names, parent)
        answer = dialog.field.text().strip() if dialog.exec() else None
        dialog.deleteLater()
        return answer


class NumberDialog(QDialog):
    """Asks for a scene's number, and says at once when it can't have that one."""

    def __init__(self, film: Film, scene_id: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._film = film
        self._scene_id = scene_id
        scene = film.scene(scene_id)
        fits = number_that_fits(film, scene_id)
        self.setWindowTitle(f"Renumber {entry_name(scene)}")
        self.field = QLineEdit(scene.number, self)
        self.field.setAccessibleName("Number")
        self.field.selectAll()
        told = QLabel(
            f"A scene that is new in this place would be {fits}. Numbers stay with their scenes when the "
            "order changes; a scene put in between takes a letter.",
            self,
        )
        told.setWordWrap(True)
        told.setProperty("kind", "dim")
        self.warning = QLabel(self)
        self.warning.setWordWrap(True)
        self.warning.setProperty("kind", "fault")
        self.buttons = QDialogButtonBox(self)
        self.renumber = self.buttons.addButton("Renumber", QDialogButtonBox.ButtonRole.AcceptRole)
        _make_main(self.renumber)
        self.offer = self.buttons.addButton(f"Use {fits}", QDialogButtonBox.ButtonRole.ActionRole)
        self.buttons.addButton(QDialogButtonBox.StandardButton.Cancel)
        self.buttons.accepted.connect(self.accept)
        self.buttons.rejected.connect(self.reject)
        self._fits = fits
        self.offer.clicked.connect(self._on_offered)
        form = QFormLayout()
        form.addRow("Number", self.field)
        column = QVBoxLayout(self)
        column.setSpacing(12)
        column.addWidget(told)
        column.addLayout(form)
        column.addWidget(self.warning)
        column.addWidget(self.buttons)
        self.setMinimumWidth(_WIDTH_PX)
        self.field.textChanged.connect(self._on_typed)
        self._on_typed()

    @classmethod
    def ask(cls, film: Film, scene_id: str, parent: QWidget | None = None) -> str | None:
        """Ask and wait; returns the number, or None when it stays as it is."""
        dialog = cls(film, scene_id, parent)
        answer = dialog.field.text().strip() if dialog.exec() else None
        dialog.deleteLater()
        return answer

    def _on_offered(self) -> None:
        self.field.setText(self._fits)
        self.field.setFocus()

    def _on_typed(self) -> None:
        told = ""
        try:
            edits.renumber(self._film, self._scene_id, self.field.text())
        except EditError as error:
            told = error.message
        self.warning.setText(told)
        self.renumber.setEnabled(not told)
        self.offer.setEnabled(self.field.text().strip() != self._fits)
