"""The cue sheet, against worked examples and the manifest of a whole assembly."""

import csv
import dataclasses
import html.parser
import io
import json
import random
from fractions import Fraction

import av
import pytest

from desk.assembly.cue_sheet import (
    csv_cell,
    cue_lines,
    cue_sheet_csv,
    cue_sheet_page,
    music_frames,
    whole_seconds,
)
from desk.ffmpeg.program import find_program
from desk.film.model import (
    Candidate,
    Card,
    CardKind,
    ClipSound,
    CreditBlock,
    Cue,
    Duck,
    MusicPart,
    Rights,
    Size,
    Spot,
    Voice,
)
from desk.film.rates import Rate
from desk.film.reading import reading_frames
from desk.film.rights import credit_line
from desk.film.timecode import parse_label
from desk.film.timing import Include, lay_out
from desk.footage.order import natural_key
from desk.sound.speech import Speech
from desk.store.project import open_film
from tests.making import make_numbered
from tests.render.films import SIZE, clip, make_film, run_assembly, scene
from tests.sound.signals import noise, write_sound

FILM_24 = Rate(24)
NTSC = Rate(30000, 1001)
RAIN = Rights(title="Rain", author="A. Bee", source="https://example.org/rain", licence="CC BY 4.0")


def cue(start, length, *, name="m1", rights=RAIN, file="music/rain.wav", under=None, duck=None, parts=()):
    candidate = Candidate(id=f"a{name}", file=file, rights=rights, under_voices_lu=under, parts=parts)
    return Cue(
        id=name,
        label=f"label {name}",
        start_frames=start,
        length_frames=length,
        candidates=(candidate,),
        chosen=candidate.id,
        duck=duck,
    )


def film_of(*scenes, rate=FILM_24, start_frames=0, **fields):
    film = make_film(rate, *scenes, **fields)
    return dataclasses.replace(film, start_frames=start_frames)


def lines_of(film):
    return cue_lines(film, lay_out(film, Include.ALL))


def table(film, lines):
    text = cue_sheet_csv(film, lines).decode("utf-8-sig")
    assert text.count("\n") == text.count("\r\n") == len(lines) + 1
    return list(csv.DictReader(io.StringIO(text, newline="")))


def test_the_worked_example():
    """00:00:10:00 to 00:01:05:12 at 24 is 1332 frames, 55.5 s, printed 0:56 (computed by hand).

    Spreadsheets take 0:56 for 56 minutes (common practice, no source), so the table has hours.
    """
    film = film_of(scene(clip("a.mov", 0, 2000), cues=(cue(240, 1332),)))
    (line,) = lines_of(film)
    assert (line.length_frames, film.rate.seconds(line.length_frames)) == (1332, Fraction(111, 2))
    (row,) = table(film, [line])
    assert row == {
        "Number": "1m1",
        "Label": "label m1",
        "Scene": film.scenes[0].number,
        "Title": "Rain",
        "Composer": "A. Bee",
        "Source": "https://example.org/rain",
        "Licence": "CC BY 4.0",
        "Usage": "featured",
        "Usage told from": "nobody is said to speak while it sounds",
        "In": "00:00:10:00",
        "Out": "00:01:05:12",
        "Duration": "00:00:55:12",
        "Seconds": "0:00:56",
    }
    assert whole_seconds(film, 1332) == "0:56"
    assert whole_seconds(film, 1331) == "0:55"
    page = cue_sheet_page(film, lay_out(film, Include.ALL), [line]).decode()
    assert "<td>00:00:55:12</td><td>0:56</td>" in page


def test_more_than_an_hour_of_music():
    film = film_of(scene(clip("a.mov", 0, 100_000), cues=(cue(0, 24 * 3661),)))
    (row,) = table(film, lines_of(film))
    assert row["Seconds"] == "1:01:01"
    assert whole_seconds(film, 24 * 3661) == "61:01"


