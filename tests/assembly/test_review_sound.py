"""The sound of a copy: at its target as decoded, below its ceiling, and told as it is; and its stems."""

import dataclasses
import json
from fractions import Fraction

import av
import numpy as np
import pyloudnorm
import pytest

from desk.assembly.levels import SceneLevels, standing_out
from desk.cli.main import main
from desk.ffmpeg.program import find_program
from desk.film.model import Candidate, Card, ClipSound, Compression, Cue, Delivery, SoundKind, Spot
from desk.film.rates import SAMPLE_RATE_HZ, Rate
from desk.film.timecode import format_label
from desk.sound.loudness import measure
from desk.store.project import open_film
from desk.store.save import save_film
from tests.making import make_numbered
from tests.render.films import (
    SIZE,
    clip,
    dissolve,
    make_film,
    put,
    run_assembly,
    scene,
    session_folder,
    sound_of,
)
from tests.sound.bs1770 import block_levels, gated_level, in_blocks, true_peak_db
from tests.sound.signals import low_noise, sine, write_sound

pytestmark = pytest.mark.ffmpeg

RATE = Rate(30000, 1001)


@pytest.fixture(scope="module")
def files(tmp_path_factory):
    """A silent picture, talk with pauses and blows, and music: made once."""
    folder = session_folder(tmp_path_factory, f"sounds-{tmp_path_factory.getbasetemp().name}")
    talk = low_noise(40, seed=1, level=0.08)
    talk *= np.repeat(np.random.default_rng(1).choice([0, 0.5, 1], 80), 24_000)[:, None].astype(np.float32)
    for at in range(50_000, len(talk) - 5000, 190_000):
        blow = np.random.default_rng(at).normal(0, 0.1, (4000, 2)) * np.exp(-np.arange(4000) / 600)[:, None]
        talk[at : at + 4000] += blow.astype(np.float32)
    music = sine(40, 220, level=0.2) + sine(40, 331, level=0.1) + low_noise(40, seed=3, level=0.02)
    return {
        "picture": make_numbered(
            folder / "picture.mp4", rate=RATE, frames=900, size=(SIZE.width, SIZE.height)
        ),
        "talk": write_sound(folder / "talk.wav", talk),
        "music": write_sound(folder / "music.wav", music),
    }


@pytest.fixture
def project(tmp_path):
    return tmp_path / "project"


def spoken(files, start, frames, gain_db=0.0):
    sound = ClipSound(kind=SoundKind.SEPARATE, file=str(files["talk"]), gain_db=gain_db)
    return clip(files["picture"], start, frames, sound=sound)


def cue(files, start, frames, gain_db):
    music = Candidate(id="a1", file=str(files["music"]), in_seconds=Fraction(1), gain_db=gain_db)
    return Cue(
        id=f"m{start}{frames}", start_frames=start, length_frames=frames, candidates=(music,), chosen="a1"
    )


def film_of(files, **fields):
    """A card, three scenes with voices, music that runs on over a dissolve, and spots."""
    spot = Spot(
        id="f1", file=str(files["talk"]), start_frames=40, length_frames=30, in_seconds=Fraction(5), gain_db=3
    )
    return make_film(
        RATE,
        Card(id="k1", lines=("The Late Ferry",), length_frames=20),
        scene(spoken(files, 1, 150), cues=(cue(files, 10, 250, -9.0),), number="1"),
        scene(spoken(files, 8, 170), number="2A"),
        scene(spoken(files, 15, 160, gain_db=2), spots=(spot,), number="3"),
        joins={1: dissolve(8, 8)},
        **fields,
    )


FRAMES = 20 + 150 + 170 + 160


def told_of(made):
    return json.loads(next(path for path in made.files if path.name.endswith(".manifest.json")).read_text())


def loudness_of(sound):
    return pyloudnorm.Meter(SAMPLE_RATE_HZ, filter_class="DeMan").integrated_loudness(
        sound.astype(np.float64)
    )


