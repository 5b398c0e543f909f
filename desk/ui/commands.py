"""What the menus of the window hold, from the top left to the bottom right."""

from collections.abc import Callable, Sequence

from PySide6.QtGui import QAction

from desk.film.locking import Part
from desk.film.model import Scene
from desk.ui.actions import Command, StandardKey
from desk.ui.cutting.keys.commands import cut_commands
from desk.ui.cutting.keys.keyed_edits import CutEdits
from desk.ui.cutting.keys.rows import LOOP, PLACE
from desk.ui.cutting.lanes.lanes import Lanes
from desk.ui.film_view import FilmView
from desk.ui.look.theme import Appearance
from desk.ui.order.panel import OrderPanel
from desk.ui.scene.cue_view import BACK_KEY, NEXT_KEY
from desk.ui.scene.sheet import SceneSheet
from desk.ui.viewer.commands import viewer_commands
from desk.ui.viewer.viewer import Viewer
from desk.ui.window import MainWindow

FILE, EDIT, ENTRY, SCENE, CUT, VIEW, HELP = (
    "&File",
    "&Edit",
    "&Running order",
    "&Scene",
    "&Cut",
    "&View",
    "&Help",
)
MENUS = (FILE, EDIT, ENTRY, SCENE, CUT, VIEW, HELP)

Call = Callable[[], object]


def commands(window: MainWindow) -> Sequence[Command]:
    """Return all commands of a window."""
    return (
        *_file(window),
        *_edit(window),
        *_entry(window),
        *_scene(window),
        *_cut(window),
        *_view(window),
        *_help(window),
    )


class _When:
    """Conditions on the film that is open."""

    def __init__(self, window: MainWindow) -> None:
        self._window = window

    def film(self) -> bool:
        """A film is open."""
        return self._window.view is not None

    def writable(self) -> bool:
        """A film is open and may be edited."""
        view = self._window.view
        return view is not None and not view.bench.session.read_only

    def filled(self) -> bool:
        """The running order of the film that is open holds something, and may be edited."""
        return self.writable() and bool(self._ordered())

    def in_order(self) -> bool:
        """Something in the running order is chosen."""
        return self.writable() and bool(self._chosen() & self._ordered())

    def aside(self) -> bool:
        """Something set aside is chosen."""
        return self.writable() and bool(self._chosen() - self._ordered())

    def one(self) -> bool:
        """One entry is chosen."""
        return self.writable() and len(self._chosen()) == 1

    def some(self) -> bool:
        """At least one entry is chosen."""
        return self.writable() and bool(self._chosen())

    def scene(self) -> bool:
        """The sheet of a scene is shown."""
        return self.writable() and self._scene() is not None

    def scene_shown(self) -> bool:
        """The sheet of a scene is shown, even for reading only."""
        return self._scene() is not None

    def draft(self) -> bool:
        """The sheet of a draft is shown."""
        scene = self._scene()
        return self.writable() and scene is not None and scene.lock is None

    def locked(self) -> bool:
        """The sheet of a locked scene is shown."""
        scene = self._scene()
        return self.writable() and scene is not None and scene.lock is not None

    def undo(self) -> bool:
        """Something can be undone."""
        return self.writable() and self._window.shown().bench.session.stack.canUndo()

    def redo(self) -> bool:
        """Something can be done again."""
        return self.writable() and self._window.shown().bench.session.stack.canRedo()

    def assembling(self) -> bool:
        """An assembly is being made."""
        view = self._window.view
        return view is not None and view.assembling.is_running

    def _scene(self) -> Scene | None:
        view = self._window.view
        return view.chosen_scene() if view is not None else None

    def _chosen(self) -> set[str]:
        view = self._window.view
        return set(view.order.selected()) if view is not None else set()

    def _ordered(self) -> set[str]:
        return {item.entry for item in self._window.shown().bench.session.film.order}


def _of_view(window: MainWindow, call: Callable[[FilmView], object]) -> Call:
    """Return a call of something of the film that is open at that time."""

    def run() -> object:
        return call(window.shown())

    return run


def _of_order(window: MainWindow, call: Callable[[OrderPanel], object]) -> Call:
    def run() -> object:
        return call(window.shown().order)

    return run