def test_cues_are_numbered_in_the_order_of_the_film():
    """The order of 1m2 before 1m10 is the natural one; scenes in the running order, not as they were made."""
    cues = [cue(start, 5, name=f"m{start}") for start in range(0, 60, 5)]
    random.Random(4).shuffle(cues)
    first, second = (scene(clip("a.mov", 0, 80), cues=tuple(part)) for part in (cues[:7], cues[7:]))
    film = film_of(first, second)
    lines = lines_of(film)
    numbers = [line.number for line in lines]
    assert numbers == [f"1m{count}" for count in range(1, 13)] == sorted(numbers, key=natural_key)
    assert [line.start_frames for line in lines] == sorted(line.start_frames for line in lines)
    turned = dataclasses.replace(film, order=film.order[::-1])
    assert [line.scene for line in lines_of(turned)] == [film.scenes[1].number] * 5 + [
        film.scenes[0].number
    ] * 7


def test_what_is_not_in_the_assembly_is_not_on_the_sheet():
    early = cue(-30, 50)
    late = cue(90, 60, name="m2")
    outside = cue(200, 10, name="m3")
    undecided = dataclasses.replace(cue(0, 10, name="m4"), chosen="")
    film = film_of(scene(clip("a.mov", 0, 100), cues=(early, late, outside, undecided)))
    assert [(line.start_frames, line.end_frames) for line in lines_of(film)] == [(0, 20), (90, 100)]
    assert cue_lines(film, lay_out(film, Include.SLATES)) == ()


def test_usage_and_what_it_is_told_from():
    speaking = clip("a.mov", 0, 100, sound=ClipSound(voice="v1"))
    film = film_of(
        scene(
            speaking,
            clip("a.mov", 0, 100),
            cues=(
                cue(0, 20, duck=Duck()),
                cue(120, 20, name="m2", under=12.0),
                cue(90, 20, name="m3"),
                cue(100, 20, name="m4"),
            ),
        ),
        voices=(Voice(id="v1", name="Ada"),),
    )
    assert [(line.usage, line.told_from) for line in lines_of(film)] == [
        ("background", "it goes down under speech"),
        ("background", "somebody speaks while it sounds"),
        ("featured", "nobody is said to speak while it sounds"),
        ("background", "it is set below the voices"),
    ]


@pytest.mark.parametrize(
    ("cell", "written"),
    [
        ("=1+1", '"\'=1+1"'),
        ("-3 dB", '"\'-3 dB"'),
        ("+44 20", '"\'+44 20"'),
        ("@x", '"\'@x"'),
        ("\t=1", '"\'\t=1"'),
        ("\r=1", '"\'\r=1"'),
        ("＝1", '"\'＝1"'),
        ("a=b", "a=b"),
        ("1m1", "1m1"),
        ('say "hi", now', '"say ""hi"", now"'),
        ("", ""),
    ],
)
def test_cells_are_safe_in_a_spreadsheet(cell, written):
    """RFC 4180, and OWASP, "CSV Injection" (CWE-1236)."""
    assert csv_cell(cell) == written


class _Page(html.parser.HTMLParser):
    def __init__(self):
        super().__init__()
        self.tags, self.texts, self.links = [], [], []

    def handle_starttag(self, tag, attrs):
        self.tags.append(tag)
        self.links += [value for name, value in attrs if name in ("src", "href", "data", "style", "onclick")]

    def handle_data(self, data):
        self.texts.append(data)


def test_the_page_is_whole_in_itself_and_shows_text_as_text():
    evil = Rights(
        title="<script>alert(1)</script>",
        author='"><img src=x onerror=alert(1)>',
        source="javascript:alert(1)",
        licence="CC BY-ND 4.0",
    )
    film = film_of(
        scene(clip("a.mov", 0, 100), cues=(cue(0, 40, rights=evil), cue(30, 40, name="m2", rights=Rights())))
    )
    film = dataclasses.replace(film, title="Fog & <b>Sons</b>")
    layout = lay_out(film, Include.ALL)
    lines = cue_lines(film, layout)
    page = _Page()
    page.feed(cue_sheet_page(film, layout, lines).decode())
    assert not {"script", "img", "b", "link", "iframe"} & set(page.tags)
    assert page.links == []
    whole = " ".join(page.texts)
    assert "<script>alert(1)</script>" in page.texts
    assert "Fog & <b>Sons</b>" in page.texts
    assert page.tags.count("tr") == 3
    for told in (
        "1m1: It may not be adapted, and music set to picture is an adaptation: ask its maker first.",
        "1m2: not entered: title, author, licence.",
        "1m1 and 1m2 overlap.",
        "This is no legal advice: the licence itself counts.",
    ):
        assert told in whole