@pytest.mark.parametrize(
    "delivery",
    [
        Delivery(),
        Delivery(compression=Compression.FIRM),
        Delivery(integrated_lufs=-23.0),
        Delivery(integrated_lufs=-24.0, true_peak_dbtp=-2.0, compression=Compression.GENTLE),
        Delivery(integrated_lufs=-12.0, true_peak_dbtp=-3.0),
    ],
    ids=["online", "online firm", "R 128", "A85", "own"],
)
def test_a_copy_is_at_its_target_as_decoded(project, files, delivery):
    """Within 0.3 LU by pyloudnorm and FFmpeg; below the ceiling by FFmpeg and scipy's resampler."""
    made = run_assembly(project, find_program(), film_of(files, delivery=delivery))
    samples = RATE.samples(FRAMES)
    heard = sound_of(made.files[0])[:samples]
    assert loudness_of(heard) == pytest.approx(delivery.integrated_lufs, abs=0.3)
    found = measure(in_blocks(heard))
    assert found.integrated_lufs == pytest.approx(delivery.integrated_lufs, abs=0.3)
    assert found.true_peak_dbtp <= delivery.true_peak_dbtp
    assert true_peak_db(heard) <= delivery.true_peak_dbtp + 0.1
    told = told_of(made)["sound"]
    assert told["integrated_lufs"] == pytest.approx(found.integrated_lufs, abs=0.01)
    assert told["true_peak_dbtp"] == pytest.approx(found.true_peak_dbtp, abs=0.01)
    assert told["range_lu"] == pytest.approx(found.range_lu, abs=0.1)
    assert (told["target_lufs"], told["ceiling_dbtp"]) == (delivery.integrated_lufs, delivery.true_peak_dbtp)
    assert told["compression"] == delivery.compression.value
    assert told["limiter_dbtp"] < delivery.true_peak_dbtp


def test_what_is_told_of_each_scene(project, files):
    """Against a plain reading of BS.1770 over the decoded copy and the sources."""
    film = film_of(files)
    made = run_assembly(project, find_program(), film)
    told = {entry["entry"]: entry for entry in told_of(made)["entries"]}
    heard = sound_of(made.files[0])[: RATE.samples(FRAMES)]
    levels = block_levels(heard, 0.4)
    ends = np.arange(len(levels)) * 0.1 + 0.4
    assert "sound" not in told["k1"]
    for one, start, frames in zip(made.levels, (20, 170, 340), (150, 170, 160), strict=True):
        first, last = float(RATE.seconds(start)), float(RATE.seconds(start + frames))
        own = (ends - 0.4 >= first - 1e-6) & (ends <= last + 1e-6)
        scene_told = told[one.scene.id]["sound"]
        assert scene_told["integrated_lufs"] == pytest.approx(gated_level(levels[own]), abs=0.05)
        assert scene_told["loudest_lufs"] == pytest.approx(levels[own].max(), abs=0.05)
        middle = ends[own][np.argmax(levels[own])] - 0.2
        assert one.loudest_frame == int(middle * RATE.fraction + Fraction(1, 10**6))
        assert scene_told["loudest_at"] == format_label(film.start_frames + one.loudest_frame, RATE)
    first, second, third = made.levels
    # Music is heard in the first scene, and runs on over the second for 110 frames.
    talk, music = (measure_file_part(files[name], start, frames) for name, start, frames in
                   (("talk", 1, 150), ("music", 1, 140)))  # fmt: skip
    assert first.voices_lufs == pytest.approx(talk, abs=0.3)
    assert first.music_below_voices_lu == pytest.approx(talk - (music - 9), abs=0.3)
    assert second.music_below_voices_lu == pytest.approx(second.voices_lufs - (music - 9), abs=0.5)
    assert third.music_below_voices_lu is None


def measure_file_part(path, start_seconds, frames):
    """Return the loudness of a stretch of a WAV file, read plainly."""
    with av.open(str(path)) as container:
        sound = np.concatenate([frame.to_ndarray().reshape(-1, 2) for frame in container.decode(audio=0)])
    part = sound[start_seconds * 48_000 :][: RATE.samples(frames)]
    return gated_level(block_levels(part, 0.4))


def test_a_silent_film_stays_silent(project, files):
    film = make_film(RATE, scene(clip(files["picture"], 1, 30)))
    made = run_assembly(project, find_program(), film)
    told = told_of(made)
    assert told["sound"]["integrated_lufs"] is None
    assert told["sound"]["gain_db"] == 0
    assert told["sound"]["remarks"] == []
    assert not np.abs(sound_of(made.files[0])).max() > 1e-4
    assert made.levels[0].integrated_lufs is None