def _of_sheet(window: MainWindow, call: Callable[[SceneSheet], object]) -> Call:
    def run() -> object:
        return call(window.shown().scene_sheet)

    return run


def _of_lanes(window: MainWindow, call: Callable[[Lanes], object]) -> Call:
    def run() -> object:
        return call(window.shown().picture.lanes)

    return run


def _to_part(window: MainWindow, part: Part) -> Call:
    def run() -> None:
        window.shown().scene_sheet.focus_part(part)

    return run


def _appearance(window: MainWindow, appearance: Appearance) -> Call:
    def run() -> None:
        window.set_appearance(appearance)

    return run


def _file(window: MainWindow) -> Sequence[Command]:
    when = _When(window)
    return (
        Command(
            id="new",
            menu=FILE,
            text="&New film from footage…",
            call=window.begin_new_film,
            key=StandardKey.New,
            icon="new-film",
        ),
        Command(
            id="open",
            menu=FILE,
            text="&Open film…",
            call=window.ask_for_film,
            key=StandardKey.Open,
            icon="folder",
        ),
        Command(
            id="save",
            menu=FILE,
            text="&Save now",
            call=_of_view(window, FilmView.save_now),
            key=StandardKey.Save,
            enabled=when.writable,
            starts_group=True,
        ),
        Command(
            id="folder",
            menu=FILE,
            text="Open the &project folder",
            call=window.open_project_folder,
            enabled=when.film,
            icon="folder",
        ),
        Command(
            id="assemble",
            menu=FILE,
            text="&Assemble…",
            call=_of_view(window, FilmView.assemble),
            key="Ctrl+Return",
            enabled=when.film,
            icon="assemble",
            starts_group=True,
        ),
        Command(
            id="stop",
            menu=FILE,
            text="S&top assembling",
            call=window.stop_assembling,
            enabled=when.assembling,
            icon="stop",
        ),
        Command(
            id="close",
            menu=FILE,
            text="&Close film",
            call=window.close_film,
            key=StandardKey.Close,
            enabled=when.film,
            starts_group=True,
        ),
        Command(
            id="quit",
            menu=FILE,
            text="&Quit",
            call=window.close,
            key="Ctrl+Q",
            role=QAction.MenuRole.QuitRole,
        ),
    )


def _edit(window: MainWindow) -> Sequence[Command]:
    when = _When(window)
    return (
        Command(
            id="undo",
            menu=EDIT,
            text="&Undo",
            call=window.undo,
            key=StandardKey.Undo,
            enabled=when.undo,
            icon="undo",
        ),
        Command(
            id="redo",
            menu=EDIT,
            text="&Redo",
            call=window.redo,
            key=StandardKey.Redo,
            enabled=when.redo,
            icon="redo",
        ),
        Command(
            id="rename",
            menu=EDIT,
            text="Re&name",
            call=_of_order(window, OrderPanel.rename),
            key="F2",
            enabled=when.one,
            icon="pencil",
            starts_group=True,
        ),
        Command(
            id="renumber",
            menu=EDIT,
            text="Change the &number…",
            call=_of_order(window, OrderPanel.renumber),
            key="Shift+F2",
            enabled=when.scene,
            icon="number",
        ),
        Command(
            id="duplicate",
            menu=EDIT,
            text="&Duplicate scene",
            call=_of_order(window, OrderPanel.duplicate),
            key="Ctrl+D",
            enabled=when.scene,
            icon="duplicate",
        ),
        Command(
            id="delete",
            menu=EDIT,
            text="De&lete for good",
            call=_of_order(window, OrderPanel.delete),
            key="Ctrl+Delete",
            enabled=when.some,
            icon="delete",
        ),
        Command(
            id="find",
            menu=EDIT,
            text="&Find in the running order",
            call=_of_order(window, OrderPanel.find),
            key=StandardKey.Find,
            enabled=when.film,
            icon="search",
            starts_group=True,
        ),
        Command(
            id="show-all",
            menu=EDIT,
            text="Show &all rows",
            call=_of_order(window, OrderPanel.clear_filter),
            enabled=when.film,
        ),
    )


