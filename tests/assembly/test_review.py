"""Making an assembly: all or nothing, whatever happens meanwhile; and what is told about it is true."""

import contextlib
import dataclasses
import hashlib
import json
import os
import random
import re
import shutil
import signal
import subprocess
import sys
import threading
import time
from concurrent.futures import ThreadPoolExecutor
from fractions import Fraction
from pathlib import Path

import av
import opentimelineio as otio
import pytest

from desk.cli.main import main
from desk.errors import AssemblyError, DeskError, FfmpegError, OutputError
from desk.ffmpeg.program import find_program
from desk.film.model import Candidate, Card, ClipSound, Cue, Size, Spot
from desk.film.rates import Rate
from desk.film.timecode import format_label
from desk.jobs import Cancelled, CancelToken
from desk.store.lock import hold
from desk.store.project import open_film
from tests.making import make_numbered, read_pictures, run_ffmpeg
from tests.render.films import (
    SIZE,
    Footage,
    assert_shows,
    clip,
    decode_copy,
    dissolve,
    expected,
    make_film,
    put,
    run_assembly,
    scene,
    session_folder,
    through_black,
    with_paths,
)

pytestmark = pytest.mark.ffmpeg

RATE = Rate(30000, 1001)


@pytest.fixture(scope="session")
def footage(tmp_path_factory):
    return Footage(session_folder(tmp_path_factory, "numbered-footage"))


@pytest.fixture(scope="session")
def reel(tmp_path_factory):
    """Footage that beeps, and says where and with what it was recorded."""
    path = session_folder(tmp_path_factory, "reels") / "DSC 01 #1.mov"
    if not path.exists():
        part = path.with_name(f"part-{os.getpid()}.mov")
        make_numbered(
            part,
            rate=RATE,
            frames=150,
            size=(SIZE.width, SIZE.height),
            sound="beeps",
            metadata={
                "com.apple.quicktime.location.ISO6709": PLACE,
                "location": PLACE,
                "com.apple.quicktime.make": MAKER,
                "comment": "private remark",
            },
        )
        part.replace(path)
    return path


PLACE, MAKER = "+54.1234+012.5678+003.000/", "Lantern Optics"


@pytest.fixture
def project(tmp_path):
    return tmp_path / "project"


def small_film(reel, **fields):
    """Three scenes with sound, a title, music and an effect; a dissolve and a fade through black."""
    music = Candidate(id="a1", file=str(reel), in_seconds=Fraction(1), gain_db=-12)
    film = make_film(
        RATE,
        Card(id="k1", lines=("The Late Ferry",), length_frames=12),
        scene(
            clip(reel, 1, 20, sound=ClipSound()),
            clip(reel, 2, 16, Fraction(1, 2), sound=ClipSound()),
            cues=(Cue(id="m1", length_frames=50, candidates=(music,), chosen="a1"),),
            number="1",
        ),
        scene(
            clip(reel, Fraction(1, 2), 22, sound=ClipSound(lead_frames=3)),
            spots=(Spot(id="f1", file=str(reel), start_frames=4, length_frames=8),),
            number="2A",
        ),
        scene(clip(reel, 3, 18, sound=ClipSound()), number="3"),
        joins={1: dissolve(4, 5), 2: through_black(3, 4)},
        fade_in_frames=5,
        fade_out_frames=6,
        **fields,
    )
    return dataclasses.replace(film, title="The Late Ferry: 100% #1; “fog” = true")


FRAMES = 12 + 20 + 16 + 22 + 18


def left_behind(folder):
    """Return what an assembly that did not end well left, beside finished pieces."""
    found = []
    for path in folder.rglob("*"):
        parts = path.relative_to(folder).parts
        inside = parts[0] == ".desk"
        if inside and len(parts) > 2 and parts[1] == "pieces" and parts[2].startswith("."):
            found.append("/".join(parts))
        if not inside and parts[0] == "out" and len(parts) > 1:
            found.append("/".join(parts))
    return found


