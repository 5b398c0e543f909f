"""Colours, shapes and places in the assembled picture, measured in pixels.

Colour patches are compared with BT.709 limited values computed from ITU-R BT.601, BT.709 and BT.2020 (in
`tests.render.stills`), all as PyAV decodes them from the finished file.
"""

from fractions import Fraction

import av
import numpy as np
import pytest

from desk.film.model import Delivery, Fit, Framing, Size
from desk.film.rates import Rate
from tests.making import make_numbered, read_pictures
from tests.render.films import clip, decode_copy, make_film, run_assembly, scene
from tests.render.stills import COLOURS, make_still, patches, plain, ycbcr

pytestmark = pytest.mark.ffmpeg

RATE = Rate(25)
BLACK = (16, 128, 128)
WHOLE = Framing()
NO_LIMIT = Delivery(review_height=2160)


def one_frame(project, program, source, *, size, framing=WHOLE, **film):
    """Return Y, U and V of the first frame of a film of one clip, colour at full resolution."""
    made = run_assembly(
        project, program, make_film(RATE, scene(clip(source, 0, 2, framing=framing)), size=size, **film)
    )
    with av.open(str(made.files[0])) as container:
        context = container.streams.video[0].codec_context
        assert (context.width, context.height) == (size.width, size.height)
        assert context.pix_fmt == "yuv420p"
        # ISO/IEC 23091-2: 1 is BT.709; FFmpeg's 1 is limited range.
        assert (context.colorspace, context.color_primaries, context.color_trc) == (1, 1, 1)
        assert context.color_range == 1
        assert context.sample_aspect_ratio in (None, 1)
    luma, blue, red = decode_copy(made.files[0]).frames[0]
    whole = [np.repeat(np.repeat(plane, 2, 0), 2, 1) for plane in (blue, red)]
    return np.stack([luma, *whole]).astype(np.float64)


def middle(frame, left, top, right, bottom):
    """Return the mean colour of the middle of a part of a frame, given in parts of its width and height."""
    height, width = frame.shape[1:]
    across, down = (right - left) / 4, (bottom - top) / 4
    part = frame[
        :,
        round((top + down) * height) : round((bottom - down) * height),
        round((left + across) * width) : round((right - across) * width),
    ]
    return part.mean(axis=(1, 2))


def assert_patches(frame, tolerance=2.0):
    for place, (name, colour) in enumerate(COLOURS.items()):
        row, column = divmod(place, 4)
        seen = middle(frame, column / 4, row / 2, (column + 1) / 4, (row + 1) / 2)
        np.testing.assert_allclose(seen, ycbcr(colour), atol=tolerance, err_msg=name)


def test_the_values_compared_with_are_those_of_the_standards():
    """BT.709, limited: red is Y 63, U 102, V 240; full-range white is 235 once limited (BT.709-6)."""
    assert [round(value) for value in ycbcr((1, 0, 0))] == [63, 102, 240]
    assert [round(value) for value in ycbcr((1, 1, 1))] == [235, 128, 128]
    assert [round(value) for value in ycbcr((1, 0, 0), "smpte170m")] == [81, 90, 240]


KINDS = {
    "bt709": {},
    "bt709 full": {"full_range": True},
    "10-bit hevc": {"bits": 10, "codec": "libx265"},
    "10-bit full": {"bits": 10, "codec": "libx265", "full_range": True},
    "bt2020 10-bit": {"bits": 10, "codec": "libx265", "matrix": "bt2020nc"},
    "4:4:4": {"halved": False},
    "pal": {"matrix": "bt470bg"},
    "ntsc": {"matrix": "smpte170m"},
    "sd untagged": {"matrix": "smpte170m", "tagged": False},
}


@pytest.mark.parametrize("kind", KINDS)
def test_colours_of_every_kind_of_source_come_out_as_bt709(project, program, tmp_path, kind):
    """Of BT.2020 the matrix is converted; its wider primaries are not mapped."""
    source = make_still(tmp_path / "reel.mp4", patches((128, 72)), **KINDS[kind])
    assert_patches(one_frame(project, program, source, size=Size(128, 72)))


