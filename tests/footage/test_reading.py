"""What is refused, and what is said of files that are missing, damaged or no footage at all."""

import os
import socket
import subprocess
import threading
from pathlib import Path

import av
import pytest

from desk.errors import MediaError
from desk.footage.probe import probe
from desk.footage.reading import ALLOWED_FORMATS, SAFE_OPTIONS, open_media, packets_of, picture_stream
from tests.footage.conftest import Make
from tests.footage.decoded import FFMPEGS
from tests.making import run_ffmpeg
from tests.real_media import real_media


def code_of(path: Path) -> str:
    """Return the code of the error that probing a file gives."""
    with pytest.raises(MediaError) as caught:
        probe(path)
    error = caught.value
    assert error.path == path
    assert error.message.endswith(".")
    assert str(path) in error.message
    assert error.advice.endswith(".")
    return error.code


def test_missing(tmp_path: Path) -> None:
    assert code_of(tmp_path / "none.mp4") == "media.missing"
    (tmp_path / "file").write_bytes(b"x")
    assert code_of(tmp_path / "file" / "below.mp4") == "media.missing"
    (tmp_path / "link.mp4").symlink_to(tmp_path / "nowhere.mp4")
    assert code_of(tmp_path / "link.mp4") == "media.missing"


def test_an_address_is_only_the_name_of_a_file_that_is_missing() -> None:
    assert code_of(Path("http://127.0.0.1/a.mp4")) == "media.missing"
    assert code_of(Path("concat:a.mp4|b.mp4")) == "media.missing"


def test_no_bytes(tmp_path: Path) -> None:
    (tmp_path / "empty.mp4").touch()
    assert code_of(tmp_path / "empty.mp4") == "media.empty"


def test_not_a_file(tmp_path: Path) -> None:
    (tmp_path / "folder.mp4").mkdir()
    assert code_of(tmp_path / "folder.mp4") == "media.refused"
    # Opening a pipe would wait for ever.
    os.mkfifo(tmp_path / "pipe.mp4")
    assert code_of(tmp_path / "pipe.mp4") == "media.refused"
    assert code_of(Path("/dev/zero")) == "media.refused"


@pytest.mark.skipif(os.geteuid() == 0, reason="root may read everything")
def test_not_allowed(tmp_path: Path) -> None:
    (tmp_path / "a.mp4").write_bytes(b"x")
    (tmp_path / "a.mp4").chmod(0)
    assert code_of(tmp_path / "a.mp4") == "media.unreadable"


@pytest.mark.parametrize("name", ["text.mp4", "text.mov", "text.mkv", "text.ts", "text.wav", "text"])
@pytest.mark.parametrize(
    "data", [b"Dear diary, today we shot scene 4.\n" * 50, b"\0" * 4096, bytes(range(256)) * 9]
)
def test_no_media(tmp_path: Path, name: str, data: bytes) -> None:
    (tmp_path / name).write_bytes(data)
    assert code_of(tmp_path / name) in ("media.unreadable", "media.refused", "media.no-picture")


@pytest.mark.ffmpeg
@pytest.mark.parametrize("name", ["a.png", "a.jpg", "a.gif", "a.tiff", "a.webp", "png.mp4"])
def test_still_pictures(tmp_path: Path, name: str) -> None:
    path = tmp_path / name
    image = ("-f", "image2", "-c:v", "png") if name.endswith("mp4") else ()
    run_ffmpeg("-f", "lavfi", "-i", "color=red:s=64x64", "-frames:v", "1", *image, path)
    assert code_of(path) == "media.still"


@pytest.mark.ffmpeg
@pytest.mark.parametrize("share", [0.05, 0.3, 0.6, 0.95])
@pytest.mark.parametrize(
    ("name", "options"),
    [
        ("index_last.mp4", {}),
        ("index_first.mp4", {"extra": ("-movflags", "faststart")}),
        ("whole.mkv", {}),
        ("whole.mov", {"sound": "beeps"}),
        ("whole.avi", {"codec": "mpeg4", "bframes": 0}),
    ],
)
def test_cut_off(make: Make, tmp_path: Path, name: str, options: dict[str, object], share: float) -> None:
    data = make(name, frames=40, **options).read_bytes()
    part = tmp_path / name
    part.write_bytes(data[: int(len(data) * share)])
    assert code_of(part) == "media.truncated"