def notes(film):
    layout = lay_out(film, Include.ALL)
    page = _Page()
    page.feed(cue_sheet_page(film, layout, cue_lines(film, layout)).decode())
    return [text for text in page.texts if text.strip()]


def test_the_page_credits_each_piece_as_the_card_does_with_all_its_cues():
    parts = (MusicPart(in_seconds=Fraction(0), length_seconds=Fraction(1)),)
    film = film_of(
        scene(
            clip("a.mov", 0, 300),
            cues=(cue(0, 40), cue(50, 40, name="m2", parts=parts), cue(100, 40, name="m3")),
        )
    )
    told = notes(film)
    assert f"1m1, 1m3: {credit_line(RAIN, 'set to picture')}" in told
    assert f"1m2: {credit_line(RAIN, 'edited from the original')}" in told


def test_each_piece_without_rights_is_told():
    film = film_of(
        scene(
            clip("a.mov", 0, 300),
            cues=(
                cue(0, 40, rights=Rights(), file="music/a.wav"),
                cue(50, 40, name="m2", rights=Rights(), file="music/b.wav"),
            ),
        )
    )
    lacking = "not entered: title, author, licence."
    assert {f"1m1: {lacking}", f"1m2: {lacking}"} <= set(notes(film))


def test_the_page_names_effects_that_have_to_be_credited():
    bell = Rights(title="Bell", author="D. Ohm", source="https://example.org/bell", licence="CC BY 4.0")
    spots = tuple(
        Spot(id=f"f{at}", file=f"{at}.wav", start_frames=at, length_frames=9, rights=rights)
        for at, rights in enumerate((bell, bell, Rights(title="Door", licence="own work"), Rights()))
    )
    film = film_of(scene(clip("a.mov", 0, 100), cues=(cue(0, 40),), spots=spots))
    told = [text for text in notes(film) if text.startswith("Effect")]
    assert told == [f"Effect: {credit_line(bell, 'set to picture')}"]
    assert len(lines_of(film)) == 1


def test_music_under_speech_that_was_heard_is_in_the_background():
    """Where nobody is said to speak, what was listened to tells it: here the second second of each clip."""
    talk = Speech(stretches=((48_000, 96_000),), loudness_lufs=-23.0)
    own = ClipSound()
    film = film_of(
        scene(clip("a.mov", 0, 72, sound=own), cues=(cue(0, 24), cue(24, 24, name="m2"))),
        scene(clip("b.mov", 0, 72, sound=own), cues=(cue(0, 24, name="m3"), cue(47, 20, name="m4"))),
    )
    layout = lay_out(film, Include.ALL)
    lines = cue_lines(film, layout, lambda span: talk)
    heard = ("background", "somebody was heard to speak while it sounds")
    alone = ("featured", "nobody is said to speak while it sounds")
    assert [(line.usage, line.told_from) for line in lines] == [alone, heard, alone, heard]
    assert {line.usage for line in cue_lines(film, layout)} == {"featured"}


def test_the_page_breaks_long_words_so_that_all_columns_fit():
    """A link or the name of a file has no space to be broken at, and pushed the lengths off the page."""
    film = film_of(scene(clip("a.mov", 0, 100), cues=(cue(0, 40),)))
    layout = lay_out(film, Include.ALL)
    page = cue_sheet_page(film, layout, cue_lines(film, layout)).decode()
    heads = page.partition("<thead>")[2].partition("</thead>")[0].split("</th>")
    for name in ("Title", "Composer", "Source"):
        column = next(number for number, head in enumerate(heads, 1) if head.endswith(f">{name}"))
        assert f"td:nth-child({column})" in page.partition("{overflow-wrap:anywhere}")[0]


def test_music_that_overlaps_counts_once():
    film = film_of(
        scene(
            clip("a.mov", 0, 200),
            cues=(cue(0, 50), cue(10, 20, name="m2"), cue(40, 30, name="m3"), cue(100, 9, name="m4")),
        )
    )
    assert music_frames(lines_of(film)) == 79


