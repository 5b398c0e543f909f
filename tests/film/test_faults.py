"""Everything that a film may not hold, and that what it may hold passes."""

import dataclasses
import math
import string
from fractions import Fraction

import pytest
from hypothesis import given, settings

from desk.film.faults import Fault, faults
from desk.film.model import (
    CUT,
    Aside,
    CameraLook,
    Card,
    Clip,
    ClipSound,
    Cue,
    Delivery,
    Film,
    Framing,
    Grade,
    Join,
    JoinKind,
    Lock,
    LockedMedia,
    LockedVersion,
    Person,
    Placement,
    Proof,
    ReviewCopy,
    Rights,
    SceneContent,
    Size,
    SoundKind,
    Spot,
)
from desk.film.rates import FILM_RATES, Rate
from tests.film.films import HASH, SHA256, films, small_film

DAY = 86400 * 24


def found(film: Film) -> tuple[str, str]:
    """The place and sentence of the one fault of a film."""
    (fault,) = faults(film)
    return fault.place, fault.sentence


def with_scene(**fields) -> Film:
    film = small_film()
    return dataclasses.replace(film, scenes=(dataclasses.replace(film.scenes[0], **fields), *film.scenes[1:]))


def with_content(**fields) -> Film:
    return with_scene(content=dataclasses.replace(small_film().scenes[0].content, **fields))


def with_clip(**fields) -> Film:
    first, second = small_film().scenes[0].content.clips
    return with_content(clips=(first, dataclasses.replace(second, **fields)))


def with_card(**fields) -> Film:
    film = small_film()
    return dataclasses.replace(film, cards=(dataclasses.replace(film.cards[0], **fields), film.cards[1]))


def film_with(**fields) -> Film:
    return dataclasses.replace(small_film(), **fields)


def test_a_film_told_by_hand_has_no_faults():
    assert faults(small_film()) == ()


@settings(max_examples=60)
@given(films())
def test_random_films_have_no_faults(film):
    assert faults(film) == ()


def test_an_empty_film_has_no_faults():
    assert faults(Film(title="", rate=Rate(25), size=Size(16, 8192), start_frames=0)) == ()


CLIP = "scenes[0].content.clips[1]"
CUE = "scenes[0].content.cues[0]"
SPOT = "scenes[0].content.spots[0]"


