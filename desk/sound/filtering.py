"""Samples through FFmpeg's sound filters, within this process: what goes in comes out in the same order."""

import contextlib
import itertools
from collections.abc import Iterator, Sequence
from fractions import Fraction

import av
import numpy as np
from av.filter import Graph

from desk.film.rates import SAMPLE_RATE_HZ
from desk.sound.reading import Samples

Filter = tuple[str, str]
"""A filter's name and its arguments, as in FFmpeg's manual: `("highpass", "f=80")`."""

_CLOCK = Fraction(1, SAMPLE_RATE_HZ)


def filtered(
    blocks: Iterator[Samples], filters: Sequence[Filter], *, layout: str = "stereo"
) -> Iterator[av.AudioFrame]:
    """Give the frames that come out of a chain of filters.

    Args:
        blocks: Samples of shape (n, channels), as 32-bit floats at 48 kHz.
        filters: The chain, one or more.
        layout: Which channels there are, by FFmpeg's name.

    Raises:
        av.error.FFmpegError: for a filter or an argument that does not exist, which is our own mistake.
    """
    graph = Graph()
    source = graph.add_abuffer(sample_rate=SAMPLE_RATE_HZ, format="flt", layout=layout, time_base=_CLOCK)
    chain = [source, *(graph.add(name, arguments) for name, arguments in filters), graph.add("abuffersink")]
    for before, after in itertools.pairwise(chain):
        before.link_to(after)
    graph.configure()
    at = 0
    for block in blocks:
        if not len(block):
            continue
        flat = np.ascontiguousarray(block, np.float32).reshape(1, -1)
        frame = av.AudioFrame.from_ndarray(flat, format="flt", layout=layout)
        frame.sample_rate, frame.pts, frame.time_base = SAMPLE_RATE_HZ, at, _CLOCK
        at += len(block)
        graph.push(frame)
        yield from _ready(graph)
    if at:
        graph.push(None)
        yield from _ready(graph)


def filtered_samples(blocks: Iterator[Samples], filters: Sequence[Filter]) -> Iterator[Samples]:
    """Give stereo samples as a chain of filters leaves them; see `filtered`."""
    for frame in filtered(blocks, [*filters, ("aformat", "sample_fmts=flt")]):
        yield frame.to_ndarray().astype(np.float32, copy=False).reshape(-1, 2)


def _ready(graph: Graph) -> Iterator[av.AudioFrame]:
    with contextlib.suppress(av.error.BlockingIOError, av.error.EOFError):
        while True:
            frame = graph.pull()
            assert isinstance(frame, av.AudioFrame)
            yield frame
