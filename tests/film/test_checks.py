"""What blocks an assembly and what deserves a look, each by a film in which it happens."""

import dataclasses
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from desk.film import edits
from desk.film.checks import MediaTrouble, Problem, Severity, check, problems_of_faults
from desk.film.faults import faults
from desk.film.model import (
    Card,
    ClipSound,
    Film,
    Fit,
    Framing,
    Join,
    JoinKind,
    Motion,
    Rights,
    Scene,
    Size,
    SoundKind,
)
from desk.film.paths import film_paths
from desk.film.rates import Rate
from desk.film.timing import Include
from tests.film.editing import locked
from tests.film.films import HASH, facts, films, small_film

FILM = small_film()
GONE = MediaTrouble("The file is missing.", "Connect the disk that it is on.", "media.missing")


def all_facts(film: Film = FILM, **changed):
    """Good footage for every file, but for those that are told by their last part, without its ending."""
    known = {path: facts() for path in film_paths(film)}
    for path in known:
        known[path] = changed.get(path.rpartition("/")[2].partition(".")[0], known[path])
    return known


def found(film: Film, code: str, include: Include = Include.ALL, **changed) -> list[Problem]:
    return [problem for problem in check(film, all_facts(film, **changed), include) if problem.code == code]


def one(film: Film, code: str, include: Include = Include.ALL, **changed) -> Problem:
    (problem,) = found(film, code, include, **changed)
    return problem


def with_clip(scene_id: str, **fields) -> Film:
    """The small film with something else in the first clip of a scene."""
    scene = FILM.scene(scene_id)
    first, *rest = scene.content.clips
    content = dataclasses.replace(scene.content, clips=(dataclasses.replace(first, **fields), *rest))
    return edits.set_content(FILM, scene_id, content, "x").after


def with_card(card_id: str, **fields) -> Film:
    return edits.edit_card(FILM, card_id, **fields).after


def test_a_film_in_order_has_nothing_that_blocks():
    told = check(FILM, all_facts(), Include.ALL)
    assert {problem.severity for problem in told} == {Severity.LOOK}
    assert {problem.code for problem in told} == {"scene.unlocked", "scene.no-purpose"}


def test_what_blocks_comes_first():
    told = check(FILM, all_facts(lamp=GONE), Include.ALL)
    assert [problem.severity for problem in told] == sorted(problem.severity for problem in told)
    assert told[0].code == "media.missing"


# Media


def test_missing_media_blocks_where_it_is_used():
    problem = one(FILM, "media.missing", quay=GONE)
    assert problem == Problem(
        severity=Severity.BLOCKS,
        place="s1",
        subject="Scene 1, clip 1",
        sentence="“footage/1/quay.mov”: The file is missing.",
        advice="Connect the disk that it is on.",
        code="media.missing",
    )
    assert one(FILM, "media.missing", tide=GONE).subject == "Scene 1, cue m1"
    assert one(FILM, "media.missing", horn=GONE).severity is Severity.BLOCKS


def test_missing_media_of_what_is_not_made_deserves_a_look():
    assert one(FILM, "media.missing", fog=GONE).severity is Severity.LOOK  # tried, not chosen
    assert one(FILM, "media.missing", Include.LOCKED, quay=GONE).severity is Severity.LOOK  # a draft
    assert one(FILM, "media.missing", Include.SLATES, quay=GONE).severity is Severity.LOOK
    assert one(locked(FILM, "s1"), "media.missing", Include.SLATES, quay=GONE).severity is Severity.BLOCKS
    aside = edits.set_aside(FILM, ["s1"]).after
    problem = one(aside, "media.missing", quay=GONE)
    assert (problem.severity, problem.place) == (Severity.LOOK, "s1")


def test_a_file_used_more_than_once_is_told_once():
    clip = FILM.scene("s1").content.clips[0]
    film = with_clip("s1", source="footage/1/kiosk.mov")
    problem = one(film, "media.missing", kiosk=GONE)
    assert problem.subject == "Scene 1, clip 1 and clip 2"
    assert clip.source not in film_paths(film)


