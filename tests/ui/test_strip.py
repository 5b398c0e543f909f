"""The strip as a person meets it: what it shows, and what a click or a key does."""

import dataclasses
import itertools

import pytest
from PySide6.QtCore import QEvent, QObject, QPoint, QPointF, Qt, Signal
from PySide6.QtGui import QColor, QImage, QMouseEvent
from PySide6.QtTest import QTest

from desk.film import edits
from desk.film.model import Clip, Film, Placement, Scene, SceneContent
from desk.ui.bench import Bench
from desk.ui.look.marks import Mark
from desk.ui.look.theme import Appearance
from desk.ui.strip import film_picture
from desk.ui.strip.drawing import BAR_HEIGHT_PX, BAR_TOP_PX, TENSION_HEIGHT_PX, TENSION_TOP_PX
from desk.ui.strip.film_strip import FilmStrip
from tests.film.editing import locked
from tests.film.films import small_film

# small_film has 420 frames: k1 to 72, s1 to 192, s2 to 288, s4 to 348, k2 to the end; each is 2 px of 840.
WIDTH_PX = 840
COLOURS = {"c1": "#a02030", "c2": "#206040", "c3": "#3050b0", "c4": "#907020"}


class Colours(QObject):
    """Stands in for thumbnails: each clip has one colour, once it is known."""

    made = Signal(str)

    def __init__(self, parent: QObject) -> None:
        super().__init__(parent)
        self.known = True
        self.asked: list[str] = []
        self.counts: dict[str, set[int]] = {}

    def colours(self, clip: Clip, count: int) -> list[QColor] | None:
        self.asked.append(clip.id)
        self.counts.setdefault(clip.id, set()).add(count)
        return [QColor(COLOURS.get(clip.id, "#777777"))] * count if self.known else None


@pytest.fixture(autouse=True)
def _colours_at_once(monkeypatch):
    """The strip refines its colours a moment after an edit; here, at the next turn."""
    monkeypatch.setattr(film_picture, "_LATER_MS", 0)


@pytest.fixture
def bench(make_bench):
    return coloured(make_bench(small_film()))


def coloured(bench: Bench) -> Bench:
    return dataclasses.replace(bench, thumbnails=Colours(bench.session))


@pytest.fixture
def strip(bench, qtbot):
    return shown(bench, qtbot)


def shown(bench: Bench, qtbot, width: int = WIDTH_PX) -> FilmStrip:
    made = FilmStrip(bench)
    qtbot.addWidget(made)
    made.resize(width, made.height())
    made.show()
    settle(qtbot, made)
    return made


def settle(qtbot, strip: FilmStrip) -> None:
    """Let what can wait be done."""
    for _ in range(3):
        qtbot.wait(1)
        strip.grab()


def picture(strip: FilmStrip) -> QImage:
    return strip.grab().toImage()


def columns(strip: FilmStrip, x: int) -> list[str]:
    """Return the colours of the bar at a place, from its top to its bottom, without its edges."""
    image = picture(strip)
    assert image.devicePixelRatio() == 1
    return [image.pixelColor(x, y).name() for y in range(BAR_TOP_PX + 3, BAR_TOP_PX + BAR_HEIGHT_PX - 3)]


def click(strip: FilmStrip, x: int, qtbot) -> None:
    qtbot.mouseClick(strip, Qt.MouseButton.LeftButton, pos=QPoint(x, BAR_TOP_PX + 20))


def marks(strip: FilmStrip) -> dict[str, Mark]:
    return {cell.span.entry: cell.mark for cell in strip.cells}


def test_a_click_chooses_the_entry_and_moves_the_playhead(strip, bench, qtbot):
    for x, entry, frame in (
        (144, "s1", 72),
        (143, "k1", 71),
        (500, "s2", 250),
        (839, "k2", 419),
        (0, "k1", 0),
    ):
        click(strip, x, qtbot)
        assert (bench.choice.entry, bench.choice.frame) == (entry, frame)
        assert strip.playhead_x == pytest.approx(x + 0.5, abs=1)


def test_a_drag_moves_the_playhead_and_not_the_choice(strip, bench, qtbot):
    click(strip, 200, qtbot)
    QTest.mousePress(strip, Qt.MouseButton.LeftButton, pos=QPoint(200, 40))
    for x, frame in ((500, 250), (2000, 419), (-50, 0)):
        drag(strip, x)
        assert (bench.choice.entry, bench.choice.frame) == ("s1", frame)
    QTest.mouseRelease(strip, Qt.MouseButton.LeftButton, pos=QPoint(0, 40))
    assert bench.choice.entry == "s1"


