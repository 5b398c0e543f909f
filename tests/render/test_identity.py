"""Every frame of the assembled file is the one that the film asks for.

Footage carries its frame numbers in its pictures. All frames of the finished file are decoded and compared
with what the rule says (`expected`), in exact fractions; on the bundled FFmpeg and on Debian's.
"""

import dataclasses
import itertools
from fractions import Fraction
from pathlib import Path

import av
import pytest

from desk.ffmpeg.program import find_program
from desk.film import edits
from desk.film.rates import Rate
from tests.making import bundled_ffmpeg, make_numbered, read_numbers, system_ffmpeg
from tests.render.films import (
    FOOTAGE,
    RATES,
    SIZE,
    Source,
    assert_shows,
    clip,
    decode_copy,
    dissolve,
    expected,
    make_film,
    put,
    relative_to,
    run_assembly,
    scene,
    with_paths,
)

pytestmark = pytest.mark.ffmpeg

SPEEDS = (Fraction(1), Fraction(1, 4), Fraction(1, 2), Fraction(2), Fraction(3, 2), Fraction(4))


def check(project, program, film, footage, **order):
    """Assemble a film, and compare every frame of the copy with what it asks for."""
    film = put(project, film)
    made = run_assembly(project, program, **order)
    wanted = expected(film, with_paths(project, footage))
    decoded = decode_copy(made.files[0])
    assert made.frames == len(wanted)
    assert_shows(decoded, wanted, film.rate)
    return made


