"""Finding the offset of a recording: known delays are found and laid, what does not fit is refused.

The offset is the place in the recording that belongs to second 0 of the footage, as `ClipSound` has it.
"""

import dataclasses
from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QFileDialog

from desk.film import edits
from desk.film.model import Clip, ClipSound, Film, SceneContent, SoundKind
from desk.film.rates import SAMPLE_RATE_HZ
from desk.footage.probe import probe
from desk.jobs import Cancelled, CancelToken, no_progress
from desk.sound.offset import LEAST_TRUST
from desk.sound.reading import read_sound
from desk.ui.cutting.offset.finder import OffsetFinder
from desk.ui.cutting.offset.search import PLACE_SECONDS, Place, Wanted, search, trust_words
from tests.film.films import small_film
from tests.real_media import real_media
from tests.sound.signals import Sound, low_noise, write_sound
from tests.ui.clip_sheets import clip_of, open_clip_sheet
from tests.ui.scene_parts import with_media
from tests.ui.scene_sheets import is_done_undone_and_redone

DELAYS = {"c1": 98_765, "c2": 12_345}
"""By how many samples the recording of each clip is later than its footage."""


def spoken(seconds: float, seed: int) -> Sound:
    """Noise that comes and goes as syllables do, four times a second."""
    sound = low_noise(seconds, seed=seed)
    at = np.arange(len(sound)) / SAMPLE_RATE_HZ
    random = np.random.default_rng(seed)
    loudness = np.interp(at, np.arange(0, seconds + 1, 0.25), random.uniform(0, 1, int(4 * seconds) + 4))
    return (sound * loudness[:, None]).astype(np.float32)


def delayed(sound: Sound, samples: int, seconds: float) -> Sound:
    """A recording of a sound that begins earlier, with a noise of its own."""
    made = np.random.default_rng(9).normal(0, 0.01, (round(seconds * SAMPLE_RATE_HZ), 2)).astype(np.float32)
    made[samples : samples + len(sound)] += sound[: len(made) - samples]
    return made


def recorded_film(folder: Path) -> Film:
    """A scene of two clips with a separate recording each, whose offsets are not set yet, and one without."""
    (folder / "footage").mkdir(parents=True)
    clips = []
    for number, (clip_id, delay) in enumerate(DELAYS.items(), 1):
        sound = spoken(8, seed=number)
        write_sound(folder / f"footage/{number}.wav", sound)
        write_sound(folder / f"footage/boom {number}.wav", delayed(sound, delay, 14))
        recording = ClipSound(kind=SoundKind.SEPARATE, file=f"footage/boom {number}.wav")
        clips.append(
            Clip(
                id=clip_id,
                source=f"footage/{number}.wav",
                in_seconds=Fraction(1),
                length_frames=144,
                sound=recording,
            )
        )
    clips.append(Clip(id="c9", source="footage/1.wav", in_seconds=Fraction(1), length_frames=144))
    return edits.set_content(small_film(), "s1", SceneContent(clips=tuple(clips)), "For the test").after


@pytest.fixture
def bench(make_bench, tmp_path):
    folder = tmp_path / "shoot"
    film = recorded_film(folder)
    known = {f"footage/{path.name}": probe(path) for path in (folder / "footage").iterdir()}
    return with_media(make_bench(film, folder), known)


@pytest.fixture
def find(bench, qtbot):
    """Opens the finder for clips; the sheet that it belongs to stays as long as the test."""
    sheet = open_clip_sheet(qtbot, bench, "s1")

    def open_finder(*clip_ids: str) -> OffsetFinder:
        sheet.find_offsets(clip_ids)
        assert sheet.finder is not None
        return sheet.finder

    yield open_finder
    if sheet.finder is not None:
        sheet.finder.close()
    qtbot.waitUntil(lambda: not bench.jobs.jobs)


def done(qtbot, bench) -> None:
    qtbot.waitUntil(lambda: not bench.jobs.jobs, timeout=30_000)


def offset(bench, clip_id: str) -> Fraction:
    return clip_of(bench.session.film, clip_id).sound.offset_seconds