def drag(strip: FilmStrip, x: int) -> None:
    left = Qt.MouseButton.LeftButton
    place = QPointF(x, 40)
    event = QMouseEvent(
        QEvent.Type.MouseMove, place, strip.mapToGlobal(place), left, left, Qt.KeyboardModifier.NoModifier
    )
    strip.mouseMoveEvent(event)


def test_keys_go_from_entry_to_entry(strip, bench, qtbot):
    starts = {"k1": 0, "s1": 72, "s2": 192, "s4": 288, "k2": 348}
    seen = []
    for key in (Qt.Key.Key_Right,) * 6 + (Qt.Key.Key_Left,) * 2:
        qtbot.keyClick(strip, key)
        assert bench.choice.frame == starts[bench.choice.entry]
        seen.append(bench.choice.entry)
    assert seen == ["k1", "s1", "s2", "s4", "k2", "k2", "s4", "s2"]
    qtbot.keyClick(strip, Qt.Key.Key_End)
    assert (bench.choice.entry, bench.choice.frame) == ("k2", 419)
    qtbot.keyClick(strip, Qt.Key.Key_Home)
    assert (bench.choice.entry, bench.choice.frame) == ("k1", 0)


def test_the_first_key_takes_the_entry_at_the_playhead(strip, bench, qtbot):
    bench.choice.go_to(200)
    qtbot.keyClick(strip, Qt.Key.Key_Left)
    assert bench.choice.entry == "s2"


def test_shift_goes_by_a_second(strip, bench, qtbot):
    bench.choice.go_to(400)
    for key, frame in ((Qt.Key.Key_Left, 376), (Qt.Key.Key_Right, 400), (Qt.Key.Key_Right, 419)):
        qtbot.keyClick(strip, key, Qt.KeyboardModifier.ShiftModifier)
        assert bench.choice.frame == frame
    assert bench.choice.entry == ""


def test_it_says_where_it_is(strip, bench, qtbot):
    assert strip.accessibleName().startswith("Film: Title, card, 01:00:00:00, entry 1 of 5")
    qtbot.keyClick(strip, Qt.Key.Key_Right)
    qtbot.keyClick(strip, Qt.Key.Key_Right)
    assert strip.accessibleName() == "Film: 1 EXT. QUAY - DAWN, draft, 01:00:03:00, entry 2 of 5"
    bench.session.do(lambda film: edits.set_aside(film, ["k1"]))
    assert strip.accessibleName() == "Film: 1 EXT. QUAY - DAWN, draft, 01:00:03:00, entry 1 of 4"


def test_the_pointer_is_told_what_is_there(strip):
    assert strip.tip_at(500) == (
        "2 INT. KIOSK - DAY\n01:00:10:10\nstarts at 01:00:08:00, length 0:04:00, draft, tension 3"
    )
    assert strip.tip_at(0).startswith("Title\n01:00:00:00\n")


def test_locked_parts_are_solid_and_drafts_hatched(make_bench, qtbot):
    bench = coloured(make_bench(locked(small_film(), "s2")))
    strip = shown(bench, qtbot)
    assert marks(strip) == {
        "k1": Mark.CARD, "s1": Mark.DRAFT, "s2": Mark.LOCKED, "s4": Mark.DRAFT, "k2": Mark.CARD,
    }  # fmt: skip
    assert set(columns(strip, 500)) == {COLOURS["c3"]}
    draft = columns(strip, 200)
    assert COLOURS["c1"] in draft
    assert len(set(draft)) > 2
    # Scene 1 has two clips of 48 and 72 frames: its second begins 96 px from its start.
    assert COLOURS["c1"] in columns(strip, 144 + 94)
    assert COLOURS["c2"] in columns(strip, 144 + 98)


def test_a_card_is_black_with_a_frame_and_a_slate_is_empty(make_bench, qtbot, theme):
    film = small_film()
    film = dataclasses.replace(film, order=(Placement(entry="k1"), Placement(entry="s3")), aside=())
    film = dataclasses.replace(film, scenes=(film.scene("s3"),), cards=film.cards[:1])
    strip = shown(coloured(make_bench(film)), qtbot, 400)
    assert marks(strip) == {"k1": Mark.CARD, "s3": Mark.SLATE}
    assert set(columns(strip, 50)) == {"#000000"}
    assert set(columns(strip, 300)) == {theme.palette.bench}


