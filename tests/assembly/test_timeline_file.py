"""Timeline files on disk: URLs that open again, whole files, bundles that OpenTimelineIO opens."""

import errno
import json
import os
import urllib.parse
import urllib.request
import zipfile
from fractions import Fraction
from pathlib import Path

import opentimelineio as otio
import pytest

from desk.assembly.timeline import build_timeline
from desk.assembly.timeline_file import relative_url, write_bundle, write_timeline
from desk.errors import MediaError, OutputError
from desk.film.media import MediaFacts, PictureFacts
from desk.film.model import Candidate, Card, Clip, Cue, Film, Placement, Scene, SceneContent, Size
from desk.film.rates import Rate
from desk.film.timing import Include, lay_out
from desk.jobs import Cancelled, CancelToken, Progress

KEY = "assembly-desk"
NAMES = [
    "plain.mov",
    "b#1.mov",
    "what?.mov",
    "100%.mov",
    "100%41.mov",
    "two words.mov",
    "é.mov",
    "e\u0301.mov",
    "-x.mp4",
    "a:b.mp4",
    "file:c.mov",
    'it\'s "so".mov',
    "back\\slash.mov",
    "line\nend.mov",
    "🎬 ;=&+,[x].mov",
    "~tilde.mov",
    ".hidden.mov",
]


def opened(url: str, folder: Path) -> Path:
    """Return the file of a URL, as anybody would who follows RFC 3986 and knows where the timeline is."""
    base = folder.resolve().as_uri() + "/"
    parts = urllib.parse.urlsplit(urllib.parse.urljoin(base, url))
    assert (parts.scheme, parts.netloc, parts.query, parts.fragment) == ("file", "", "", "")
    return Path(urllib.request.url2pathname(parts.path))


@pytest.mark.parametrize("name", NAMES)
def test_names_open_again(name: str, tmp_path: Path):
    source = tmp_path / "footage #1" / "01 kiosk%20" / name
    out = tmp_path / "out" / "é & co"
    for folder in (source.parent, out):
        folder.mkdir(parents=True)
    source.write_bytes(name.encode())
    url = relative_url(source, out)
    assert url.isascii()
    assert not urllib.parse.urlsplit(url).scheme
    assert opened(url, out).read_bytes() == name.encode()
    beside = relative_url(source, source.parent)
    assert opened(beside, source.parent).read_bytes() == name.encode()


def test_url_of_the_table(tmp_path: Path):
    # RFC 3986, worked out by hand: `/a/b #1?é.mov` is `/a/b%20%231%3F%C3%A9.mov`.
    assert relative_url(tmp_path / "a" / "b #1?é.mov", tmp_path) == "a/b%20%231%3F%C3%A9.mov"


def test_a_name_that_is_not_utf_8_keeps_its_bytes(tmp_path: Path):
    source = Path(os.fsdecode(os.fsencode(tmp_path) + b"/caf\xe9.mov"))
    assert relative_url(source, tmp_path) == "caf%E9.mov"


def test_linked_folders_lead_to_the_file(tmp_path: Path):
    real, disk = tmp_path / "disks" / "one" / "project", tmp_path / "disks" / "two" / "footage"
    for folder in (real / "review", disk):
        folder.mkdir(parents=True)
    (disk / "a.mov").write_bytes(b"a")
    (tmp_path / "project").symlink_to(real)
    (real / "footage").symlink_to(disk)
    project = tmp_path / "project"
    # Through the link in the project, so that it still leads there when the project moves.
    url = relative_url(project / "footage" / "a.mov", project / "review")
    assert url == "../footage/a.mov"
    assert opened(url, project / "review").read_bytes() == b"a"
    # From a linked folder `..` goes up on the real disk.
    (tmp_path / "out").symlink_to(real / "review")
    url = relative_url(disk / "a.mov", tmp_path / "out")
    assert (Path(os.path.realpath(tmp_path / "out")) / url).read_bytes() == b"a"


def picture_facts() -> MediaFacts:
    picture = PictureFacts(
        width=64, height=36, rate=Rate(25), frames=100, seconds=Fraction(4), time_base=Fraction(1, 25)
    )
    return MediaFacts(size_bytes=3, sample_hash="ab", picture=picture)


