"""Whether a file is whole, from its own structure, on files built byte by byte after the standards."""

import struct
from pathlib import Path

import numpy as np
import pytest

from desk.footage.structure import Structure, composition_offsets, read_structure


def box(kind: bytes, content: bytes = b"") -> bytes:
    """Return a box of ISO/IEC 14496-12: 32-bit size, type, content."""
    return struct.pack(">I", 8 + len(content)) + kind + content


def large_box(kind: bytes, content: bytes) -> bytes:
    """Return a box with a 64-bit size, as one of more than 4 GB has."""
    return struct.pack(">I", 1) + kind + struct.pack(">Q", 16 + len(content)) + content


def full(kind: bytes, content: bytes, version: int = 0) -> bytes:
    """Return a box with version and flags."""
    return box(kind, bytes([version, 0, 0, 0]) + content)


def track(number: int, samples: int, runs: list[tuple[int, int]] | None, version: int = 0) -> bytes:
    """Return a track whose samples are shown `runs` ticks after they are decoded."""
    times = bytes(16 if version else 8)
    header = full(b"tkhd", times + struct.pack(">I", number) + bytes(60), version)
    table = full(b"stsz", struct.pack(">II", 9, samples))
    if runs is not None:
        table += full(
            b"ctts", struct.pack(">I", len(runs)) + b"".join(struct.pack(">Ii", *run) for run in runs)
        )
    return box(b"trak", header + box(b"mdia", box(b"minf", box(b"stbl", table))))


FTYP = box(b"ftyp", b"isom\0\0\2\0isom")
MOOV = box(b"moov", track(7, 5, None))
EBML = b"\x1a\x45\xdf\xa3\x84abcd"
SEGMENT = b"\x18\x53\x80\x67"

FILES = [
    ("whole", FTYP + MOOV + box(b"mdat", b"x" * 90), Structure()),
    ("list of frames last", FTYP + box(b"mdat", b"x" * 90) + MOOV, Structure()),
    ("cut off in the pictures", (FTYP + MOOV + box(b"mdat", b"x" * 90))[:-40], Structure(missing_bytes=40)),
    ("cut off in the list", (FTYP + box(b"mdat", b"x" * 90) + MOOV)[:-1], Structure(missing_bytes=1)),
    (
        "cut off in a list before the pictures",
        FTYP + MOOV[:-2],
        Structure(missing_bytes=2, more_may_follow=True),
    ),
    (
        "cut off in the pictures before the list",
        FTYP + box(b"mdat", b"x" * 90)[:-3],
        Structure(missing_bytes=3, more_may_follow=True),
    ),
    (
        "cut off in a fragment",
        FTYP + MOOV + box(b"moof") + box(b"mdat", b"x" * 9)[:-4],
        Structure(missing_bytes=4, more_may_follow=True),
    ),
    ("large box", FTYP + MOOV + large_box(b"mdat", b"x" * 90), Structure()),
    ("large box cut off", (FTYP + MOOV + large_box(b"mdat", b"x" * 90))[:-3], Structure(missing_bytes=3)),
    ("box to the end of the file", FTYP + MOOV + b"\0\0\0\0mdat" + b"x" * 9, Structure()),
    ("without a list", FTYP + box(b"mdat", b"x" * 90), Structure(index_missing=True)),
    ("never finished", FTYP + b"\0\0\0\0mdat" + b"x" * 90, Structure(index_missing=True)),
    ("fragments", FTYP + MOOV + box(b"moof") + box(b"mdat", b"x"), Structure()),
    ("zeros behind", FTYP + MOOV + box(b"mdat", b"x" * 90) + bytes(50), Structure()),
    ("RIFF", b"RIFF" + struct.pack("<I", 24) + b"AVI " + b"x" * 20, Structure()),
    ("RIFF cut off", b"RIFF" + struct.pack("<I", 24) + b"AVI " + b"x" * 10, Structure(missing_bytes=10)),
    ("RIFF without its pad byte", b"RIFF" + struct.pack("<I", 24) + b"AVI " + b"x" * 19, Structure()),
    ("RIFF that was streamed", b"RIFF\xff\xff\xff\xffWAVE" + b"x" * 20, Structure()),
    ("WAVE that was streamed, with a sign", b"RIFF\x24\xf0\xff\x7fWAVE" + b"x" * 20, Structure()),
    ("Matroska", EBML + SEGMENT + b"\x8a" + b"x" * 10, Structure()),
    ("Matroska, long size", EBML + SEGMENT + b"\x01\0\0\0\0\0\0\x0a" + b"x" * 10, Structure()),
    ("Matroska cut off", EBML + SEGMENT + b"\x01\0\0\0\0\0\0\x0a" + b"x" * 4, Structure(missing_bytes=6)),
    ("Matroska that was streamed", EBML + SEGMENT + b"\x01" + b"\xff" * 7 + b"x" * 4, Structure()),
    ("anything else", b"x" * 50, Structure()),
    ("next to nothing", b"x", Structure()),
]