def test_a_broken_lock_has_a_crack(make_bench, qtbot, theme):
    bench = coloured(make_bench(locked(small_film(), "s2")))
    strip = shown(bench, qtbot)
    with qtbot.waitSignal(bench.media.changed):
        bench.media.look()
    # None of the film's files is there.
    qtbot.waitUntil(lambda: marks(strip)["s2"] is Mark.BROKEN)
    image = picture(strip)
    middle = [image.pixelColor(480 + x, 48).name() for x in range(-4, 5)]
    assert theme.palette.broken in middle


def test_what_is_not_known_yet_is_grey_until_it_is(make_bench, qtbot, theme):
    bench = coloured(make_bench(locked(small_film(), "s2")))
    bench.thumbnails.known = False
    strip = shown(bench, qtbot)
    assert set(columns(strip, 500)) == {theme.palette.unlit}
    bench.thumbnails.known = True
    bench.thumbnails.asked.clear()
    bench.thumbnails.made.emit("footage/2/ticket.mov")
    qtbot.waitUntil(lambda: bool(bench.thumbnails.asked))
    assert set(columns(strip, 500)) == {COLOURS["c3"]}
    # Scenes of other footage are let be.
    assert bench.thumbnails.asked == ["c3"]
    bench.thumbnails.made.emit("footage/2/ticket.mov")
    settle(qtbot, strip)
    assert bench.thumbnails.asked == ["c3"]


def test_what_was_known_stays_until_more_is_known(make_bench, qtbot):
    bench = coloured(make_bench(locked(small_film(), "s2")))
    strip = shown(bench, qtbot)
    bench.thumbnails.known = False
    strip.resize(2 * WIDTH_PX, strip.height())
    settle(qtbot, strip)
    assert set(columns(strip, 1000)) == {COLOURS["c3"]}


def test_another_width_asks_for_other_moments_rarely(strip, bench, qtbot):
    bench.thumbnails.asked.clear()
    bench.thumbnails.counts.clear()
    for width in range(WIDTH_PX, 2 * WIDTH_PX, 60):
        strip.resize(width, strip.height())
        settle(qtbot, strip)
    assert bench.thumbnails.asked.count("c3") > 2
    assert len(bench.thumbnails.counts["c3"]) <= 2


def test_joins_and_fades_are_marked_in_their_places(strip, bench, theme):
    """A dissolve of 12 and 12 frames at the end of scene 1: 24 px either side of 384."""
    pencil = theme.palette.pencil

    def pencilled(left: int, right: int) -> bool:
        image = picture(strip)
        rows = range(BAR_TOP_PX + 8, BAR_TOP_PX + BAR_HEIGHT_PX - 8)
        return any(image.pixelColor(x, y).name() == pencil for x in range(left, right) for y in rows)

    assert pencilled(364, 404)
    assert not pencilled(410, 560)
    assert not pencilled(20, 40)
    bench.session.do(lambda film: edits.set_fades(film, 20, 0))
    assert pencilled(4, 40)
    bench.session.stack.undo()
    assert not pencilled(4, 40)


def test_the_tension_line_is_above(strip, bench, theme):
    """Scene 1 has tension 0, scene 2 has 3, scene 4 was not said."""
    bottom = TENSION_TOP_PX + TENSION_HEIGHT_PX

    def level(x: int) -> float | None:
        image = picture(strip)
        lit = [y for y in range(2, BAR_TOP_PX - 4) if image.pixelColor(x, y).name() == theme.palette.pencil]
        return (bottom - sum(lit) / len(lit)) / TENSION_HEIGHT_PX * 5 if lit else None

    assert level(250) == pytest.approx(0, abs=0.6)
    assert level(480) == pytest.approx(3, abs=0.6)
    assert level(640) is None
    bench.session.do(lambda film: edits.edit_story(film, "s4", tension=5))
    assert level(640) == pytest.approx(5, abs=0.6)
    bench.session.stack.undo()
    assert level(640) is None


def test_an_edit_is_shown_done_undone_and_done_again(strip, bench, qtbot):
    def order() -> list[tuple[str, int]]:
        return [(cell.span.entry, cell.span.start_frames) for cell in strip.cells]

    before = order()
    bench.session.do(lambda film: edits.set_aside(film, ["s1"]))
    after = [("k1", 0), ("s2", 72), ("s4", 168), ("k2", 228)]
    assert order() == after
    settle(qtbot, strip)
    image = picture(strip)
    bench.session.stack.undo()
    assert order() == before
    bench.session.stack.redo()
    assert order() == after
    settle(qtbot, strip)
    assert picture(strip) == image


