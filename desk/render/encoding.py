"""How pictures are encoded: the same for every piece, so that pieces can be put together unchanged."""

from dataclasses import dataclass

from desk.film.rates import Rate


@dataclass(frozen=True, slots=True)
class Encoding:
    """Settings of the H.264 encoder.

    Attributes:
        preset: x264's preset.
        crf: x264's constant rate factor; lower is better.
        key_seconds: Longest distance between key frames, which is how far a player has to read to jump.
    """

    preset: str
    crf: int
    key_seconds: int = 2

    def arguments(self, rate: Rate) -> dict[str, str]:
        """Return ffmpeg's output options.

        One thread each: pieces are made side by side, and the bytes do not depend on the machine. Everything
        that stands in the stream's header is fixed here, since a joined stream has one header for all pieces.
        """
        key_frames = round(self.key_seconds * rate.fraction)
        return {
            "c:v": "libx264",
            "preset": self.preset,
            "crf": str(self.crf),
            "profile:v": "high",
            "pix_fmt": "yuv420p",
            "threads": "1",
            "g": str(key_frames),
            "x264-params": "open-gop=0:force-cfr=1:stitchable=1",
            "color_range": "tv",
            "colorspace": "bt709",
            "color_primaries": "bt709",
            "color_trc": "bt709",
            "video_track_timescale": str(track_clock(rate)),
        }


REVIEW = Encoding(preset="veryfast", crf=21)
FULL = Encoding(preset="medium", crf=16)


def track_clock(rate: Rate) -> int:
    """Return ticks a second of the picture track: frames are whole numbers of them."""
    return rate.numerator if rate.denominator != 1 else rate.numerator * 1000