def whole_pieces(folder):
    """Check that each piece can be read to its end, and return how many pictures there are."""
    pictures = list((folder / ".desk" / "pieces").glob("*.mp4"))
    for path in pictures:
        with av.open(str(path)) as container:
            stream = container.streams.video[0]
            assert len(list(container.decode(stream))) == stream.frames > 0
    return len(pictures)


# -- all or nothing


@pytest.mark.parametrize("fraction", [0.0, 0.06, 0.2, 0.5, 0.8, 0.94, 0.95])
def test_cancelled_at_any_point_leaves_only_finished_pieces(project, reel, fraction):
    before = put(project, small_film(reel))
    cancel = CancelToken()

    def stop(report):
        if report.fraction >= fraction:
            cancel.set()

    with pytest.raises(Cancelled):
        run_assembly(project, find_program(), progress=stop, cancel=cancel)
    assert left_behind(project) == []
    assert open_film(project).film == before
    kept = whole_pieces(project)
    made = run_assembly(project, find_program())
    assert made.made.pieces_found == kept
    assert made.number == 1
    assert made.frames == len(decode_copy(made.files[0]).frames) == FRAMES


def test_cancelled_at_random_moments(project, reel):
    put(project, small_film(reel))
    pick = random.Random(3)
    for _ in range(6):
        shutil.rmtree(project / ".desk" / "pieces", ignore_errors=True)
        cancel = CancelToken()
        timer = threading.Timer(pick.uniform(0, 0.6), cancel.set)
        timer.start()
        with contextlib.suppress(Cancelled):
            run_assembly(project, find_program(), cancel=cancel)
            shutil.rmtree(project / "out")
        timer.join()
        assert left_behind(project) == []
        whole_pieces(project)


def ffmpegs_of_this_process():
    """Return the ffmpeg processes that this one has started, with their command lines."""
    found = {}
    for status in Path("/proc").glob("[0-9]*/stat"):
        with contextlib.suppress(OSError, ValueError):
            parent = int(status.read_text().rsplit(")", 1)[1].split()[1])
            command = (status.parent / "cmdline").read_bytes().split(b"\0")
            if parent == os.getpid() and b"ffmpeg" in command[0]:
                found[int(status.parent.name)] = command
    return found


@pytest.mark.skipif(not Path("/proc/self/stat").exists(), reason="processes are found through /proc")
def test_ffmpeg_killed_half_way_is_told_and_the_next_run_goes_on(project, tmp_path):
    """Killed from outside while a piece is half-written."""
    big = make_numbered(tmp_path / "reels.mp4", frames=250, size=(640, 360))
    film = make_film(
        Rate(25), scene(clip(big, 1, 3), clip(big, 2, 3)), scene(clip(big, 0, 240)), size=Size(640, 360)
    )
    put(project, film)
    killed = []

    def kill():
        until = time.monotonic() + 30
        while not killed and time.monotonic() < until:
            for pid, command in ffmpegs_of_this_process().items():
                target = Path(command[-1].decode().removeprefix("file:"))
                if b"240" in command and target.exists() and target.stat().st_size > 0:
                    os.kill(pid, signal.SIGKILL)
                    killed.append(pid)
            time.sleep(0.002)

    killer = threading.Thread(target=kill)
    killer.start()
    with pytest.raises(FfmpegError) as caught:
        run_assembly(project, find_program(), workers=1)
    killer.join()
    assert caught.value.code == "ffmpeg.killed"
    assert "try again" in caught.value.advice.lower()
    assert left_behind(project) == []
    kept = whole_pieces(project)
    made = run_assembly(project, find_program())
    assert made.made.pieces_found == kept
    assert made.made.pieces_made == 3 - kept
    assert made.frames == len(decode_copy(made.files[0]).frames) == 246