@pytest.mark.parametrize(
    ("fields", "place", "told"),
    [
        (
            {"length_frames": -3},
            "length_frames",
            "The length of clip 2 in scene 1 must be 1 to 2,073,600 frames, not −3.",
        ),
        ({"length_frames": 0}, "length_frames", "not 0"),
        ({"length_frames": DAY + 1}, "length_frames", "not 2,073,601"),
        ({"length_frames": 10**30}, "length_frames", "more than 18 digits"),
        (
            {"gap_frames": -1},
            "gap_frames",
            "The gap of clip 2 in scene 1 must be 0 to 2,073,600 frames, not −1.",
        ),
        ({"gap_frames": DAY + 1}, "gap_frames", "not 2,073,601"),
        ({"in_seconds": Fraction(-1, 25)}, "in_seconds", "must be 0 to 86,400 s (24 hours), not −1/25"),
        ({"in_seconds": Fraction(86401)}, "in_seconds", "not 86401"),
        ({"in_seconds": Fraction(1, 10**70)}, "in_seconds", "60 digits"),
        ({"speed": Fraction(0)}, "speed", "must be 1/100 to 100"),
        ({"speed": Fraction(-1)}, "speed", "not −1"),
        ({"speed": Fraction(1, 101)}, "speed", "not 1/101"),
        ({"speed": Fraction(101)}, "speed", "not 101"),
        ({"speed": Fraction(10**80, 10**80 + 1)}, "speed", "60 digits"),
        ({"source": ""}, "source", "must name a file"),
        ({"source": "/etc/passwd"}, "source", "must be relative to the project folder"),
        ({"source": "http://example.org/a.mov"}, "source", "must be a local file"),
        ({"camera": "l9"}, "camera", "one of the film's camera looks, not “l9”"),
        ({"note": "x" * 10_001}, "note", "at most 10,000 characters, not 10,001"),
        ({"note": "bell \x07"}, "note", "without control characters"),
        ({"id": "c1"}, "id", "is also the id at scenes[0].content.clips[0]"),
        ({"id": "s4"}, "id", None),
        ({"id": ""}, "id", "1 to 64 letters"),
        ({"id": "a/b"}, "id", "1 to 64 letters"),
        ({"id": "x" * 65}, "id", "1 to 64 letters"),
        ({"framing": Framing(scale=0)}, "framing.scale", "above 0 to 100, not 0"),
        ({"framing": Framing(scale=math.nan)}, "framing.scale", "not nan"),
        ({"framing": Framing(scale=101)}, "framing.scale", "not 101"),
        ({"framing": Framing(x=math.inf)}, "framing.x", "not inf"),
        ({"framing": Framing(y=-11)}, "framing.y", "not −11"),
        ({"sound": ClipSound(gain_db=-96.5)}, "sound.gain_db", "must be −96 to 24 dB, not −96.5"),
        ({"sound": ClipSound(gain_db=24.5)}, "sound.gain_db", "not 24.5"),
        ({"sound": ClipSound(gain_db=math.nan)}, "sound.gain_db", "not nan"),
        ({"sound": ClipSound(gain_db=-math.inf)}, "sound.gain_db", "not −inf"),
        ({"sound": ClipSound(lead_frames=-1)}, "sound.lead_frames", "The lead of clip 2"),
        ({"sound": ClipSound(lag_frames=DAY + 1)}, "sound.lag_frames", "The lag of clip 2"),
        ({"sound": ClipSound(fade_in_frames=-1)}, "sound.fade_in_frames", "The fade in of clip 2"),
        ({"sound": ClipSound(fade_out_frames=-1)}, "sound.fade_out_frames", "The fade out of clip 2"),
        ({"sound": ClipSound(offset_seconds=Fraction(-86401))}, "sound.offset_seconds", "must be −86,400 to"),
        ({"sound": ClipSound(kind=SoundKind.SEPARATE)}, "sound.file", "must name a file"),
        ({"sound": ClipSound(file="//server/a.wav")}, "sound.file", "server"),
    ],
)
def test_clips(fields, place, told):
    if told is None:
        assert [fault.place for fault in faults(with_clip(**fields))] == ["scenes[3].id"]
        return
    at, sentence = found(with_clip(**fields))
    assert at == f"{CLIP}.{place}"
    assert told in sentence


def cue(**fields) -> Film:
    return with_content(cues=(dataclasses.replace(small_film().scenes[0].content.cues[0], **fields),))


def candidate(**fields) -> Film:
    first, second = small_film().scenes[0].content.cues[0].candidates
    return cue(candidates=(first, dataclasses.replace(second, **fields)))


def spot(**fields) -> Film:
    return with_content(spots=(dataclasses.replace(small_film().scenes[0].content.spots[0], **fields),))


