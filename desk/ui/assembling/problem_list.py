"""What stands in the way of an assembly and what deserves a look, with a way to get there."""

from PySide6.QtCore import QAbstractListModel, QModelIndex, QObject, QPersistentModelIndex, Qt, Signal
from PySide6.QtWidgets import QHBoxLayout, QLabel, QListView, QPushButton, QSizePolicy, QVBoxLayout, QWidget

from desk.film.problem import Problem, Severity
from desk.ui.assembling.ledger import ReadingList, go_to_entry
from desk.ui.assembling.wording import counted_problems, told
from desk.ui.bench import Bench
from desk.ui.look.icons import icon
from desk.ui.look.theme import Theme

_ROWS_AT_ONCE = 50

_Index = QModelIndex | QPersistentModelIndex


class ProblemModel(QAbstractListModel):
    """Problems, those in the way first."""

    def __init__(self, theme: Theme, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._theme = theme
        self._problems: tuple[Problem, ...] = ()

    @property
    def problems(self) -> tuple[Problem, ...]:
        """What is shown."""
        return self._problems

    def show_problems(self, problems: tuple[Problem, ...]) -> None:
        """Show other problems."""
        if problems != self._problems:
            self.beginResetModel()
            self._problems = problems
            self.endResetModel()

    def rowCount(self, parent: _Index = QModelIndex()) -> int:  # noqa: B008 - Qt's own default
        return 0 if parent.isValid() else len(self._problems)

    def data(self, index: _Index, role: int = Qt.ItemDataRole.DisplayRole) -> object:
        if not index.isValid():
            return None
        problem = self._problems[index.row()]
        blocks = problem.severity is Severity.BLOCKS
        match role:
            case Qt.ItemDataRole.DisplayRole:
                return told(problem)
            case Qt.ItemDataRole.AccessibleTextRole:
                return f"{'In the way' if blocks else 'To look at'}: {told(problem)}"
            case Qt.ItemDataRole.ForegroundRole:
                return self._theme.colour("broken_text" if blocks else "ink")
            case Qt.ItemDataRole.DecorationRole:
                return icon("warning", self._theme, colour="broken" if blocks else "dim")
        return None


class ProblemList(QWidget):
    """Problems. “Go there”, Return or a double click shows the sheet of what one is about.

    Signals:
        went: That sheet is shown.
    """

    went = Signal()

    def __init__(self, bench: Bench, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._bench = bench
        self._model = ProblemModel(bench.theme, self)
        self._heading = QLabel()
        self._heading.setProperty("kind", "heading")
        self._view = ReadingList()
        self._view.setModel(self._model)
        self._view.setWordWrap(True)
        self._view.setSpacing(2)
        # Thousands of rows of several lines are measured a few at a time.
        self._view.setLayoutMode(QListView.LayoutMode.Batched)
        self._view.setBatchSize(_ROWS_AT_ONCE)
        self._view.setTextElideMode(Qt.TextElideMode.ElideNone)
        self._view.setResizeMode(QListView.ResizeMode.Adjust)
        self._view.setAccessibleName("What is in the way and what deserves a look")
        self._view.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self._view.activated.connect(self._go_there)
        self._view.selectionModel().currentChanged.connect(self._on_current_changed)
        self.go_button = QPushButton("Go there")
        self.go_button.setAutoDefault(False)
        self.go_button.setAccessibleName("Go to what the problem is about")
        self.go_button.clicked.connect(self._go_there)
        self._arrange()
        self.show_problems(())

    @property
    def view(self) -> QListView:
        """The list itself."""
        return self._view

    def show_problems(self, problems: tuple[Problem, ...]) -> None:
        """Show the problems of an assembly."""
        before, row = self._current(), self._view.currentIndex().row()
        self._model.show_problems(problems)
        self._heading.setText(counted_problems(problems).upper())
        self._view.setVisible(bool(problems))
        self.go_button.setVisible(bool(problems))
        if problems and not self._view.currentIndex().isValid():
            self._view.setCurrentIndex(self._model.index(_next_row(problems, before, row)))
        self._on_current_changed()

    def texts(self) -> list[str]:
        """Return what the rows say."""
        return [told(problem) for problem in self._model.problems]

    def _arrange(self) -> None:
        head = QHBoxLayout()
        head.setSpacing(8)
        head.addWidget(self._heading, 1)
        head.addWidget(self.go_button)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(4)
        layout.addLayout(head)
        layout.addWidget(self._view, 1)

    def _current(self) -> Problem | None:
        row = self._view.currentIndex().row()
        return self._model.problems[row] if 0 <= row < len(self._model.problems) else None

    def _on_current_changed(self) -> None:
        self.go_button.setEnabled(self._current() is not None)

    def _go_there(self) -> None:
        problem = self._current()
        if problem is not None:
            go_to_entry(self._bench, problem.place)
            self.went.emit()


def _next_row(problems: tuple[Problem, ...], before: Problem | None, row: int) -> int:
    """Return the row to choose: what is in the way first, else the one before, or what took its place."""
    if problems[0].severity is Severity.BLOCKS and (before is None or before.severity is Severity.LOOK):
        return 0
    return problems.index(before) if before in problems else min(max(row, 0), len(problems) - 1)