def film_of(*sources: str, music: str = "") -> Film:
    clips = tuple(
        Clip(id=f"c{index}", source=source, length_frames=10) for index, source in enumerate(sources)
    )
    tried = Candidate(id="x", file=music)
    cues = (Cue(id="m", length_frames=20, candidates=(tried,), chosen="x"),) if music else ()
    scene = Scene(id="s", number="1", content=SceneContent(clips=clips, cues=cues))
    card = Card(id="k", lines=("The last ferry",), length_frames=50)
    return Film(
        title="The last ferry",
        rate=Rate(25),
        size=Size(64, 36),
        start_frames=90000,
        scenes=(scene,),
        cards=(card,),
        order=(Placement(entry="k"), Placement(entry="s")),
    )


def timeline_of(film: Film, project: Path, missing: tuple[str, ...] = ()) -> otio.schema.Timeline:
    scene = film.scenes[0].content
    paths = {clip.source for clip in scene.clips} | {
        tried.file for cue in scene.cues for tried in cue.candidates
    }
    facts = {path: picture_facts() for path in paths if path not in missing}
    return build_timeline(
        film,
        lay_out(film, Include.ALL),
        facts,
        locate=lambda path: relative_url(project / path, project / "out"),
    )


@pytest.fixture
def project(tmp_path: Path) -> Path:
    for path, content in {
        "01/shot.mov": b"one",
        "02/shot.mov": b"two",
        "03/SHOT.mov": b"three",
        "04/100% é #1.mov": b"four",
        "music/tide.flac": b"tide",
    }.items():
        target = tmp_path / path
        target.parent.mkdir(exist_ok=True)
        target.write_bytes(content)
    (tmp_path / "out").mkdir()
    return tmp_path


SOURCES = ("01/shot.mov", "02/shot.mov", "03/SHOT.mov", "04/100% é #1.mov", "01/shot.mov")


def test_a_written_timeline_is_read_back_the_same(project: Path):
    made = timeline_of(film_of(*SOURCES), project)
    target = project / "out" / "film.otio"
    target.write_text("old")
    write_timeline(made, target)
    assert otio.adapters.read_from_file(str(target)).is_equivalent_to(made)
    assert [path.name for path in target.parent.iterdir()] == ["film.otio"]
    for clip in made.find_clips():
        if isinstance(clip.media_reference, otio.schema.ExternalReference):
            source = clip.media_reference.metadata[KEY]["source"]
            assert opened(clip.media_reference.target_url, target.parent).samefile(project / source)


def test_nothing_is_written_where_nothing_can_be(project: Path):
    made = timeline_of(film_of(*SOURCES), project)
    with pytest.raises(OutputError, match="folder is missing"):
        write_timeline(made, project / "none" / "film.otio")
    with pytest.raises(OutputError, match="folder is missing"):
        write_bundle(made, project / "none" / "film.otioz", {})


def media_of(project: Path, *sources: str) -> dict[str, Path]:
    return {source: project / source for source in sources}


def test_a_bundle_holds_its_media(project: Path, monkeypatch: pytest.MonkeyPatch):
    made = timeline_of(film_of(*SOURCES, music="music/tide.flac"), project)
    target = project / "out" / "film.otioz"
    target.write_bytes(b"an older bundle")
    # The working directory must not matter.
    monkeypatch.chdir(project / "music")
    told = []
    assert (
        write_bundle(made, target, media_of(project, *SOURCES, "music/tide.flac"), progress=told.append) == ()
    )
    assert [path.name for path in target.parent.iterdir()] == ["film.otioz"]
    unpacked = project / "unpacked"
    unpacked.mkdir()
    found = otio.adapters.read_from_file(str(target), extract_to_directory=str(unpacked))
    assert found.duration() == made.duration()
    with zipfile.ZipFile(target) as archive:
        assert archive.testzip() is None
        names = archive.namelist()
        assert archive.read("version.txt") == b"1.0.0"
    assert names[:2] == ["version.txt", "content.otio"]
    inside = [name.removeprefix("media/") for name in names[2:]]
    assert len({name.casefold() for name in inside}) == len(inside) == 5
    checked = 0
    for clip in found.find_clips():
        if isinstance(clip.media_reference, otio.schema.GeneratorReference):
            continue
        url = clip.media_reference.target_url
        # The library decodes names twice; plain ones stand that.
        assert otio.url_utils.filepath_from_url(url) == url
        source = clip.media_reference.metadata[KEY]["source"]
        assert (unpacked / url).read_bytes() == (project / source).read_bytes()
        checked += 1
    assert checked == 2 * len(SOURCES) + 1
    assert told[-1].fraction == 1.0
    assert [progress.fraction for progress in told] == sorted(progress.fraction for progress in told)