@contextlib.contextmanager
def small_disk(folder, size_bytes, *options):
    """Mount a disk of a size; skips the test where that is not allowed."""
    folder.mkdir(parents=True, exist_ok=True)
    setting = ",".join([f"size={size_bytes}", *options])
    mounted = shutil.which("mount") and os.geteuid() == 0
    if (
        not mounted
        or subprocess.run(("mount", "-t", "tmpfs", "-o", setting, "tmpfs", folder), check=False).returncode
    ):
        pytest.skip("mounting a small disk takes root")
    try:
        yield
    finally:
        subprocess.run(("umount", "-l", folder), check=True)


@pytest.mark.parametrize("size_bytes", [60_000, 160_000, 400_000, 1_000_000, 2_000_000])
def test_a_full_disk_is_told_at_every_stage(tmp_path, reel, size_bytes):
    """The project's own disk is full: while drawing, at a stem, at packets of sound, at a piece."""
    project = tmp_path / "project"
    with small_disk(project, size_bytes):
        before = put(project, small_film(reel))
        with pytest.raises(OutputError) as caught:
            run_assembly(project, find_program())
        assert caught.value.code == "output.full"
        assert "free some space" in caught.value.advice.lower()
        assert left_behind(project) == []
        assert open_film(project).film == before


def test_a_disk_that_fills_up_while_ffmpeg_writes_is_told(tmp_path):
    noisy = tmp_path / "noise.mp4"
    grain = "nullsrc=s=480x270:r=25:d=2,geq=lum=random(1)*255:cb=128:cr=128"
    run_ffmpeg("-f", "lavfi", "-i", grain, "-preset", "ultrafast", "-crf", "20", "-pix_fmt", "yuv420p", noisy)
    project = tmp_path / "project"
    with small_disk(project, 1_300_000):
        put(project, make_film(Rate(25), scene(clip(noisy, 0, 45)), size=Size(480, 270)))
        with pytest.raises(OutputError, match=r"noise\.mp4") as caught:
            run_assembly(project, find_program(), workers=1)
        assert caught.value.code == "output.full"
        assert left_behind(project) == []


def test_a_full_output_disk_leaves_nothing_there(project, tmp_path, reel):
    out = tmp_path / "stick"
    with small_disk(out, 40_000):
        with pytest.raises(OutputError) as caught:
            run_assembly(project, find_program(), small_film(reel), out=out)
        assert caught.value.code == "output.full"
        assert list(out.iterdir()) == []
    made = run_assembly(project, find_program())
    assert made.made.pieces_made == 0


