"""Facts of footage that is not there, for tests that read none."""

from fractions import Fraction
from typing import Any

from desk.film.media import MediaFacts, PictureFacts, SoundFacts
from desk.film.rates import Rate


def clip(
    seconds: int | Fraction = 10,
    *,
    rate: Rate | None = None,
    size: tuple[int, int] = (1920, 1080),
    timecode: str = "",
    size_bytes: int = 1000,
    camera: str = "",
    sound: bool = True,
    **picture: Any,
) -> MediaFacts:
    """Return the facts of a clip."""
    rate = rate or Rate(25)
    return MediaFacts(
        size_bytes=size_bytes,
        sample_hash="0" * 32,
        picture=PictureFacts(
            width=size[0],
            height=size[1],
            rate=rate,
            frames=round(seconds * rate.fraction),
            seconds=Fraction(seconds),
            time_base=1 / rate.fraction,
            **{"codec": "h264", "pixel_format": "yuv420p", **picture},
        ),
        sound=SoundFacts(sample_rate_hz=48_000, channels=2, seconds=Fraction(seconds)) if sound else None,
        timecode=timecode,
        camera=camera,
    )


def sound_alone(seconds: int = 10) -> MediaFacts:
    """Return the facts of a separate recording."""
    sound = SoundFacts(sample_rate_hz=48_000, channels=1, seconds=Fraction(seconds))
    return MediaFacts(size_bytes=1000, sample_hash="1" * 32, sound=sound)