def test_a_file_that_was_not_read_blocks():
    told = [problem.code for problem in check(FILM, {}, Include.ALL) if problem.severity is Severity.BLOCKS]
    assert told == ["media.unread"] * 6


def test_a_trouble_that_names_its_file_is_told_as_it_is():
    trouble = MediaTrouble("“/disk/footage/1/quay.mov” is cut off.", "Copy it again.", "media.truncated")
    assert one(FILM, "media.truncated", quay=trouble).sentence == trouble.sentence


def test_a_clip_needs_a_picture_and_a_sound_needs_sound():
    assert one(FILM, "media.no-picture", quay=facts(None)).subject == "Scene 1, clip 1"
    assert one(FILM, "media.no-sound", tide=facts(sound=None)).subject == "Scene 1, cue m1"
    assert one(FILM, "media.no-sound", horn=facts(sound=None)).severity is Severity.BLOCKS
    assert found(FILM, "media.no-sound", quay=facts(sound=None)) == []  # a camera without a microphone
    film = with_clip("s2", sound=ClipSound(kind=SoundKind.SEPARATE, file="v.wav"))
    assert (
        one(film, "media.no-sound", v=facts(None, sound=None)).subject
        == "Scene 2, separate recording of clip 1"
    )


# Clips


@pytest.mark.parametrize(
    ("seconds", "told"),
    [
        (Fraction(7), None),  # 3 s in, 96 frames are 4 s: exactly enough
        (
            Fraction(7) - Fraction(1, 24),
            "It runs 1 frame beyond the end of its footage “footage/2/ticket.mov”.",
        ),
        (Fraction(6), "It runs 24 frames beyond the end of its footage “footage/2/ticket.mov”."),
        (Fraction(3), "It begins beyond the end of its footage “footage/2/ticket.mov”."),
        (Fraction(1), "It begins beyond the end of its footage “footage/2/ticket.mov”."),
    ],
)
def test_clips_beyond_their_footage(seconds, told):
    problems = found(FILM, "clip.overrun", ticket=facts(seconds))
    assert [problem.sentence for problem in problems] == ([told] if told else [])
    assert all(problem.severity is Severity.BLOCKS for problem in problems)


@pytest.mark.parametrize(
    ("size", "framing", "percent"),
    [
        ((1920, 1080), Framing(), None),
        ((1920, 1080), Framing(scale=1.004), None),
        ((1920, 1080), Framing(scale=1.25), 25),
        ((1280, 720), Framing(), 50),
        ((3840, 2160), Framing(scale=2), None),
        ((3840, 2160), Framing(scale=2.5), 25),
        ((1080, 1920), Framing(), None),
        ((1080, 1920), Framing(fit=Fit.FILL), 78),  # 1920 / 1080
    ],
)
def test_framing_that_enlarges(size, framing, percent):
    film = with_clip("s2", framing=framing)
    problems = found(film, "framing.enlarges", ticket=facts(width=size[0], height=size[1]))
    assert [problem.severity for problem in problems] == ([Severity.LOOK] if percent else [])
    assert all(f"by {percent} %" in problem.sentence for problem in problems)


def test_framing_follows_rotation_and_pixel_shape():
    upright = facts(width=1080, height=1920, rotation_degrees=90)
    assert found(FILM, "framing.enlarges", ticket=upright) == []
    narrow = facts(width=1440, height=1080, pixel_aspect=Fraction(4, 3))
    assert found(FILM, "framing.enlarges", ticket=narrow) == []


def test_own_sound_at_another_speed():
    film = with_clip("s2", speed=Fraction(1, 4))
    assert "1/4 times its speed, and is lower" in one(film, "sound.pitch").sentence
    assert "higher" in one(with_clip("s2", speed=Fraction(2)), "sound.pitch").sentence
    assert found(film, "sound.pitch", ticket=facts(sound=None)) == []
    silent = with_clip("s2", speed=Fraction(1, 4), sound=ClipSound(kind=SoundKind.SILENCE))
    assert found(silent, "sound.pitch") == []