@pytest.mark.ffmpeg
def test_cut_off_sound(tmp_path: Path) -> None:
    run_ffmpeg("-f", "lavfi", "-i", "sine=440:d=2", tmp_path / "whole.wav")
    (tmp_path / "part.wav").write_bytes((tmp_path / "whole.wav").read_bytes()[:-1000])
    assert probe(tmp_path / "whole.wav").sound is not None
    assert code_of(tmp_path / "part.wav") == "media.truncated"


@pytest.mark.ffmpeg
def test_never_finished(make: Make, tmp_path: Path) -> None:
    data = make("index_last.mp4", frames=40).read_bytes()
    path = tmp_path / "a.mp4"
    path.write_bytes(data[: data.index(b"moov") - 4])
    assert code_of(path) == "media.truncated"


@pytest.mark.ffmpeg
def test_a_recording_that_was_streamed_has_no_stated_length(tmp_path: Path) -> None:
    """A Matroska file whose writer could not go back is whole, as far as it says."""
    path = tmp_path / "live.mkv"
    path.write_bytes(
        run_ffmpeg(
            "-f",
            "lavfi",
            "-i",
            "testsrc=s=64x64:d=1",
            "-c:v",
            "mjpeg",
            "-f",
            "matroska",
            "-live",
            "1",
            "pipe:1",
        )
    )
    facts = probe(path)
    assert facts.picture is not None
    assert facts.picture.frames == 25
    data = path.read_bytes()
    path.write_bytes(data[: len(data) // 2])
    half = probe(path)
    assert half.picture is not None
    assert 0 < half.picture.frames < 25


@pytest.mark.ffmpeg
def test_no_frame_at_all(tmp_path: Path) -> None:
    path = tmp_path / "none.mp4"
    run_ffmpeg("-f", "lavfi", "-i", "color=red:s=64x64:d=1", "-frames:v", "0", path)
    assert code_of(path) == "media.no-picture"


@pytest.mark.ffmpeg
def test_a_picture_that_can_not_be_decoded(make: Make, tmp_path: Path) -> None:
    data = bytearray(make("whole.mkv", frames=40).read_bytes())
    # Another coding than the one that is in it.
    at = data.index(b"V_MPEG4/ISO/AVC")
    data[at : at + 15] = b"V_QUICKTIME\0\0\0\0"
    (tmp_path / "a.mkv").write_bytes(data)
    assert code_of(tmp_path / "a.mkv") == "media.no-decoder"


# What a stranger's file may try


def lists_of(target: str) -> dict[str, bytes]:
    """Return files that make a reader open another file or address."""
    return {
        "hls": f"#EXTM3U\n#EXT-X-TARGETDURATION:9\n#EXTINF:9,\n{target}\n#EXT-X-ENDLIST\n".encode(),
        "concat": f"ffconcat version 1.0\nfile '{target}'\n".encode(),
        "dash": (
            '<?xml version="1.0"?><MPD xmlns="urn:mpeg:dash:schema:mpd:2011" type="static" '
            'mediaPresentationDuration="PT1S"><Period><AdaptationSet mimeType="video/mp2t"><Representation '
            f'id="1" bandwidth="1"><BaseURL>{target}</BaseURL></Representation></AdaptationSet></Period>'
            "</MPD>"
        ).encode(),
        "sdp": (
            b"v=0\r\no=- 0 0 IN IP4 127.0.0.1\r\ns=x\r\nc=IN IP4 127.0.0.1\r\nt=0 0\r\n"
            b"m=video 5004 RTP/AVP 96\r\n"
        ),
    }


@pytest.mark.ffmpeg
@pytest.mark.parametrize("suffix", [".avi", ".mp4", ".mkv", ".ts"])
@pytest.mark.parametrize("kind", ["hls", "concat", "dash", "sdp"])
def test_a_list_of_other_files_is_refused(make: Make, tmp_path: Path, kind: str, suffix: str) -> None:
    footage = make("whole.ts", frames=40)
    path = tmp_path / f"list{suffix}"
    path.write_bytes(lists_of(footage.as_posix())[kind])
    assert code_of(path) == "media.refused"
    for ffmpeg in FFMPEGS:
        assert refused_by(ffmpeg, path)


@pytest.mark.ffmpeg
def test_without_the_options_a_list_would_be_followed(make: Make, tmp_path: Path) -> None:
    """Shows that the tests above test something."""
    path = tmp_path / "list.m3u8"
    path.write_bytes(lists_of(make("whole.ts", frames=40).as_posix())["hls"])
    with av.open(str(path)) as container:
        assert container.format.name == "hls"
        assert container.streams.video
    assert code_of(path) == "media.refused"


def refused_by(ffmpeg: str, path: Path) -> bool:
    """Return whether an ffmpeg that is given the options won't open a file."""
    options = [part for name, value in SAFE_OPTIONS.items() for part in (f"-{name}", value)]
    command = [ffmpeg, "-v", "error", "-nostdin", *options, "-i", f"file:{path}", "-f", "null", "-"]
    return subprocess.run(command, capture_output=True, check=False).returncode != 0


@pytest.mark.ffmpeg
@pytest.mark.parametrize("kind", ["hls", "concat", "dash"])
def test_no_address_is_called(tmp_path: Path, kind: str) -> None:
    with socket.create_server(("127.0.0.1", 0)) as server:
        server.settimeout(30)
        called = threading.Event()

        def listen() -> None:
            connection, _ = server.accept()
            with connection:
                if connection.recv(16) != b"done":
                    called.set()

        listener = threading.Thread(target=listen)
        listener.start()
        address = f"http://127.0.0.1:{server.getsockname()[1]}/a.ts"
        path = tmp_path / "a.mp4"
        path.write_bytes(lists_of(address)[kind])
        assert code_of(path) == "media.refused"
        assert all(refused_by(ffmpeg, path) for ffmpeg in FFMPEGS)
        # Whoever calls first is heard: it must be this test.
        with socket.create_connection(server.getsockname()) as connection:
            connection.sendall(b"done")
        listener.join()
    assert not called.is_set()


@pytest.mark.media
def test_a_hostile_file_is_refused() -> None:
    """It tries to have /etc/passwd drawn as a picture."""
    assert code_of(real_media("etc_passwd_xbin.avi")) in (
        "media.no-picture",
        "media.refused",
        "media.unreadable",
    )


@pytest.mark.ffmpeg
@pytest.mark.parametrize("ffmpeg", FFMPEGS)
def test_the_formats_are_those_of_every_ffmpeg(ffmpeg: str) -> None:
    listed = subprocess.run(
        [ffmpeg, "-v", "error", "-demuxers"], capture_output=True, text=True, check=True
    ).stdout
    names = {
        name for line in listed.splitlines() if line.startswith(" D") for name in line.split()[1].split(",")
    }
    assert set(ALLOWED_FORMATS) <= names
    known_here = {name for formats in av.formats_available for name in formats.split(",")}
    assert set(ALLOWED_FORMATS) <= known_here


def test_no_format_that_points_elsewhere_is_allowed() -> None:
    pointing = {
        "hls",
        "dash",
        "concat",
        "sdp",
        "rtsp",
        "image2",
        "lavfi",
        "tty",
        "xbin",
        "webm_dash_manifest",
        "imf",
    }
    assert not pointing & set(ALLOWED_FORMATS)
    assert SAFE_OPTIONS["protocol_whitelist"] == "file"


@pytest.mark.ffmpeg
@pytest.mark.parametrize("ffmpeg", FFMPEGS)
@pytest.mark.parametrize("name", ["whole.mkv", "index_last.mp4", "whole.ts"])
def test_footage_passes_the_options(make: Make, ffmpeg: str, name: str) -> None:
    assert not refused_by(ffmpeg, make(name, frames=40))


@pytest.mark.ffmpeg
def test_packets_with_data_only(make: Make) -> None:
    with open_media(make("whole.mkv", frames=40)) as container:
        stream = picture_stream(container)
        assert stream is not None
        assert sum(packet.size > 0 for packet in packets_of(container, stream)) == 40


def faults_of_ffmpeg() -> list[type[av.FFmpegError]]:
    kinds = (getattr(av.error, name) for name in dir(av.error))
    return [kind for kind in kinds if isinstance(kind, type) and issubclass(kind, av.FFmpegError)]


@pytest.mark.ffmpeg
@pytest.mark.parametrize("kind", faults_of_ffmpeg())
def test_every_fault_of_ffmpeg_becomes_a_sentence(make: Make, kind: type[av.FFmpegError]) -> None:
    path = make("whole.mkv", frames=40)
    with pytest.raises(MediaError) as caught, open_media(path):
        raise kind(1, "fault", str(path))
    assert str(path) in caught.value.message
    assert caught.value.code.startswith("media.")
    assert "fault" in caught.value.detail
