"""The Picture part on a page that scrolls: viewer and lanes are seen together, and stay where they are."""

from fractions import Fraction

import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtWidgets import QApplication, QScrollArea, QVBoxLayout, QWidget

from desk.film.edits import remove_clips
from desk.film.model import Clip, Framing, SceneContent
from desk.ui.scene.part import PartFrame
from desk.ui.scene.picture import PictureBody
from tests.film.films import facts
from tests.ui.scene_parts import focus_chain, scene_with, with_media

CLIPS = (
    Clip(id="c3", source="footage/2/a.mov", in_seconds=Fraction(1), length_frames=48),
    Clip(
        id="c60",
        source="footage/2/b.mov",
        in_seconds=Fraction(2),
        length_frames=96,
        framing=Framing(scale=3.0),
    ),
)


class Page:
    """The part as it stands on a scene's sheet, below something else."""

    def __init__(self, body: PictureBody, width_px: int, height_px: int) -> None:
        self.body = body
        self.scroll = QScrollArea()
        self.scroll.setWidgetResizable(True)
        self.scroll.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        inside = QWidget()
        page = QVBoxLayout(inside)
        above = QWidget()
        above.setFixedHeight(400)
        self.frame = PartFrame(body)
        page.addWidget(above)
        page.addWidget(self.frame)
        page.addStretch(1)
        self.scroll.setWidget(inside)
        self.scroll.resize(width_px, height_px)

    def seen_px(self, widget: QWidget) -> tuple[int, int]:
        """Return where a widget begins and ends on the screen, from the upper edge of the page."""
        top = widget.mapTo(self.scroll.viewport(), QPoint(0, 0)).y()
        return top, top + widget.height()

    def right_px(self, widget: QWidget) -> int:
        """Return where a widget ends to the right."""
        return widget.mapTo(self.scroll.viewport(), QPoint(widget.width(), 0)).x()


@pytest.fixture
def show(make_bench, qtbot):
    def show_it(width_px, height_px):
        film = scene_with(SceneContent(clips=CLIPS))[0]
        bench = with_media(make_bench(film), {clip.source: facts() for clip in CLIPS})
        page = Page(PictureBody(bench), width_px, height_px)
        qtbot.addWidget(page.scroll)
        page.frame.show_scene(film.scene("s2"))
        page.frame.set_unfolded(True)
        bench.session.changed.connect(lambda film, _: page.frame.show_scene(film.scene("s2")))
        page.scroll.show()
        page.scroll.activateWindow()
        qtbot.waitUntil(page.scroll.isActiveWindow)
        return page

    return show_it


def settle(qtbot):
    """Let all be laid out, turn by turn."""
    for _ in range(5):
        qtbot.wait(1)


def order(page):
    """Return in which order the Tab key reaches viewer, lanes and clip sheet."""
    chain, parts = focus_chain(page.frame.fold), (page.body.viewer, page.body.lanes, page.body.clip_sheet)
    return sorted(parts, key=lambda part: next(at for at, it in enumerate(chain) if part.isAncestorOf(it)))


def test_the_whole_lanes_are_seen_with_the_whole_picture(show, qtbot):
    """At the height that the page has in a window of 1440 x 900."""
    page = show(760, 640)
    settle(qtbot)

    page.body.reveal_lanes()
    settle(qtbot)

    qtbot.waitUntil(lambda: page.scroll.verticalScrollBar().value() > 0)
    qtbot.waitUntil(lambda: page.seen_px(page.body.lanes)[1] <= 640)
    assert page.seen_px(page.body.viewer.picture)[0] >= 0
    # The picture takes all that is left, or all that its width asks for.
    picture = page.body.viewer.picture
    is_whole = abs(picture.height() - picture.width() * 1080 / 1920) < 2
    assert is_whole or 0 <= page.seen_px(page.body.viewer)[0] <= 16


def test_the_lanes_stay_in_view_until_the_page_is_scrolled_by_hand(show, qtbot):
    page = show(760, 640)
    bar = page.scroll.verticalScrollBar()
    page.body.reveal_lanes()
    qtbot.waitUntil(lambda: page.seen_px(page.body.lanes)[1] <= 640)

    page.scroll.resize(760, 560)

    qtbot.waitUntil(lambda: page.seen_px(page.body.lanes)[1] <= 560)
    bar.triggerAction(bar.SliderAction.SliderToMinimum)
    page.scroll.resize(760, 600)
    settle(qtbot)
    assert bar.value() == 0


def test_on_a_low_page_the_picture_is_seen_with_the_beginning_of_the_lanes(show, qtbot):
    page = show(540, 400)

    page.body.reveal_lanes()

    qtbot.waitUntil(lambda: page.seen_px(page.body.viewer.picture)[0] == 0)
    assert page.seen_px(page.body.lanes)[0] < 400 - 60


def test_a_narrow_page_has_the_clip_sheet_below_the_lanes(show, qtbot):
    page = show(540, 640)
    page.body.bench.cut.select(["c60"])
    body, width_px = page.body, page.scroll.viewport().width()
    qtbot.waitUntil(lambda: page.right_px(body.clip_sheet) <= width_px)
    assert page.right_px(body.lanes) <= width_px
    assert page.seen_px(body.clip_sheet)[0] >= page.seen_px(body.lanes)[1]
    assert order(page) == [body.viewer, body.lanes, body.clip_sheet]

    page.scroll.resize(900, 640)

    qtbot.waitUntil(lambda: page.seen_px(body.clip_sheet)[0] < page.seen_px(body.lanes)[0])
    assert page.right_px(body.clip_sheet) <= page.scroll.viewport().width()
    assert order(page) == [body.viewer, body.clip_sheet, body.lanes]
    page.scroll.resize(540, 640)
    qtbot.waitUntil(lambda: page.seen_px(body.clip_sheet)[0] >= page.seen_px(body.lanes)[1])


@pytest.mark.parametrize("height_px", [500, 640, 900])
def test_the_lanes_stay_where_they_are_when_a_clip_is_chosen(show, qtbot, height_px):
    """Neither what deserves a look in it nor its sheet moves them from under the pointer."""
    page = show(760, height_px)
    body = page.body
    settle(qtbot)
    before = page.seen_px(body.lanes)

    body.bench.cut.select(["c60"])

    qtbot.waitUntil(body.looks.isVisible)
    settle(qtbot)
    assert "enlarges the picture" in body.looks.text()
    assert page.seen_px(body.lanes) == before


def test_the_keyboard_goes_on_where_the_work_does_without_clips(show, qtbot):
    page = show(760, 640)
    body, session = page.body, page.body.bench.session
    body.lanes.setFocus()
    session.do(lambda film: remove_clips(film, "s2", [clip.id for clip in CLIPS]))
    assert body.empty.isAncestorOf(QApplication.focusWidget())
    session.stack.undo()
    assert QApplication.focusWidget() is body.lanes.view