def test_high_rate_footage_played_frame_by_frame_is_fine():
    silent = with_clip("s2", speed=Fraction(24, 100), sound=ClipSound(kind=SoundKind.SILENCE))
    told = check(silent, all_facts(silent, ticket=facts(rate=Rate(100), sound=None)), Include.ALL)
    assert [problem.code for problem in told if problem.place == "s2"] == ["scene.unlocked"]


@pytest.mark.parametrize(
    ("picture", "code"),
    [
        ({"variable": True}, "media.variable-rate"),
        ({"interlaced": True}, "media.interlaced"),
        ({"transfer": "smpte2084"}, "media.hdr"),
        ({"transfer": "arib-std-b67"}, "media.hdr"),
        ({"matrix": ""}, "media.untagged"),
        ({"transfer": ""}, "media.untagged"),
    ],
)
def test_kinds_of_footage(picture, code):
    problem = one(FILM, code, kiosk=facts(**picture))
    assert (problem.severity, problem.subject) == (Severity.LOOK, "Scene 1")
    assert "“footage/1/kiosk.mov”" in problem.sentence
    both = one(FILM, code, kiosk=facts(**picture), quay=facts(**picture))
    assert both.sentence.endswith("“footage/1/quay.mov” and “footage/1/kiosk.mov”.")


# Sound


def test_music_and_effects_beyond_their_files():
    # The cue is 100 frames from second 0, the horn 24.
    assert one(FILM, "sound.short", tide=facts(None, sound=Fraction(90, 24))).sentence == (
        "“music/tide.wav” has no sound for its last 10 frames."
    )
    assert found(FILM, "sound.short", tide=facts(None, sound=Fraction(100, 24))) == []
    assert one(FILM, "sound.short", horn=facts(None, sound=Fraction(23, 24))).subject == "Scene 1, spot horn"
    assert "last 24 frames" in one(FILM, "sound.short", horn=facts(None, sound=0)).sentence


def test_own_sound_may_be_a_little_shorter_than_the_picture():
    # The clip's 96 frames end at 7 s.
    assert found(FILM, "sound.short", ticket=facts(7, sound=Fraction("6.9"))) == []
    assert "last 12 frames" in one(FILM, "sound.short", ticket=facts(7, sound=Fraction("6.5"))).sentence


def test_a_lead_without_sound_before_the_head():
    film = with_clip("s4", sound=ClipSound(lead_frames=30))  # one second, 24 frames, before its head
    assert "first 6 frames" in one(film, "sound.short").sentence
    assert found(with_clip("s4", sound=ClipSound(lead_frames=24)), "sound.short") == []


@pytest.mark.parametrize(
    ("start", "told"),
    [
        (-99, None),
        (-100, "It ends before the scene begins."),
        (119, None),
        (120, "It begins after the scene's end."),
    ],
)
def test_music_outside_its_scene(start, told):
    content = FILM.scene("s1").content
    cue = dataclasses.replace(content.cues[0], start_frames=start)
    film = edits.set_content(FILM, "s1", dataclasses.replace(content, cues=(cue,)), "x").after
    problems = found(film, "sound.outside")
    assert [(problem.subject, problem.sentence) for problem in problems] == (
        [("Scene 1, cue m1", told)] if told else []
    )


def test_music_without_a_licence():
    film = edits.choose_candidate(FILM, "s1", "m1", "a2").after
    problem = one(film, "music.no-licence")
    assert problem.severity is Severity.LOOK
    assert problem.sentence == "No licence is entered for its music “music/fog.wav”."
    assert "no legal advice" in problem.advice
    assert found(FILM, "music.no-licence") == []
    content = FILM.scene("s1").content
    tide = dataclasses.replace(content.cues[0].candidates[0], rights=Rights(title="Tide", licence=" "))
    cue = dataclasses.replace(content.cues[0], candidates=(tide,))
    blank = edits.set_content(FILM, "s1", dataclasses.replace(content, cues=(cue,)), "x").after
    assert "“Tide”" in one(blank, "music.no-licence").sentence


# Scenes and cards