def test_the_picture_is_the_same_as_one_drawn_at_once(strip, bench, qtbot):
    """What is drawn anew in parts leaves no traces."""
    for make in (
        lambda film: edits.edit_story(film, "s2", tension=5),
        lambda film: edits.set_join(film, "s2", film.order[1].join),
        lambda film: edits.renumber(film, "s2", "9B"),
        lambda film: edits.move(film, ["s4"], 0),
    ):
        assert bench.session.do(make)
        settle(qtbot, strip)
    bench.choice.choose("s4")
    bench.choice.go_to(300)
    fresh = shown(bench, qtbot)
    assert picture(strip) == picture(fresh)


def test_the_other_palette(strip, bench, theme, qtbot):
    dark = picture(strip)
    theme.set_appearance(Appearance.LIGHT)
    settle(qtbot, strip)
    light = picture(strip)
    assert light != dark
    theme.set_appearance(Appearance.DARK)
    settle(qtbot, strip)
    assert picture(strip) == dark


def test_an_empty_film_says_what_to_do(make_bench, qtbot):
    film = dataclasses.replace(small_film(), order=(), aside=(), scenes=(), cards=())
    bench = make_bench(film)
    strip = shown(bench, qtbot)
    assert "Add a scene" in strip.accessibleName()
    click(strip, 100, qtbot)
    qtbot.keyClick(strip, Qt.Key.Key_Right)
    assert bench.choice.entry == ""
    bench.session.do(lambda film: edits.insert_scene(film, 0, slugline="EXT. PIER - DAY"))
    assert [cell.mark for cell in strip.cells] == [Mark.SLATE]
    assert "EXT. PIER - DAY" in strip.accessibleName()
    bench.session.stack.undo()
    assert strip.cells == ()
    picture(strip)


def long_film(scenes: int, clips: int) -> Film:
    made = tuple(
        Scene(
            id=f"s{number}",
            number=f"{number}A" if number % 3 else str(number),
            slugline="EXT. QUAY - DAY",
            tension=number % 6,
            content=SceneContent(
                clips=tuple(
                    Clip(
                        id=f"c{number}_{at}",
                        source=f"footage/{at}.mov",
                        length_frames=20 + (number + at) % 40,
                    )
                    for at in range(clips)
                )
            ),
        )
        for number in range(1, scenes + 1)
    )
    return dataclasses.replace(
        small_film(),
        scenes=made,
        cards=(),
        order=tuple(Placement(entry=scene.id) for scene in made),
        aside=(),
        next_id=100_000,
    )


def test_labels_of_120_scenes_do_not_touch(make_bench, qtbot):
    bench = coloured(make_bench(long_film(120, 2)))
    strip = shown(bench, qtbot, 1300)
    for chosen in ("", "s2", "s61", "s120"):
        bench.choice.choose(chosen)
        places = sorted(strip.labels.values(), key=lambda place: place.left())
        assert 20 < len(places) < 60
        assert all(one.right() < other.left() for one, other in itertools.pairwise(places))
        assert places[0].left() >= 0
        assert places[-1].right() <= 1300
        assert not chosen or chosen in strip.labels


def test_a_narrow_strip_does_not_ask_for_colours_that_have_no_place(make_bench, qtbot):
    bench = coloured(make_bench(long_film(120, 40)))
    strip = shown(bench, qtbot, 600)
    qtbot.waitUntil(lambda: len(bench.thumbnails.asked) >= 500)
    settle(qtbot, strip)
    assert len(bench.thumbnails.asked) <= 1000


def test_an_edit_of_one_scene_leaves_the_others_be(make_bench, qtbot):
    bench = coloured(make_bench(long_film(12, 4)))
    strip = shown(bench, qtbot, 1200)
    bench.thumbnails.asked.clear()
    bench.session.do(lambda film: edits.edit_story(film, "s3", purpose="They meet."))
    settle(qtbot, strip)
    assert bench.thumbnails.asked == []
    content = bench.session.film.scene("s3").content
    shorter = dataclasses.replace(content, clips=content.clips[:3])
    bench.session.do(lambda film: edits.set_content(film, "s3", shorter, "Shorten"))
    qtbot.waitUntil(lambda: len(bench.thumbnails.asked) >= 3)
    settle(qtbot, strip)
    assert bench.thumbnails.asked == ["c3_0", "c3_1", "c3_2"]
