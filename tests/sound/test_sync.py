"""Sound stays with its picture, in the assembled file as a reader decodes it.

Numbered footage beeps with its flash frames. After decoding the finished file, each flash frame has to have
its beep within 1 ms of the frame's time, and beeps are nowhere else.
"""

import itertools
import os
from fractions import Fraction

import av
import numpy as np
import pytest

from desk.ffmpeg.program import find_program
from desk.film.model import Candidate, ClipSound, Cue, Delivery, Size, SoundKind
from desk.film.rates import SAMPLE_RATE_HZ, Rate
from tests.making import find_beeps, make_numbered, read_pictures, read_sound, run_ffmpeg, system_ffmpeg
from tests.render.films import (
    clip,
    decode_copy,
    dissolve,
    make_film,
    run_assembly,
    scene,
    session_folder,
    sound_of,
)
from tests.sound.signals import lag_samples, level_db, low_noise, write_sound

pytestmark = pytest.mark.ffmpeg

OWN = ClipSound()
SOFT = Delivery(integrated_lufs=-23)
"""So soft that the master's gain is all that it does."""

MOST_SECONDS = 0.001
SIZE = (128, 72)

BEEPING = {
    "mp4 aac 48": {"rate": Rate(25), "suffix": "mp4"},
    "mp4 aac 44.1": {"rate": Rate(24000, 1001), "suffix": "mp4", "extra": ("-ar", "44100")},
    "mov pcm": {"rate": Rate(30000, 1001), "suffix": "mov"},
    "mkv aac": {"rate": Rate(30000, 1001), "suffix": "mkv", "sound_codec": "aac"},
    "mkv pcm": {"rate": Rate(24000, 1001), "suffix": "mkv"},
    "ts aac": {"rate": Rate(25), "suffix": "ts"},
    "mp4 50": {"rate": Rate(50), "suffix": "mp4"},
    "mov late": {"rate": Rate(25), "suffix": "mov", "start_seconds": Fraction(7, 5)},
}
"""Beeping footage of 8 s."""


def file_name(name):
    return name.replace(" ", "-")


def beeping(folder, name):
    """Return footage that beeps, and the numbers of its first frame and of its rate."""
    options = dict(BEEPING[name])
    rate, suffix = options["rate"], options.pop("suffix")
    first = 1000 * (1 + list(BEEPING).index(name))
    path = folder / f"{file_name(name)}.{suffix}"
    if not path.exists():
        part = path.with_name(f"part-{os.getpid()}.{suffix}")
        frames = 8 * rate.nominal
        make_numbered(part, frames=frames, size=SIZE, start=first, sound="beeps", beep_every=20, **options)
        part.replace(path)
    return path


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    return session_folder(tmp_path_factory, "beeping-footage")


def beep_times(film, every=20):
    """Return when the beeps of a film of beeping clips are to be heard, by the rule, and how long it is.

    Frame i of a source starts at i / its rate from its first picture, and its beep with it; a clip plays the
    source from its in point on at its speed.
    """
    times, at = [], 0
    for one in film.scenes:
        for item in one.content.clips:
            at += item.gap_frames
            source = next(
                options["rate"] for name, options in BEEPING.items() if file_name(name) in item.source
            )
            head, end = item.in_seconds, item.in_seconds + film.rate.seconds(item.length_frames) * item.speed
            for flash in range(0, 8 * source.nominal, every):
                if head <= source.seconds(flash) < end:
                    times.append(film.rate.seconds(at) + (source.seconds(flash) - head) / item.speed)
            at += item.length_frames
    return [float(time) for time in times]