def test_a_limit_on_file_sizes_is_met_without_a_traceback(project, reel):
    """Where files may not grow beyond 20 kB: one sentence, and nothing half-written."""
    resource = pytest.importorskip("resource", reason="this system has no limits on file sizes")
    put(project, small_film(reel))

    def limit():
        resource.setrlimit(resource.RLIMIT_FSIZE, (20_000, 20_000))

    done = subprocess.run(
        (sys.executable, "-m", "desk", "assemble", project, "--out", project / "out", "--include", "all"),
        preexec_fn=limit,
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode in (OutputError.exit_code, FfmpegError.exit_code)
    assert "Traceback" not in done.stderr
    assert left_behind(project) == []
    assert run_assembly(project, find_program()).number == 1


# -- where copies go


def test_out_in_the_footage_is_refused(project, tmp_path, reel):
    folder = tmp_path / "cards" / "A"
    folder.mkdir(parents=True)
    source = Path(shutil.copy(reel, folder))
    film = put(project, make_film(RATE, scene(clip(source, 1, 5))))
    (tmp_path / "link").symlink_to(folder)
    for out in (folder, folder / "deeper" / "still", tmp_path / "link", project / ".." / "cards" / "A"):
        with pytest.raises(OutputError) as caught:
            run_assembly(project, find_program(), out=out)
        assert caught.value.code == "output.in_footage"
    assert [path.name for path in folder.iterdir()] == [source.name]
    put(project, dataclasses.replace(film, footage="../cards"))
    with pytest.raises(OutputError):
        run_assembly(project, find_program(), out=tmp_path / "cards" / "B")
    made = run_assembly(project, find_program(), out=tmp_path / "copies" / "new")
    assert made.files[0].parent == tmp_path / "copies" / "new"


def test_a_file_that_lies_above_the_project_does_not_make_all_of_it_footage(project, reel, tmp_path):
    source = Path(shutil.copy(reel, tmp_path / "loose.mov"))
    made = run_assembly(project, find_program(), make_film(RATE, scene(clip(source, 1, 5))))
    assert made.files[0].exists()


def test_an_output_folder_that_can_not_be_written_is_told(project, tmp_path, reel):
    put(project, small_film(reel))
    (tmp_path / "file").touch()
    with pytest.raises(OutputError, match="file") as caught:
        run_assembly(project, find_program(), out=tmp_path / "file" / "out")
    assert caught.value.code == "output.unwritable"
    assert not list((project / ".desk").glob("pieces/*.mp4"))
    if os.geteuid() == 0:
        with small_disk(tmp_path / "sealed", 1000, "ro"), pytest.raises(OutputError, match="read-only"):
            run_assembly(project, find_program(), out=tmp_path / "sealed")
    else:
        (tmp_path / "sealed").mkdir(mode=0o555)
        with pytest.raises(OutputError, match="not allowed"):
            run_assembly(project, find_program(), out=tmp_path / "sealed")


def test_what_stands_in_the_way_is_told_before_anything_is_made(project, tmp_path, reel):
    source = Path(shutil.copy(reel, tmp_path / "gone.mov"))
    put(project, make_film(RATE, scene(clip(source, 1, 5)), scene(clip(reel, 1, 5))))
    source.unlink()
    with pytest.raises(AssemblyError, match="missing") as caught:
        run_assembly(project, find_program())
    assert caught.value.code == "media.missing"
    assert not (project / "out").exists()


# -- two at once


def numbers_of(out):
    return sorted(int(re.search(r"-review-(\d+)\.mp4$", path.name)[1]) for path in out.glob("*.mp4"))


def whole(made):
    """Check that the files of an assembly belong together and are all there."""
    assert all(path.exists() for path in made.files)
    told = json.loads(next(path for path in made.files if path.name.endswith("manifest.json")).read_text())
    assert told["copy"]["file"] == made.files[0].name
    assert told["copy"]["number"] == made.number
    assert told["film"]["frames"] == len(decode_copy(made.files[0]).frames)
    timeline = next(path for path in made.files if path.suffix == ".otio")
    assert made.files[0].name in timeline.read_text()


@pytest.mark.parametrize("held", [False, True])
def test_assemblies_at_once_get_numbers_of_their_own(project, reel, held):
    """Also where another window holds the film, so that neither can be entered in it."""
    put(project, small_film(reel))
    run_assembly(project, find_program())
    with contextlib.ExitStack() as stack:
        if held:
            stack.enter_context(hold(project, "a window"))
        start = threading.Barrier(4)

        def assemble_now(_):
            start.wait()
            return run_assembly(project, find_program())

        with ThreadPoolExecutor(4) as pool:
            made = list(pool.map(assemble_now, range(4)))
    assert sorted(one.number for one in made) == [2, 3, 4, 5]
    assert numbers_of(project / "out") == [1, 2, 3, 4, 5]
    for one in made:
        whole(one)
        assert bool(one.notice) or not held
    assert not list((project / "out").glob(".*"))
    entered = [copy.number for copy in open_film(project).film.review_copies]
    assert entered[0] == 1
    assert entered == sorted(set(entered))
    if held:
        assert entered == [1]


def test_two_commands_at_once(project, reel):
    """Two processes that start with nothing there make the same pieces and end with a copy each."""
    put(project, small_film(reel))
    command = [
        sys.executable,
        "-m",
        "desk",
        "assemble",
        project,
        "--out",
        project / "out",
        "--include",
        "all",
    ]
    running = [
        subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True) for _ in range(2)
    ]
    for one in running:
        _, told = one.communicate()
        assert one.returncode == 0, told
    assert numbers_of(project / "out") == [1, 2]
    for copy in (project / "out").glob("*.mp4"):
        assert len(decode_copy(copy).frames) == FRAMES
    assert left_behind(project / "out") == []