@pytest.mark.parametrize(
    ("program", "rate"),
    [*(("bundled", rate) for rate in RATES), *(("system", rate) for rate in RATES[::2])],
    indirect=["program"],
    ids=str,
)
def test_every_source_at_many_speeds(project, program, footage, rate):
    """From within a group of pictures, part of a frame in, at speeds that change from file to file."""
    speeds = itertools.cycle(SPEEDS)
    clips = []
    for name in FOOTAGE:
        source = footage[name]
        for at in (7, len(source.times) // 2):
            speed = next(speeds)
            left = source.times[-1] - source.times[at]
            frames = min(8, int(left * rate.fraction / speed))
            clips.append(clip(source, source.frame_seconds(at, into=Fraction(at % 4, 4)), frames, speed))
        next(speeds)
    entries = [scene(*clips[at : at + 6]) for at in range(0, len(clips), 6)]
    check(project, program, make_film(rate, *entries), footage)


@pytest.mark.slow
def test_in_points_at_key_frames_and_ends(project, program, footage):
    """Clips of one frame: a file's first and last frames, and those before, on and after its key frames."""
    entries = []
    for name in FOOTAGE:
        source = footage[name]
        gop = FOOTAGE[name].get("gop", 12)
        places = [0, 1, gop - 1, gop, 2 * gop - 3, 2 * gop - 1, 2 * gop, len(source.times) - 1]
        entries.append(
            scene(*(clip(source, source.frame_seconds(at), 1) for at in places if at < len(source.times)))
        )
    check(project, program, make_film(Rate(25), *entries), footage)


def test_to_the_end_of_the_footage(project, program, footage):
    """Clips up to the end of the file, at several speeds; what begins within its last frame shows it."""
    rate = Rate(30000, 1001)
    entries = []
    for name in FOOTAGE:
        source = footage[name]
        for speed, at in ((Fraction(1), -4), (Fraction(1, 4), -2), (Fraction(2), -9)):
            start = source.frame_seconds(at, into=Fraction(1, 3))
            frames = int((source.times[-1] - start) * rate.fraction / speed) + 1
            entries.append(scene(clip(source, start, frames, speed)))
    check(project, program, make_film(rate, *entries), footage)


@pytest.mark.parametrize("rate", [Rate(24000, 1001), Rate(30000, 1001)], ids=str)
def test_clips_longer_than_a_piece(project, program, footage, rate):
    """More than 10 s is made in several pieces, which meet without a frame lost or shown twice."""
    film = make_film(
        rate,
        scene(
            clip(footage["mp4 25"], Fraction(1, 3), 295),
            clip(footage["phone mp4"], Fraction(1, 7), 320, Fraction(2, 5)),
            clip(footage["mov 100"], 0, 310, Fraction(1, 6)),
        ),
    )
    made = check(project, program, film, footage)
    longest = int(10 * rate.fraction)
    lengths = [item.length_frames for item in film.scenes[0].content.clips]
    assert made.made.pieces_made == sum(-(-length // longest) for length in lengths) >= 5


@pytest.mark.parametrize("rate", [Rate(24000, 1001), Rate(25), Rate(30000, 1001)], ids=str)
def test_black_is_where_clips_were_taken_out_and_all_else_stays(project, program, footage, rate):
    """At the start, between clips and in several pieces; under the film's fades; and once it is closed."""
    longest = int(10 * rate.fraction)
    clips = (
        clip(footage["mp4 25"], Fraction(1), 9, gap_frames=7),
        clip(footage["mkv 29.97"], Fraction(1, 3), 8),
        clip(footage["phone mp4"], Fraction(1, 7), 10, Fraction(1, 2), gap_frames=1),
        clip(footage["mov 100"], Fraction(1, 2), 6, gap_frames=longest + 5),
    )
    fades = {"fade_in_frames": 9, "fade_out_frames": 4}
    film = make_film(rate, scene(*clips), scene(clip(footage["ts 25"], 1, 12, gap_frames=3)), **fades)
    made = check(project, program, film, footage)
    # Pieces of clips: two that a fade cuts in two; of black: 7, 1, the long one in two, 3.
    assert made.made.pieces_made == 7 + 5
    again = check(project, program, film, footage)
    assert again.made.pieces_made == 0
    closed = tuple(dataclasses.replace(item, gap_frames=0) for item in clips)
    film = make_film(rate, scene(*closed), scene(clip(footage["ts 25"], 1, 12)))
    made = check(project, program, film, footage)
    # Only the clips that the fades had cut in two are new.
    assert made.made.pieces_made == 2


def test_what_was_taken_out_leaves_its_place_black(project, program, footage):
    """The edit itself, from a scene of three clips to the assembled file."""
    rate = Rate(25)
    names = ("mp4 25", "mkv 29.97", "ts 25")
    film = put(project, make_film(rate, scene(*(clip(footage[name], 1, 8) for name in names))))
    (only,) = film.scenes
    first = check(project, program, film, footage)
    gone = edits.remove_clips(film, only.id, [only.content.clips[1].id], close=False).after
    made = check(project, program, gone, footage)
    assert (first.frames, made.frames, made.made.pieces_made) == (24, 24, 1)
    closed = edits.remove_clips(film, only.id, [only.content.clips[1].id]).after
    assert check(project, program, closed, footage).frames == 16


def three_scenes(footage):
    names = ("mp4 25", "mkv 29.97", "phone mp4", "ts 25", "open hevc", "mov 100")
    shots = [clip(footage[name], Fraction(4, 5), 12) for name in names]
    return [scene(*shots[0:2]), scene(*shots[2:4]), scene(*shots[4:6])]


def test_reordered_and_dropped_scenes_make_no_picture(project, program, footage):
    one, two, three = three_scenes(footage)
    film = make_film(Rate(25), one, two, three)
    first = check(project, program, film, footage)
    assert (first.made.pieces_made, first.made.pieces_found) == (6, 0)
    moved = check(project, program, make_film(Rate(25), three, one, two), footage)
    assert (moved.made.pieces_made, moved.made.pieces_found) == (0, 6)
    dropped = check(project, program, make_film(Rate(25), two, three), footage)
    assert (dropped.made.pieces_made, dropped.made.pieces_found) == (0, 4)
    twice = dataclasses.replace(
        scene(*(dataclasses.replace(item, id=f"{item.id}b") for item in one.content.clips))
    )
    repeated = check(project, program, make_film(Rate(25), one, two, twice), footage)
    assert repeated.made.pieces_made == 0


def test_a_trim_makes_one_piece_and_a_changed_join_two(project, program, footage):
    one, two, three = three_scenes(footage)
    check(project, program, make_film(Rate(25), one, two, three), footage)

    def trimmed(which, **fields):
        clips = list(which.content.clips)
        clips[0] = dataclasses.replace(clips[0], **fields)
        return dataclasses.replace(which, content=dataclasses.replace(which.content, clips=tuple(clips)))

    shorter = make_film(Rate(25), one, trimmed(two, length_frames=9), three)
    assert check(project, program, shorter, footage).made.pieces_made == 1
    later = make_film(Rate(25), one, trimmed(two, in_seconds=Fraction(1)), three)
    assert check(project, program, later, footage).made.pieces_made == 1
    # The join itself, and what it leaves of the clips on both sides.
    joined = make_film(Rate(25), one, two, three, joins={0: dissolve(3, 3)})
    assert check(project, program, joined, footage).made.pieces_made == 3


def test_a_long_clip_trimmed_at_its_tail_makes_only_its_last_piece(project, program, footage):
    source = footage["mp4 25"]
    check(project, program, make_film(Rate(25), scene(clip(source, 0, 300))), footage)
    again = check(project, program, make_film(Rate(25), scene(clip(source, 0, 290))), footage)
    assert (again.made.pieces_made, again.made.pieces_found) == (1, 1)


def test_moved_footage_keeps_its_pieces_and_changed_footage_does_not(project, program, tmp_path):
    rate, path = Rate(25), tmp_path / "reels" / "one.mp4"
    path.parent.mkdir()
    make_numbered(path, frames=40, size=(SIZE.width, SIZE.height), start=100)
    times = tuple(rate.seconds(index) for index in range(40))
    film = make_film(rate, scene(clip(path, 1, 10)))
    first = run_assembly(project, program, film)
    moved = path.rename(path.with_name("two.mp4"))
    again = run_assembly(project, program, make_film(rate, scene(clip(moved, 1, 10))))
    assert (first.made.pieces_made, again.made.pieces_made) == (1, 0)
    make_numbered(moved, frames=40, size=(SIZE.width, SIZE.height), start=300)
    film = put(project, make_film(rate, scene(clip(moved, 1, 10))))
    third = run_assembly(project, program)
    assert third.made.pieces_made == 1
    source = Source(Path(relative_to(project, moved)), times, 300)
    assert_shows(decode_copy(third.files[0]), expected(film, [source]), rate)


@pytest.mark.parametrize(
    ("rate", "drop_frame", "start", "label"),
    [
        (Rate(25), False, 90_000, "01:00:00:00"),
        # SMPTE ST 12-1 at 30000/1001: frame 107,892 is 01:00:00;00 (drop), 107,892 is 00:59:56:12 (non-drop).
        (Rate(30000, 1001), True, 107_892, "01:00:00;00"),
        (Rate(30000, 1001), False, 107_892, "00:59:56:12"),
        (Rate(24000, 1001), False, 1441, "00:01:00:01"),
        (Rate(60000, 1001), True, 3600, "00:01:00;04"),
    ],
    ids=lambda value: str(value),
)
def test_time_stamps_length_and_timecode_as_another_reader_sees_them(
    project, footage, rate, drop_frame, start, label
):
    """Read with PyAV: each frame starts at exactly its number / rate, and the file says so of its length."""
    film = make_film(rate, *three_scenes(footage), joins={1: dissolve(2, 2)}, drop_frame=drop_frame)
    film = dataclasses.replace(film, start_frames=start)
    made = run_assembly(project, find_program(), film)
    with av.open(str(made.files[0])) as container:
        picture, sound = container.streams.video[0], container.streams.audio[0]
        labels = [stream.metadata.get("timecode") for stream in container.streams.data]
        assert [found for found in labels if found] == [label]
        assert picture.frames == made.frames == 72
        assert picture.start_time == 0
        assert picture.average_rate == picture.base_rate == rate.fraction
        assert picture.duration * picture.time_base == rate.seconds(72)
        packets = [packet for packet in container.demux(picture) if packet.pts is not None]
        assert sorted(packet.pts * picture.time_base for packet in packets) == [
            rate.seconds(frame) for frame in range(72)
        ]
        assert {packet.duration * picture.time_base for packet in packets} == {rate.seconds(1)}
        assert packets[0].is_keyframe
    assert_sound_length(made.files[0], rate.samples(72))
    assert sound.rate == 48_000


def assert_sound_length(path, samples):
    """The sound is as long as the picture: decoders cut its start exactly, its end may fill an AAC packet."""
    with av.open(str(path)) as container:
        stream = container.streams.audio[0]
        frames = list(container.decode(stream))
        assert frames[0].pts * stream.time_base == 0
        total = sum(frame.samples for frame in frames)
    assert samples <= total < samples + 2048


@pytest.mark.parametrize("reader", [bundled_ffmpeg(), system_ffmpeg()], ids=["bundled", "system"])
def test_both_releases_read_a_copy_alike_and_jump_in_it(project, footage, reader):
    if reader is None:
        pytest.skip("there is no /usr/bin/ffmpeg")
    rate = Rate(30000, 1001)
    film = put(project, make_film(rate, *three_scenes(footage)))
    copy = run_assembly(project, find_program()).files[0]
    wanted = [shown.number for shown in expected(film, with_paths(project, footage))]
    assert read_numbers(copy, reader) == wanted
    for frame in (0, 1, 11, 12, 13, 37, 71):
        jump = f"{float(rate.seconds(frame)) - 0.002:.6f}"
        assert read_numbers(copy, reader, before=("-ss", jump))[0] == wanted[frame]
