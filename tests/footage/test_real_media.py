"""Facts of real footage. What it is: read from the packages' files with FFmpeg, and noted here."""

from fractions import Fraction

import pytest

from desk.film.rates import Rate
from desk.footage.probe import probe
from tests.footage.decoded import decoded_times, picture_of
from tests.making import bundled_ffmpeg
from tests.real_media import real_media

pytestmark = [pytest.mark.media, pytest.mark.ffmpeg]


@pytest.mark.parametrize(
    ("name", "rate", "frames", "rotation"),
    [
        ("WolfgangLanger_Pexels.mp4", Rate(24000, 1001), 472, 0),
        ("obama_speech.mp4", Rate(12), 105, 0),
        ("shot_change.mp4", Rate(30000, 1001), 148, 0),
        ("park.mp4", Rate(30000, 1001), 17, 0),
        ("bigbuckbunny.mp4", Rate(25), 132, 0),
        ("bikes.mp4", Rate(25), 250, 0),
        ("carphone_pristine.mp4", Rate(30000, 1001), 120, 0),
        ("demo.mp4", Rate(30), 230, 0),
        ("iphone_rotated.mov", Rate(30000, 1001), 66, 90),
        ("face_noface.mov", None, 169, 0),
        ("noface_face.mov", None, 169, 0),
    ],
)
def test_facts(name: str, rate: Rate | None, frames: int, rotation: int) -> None:
    path = real_media(name)
    picture = picture_of(path)
    assert (picture.frames, picture.rotation_degrees) == (frames, rotation)
    assert picture.variable is (rate is None)
    if rate is not None:
        assert picture.rate == rate
    times = decoded_times(path, bundled_ffmpeg())
    assert (len(times), times[0]) == (frames, picture.start_pts)


def test_no_place_gets_out_of_a_phone_clip() -> None:
    facts = probe(real_media("iphone_rotated.mov"))
    assert facts.camera
    assert "location" not in repr(facts).lower()


def test_pixels_that_are_not_square() -> None:
    picture = probe(real_media("carphone_pristine.mp4")).picture
    assert picture is not None
    assert picture.pixel_aspect == Fraction(128, 117)


def test_six_channels() -> None:
    sound = probe(real_media("bigbuckbunny.mp4")).sound
    assert sound is not None
    assert (sound.layout, sound.channels) == ("5.1", 6)
