"""The footage of a scene: the files of its folder and others, to be looked at and added to the cut."""

import dataclasses
import functools
from collections.abc import Sequence
from pathlib import Path

from PySide6.QtCore import QPoint, QUrl, Signal
from PySide6.QtGui import QAction, QDragEnterEvent, QDropEvent, QShowEvent
from PySide6.QtWidgets import QFileDialog, QMenu, QVBoxLayout, QWidget

from desk.film import edits
from desk.film.model import Scene
from desk.film.paths import content_paths
from desk.film.timecode import format_length
from desk.film.wording import quoted
from desk.ui.bench import Bench
from desk.ui.cutting.footage.acts import FootageActs
from desk.ui.cutting.footage.added import added_words, name_files
from desk.ui.cutting.footage.bars import ActBar, FilterBar, HeadBar, MissingBar
from desk.ui.cutting.footage.cells import Outline
from desk.ui.cutting.footage.folder import FolderFiles, FolderWatch
from desk.ui.cutting.footage.menu import MISSING, FootageCommand, offers
from desk.ui.cutting.footage.model import FootageModel, footage_in
from desk.ui.cutting.footage.relinking import FolderRelinking
from desk.ui.cutting.footage.rows import FootageKind, FootageRow, FootageRows
from desk.ui.cutting.footage.state import FolderState
from desk.ui.cutting.footage.view import FootageView
from desk.ui.labels import note, say
from desk.ui.scene.empty_scene import choose_folder, show_folder, take_folder
from desk.ui.scene.relinking import Relinking

_AT_PLAYHEAD = FootageCommand.ADD_AT_PLAYHEAD
_NONE_FITS = "No file fits what is asked for. Clear the words, or show what is used too."


def ask_for_files(parent: QWidget, start: Path) -> list[Path]:
    """Ask for footage or sound and return it; none where the person thinks better of it."""
    chosen, _ = QFileDialog.getOpenFileNames(parent, "Add files to the scene's footage", str(start))
    return [Path(path) for path in chosen]


