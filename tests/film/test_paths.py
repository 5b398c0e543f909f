"""Only local files, relative to the project folder, have a place in a film.

What FFmpeg takes for a protocol is from its libavformat/avio.c (url_find_protocol): letters, digits, `+`,
`-`, `.` up to a colon, or with options after a comma.
"""

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from desk.film.model import Candidate, Clip, ClipSound, Cue, SceneContent, SoundKind, Spot
from desk.film.paths import content_paths, film_paths, path_fault
from tests.film.films import small_film


@pytest.mark.parametrize(
    "path",
    [
        "footage/01 boathouse/A001.mov",
        "../cards/a.mov",
        "-x.mov",
        'it\'s "100%" #1?.mov',
        "é/ünï/🎬.mp4",
        "two\nlines.mov",
        "./take:2.mov",
        "take 2: final.mov",
        "a,b/c:d.mov",
        "./subfile,,start,0,end,9,,:a.mov",
        ".",
        "..",
    ],
)
def test_local_files_are_allowed(path):
    assert path_fault(path) == ""


@pytest.mark.parametrize(
    ("path", "told"),
    [
        ("", "name a file"),
        ("/etc/passwd", "relative"),
        ("//server/share/a.mov", "server"),
        ("\\\\server\\share\\a.mov", "backslash"),
        ("footage\\a.mov", "backslash"),
        ("C:\\a.mov", "backslash"),
        ("C:/a.mov", "address"),
        ("http://example.org/a.mov", "address"),
        ("HTTPS://example.org/a.mov", "address"),
        ("http:a.mov", "address"),
        ("file:a.mov", "address"),
        ("file:///a.mov", "address"),
        ("concat:a.mov|b.mov", "address"),
        ("pipe:0", "address"),
        ("data:video/mp4;base64,AAAA", "address"),
        ("crypto+http://example.org/a", "address"),
        ("subfile,,start,0,end,9,,:a.mov", "address"),
        ("subfile,a/b:c", "address"),
        ("rtmp://example.org/live", "address"),
        ("a.mov:b", "address"),
        ("a\0b", "text"),
        ("half \ud83d.mov", "text"),
        ("a/" * 2049, "4096"),
    ],
)
def test_all_else_is_refused(path, told):
    assert told in path_fault(path)


def test_where_no_file_is_needed_none_is_allowed():
    assert path_fault("", required=False) == ""
    assert path_fault("/a", required=False)


ODD_PATHS = st.lists(
    st.sampled_from(["subfile", "a", "1", "+", ".", "-", ":", ",", "/", "\\", "é", " "]), max_size=8
)


@given(st.text(max_size=30) | ODD_PATHS.map("".join))
def test_what_is_allowed_is_a_local_file_to_ffmpeg(path):
    """The rule of url_find_protocol, written as it is there."""
    if path_fault(path):
        return
    scheme = re.match(r"[A-Za-z0-9+.\-]*", path)
    rest = path[scheme.end() :]
    assert not rest.startswith(":")
    assert not path.startswith("subfile,") or ":" not in rest[1:]
    assert not path.startswith(("/", "\\"))


def test_files_of_a_scene_in_the_order_of_its_lanes_each_once():
    content = SceneContent(
        clips=(
            Clip(
                id="c1",
                source="b.mov",
                length_frames=1,
                sound=ClipSound(kind=SoundKind.SEPARATE, file="b.wav"),
            ),
            Clip(id="c2", source="a.mov", length_frames=1, sound=ClipSound(file="unused.wav")),
            Clip(id="c3", source="b.mov", length_frames=1),
        ),
        cues=(
            Cue(
                id="m1",
                length_frames=1,
                candidates=(Candidate(id="a1", file="no.wav"), Candidate(id="a2", file="yes.wav")),
                chosen="a2",
            ),
        ),
        spots=(Spot(id="f1", file="horn.wav", start_frames=0, length_frames=1),),
    )
    chosen = ("b.mov", "b.wav", "a.mov", "yes.wav", "horn.wav")
    assert content_paths(content) == chosen
    assert content_paths(content, every_candidate=True) == (*chosen[:3], "no.wav", *chosen[3:])


def test_files_of_a_film():
    paths = film_paths(small_film())
    assert "footage/4/lamp.mov" in paths
    assert "music/fog.wav" in paths
    assert len(paths) == len(set(paths)) == 7