def test_a_mix_above_full_scale_does_not_distort(project, files):
    """24 dB too hot: the gain comes before all that has a limit, so the copy is as that of a softer mix."""
    hot = make_film(RATE, scene(spoken(files, 1, 200, gain_db=24)), delivery=Delivery(integrated_lufs=-23))
    made = run_assembly(project, find_program(), hot)
    assert told_of(made)["mix_peak_dbfs"] > 6
    assert not made.is_too_loud
    plain = make_film(RATE, scene(spoken(files, 1, 200)), delivery=Delivery(integrated_lufs=-23))
    other = run_assembly(project, find_program(), plain)
    one, two = (sound_of(item.files[0])[: RATE.samples(200)] for item in (made, other))
    assert np.sqrt(np.mean(np.square(one - two))) < 0.02 * np.sqrt(np.mean(np.square(two)))


def test_a_second_assembly_measures_and_makes_nothing(project, files, monkeypatch):
    film = put(project, film_of(files))
    first = run_assembly(project, find_program())

    def refuse(*_, **__):
        raise AssertionError("measured again")

    monkeypatch.setattr("desk.sound.master.momentary", refuse)
    monkeypatch.setattr("desk.render.film_sound.measure", refuse)
    second = run_assembly(project, find_program())
    assert (second.made.sounds_made, second.made.pieces_made) == (0, 0)
    assert told_of(second)["sound"] == told_of(first)["sound"]
    assert film.delivery == open_film(project).film.delivery


def test_another_target_is_made_of_the_same_stems(project, files):
    film = film_of(files)
    first = run_assembly(project, find_program(), film)
    opened = open_film(project)
    save_film(opened, dataclasses.replace(opened.film, delivery=Delivery(integrated_lufs=-23)))
    second = run_assembly(project, find_program())
    assert second.made.pieces_made == 0
    assert second.made.sounds_made == 1  # the one chunk of so short a film
    assert second.made.sounds_found == first.made.sounds_made - 1
    difference = told_of(second)["sound"]["integrated_lufs"] - told_of(first)["sound"]["integrated_lufs"]
    assert difference == pytest.approx(-9, abs=0.3)


# -- what deserves a look


def levels_of(*lufs, seconds=20.0):
    return [
        SceneLevels(
            scene=scene(number=str(number)),
            seconds=seconds,
            integrated_lufs=value,
            voices_lufs=None,
            music_below_voices_lu=None,
            loudest_lufs=None,
            loudest_frame=None,
        )
        for number, value in enumerate(lufs, 1)
    ]


@pytest.mark.parametrize(
    ("lufs", "wanted"),
    [
        ((-20, -20, -20), {}),
        ((-20, -14, -20), {"2": 6}),
        ((-20, -26, -21, -20), {"2": -5}),
        ((-14, -20, -20), {"1": 6}),
        ((-20, -20, -14), {"3": 6}),
        ((-20, -14), {"2": 6}),
        ((-20, -16), {}),
        ((-20, -15, -10), {"1": -5, "3": 5}),  # a climb, whose ends have nobody beyond them
        ((-20, None, -14, None, -20), {"3": 6}),
        ((-20, -14, -14, -20), {"1": -6, "4": -6}),
        ((-20,), {}),
        ((), {}),
        ((None, None), {}),
    ],
)
def test_scenes_that_stand_out_from_their_neighbours(lufs, wanted):
    found = {one.scene.number: louder for one, louder in standing_out(levels_of(*lufs))}
    assert found == pytest.approx(wanted)
    assert standing_out(levels_of(*lufs), most_lu=30) == ()
    assert standing_out(levels_of(*lufs, seconds=2.9)) == ()