@pytest.mark.parametrize(("data", "structure"), [case[1:] for case in FILES], ids=[case[0] for case in FILES])
def test_structure(tmp_path: Path, data: bytes, structure: Structure) -> None:
    path = tmp_path / "a"
    path.write_bytes(data)
    assert read_structure(path) == structure


@pytest.mark.parametrize("name", [case[0] for case in FILES])
def test_no_cut_makes_it_stumble(tmp_path: Path, name: str) -> None:
    data = next(case[1] for case in FILES if case[0] == name)
    path = tmp_path / "a"
    for length in range(len(data)):
        path.write_bytes(data[:length])
        read_structure(path)
        composition_offsets(path, 7, 5)


@pytest.mark.parametrize("version", [0, 1])
def test_composition_offsets(tmp_path: Path, version: int) -> None:
    path = tmp_path / "a.mp4"
    tracks = track(1, 9, [(9, 1)]) + track(2, 5, [(1, 1024), (2, -512), (2, 0)], version)
    path.write_bytes(FTYP + box(b"moov", box(b"mvhd") + tracks))
    offsets = composition_offsets(path, 2, 5)
    assert offsets is not None
    assert offsets.tolist() == [1024, -512, -512, 0, 0]


def test_frames_that_are_shown_as_they_are_decoded(tmp_path: Path) -> None:
    path = tmp_path / "a.mp4"
    path.write_bytes(FTYP + MOOV)
    offsets = composition_offsets(path, 7, 5)
    assert offsets is not None
    assert np.array_equal(offsets, np.zeros(5))


@pytest.mark.parametrize(
    "movie",
    [
        track(2, 6, [(6, 1)]),  # another number of frames than the reader has found
        track(2, 5, [(4, 1)]),  # a table that is too short
        track(2, 5, [(2**31, 1)]),
        track(2, 5, [(4_000_000_000, 1), (4_000_000_000, 1)]),
        track(3, 5, None),
        track(2, 5, None) + box(b"mvex"),  # frames go on elsewhere in the file
        box(b"trak"),
        b"",
    ],
)
def test_tables_that_can_not_be_used(tmp_path: Path, movie: bytes) -> None:
    path = tmp_path / "a.mp4"
    path.write_bytes(FTYP + box(b"moov", movie))
    assert composition_offsets(path, 2, 5) is None


def test_a_table_that_says_it_is_longer_than_it_is(tmp_path: Path) -> None:
    path = tmp_path / "a.mp4"
    data = FTYP + box(b"moov", track(2, 5, [(5, 1)]))
    path.write_bytes(
        data.replace(struct.pack(">I", 1) + struct.pack(">Ii", 5, 1), b"\xff\xff\xff\xff" + bytes(8))
    )
    assert composition_offsets(path, 2, 5) is None
