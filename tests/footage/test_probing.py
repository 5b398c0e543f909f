"""Many files at once, and what is remembered of them."""

import os
import threading
from collections.abc import Callable
from pathlib import Path

import pytest

from desk.errors import OutputError
from desk.film.media import MediaFacts
from desk.footage import probing
from desk.footage.probe import probe
from desk.footage.probing import ProbeCache, probe_all
from desk.jobs import Cancelled, CancelToken, Progress
from tests.footage.conftest import Make
from tests.footage.facts import clip, sound_alone

pytestmark = pytest.mark.ffmpeg


@pytest.fixture
def card(make: Make, tmp_path: Path) -> list[Path]:
    """Twelve good files."""
    data = make("card.mp4", frames=5).read_bytes()
    folder = tmp_path / "card"
    folder.mkdir()
    files = [folder / f"C{number}.mp4" for number in range(1, 13)]
    for path in files:
        path.write_bytes(data)
    return files


def count_probes(monkeypatch: pytest.MonkeyPatch) -> list[Path]:
    """Return a list that grows by each file that is really probed."""
    probed: list[Path] = []

    def watched(path: Path, *, check: Callable[[], None] | None = None) -> MediaFacts:
        probed.append(path)
        return probe(path, check=check)

    monkeypatch.setattr(probing, "probe", watched)
    return probed


def test_bad_files_do_not_stop_the_others(card: list[Path]) -> None:
    card[9].write_bytes(b"")
    card[1].write_bytes(card[0].read_bytes()[:-500])
    gone = card[0].with_name("C0.mp4")
    probed = probe_all([*card, gone, card[3]])
    assert list(probed.facts) == [card[0], *card[2:9], *card[10:]]
    assert [problem.path for problem in probed.problems] == [gone, card[1], card[9]]
    assert [problem.code for problem in probed.problems] == [
        "media.missing",
        "media.truncated",
        "media.empty",
    ]
    assert probed.facts[card[0]] == probe(card[0])


def test_nothing_to_probe() -> None:
    assert probe_all([]) == probing.Probed({}, ())


def test_progress(card: list[Path]) -> None:
    told: list[Progress] = []
    probe_all(card, progress=told.append)
    assert [report.stage for report in told] == ["probe"] * 12
    assert [round(report.fraction * 12) for report in told] == list(range(1, 13))
    assert {report.text.split()[-1] for report in told} == {path.name for path in card}


def test_cancel_then_again(card: list[Path]) -> None:
    token = CancelToken()

    def stop_at_third(report: Progress) -> None:
        if report.fraction >= 0.25:
            token.set()

    with pytest.raises(Cancelled):
        probe_all(card, progress=stop_at_third, cancel=token)
    assert not [thread for thread in threading.enumerate() if "ThreadPool" in thread.name]
    assert len(probe_all(card, cancel=CancelToken()).facts) == 12


def test_what_was_read_before_cancelling_is_kept(card: list[Path], tmp_path: Path) -> None:
    cache, token = ProbeCache(tmp_path / "probes.json"), CancelToken()
    with pytest.raises(Cancelled):
        probe_all(card, cache=cache, progress=lambda _: token.set(), cancel=token)
    assert any(cache.get(path) for path in card)


def test_what_is_known_is_not_read_again(
    card: list[Path], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    store = tmp_path / "desk" / "probes.json"
    cache = ProbeCache(store)
    first = probe_all(card, cache=cache)
    cache.save()
    read = count_probes(monkeypatch)
    assert probe_all(card, cache=ProbeCache(store)) == first
    assert read == []
    card[0].write_bytes(card[0].read_bytes() + bytes(8))
    os.utime(card[1], ns=(0, card[1].stat().st_mtime_ns + 1))
    probe_all(card, cache=ProbeCache(store))
    assert sorted(read) == sorted(card[:2])


def test_faults_are_not_remembered(card: list[Path], tmp_path: Path) -> None:
    cache = ProbeCache(tmp_path / "probes.json")
    good = card[0].read_bytes()
    card[0].write_bytes(b"x" * len(good))
    times = card[0].stat().st_mtime_ns
    assert len(probe_all(card, cache=cache).problems) == 1
    card[0].write_bytes(good)
    os.utime(card[0], ns=(times, times))
    assert probe_all(card, cache=cache).problems == ()


def test_all_facts_come_back(tmp_path: Path) -> None:
    path = tmp_path / "a.mov"
    path.write_bytes(b"x")
    for facts in (clip(timecode="01:00:00;02", camera="F-2", rotation_degrees=90), sound_alone()):
        cache = ProbeCache(tmp_path / "probes.json")
        cache.put(path, facts)
        cache.save()
        assert ProbeCache(tmp_path / "probes.json").get(path) == facts


@pytest.mark.parametrize(
    "damage",
    [
        lambda data: data[: len(data) // 2],
        lambda data: b"",
        lambda data: b"\0" * len(data),
        lambda data: b"[]",
        lambda data: data.replace(b'"1/25"', b'"1/0"'),
        lambda data: data.replace(b'"1/25"', b'"x"'),
        lambda data: data.replace(b'"1/25"', b'"1e999999999"'),
        lambda data: data.replace(b'"1/25"', b"25"),
        lambda data: data.replace(b'"numerator":25', b'"numerator":0'),
        lambda data: data.replace(b'"version":1', b'"version":999'),
        lambda data: b"[" * 100_000,
    ],
)
def test_a_damaged_cache_is_empty(tmp_path: Path, damage: Callable[[bytes], bytes]) -> None:
    path, store = tmp_path / "a.mov", tmp_path / "probes.json"
    path.write_bytes(b"x")
    cache = ProbeCache(store)
    cache.put(path, clip())
    cache.save()
    data = store.read_bytes()
    assert damage(data) != data
    store.write_bytes(damage(data))
    cache = ProbeCache(store)
    assert cache.get(path) is None
    cache.put(path, clip())
    cache.save()
    assert ProbeCache(store).get(path) == clip()


def test_files_that_are_gone_are_forgotten(tmp_path: Path) -> None:
    kept, gone, store = tmp_path / "kept.mov", tmp_path / "gone.mov", tmp_path / "probes.json"
    cache = ProbeCache(store)
    for path in (kept, gone):
        path.write_bytes(b"x")
        cache.put(path, clip())
    gone.unlink()
    assert cache.get(gone) is None
    cache.save()
    assert b"kept.mov" in store.read_bytes()
    assert b"gone.mov" not in store.read_bytes()


def test_a_cache_that_can_not_be_written_stays_as_it_was(tmp_path: Path) -> None:
    path, store = tmp_path / "a.mov", tmp_path / "desk" / "probes.json"
    path.write_bytes(b"x")
    cache = ProbeCache(store)
    cache.put(path, clip())
    (tmp_path / "desk").write_bytes(b"a file where the folder should be")
    with pytest.raises(OutputError):
        cache.save()
    (tmp_path / "desk").unlink()
    cache.save()
    assert ProbeCache(store).get(path) == clip()


def test_nothing_new_is_not_written(tmp_path: Path) -> None:
    ProbeCache(tmp_path / "probes.json").save()
    assert list(tmp_path.iterdir()) == []