def test_what_stands_out_is_told(project, files, capsys):
    film = make_film(
        RATE,
        scene(spoken(files, 1, 120), number="1"),
        scene(spoken(files, 6, 120, gain_db=9), number="2"),
        scene(spoken(files, 1, 120), number="3"),
        delivery=Delivery(integrated_lufs=-23),
    )
    put(project, film)
    assert main(["assemble", str(project), "--out", str(project / "out"), "--include", "all", "--stems"]) == 0
    said = capsys.readouterr()
    assert "asked were -23.0 LUFS (EBU R 128)" in said.out
    assert "Voices in the mix" in said.out
    assert "Scene 2 is" in said.err.replace("\n  ", " ")
    assert "LU louder than what is beside it, loudest at 01:00:0" in " ".join(said.err.split())
    told = json.loads(next((project / "out").glob("*.manifest.json")).read_text())
    assert any(remark.startswith("Scene 2 is") for remark in told["sound"]["remarks"])


def test_a_target_that_is_not_reached_is_told(project, files):
    """A square wave cannot be louder than its peak allows."""
    wave = (np.sign(sine(6, 300, level=0.5) + 1e-9) * 0.1).astype(np.float32)
    write_sound(project.parent / "square.wav", wave)
    sound = ClipSound(kind=SoundKind.SEPARATE, file=str(project.parent / "square.wav"))
    film = make_film(
        RATE, scene(clip(files["picture"], 0, 120, sound=sound)),
        delivery=Delivery(integrated_lufs=-1.0, true_peak_dbtp=-6.0),
    )  # fmt: skip
    made = run_assembly(project, find_program(), film)
    assert any("leave no room under the ceiling" in remark for remark in made.sound_remarks)
    assert any("takes" in remark and "off the loudest peak" in remark for remark in made.sound_remarks)
    assert measure(in_blocks(sound_of(made.files[0]))).true_peak_dbtp <= -6.0


# -- stems


def read_wave(path):
    with av.open(str(path)) as container:
        stream = container.streams.audio[0]
        assert stream.codec_context.name == "pcm_s24le"
        blocks = [frame.to_ndarray().reshape(-1, 2) for frame in container.decode(stream)]
    return np.concatenate(blocks) / 2.0**31


def test_stems_add_up_to_the_mix_and_are_as_long_as_the_picture(project, files):
    film = film_of(files)
    made = run_assembly(project, find_program(), film, stems=True)
    told = told_of(made)["stems"]
    assert [stem["lane"] for stem in told] == ["dialogue", "music", "effects"]
    samples = round(FRAMES * 48_000 * 1001 / 30000)
    lanes = {}
    for stem in told:
        path = made.files[0].parent / stem["file"]
        assert path in made.files
        lanes[stem["lane"]] = read_wave(path)
        assert len(lanes[stem["lane"]]) == stem["samples"] == samples
        assert stem["clipped"] == 0
    mix = np.zeros((samples, 2))
    for stem in made.made.stems:
        part = np.fromfile(stem.stem.path, "<f4").reshape(-1, 2)
        low, end = max(0, stem.start_sample), min(samples, stem.start_sample + len(part))
        mix[low:end] += part[low - stem.start_sample : end - stem.start_sample]
    # Each of the three is rounded by half of a 24-bit step at most.
    assert np.abs(sum(lanes.values()) - mix).max() <= 1.5 / 2**23 + 1e-7
    assert all(np.abs(lane).max() > 0.05 for lane in lanes.values())
    # Before the master: the voices are as they were recorded.
    start = RATE.samples(20) + 4800
    with av.open(str(files["talk"])) as container:
        talk = np.concatenate([frame.to_ndarray().reshape(-1, 2) for frame in container.decode(audio=0)])
    np.testing.assert_allclose(lanes["dialogue"][start:][:48_000], talk[48_000 + 4800 :][:48_000], atol=1e-6)


def test_a_stem_that_is_cut_off_is_told(project, files):
    film = make_film(RATE, scene(spoken(files, 1, 60, gain_db=24)))
    made = run_assembly(project, find_program(), film, stems=True)
    assert told_of(made)["stems"][0]["clipped"] > 0
    assert any(
        remark.startswith("The dialogue stem is louder than full scale") for remark in made.sound_remarks
    )


def test_without_being_asked_no_stems_are_written(project, files):
    made = run_assembly(project, find_program(), make_film(RATE, scene(spoken(files, 1, 30))))
    assert "stems" not in told_of(made)
    assert not list(made.files[0].parent.glob("*.wav"))