def assert_in_step(path, film, reader=None, *, every=20):
    """Beeps are within 1 ms of their times and nowhere else; flash frames follow theirs within a frame.

    In footage of the film's own rate, a flash frame and its beep start together.
    """
    beeps, wanted = find_beeps(read_sound(path, reader)), beep_times(film, every)
    assert len(beeps) == len(wanted)
    off = max(abs(beep - time) for beep, time in zip(beeps, wanted, strict=True))
    assert off < MOST_SECONDS, f"{off * 1000:.2f} ms"
    readings = read_pictures(decode_copy(path).luma)
    own_rate = {
        1000 * (1 + at) for at, options in enumerate(BEEPING.values()) if options["rate"] == film.rate
    }
    together = 0
    for frame, reading in enumerate(readings):
        if reading.flash and (frame == 0 or readings[frame - 1].number != reading.number):
            shown = float(film.rate.seconds(frame))
            since = shown - max(beep for beep in beeps if beep < shown + MOST_SECONDS)
            most = 0.0
            if reading.number // 1000 * 1000 not in own_rate:
                most = float(film.rate.seconds(1))
            assert since < most + MOST_SECONDS
            together += not most
    return len(beeps), together


@pytest.fixture(params=["bundled", "system"])
def program(request):
    if request.param == "bundled":
        return find_program()
    if system_ffmpeg() is None:
        pytest.skip("there is no /usr/bin/ffmpeg: install Debian's package to test a second release")
    return find_program(system_ffmpeg())


@pytest.mark.parametrize("rate", [Rate(24000, 1001), Rate(25), Rate(30000, 1001)], ids=str)
def test_beeps_stay_on_their_flashes_at_every_cut(project, program, folder, rate):
    """Cuts to all kinds of sound, just before a beep, again and again."""
    clips = []
    for turn, name in itertools.product(range(3), BEEPING):
        source = BEEPING[name]["rate"]
        # From some frames before a flash on, for about a second and a half.
        head = 20 * (turn + 1) - 3 - turn
        frames = int(rate.fraction * (20 + 8) / source.fraction)
        clips.append(clip(beeping(folder, name), source.seconds(head), frames, sound=OWN))
    film = make_film(rate, scene(*clips[:9]), scene(*clips[9:16]), scene(*clips[16:]))
    made = run_assembly(project, program, film)
    beeps, together = assert_in_step(made.files[0], film, str(program.path))
    assert beeps >= 48
    assert together >= 12


def test_beeps_stay_on_their_flashes_after_black(project, folder):
    """And black is silent."""
    rate = Rate(25)
    clips = [
        clip(beeping(folder, name), BEEPING[name]["rate"].seconds(17), 30, sound=OWN, gap_frames=gap)
        for name, gap in (("mp4 aac 48", 11), ("mkv pcm", 0), ("ts aac", 37), ("mov pcm", 3))
    ]
    film = make_film(rate, scene(*clips[:3]), scene(*clips[3:]))
    made = run_assembly(project, find_program(), film)
    assert made.frames == 120 + 51
    beeps, _ = assert_in_step(made.files[0], film)
    assert beeps == 8
    heard = sound_of(made.files[0])
    for first, end in ((0, 11), (71, 108), (138, 141)):
        assert level_db(heard[rate.samples(first) + 2400 : rate.samples(end) - 2400]) < -80


def top_levels(path):
    """Give the mean Y of the top line of each frame: what surrounds the number."""
    with av.open(str(path)) as container:
        for frame in container.decode(video=0):
            yield np.frombuffer(frame.planes[0], np.uint8)[: frame.width].mean()