def test_a_bundle_does_without_what_is_missing_and_says_so(project: Path):
    sources = (*SOURCES, "05/gone.mov", "06/folder.mov", "07/never seen.mov")
    (project / "06" / "folder.mov").mkdir(parents=True)
    made = timeline_of(film_of(*sources), project, missing=("07/never seen.mov",))
    before = made.to_json_string()
    target = project / "out" / "film.otioz"
    told = write_bundle(made, target, media_of(project, *sources[:-1]))
    assert told == ("05/gone.mov", "06/folder.mov", "07/never seen.mov")
    assert made.to_json_string() == before, "the timeline that was given is not changed"
    found = otio.adapters.read_from_file(str(target))
    gone = [clip for clip in found.find_clips() if clip.media_reference.is_missing_reference]
    assert {clip.media_reference.metadata[KEY]["source"] for clip in gone} == set(told)
    assert {clip.media_reference.metadata[KEY]["note"] for clip in gone} == {
        "missing when this bundle was written"
    }
    assert gone[0].available_range().duration.value == 100, "what is known of its handles is kept"
    assert found.duration() == made.duration()


def test_a_missing_file_that_is_there_again_is_bundled(project: Path):
    made = timeline_of(film_of("01/shot.mov"), project, missing=("01/shot.mov",))
    target = project / "out" / "film.otioz"
    assert write_bundle(made, target, media_of(project, "01/shot.mov")) == ()
    with zipfile.ZipFile(target) as archive:
        assert archive.read("media/shot.mov") == b"one"


@pytest.mark.parametrize("stop", ["full", "cancel", "unreadable"])
def test_a_bundle_is_whole_or_not_there(stop: str, project: Path):
    made = timeline_of(film_of(*SOURCES), project)
    target = project / "out" / "film.otioz"
    target.write_bytes(b"an older bundle")
    media = media_of(project, *SOURCES)
    cancel = CancelToken()

    def on_progress(progress: Progress) -> None:
        if stop == "full":
            raise OSError(errno.ENOSPC, "No space left on device")
        if stop == "cancel":
            cancel.set()

    expected: type[Exception] = {"full": OutputError, "cancel": Cancelled, "unreadable": MediaError}[stop]
    if stop == "unreadable":
        media["02/shot.mov"] = _Unreadable(project / "02" / "shot.mov")
    with pytest.raises(expected) as caught:
        write_bundle(made, target, media, cancel=cancel, progress=on_progress)
    if stop == "unreadable":
        assert "shot.mov” can't be read" in str(caught.value)
    assert target.read_bytes() == b"an older bundle"
    assert [path.name for path in target.parent.iterdir()] == ["film.otioz"]
    # And it can be tried again.
    assert write_bundle(made, target, media_of(project, *SOURCES)) == ()


class _Unreadable(type(Path())):
    """A file on a disk that gives an error."""

    def open(self, *arguments, **options):
        raise OSError(errno.EIO, "Input/output error")


def test_the_same_film_makes_the_same_bundle(project: Path):
    made = timeline_of(film_of(*SOURCES), project)
    first, second = project / "out" / "1.otioz", project / "out" / "2.otioz"
    for target in (first, second):
        write_bundle(made, target, media_of(project, *SOURCES))
    assert first.read_bytes() == second.read_bytes()


def test_nothing_of_this_machine_is_in_the_file(project: Path):
    target = project / "out" / "film.otio"
    write_timeline(timeline_of(film_of(*SOURCES), project), target)
    text = target.read_text()
    json.loads(text)
    assert str(project) not in text