def test_what_a_killed_assembly_left_goes_after_a_day(project, reel):
    out = project / "out"
    old, young = out / ".assembling-old", out / ".assembling-young"
    for folder in (old, young):
        folder.mkdir(parents=True)
        (folder / "copy.mp4").write_bytes(b"half")
    os.utime(old, (time.time() - 2 * 86_400,) * 2)
    run_assembly(project, find_program(), small_film(reel))
    assert not old.exists()
    assert young.exists()


def test_files_that_are_there_already_are_not_written_over(project, reel):
    put(project, small_film(reel))
    out = project / "out"
    out.mkdir()
    first = run_assembly(project, find_program())
    stem = first.files[0].stem[:-3]
    (out / f"{stem}002.chapters.vtt").write_text("mine")
    (out / f"{stem}003.mp4").mkdir()
    second = run_assembly(project, find_program())
    assert second.number == 4
    assert (out / f"{stem}002.chapters.vtt").read_text() == "mine"


def test_a_copy_is_entered_in_the_film_as_it_is_by_then(project, reel):
    """An edit made while the copy is in the making is kept."""
    film = put(project, small_film(reel))

    def edit(report):
        if report.stage == "join":
            put(project, dataclasses.replace(film, title="Slack Water"))

    made = run_assembly(project, find_program(), progress=edit)
    now = open_film(project).film
    assert now.title == "Slack Water"
    assert made.film.title == film.title
    (copy,) = now.review_copies
    assert (copy.number, copy.file, copy.frames) == (1, f"out/{made.files[0].name}", FRAMES)
    assert copy == made.copy


# -- what it is made from, and what is told of it


def state_of(folder):
    return {
        path: (path.stat().st_mtime_ns, path.stat().st_size, hashlib.sha256(path.read_bytes()).hexdigest())
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }


def test_footage_stays_as_it_was_and_nothing_private_of_it_gets_out(project, tmp_path, reel):
    cards = tmp_path / "cards"
    cards.mkdir()
    source = Path(shutil.copy(reel, cards))
    before = state_of(cards)
    assert PLACE.encode() in source.read_bytes()
    put(project, small_film(source))
    cancel = CancelToken()
    with pytest.raises(Cancelled):
        run_assembly(project, find_program(), progress=lambda _: cancel.set(), cancel=cancel)
    with pytest.raises(OutputError):
        run_assembly(project, find_program(), out=cards)
    made = run_assembly(project, find_program())
    bundled = run_assembly(project, find_program(), bundle=True)
    assert state_of(cards) == before
    kept = [path for path in (project / ".desk").rglob("*") if path.is_file()]
    for path in (*made.files, *kept):
        data = path.read_bytes()
        for private in (PLACE, "+54.1234", "private remark"):
            assert private.encode() not in data, path.name
        if path.suffix == ".mp4":
            assert MAKER.encode() not in data
    with av.open(str(made.files[0])) as container:
        told = {**container.metadata, **{k: v for s in container.streams for k, v in s.metadata.items()}}
    assert not {
        key
        for key in told
        if "location" in key.lower() or "make" in key.lower() or "quicktime" in key.lower()
    }
    assert bundled.files[0].exists()