@pytest.mark.slow
@pytest.mark.parametrize("rate", [Rate(24000, 1001), Rate(25), Rate(30000, 1001)], ids=str)
def test_nothing_drifts_in_ten_minutes(project, folder, rate):
    """62 clips, 10 minutes: every flash frame of the whole film has its beep within 1 ms."""
    every, seconds = rate.nominal, 24
    sources = []
    for name, suffix, extra in (("44", "mp4", ("-ar", "44100")), ("48", "mkv", ("-c:a", "aac"))):
        path = folder / f"long-{name}-{rate.numerator}.{suffix}"
        if not path.exists():
            part = path.with_name(f"part-{os.getpid()}.{suffix}")
            make_numbered(
                part,
                rate=rate,
                frames=seconds * every,
                size=(64, 36),
                sound="beeps",
                beep_every=every,
                extra=extra,
            )
            part.replace(path)
        sources.append(path)
    clips, head = [], 0
    for turn in range(62):
        # Not on a beep: a sound that begins on a cut is faded in over its first 2 ms.
        head = (head + 7 * every + 5) % ((seconds - 10) * every)
        head += head % every == 0
        frames = int(Fraction(600, 62) * rate.fraction) + turn % 3
        clips.append(clip(sources[turn % 2], rate.seconds(head), frames, sound=OWN))
    film = make_film(rate, *(scene(*clips[at : at + 6]) for at in range(0, 62, 6)), size=Size(64, 36))
    made = run_assembly(project, find_program(), film)
    assert made.frames > 598 * rate.fraction
    flashes, at = [], 0
    for item in clips:
        first = int(item.in_seconds * rate.fraction)
        flashes += [at + frame for frame in range(item.length_frames) if (first + frame) % every == 0]
        at += item.length_frames
    assert [frame for frame, level in enumerate(top_levels(made.files[0])) if level > 105] == flashes
    beeps = find_beeps(read_sound(made.files[0]))
    assert len(beeps) == len(flashes) > 590
    off = [abs(beep - float(rate.seconds(frame))) for beep, frame in zip(beeps, flashes, strict=True)]
    assert max(off) < MOST_SECONDS


def test_separate_recordings_leads_and_speeds_stay_in_step(project, program, folder, tmp_path):
    """A recorder that was started 2.4 s before the camera, with lead and lag; half and double speed."""
    rate = Rate(25)
    camera, recorder = beeping(folder, "mp4 aac 48"), tmp_path / "recorder.wav"
    sound = read_sound(camera)
    early = np.concatenate([np.zeros(round(2.4 * SAMPLE_RATE_HZ), np.float32), sound])
    write_sound(recorder, np.stack([early, early], axis=1))
    separate = ClipSound(
        kind=SoundKind.SEPARATE,
        file=str(recorder),
        offset_seconds=Fraction(12, 5),
        lead_frames=6,
        lag_frames=3,
    )
    clips = (
        clip(camera, rate.seconds(12), 30, sound=separate),
        clip(camera, rate.seconds(50), 40, Fraction(1, 2), sound=OWN),
        clip(camera, rate.seconds(72), 30, 2, sound=OWN),
        clip(camera, rate.seconds(115), 30, sound=OWN),
    )
    film = make_film(rate, scene(*clips))
    made = run_assembly(project, program, film)
    assert_in_step(made.files[0], film, str(program.path))


def master_gain_db(made):
    """Return by how much the master changed the level, of a film that it did not limit."""
    assert made.made.sound.found.reduction_db == 0
    return made.made.sound.found.master.gain_db


@pytest.mark.parametrize("rate", [Rate(24000, 1001), Rate(30000, 1001)], ids=str)
def test_the_coded_copy_holds_the_mix_where_it_belongs(project, program, folder, tmp_path, rate):
    """What readers decode at the end is in step to a tenth of a ms, at the level that it has to have."""
    picture = beeping(folder, "mov pcm")
    one, two = low_noise(12, seed=1), low_noise(12, seed=2)
    write_sound(tmp_path / "one.wav", one)
    write_sound(tmp_path / "two.wav", two)
    first, second = (
        ClipSound(kind=SoundKind.SEPARATE, file=str(tmp_path / name), gain_db=gain)
        for name, gain in (("one.wav", 0), ("two.wav", -6))
    )
    music = Candidate(id="a1", file=str(tmp_path / "two.wav"), in_seconds=Fraction(5), gain_db=-12)
    film = make_film(
        rate,
        scene(clip(picture, 1, 60, sound=first), clip(picture, 3, 50, sound=second)),
        scene(clip(picture, 2, 70), cues=(Cue(id="m1", length_frames=70, candidates=(music,), chosen="a1"),)),
        delivery=SOFT,
    )
    made = run_assembly(project, program, film)
    copy = made.files[0]
    raw = run_ffmpeg("-i", copy, "-map", "0:a", "-f", "f32le", "pipe:1", ffmpeg=str(program.path))
    for heard in (sound_of(copy), np.frombuffer(raw, np.float32).reshape(-1, 2)):
        for start, source, seconds, gain in ((0, one, 1, 0), (60, two, 3, -6), (110, two, 5, -12)):
            at, count = rate.samples(start) + 4800, rate.samples(40)
            place = seconds * SAMPLE_RATE_HZ + 4800
            wanted = source[place : place + count] * 10 ** ((gain + master_gain_db(made)) / 20)
            part = heard[at : at + count]
            assert abs(lag_samples(part, wanted)) < 5
            assert level_db(part) == pytest.approx(level_db(wanted), abs=0.2)