def test_scenes_that_are_not_locked():
    told = {
        include: [item.sentence for item in found(FILM, "scene.unlocked", include)] for include in Include
    }
    assert told[Include.LOCKED] == ["It is not locked, so it is left out."] * 3
    assert told[Include.ALL] == ["It is not locked, and goes in as a draft."] * 3
    assert told[Include.SLATES] == ["It is not locked, so a slate stands in for it."] * 3
    assert len(found(locked(FILM, "s1"), "scene.unlocked")) == 2


def test_scenes_without_a_purpose_or_clips():
    problem = one(FILM, "scene.no-purpose")
    assert (problem.place, problem.sentence) == ("s4", "It has no purpose, so it is the first to question.")
    film = edits.put_back(FILM, ["s3"]).after
    assert one(film, "scene.empty").sentence == "It has no clips yet, so it is left out."
    assert "slate" in one(film, "scene.empty", Include.SLATES).sentence
    assert found(FILM, "scene.empty") == []  # set aside


@pytest.mark.parametrize(
    ("include", "severity"),
    [(Include.LOCKED, Severity.BLOCKS), (Include.ALL, Severity.LOOK), (Include.SLATES, Severity.LOOK)],
)
def test_broken_locks(include, severity):
    film = locked(FILM, "s2")
    assert found(film, "lock.broken", include) == []
    problem = one(film, "lock.broken", include, ticket=dataclasses.replace(facts(), sample_hash="1" * 32))
    assert (problem.severity, problem.place, problem.subject) == (severity, "s2", "Scene 2")
    assert (
        problem.sentence
        == "Its lock is broken: its file “footage/2/ticket.mov” is not the one that was locked."
    )
    missing = one(film, "lock.broken", include, ticket=GONE)
    assert "is missing or can't be read" in missing.sentence
    scene = film.scene("s2")
    changed = dataclasses.replace(scene, content=dataclasses.replace(scene.content, grade_note="x"))
    by_hand = dataclasses.replace(
        film, scenes=tuple(changed if item.id == "s2" else item for item in film.scenes)
    )
    assert one(by_hand, "lock.broken", include).severity is severity
    aside = edits.set_aside(by_hand, ["s2"]).after
    assert one(aside, "lock.broken", include).severity is Severity.LOOK


def test_cards():
    twenty = " ".join(["word"] * 20)  # 6.667 s at 180 words a minute: 160 frames at 24
    film = with_card("k1", lines=(twenty,), length_frames=159)
    assert one(film, "card.too-short").sentence == "It stands 159 frames, and reading it takes 160."
    assert found(with_card("k1", lines=(twenty,), length_frames=160), "card.too-short") == []
    assert (
        found(with_card("k1", lines=(twenty,), length_frames=9, motion=Motion.ROLL), "card.too-short") == []
    )
    empty = one(with_card("k2", credits=()), "card.empty")
    assert (empty.severity, empty.subject) == (Severity.LOOK, "Card “Credits”")
    assert "left out" in empty.sentence


def test_the_picture_behind_a_card():
    film = with_card("k1", picture="stills/sea.png")
    assert one(film, "media.missing", sea=GONE).severity is Severity.BLOCKS
    still = MediaTrouble("It is a still picture.", "", "media.still")
    assert found(film, "media.still", sea=still) == []
    assert one(FILM, "media.still", quay=still).severity is Severity.BLOCKS  # as footage it is no use
    aside = edits.set_aside(film, ["k1"]).after
    assert one(aside, "media.missing", sea=GONE).severity is Severity.LOOK


# Joins and fades


def join(before: int, after: int, kind: JoinKind = JoinKind.DISSOLVE) -> Join:
    return Join(kind=kind, before_frames=before, after_frames=after)


def with_joins(**joins: Join) -> Film:
    film = FILM
    for placement in FILM.order:
        film = edits.set_join(film, placement.entry, joins.get(placement.entry, Join())).after
    return film


def test_black_deserves_a_look():
    film = edits.remove_clips(FILM, "s1", ["c1"], close=False).after
    problem = one(film, "clip.gap")
    assert (problem.severity, problem.place, problem.subject) == (Severity.LOOK, "s1", "Scene 1, clip 1")
    assert problem.sentence == "48 frames of black stand before it."
    assert one(edits.set_gap(FILM, "s1", "c2", 1).after, "clip.gap").sentence == (
        "1 frame of black stands before it."
    )
    assert found(FILM, "clip.gap") == []


