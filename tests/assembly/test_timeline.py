"""The timeline, written to a file and read back through OpenTimelineIO's own functions.

Rules checked: OpenTimelineIO 0.18.1, read and run; rows marked "OTIO measured" were measured on that release.
Places are worked out from the film: a clip stands where its scene stands plus the clips before it.
"""

import dataclasses
import itertools
import json
from fractions import Fraction
from pathlib import Path

import opentimelineio as otio
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from opentimelineio.opentime import RationalTime, TimeRange

from desk.assembly.timeline import build_timeline
from desk.assembly.timeline_file import write_timeline
from desk.errors import AssemblyError
from desk.film.lanes import spans
from desk.film.media import MediaFacts, PictureFacts, SoundFacts
from desk.film.model import (
    CUT,
    Aside,
    CameraLook,
    Candidate,
    Card,
    Clip,
    ClipSound,
    Cue,
    Film,
    Framing,
    Grade,
    Join,
    JoinKind,
    Lock,
    Placement,
    Proof,
    Rights,
    Scene,
    SceneContent,
    Size,
    SoundKind,
    Spot,
)
from desk.film.rates import Rate
from desk.film.timing import Include, Layout, fitting_join, join_room, lay_out

FILM_RATES = (Rate(24000, 1001), Rate(25), Rate(30000, 1001))
KEY = "assembly-desk"
PAL = Rate(25)
DISSOLVE = Join(kind=JoinKind.DISSOLVE, before_frames=6, after_frames=6)


def footage(rate: Rate, frames: int, *, variable: bool = False) -> MediaFacts:
    picture = PictureFacts(
        width=640,
        height=360,
        rate=rate,
        variable=variable,
        frames=frames,
        seconds=rate.seconds(frames),
        time_base=Fraction(1, 90000),
    )
    sound = SoundFacts(sample_rate_hz=48000, channels=2, seconds=rate.seconds(frames))
    return MediaFacts(size_bytes=1000, sample_hash="ab", picture=picture, sound=sound, timecode="10:00:00:00")


def recording(seconds: int, *, sample_rate_hz: int = 48000) -> MediaFacts:
    sound = SoundFacts(sample_rate_hz=sample_rate_hz, channels=1, seconds=Fraction(seconds))
    return MediaFacts(size_bytes=1000, sample_hash="cd", sound=sound)


def clip(clip_id: str, length: int, *, in_frames: int = 0, rate: Rate = PAL, **fields) -> Clip:
    return Clip(
        id=clip_id,
        source=fields.pop("source", f"footage/{clip_id}.mov"),
        in_seconds=rate.seconds(in_frames),
        length_frames=length,
        **fields,
    )


def film_of(*entries: Scene | Card | tuple[Scene | Card, Join], rate: Rate = PAL, **fields) -> Film:
    pairs = [entry if isinstance(entry, tuple) else (entry, CUT) for entry in entries]
    aside = fields.pop("apart", ())
    found = [entry for entry, _ in pairs] + list(aside)
    return Film(
        title="The last ferry",
        rate=rate,
        size=Size(1280, 720),
        start_frames=fields.pop("start_frames", 3600 * rate.nominal),
        scenes=tuple(entry for entry in found if isinstance(entry, Scene)),
        cards=tuple(entry for entry in found if isinstance(entry, Card)),
        order=tuple(Placement(entry=entry.id, join=join) for entry, join in pairs),
        **fields,
    )


def scene_of(scene_id: str, *clips: Clip, content: dict | None = None, **fields) -> Scene:
    return Scene(
        id=scene_id,
        number=fields.pop("number", scene_id),
        content=SceneContent(clips=clips, **(content or {})),
        **fields,
    )


def all_facts(film: Film, rate: Rate = PAL, frames: int = 1000) -> dict[str, MediaFacts]:
    clips = [clip for scene in film.scenes for clip in scene.content.clips]
    facts = {clip.source: footage(rate, frames) for clip in clips}
    facts.update((clip.sound.file, recording(60)) for clip in clips if clip.sound.file)
    for scene in film.scenes:
        facts.update((spot.file, recording(60)) for spot in scene.content.spots)
        facts.update((tried.file, recording(60)) for cue in scene.content.cues for tried in cue.candidates)
    return facts


def read_back(
    folder: Path,
    film: Film,
    layout: Layout | None = None,
    facts: dict[str, MediaFacts] | None = None,
    *,
    flat: bool = False,
) -> otio.schema.Timeline:
    """Write the timeline and read it with the library's reader."""
    made = build_timeline(
        film,
        layout or lay_out(film, Include.ALL),
        all_facts(film) if facts is None else facts,
        review_file="the-last-ferry-review-001.mp4",
        flat=flat,
        locate=lambda path: f"../{path}",
    )
    target = folder / "film.otio"
    write_timeline(made, target)
    return otio.adapters.read_from_file(str(target))


def frames(time: RationalTime, rate: Rate) -> int:
    """Return a time as whole frames at the film's rate; anything else is a fault."""
    assert time.rate == rate.numerator / rate.denominator
    assert time.value == int(time.value)
    return int(time.value)


def pair(extent: TimeRange, rate: Rate = PAL) -> tuple[int, int]:
    return frames(extent.start_time, rate), frames(extent.duration, rate)


def place(item: otio.core.Item, timeline: otio.schema.Timeline, rate: Rate = PAL) -> tuple[int, int]:
    """Return where an item is in the film, by the library's own reckoning through all nests."""
    return pair(item.transformed_time_range(item.trimmed_range(), timeline.tracks), rate)


