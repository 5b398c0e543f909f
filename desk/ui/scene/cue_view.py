"""One cue with all that was tried for it, one of which can be chosen."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from PySide6.QtCore import QEvent, QObject, QRectF, Qt, Signal, SignalInstance
from PySide6.QtGui import QDragEnterEvent, QDragLeaveEvent, QDropEvent, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QButtonGroup, QHBoxLayout, QPushButton, QToolButton, QVBoxLayout, QWidget

from desk.film.media import MediaFacts
from desk.film.model import Candidate, Cue, Film, Scene
from desk.film.problem import Facts, MediaTrouble
from desk.film.timing import Slot
from desk.ui.elided import ElidedLabel, ElidedRadio
from desk.ui.labels import label, note, say
from desk.ui.look.icons import icon
from desk.ui.look.theme import Theme
from desk.ui.music.sound_drops import dropped_sounds
from desk.ui.music.words import cue_heading, cue_name, film_place, how_it_sounds, runs_on
from desk.ui.scene.clip_facts import file_name

NONE_CHOSEN = "None of them"
NO_LICENCE = "no licence entered"
NEXT_KEY, BACK_KEY = "F7", "Shift+F7"

_INDENT_PX = 26


@dataclass(frozen=True, slots=True)
class _Line:
    """What is shown of one candidate."""

    id: str
    name: str
    sound: str
    licence: str
    kind: str
    more: str


class CueView(QWidget):
    """A cue: where it stands, and what was tried for it.

    Signals, each with the cue's id:
        chosen: The person has chosen; the candidate's id too, or "" for none.
        listen_wanted: A candidate is to be heard as it is; its id.
        removal_wanted: A candidate is to be taken off the cue; its id.
        try_wanted: The next candidate (1) or the one before (-1) is to be tried against the picture.
        music_wanted: Files are to be added.
        dropped: Sound files were dropped; the mime data's paths, absolute or as the film has them.
        cue_removal_wanted: The cue is to be taken out.
        entered: The keyboard or the pointer is in it now.
    """

    chosen = Signal(str, str)
    listen_wanted = Signal(str, str)
    removal_wanted = Signal(str, str)
    try_wanted = Signal(str, int)
    music_wanted = Signal(str)
    dropped = Signal(str, object)
    cue_removal_wanted = Signal(str)
    entered = Signal(str)

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._theme = theme
        self._cue_id = ""
        self._rows: list[_Row] = []
        self._ids: list[str] = []
        self._is_current = False
        self._is_target = False
        self._group = QButtonGroup(self)
        self._group.idClicked.connect(self._on_clicked)
        self.heading = ElidedLabel(parent=self)
        self.place = label("", self, kind="small")
        self.runs_on = note("small", self)
        self.untried = label("Nothing was tried for it yet.", self, kind="open", wraps=True)
        self.none = ElidedRadio(NONE_CHOSEN, self)
        self.none.installEventFilter(self)
        self.next = self._button(f"Try next ({NEXT_KEY})", self._on_next)
        self.back = self._button(f"Try back ({BACK_KEY})", self._on_back)
        self.add = self._button("Add music…", self._on_add)
        self.remove = self._button("Remove the cue", self._on_remove)
        self._arrange()
        self.setAcceptDrops(True)

    @property
    def cue_id(self) -> str:
        """The cue that is shown."""
        return self._cue_id

    @property
    def buttons(self) -> tuple[ElidedRadio, ...]:
        """The candidates in their order, and last the one for none; empty where nothing was tried."""
        shown = [row.radio for row in self._rows[: len(self._ids)]]
        return (*shown, self.none) if shown else ()

    @property
    def rows(self) -> "tuple[_Row, ...]":
        """The candidates with all that can be done with each."""
        return tuple(self._rows[: len(self._ids)])

    def show_cue(
        self,
        film: Film,
        scene: Scene,
        scene_start: int | None,
        cue: Cue,
        facts: Facts,
        slots: Sequence[Slot],
    ) -> None:
        """Show a cue of a scene.

        Args:
            film: The film.
            scene: The scene.
            scene_start: Its first frame in the film, or None where it is set aside.
            cue: The cue.
            facts: What is known of each file.
            slots: What is in the film, where a cue of the scene runs on.
        """
        self._cue_id = cue.id
        name = cue_name(cue)
        self.heading.say(cue_heading(film, scene, cue))
        place = film_place(film, scene_start, cue.start_frames)
        self.place.setText(place)
        self.place.setVisible(bool(place))
        say(self.runs_on, runs_on(film, scene, cue, slots))
        lines = [_line(candidate, film, facts) for candidate in cue.candidates]
        self._ids = [line.id for line in lines]
        while len(self._rows) < len(lines):
            self._add_row()
        for at, row in enumerate(self._rows):
            row.setVisible(at < len(lines))
            if at < len(lines):
                row.show_line(lines[at], name)
        self.none.setAccessibleName(f"{name}: {NONE_CHOSEN.lower()}")
        self.none.setVisible(bool(lines))
        self.untried.setVisible(not lines)
        for button in (self.next, self.back):
            button.setVisible(bool(lines))
        self.next.setAccessibleName(f"Try the next music for {name} against the picture")
        self.back.setAccessibleName(f"Try the music before for {name} against the picture")
        self.add.setAccessibleName(f"Add music to {name}")
        self.remove.setAccessibleName(f"Remove cue {name}")
        chosen = self._rows[self._ids.index(cue.chosen)].radio if cue.chosen in self._ids else self.none
        chosen.setChecked(True)

    def show_heard(self, name: str) -> None:
        """Show which candidate is heard as it is; the id of one, or ""."""
        for at, row in enumerate(self._rows[: len(self._ids)]):
            row.show_heard(bool(name) and self._ids[at] == name)

    def set_current(self, is_current: bool) -> None:
        """Say that the fields below are about it."""
        if is_current != self._is_current:
            self._is_current = is_current
            self.update()

    def set_free(self, reason: str) -> None:
        """Say that nothing can be changed, and why; "" to take that back. Listening goes on."""
        for button in (
            *(row.radio for row in self._rows),
            self.none,
            self.add,
            self.remove,
            self.next,
            self.back,
        ):
            button.setEnabled(not reason)
            if button is not self.none and not isinstance(button, ElidedRadio):
                button.setToolTip(reason)
        for row in self._rows:
            row.take_off.setEnabled(not reason)
        self.setAcceptDrops(not reason)

    def _arrange(self) -> None:
        head = QHBoxLayout()
        head.setSpacing(12)
        head.addWidget(self.heading, 1)
        head.addWidget(self.place)
        self._list = QVBoxLayout()
        self._list.setSpacing(2)
        self._group.addButton(self.none)
        self._list.addWidget(self.none)
        trying = QHBoxLayout()
        trying.setSpacing(8)
        for button in (self.next, self.back):
            trying.addWidget(button)
        trying.addStretch(1)
        adding = QHBoxLayout()
        adding.setSpacing(8)
        for button in (self.add, self.remove):
            adding.addWidget(button)
        adding.addStretch(1)
        page = QVBoxLayout(self)
        page.setContentsMargins(10, 6, 6, 6)
        page.setSpacing(4)
        page.addLayout(head)
        page.addWidget(self.runs_on)
        page.addWidget(self.untried)
        page.addLayout(self._list)
        page.addLayout(trying)
        page.addLayout(adding)

    def _add_row(self) -> None:
        row = _Row(self._theme, self)
        number = len(self._rows)
        self._group.addButton(row.radio, number)
        row.heard.connect(self._on_heard)
        row.taken_off.connect(self._on_taken_off)
        for widget in (row.radio, row.listen, row.take_off):
            widget.installEventFilter(self)
        # The one for none stays last.
        self._list.insertWidget(number, row)
        self._rows.append(row)

    def _button(self, text: str, call: Callable[[], None]) -> QPushButton:
        button = QPushButton(text, self)
        button.setAutoDefault(False)
        button.clicked.connect(call)
        button.installEventFilter(self)
        return button

    def _id_of(self, row: QObject | None) -> str:
        return next((self._ids[at] for at, item in enumerate(self.rows) if item is row), "")

    def _on_clicked(self, number: int) -> None:
        self.entered.emit(self._cue_id)
        self.chosen.emit(self._cue_id, self._ids[number] if 0 <= number < len(self._ids) else "")

    def _on_heard(self) -> None:
        self.listen_wanted.emit(self._cue_id, self._id_of(self.sender()))

    def _on_taken_off(self) -> None:
        self.removal_wanted.emit(self._cue_id, self._id_of(self.sender()))

    def _on_next(self) -> None:
        self.try_wanted.emit(self._cue_id, 1)

    def _on_back(self) -> None:
        self.try_wanted.emit(self._cue_id, -1)

    def _on_add(self) -> None:
        self.music_wanted.emit(self._cue_id)

    def _on_remove(self) -> None:
        self.cue_removal_wanted.emit(self._cue_id)

    def _set_target(self, is_target: bool) -> None:
        self._is_target = is_target
        self.update()

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        if event.type() == QEvent.Type.FocusIn:
            self.entered.emit(self._cue_id)
        return super().eventFilter(watched, event)

    def dragEnterEvent(self, event: QDragEnterEvent) -> None:
        if dropped_sounds(event.mimeData()):
            self._set_target(True)
            event.setDropAction(Qt.DropAction.CopyAction)
            event.accept()
        else:
            event.ignore()

    def dragLeaveEvent(self, event: QDragLeaveEvent) -> None:
        self._set_target(False)
        super().dragLeaveEvent(event)

    def dropEvent(self, event: QDropEvent) -> None:
        self._set_target(False)
        event.setDropAction(Qt.DropAction.CopyAction)
        event.accept()
        self.dropped.emit(self._cue_id, dropped_sounds(event.mimeData()))

    def paintEvent(self, event: QPaintEvent) -> None:
        super().paintEvent(event)
        painter = QPainter(self)
        if self._is_current:
            # A bar at its left, so that it is told from the others by shape.
            painter.fillRect(QRectF(0, 4, 3, self.height() - 8), self._theme.colour("ink"))
        if self._is_target:
            painter.setPen(QPen(self._theme.colour("pencil"), 2, Qt.PenStyle.DashLine))
            painter.drawRect(self.rect().adjusted(1, 1, -2, -2))


class _Row(QWidget):
    """One candidate.

    Signals:
        heard: It is to be heard as it is, or silent.
        taken_off: It is to be taken off the cue.
    """

    heard = Signal()
    taken_off = Signal()

    def __init__(self, theme: Theme, parent: QWidget) -> None:
        super().__init__(parent)
        self._theme = theme
        self._shown: tuple[_Line, str] | None = None
        self._is_heard = False
        self.radio = ElidedRadio("", self)
        self.licence = ElidedLabel(parent=self)
        self.sound = ElidedLabel(parent=self)
        self.sound.setProperty("kind", "small")
        self.sound.setContentsMargins(_INDENT_PX, 0, 0, 4)
        self.listen = self._tool("play", "Listen", self.heard)
        self.take_off = self._tool("close", "Take it off the cue", self.taken_off)
        top = QHBoxLayout()
        top.setSpacing(8)
        top.addWidget(self.radio, 3)
        top.addWidget(self.licence, 2)
        top.addWidget(self.listen)
        top.addWidget(self.take_off)
        page = QVBoxLayout(self)
        page.setContentsMargins(0, 0, 0, 0)
        page.setSpacing(0)
        page.addLayout(top)
        page.addWidget(self.sound)

    def show_line(self, line: _Line, cue: str) -> None:
        """Show a candidate of a cue."""
        if (line, cue) == self._shown:
            return
        self._shown = (line, cue)
        self.radio.set_full_text(line.name)
        self.radio.setAccessibleName(f"{cue}: {line.name}, {line.licence}")
        self.radio.setAccessibleDescription(line.sound)
        self.licence.say(line.licence, kind=line.kind, more=line.more)
        self.sound.say(line.sound)
        self.take_off.setAccessibleName(f"Take {line.name} off {cue}")
        self._name_listen()

    def show_heard(self, is_heard: bool) -> None:
        """Show whether it is heard as it is."""
        if is_heard != self._is_heard:
            self._is_heard = is_heard
            self.listen.setIcon(icon("stop" if is_heard else "play", self._theme))
            self._name_listen()

    def _name_listen(self) -> None:
        name = self._shown[0].name if self._shown else ""
        self.listen.setAccessibleName(f"Stop listening to {name}" if self._is_heard else f"Listen to {name}")
        self.listen.setToolTip("Stop" if self._is_heard else "Listen to the file as it is")

    def _tool(self, name: str, tip: str, signal: SignalInstance) -> QToolButton:
        button = QToolButton(self)
        button.setProperty("kind", "plain")
        button.setIcon(icon(name, self._theme))
        button.setToolTip(tip)
        button.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        button.clicked.connect(signal)
        return button


def _line(candidate: Candidate, film: Film, facts: Facts) -> _Line:
    rights = candidate.rights
    name = rights.title or file_name(candidate.file)
    if rights.author:
        name += f", by {rights.author}"
    licence, kind = (rights.licence, "dim") if rights.licence.strip() else (NO_LICENCE, "open")
    known = facts.get(candidate.file)
    if isinstance(known, MediaTrouble):
        licence, kind = f"file missing; {licence}", "fault"
    elif isinstance(known, MediaFacts) and known.sound is None:
        licence, kind = f"file has no sound; {licence}", "fault"
    more = [candidate.file, rights.source, rights.licence_link]
    return _Line(
        id=candidate.id,
        name=name,
        sound=how_it_sounds(candidate, film.rate, facts),
        licence=licence,
        kind=kind,
        more="\n".join(part for part in more if part),
    )