def test_untagged_hd_is_taken_for_bt709_and_scaled_keeps_its_colours(project, program, tmp_path):
    """Common practice, no source: above 576 lines BT.709, below BT.601."""
    source = make_still(tmp_path / "reel.mp4", patches((1280, 720)), tagged=False)
    assert_patches(one_frame(project, program, source, size=Size(320, 180)))


# -- shapes


@pytest.mark.parametrize("rotation", [0, 90, 180, 270])
def test_rotation_is_honoured(project, program, tmp_path, rotation):
    """Numbers can be read only in upright pictures; a tall picture stands between black bars."""
    source = make_numbered(tmp_path / "reel.mov", frames=4, size=(160, 90), rotation=rotation, start=70)
    frame = one_frame(project, program, source, size=Size(160, 90) if rotation % 180 == 0 else Size(180, 160))
    (reading,) = read_pictures([frame[0].astype(np.uint8)])
    assert reading.number == 70
    if rotation % 180:
        np.testing.assert_allclose(frame[:, :, :44].mean(axis=(1, 2)), BLACK, atol=0.6)
        np.testing.assert_allclose(frame[:, :, 136:].mean(axis=(1, 2)), BLACK, atol=0.6)
        assert frame[0, :, 46:134].mean() > 30


def edges(luma, level=60):
    """Return left, top, right and bottom (exclusive) of what is lighter than black."""
    columns = np.flatnonzero(np.median(luma[luma.max(axis=1) > level], axis=0) > level)
    rows = np.flatnonzero(np.median(luma[:, columns], axis=1) > level)
    return int(columns[0]), int(rows[0]), int(columns[-1]) + 1, int(rows[-1]) + 1


@pytest.mark.parametrize(
    ("stored", "pixel_aspect", "size", "box"),
    [
        # 4:3 in 16:9: bars of an eighth of the width on both sides.
        ((96, 72), Fraction(1), Size(128, 72), (16, 0, 112, 72)),
        # 16:9 in DCI 2K's shape: 64 of 2048 columns each side (sizes: DCI DCSS, via STANDARDS table).
        ((128, 72), Fraction(1), Size(2048, 1080), (64, 0, 1984, 1080)),
        # Cinema's 2.39 in 16:9.
        ((256, 108), Fraction(1), Size(128, 72), (0, 9, 128, 63)),
        # PAL 720 x 576 with pixels of 16:15 shows 4:3; of 64:45, 16:9.
        ((90, 72), Fraction(16, 15), Size(128, 72), (16, 0, 112, 72)),
        ((90, 72), Fraction(64, 45), Size(128, 72), (0, 0, 128, 72)),
        # Upright.
        ((72, 128), Fraction(1), Size(128, 72), (44, 0, 84, 72)),
    ],
)
def test_other_shapes_stand_whole_and_centred_between_black_bars(
    project, program, tmp_path, stored, pixel_aspect, size, box
):
    source = make_still(tmp_path / "reel.mp4", plain((1, 1, 1), stored), pixel_aspect=pixel_aspect)
    frame = one_frame(project, program, source, size=size, delivery=NO_LIMIT)
    left, top, right, bottom = edges(frame[0])
    assert max(abs(a - b) for a, b in zip((left, top, right, bottom), box, strict=True)) <= 1
    inside = frame[:, top + 4 : bottom - 4, left + 4 : right - 4]
    np.testing.assert_allclose(inside.mean(axis=(1, 2)), (235, 128, 128), atol=0.6)
    outside = np.ones(frame.shape[1:], bool)
    outside[max(0, top - 4) : bottom + 4, max(0, left - 4) : right + 4] = False
    if outside.any():
        np.testing.assert_allclose(frame[:, outside].mean(axis=1), BLACK, atol=0.6)
        assert np.abs(frame[:, outside] - np.array(BLACK)[:, None]).max() <= 2


@pytest.mark.parametrize("stored", [(127, 71), (129, 73), (127, 72)])
def test_odd_sizes_fill_an_even_frame(project, program, tmp_path, stored):
    source = make_still(tmp_path / "reel.mp4", plain(COLOURS["skin"], stored), halved=False)
    frame = one_frame(project, program, source, size=Size(128, 72))
    np.testing.assert_allclose(frame.mean(axis=(1, 2)), ycbcr(COLOURS["skin"]), atol=1)
    assert np.abs(frame - np.array(ycbcr(COLOURS["skin"]))[:, None, None]).max() <= 3