def notes(item: otio.core.SerializableObjectWithMetadata) -> dict:
    return item.metadata[KEY]


def covers(outer: TimeRange, inner: TimeRange) -> bool:
    """Return whether a range lies in another; the library's `contains` wants it truly smaller."""
    ends = inner.end_time_exclusive().to_seconds() - outer.end_time_exclusive().to_seconds()
    return inner.start_time.to_seconds() >= outer.start_time.to_seconds() - 1e-9 and ends < 1e-9


def overlap(one: TimeRange, other: TimeRange) -> TimeRange:
    """Return what two ranges share; the library's `clamped` keeps too much at the end."""
    start = max(one.start_time, other.start_time)
    end = min(one.end_time_exclusive(), other.end_time_exclusive())
    return TimeRange(start, end - start)


def track(parent: otio.schema.Stack, name: str) -> otio.schema.Track:
    (found,) = (child for child in parent if child.name == name)
    return found


def sounds_of(parent: otio.schema.Track) -> list[otio.schema.Clip]:
    return [item for item in parent if isinstance(item, otio.schema.Clip)]


# A film with one of everything.


def whole_film(rate: Rate) -> Film:
    first = clip("c1", 50, in_frames=40, rate=rate, sound=ClipSound(lag_frames=10, gain_db=-3.0))
    second = clip(
        "c2",
        30,
        in_frames=20,
        rate=rate,
        speed=Fraction(1, 2),
        framing=Framing(scale=1.5),
        camera="k1",
        note="the hand is late",
    )
    third = clip("c3", 40, in_frames=12, rate=rate, sound=ClipSound(lead_frames=8))
    cue = Cue(
        id="m1",
        label="m1",
        start_frames=30,
        length_frames=70,
        candidates=(
            Candidate(id="x1", file="music/tide.flac", rights=Rights(title="Tide", licence="CC BY 4.0")),
            Candidate(id="x2", file="music/fog.flac", rights=Rights(title="Fog", author="A. Bee")),
        ),
        chosen="x1",
    )
    horn = Spot(id="h1", file="effects/horn.wav", label="horn", start_frames=10, length_frames=20)
    grade = Grade(slope=(1.1, 1.0, 0.9), offset=(0.01, 0.0, -0.01), power=(1.0, 1.1, 1.2), saturation=0.8)
    kiosk = scene_of(
        "s1",
        first,
        second,
        number="1",
        slugline="INT. KIOSK - DAY",
        purpose="She sees the ticket.",
        tension=2,
        content={"cues": (cue,), "spots": (horn,), "grade": grade, "grade_note": "cold and low"},
        proofs=(Proof(date="2026-11-24", by="R.", remark="horn too loud"), Proof(date="2026-11-25")),
        lock=Lock(version=2, date="2026-11-25", content="ff", reason="festival deadline"),
    )
    quay = scene_of("s2", third, number="2A", slugline="EXT. QUAY - DUSK")
    title = Card(id="k", name="Title", lines=("The last ferry",), length_frames=72)
    through = Join(kind=JoinKind.THROUGH_BLACK, before_frames=12, after_frames=10)
    return film_of(
        (title, DISSOLVE),
        (kiosk, through),
        quay,
        rate=rate,
        fade_in_frames=24,
        fade_out_frames=20,
        camera_looks=(CameraLook(id="k1", name="small camera", grade=Grade(saturation=1.1)),),
        apart=(scene_of("s9", number="7", slugline="INT. ATTIC"), Card(id="k9", name="Second title")),
        aside=(Aside(entry="s9", after=("s1",), reason="does not move the plot"), Aside(entry="k9")),
    )


@pytest.mark.parametrize("flat", [False, True], ids=["nested", "flat"])
@pytest.mark.parametrize("rate", FILM_RATES, ids=str)
def test_the_timeline_is_as_long_as_the_film(rate: Rate, flat: bool, tmp_path: Path):
    film = whole_film(rate)
    timeline = read_back(tmp_path, film, flat=flat)
    assert timeline.name == "The last ferry"
    assert frames(timeline.duration(), rate) == lay_out(film, Include.ALL).length_frames == 72 + 80 + 40
    assert frames(timeline.global_start_time, rate) == 3600 * rate.nominal
    for child in timeline.tracks:
        assert frames(child.duration(), rate) == 192, child.name
    drawn = timeline.duration().to_seconds()
    assert drawn == pytest.approx(float(rate.seconds(192)), abs=1e-9)


def test_rates_are_divided_and_not_rounded(tmp_path: Path):
    timeline = read_back(tmp_path, whole_film(Rate(24000, 1001)))
    assert timeline.duration().rate == 24000 / 1001 != 23.976
    # OTIO issues #1982, #1477: a rounded rate has no timecode in 0.18; the exact one does.
    label = timeline.global_start_time.to_timecode(24000 / 1001, drop_frame=False)
    assert label == "01:00:00:00"
    rounded = set(_rates(json.loads((tmp_path / "film.otio").read_text()))) - {24000 / 1001}
    assert rounded == {25.0, 48000.0}, "sources keep their own rates, and nothing else is in the file"


def _rates(value: object) -> list[float]:
    if isinstance(value, dict):
        own = [value["rate"]] if value.get("OTIO_SCHEMA") == "RationalTime.1" else []
        return own + [rate for item in value.values() for rate in _rates(item)]
    return [rate for item in value for rate in _rates(item)] if isinstance(value, list) else []