def test_one_is_found_shown_and_laid(find, bench, qtbot):
    finder = find("c1")
    done(qtbot, bench)
    assert finder.found.text().startswith("“boom 1.wav” belongs at 2.0576 s")
    assert finder.trust.text().startswith("Trust: beyond doubt.")
    assert finder.places.isVisible()
    assert finder.places.accessibleName() == "Sound of the footage and of the recording at 3 places"
    is_done_undone_and_redone(bench, finder.take)
    assert offset(bench, "c1") == Fraction(DELAYS["c1"], SAMPLE_RATE_HZ)
    assert bench.session.stack.undoText() == "Lay “boom 1.wav” under clip 1 in scene 1"
    assert not finder.isVisible()


def test_return_takes_what_was_found(find, bench, qtbot):
    finder = find("c1")
    qtbot.waitUntil(finder.isActiveWindow)
    done(qtbot, bench)
    assert finder.take_button.hasFocus()
    qtbot.keyClick(finder.focusWidget(), Qt.Key.Key_Return)
    assert not finder.isVisible()
    assert offset(bench, "c1") == Fraction(DELAYS["c1"], SAMPLE_RATE_HZ)


def test_all_of_a_scene_at_once(find, bench, qtbot):
    finder = find("c1", "c2")
    done(qtbot, bench)
    rows = [finder.rows.item(at) for at in range(finder.rows.count())]
    assert [row.text() for row in rows] == [
        "Clip 1, boom 1.wav: 2.0576 s, beyond doubt",
        "Clip 2, boom 2.wav: 0.2572 s, beyond doubt",
    ]
    assert finder.take_button.text() == "Take 2"
    is_done_undone_and_redone(bench, finder.take)
    for clip_id, delay in DELAYS.items():
        assert offset(bench, clip_id) == Fraction(delay, SAMPLE_RATE_HZ)
    assert bench.session.stack.undoText() == "Lay separate recordings under 2 clips in scene 1"


def test_what_is_not_ticked_stays_as_it_is(find, bench, qtbot):
    finder = find("c1", "c2")
    done(qtbot, bench)
    finder.rows.item(0).setCheckState(Qt.CheckState.Unchecked)
    assert finder.take_button.text() == "Take 1"
    finder.take()
    assert (offset(bench, "c1"), offset(bench, "c2")) == (0, Fraction(DELAYS["c2"], SAMPLE_RATE_HZ))


def test_not_now_changes_nothing(find, bench, qtbot):
    film = bench.session.film
    finder = find("c1")
    done(qtbot, bench)
    finder.not_now.click()
    assert bench.session.film is film


def test_what_does_not_fit_is_refused_with_what_to_do(find, bench, qtbot):
    bench.session.do(lambda film: edits.edit_clip_sound(film, "s1", ["c1"], file="footage/boom 2.wav"))
    finder = find("c1")
    done(qtbot, bench)
    assert finder.found.text().startswith("No place was found where “boom 2.wav” fits “1.wav”")
    assert finder.found.property("kind") == "fault"
    assert "clap" in finder.trust.text()
    assert not finder.places.isVisible()
    assert not finder.take_button.isEnabled()


def test_another_recording_is_chosen_in_the_dialog(find, bench, qtbot):
    finder = find("c9")
    assert finder.about.text() == (
        "Clip 3 has its own sound. Choose the separate recording that belongs to it."
    )
    assert not finder.take_button.isEnabled()
    finder.choose_button.click()
    (dialog,) = finder.findChildren(QFileDialog)
    dialog.fileSelected.emit(str(bench.session.folder / "footage" / "boom 1.wav"))
    dialog.close()
    done(qtbot, bench)
    is_done_undone_and_redone(bench, finder.take)
    sound = clip_of(bench.session.film, "c9").sound
    assert (sound.kind, sound.file) == (SoundKind.SEPARATE, "footage/boom 1.wav")
    assert sound.offset_seconds == Fraction(DELAYS["c1"], SAMPLE_RATE_HZ)


def test_it_is_stopped_and_goes_on(find, bench, qtbot):
    finder = find("c1", "c2")
    finder.stop_button.click()
    done(qtbot, bench)
    assert not finder.take_button.isEnabled()
    assert finder.again.isVisible()
    finder.again.click()
    done(qtbot, bench)
    assert finder.take_button.text() == "Take 2"
    assert not finder.again.isVisible()