def test_a_damaged_piece_is_made_again(project, footage):
    film = put(
        project, make_film(Rate(25), scene(clip(footage["mp4 25"], 1, 8), clip(footage["ts 25"], 1, 8)))
    )
    run_assembly(project, find_program())
    piece = sorted((project / ".desk" / "pieces").glob("*.mp4"))[0]
    piece.write_bytes(piece.read_bytes()[:-100])
    again = run_assembly(project, find_program())
    assert (again.made.pieces_made, again.made.pieces_found) == (1, 1)
    assert_shows(decode_copy(again.files[0]), expected(film, with_paths(project, footage)), Rate(25))
    shutil.rmtree(project / ".desk")
    assert run_assembly(project, find_program()).made.pieces_made == 2


@pytest.mark.parametrize("container", ["mov", "ts"])
def test_footage_that_changes_while_it_is_read_gives_no_short_copy(project, tmp_path, container):
    """It was whole when it was looked at; then what is needed of it goes."""
    (tmp_path / "cards").mkdir()
    source = make_numbered(
        tmp_path / "cards" / f"reel.{container}", frames=100, size=(SIZE.width, SIZE.height)
    )
    put(project, make_film(Rate(25), scene(clip(source, 3, 20))))

    def spoil(report):
        if report.stage == "probe":
            data = source.read_bytes()
            keep = len(data) // 3
            source.write_bytes(data[:keep] + (bytes(len(data) - keep) if container == "ts" else b""))

    with pytest.raises(DeskError) as caught:
        run_assembly(project, find_program(), progress=spoil)
    assert source.name in str(caught.value)
    if container == "ts":
        assert caught.value.code == "ffmpeg.too-few-frames"
    assert left_behind(project) == []


def test_the_first_fault_ends_it_all(project, tmp_path, reel):
    """Not only after everything else was made."""
    (tmp_path / "cards").mkdir()
    source = make_numbered(tmp_path / "cards" / "reel.ts", frames=100, size=(SIZE.width, SIZE.height))
    good = [clip(reel, Fraction(at, 10), 5 + at) for at in range(12)]
    put(project, make_film(RATE, scene(*good), scene(clip(source, 2, 30))))

    def spoil(report):
        if report.stage == "probe" and source.name in report.text:
            source.write_bytes(source.read_bytes()[:20_000].ljust(source.stat().st_size, b"\0"))

    with pytest.raises(FfmpegError, match="reel"):
        run_assembly(project, find_program(), progress=spoil, workers=1)
    assert whole_pieces(project) < 6


def test_the_manifest_tells_what_is_in_the_file(project, reel):
    """Each source with its hash, each piece with its key, and of each clip where it is and what it shows."""
    put(project, small_film(reel))
    assert main(["lock", str(project), "--all", "--reason", "for the test"]) == 0
    film = open_film(project).film
    made = run_assembly(project, find_program())
    told = json.loads(
        made.files[-1].read_text()
        if made.files[-1].suffix == ".json"
        else next(path for path in made.files if path.name.endswith(".manifest.json")).read_text()
    )
    decoded = decode_copy(made.files[0])
    numbers = [reading.number for reading in read_pictures(decoded.luma)]
    assert told["film"]["frames"] == len(numbers) == FRAMES
    assert told["film"]["rate"] == str(RATE)
    assert told["film"]["start_timecode"] == format_label(film.start_frames, RATE)
    assert told["settings"]["copy_size"] == f"{SIZE.width}x{SIZE.height}"
    assert told["settings"]["ffmpeg"] == find_program().version
    (source,) = told["sources"]
    data = reel.read_bytes()
    assert (source["bytes"], source["sha256"]) == (len(data), hashlib.sha256(data).hexdigest())
    assert (project / source["path"]).resolve() == reel.resolve()
    # The map from scenes to film time: what it says of a clip's place is what is seen there.
    assert [entry["start"] for entry in told["entries"]] == [0, 12, 48, 70]
    assert [entry.get("scene") for entry in told["entries"]] == [None, "1", "2A", "3"]
    assert sum(entry["frames"] for entry in told["entries"]) == FRAMES
    seen = 0
    for entry in told["entries"]:
        assert entry["timecode"] == format_label(film.start_frames + entry["start"], RATE)
        for item in entry.get("clips", ()):
            for frame in range(item["frames"]):
                at = item["start"] + frame
                place = Fraction(item["in_seconds"]) + frame * Fraction(item["speed"]) / RATE.fraction
                if numbers[at] >= 0:  # else it is in a join or a fade
                    assert numbers[at] == int(place * RATE.fraction)
                    seen += 1
    assert seen > 50
    assert {sound["lane"] for entry in told["entries"] for sound in entry.get("sounds", ())} == {
        "dialogue", "music", "effects",
    }  # fmt: skip
    pieces = told["pieces"]
    assert sum(piece["frames"] for piece in pieces) == FRAMES
    at = 0
    for piece in pieces:
        assert piece["start"] == at
        at += piece["frames"]
        (file,) = (project / ".desk" / "pieces").glob(f"{piece['key']}.*.mp4")
        with av.open(str(file)) as container:
            assert container.streams.video[0].frames == piece["frames"]
    assert told["mix_peak_dbfs"] < 0