def test_schemas_are_those_of_0_18(tmp_path: Path):
    read_back(tmp_path, whole_film(PAL))
    text = (tmp_path / "film.otio").read_text()
    # OTIO measured: what 0.18.1 writes.
    for label in ("Timeline.1", "Stack.1", "Track.1", "Clip.2", "Gap.1", "Transition.1", "Marker.2"):
        assert f'"{label}"' in text
    for label in ("LinearTimeWarp.1", "ExternalReference.1", "GeneratorReference.1"):
        assert f'"{label}"' in text


@pytest.mark.parametrize("rate", FILM_RATES, ids=str)
def test_scenes_are_nested_stacks_with_their_lanes(rate: Rate, tmp_path: Path):
    timeline = read_back(tmp_path, whole_film(rate))
    assert [(child.name, child.kind) for child in timeline.tracks] == [
        ("Picture", "Video"),
        ("Dialogue", "Audio"),
        ("Music", "Audio"),
    ]
    card, kiosk, quay = (
        item for item in timeline.tracks[0] if isinstance(item, otio.core.Item) and item.name
    )
    assert [card.name, kiosk.name, quay.name] == ["Title", "1 INT. KIOSK - DAY", "2A EXT. QUAY - DUSK"]
    assert [place(item, timeline, rate) for item in (card, kiosk, quay)] == [(0, 72), (72, 80), (152, 40)]
    assert frames(kiosk.source_range.duration, rate) == 80
    assert [(child.name, child.kind) for child in kiosk] == [
        ("Picture", "Video"),
        ("Dialogue", "Audio"),
        ("Dialogue 2", "Audio"),
        ("Effects", "Audio"),
        ("Music", "Audio"),
    ]
    assert [child.name for child in quay] == ["Picture", "Dialogue", "Effects", "Music"]


def test_a_dissolve_finds_its_frames_in_the_nest(tmp_path: Path):
    timeline = read_back(tmp_path, whole_film(PAL))
    kiosk = timeline.tracks[0][4]
    # Six frames of the incoming scene are seen before the cut; the stack has them, its range leaves them out.
    assert pair(kiosk.source_range) == (6, 80)
    assert pair(kiosk.available_range()) == (0, 86)
    first, second = track(kiosk, "Picture")
    assert pair(first.source_range) == (40 - 6, 50 + 6)
    assert pair(second.source_range) == (20, 30)
    assert place(first, timeline) == (72 - 6, 56)
    voice = sounds_of(track(kiosk, "Dialogue"))[0]
    assert place(voice, timeline) == (72 - 6, 66)
    # The library's own expansion of the dissolve shows 12 frames of each side.
    expanded = otio.algorithms.track_with_expanded_transitions(timeline.tracks[0])
    (out, _, into) = next(
        part for part in expanded if isinstance(part, tuple) and part[0].name.startswith("Title")
    )
    assert pair(out.trimmed_range()) == (66, 12)
    assert pair(into.trimmed_range()) == (0, 12)


def test_a_dissolve_without_handles_shows_nothing_that_is_not_there(tmp_path: Path):
    # Four frames before the head and three after the tail of the other, where the dissolve asks for six.
    outgoing = scene_of("a", clip("a1", 40, in_frames=10))
    film = film_of((outgoing, DISSOLVE), scene_of("b", clip("b1", 30, in_frames=4)))
    facts = all_facts(film) | {"footage/a1.mov": footage(PAL, 53)}
    left, _, right = read_back(tmp_path, film, facts=facts).tracks[0]
    assert [pair(item.trimmed_range()) for item in track(left, "Picture")] == [(10, 43), (0, 3)]
    assert [pair(item.trimmed_range()) for item in track(right, "Picture")] == [(0, 2), (0, 34)]
    assert (pair(left.source_range), pair(right.source_range)) == ((0, 40), (6, 30))
    # Nor does its sound begin before its file does.
    assert [pair(item.trimmed_range()) for item in track(right, "Dialogue")] == [(0, 2), (0, 34)]


def test_a_card_is_drawn_and_has_what_a_dissolve_needs(tmp_path: Path):
    timeline = read_back(tmp_path, whole_film(PAL))
    card = timeline.tracks[0][2]
    assert isinstance(card.media_reference, otio.schema.GeneratorReference)
    assert card.media_reference.generator_kind == "assembly-desk card"
    assert list(card.media_reference.parameters["lines"]) == ["The last ferry"]
    assert pair(card.source_range) == (0, 72)
    assert covers(card.available_range(), card.visible_range())


def test_joins_and_fades(tmp_path: Path):
    timeline = read_back(tmp_path, whole_film(PAL))
    picture = timeline.tracks[0]
    found = [
        (item.name, item.transition_type, *pair(picture.range_of_child(item)))
        for item in picture
        if isinstance(item, otio.schema.Transition)
    ]
    # OTIO measured: Gap of 0 · T(0,12) · C leaves the clip at 0 and the track as long as the clip.
    assert found == [
        ("fade in", "SMPTE_Dissolve", 0, 24),
        ("dissolve", "SMPTE_Dissolve", 66, 12),
        ("through black", "Custom_Transition", 140, 22),
        ("fade out", "SMPTE_Dissolve", 172, 20),
    ]
    through = picture[5]
    assert notes(through)["kind"] == "through black"
    assert (through.in_offset.value, through.out_offset.value) == (12, 10)
    kinds = [type(item).__name__ for item in picture]
    assert not any(a == b == "Transition" for a, b in itertools.pairwise(kinds))
    assert kinds[0] == kinds[-1] == "Gap"


