"""How loud a copy came out is read back from its manifest as the assembly has it."""

import dataclasses
import json

import pytest

from desk.assembly.copy_sound import CopyScene, copy_sound, manifest_of, read_copy_sound
from desk.ffmpeg.program import find_program
from desk.film.model import Card, ClipSound, Delivery, SoundKind
from desk.film.rates import Rate
from tests.making import make_numbered
from tests.render.films import SIZE, clip, make_film, run_assembly, scene
from tests.sound.signals import sine, write_sound

RATE = Rate(25)
SECONDS = 4


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    """A card of 1 s and three scenes of 4 s: soft, loud and soft again, by 12 dB, over a silent picture."""
    folder = tmp_path_factory.mktemp("copy-sound")
    picture = make_numbered(
        folder / "picture.mp4", rate=RATE, frames=SECONDS * 25, size=(SIZE.width, SIZE.height)
    )
    sound = write_sound(folder / "tone.wav", sine(SECONDS, 1000, level=0.1))

    def sounding(number, gain_db):
        own = ClipSound(kind=SoundKind.SEPARATE, file=str(sound), gain_db=gain_db)
        return scene(clip(picture, 0, SECONDS * 25, sound=own), number=number)

    film = make_film(
        RATE,
        Card(id="k1", lines=("The Late Ferry",), length_frames=25),
        sounding("1", -12.0),
        sounding("2", 0.0),
        sounding("3", -12.0),
        delivery=Delivery(integrated_lufs=-23.0, review_height=36),
    )
    return run_assembly(folder / "project", find_program(), film)


@pytest.mark.ffmpeg
def test_the_manifest_tells_what_the_assembly_found(made):
    told, wanted = read_copy_sound(made.files[0]), copy_sound(made)
    assert (told.target, told.target_lufs, told.ceiling_dbtp) == ("EBU R 128", -23.0, -1.0)
    assert told.integrated_lufs == pytest.approx(-23, abs=0.3)
    assert told.remarks == wanted.remarks
    assert (told.gain_db, told.compression) == (wanted.gain_db, wanted.compression)
    for name in ("integrated_lufs", "true_peak_dbtp", "range_lu"):
        assert getattr(told, name) == pytest.approx(getattr(wanted, name), abs=0.005)
    # What is told is rounded to hundredths.
    assert [rounded(one) for one in told.scenes] == [rounded(one) for one in wanted.scenes]


def rounded(one: CopyScene) -> CopyScene:
    levels = ("integrated_lufs", "voices_lufs", "music_below_voices_lu", "stands_out_lu")
    return dataclasses.replace(
        one, **{name: round(value, 1) for name in levels if (value := getattr(one, name)) is not None}
    )


@pytest.mark.ffmpeg
def test_the_loudest_moment_and_what_stands_out_are_those_of_the_scene(made):
    told = read_copy_sound(made.files[0])
    assert [(one.number, one.music_below_voices_lu) for one in told.scenes] == [
        ("1", None), ("2", None), ("3", None),
    ]  # fmt: skip
    # 12 dB louder than both neighbours.
    assert [one.stands_out_lu and round(one.stands_out_lu) for one in told.scenes] == [None, 12, None]
    for one in told.scenes:
        assert 0 <= one.loudest_frames < SECONDS * 25
    # One hour, a card of 1 s, a scene of 4 s.
    assert told.scenes[1].loudest_at.startswith("01:00:0")
    frames = int(told.scenes[1].loudest_at[-5:-3]) * 25 + int(told.scenes[1].loudest_at[-2:])
    assert frames == 5 * 25 + told.scenes[1].loudest_frames


@pytest.mark.ffmpeg
@pytest.mark.parametrize(
    "change",
    [
        lambda told: told.pop("sound"),
        lambda told: told["sound"].update(target_lufs="loud"),
        lambda told: told["film"].update(rate="many"),
        lambda told: told["film"].update(start_timecode="now"),
        lambda told: told.pop("entries"),
    ],
    ids=["older", "no number", "no rate", "no timecode", "no entries"],
)
def test_a_manifest_that_tells_nothing_of_it_shows_nothing(made, tmp_path, change):
    told = json.loads(manifest_of(made.files[0]).read_text())
    change(told)
    (tmp_path / "a.manifest.json").write_text(json.dumps(told))
    assert read_copy_sound(tmp_path / "a.mp4") is None


@pytest.mark.parametrize("data", [b"", b"{", b"[[[[", b"\xff\xfe", None])
def test_what_is_no_manifest_shows_nothing(tmp_path, data):
    if data is not None:
        (tmp_path / "a.manifest.json").write_bytes(data)
    assert read_copy_sound(tmp_path / "a.mp4") is None