@pytest.mark.parametrize(
    ("film", "place", "told"),
    [
        (cue(length_frames=0), f"{CUE}.length_frames", "The length of cue 1 in scene 1 must be 1"),
        (cue(start_frames=-DAY - 1), f"{CUE}.start_frames", "must be −2,073,600 to 2,073,600 frames"),
        (cue(chosen="a9"), f"{CUE}.chosen", "must be one of its candidates, not “a9”"),
        (cue(label="two\nlines"), f"{CUE}.label", "must be one line without control characters"),
        (candidate(file=""), f"{CUE}.candidates[1].file", "The file of candidate 2 of cue 1"),
        (candidate(id="f1"), f"{SPOT}.id", "is also the id at scenes[0].content.cues[0].candidates[1]"),
        (candidate(gain_db=25), f"{CUE}.candidates[1].gain_db", "dB"),
        (candidate(rights=Rights(title="a\tb")), f"{CUE}.candidates[1].rights.title", "one line"),
        (
            candidate(rights=Rights(required_credit="\0")),
            f"{CUE}.candidates[1].rights.required_credit",
            "text",
        ),
        (spot(length_frames=-1), f"{SPOT}.length_frames", "The length of spot 1"),
        (spot(start_frames=DAY + 1), f"{SPOT}.start_frames", "The start of spot 1"),
        (spot(in_seconds=Fraction(-1)), f"{SPOT}.in_seconds", "The in point of spot 1"),
        (spot(file="pipe:0"), f"{SPOT}.file", "local file"),
        (with_content(grade_note="\x1b[31m"), "scenes[0].content.grade_note", "The grade note of scene 1"),
    ],
)
def test_music_and_effects(film, place, told):
    at, sentence = found(film)
    assert at == place
    assert told in sentence


# Limits of the ASC CDL v1.2, by OpenColorIO's validation: slope -1, power 0 and saturation -0.1 are refused.
@pytest.mark.parametrize(
    ("grade", "name"),
    [
        (Grade(slope=(1.0, -1.0, 1.0)), "slope"),
        (Grade(power=(1.0, 1.0, 0.0)), "power"),
        (Grade(power=(-0.5, 1.0, 1.0)), "power"),
        (Grade(saturation=-0.1), "saturation"),
        (Grade(saturation=math.nan), "saturation"),
        (Grade(offset=(math.inf, 0.0, 0.0)), "offset"),
        (Grade(slope=(1.0, 1.0)), "slope"),  # a file can't hold it, code can
    ],
)
def test_grades(grade, name):
    assert found(with_content(grade=grade))[0] == f"scenes[0].content.grade.{name}"
    look = film_with(camera_looks=(CameraLook(id="l1", name="A", grade=grade),))
    assert found(look)[0] == f"camera_looks[0].grade.{name}"


def test_grades_of_the_published_tests_are_allowed():
    # OpenColorIO's CDL tests, A and B.
    for grade in (
        Grade(
            slope=(1.35, 1.1, 0.071), offset=(0.05, -0.23, 0.11), power=(0.93, 0.81, 1.27), saturation=1.23
        ),
        Grade(slope=(1.15, 1.1, 0.9), offset=(0.05, 0.02, 0.07), power=(1.2, 0.95, 1.13), saturation=0.87),
        Grade(slope=(0.0, 0.0, 0.0), saturation=0.0),
    ):
        assert faults(with_content(grade=grade)) == ()


LOCK = Lock(version=1, date="2026-03-01", content=HASH)