def test_dissolve_of_the_table(tmp_path: Path):
    # OTIO measured: A 48 · T(6,6) · B 48 is 96 long; T starts at 42 and lasts 12; B starts at 48; A shows
    # (0, 54) and B (-6, 54) of their media time, here 100 frames further on.
    film = film_of(
        (scene_of("a", clip("a1", 48, in_frames=100)), DISSOLVE), scene_of("b", clip("b1", 48, in_frames=100))
    )
    timeline = read_back(tmp_path, film, flat=True)
    picture = timeline.tracks[0]
    first, transition, second = picture
    assert frames(picture.duration(), PAL) == 96
    assert pair(picture.range_of_child(transition)) == (42, 12)
    assert pair(second.range_in_parent()) == (48, 48)
    assert pair(first.visible_range()) == (100, 54)
    assert pair(second.visible_range()) == (94, 54)
    assert covers(first.available_range(), first.visible_range())
    assert covers(second.available_range(), second.visible_range())
    # Sounds that meet at the cut are crossfaded with it.
    voice = track(timeline.tracks, "Dialogue")
    assert [type(item).__name__ for item in voice] == ["Clip", "Transition", "Clip"]
    assert pair(voice.range_of_child(voice[1])) == (42, 12)


def test_speed_is_a_time_warp_over_film_frames(tmp_path: Path):
    # OTIO measured: Clip 48 + LinearTimeWarp(2.0) lasts 48 and needs 96 of media.
    fast = clip("a1", 48, in_frames=10, speed=Fraction(2))
    timeline = read_back(tmp_path, film_of(scene_of("a", fast)), flat=True)
    (item,) = timeline.tracks[0]
    (warp,) = item.effects
    assert isinstance(warp, otio.schema.LinearTimeWarp)
    assert warp.time_scalar == 2.0
    assert frames(item.duration(), PAL) == 48
    assert pair(item.source_range) == (10, 48)
    used = item.source_range.duration.value * warp.time_scalar
    assert used == 96
    (voice,) = track(timeline.tracks, "Dialogue")
    assert voice.effects[0].time_scalar == 2.0


def test_handles_are_in_the_sources_own_rate(tmp_path: Path):
    high = clip("a1", 48, in_frames=10, speed=Fraction(1, 4), source="high.mov")
    uneven = clip("b1", 20, source="phone.mov")
    film = film_of(scene_of("a", high, uneven))
    facts = {
        "high.mov": footage(Rate(100), 900),
        "phone.mov": footage(Rate(30000, 1001), 300, variable=True),
    }
    timeline = read_back(tmp_path, film, facts=facts, flat=True)
    first, second = timeline.tracks[0]
    assert first.available_range() == TimeRange(RationalTime(0, 100), RationalTime(900, 100))
    # 300 frames of 30000/1001 last 10.01 s.
    assert second.available_range().duration.to_seconds() == pytest.approx(10.01, abs=1e-9)
    assert second.available_range().duration.rate == 25
    assert first.source_range.start_time.to_seconds() == pytest.approx(0.4, abs=1e-12)


def test_an_in_point_between_film_frames_is_kept(tmp_path: Path):
    in_seconds = Fraction(7 * 1001, 24000)
    odd = Clip(id="a1", source="a.mov", in_seconds=in_seconds, length_frames=10)
    timeline = read_back(tmp_path, film_of(scene_of("a", odd)), flat=True)
    (item,) = timeline.tracks[0]
    assert item.source_range.start_time.to_seconds() == pytest.approx(float(in_seconds), abs=1e-12)
    assert notes(item)["in_seconds"] == "7007/24000"
    assert frames(item.duration(), PAL) == 10


# Sound.


@pytest.mark.parametrize("rate", FILM_RATES, ids=str)
def test_leads_and_lags_keep_their_place_in_the_film(rate: Rate, tmp_path: Path):
    timeline = read_back(tmp_path, whole_film(rate), flat=True)
    voices = {
        notes(item)["id"]: item for item in timeline.find_clips() if notes(item).get("kind") == "dialogue"
    }
    assert place(voices["c1"], timeline, rate) == (72, 60)
    assert place(voices["c2"], timeline, rate) == (122, 30)
    # The lead of 8 frames reaches into the scene before.
    assert place(voices["c3"], timeline, rate) == (144, 48)
    assert frames(voices["c3"].source_range.start_time, rate) == 12 - 8
    (music,) = (item for item in timeline.find_clips() if notes(item).get("kind") == "music")
    assert place(music, timeline, rate) == (102, 70)
    assert [child.name for child in timeline.tracks] == [
        "Picture",
        "Dialogue",
        "Dialogue 2",
        "Effects",
        "Music",
    ]


def test_sound_beyond_its_scene_lies_beside_the_nests(tmp_path: Path):
    timeline = read_back(tmp_path, whole_film(PAL))
    beside = {child.name: sounds_of(child) for child in timeline.tracks if child.kind == "Audio"}
    (lead,), (music,) = beside["Dialogue"], beside["Music"]
    assert (notes(lead)["id"], place(lead, timeline)) == ("c3", (144, 8))
    assert pair(lead.source_range) == (4, 8)
    # m1 starts at frame 30 of an 80-frame scene and lasts 70: 50 within, 20 beyond.
    assert (notes(music)["id"], place(music, timeline)) == ("m1", (152, 20))
    assert pair(music.source_range) == (50, 20)
    inside = sounds_of(track(timeline.tracks[0][4], "Music"))[0]
    assert (place(inside, timeline), pair(inside.source_range)) == ((102, 50), (0, 50))