def black_first(film: Film) -> Film:
    """Scene 2 with six frames of black before its clip."""
    return edits.set_gap(film, "s2", "c3", 6).after


@pytest.mark.parametrize("before", [0, 12])
def test_a_dissolve_does_not_go_into_black(before):
    problem = one(black_first(with_joins(s1=join(before, 12))), "join.gap")
    assert (problem.severity, problem.place) == (Severity.BLOCKS, "s1")
    assert problem.sentence == "Scene 2 begins with 6 frames of black, and the dissolve needs a clip there."
    assert problem.advice == "Close the gap before its first clip, or make it a cut."
    film = black_first(with_joins(s1=join(before, 12)))
    assert [item.code for item in check(film, all_facts(), Include.ALL) if item.code.startswith("join.")] == [
        "join.gap"
    ]
    assert found(film, "join.gap", Include.SLATES) == []
    assert found(edits.set_gap(film, "s2", "c3", 0).after, "join.gap") == []


def test_a_fade_through_black_ends_where_black_begins():
    film = black_first(with_joins(s1=join(12, 12, JoinKind.THROUGH_BLACK)))
    assert one(film, "join.gap").advice == (
        "Close the gap before its first clip. As it is, a fade through black of 12 frames fits: 12 before "
        "the cut and 0 after it."
    )
    assert found(black_first(with_joins(s1=join(12, 0, JoinKind.THROUGH_BLACK))), "join.gap") == []
    # What is too long on the other side is told beside it.
    film = black_first(with_joins(s1=join(80, 12, JoinKind.THROUGH_BLACK)))
    assert one(film, "join.too-long").sentence.endswith("end of scene 1, which leaves 72.")
    # Black before a later clip is no matter: the join lies within the first.
    assert found(edits.set_gap(with_joins(k1=join(4, 4)), "s1", "c2", 6).after, "join.gap") == []


def test_handles_that_are_too_short():
    # Scene 2 has 3 s, 72 frames, before its head; scene 1's last clip is 72 frames from second 1.
    assert found(with_joins(s1=join(72, 24)), "join.handles", kiosk=facts(5)) == []
    problem = one(with_joins(s1=join(12, 30)), "join.handles", kiosk=facts(5))
    assert problem == Problem(
        severity=Severity.BLOCKS,
        place="s1",
        subject="Join of scene 1 and scene 2",
        sentence="The handles are too short for the dissolve: 6 frames too few after the tail of scene 1 "
        "(24 of 30).",
        advice="A dissolve of 36 frames fits: 12 before the cut and 24 after it.",
        code="join.handles",
    )
    problem = one(with_joins(s2=join(30, 6)), "join.handles", ticket=facts(7))
    assert problem.sentence == (
        "The handles are too short for the dissolve: 6 frames too few before the head of scene 4 (24 of 30) "
        "and 6 frames too few after the tail of scene 2 (0 of 6)."
    )
    assert problem.advice == "A dissolve of 24 frames fits: 24 before the cut and 0 after it."
    problem = one(with_joins(s2=join(0, 6)), "join.handles", ticket=facts(6))
    assert problem.advice == "Only a cut fits; trim the clips to make room."


def test_a_fade_through_black_needs_no_handles():
    film = with_joins(s1=join(12, 12, JoinKind.THROUGH_BLACK))
    assert found(film, "join.handles", kiosk=facts(4)) == []


def test_joins_that_do_not_fit():
    # Scene 1's last clip has 72 frames, scene 2's only one 96, scene 4's 60.
    problem = one(with_joins(s1=join(73, 12, JoinKind.THROUGH_BLACK)), "join.too-long")
    assert problem.sentence == (
        "The fade through black does not fit: it takes 73 frames from the end of scene 1, which leaves 72."
    )
    assert problem.advice == "A fade through black of 84 frames fits: 72 before the cut and 12 after it."
    both = found(with_joins(s1=join(12, 50), s2=join(50, 12)), "join.too-long")
    assert [(problem.place, problem.severity) for problem in both] == [
        ("s1", Severity.BLOCKS),
        ("s2", Severity.BLOCKS),
    ]
    assert "from the beginning of scene 2, which leaves 46" in both[0].sentence
    assert found(with_joins(s1=join(12, 48), s2=join(24, 12)), "join.too-long") == []