@pytest.mark.parametrize("flat", [False, True])
@pytest.mark.parametrize("rate", [Rate(24000, 1001), Rate(25), Rate(30000, 1001)], ids=str)
def test_the_timeline_is_as_long_as_the_file(project, footage, rate, flat):
    """Read back through OpenTimelineIO's own functions, to the frame."""
    source = footage["mp4 25"]
    film = make_film(
        rate,
        Card(id="k1", lines=("The Late Ferry",), length_frames=11),
        scene(clip(source, 1, 20), clip(source, 2, 17, Fraction(1, 2))),
        scene(clip(source, 3, 23)),
        scene(clip(source, 4, 19)),
        joins={1: dissolve(4, 5), 2: through_black(3, 4)},
    )
    made = run_assembly(project, find_program(), film, flat=flat)
    timeline = otio.adapters.read_from_file(str(next(path for path in made.files if path.suffix == ".otio")))
    duration = timeline.duration()
    frames = len(decode_copy(made.files[0]).frames)
    assert duration.value == frames == made.frames == 90
    assert Fraction(duration.rate).limit_denominator(1001) == rate.fraction
    for track in timeline.video_tracks():
        assert track.duration().rescaled_to(duration.rate).value == frames
    clips = list(timeline.find_clips())
    assert any(isinstance(effect, otio.schema.LinearTimeWarp) for item in clips for effect in item.effects)


def test_chapters_and_title_are_in_the_file(project, reel):
    """As ffmpeg reads them back, to a thousandth of a second."""
    made = run_assembly(project, find_program(), small_film(reel))
    text = run_ffmpeg("-i", made.files[0], "-f", "ffmetadata", "-").decode()
    assert "title=The Late Ferry: 100% \\#1\\; “fog” \\= true" in text
    chapters = re.findall(r"TIMEBASE=1/(\d+)\nSTART=(\d+)\nEND=(\d+)\ntitle=(.*)", text)
    wanted = [(0, 12, "Title"), (12, 48, "1"), (48, 70, "2A"), (70, FRAMES, "3")]
    assert len(chapters) == len(wanted)
    for (ticks, start, end, title), (first, last, name) in zip(chapters, wanted, strict=True):
        for tick, frame in ((start, first), (end, last)):
            assert abs(Fraction(int(tick), int(ticks)) - RATE.seconds(frame)) <= Fraction(1, 1000)
        assert title.split()[0] == name


def test_progress_only_grows(project, reel):
    told = []
    run_assembly(project, find_program(), small_film(reel), progress=told.append)
    fractions = [report.fraction for report in told]
    assert fractions == sorted(fractions)
    assert fractions[0] >= 0
    assert fractions[-1] <= 1
    assert {report.stage for report in told} >= {"probe", "pieces", "sound", "join"}