@pytest.mark.parametrize("flat", [False, True], ids=["nested", "flat"])
def test_sound_is_cut_at_the_films_ends(flat: bool, tmp_path: Path):
    only = clip("a1", 50, in_frames=40, sound=ClipSound(lead_frames=10, lag_frames=10))
    timeline = read_back(tmp_path, film_of(scene_of("a", only)), flat=flat)
    assert frames(timeline.duration(), PAL) == 50
    (voice,) = (item for item in timeline.find_clips() if notes(item)["kind"] == "dialogue")
    assert (place(voice, timeline), pair(voice.source_range)) == ((0, 50), (40, 50))
    assert notes(voice)["length_frames"] == 70, "the whole sound is in the metadata"


def test_silence_and_separate_recordings(tmp_path: Path):
    separate = ClipSound(kind=SoundKind.SEPARATE, file="sound/take 2.wav", offset_seconds=Fraction(2))
    film = film_of(
        scene_of("a", clip("a1", 50, sound=ClipSound(kind=SoundKind.SILENCE)), clip("a2", 25, sound=separate))
    )
    (scene,) = read_back(tmp_path, film).tracks[0]
    silence, voice = track(scene, "Dialogue")
    assert isinstance(silence, otio.schema.Gap)
    assert frames(silence.duration(), PAL) == 50
    assert pair(voice.source_range) == (50, 25)
    assert voice.media_reference.target_url == "../sound/take 2.wav"
    assert voice.available_range() == TimeRange(RationalTime(0, 48000), RationalTime(60 * 48000, 48000))


# What is said beside the times.


def test_scene_metadata_and_markers(tmp_path: Path):
    timeline = read_back(tmp_path, whole_film(PAL))
    kiosk, quay = timeline.tracks[0][4], timeline.tracks[0][6]
    said = notes(kiosk)
    assert (said["id"], said["number"], said["slugline"]) == ("s1", "1", "INT. KIOSK - DAY")
    assert (said["purpose"], said["tension"], said["state"]) == ("She sees the ticket.", 2, "locked")
    assert dict(said["lock"]) == {"version": 2, "date": "2026-11-25", "reason": "festival deadline"}
    assert [proof["date"] for proof in said["proofs"]] == ["2026-11-24", "2026-11-25"]
    rights = [tried["rights"] for tried in said["cues"][0]["candidates"]]
    assert [(right["title"], right["licence"]) for right in rights] == [("Tide", "CC BY 4.0"), ("Fog", "")]
    found = [(marker.name, marker.comment, marker.color) for marker in kiosk.markers]
    assert found == [
        ("locked, version 2, 2026-11-25", "festival deadline", "GREEN"),
        ("grade note", "cold and low", "BLUE"),
        ("proof, 2026-11-24", "horn too loud", "PURPLE"),
    ]
    assert all(marker.marked_range == kiosk.source_range for marker in kiosk.markers)
    assert [(marker.name, marker.color) for marker in quay.markers] == [("draft", "YELLOW")]
    legal = {
        getattr(otio.schema.MarkerColor, name) for name in dir(otio.schema.MarkerColor) if name.isupper()
    }
    markers = [marker for item in timeline.tracks.find_children() for marker in getattr(item, "markers", [])]
    assert {marker.color for marker in markers} <= legal
    assert [marker.comment for marker in markers if marker.name == "note"] == ["the hand is late"]


def test_flat_markers_stand_in_film_time(tmp_path: Path):
    timeline = read_back(tmp_path, whole_film(PAL), flat=True)
    found = [(marker.name, *pair(marker.marked_range)) for marker in timeline.tracks.markers]
    assert found == [
        ("1 INT. KIOSK - DAY: locked, version 2, 2026-11-25", 72, 80),
        ("1 INT. KIOSK - DAY: grade note", 72, 80),
        ("1 INT. KIOSK - DAY: proof, 2026-11-24", 72, 80),
        ("2A EXT. QUAY - DUSK: draft", 152, 40),
    ]
    assert notes(timeline.tracks.markers[0])["scene"]["purpose"] == "She sees the ticket."


@pytest.mark.parametrize("flat", [False, True], ids=["nested", "flat"])
def test_clip_metadata_and_grade(flat: bool, tmp_path: Path):
    timeline = read_back(tmp_path, whole_film(PAL), flat=flat)
    clips = {(notes(item)["kind"], notes(item)["id"]): item for item in timeline.find_clips()}
    second = clips["picture", "c2"]
    # OTIO issues #142, #143, #621: the convention for ASC CDL numbers.
    assert json.loads(json.dumps(_plain(second.metadata["cdl"]))) == {
        "asc_sop": {"slope": [1.1, 1.0, 0.9], "offset": [0.01, 0.0, -0.01], "power": [1.0, 1.1, 1.2]},
        "asc_sat": 0.8,
    }
    said = notes(second)
    assert (said["length_frames"], said["speed"], said["framing"]["scale"]) == (30, "1/2", 1.5)
    assert (said["camera_look"]["name"], said["camera_look"]["cdl"]["asc_sat"]) == ("small camera", 1.1)
    assert notes(clips["dialogue", "c1"])["gain_db"] == -3.0
    music = notes(clips["music", "m1"])
    assert (clips["music", "m1"].name, music["rights"]["licence"]) == ("m1", "CC BY 4.0")
    assert [tried["file"] for tried in music["other_candidates"]] == ["music/fog.flac"]
    assert clips["effects", "h1"].name == "horn"
    assert "timecode" in notes(second.media_reference)


def _plain(value: object) -> object:
    if hasattr(value, "items"):
        return {key: _plain(item) for key, item in value.items()}
    return [_plain(item) for item in value] if not isinstance(value, str | int | float) else value


