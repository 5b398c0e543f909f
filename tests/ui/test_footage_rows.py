"""The files of a scene as rows: their order, what is said of them, and what is offered for them."""

from fractions import Fraction

import pytest

from desk.film.model import Candidate, Clip, ClipSound, Cue, SceneContent, SoundKind, Spot
from desk.film.rates import Rate
from desk.ui.cutting.footage.menu import FootageCommand, offers
from desk.ui.cutting.footage.rows import FootageKind, FootageRows, kind_of, matches
from tests.film.films import facts
from tests.ui.scene_parts import MISSING

RATE = Rate(25)
FOLDER = "footage/2"


def clip(clip_id, source, **sound):
    return Clip(id=clip_id, source=source, length_frames=10, sound=ClipSound(**sound))


def rows(content=None, *names, folder=FOLDER, added=(), known=None):
    files = tuple(f"{folder}/{name}" for name in names)
    known = {path: facts() for path in files} if known is None else known
    return FootageRows().of(
        content or SceneContent(),
        folder=folder,
        files=files,
        added=added,
        known=known,
        rate=RATE,
    )


def test_natural_order_pictures_before_sounds_before_what_lies_elsewhere():
    content = SceneContent(clips=(clip("c1", "../shared/z2.mov"), clip("c2", "../shared/z10.mov")))
    found = rows(content, "b10.wav", "b2.mov", "b10.mov", "b1.wav", added=("../disk/a.mov",))
    assert [row.path for row in found] == [
        "footage/2/b2.mov",
        "footage/2/b10.mov",
        "footage/2/b1.wav",
        "footage/2/b10.wav",
        "../disk/a.mov",
        "../shared/z2.mov",
        "../shared/z10.mov",
    ]
    assert [row.is_added for row in found] == [False] * 4 + [True, False, False]


def test_chapters_of_a_recording_follow_each_other():
    """Two letters, chapter, recording (common practice, no source): by name AB010002 is before AB020001."""
    names = ("AB010001.MP4", "AB010002.MP4", "AB020001.MP4")
    assert [row.name for row in rows(None, *names)] == ["AB010001.MP4", "AB020001.MP4", "AB010002.MP4"]


def test_every_use_counts():
    sound = {"kind": SoundKind.SEPARATE, "file": "footage/2/r.wav"}
    content = SceneContent(
        clips=(clip("c1", "footage/2/a.mov", **sound), clip("c2", "footage/2/a.mov", **sound)),
        spots=(Spot(id="f1", file="footage/2/r.wav", start_frames=0, length_frames=3),),
        cues=(
            Cue(
                id="m1",
                length_frames=9,
                candidates=(Candidate(id="a1", file="m/1.wav"), Candidate(id="a2", file="m/2.wav")),
                chosen="a2",
            ),
        ),
    )
    found = {row.path: row.uses for row in rows(content, "a.mov", "b.mov", "r.wav")}
    assert found == {
        "footage/2/a.mov": 2,
        "footage/2/b.mov": 0,
        "footage/2/r.wav": 3,
        "m/1.wav": 0,
        "m/2.wav": 1,
    }


def test_rows_that_were_made_before_follow_what_changes():
    making = FootageRows()
    path = "footage/2/a.mov"
    used = SceneContent(clips=(clip("c1", path),))

    def of(content, known, rate=RATE, folder=FOLDER, added=()):
        files = (path,) if folder else ()
        (row,) = making.of(content, folder=folder, files=files, added=added, known=known, rate=rate)
        return row

    known = {path: facts(2)}
    first = of(SceneContent(), known)
    assert of(SceneContent(), known) is first
    assert of(used, known).uses == 1
    assert of(SceneContent(), known) == first
    assert of(SceneContent(), {path: facts(3)}).length == "0:03:00"
    assert of(SceneContent(), {path: MISSING}).trouble == "missing"
    assert of(SceneContent(), known, Rate(50)).length == "0:02:00"
    assert of(used, known, folder="").origin == "from 2"
    assert of(SceneContent(), known, folder="", added=(path,)).is_added


