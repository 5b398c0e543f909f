"""The stems of an assembly: dialogue, music and effects of the whole film, each a WAV file as long as it.

They hold the mix as it was before the master: added up they give it, to within the rounding of 24 bits.
"""

import dataclasses
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from desk.film.rates import SAMPLE_RATE_HZ
from desk.film.wording import counted
from desk.jobs import CancelToken
from desk.render.run import MadeStem
from desk.sound.reading import Samples
from desk.sound.stems import mixed
from desk.sound.wave import write_wave

STEM_LANES = ("dialogue", "music", "effects")
_BLOCK_SAMPLES = 10 * SAMPLE_RATE_HZ


@dataclass(frozen=True, slots=True, kw_only=True)
class WrittenStem:
    """A stem that was written.

    Attributes:
        lane: Which lane of the film.
        file: Its name.
        samples: How long it is.
        clipped: How many samples were above full scale, and are cut off there.
    """

    lane: str
    file: str
    samples: int
    clipped: int

    def renamed(self, folder: Path, name: str) -> "WrittenStem":
        """Put another name before its lane.

        Args:
            folder: Where it is.
            name: The name.

        Raises:
            OSError: when the disk refuses.
        """
        file = f"{name}.{self.lane}.wav"
        (folder / self.file).rename(folder / file)
        return dataclasses.replace(self, file=file)

    def told(self) -> dict[str, object]:
        """Return what the manifest says of it."""
        return {"lane": self.lane, "file": self.file, "samples": self.samples, "clipped": self.clipped}


def write_stems(
    stems: Sequence[MadeStem], samples: int, folder: Path, *, cancel: CancelToken
) -> tuple[WrittenStem, ...]:
    """Write the three stems of a film, also those that are silent, so that there are always three.

    Args:
        stems: The stems of its scenes.
        samples: How long it is.
        folder: Where they go, named by their lanes.
        cancel: Stops it.

    Raises:
        OSError: when the disk refuses.
        Cancelled: when stopped on request.
    """
    written = []
    for lane in STEM_LANES:
        own = [(one.start_sample - one.stem.start_sample, one.stem) for one in stems if one.lane == lane]
        file = f"{lane}.wav"
        made = write_wave(folder / file, _checked(mixed(own, samples, _BLOCK_SAMPLES), cancel), samples)
        written.append(WrittenStem(lane=lane, file=file, samples=made.samples, clipped=made.clipped))
    return tuple(written)


def clipped_remarks(stems: Sequence[WrittenStem]) -> tuple[str, ...]:
    """Return a sentence for each stem that is louder than its file can hold.

    Args:
        stems: Those that were written.
    """
    return tuple(
        f"The {stem.lane} stem is louder than full scale: {counted(stem.clipped, 'sample')} of it "
        "are cut off. Lower what is loudest in it."
        for stem in stems
        if stem.clipped
    )


def _checked(blocks: Iterator[Samples], cancel: CancelToken) -> Iterator[Samples]:
    for block in blocks:
        cancel.check()
        yield block