def test_what_stands_at_the_top(tmp_path: Path):
    film = whole_film(Rate(30000, 1001))
    layout = lay_out(film, Include.LOCKED)
    timeline = read_back(tmp_path, film, layout)
    said = notes(timeline)
    assert (said["rate"], said["start"], said["length_frames"]) == ("30000/1001", "01:00:00:00", 72 + 80)
    assert [(item["id"], item["name"], item["reason"]) for item in said["set_aside"]] == [
        ("s9", "7 INT. ATTIC", "does not move the plot"),
        ("k9", "Second title", ""),
    ]
    assert [(item["name"], item["reason"]) for item in said["left_out"]] == [
        ("2A EXT. QUAY - DUSK", "not locked")
    ]
    assert said["review_file"] == "the-last-ferry-review-001.mp4"


@pytest.mark.parametrize("flat", [False, True], ids=["nested", "flat"])
def test_a_missing_file_is_a_missing_reference(flat: bool, tmp_path: Path):
    film = whole_film(PAL)
    facts = all_facts(film)
    del facts["footage/c1.mov"]
    timeline = read_back(tmp_path, film, facts=facts, flat=flat)
    gone = [item for item in timeline.find_clips() if item.media_reference.is_missing_reference]
    assert {notes(item)["id"] for item in gone} == {"c1"}
    assert {item.media_reference.name for item in gone} == {"c1.mov"}
    assert notes(gone[0].media_reference)["source"] == "footage/c1.mov"
    assert frames(timeline.duration(), PAL) == 192


@pytest.mark.parametrize("flat", [False, True], ids=["nested", "flat"])
def test_a_slate_is_drawn_and_silent(flat: bool, tmp_path: Path):
    film = whole_film(PAL)
    drafts = tuple(dataclasses.replace(scene, lock=None) for scene in film.scenes)
    film = dataclasses.replace(film, scenes=drafts)
    layout = lay_out(film, Include.SLATES)
    timeline = read_back(tmp_path, film, layout, flat=flat)
    slates = [item for item in timeline.find_clips() if notes(item)["kind"] == "slate"]
    assert [notes(item)["number"] for item in slates] == ["1", "2A"]
    assert slates[0].media_reference.generator_kind == "assembly-desk slate"
    assert covers(slates[0].available_range(), slates[0].trimmed_range())
    assert {notes(item)["kind"] for item in timeline.find_clips()} == {"card", "slate"}
    assert frames(timeline.duration(), PAL) == layout.length_frames


def test_a_dissolve_longer_than_a_clip_is_refused_when_flat():
    film = film_of((scene_of("a", clip("a1", 40), clip("a2", 4)), DISSOLVE), scene_of("b", clip("b1", 48)))
    with pytest.raises(AssemblyError, match="dissolve into “b”"):
        build_timeline(film, lay_out(film, Include.ALL), {}, flat=True, locate=str)


def test_a_fade_longer_than_the_first_clip_is_shortened_when_flat(tmp_path: Path):
    film = film_of(scene_of("a", clip("a1", 10), clip("a2", 40)), fade_in_frames=24, fade_out_frames=24)
    for flat, longest in ((False, 24), (True, 10)):
        picture = read_back(tmp_path, film, flat=flat).tracks[0]
        assert picture[1].out_offset.value == longest
        assert notes(picture[1])["after_frames"] == 24
        assert frames(picture.duration(), PAL) == 50


def black_of(parent: otio.schema.Track) -> list[tuple[int, int]]:
    """Return where black lies on a track that a clip was taken out of."""
    return [
        pair(item.range_in_parent())
        for item in parent
        if isinstance(item, otio.schema.Gap) and KEY in item.metadata
    ]


def test_black_where_a_clip_was_taken_out_is_a_gap(tmp_path: Path):
    film = film_of(
        scene_of("a", clip("a1", 10, gap_frames=4), clip("a2", 20, gap_frames=7)),
        scene_of("b", clip("b1", 30), clip("b2", 5, gap_frames=3)),
        fade_in_frames=6,
    )
    flat = read_back(tmp_path, film, flat=True)
    assert frames(flat.duration(), PAL) == 79
    assert black_of(flat.tracks[0]) == [(0, 4), (14, 7), (71, 3)]
    found = {notes(item)["id"]: place(item, flat) for item in flat.tracks[0].find_clips()}
    assert found == {"a1": (4, 10), "a2": (21, 20), "b1": (41, 30), "b2": (74, 5)}
    gap = flat.tracks[0][2]
    assert dict(notes(gap)) == {"kind": "gap", "scene": "a", "before": "a1"}
    # The fade up from black has its length although it begins over black.
    assert notes(flat.tracks[0][1])["after_frames"] == 6
    nested = read_back(tmp_path, film)
    assert frames(nested.duration(), PAL) == 79
    first, second = (item for item in nested.tracks[0] if isinstance(item, otio.schema.Stack))
    assert (black_of(track(first, "Picture")), black_of(track(second, "Picture"))) == (
        [(0, 4), (14, 7)],
        [(30, 3)],
    )
    assert (pair(first.source_range), pair(second.source_range)) == ((0, 41), (0, 38))
    voices = [place(item, nested) for item in sounds_of(track(first, "Dialogue"))]
    assert voices == [(4, 10), (21, 20)]


@pytest.mark.parametrize("flat", [False, True], ids=["nested", "flat"])
def test_a_dissolve_into_black_is_refused(flat: bool):
    film = film_of((scene_of("a", clip("a1", 40)), DISSOLVE), scene_of("b", clip("b1", 48, gap_frames=9)))
    with pytest.raises(AssemblyError, match="dissolve into “b” meets black"):
        build_timeline(film, lay_out(film, Include.ALL), {}, flat=flat, locate=str)