def _entry(window: MainWindow) -> Sequence[Command]:
    when = _When(window)
    return (
        Command(
            id="add-scene",
            menu=ENTRY,
            text="Add a &scene",
            call=_of_order(window, OrderPanel.add_scene),
            key="Ctrl+Shift+S",
            enabled=when.writable,
            icon="add-scene",
        ),
        Command(
            id="add-title",
            menu=ENTRY,
            text="Add a &title card",
            call=_of_order(window, OrderPanel.add_title),
            key="Ctrl+Shift+T",
            enabled=when.writable,
            icon="add-card",
        ),
        Command(
            id="add-credits",
            menu=ENTRY,
            text="Add a &credit card",
            call=_of_order(window, OrderPanel.add_credits),
            key="Ctrl+Shift+R",
            enabled=when.writable,
        ),
        Command(
            id="up",
            menu=ENTRY,
            text="Move &up",
            call=_of_order(window, OrderPanel.move_up),
            key="Alt+Up",
            enabled=when.in_order,
            icon="up",
            starts_group=True,
        ),
        Command(
            id="down",
            menu=ENTRY,
            text="Move &down",
            call=_of_order(window, OrderPanel.move_down),
            key="Alt+Down",
            enabled=when.in_order,
            icon="down",
        ),
        Command(
            id="to-start",
            menu=ENTRY,
            text="Move to the start",
            call=_of_order(window, OrderPanel.move_to_start),
            key="Alt+Home",
            enabled=when.in_order,
        ),
        Command(
            id="to-end",
            menu=ENTRY,
            text="Move to the end",
            call=_of_order(window, OrderPanel.move_to_end),
            key="Alt+End",
            enabled=when.in_order,
        ),
        Command(
            id="join",
            menu=ENTRY,
            text="&Join to the next…",
            call=_of_order(window, OrderPanel.edit_join),
            key="Ctrl+J",
            enabled=when.in_order,
        ),
        Command(
            id="fades",
            menu=ENTRY,
            text="&Fades of the film…",
            call=_of_order(window, OrderPanel.edit_fades),
            key="Ctrl+Shift+J",
            enabled=when.filled,
        ),
        Command(
            id="set-aside",
            menu=ENTRY,
            text="Set &aside",
            call=_of_order(window, OrderPanel.set_aside),
            key="Ctrl+Backspace",
            enabled=when.in_order,
            icon="set-aside",
            starts_group=True,
        ),
        Command(
            id="set-aside-why",
            menu=ENTRY,
            text="Set aside with a &reason…",
            call=_of_order(window, OrderPanel.set_aside_with_reason),
            enabled=when.in_order,
        ),
        Command(
            id="put-back",
            menu=ENTRY,
            text="Put &back where it was",
            call=_of_order(window, OrderPanel.put_back),
            key="Ctrl+Shift+Backspace",
            enabled=when.aside,
            icon="put-back",
        ),
    )