@pytest.mark.parametrize(
    ("fields", "place", "told"),
    [
        ({"number": "2"}, "scenes[1].number", "“2” is also the number at scenes[0]"),
        ({"number": ""}, "scenes[0].number", "1 to 16 letters"),
        ({"number": "4 A"}, "scenes[0].number", "1 to 16 letters"),
        ({"number": "-4"}, "scenes[0].number", "begin with a letter or digit"),
        ({"number": "4" * 17}, "scenes[0].number", "1 to 16 letters"),
        ({"slugline": "INT.\nQUAY"}, "scenes[0].slugline", "one line"),
        ({"slugline": "x" * 10_001}, "scenes[0].slugline", "10,000"),
        ({"purpose": "\x00"}, "scenes[0].purpose", "control"),
        ({"synopsis": "half \ud800"}, "scenes[0].synopsis", "control"),
        ({"tension": 6}, "scenes[0].tension", "must be 0 (light) to 5 (dread), not 6"),
        ({"tension": -1}, "scenes[0].tension", "not −1"),
        ({"planned_frames": -1}, "scenes[0].planned_frames", "planned length"),
        ({"planned_frames": DAY + 1}, "scenes[0].planned_frames", "planned length"),
        ({"reference_picture": "https:x"}, "scenes[0].reference_picture", "local"),
        ({"folder": "/footage"}, "scenes[0].folder", "relative"),
        ({"more_footage": ("a.mov", "https:x")}, "scenes[0].more_footage[1]", "local"),
        (
            {"proofs": (Proof(date="soon"),)},
            "scenes[0].proofs[0].date",
            "must be written as 2026-11-25, not “soon”",
        ),
        ({"proofs": (Proof(date="2026-02-30"),)}, "scenes[0].proofs[0].date", "2026-02-30"),
        (
            {"proofs": (Proof(date="2026-03-01", content="x"),)},
            "scenes[0].proofs[0].content",
            "32 hexadecimal",
        ),
        ({"lock": dataclasses.replace(LOCK, version=2)}, "scenes[0].lock.version", "must be 1"),
        ({"lock": dataclasses.replace(LOCK, version=0)}, "scenes[0].lock.version", "must be 1"),
        ({"lock": dataclasses.replace(LOCK, content="")}, "scenes[0].lock.content", "32 hexadecimal"),
        ({"lock": dataclasses.replace(LOCK, date="")}, "scenes[0].lock.date", "2026-11-25"),
        (
            {
                "lock": LOCK,
                "history": (LockedVersion(lock=LOCK, content=SceneContent(), unlocked="2026-03-02"),),
            },
            "scenes[0].lock.version",
            "must be 2",
        ),
    ],
)
def test_scenes(fields, place, told):
    at, sentence = found(with_scene(**fields))
    assert at == place
    assert told in sentence


def test_two_scenes_with_one_id():
    told = [fault.sentence for fault in faults(with_scene(id="s2"))]
    assert told[0] == "The id of scene 2 must be its own, and “s2” is also the id at scenes[0]."
    assert len(told) == 2  # and s1 in the running order is nobody's


@pytest.mark.parametrize(
    ("media", "place"),
    [
        (LockedMedia(path="/a", size_bytes=1, sample_hash=HASH, sha256=SHA256), "path"),
        (LockedMedia(path="a", size_bytes=-1, sample_hash=HASH, sha256=SHA256), "size_bytes"),
        (LockedMedia(path="a", size_bytes=1, sample_hash="Z" * 32, sha256=SHA256), "sample_hash"),
        (LockedMedia(path="a", size_bytes=1, sample_hash=HASH, sha256=""), "sha256"),
    ],
)
def test_locked_media(media, place):
    at, _ = found(with_scene(lock=dataclasses.replace(LOCK, media=(media,))))
    assert at == f"scenes[0].lock.media[0].{place}"


def test_earlier_versions_may_have_the_ids_of_the_present_content_but_each_once():
    content = small_film().scenes[0].content
    version = LockedVersion(lock=LOCK, content=content, unlocked="2026-03-02")
    assert faults(with_scene(history=(version,))) == ()
    twice = dataclasses.replace(content, clips=(content.clips[0], content.clips[0]))
    bad = dataclasses.replace(version, content=twice, unlocked="2026")
    places = [fault.place for fault in faults(with_scene(history=(bad,)))]
    assert places == ["scenes[0].history[0].unlocked", "scenes[0].history[0].content.clips[1].id"]


def test_earlier_versions_may_use_camera_looks_that_are_gone():
    content = SceneContent(clips=(Clip(id="c1", source="a", length_frames=1, camera="gone"),))
    version = LockedVersion(lock=LOCK, content=content, unlocked="2026-03-02")
    assert faults(with_scene(history=(version,))) == ()


