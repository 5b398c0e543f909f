"""The screens of a scene that is cut, one after the other, for `screens`."""

import functools
from collections.abc import Callable, Iterator
from pathlib import Path

from PySide6.QtCore import QPoint, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QScrollArea, QWidget

from desk.film import edits
from desk.film.locking import Part
from desk.film.model import Framing, SceneContent
from desk.film.timing import clip_starts
from desk.ui.cutting.lanes.grips import Hold
from desk.ui.scene.picture import PictureBody
from desk.ui.window import MainWindow
from tests.ui.lanes import edge, move, press

Screen = tuple[str, Callable[[], object], QWidget | None]
"""What it shows, what is done to show it, and of what a picture is taken: None for what stands in front."""


def cutting_screens(window: MainWindow, project: Path) -> Iterator[Screen]:
    """Give every screen of a cut of the demo film. The film is cut, and files of it are removed.

    Args:
        window: With the film.
        project: Its folder, a copy that may be changed.
    """
    view = window.shown()
    body, bench = view.picture, view.bench
    cut = bench.cut
    ids = {scene.number: scene.id for scene in bench.session.film.scenes}
    lanes = body.lanes.view

    def scene(number: str) -> None:
        bench.choice.choose(ids[number])
        view.scene_sheet.focus_part(Part.PICTURE)

    def content(number: str) -> SceneContent:
        return bench.session.film.scene(ids[number]).content

    yield "cut", lambda: scene("5"), None
    yield "cut-whole-part", lambda: scene("5"), body
    yield "cut-clip", lambda: _choose(body, content("5").clips[1].id), body
    yield "cut-zoomed", lambda: (lanes.zoom(8), lanes.setFocus()), body
    yield "cut-trimming", lambda: (lanes.show_whole(), _begin_trim(body, content("5").clips[1].id)), body
    yield (
        "cut-spot",
        lambda: (lanes.give_up(), lanes.show_whole(), _choose(body, content("5").spots[0].id)),
        body,
    )
    yield "cut-cue", lambda: _choose(body, content("5").cues[0].id), body
    yield "cut-several", lambda: cut.select([clip.id for clip in content("5").clips[:3]]), body
    yield "cut-loop", lambda: (cut.select_none(), cut.set_loop(20, 90)), body
    yield "cut-framing", lambda: _frame(body, content("5").clips[0].id), body
    yield (
        "cut-menu",
        lambda: (body.framing.end(), cut.clear_loop(), lanes.menu_wanted.emit(_middle(lanes))),
        None,
    )
    yield "viewer-film", body.viewer.player.show_film, None
    yield "viewer-footage", lambda: body.footage.show_wanted.emit(content("5").clips[0].source), None
    yield "viewer-footage-marked", lambda: _mark(body, content("5").clips[0].source), None
    yield "full-view", lambda: _fill_screen(body), None
    yield "footage-many", lambda: _list_all(body, project), body.footage
    yield "cut-locked", lambda: (scene("2"), _choose(body, content("2").clips[1].id)), None
    yield "offset", lambda: _find_offset(window, ids["4"], content("4").clips[3].id, scene), None
    yield "scene-empty", lambda: (_empty(window, ids["6"]), scene("6")), body
    yield "scene-empty-no-folder", lambda: (_empty(window, ids["3"], folder=""), scene("3")), body
    yield "cut-missing", lambda: (_lose(body, project, content("5").clips[1].source), scene("5")), body
    yield "cut-missing-clip", lambda: _choose(body, content("5").clips[1].id), body


def _middle(widget: QWidget) -> QPoint:
    return widget.mapToGlobal(widget.rect().center())


def _choose(body: PictureBody, owner: str) -> None:
    cut = body.bench.cut
    starts = dict(zip((clip.id for clip in cut.content.clips), clip_starts(cut.content), strict=True))
    starts |= {spot.id: spot.start_frames for spot in cut.content.spots}
    starts |= {cue.id: cue.start_frames for cue in cut.content.cues}
    cut.select((owner,))
    cut.go_to(starts[owner] + 6)


def _begin_trim(body: PictureBody, clip_id: str) -> None:
    """Drag the head of a clip by some frames and do not let go."""
    _choose(body, clip_id)
    view = body.lanes.view
    at = edge(view, clip_id, Hold.HEAD)
    press(view, at)
    move(view, at + QPoint(6, 0))
    move(view, at + QPoint(40, 0))


def _frame(body: PictureBody, clip_id: str) -> None:
    _choose(body, clip_id)
    framing = Framing(scale=1.25, x=-0.06)
    scene_id = body.bench.cut.scene_id
    body.bench.session.do(lambda film: edits.edit_clips(film, scene_id, (clip_id,), framing=framing))
    body.framing.begin(clip_id)


def _fill_screen(body: PictureBody) -> None:
    """Show the scene over the whole screen, with what it is played with."""
    body.viewer.player.show_scene()
    body.viewer.toggle_full_view()
    assert body.viewer.full_view is not None
    QTest.keyClick(body.viewer.full_view, Qt.Key.Key_Tab)


def _mark(body: PictureBody, path: str) -> None:
    player, marks = body.viewer.player, body.bench.cut.marks
    marks.mark_head(path, 20, player.frames)
    marks.mark_tail(path, 70, player.frames)
    player.go_to(45)


def _list_all(body: PictureBody, project: Path) -> None:
    """List all footage of the film, in view, so that its pictures are asked for."""
    page = body.parentWidget()
    while page is not None and not isinstance(page, QScrollArea):
        page = page.parentWidget()
    assert isinstance(page, QScrollArea)
    page.ensureWidgetVisible(body.footage.acts)
    body.footage.add_files(sorted(path for path in project.glob("footage/*/*.*") if path.is_file()))


def _find_offset(window: MainWindow, scene_id: str, clip_id: str, show: Callable[[str], None]) -> None:
    bench = window.shown().bench
    bench.session.do(lambda film: edits.unlock(film, scene_id, "2026-11-25"))
    show("4")
    _choose(window.shown().picture, clip_id)
    window.shown().picture.clip_sheet.find_offsets((clip_id,))


def _empty(window: MainWindow, scene_id: str, folder: str | None = None) -> None:
    session = window.shown().bench.session
    clips = [clip.id for clip in session.film.scene(scene_id).content.clips]
    session.do(functools.partial(edits.remove_clips, scene_id=scene_id, clip_ids=clips))
    if folder is not None:
        session.do(functools.partial(edits.edit_story, scene_id=scene_id, folder=folder))


def _lose(body: PictureBody, project: Path, source: str) -> None:
    (project / source).unlink()
    body.bench.media.look()