def _scene(window: MainWindow) -> Sequence[Command]:
    when = _When(window)
    parts = (
        (Part.STORY, "Story", "story"),
        (Part.PICTURE, "Picture", "picture"),
        (Part.DIALOGUE, "Dialogue", "sound"),
        (Part.MUSIC, "Music and effects", "music"),
        (Part.GRADE, "Grade", "grade"),
        (Part.PROOFS, "Proofs and lock", "proof"),
    )
    return (
        Command(
            id="proof",
            menu=SCENE,
            text="Add a &proof…",
            call=_of_sheet(window, SceneSheet.add_proof),
            key="Ctrl+Shift+P",
            enabled=when.scene,
            icon="proof",
        ),
        Command(
            id="lock",
            menu=SCENE,
            text="&Lock…",
            call=_of_sheet(window, SceneSheet.lock),
            key="Ctrl+L",
            enabled=when.draft,
            icon="lock",
        ),
        Command(
            id="unlock",
            menu=SCENE,
            text="&Unlock…",
            call=_of_sheet(window, SceneSheet.unlock),
            key="Ctrl+Shift+L",
            enabled=when.locked,
            icon="unlock",
        ),
        Command(
            id="history",
            menu=SCENE,
            text="Earlier locked &versions…",
            call=_of_sheet(window, SceneSheet.show_history),
            key="Ctrl+H",
            enabled=when.scene_shown,
            icon="history",
        ),
        Command(
            id="level",
            menu=SCENE,
            text="Le&vel the voices…",
            call=_of_sheet(window, SceneSheet.level),
            key="Ctrl+Shift+D",
            enabled=when.draft,
            icon="sound",
            starts_group=True,
        ),
        Command(
            id="level-film",
            menu=SCENE,
            text="Level the voices of all dra&fts…",
            call=_of_sheet(window, SceneSheet.level_film),
            enabled=when.writable,
        ),
        Command(
            id="try-next",
            menu=SCENE,
            text="Try the &next music",
            call=_of_sheet(window, lambda sheet: sheet.try_music(1)),
            key=NEXT_KEY,
            enabled=when.scene,
            icon="music",
            starts_group=True,
        ),
        Command(
            id="try-back",
            menu=SCENE,
            text="Try the music &before",
            call=_of_sheet(window, lambda sheet: sheet.try_music(-1)),
            key=BACK_KEY,
            enabled=when.scene,
        ),
        *(
            Command(
                id=f"part-{part.value}",
                menu=SCENE,
                text=f"Go to {title}",
                call=_to_part(window, part),
                key=f"Alt+{number}",
                enabled=when.scene_shown,
                icon=name,
                starts_group=number == 1,
            )
            for number, (part, title, name) in enumerate(parts, start=1)
        ),
    )


def _cut(window: MainWindow) -> Sequence[Command]:
    when = _When(window)

    def now() -> CutEdits:
        return window.shown().cut_edits

    def viewer_now() -> Viewer:
        return window.shown().picture.viewer

    playing = viewer_commands(CUT, viewer_now, when.scene_shown, group=LOOP, within=PLACE)
    zooms = (
        ("in", "&In", "Ctrl++", _of_lanes(window, Lanes.zoom_in)),
        ("out", "&Out", "Ctrl+-", _of_lanes(window, Lanes.zoom_out)),
        ("whole", "To the &whole scene", "Ctrl+9", _of_lanes(window, Lanes.show_whole)),
    )
    return (
        Command(
            id="cut-lanes",
            menu=CUT,
            text="Go to the la&nes",
            call=_of_view(window, FilmView.go_to_lanes),
            key="Ctrl+2",
            enabled=when.scene_shown,
        ),
        *cut_commands(CUT, now, when.scene_shown, playing=playing),
        *(
            Command(
                id=f"cut-zoom-{name}",
                menu=CUT,
                group="&Zoom",
                text=text,
                call=call,
                key=key,
                enabled=when.scene_shown,
            )
            for name, text, key, call in zooms
        ),
    )


def _view(window: MainWindow) -> Sequence[Command]:
    when = _When(window)
    return (
        Command(
            id="film-sheet",
            menu=VIEW,
            text="The &film's sheet",
            call=_of_view(window, FilmView.choose_film),
            key="Ctrl+0",
            enabled=when.film,
            icon="film",
        ),
        Command(
            id="system",
            menu=VIEW,
            text="Colours as the &system",
            call=_appearance(window, Appearance.SYSTEM),
            starts_group=True,
        ),
        Command(id="dark", menu=VIEW, text="&Dark", call=_appearance(window, Appearance.DARK)),
        Command(id="light", menu=VIEW, text="&Light", call=_appearance(window, Appearance.LIGHT)),
        Command(
            id="full-screen",
            menu=VIEW,
            text="F&ull screen",
            call=window.toggle_full_screen,
            key="F11",
            starts_group=True,
        ),
    )


def _help(window: MainWindow) -> Sequence[Command]:
    return (
        Command(id="keys", menu=HELP, text="&Keys", call=window.show_keys, key="F1", icon="keys"),
        Command(id="cautions", menu=HELP, text="&Cautions", call=window.show_cautions, icon="warning"),
        Command(
            id="about",
            menu=HELP,
            text="&About Assembly Desk",
            call=window.show_about,
            role=QAction.MenuRole.AboutRole,
        ),
    )