def test_footage_without_sound_and_with_six_channels(project, program, tmp_path):
    """Silence where there is none; six channels folded to two (ITU-R BS.775-4: L + 0.7071 C + 0.7071 Ls)."""
    rate = Rate(25)
    picture = make_numbered(tmp_path / "silent.mp4", frames=50, size=SIZE)
    six = low_noise(2, seed=4, channels=6, level=0.1)
    codec = ("-c:a", "pcm_s24le")
    surround = write_sound(tmp_path / "six.mov", six, layout="5.1", codec=codec, picture=picture)
    film = make_film(
        rate,
        scene(clip(picture, 0, 25, sound=OWN), clip(surround, 0, 25, sound=OWN)),
        delivery=Delivery(integrated_lufs=-20),
    )
    made = run_assembly(project, program, film)
    heard = sound_of(made.files[0])
    assert level_db(heard[2000 : rate.samples(25) - 2000]) < -80
    left, right, centre, _, back_left, back_right = six.T
    wanted = np.stack(
        [left + 0.70711 * (centre + back_left), right + 0.70711 * (centre + back_right)], axis=1
    )
    wanted *= 10 ** (master_gain_db(made) / 20)
    part, inner = heard[rate.samples(25) :][: rate.samples(25)], slice(2000, -4000)
    for side in (0, 1):
        source, found = wanted[: len(part), side : side + 1][inner], part[inner, side : side + 1]
        assert abs(lag_samples(found, source)) < 5
        assert level_db(found) == pytest.approx(level_db(source), abs=0.1)


def test_a_reordered_film_makes_no_stem_again(project, program, folder):
    rate = Rate(25)
    scenes = [
        scene(*(clip(beeping(folder, name), rate.seconds(12), 30, sound=OWN) for name in names))
        for names in (("mp4 aac 48", "mkv aac"), ("ts aac",), ("mov pcm", "mp4 aac 44.1"))
    ]
    first = run_assembly(project, program, make_film(rate, *scenes))
    film = make_film(rate, scenes[2], scenes[0], scenes[1])
    again = run_assembly(project, program, film)
    # Three stems are found; what is encoded from them is one chunk, which is another.
    assert (first.made.sounds_found, again.made.sounds_found, again.made.sounds_made) == (0, 3, 1)
    assert_in_step(again.files[0], film)
    third = run_assembly(project, program, make_film(rate, *scenes))
    assert (third.made.sounds_made, third.made.pieces_made) == (0, 0)


def test_a_dissolve_sounds_as_it_looks(project, program, folder):
    """Sound of both sides while both are seen, in step with each."""
    rate = Rate(25)
    film = make_film(
        rate,
        scene(clip(beeping(folder, "mp4 aac 48"), rate.seconds(55), 35, sound=OWN)),
        scene(clip(beeping(folder, "ts aac"), rate.seconds(35), 35, sound=OWN)),
        joins={0: dissolve(12, 12)},
    )
    made = run_assembly(project, program, film)
    beeps = find_beeps(read_sound(made.files[0]))
    # Source frames 60 and 80 of the first, 40 and 60 of the second; the dissolve is from film frame 23 to 46.
    assert beeps == pytest.approx([5 / 25, 25 / 25, 40 / 25, 60 / 25], abs=MOST_SECONDS)