def test_what_is_said_of_footage_and_sound():
    known = {
        "footage/2/card/a.mov": facts(Fraction("4.2"), width=2048, height=1080),
        "footage/2/r.wav": facts(None, sound=61),
        "footage/2/new.mov": None,
    }
    known = {path: item for path, item in known.items() if item}
    new, picture, sound = rows(None, "card/a.mov", "new.mov", "r.wav", known=known)
    assert (picture.length, picture.format, picture.origin) == ("0:04:05", "2048×1080 · 24", "in card")
    assert (sound.length, sound.format, sound.kind) == ("1:01:00", "48 kHz · stereo", FootageKind.SOUND)
    assert (new.format, new.length, new.is_known) == ("not read yet", "", False)
    assert picture.spoken == "a.mov, 0:04:05, 2048×1080 · 24, in card, not used"


def test_what_can_not_be_read_says_so():
    known = {
        "footage/2/a.mov": MISSING,
        "footage/2/b.wav": facts(),
        "footage/2/n.mov": facts(None, sound=None),
    }
    missing, raw, nothing, _ = rows(None, "a.mov", "b.wav", "c.R3D", "n.mov", known=known)
    assert (missing.trouble, missing.told) == (
        "missing",
        "It is missing. Connect its disk, or say where it is now.",
    )
    assert raw.trouble == "raw, can't be read"
    assert "Make a .mov or .mxf" in raw.told
    assert nothing.trouble == "no picture, no sound"
    assert not any(row.is_known for row in (missing, raw, nothing))


@pytest.mark.parametrize(
    ("path", "known", "kind"),
    [
        ("a.mov", None, FootageKind.PICTURE),
        ("a.mov", facts(None), FootageKind.SOUND),
        ("a.mp3", facts(), FootageKind.SOUND),  # with a picture of its cover
        ("a.braw", None, FootageKind.NEITHER),
    ],
)
def test_kinds(path, known, kind):
    assert kind_of(path, known) is kind


def test_finding_rows():
    used, other = rows(SceneContent(clips=(clip("c1", "footage/2/Pier 1.mov"),)), "Pier 1.mov", "Quay.mov")
    assert matches(used, "pier 1080", unused_only=False)
    assert not matches(other, "pier", unused_only=False)
    assert not matches(used, "", unused_only=True)
    assert matches(other, "", unused_only=True)


def offered(*found, clip=""):
    return [offer.command for group in offers(found, clip=clip) for offer in group]


def test_offers():
    known = {"footage/2/a.mov": facts(), "footage/2/s.wav": facts(None), "footage/2/x.mov": MISSING}
    content = SceneContent(clips=(clip("c1", "footage/2/a.mov"), clip("c2", "footage/2/x.mov")))
    picture, missing, sound = rows(content, "a.mov", "x.mov", "s.wav", known=known)
    command = FootageCommand
    adding = [command.ADD_IN_ORDER, command.ADD_AT_PLAYHEAD, command.ADD_AT_END]
    looking = [command.SHOW, command.FIND_USES, command.OPEN_FOLDER]
    replacing = [command.REPLACE, command.REPLACE_FROM_START]
    assert offered(picture) == [*adding, *looking]
    assert offered(picture, clip="clip 2") == [*adding, *replacing, *looking]
    assert offered(sound) == [command.AS_SPOT, command.AS_CUE, command.OPEN_FOLDER]
    assert offered(missing) == [command.FIND_USES, command.FIND_FILE, command.FIND_ALL]
    assert offered(picture, sound) == [*adding, command.AS_SPOT, command.AS_CUE]
    assert offered() == []
    texts = [offer.text for group in offers([picture, picture]) for offer in group]
    assert texts[0] == "Add 2 files in natural order"


def test_only_what_was_put_on_the_list_is_taken_off():
    (added,) = rows(None, added=("../disk/a.mov",))
    assert FootageCommand.TAKE_OFF in offered(added)