def test_the_same_film_makes_the_same_bytes(tmp_path: Path):
    read_back(tmp_path, whole_film(PAL))
    first = (tmp_path / "film.otio").read_bytes()
    read_back(tmp_path, whole_film(PAL))
    assert (tmp_path / "film.otio").read_bytes() == first


# Any small film.

# Each a little longer than the longest clip below needs, so that handles are often too short.
SOURCES = {
    f"footage/{index}.mov": footage(rate, rate.nominal * 26 // 5)
    for index, rate in enumerate((PAL, Rate(100), Rate(30000, 1001)))
}
SOUNDS = {f"sound/{index}.wav": recording(20) for index in range(2)}


@st.composite
def small_films(draw: st.DrawFn) -> Film:
    rate = draw(st.sampled_from(FILM_RATES))
    counter = iter(range(1000))
    short = st.integers(0, 12)

    def own_sound() -> ClipSound:
        kind = draw(st.sampled_from(SoundKind))
        return ClipSound(
            kind=kind,
            file="sound/0.wav" if kind is SoundKind.SEPARATE else "",
            offset_seconds=draw(st.sampled_from([Fraction(0), Fraction(-1, 3), Fraction(2)])),
            lead_frames=draw(short),
            lag_frames=draw(short),
        )

    def one_clip() -> Clip:
        return Clip(
            id=f"c{next(counter)}",
            source=draw(st.sampled_from(sorted(SOURCES))),
            in_seconds=rate.seconds(draw(st.integers(0, 40))) + draw(st.sampled_from([0, Fraction(1, 70)])),
            length_frames=draw(st.integers(1, 40)),
            gap_frames=draw(st.sampled_from([0, 0, 0, 5, 30])),
            speed=draw(st.sampled_from([Fraction(1), Fraction(1, 4), Fraction(24, 25), Fraction(2)])),
            sound=own_sound(),
        )

    def one_entry() -> Scene | Card:
        entry_id = f"e{next(counter)}"
        if draw(st.integers(0, 3)) == 0:
            return Card(id=entry_id, lines=("A card",), length_frames=draw(st.integers(1, 40)))
        clips = tuple(one_clip() for _ in range(draw(st.integers(1, 3))))
        start, length = st.integers(-20, 60), st.integers(1, 60)
        cues = tuple(
            Cue(
                id=f"m{next(counter)}",
                start_frames=draw(start),
                length_frames=draw(length),
                candidates=(Candidate(id="x", file="sound/1.wav"),),
                chosen=draw(st.sampled_from(["x", ""])),
            )
            for _ in range(draw(st.integers(0, 2)))
        )
        spots = tuple(
            Spot(
                id=f"f{next(counter)}",
                file="sound/1.wav",
                start_frames=draw(start),
                length_frames=draw(length),
            )
            for _ in range(draw(st.integers(0, 2)))
        )
        content = SceneContent(clips=clips, cues=cues, spots=spots)
        lock = draw(st.sampled_from([None, Lock(version=1, date="2026-11-25", content="")]))
        return Scene(id=entry_id, number=entry_id, content=content, lock=lock)

    entries = [one_entry() for _ in range(draw(st.integers(1, 4)))]
    joins = st.builds(
        lambda kind, before, after: Join(kind=kind, before_frames=before, after_frames=after),
        st.sampled_from([JoinKind.DISSOLVE, JoinKind.THROUGH_BLACK]),
        short,
        short,
    )
    return film_of(
        *[(entry, draw(joins)) for entry in entries],
        rate=rate,
        fade_in_frames=draw(short),
        fade_out_frames=draw(short),
    )


def with_fitting_joins(film: Film, layout: Layout) -> Layout:
    """Return the layout with its joins made as short as what they lie in, in order."""
    lengths = {path: facts.picture.seconds for path, facts in SOURCES.items() if facts.picture}
    slots = list(layout.slots)
    for index in range(len(slots) - 1):
        previous = slots[index - 1].join if index else CUT
        # What the next join takes is settled after this one, so this one may not need it.
        incoming = _replace_join(slots[index + 1], CUT)
        room = join_room(slots[index], incoming, previous, film.rate, lengths)
        slots[index] = _replace_join(slots[index], fitting_join(slots[index].join, room))
    return Layout(slots=tuple(slots), left_out=layout.left_out)


def _replace_join(slot, join):
    return type(slot)(
        entry=slot.entry,
        start_frames=slot.start_frames,
        length_frames=slot.length_frames,
        join=join,
        slate=slot.slate,
    )


@given(film=small_films(), include=st.sampled_from([Include.ALL, Include.SLATES]))
@settings(max_examples=80, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_any_film_reads_back_as_it_is(film: Film, include: Include, tmp_path: Path):
    rate = film.rate
    layout = with_fitting_joins(film, lay_out(film, include))
    nested = read_back(tmp_path, film, layout, SOURCES | SOUNDS)
    flat = read_back(tmp_path, film, layout, SOURCES | SOUNDS, flat=True)
    for timeline in (nested, flat):
        assert frames(timeline.duration(), rate) == layout.length_frames
        _check_transitions(timeline, rate)
    picture = nested.tracks[0]
    items = [item for item in picture if isinstance(item, otio.core.Item) and item.duration().value]
    assert [pair(item.range_in_parent(), rate) for item in items] == [
        (slot.start_frames, slot.length_frames) for slot in layout.slots
    ]
    _check_pictures(film, layout, nested, flat)
    _check_sounds(film, layout, nested, flat)


def _check_transitions(timeline: otio.schema.Timeline, rate: Rate) -> None:
    """Check what the library accepts without a word: neighbours, lengths, handles."""
    for child in timeline.tracks:
        for index, item in enumerate(child):
            if not isinstance(item, otio.schema.Transition):
                continue
            before, after = child[index - 1], child[index + 1]
            assert isinstance(before, otio.core.Item)
            assert isinstance(after, otio.core.Item)
            assert item.in_offset.value <= before.duration().value
            # What the two transitions of an item take of it does not meet.
            following = child[index + 2] if index + 2 < len(child) else None
            is_transition = isinstance(following, otio.schema.Transition)
            taken = following.in_offset.value if is_transition else 0
            assert item.out_offset.value + taken <= after.duration().value
            if item.name != "dissolve" or child.kind != "Video":
                continue
            # The frames of the outgoing item after the cut, and of the incoming one before it.
            _check_handle(before, rate, before.duration().value + item.out_offset.value - 1)
            _check_handle(after, rate, -item.in_offset.value)


def _check_handle(item: otio.core.Item, rate: Rate, frame: float) -> None:
    """Check that a frame of an item, from its start, begins within its media."""
    scalar = item.effects[0].time_scalar if item.effects else 1.0
    start = item.trimmed_range().start_time.to_seconds()
    at = start + frame * scalar * float(rate.seconds(1))
    media = item.available_range()
    assert media.start_time.to_seconds() - 1e-9 <= at < media.end_time_exclusive().to_seconds()


def _check_pictures(
    film: Film, layout: Layout, nested: otio.schema.Timeline, flat: otio.schema.Timeline
) -> None:
    rate = film.rate
    expected = {}
    for slot in layout.slots:
        at = slot.start_frames
        if isinstance(slot.entry, Scene) and not slot.slate:
            for use in slot.entry.content.clips:
                at += use.gap_frames
                expected[use.id] = (at, use.length_frames, use)
                at += use.length_frames
    found = {
        notes(item)["id"]: item for item in flat.tracks[0].find_clips() if notes(item)["kind"] == "picture"
    }
    assert set(found) == set(expected)
    for clip_id, item in found.items():
        start, length, use = expected[clip_id]
        assert place(item, flat, rate) == (start, length)
        assert item.source_range.start_time.to_seconds() == pytest.approx(float(use.in_seconds), abs=1e-9)
        assert [effect.time_scalar for effect in item.effects] == (
            [] if use.speed == 1 else [float(use.speed)]
        )
    for item in nested.find_clips():
        if notes(item)["kind"] != "picture":
            continue
        start, length, use = expected[notes(item)["id"]]
        first, shown = place(item, nested, rate)
        # In the nest an outer clip may be longer by what a dissolve shows, and its in point goes with it.
        assert first <= start
        assert first + shown >= start + length
        in_seconds = use.in_seconds - rate.seconds(start - first) * use.speed
        assert item.source_range.start_time.to_seconds() == pytest.approx(float(in_seconds), abs=1e-9)
        scene = item.parent().parent()
        inside = overlap(scene.range_of_child(item), scene.source_range)
        low, _ = pair(scene.source_range, rate)
        slot = next(slot for slot in layout.slots if slot.entry.id == notes(scene)["id"])
        assert pair(inside, rate) == (start - slot.start_frames + low, length)


def _check_sounds(
    film: Film, layout: Layout, nested: otio.schema.Timeline, flat: otio.schema.Timeline
) -> None:
    rate = film.rate
    expected = {}
    for slot in layout.slots:
        if isinstance(slot.entry, Scene) and not slot.slate:
            for span in spans(slot.entry.content, rate):
                low = max(0, slot.start_frames + span.start_frames)
                high = min(layout.length_frames, slot.start_frames + span.end_frames)
                if low < high:
                    at_film_0 = (
                        span.in_seconds - rate.seconds(slot.start_frames + span.start_frames) * span.speed
                    )
                    expected[span.kind, span.owner] = (low, high, at_film_0, span.speed)
    heard: dict[tuple[str, str], list[tuple[int, int]]] = {}
    for timeline in (nested, flat):
        heard.clear()
        for item in timeline.find_clips():
            said = notes(item)
            if said["kind"] not in ("dialogue", "effects", "music"):
                continue
            low, high, at_film_0, speed = expected[said["kind"], said["id"]]
            start, length = place(item, timeline, rate)
            # In step: the place in the file follows from the place in the film, wherever the sound is cut.
            in_seconds = at_film_0 + rate.seconds(start) * speed
            assert in_seconds >= 0
            assert item.source_range.start_time.to_seconds() == pytest.approx(float(in_seconds), abs=1e-9)
            trimmed = _seen(item, timeline, rate, (start, start + length))
            heard.setdefault((said["kind"], said["id"]), []).append(trimmed)
        # Each frame of each sound is in the file once, nested or flat.
        assert {key: _joined(parts) for key, parts in heard.items()} == {
            key: (low, high) for key, (low, high, _, _) in expected.items()
        }


def _seen(item, timeline, rate: Rate, extent: tuple[int, int]) -> tuple[int, int]:
    """Return what of an item its nest lets through."""
    nest = item.parent().parent()
    if nest.parent() is None:
        return extent
    low, length = place(nest, timeline, rate)
    return max(extent[0], low), min(extent[1], low + length)


def _joined(parts: list[tuple[int, int]]) -> tuple[int, int]:
    parts = sorted(parts)
    for (_, end), (start, _) in itertools.pairwise(parts):
        assert end == start, "a hole, or the same frames twice"
    return parts[0][0], parts[-1][1]
