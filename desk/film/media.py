"""What is known of a media file: facts read from it, as plain values."""

from dataclasses import dataclass
from fractions import Fraction

from desk.film.rates import Rate


@dataclass(frozen=True, slots=True, kw_only=True)
class PictureFacts:
    """The picture of a file.

    Attributes:
        width: Stored pixels across, before rotation.
        height: Stored lines, before rotation.
        pixel_aspect: Width of a pixel over its height.
        rotation_degrees: Clockwise turn that shows it upright: 0, 90, 180 or 270.
        rate: Frames a second; for variable rate, the mean.
        variable: Whether frames are unevenly spaced, told from their times.
        frames: How many there are.
        seconds: From the first frame to the end of the last.
        start_pts: Time of the first frame shown, in `time_base`.
        time_base: Seconds of one tick.
        codec: Name such as `h264`.
        pixel_format: Name such as `yuv420p10le`.
        bit_depth: Bits of a sample.
        full_range: Whether levels are full rather than limited.
        matrix: Colour matrix, such as `bt709`; "" where the file does not say.
        primaries: Colour primaries; "" where the file does not say.
        transfer: Transfer function; "" where the file does not say.
        interlaced: Whether frames are two fields.
    """

    width: int
    height: int
    pixel_aspect: Fraction = Fraction(1)
    rotation_degrees: int = 0
    rate: Rate
    variable: bool = False
    frames: int
    seconds: Fraction
    start_pts: int = 0
    time_base: Fraction
    codec: str = ""
    pixel_format: str = ""
    bit_depth: int = 8
    full_range: bool = False
    matrix: str = ""
    primaries: str = ""
    transfer: str = ""
    interlaced: bool = False

    @property
    def upright_size(self) -> tuple[Fraction, Fraction]:
        """Width and height as shown: square pixels, upright."""
        width, height = self.width * self.pixel_aspect, Fraction(self.height)
        return (height, width) if self.rotation_degrees % 180 else (width, height)


@dataclass(frozen=True, slots=True, kw_only=True)
class SoundFacts:
    """The sound of a file.

    Attributes:
        sample_rate_hz: Samples a second.
        channels: How many channels.
        layout: Name such as `stereo` or `5.1`.
        seconds: Length.
        codec: Name such as `aac`.
    """

    sample_rate_hz: int
    channels: int
    layout: str = ""
    seconds: Fraction
    codec: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class MediaFacts:
    """All that was read of one file.

    Attributes:
        size_bytes: Its size.
        sample_hash: Hash over its size, head, middle and tail.
        modified_ns: When it was last changed, in ns since 1970.
        container: Name of the format it is in, as FFmpeg has it, such as `mov,mp4,m4a,3gp,3g2,mj2`.
        picture: Its picture, or None.
        sound: Its first sound track, or None.
        timecode: Label of its first frame where the file has one, or "".
        camera: Make and model where the file says, or "".
    """

    size_bytes: int
    sample_hash: str
    modified_ns: int = 0
    container: str = ""
    picture: PictureFacts | None = None
    sound: SoundFacts | None = None
    timecode: str = ""
    camera: str = ""