@pytest.mark.ffmpeg
def test_the_times_are_those_of_the_manifest(tmp_path):
    picture = tmp_path / "a.mov"
    make_numbered(picture, rate=NTSC, frames=60, size=(SIZE.width, SIZE.height))
    music = write_sound(tmp_path / "rain.wav", noise(4))
    parts = (
        MusicPart(in_seconds=Fraction(1), length_seconds=Fraction(1, 2)),
        MusicPart(in_seconds=Fraction(0), length_seconds=Fraction(1, 3)),
    )
    film = make_film(
        NTSC,
        scene(
            clip(picture, 0, 31),
            cues=(cue(-3, 20, file=str(music)), cue(20, 25, name="m2", file=str(music), parts=parts)),
        ),
        scene(clip(picture, 0, 29), cues=(cue(4, 20, name="m3", file=str(music)),)),
        size=Size(128, 72),
    )
    film = dataclasses.replace(film, start_frames=107_892, drop_frame=True)
    made = run_assembly(tmp_path / "project", find_program(), film)
    names = [path.name for path in made.files]
    manifest = json.loads(next(path for path in made.files if path.suffix == ".json").read_text())
    sheet = manifest["copy"]["cue_sheet"]
    assert sheet == [name for name in names if ".cue-sheet." in name]
    assert [name.rpartition(".")[2] for name in sheet] == ["csv", "html"]
    told = (made.files[0].parent / sheet[0]).read_bytes().decode("utf-8-sig")
    rows = list(csv.DictReader(io.StringIO(told, newline="")))
    sounds = [sound for entry in manifest["entries"] for sound in entry["sounds"] if sound["lane"] == "music"]
    assert [sound.get("parts") for sound in sounds] == [None, [["1", "1/2"], ["0", "1/3"]], None]
    frames = manifest["film"]["frames"]
    wanted = [(max(0, sound["start"]), min(frames, sound["start"] + sound["frames"])) for sound in sounds]
    found = [
        tuple(parse_label(row[name], NTSC)[0] - film.start_frames for name in ("In", "Out")) for row in rows
    ]
    assert found == wanted == [(0, 17), (20, 45), (35, 55)]
    assert rows[0]["In"] == manifest["film"]["start_timecode"]


@pytest.mark.ffmpeg
def test_without_music_there_is_no_sheet(tmp_path):
    picture = tmp_path / "a.mov"
    make_numbered(picture, rate=NTSC, frames=20, size=(SIZE.width, SIZE.height))
    made = run_assembly(tmp_path / "project", find_program(), make_film(NTSC, scene(clip(picture, 0, 10))))
    assert not any(".cue-sheet." in path.name for path in made.files)
    manifest = json.loads(next(path for path in made.files if path.suffix == ".json").read_text())
    assert manifest["copy"]["cue_sheet"] == []


@pytest.mark.ffmpeg
def test_a_credit_card_names_the_music_that_is_in_the_copy(tmp_path):
    picture = tmp_path / "a.mov"
    make_numbered(picture, rate=NTSC, frames=60, size=(SIZE.width, SIZE.height))
    music = write_sound(tmp_path / "rain.wav", noise(4))
    card = Card(id="k1", kind=CardKind.CREDITS, credits=(CreditBlock(fills="music"),))
    film = make_film(NTSC, scene(clip(picture, 0, 31), cues=(cue(0, 20, file=str(music)),)), card)
    made = run_assembly(tmp_path / "project", find_program(), film)
    assert open_film(tmp_path / "project").film.cards == (card,)
    manifest = json.loads(next(path for path in made.files if path.suffix == ".json").read_text())
    words = f"Music {credit_line(RAIN, 'set to picture')}"
    assert manifest["entries"][1]["frames"] == max(90, reading_frames(words, NTSC)) > 90
    assert made.layout.slots[1].entry.credits[0].rows[0].names == (credit_line(RAIN, "set to picture"),)
    with av.open(str(made.files[0])) as container:
        pictures = [frame.to_ndarray(format="gray") for frame in container.decode(video=0)]
    assert len(pictures) == made.layout.length_frames
    assert (pictures[60] > 32).sum() > 20, "nothing is written on the card"
