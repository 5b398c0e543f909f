"""How music goes down under speech, drawn on its lane once the clips were listened to."""

import functools

import pytest
from PySide6.QtCore import QPointF, QRectF

from desk.film import edits
from desk.film.lanes import spans
from desk.film.model import Duck, SceneContent
from desk.film.rates import SAMPLE_RATE_HZ
from desk.sound.ducking import DuckPoint, duck_curve
from desk.sound.plan import speech_in
from desk.ui.cutting.lanes.lanes import Lanes
from desk.ui.cutting.lanes.layout import Row
from desk.ui.cutting.lanes.shapes import duck_line, gain_line_y
from tests.ui.lanes import box_of
from tests.ui.spoken import DUCK, RATE, music, put_sounds, says, spoken_film, spoken_sounds
from tests.ui.viewing import wait_for_media

pytestmark = pytest.mark.ffmpeg


@pytest.fixture(scope="session")
def sounds(tmp_path_factory):
    return spoken_sounds(tmp_path_factory)


@pytest.fixture
def show(make_bench, sounds, tmp_path, qtbot):
    kept = []

    def show_it(**content):
        film = spoken_film(SceneContent(clips=(says("c1", "loud.wav"), says("c2", "soft.wav")), **content))
        bench = make_bench(film, put_sounds(sounds, tmp_path / "film"))
        wait_for_media(bench, qtbot)
        lanes = Lanes(bench)
        kept.append(lanes)
        qtbot.addWidget(lanes)
        lanes.resize(900, 300)
        bench.cut.open("s1")
        lanes.show()
        qtbot.waitExposed(lanes)
        # Outlines of the sounds are drawn when they come.
        qtbot.waitUntil(lambda: not bench.jobs.jobs, timeout=20_000)
        return lanes.view, bench

    return show_it


def listen(bench, qtbot):
    content = bench.session.film.scene("s1").content
    with qtbot.waitSignal(bench.listening.settled, timeout=20_000):
        bench.listening.want("test", content.clips, functools.partial(spans, content, RATE))


def stretches(bench):
    own = spans(bench.session.film.scene("s1").content, RATE)
    return speech_in(own, RATE, bench.listening.speech_of(RATE, bench.media.facts))


def picture(view):
    return view.grab().toImage()


def changed_columns(view, before, after):
    """Columns of the Music lane in which two pictures differ."""
    top, height = view.lanes.rows[Row.MUSIC]
    ratio = view.devicePixelRatioF()
    rows = range(round(top * ratio), round((top + height) * ratio))
    return [
        x / ratio for x in range(before.width()) if any(before.pixel(x, y) != after.pixel(x, y) for y in rows)
    ]


def test_music_that_goes_down_is_drawn_so_where_somebody_speaks(show, qtbot):
    view, bench = show(cues=(music(),))
    assert view._ducks.curves == {}
    listen(bench, qtbot)
    spoken = stretches(bench)
    assert spoken
    qtbot.waitUntil(lambda: view._ducks.curves == {"m1": duck_curve(DUCK, spoken, RATE)})
    assert view.words_at(_middle(view)).endswith("goes down by 12 dB while somebody speaks")
    drawn = picture(view)
    # Another depth is another curve; none takes it away again.
    bench.session.do(lambda film: edits.edit_cue(film, "s1", "m1", duck=Duck(depth_db=3.0)))
    qtbot.waitUntil(lambda: min(point.gain_db for point in view._ducks.curves["m1"]) == -3.0)
    bench.session.do(lambda film: edits.edit_cue(film, "s1", "m1", duck=None))
    qtbot.waitUntil(lambda: not view._ducks.curves)
    columns = changed_columns(view, drawn, picture(view))
    per_frame = SAMPLE_RATE_HZ / RATE.fraction
    for start, end in spoken:
        middle = view.axis.x(float((start + end) / 2 / per_frame))
        assert any(abs(x - middle) <= 1 for x in columns)


def _middle(view):
    box = box_of(view, "m1", Row.MUSIC)
    return QPointF(view.axis.x(box.start_frames + box.length_frames / 2), box.top_px + box.height_px / 2)


def test_another_scene_begins_without_curves(show, qtbot):
    view, bench = show(cues=(music(),))
    listen(bench, qtbot)
    qtbot.waitUntil(lambda: bool(view._ducks.curves))
    bench.session.do(lambda film: edits.insert_scene(film, 1, "2"))
    bench.cut.open(bench.session.film.scenes[-1].id)
    assert view._ducks.curves == {}


def test_the_line_has_the_gain_and_what_speech_takes_off_it():
    rect = QRectF(10, 0, 102, 40)
    points = (DuckPoint(20, 0.0), DuckPoint(30, -8.0), DuckPoint(60, -8.0), DuckPoint(90, 0.0))
    line = duck_line(rect, 0, 100, -6.0, points)
    assert [round(point.x()) for point in line] == [11, 31, 41, 71, 101, 111]
    plain, down = gain_line_y(rect, -6.0), gain_line_y(rect, -14.0)
    assert [point.y() for point in line] == pytest.approx([plain, plain, down, down, plain, plain])
    # A cue that begins while somebody speaks begins low.
    late = duck_line(rect, 45, 100, 0.0, points)
    assert late[0].y() == pytest.approx(gain_line_y(rect, -8.0))
    assert late[-1].y() == pytest.approx(gain_line_y(rect, 0.0))