def test_only_joins_of_this_assembly_are_looked_at():
    film = with_joins(s1=join(300, 300))
    assert found(film, "join.too-long", Include.LOCKED) == []
    moved = edits.move(film, ["s1"], 4).after  # the last entry meets nothing
    assert found(moved, "join.too-long") == []


def test_fades_of_the_film():
    # Title and credits stand 72 frames each; the fade through black before the credits takes 10 of theirs.
    film = edits.set_fades(FILM, 72, 62).after
    assert found(film, "fade.too-long") == []
    film = edits.set_fades(FILM, 73, 63).after
    fade_in, fade_out = found(film, "fade.too-long")
    assert (fade_in.place, fade_in.sentence) == ("k1", "It takes 73 frames, and card “Title” leaves 72.")
    assert (fade_out.place, fade_out.advice) == ("k2", "Make it 62 frames or shorter.")
    single = Film(
        title="", rate=FILM.rate, size=FILM.size, start_frames=0, cards=FILM.cards[:1], order=FILM.order[:1]
    )
    assert found(edits.set_fades(single, 36, 36).after, "fade.too-long") == []
    assert len(found(edits.set_fades(single, 36, 37).after, "fade.too-long")) == 1
    assert len(found(edits.set_fades(single, 90, 0).after, "fade.too-long")) == 1


# Nothing to assemble


def test_nothing_to_assemble():
    empty = Film(title="", rate=Rate(24), size=Size(640, 360), start_frames=0)
    assert one(empty, "film.nothing").sentence == (
        "There is nothing to assemble: it has no scenes in its running order."
    )
    assert one(FILM, "film.nothing", Include.LOCKED).severity is Severity.BLOCKS
    assert "None" not in one(FILM, "film.nothing", Include.LOCKED).sentence
    assert found(locked(FILM, "s1"), "film.nothing", Include.LOCKED) == []
    bare = edits.insert_scene(empty, 0).after
    assert "none of its scenes has clips" in one(bare, "film.nothing").sentence
    assert found(bare, "film.nothing", Include.SLATES) == []


def test_faults_as_problems():
    bad = dataclasses.replace(FILM, cards=(*FILM.cards[:1], Card(id="k2", roll_px=0)))
    (problem,) = problems_of_faults(faults(bad))
    assert (problem.severity, problem.subject) == (Severity.BLOCKS, "cards[1].roll_px")
    assert problem.sentence.startswith("The roll of card “Title” must be 1")


# Everything at once

TROUBLES = (GONE, MediaTrouble("It is a still picture.", "Choose footage.", "media.still"))


@settings(max_examples=150)
@given(films(), st.sampled_from(Include), st.integers(0, 40), st.data())
def test_every_problem_says_where_what_and_what_to_do(film, include, seconds, data):
    kinds = [
        facts(seconds),
        facts(None),
        facts(seconds, sound=None),
        facts(variable=True, matrix=""),
        *TROUBLES,
    ]
    known = {path: data.draw(st.sampled_from(kinds)) for path in film_paths(film)}
    told = check(film, known, include)
    entries = film.entries()
    for problem in told:
        assert problem.place in entries or problem.place == ""
        assert problem.subject[:1].isupper()
        assert problem.sentence.endswith(".")
        assert problem.sentence.isprintable()
        assert problem.advice
    assert check(film, known, include) == told
    aside = {item.entry for item in film.aside}
    assert not [item for item in told if item.place in aside and item.severity is Severity.BLOCKS]


def test_a_locked_scene_with_its_media_as_locked_is_not_broken():
    film = locked(FILM, "s1")
    assert facts().sample_hash == HASH
    assert isinstance(film.scene("s1"), Scene)
    assert found(film, "lock.broken", Include.LOCKED) == []