@pytest.mark.parametrize(
    ("fields", "place"),
    [
        ({"id": "s1"}, None),
        ({"name": "a\nb"}, "name"),
        ({"lines": ("ok", "\x07")}, "lines[1]"),
        ({"roll_px": 0}, "roll_px"),
        ({"roll_px": 1001}, "roll_px"),
        ({"length_frames": 0}, "length_frames"),
        ({"length_frames": DAY + 1}, "length_frames"),
        ({"background": "black"}, "background"),
        ({"background": "#00000"}, "background"),
        ({"ink": "#GGGGGG"}, "ink"),
        ({"ink": "#ffffff00"}, "ink"),
        ({"picture": "data:image/png;base64,AA"}, "picture"),
        ({"lines": ("x",) * 501}, "credits"),
    ],
)
def test_cards(fields, place):
    places = [fault.place for fault in faults(with_card(**fields))]
    if place:
        assert places == [f"cards[0].{place}"]
    else:
        assert "cards[0].id" in places


ORDER = small_film().order


@pytest.mark.parametrize(
    ("fields", "place", "told"),
    [
        ({"order": (*ORDER, Placement(entry="s9"))}, "order[5].entry", "not “s9”"),
        ({"order": (*ORDER, Placement(entry="s1"))}, "order[5].entry", "stands at order[1] too"),
        ({"order": (*ORDER, Placement(entry="s3"))}, "aside[0].entry", "stands at order[5] too"),
        ({"order": ORDER[:-1]}, "cards[1]", "must stand in the running order or be set aside"),
        ({"aside": ()}, "scenes[2]", "Scene 3 must stand in the running order or be set aside"),
        ({"aside": (Aside(entry="x"), Aside(entry="s3"))}, "aside[0].entry", "not “x”"),
        ({"aside": (Aside(entry="s3", reason="\0"),)}, "aside[0].reason", "control"),
    ],
)
def test_running_order(fields, place, told):
    at, sentence = found(film_with(**fields))
    assert at == place
    assert told in sentence


@pytest.mark.parametrize(
    ("join", "place"),
    [
        (Join(before_frames=1), "join"),
        (Join(kind=JoinKind.DISSOLVE), "join"),
        (Join(kind=JoinKind.THROUGH_BLACK), "join"),
        (Join(kind=JoinKind.DISSOLVE, before_frames=-1, after_frames=3), "join.before_frames"),
        (Join(kind=JoinKind.THROUGH_BLACK, before_frames=1, after_frames=-1), "join.after_frames"),
        (Join(kind=JoinKind.DISSOLVE, before_frames=DAY + 1), "join.before_frames"),
    ],
)
def test_joins(join, place):
    order = (Placement(entry="k1", join=join), *ORDER[1:])
    assert found(film_with(order=order))[0] == f"order[0].{place}"
    assert found(film_with(aside=(Aside(entry="s3", join=join),)))[0] == f"aside[0].{place}"


@pytest.mark.parametrize(
    ("fields", "place"),
    [
        ({"title": "a\nb"}, "title"),
        ({"rate": Rate(23)}, "rate"),
        ({"rate": Rate(2997, 100)}, "rate"),
        ({"size": Size(1921, 1080)}, "size.width"),
        ({"size": Size(1920, 14)}, "size.height"),
        ({"size": Size(8194, 1080)}, "size.width"),
        ({"size": Size(-1920, 1080)}, "size.width"),
        ({"drop_frame": True}, "drop_frame"),
        ({"footage": "/media/card"}, "footage"),
        ({"footage": "smb://server/film"}, "footage"),
        ({"start_frames": -1}, "start_frames"),
        ({"start_frames": DAY}, "start_frames"),
        ({"fade_in_frames": -1}, "fade_in_frames"),
        ({"fade_out_frames": DAY + 1}, "fade_out_frames"),
        ({"people": (Person(name=" "),)}, "people[0].name"),
        ({"people": (Person(name="Ida", roles=("a\nb",)),)}, "people[0].roles[0]"),
        ({"delivery": Delivery(review_height=719)}, "delivery.review_height"),
        ({"delivery": Delivery(integrated_lufs=math.nan)}, "delivery.integrated_lufs"),
        ({"delivery": Delivery(true_peak_dbtp=1)}, "delivery.true_peak_dbtp"),
        ({"delivery": Delivery(proofs_needed=-1)}, "delivery.proofs_needed"),
        ({"next_id": 0}, "next_id"),
        ({"camera_looks": (CameraLook(id="k1", name="A"),)}, "cards[0].id"),
    ],
)
def test_the_film_itself(fields, place):
    assert found(film_with(**fields))[0] == place