class FootageList(QWidget):
    """Shows a scene's files as a contact strip, and adds them to the cut.

    The film remembers what the person put on the list, used or not.

    Signals:
        show_wanted: A file is to be shown in the viewer; its path in the film.
    """

    show_wanted = Signal(str)

    def __init__(
        self, bench: Bench, parent: QWidget | None = None, *, outline: Outline | None = None
    ) -> None:
        """Make the list.

        Args:
            bench: What it works with.
            parent: Who owns it.
            outline: Gives the outline of a sound, or None where it is not there yet; see `tell_outline`.
        """
        super().__init__(parent)
        self._bench = bench
        self._scene_id = ""
        self._shown: tuple[object, ...] = ()
        self._order: tuple[str, ...] = ()
        self._rows: tuple[FootageRow, ...] = ()
        self._making = FootageRows()
        self._acts = FootageActs(bench)
        self._watch = FolderWatch(bench.session.folder, bench.jobs, self)
        self.relinking = Relinking(bench, self)
        self.folder_relinking = FolderRelinking(bench, self)
        self.model = FootageModel(bench.session.folder, self)
        self.head = HeadBar(bench, self)
        self.filter = FilterBar(self)
        self.state = FolderState(self)
        self.view = FootageView(bench, self.model, self, outline=outline)
        self.none_fits = note("dim", self)
        self.acts = ActBar(bench, self)
        self.missing = MissingBar(self)
        self.remarks = note("small", self)
        self.menu = QMenu(self)
        self.setAcceptDrops(True)
        self._arrange()
        self._follow()

    @property
    def rows(self) -> tuple[FootageRow, ...]:
        """All files of the scene, whether the filter shows them or not."""
        return self._rows

    def show_scene(self, scene: Scene) -> None:
        """Show the files of a scene as they are now."""
        if scene.id != self._scene_id:
            self._scene_id = scene.id
            self.view.clearSelection()
        self._refresh()

    def tell_outline(self, path: str) -> None:
        """Draw a sound anew, as its outline is there now."""
        self.model.tell_looks(path)

    def add_files(self, paths: Sequence[Path]) -> None:
        """Put files on the list, wherever they lie; a folder becomes that of a scene which has none."""
        scene = self._scene()
        if scene is None:
            return
        if len(paths) == 1 and paths[0].is_dir() and not scene.folder:
            take_folder(self._bench, scene.id, paths[0])
            return
        named = name_files(paths, self._bench.session.folder)
        here = {row.path for row in self._rows}
        new = [name for name in named.names if name not in here]
        if new and not self._list(scene, (*scene.more_footage, *new)):
            return
        if named.names:
            self.view.choose(named.names[0])
        if told := added_words(new, named.refused, scene):
            self._bench.messages.notice(told, urgent=bool(named.refused))

    def add_file(self, path: str, at_playhead: bool) -> None:
        """Add one file of the scene to its cut, or what is marked of it.

        Args:
            path: As the film names it.
            at_playhead: Whether at the playhead rather than in natural order.
        """
        scene = self._scene()
        rows = [row for row in self._rows if row.path == path]
        if scene is not None:
            self._add(scene, rows, _AT_PLAYHEAD if at_playhead else FootageCommand.ADD_IN_ORDER)

    def show_other(self, path: str, direction: int) -> None:
        """Ask for the next picture of the list to be shown, and choose it.

        Args:
            path: The one that is shown now.
            direction: 1 for the next, -1 for the one before; at either end nothing happens.
        """
        shown = [row.path for row in self.model.rows if row.is_known and row.kind is FootageKind.PICTURE]
        place = shown.index(path) + direction if path in shown else 0
        if 0 <= place < len(shown):
            self.view.choose(shown[place])
            self.show_wanted.emit(shown[place])

    def run(self, command: FootageCommand) -> None:
        """Do something with what is chosen."""
        scene, rows = self._scene(), self.view.chosen_rows()
        if scene is None:
            return
        first = rows[0].path if rows else ""
        match command:
            case FootageCommand.ADD_IN_ORDER | FootageCommand.ADD_AT_PLAYHEAD | FootageCommand.ADD_AT_END:
                self._add(scene, rows, command)
            case FootageCommand.AS_SPOT | FootageCommand.AS_CUE:
                self._acts.add_sound(scene, first, as_cue=command is FootageCommand.AS_CUE)
            case FootageCommand.REPLACE | FootageCommand.REPLACE_FROM_START:
                from_start = command is FootageCommand.REPLACE_FROM_START
                self._acts.replace(scene, first, from_start=from_start)
            case FootageCommand.SHOW:
                self.show_wanted.emit(first)
            case FootageCommand.FIND_USES:
                self._acts.select_uses(scene, first)
            case FootageCommand.OPEN_FOLDER:
                self._acts.open_folder(first)
            case FootageCommand.FIND_FILE:
                self.relinking.find(first)
            case FootageCommand.FIND_ALL:
                self.folder_relinking.find()
            case FootageCommand.TAKE_OFF:
                gone = {row.path for row in rows}
                self._list(scene, [path for path in scene.more_footage if path not in gone])

    def _list(self, scene: Scene, paths: Sequence[str]) -> bool:
        """Have the film remember files from elsewhere; returns whether it could."""
        make = functools.partial(edits.list_footage, scene_id=scene.id, paths=tuple(paths))
        return self._bench.session.do(make)

    def _arrange(self) -> None:
        page = QVBoxLayout(self)
        page.setContentsMargins(0, 0, 0, 0)
        page.setSpacing(8)
        self.none_fits.setText(_NONE_FITS)
        for widget in (
            self.head,
            self.state,
            self.missing,
            self.filter,
            self.view,
            self.none_fits,
            self.acts,
            self.remarks,
        ):
            page.addWidget(widget)

    def _follow(self) -> None:
        bench = self._bench
        bench.session.changed.connect(self._refresh_now)
        bench.media.changed.connect(self._on_media_changed)
        bench.thumbnails.made.connect(self.model.tell_looks)
        bench.cut.selected.connect(self._refresh_acts)
        bench.cut.marks.changed.connect(self._on_marked)
        self._watch.looked.connect(self._on_looked)
        self.filter.changed.connect(self._show_rows)
        self.view.chosen.connect(self._refresh_acts)
        self.view.add_wanted.connect(self._on_add_wanted)
        self.view.show_wanted.connect(self._on_show_wanted)
        self.view.menu_wanted.connect(self.open_menu)
        self.acts.wanted.connect(self.run)
        self.acts.menu_wanted.connect(self.open_menu)
        self.menu.triggered.connect(self._on_offer_taken)
        self.missing.find_wanted.connect(self.folder_relinking.find)
        self.missing.stop_wanted.connect(self.folder_relinking.stop)
        self.folder_relinking.started.connect(self._show_missing)
        self.folder_relinking.finished.connect(self._show_missing)
        for bar in (self.head, self.state):
            bar.folder_wanted.connect(self._on_folder_wanted)
            bar.open_wanted.connect(self._on_open_wanted)
            bar.files_wanted.connect(self._on_files_wanted)
        self.head.find_wanted.connect(self.folder_relinking.find)
        self.head.look_wanted.connect(self._watch.look)

    def open_menu(self, place: QPoint) -> None:
        """Open the menu of what is chosen.

        Args:
            place: Where, on the screen.
        """
        scene = self._scene()
        clip = self._acts.clip_to_replace(scene) if scene else None
        self.menu.clear()
        name = f"clip {scene.content.clips.index(clip) + 1}" if scene and clip else ""
        for group in offers(self.view.chosen_rows(), clip=name):
            if not self.menu.isEmpty():
                self.menu.addSeparator()
            for offer in group:
                action = self.menu.addAction(f"{offer.text}\t{offer.keys}" if offer.keys else offer.text)
                action.setData(offer.command)
        if not self.menu.isEmpty():
            self.menu.popup(place)

    def _scene(self) -> Scene | None:
        scenes = self._bench.session.film.scenes
        return next((scene for scene in scenes if scene.id == self._scene_id), None)

    def _refresh_now(self) -> None:
        self._refresh()

    def _refresh(self, *, anew: bool = False) -> None:
        """Show the scene as it is now, where it is another than was shown; a hidden list waits."""
        scene = self._scene()
        if scene is None or not self.isVisible():
            return
        film = self._bench.session.film
        now = (
            scene.id,
            scene.content,
            scene.folder,
            scene.more_footage,
            film.rate,
            self._bench.session.read_only,
        )
        if now == self._shown and not anew:
            return
        self._shown = now
        self._watch.watch(scene.folder, content_paths(scene.content, every_candidate=True))
        self._take_stock(scene)

    def _take_stock(self, scene: Scene) -> None:
        """Make the rows of the scene anew."""
        known = self._bench.media.facts
        found = self._watch.found
        files = found.files if found else ()
        added = scene.more_footage
        self._bench.media.also((*files, *added))
        made = self._making.of(
            scene.content,
            folder=scene.folder,
            files=files,
            added=added,
            known=known,
            rate=self._bench.session.film.rate,
        )
        self._rows = tuple(self._with_mark(row) for row in made)
        self._order = tuple(row.path for row in self._rows if row.kind is FootageKind.PICTURE)
        self._show_rows()

    def _with_mark(self, row: FootageRow) -> FootageRow:
        marked = self._bench.cut.marks.of(row.path)
        if marked is None:
            return row
        return dataclasses.replace(row, marked=format_length(marked.frames, self._bench.session.film.rate))

    def _show_rows(self) -> None:
        shown = [row for row in self._rows if self.filter.shows(row)]
        self.model.show_rows(shown)
        count = len(self._rows)
        read_only = bool(self._bench.session.read_only)
        found = self._watch.found
        self.head.show_counts(count, sum(not row.uses for row in self._rows), len(shown))
        self.head.allow(folder=bool(found and found.folder), may_edit=not read_only)
        self.state.show_state(found, count=count, read_only=read_only)
        self.filter.setVisible(bool(count))
        self.view.setVisible(bool(shown))
        self.acts.setVisible(bool(count))
        self.none_fits.setVisible(bool(count) and not shown)
        told = (found.others, *found.remarks) if found and count else ()
        say(self.remarks, " ".join(part for part in told if part))
        self._show_missing()
        self._refresh_acts()

    def _show_missing(self) -> None:
        missing = sum(row.trouble == MISSING for row in self._rows)
        self.missing.show_missing(missing, is_busy=self.folder_relinking.is_busy)

    def _refresh_acts(self) -> None:
        self.acts.show_chosen(self.view.chosen_rows())

    def _add(self, scene: Scene, rows: Sequence[FootageRow], command: FootageCommand) -> None:
        self._acts.add(scene, rows, command, self._order)

    def _on_looked(self, found: FolderFiles) -> None:
        scene = self._scene()
        if scene is not None and found.folder == scene.folder:
            self._take_stock(scene)

    def _on_media_changed(self, paths: frozenset[str]) -> None:
        scene = self._scene()
        if scene is None or not self.isVisible():
            return
        if any(row.path in paths for row in self._rows):
            self._take_stock(scene)

    def _on_marked(self, path: str) -> None:
        scene = self._scene()
        if scene is not None and self.isVisible() and any(row.path == path for row in self._rows):
            self._take_stock(scene)

    def _on_add_wanted(self, at_playhead: bool) -> None:
        rows = self.view.chosen_rows()
        sounds = [row for row in rows if row.kind is FootageKind.SOUND and row.is_known]
        if len(rows) == 1 and sounds:
            index = self.view.currentIndex()
            self.open_menu(self.view.viewport().mapToGlobal(self.view.visualRect(index).center()))
        else:
            self.run(FootageCommand.ADD_AT_PLAYHEAD if at_playhead else FootageCommand.ADD_IN_ORDER)

    def _on_show_wanted(self) -> None:
        row = self.view.current_row()
        if row is not None and row.is_known and row.kind is FootageKind.PICTURE:
            self.show_wanted.emit(row.path)

    def _on_offer_taken(self, action: QAction) -> None:
        command = action.data()
        if isinstance(command, FootageCommand):
            self.run(command)

    def _on_folder_wanted(self) -> None:
        choose_folder(self._bench, self._scene_id, self)

    def _on_open_wanted(self) -> None:
        scene = self._scene()
        if scene is not None and not show_folder(self._bench.session.folder / scene.folder):
            self._bench.messages.notice(
                f"The folder {quoted(scene.folder)} can't be opened. Connect its disk, or choose another.",
                urgent=True,
            )

    def _on_files_wanted(self) -> None:
        if paths := ask_for_files(self, self._bench.session.folder):
            self.add_files(paths)

    def _dropped(self, event: QDropEvent) -> list[Path]:
        data = event.mimeData()
        if footage_in(data):
            return []
        urls: list[QUrl] = data.urls()
        return [Path(url.toLocalFile()) for url in urls if url.isLocalFile()]

    def dragEnterEvent(self, event: QDragEnterEvent) -> None:
        if self._dropped(event):
            event.acceptProposedAction()

    def dropEvent(self, event: QDropEvent) -> None:
        if paths := self._dropped(event):
            event.acceptProposedAction()
            self.add_files(paths)

    def showEvent(self, event: QShowEvent) -> None:
        super().showEvent(event)
        self._refresh(anew=True)