# -- framing


def halved_picture(size):
    """Return a picture whose right half is white and whose left half is mid-grey."""
    picture = plain((0.5, 0.5, 0.5), size)
    picture[:, size[0] // 2 :] = 1.0
    return picture


def seam(luma, row):
    """Return the column in a row from which on it is white."""
    return int(np.argmax(luma[row] > 180))


@pytest.mark.parametrize(
    ("framing", "box", "seam_at"),
    [
        # 4:3 filling 16:9 loses above and below; half the size, in the middle; moved by tenths of the frame.
        (Framing(fit=Fit.FILL), (0, 0, 320, 180), 160),
        (Framing(fit=Fit.FIT, scale=0.5), (100, 45, 220, 135), 160),
        (Framing(fit=Fit.FIT, scale=0.5, x=0.1, y=-0.1), (132, 27, 252, 117), 192),
        (Framing(fit=Fit.FIT, x=-0.25), (0, 0, 200, 180), 80),
        (Framing(fit=Fit.FILL, scale=1.5, x=0.25, y=0.125), (0, 0, 320, 180), 240),
        (Framing(fit=Fit.FIT, scale=0.25, x=0.5, y=0.5), (290, 157, 320, 180), 320),
    ],
)
def test_framing_puts_the_picture_where_it_says(project, program, tmp_path, framing, box, seam_at):
    source = make_still(tmp_path / "reel.mp4", halved_picture((240, 180)))
    frame = one_frame(project, program, source, size=Size(320, 180), framing=framing)
    found = edges(frame[0])
    assert max(abs(a - b) for a, b in zip(found, box, strict=True)) <= 1
    row = (box[1] + box[3]) // 2
    if seam_at < 320:
        assert abs(seam(frame[0], row) - seam_at) <= 1


def test_framing_outside_the_frame_leaves_almost_nothing(project, program, tmp_path):
    source = make_still(tmp_path / "reel.mp4", plain((1, 1, 1), (128, 72)))
    frame = one_frame(project, program, source, size=Size(128, 72), framing=Framing(x=2.0, y=-2.0))
    assert frame[0, 4:, :-4].max() <= 18


def test_a_review_copy_is_smaller_and_framed_alike(project, program, tmp_path):
    """Places are parts of the frame, so they are the same in every size of copy."""
    source = make_still(tmp_path / "reel.mp4", plain((1, 1, 1), (160, 90)))
    framing = Framing(scale=0.5, x=0.1, y=0.1)
    boxes = []
    for full in (True, False):
        film = make_film(
            RATE,
            scene(clip(source, 0, 2, framing=framing)),
            size=Size(640, 360),
            delivery=Delivery(review_height=180),
        )
        made = run_assembly(project, program, film, full=full)
        luma = decode_copy(made.files[0]).luma[0].astype(np.float64)
        boxes.append([place / luma.shape[1 - at % 2] for at, place in enumerate(edges(luma))])
        assert luma.shape == ((360, 640) if full else (180, 320))
    np.testing.assert_allclose(boxes[0], boxes[1], atol=1 / 180)
    np.testing.assert_allclose(boxes[0], [0.35, 0.35, 0.85, 0.85], atol=1 / 180)


def test_interlaced_footage_shows_every_frame_once(project, program, tmp_path):
    """Both fields of a frame hold the same number here; one frame comes out for each that goes in."""
    source = make_numbered(
        tmp_path / "reel.mp4",
        frames=21,
        size=(160, 96),
        start=40,
        extra=("-flags", "+ildct+ilme", "-x264-params", "tff=1", "-bf", "0"),
    )
    film = make_film(
        RATE, scene(clip(source, Fraction(1, 5), 15), clip(source, Fraction(3, 5), 3, 2)), size=Size(160, 96)
    )
    made = run_assembly(project, program, film)
    assert any(problem.code == "media.interlaced" for problem in made.problems)
    numbers = [reading.number for reading in read_pictures(decode_copy(made.files[0]).luma)]
    assert numbers == [*range(45, 60), 55, 57, 59]