def test_the_last_label_of_a_drop_frame_day_is_a_start_and_the_next_is_not():
    film = Film(title="", rate=Rate(30000, 1001), size=Size(16, 16), start_frames=2589407, drop_frame=True)
    assert faults(film) == ()
    assert found(dataclasses.replace(film, start_frames=2589408))[0] == "start_frames"


COPY = ReviewCopy(number=1, date="2026-03-01", file="review/a.mp4", frames=100)


@pytest.mark.parametrize(
    ("copies", "place"),
    [
        ((dataclasses.replace(COPY, number=0),), "review_copies[0].number"),
        ((COPY, COPY), "review_copies[1].number"),
        (
            (dataclasses.replace(COPY, number=3), dataclasses.replace(COPY, number=2)),
            "review_copies[1].number",
        ),
        ((dataclasses.replace(COPY, file=""),), "review_copies[0].file"),
        ((dataclasses.replace(COPY, file="/abs.mp4"),), "review_copies[0].file"),
        ((dataclasses.replace(COPY, frames=-1),), "review_copies[0].frames"),
        ((dataclasses.replace(COPY, include="some"),), "review_copies[0].include"),
        ((dataclasses.replace(COPY, date="x"),), "review_copies[0].date"),
    ],
)
def test_review_copies(copies, place):
    assert found(film_with(review_copies=copies))[0] == place


def test_all_faults_are_told_and_not_only_the_first():
    bad = Clip(id="c1", source="/a", length_frames=0, in_seconds=Fraction(-1), speed=Fraction(0))
    assert len(faults(with_content(clips=(bad,)))) == 4


def test_a_sentence_names_the_thing_and_is_one_printable_line():
    evil = "\x1b]0;\n" + "x" * 500
    bad = with_clip(source="/" + evil, id=evil, camera=evil)
    for fault in faults(bad):
        assert isinstance(fault, Fault)
        assert fault.sentence.startswith(("The ", "A "))
        assert fault.sentence.endswith(".")
        assert fault.sentence.isprintable()
        assert len(fault.sentence) < 300


@pytest.mark.parametrize("rate", FILM_RATES, ids=str)
def test_every_rate_of_a_film_is_allowed(rate):
    assert faults(Film(title="", rate=rate, size=Size(1920, 1080), start_frames=3600 * rate.nominal)) == ()


def test_long_names_of_all_scripts_are_allowed():
    names = [string.printable[:95], "Ærø – Ñandú", "渡し船", "पर्ची", "🎫 family 👩‍👧"]
    for name in names:
        assert faults(film_with(title=name, people=(Person(name=name),))) == ()
    assert faults(with_scene(synopsis="One line.\nAnother\twith a tab.\r\n")) == ()


def test_a_cut_in_the_model_is_no_fault():
    assert faults(film_with(order=tuple(dataclasses.replace(item, join=CUT) for item in ORDER))) == ()


def test_unused_kinds_of_values_are_looked_at_too():
    """A spot or cue in a scene that is set aside is looked at like any other."""
    film = small_film()
    content = SceneContent(
        cues=(Cue(id="m9", length_frames=0),),
        spots=(Spot(id="f9", file="a", start_frames=0, length_frames=0),),
    )
    scenes = [dataclasses.replace(item, content=content) if item.id == "s3" else item for item in film.scenes]
    places = [fault.place for fault in faults(dataclasses.replace(film, scenes=tuple(scenes)))]
    assert places == ["scenes[2].content.cues[0].length_frames", "scenes[2].content.spots[0].length_frames"]


def test_a_card_may_be_empty():
    assert faults(with_card(lines=(), name="")) == ()
    assert faults(film_with(cards=(Card(id="k1"), small_film().cards[1]))) == ()