def test_closing_it_stops_the_work(find, bench, qtbot):
    finder = find("c1", "c2")
    (job,) = bench.jobs.jobs
    finder.reject()
    assert job.cancel_token.is_set
    done(qtbot, bench)


def test_a_clip_whose_footage_was_replaced_meanwhile_is_left_out(find, bench, qtbot):
    finder = find("c1")
    done(qtbot, bench)
    film = edits.replace_source(bench.session.film, "s1", "c1", "footage/2.wav").after
    bench.session.do(lambda now: edits.replace_source(now, "s1", "c1", "footage/2.wav"))
    finder.take()
    assert bench.session.film == film


def test_a_film_that_became_read_only_meanwhile_refuses_in_the_dialog(find, bench, qtbot):
    finder = find("c1")
    done(qtbot, bench)
    bench.session.read_only = "It is open in another window."
    finder.take()
    assert finder.fault.text() == "It is open in another window."
    assert finder.isVisible()


def test_a_recording_that_is_missing(find, bench, qtbot):
    bench.session.do(lambda film: edits.edit_clip_sound(film, "s1", ["c1"], file="footage/gone.wav"))
    finder = find("c1")
    done(qtbot, bench)
    assert "gone.wav" in finder.found.text()
    assert not finder.take_button.isEnabled()


def wanted_of(bench, clip_id: str = "c1") -> Wanted:
    scene = bench.session.film.scene("s1")
    clip = next(clip for clip in scene.content.clips if clip.id == clip_id)
    return Wanted.of(bench.session.film, scene, clip, bench.session.folder, bench.media.facts)


def alike(place: Place) -> float:
    """How far the outlines of both sounds agree: 1 for the same."""
    heights = [(high.astype(float) - low) for low, high in (place.own, place.other)]
    return float(np.corrcoef(*heights)[0, 1])


def test_the_places_shown_are_inside_the_clip_and_fit_there(bench):
    wanted = wanted_of(bench)
    outcome = search(wanted, no_progress, CancelToken())
    assert outcome.found is not None
    assert outcome.found.trust > LEAST_TRUST
    assert len(outcome.places) == 3
    for place in outcome.places:
        assert wanted.in_seconds <= place.seconds
        assert place.seconds + PLACE_SECONDS <= wanted.in_seconds + wanted.seconds + Fraction(1, 100)
        assert alike(place) > 0.9


def test_files_of_which_nothing_is_known_yet_are_looked_at_first(bench):
    wanted = dataclasses.replace(wanted_of(bench), facts=(None, None))
    outcome = search(wanted, no_progress, CancelToken())
    assert outcome.found is not None
    assert outcome.found.offset_seconds == Fraction(DELAYS["c1"], SAMPLE_RATE_HZ)


def test_a_search_stops_on_request(bench):
    token = CancelToken()
    token.set()
    with pytest.raises(Cancelled):
        search(wanted_of(bench), no_progress, token)


def test_trust_in_words():
    assert [trust_words(trust) for trust in (LEAST_TRUST, 5, 26)] == [
        "just enough: look and listen whether it fits",
        "good",
        "beyond doubt",
    ]


@pytest.mark.media
def test_a_real_voice_is_found_and_laid(find, bench, qtbot):
    """Speech of 8.7 s, in a recording that begins 61,237 samples earlier and has a noise of its own."""
    path = real_media("obama_speech.mp4")
    known = probe(path)
    assert known.sound is not None
    samples = int(known.sound.seconds * SAMPLE_RATE_HZ)
    voice = np.concatenate(list(read_sound(path, known, in_seconds=Fraction(0), samples=samples)))
    folder = bench.session.folder / "footage"
    (folder / "voice.mp4").symlink_to(path)
    write_sound(folder / "recorder.wav", delayed(voice, 61_237, 15))
    sound = ClipSound(kind=SoundKind.SEPARATE, file="footage/recorder.wav")
    clip = Clip(id="c1", source="footage/voice.mp4", length_frames=24 * 8, sound=sound)
    content = SceneContent(clips=(clip,))
    bench.session.do(lambda film: edits.set_content(film, "s1", content, "For the test"))
    finder = find("c1")
    done(qtbot, bench)
    assert finder.take_button.isEnabled(), finder.found.text()
    finder.take()
    assert offset(bench, "c1") == Fraction(61_237, SAMPLE_RATE_HZ)
