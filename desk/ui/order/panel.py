"""The left of the window: the running order, its filter, and the shelf of what is set aside."""

import functools
import itertools
from collections.abc import Sequence

from PySide6.QtCore import QEvent, QKeyCombination, QObject, QPoint, Qt, Signal
from PySide6.QtGui import QKeyEvent, QKeySequence, QResizeEvent
from PySide6.QtWidgets import QHBoxLayout, QLabel, QMenu, QPushButton, QToolButton, QVBoxLayout, QWidget

from desk.errors import EditError
from desk.film.edits import Change
from desk.film.effects import describe_effect
from desk.film.model import Film, Scene
from desk.film.wording import counted
from desk.ui.bench import Bench
from desk.ui.labels import set_kind
from desk.ui.look.icons import icon
from desk.ui.order.commands import OrderCommands
from desk.ui.order.entry_view import NOWHERE, EntryView
from desk.ui.order.fades_editor import FadesEditor
from desk.ui.order.filter import CONTROL_PX, FilterBar, asks_status, matches
from desk.ui.order.heading import Heading
from desk.ui.order.join_editor import JoinEditor, Popup
from desk.ui.order.menu import MenuRow, build_menu, order_menu, shelf_menu
from desk.ui.order.model import OrderModel
from desk.ui.order.placing import into_order, onto_shelf
from desk.ui.order.shelf import Shelf
from desk.ui.order.shelf_model import ShelfModel
from desk.ui.order.view import OrderView
from desk.ui.session import MakeEdit

_MARGIN_PX = 8


class OrderPanel(OrderCommands):
    """The running order with all that is done to it.

    Signals:
        selection_changed: Other entries are chosen; `selected` says which.
        effect_previewed: What dropping here would do to the film, as a sentence; "" when nothing is dragged
            over a place.
    """

    selection_changed = Signal()
    effect_previewed = Signal(str)

    def __init__(self, bench: Bench, parent: QWidget | None = None) -> None:
        super().__init__(bench, parent)
        self._following = False
        self._telling = False
        self._broken: frozenset[str] = frozenset()
        self._chosen_row = -1
        self._told_ids: tuple[str, ...] = ()
        self._gone: list[tuple[str, ...]] = []
        self.model = OrderModel(bench, self)
        self.shelf_model = ShelfModel(bench, self)
        self.order = OrderView(bench, self.model, self)
        self.filter = FilterBar(bench.theme, self)
        self.shelf = Shelf(bench, self.shelf_model, self)
        self._locked = QLabel(self)
        self._locked.setObjectName("scenes-locked")
        self._shown = QLabel(self)
        self._shown.setProperty("kind", "open")
        self._show_all = QPushButton("Show all", self)
        self._show_all.setProperty("kind", "plain")
        self._in_order = frozenset(self.model.ids)
        self._lay_out()
        self._connect()
        self.refresh()
        self._follow_choice(bench.choice.entry)

    def _lay_out(self) -> None:
        heading = Heading("RUNNING ORDER", self)
        heading.setProperty("kind", "heading")
        heading.setToolTip("Shows the film's own sheet.")
        heading.clicked.connect(self._choose_film)
        head = QHBoxLayout()
        head.addWidget(heading)
        head.addStretch(1)
        head.addWidget(self._locked)
        tools = QHBoxLayout()
        tools.setSpacing(4)
        tools.addWidget(self.filter, 1)
        for button in self._buttons():
            tools.addWidget(button)
        self._told = QWidget(self)
        told = QHBoxLayout(self._told)
        told.setContentsMargins(4, 0, 0, 0)
        told.addWidget(self._shown)
        told.addStretch(1)
        told.addWidget(self._show_all)
        column = QVBoxLayout(self)
        column.setContentsMargins(_MARGIN_PX, _MARGIN_PX, _MARGIN_PX, _MARGIN_PX)
        column.setSpacing(8)
        column.addLayout(head)
        column.addLayout(tools)
        column.addWidget(self.order, 1)
        column.addWidget(self._told)
        column.addWidget(self.shelf)
        self.setMinimumWidth(340)
        tab_order = (self.filter, *self._tools, self.order, self._show_all, self.shelf.view)
        for first, second in itertools.pairwise(tab_order):
            self.setTabOrder(first, second)

    def _buttons(self) -> tuple[QToolButton, ...]:
        scene, card = QToolButton(self), QToolButton(self)
        self._tools = (scene, card)
        scene.setIcon(icon("add-scene", self._bench.theme))
        scene.setToolTip("Adds a scene after what is chosen.")
        scene.setAccessibleName("Add a scene")
        scene.clicked.connect(self.add_scene)
        card.setIcon(icon("add-card", self._bench.theme))
        card.setToolTip("Adds a title or credits after what is chosen.")
        card.setAccessibleName("Add a card")
        card.setPopupMode(QToolButton.ToolButtonPopupMode.InstantPopup)
        menu = QMenu(card)
        menu.addAction("Title").triggered.connect(self.add_title)
        menu.addAction("Credits").triggered.connect(self.add_credits)
        card.setMenu(menu)
        card.setStyleSheet("QToolButton::menu-indicator { image: none; }")
        for button in self._tools:
            button.setFixedSize(CONTROL_PX, CONTROL_PX)
            button.setEnabled(not self._session.read_only)
        return self._tools

    def _connect(self) -> None:
        bench = self._bench
        for view, menu in ((self.order, self._on_order_menu), (self.shelf.view, self._on_shelf_menu)):
            view.installEventFilter(self)
            view.customContextMenuRequested.connect(menu)
            view.drag_ended.connect(self._on_drag_ended)
        chosen = self.order.selectionModel()
        chosen.selectionChanged.connect(self._on_rows_chosen)
        chosen.currentChanged.connect(self._on_rows_chosen)
        chosen = self.shelf.view.selectionModel()
        chosen.selectionChanged.connect(self._on_tiles_chosen)
        chosen.currentChanged.connect(self._on_tiles_chosen)
        self.order.dragged_over.connect(self._on_dragged_over_order)
        self.shelf.view.dragged_over.connect(self._on_dragged_over_shelf)
        self.order.gap_opened.connect(self._on_gap_opened)
        self.order.heading_wanted.connect(self._choose_film)
        self.shelf.view.heading_wanted.connect(self._choose_film)
        self.model.placed.connect(self._on_placed)
        self.shelf_model.placed.connect(self._on_placed)
        self.shelf.put_back_wanted.connect(self.put_back)
        self.filter.changed.connect(self._on_filtered)
        self._show_all.clicked.connect(self.clear_filter)
        bench.session.changed.connect(self._on_changed)
        bench.statuses.changed.connect(self._on_statuses)
        bench.choice.chosen.connect(self._follow_choice)

    def selected(self) -> tuple[str, ...]:
        """Return the ids of what is chosen, in order: rows of the film, or else tiles of the shelf."""
        return self.order.chosen_ids() or self.shelf.view.chosen_ids()

    def shown(self) -> tuple[str, ...]:
        """Return the ids of the rows that the filter shows."""
        return self.order.shown_ids()

    def choose(self, entry_ids: Sequence[str]) -> None:
        """Choose entries, wherever they stand, and show them."""
        ids = tuple(entry_ids)
        if any(item in self.model.ids and item not in self.shown() for item in ids):
            self.clear_filter()
        in_order = any(item in self.model.ids for item in ids)
        self._following = True
        self.order.choose(ids if in_order else ())
        self.shelf.view.choose(() if in_order else ids)
        self._following = False
        self._tell()

    def rename(self) -> None:
        """Edit the slugline or name of the first of what is chosen in its place."""
        if ids := self.selected():
            view = self.order if ids[0] in self.model.ids else self.shelf.view
            view.rename(ids[0])

    def edit_join(self) -> None:
        """Change the join after what is chosen; after the last row, the film's fades."""
        ids = self._in_film()
        if not ids or self._session.read_only:
            return
        row = self.model.row_of(ids[-1])
        if row == len(self.model.ids) - 1:
            self.edit_fades(at_end=True)
        else:
            self._open(JoinEditor(self._bench, ids[-1], self), row)

    def edit_fades(self, *, at_end: bool = False) -> None:
        """Change how the film begins and ends."""
        if self.model.ids and not self._session.read_only:
            row = len(self.model.ids) - 1 if at_end else 0
            self._open(FadesEditor(self._bench, self, at_end=at_end), row, above=not at_end)

    def find(self) -> None:  # type: ignore[override]
        """Put the keyboard into the filter."""
        self.filter.take_focus()

    def clear_filter(self) -> None:
        """Show every row again."""
        self.filter.clear()

    def order_menu(self) -> list[MenuRow | None]:
        """Return the menu of the running order for what is chosen."""
        return order_menu(self._bench, self)

    def shelf_menu(self) -> list[MenuRow | None]:
        """Return the menu of the shelf for what is chosen."""
        return shelf_menu(self._bench, self)

    def refresh(self) -> None:
        """Say how much is locked, and show the rows that the filter lets through."""
        scenes = [scene for item in self.model.ids if (scene := self._scene_of(item))]
        locked = sum(scene.lock is not None for scene in scenes)
        said = f"{locked} of {counted(len(scenes), 'scene')} locked" if scenes else "no scenes yet"
        broken = sum(
            bool(self._bench.statuses.of(scene).broken) for scene in scenes if scene.id in self._broken
        )
        if broken:
            said += f", {broken} {'lock' if broken == 1 else 'locks'} broken"
        self._locked.setText(said)
        set_kind(self._locked, "fault" if broken else "")
        self._apply_filter()

    def _scene_of(self, entry_id: str) -> Scene | None:
        return self.model.listed_at(self.model.row_of(entry_id)).scene

    def _apply_filter(self) -> None:
        is_on = self.filter.is_on
        if not is_on and self._told.isHidden():
            return
        text, which = self.filter.text, self.filter.shown
        rows = range(len(self.model.ids))
        status = self.model.status_at if asks_status(which) else _no_status
        shown = [matches(self.model.listed_at(row), status(row), text, which) for row in rows]
        self.order.show_rows(shown)
        self._shown.setText(f"{sum(shown)} of {len(shown)} shown")
        self._told.setVisible(is_on)

    def _open(self, editor: Popup, row: int, *, above: bool = False) -> None:
        self.order.scrollTo(self.model.index(row))
        layout = self.order.layout_at(row)
        corner = layout.lead.bottomLeft() if above else layout.gap.bottomLeft()
        editor.show_at(self.order.viewport().mapToGlobal(corner + QPoint(48, 2)))

    def _tell(self) -> None:
        """Tell the others what is chosen."""
        ids = self.selected()
        current = (self.order if self.order.chosen_ids() else self.shelf.view).current_id()
        chosen = current if current in ids else (ids[-1] if ids else "")
        self._chosen_row = self.model.row_of(chosen)
        self._telling = True
        self._bench.choice.choose(chosen)
        self._telling = False
        if ids != self._told_ids:
            self._told_ids = ids
            self.selection_changed.emit()

    def _follow_choice(self, entry_id: str) -> None:
        """Choose what another part of the window has chosen, and nothing besides: its sheet is shown."""
        wanted = (entry_id,) if entry_id else ()
        if not self._telling and self.selected() != wanted:
            self.choose(wanted)
        self._chosen_row = self.model.row_of(entry_id)

    def _choose_film(self) -> None:
        self.choose(())

    def _on_changed(self, film: Film, _: Change) -> None:
        self.refresh()
        self.shelf.refresh()
        back = self._come_back()
        chosen = self._bench.choice.entry
        if back:
            self.choose(back)
        elif chosen and chosen not in film.entries():
            # It is gone: what took its place is chosen.
            ids = self.model.ids
            row = min(self._chosen_row, len(ids) - 1)
            self.choose((ids[row],) if row >= 0 else ())
        elif chosen and chosen not in self.selected():
            self._follow_choice(chosen)
        else:
            self._tell()

    def _come_back(self) -> tuple[str, ...]:
        """Return what was chosen when it left the film, and is there again; remember what left it now."""
        before, self._in_order = self._in_order, frozenset(self.model.ids)
        back = next((ids for ids in reversed(self._gone) if self._in_order.issuperset(ids)), ())
        if back:
            self._gone.remove(back)
        elif before.issuperset(self._told_ids) and not self._in_order.issuperset(self._told_ids):
            self._gone.append(self._told_ids)
        return back

    def _on_statuses(self) -> None:
        """Count the broken locks; only files break one, so that no edit adds to them."""
        statuses = self._bench.statuses
        scenes = self._session.film.scenes
        self._broken = frozenset(scene.id for scene in scenes if scene.lock and statuses.of(scene).broken)
        self.refresh()

    def _on_filtered(self) -> None:
        self._apply_filter()

    def _on_rows_chosen(self) -> None:
        self._on_chosen(self.order, self.shelf.view)

    def _on_tiles_chosen(self) -> None:
        self._on_chosen(self.shelf.view, self.order)

    def _on_chosen(self, here: EntryView, there: EntryView) -> None:
        # While rows come and go the choice is not settled; `_on_changed` settles it.
        if self._following or self.model.is_changing or self.shelf_model.is_changing:
            return
        if here.chosen_ids():
            self._following = True
            there.clearSelection()
            self._following = False
        self._tell()

    def _on_order_menu(self, point: QPoint) -> None:
        self._show_menu(self.order_menu(), self.order, point)

    def _on_shelf_menu(self, point: QPoint) -> None:
        self._show_menu(self.shelf_menu(), self.shelf.view, point)

    def _show_menu(self, rows: list[MenuRow | None], view: EntryView, point: QPoint) -> None:
        menu = build_menu(rows, self)
        menu.aboutToHide.connect(menu.deleteLater)
        menu.popup(view.viewport().mapToGlobal(point))

    def _on_gap_opened(self, row: int) -> None:
        # Of two clicks on a mark the first has opened it already.
        if any(editor.isVisible() for editor in self.findChildren(Popup)):
            return
        if row == NOWHERE:
            self.edit_fades()
            return
        self.choose((self.model.ids[row],))
        self.edit_join()

    def _on_placed(self, entry_ids: tuple[str, ...]) -> None:
        """Choose what was dropped; the keyboard goes on there."""
        self.choose(entry_ids)
        view = self.order if self.order.chosen_ids() else self.shelf.view
        view.setFocus(Qt.FocusReason.OtherFocusReason)

    def _on_drag_ended(self) -> None:
        self.effect_previewed.emit("")

    def _on_dragged_over_order(self, ids: tuple[str, ...], place: int) -> None:
        self._preview(functools.partial(into_order, entry_ids=ids, gap=place) if ids else None)

    def _on_dragged_over_shelf(self, ids: tuple[str, ...], _: int) -> None:
        self._preview(functools.partial(onto_shelf, entry_ids=ids) if ids else None)

    def _preview(self, make: MakeEdit | None) -> None:
        """Say what an edit would do, without doing it."""
        text = ""
        if make is not None:
            film = self._session.film
            try:
                text = describe_effect(film, make(film).after)
            except EditError as error:
                text = str(error)
        self.effect_previewed.emit(text)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        if not isinstance(watched, EntryView) or watched.is_editing:
            return super().eventFilter(watched, event)
        if isinstance(event, QKeyEvent) and event.type() == QEvent.Type.KeyPress:
            rows = self.order_menu() if watched is self.order else self.shelf_menu()
            modifiers = event.modifiers() & ~Qt.KeyboardModifier.KeypadModifier
            pressed = QKeySequence(QKeyCombination(modifiers, Qt.Key(event.key())))
            for row in rows:
                if row is not None and row.key and QKeySequence(row.key) == pressed:
                    if row.enabled:
                        row.call()
                    return True
        return super().eventFilter(watched, event)

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self.shelf.fit()


def _no_status(_: int) -> None:
    return None
