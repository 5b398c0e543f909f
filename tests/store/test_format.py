"""The film file's form: what is written, what is read back, and what bad input is told."""

import dataclasses
import json
import types
import typing
from enum import Enum
from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from desk.errors import FilmFileError
from desk.film.model import Clip, ClipSound, Delivery, Film, Placement, Scene, SceneContent
from desk.film.rates import FILM_RATES, Rate
from desk.store.format import LARGEST_INT, Reading, decode, encode
from tests.store.films import AS_FORMAT_1_BEGAN, EVERY_FIELD, SMALLEST, titled

FORMATS = Path(__file__).parent / "formats"
PATH = Path("film.json")


def tree_of(film: Film) -> dict:
    return json.loads(encode(film, PATH))


def bytes_of(tree: object) -> bytes:
    return json.dumps(tree).encode()


def refusal(data: bytes) -> FilmFileError:
    with pytest.raises(FilmFileError) as caught:
        decode(data, PATH)
    error = caught.value
    assert "film.json" in error.message
    assert error.message.endswith(".")
    assert "\n" not in error.message
    assert error.advice
    return error


# ---- what is written


def test_the_example_of_format_1_opens_to_the_same_film_for_ever():
    # The file is never written again: what makes this fail needs a new format number and a migration.
    reading = decode((FORMATS / "film-1.json").read_bytes(), PATH)
    assert reading.film == AS_FORMAT_1_BEGAN
    assert (reading.unknown, reading.newer) == ((), "")


def test_the_film_with_every_field_has_every_field():
    used: dict[type, set[str]] = {}

    def visit(value: object) -> None:
        if isinstance(value, tuple):
            for item in value:
                visit(item)
        elif dataclasses.is_dataclass(value):
            names = used.setdefault(type(value), set())
            for field in dataclasses.fields(value):
                item = getattr(value, field.name)
                if item != field.default:
                    names.add(field.name)
                visit(item)

    visit(EVERY_FIELD)
    declared = {kind: {field.name for field in dataclasses.fields(kind)} for kind in model_kinds(Film)}
    assert used == declared


def test_defaults_are_those_of_format_1():
    # A default left out of a file is part of what the file means: it may only change with the format number.
    defaults = json.loads((FORMATS / "film-1-defaults.json").read_bytes())
    kinds = {kind.__name__: kind for kind in model_kinds(Film)}
    for name, fields in defaults.items():
        now = {field.name: field.default for field in dataclasses.fields(kinds[name])}
        assert {field: default_text(now[field]) for field in fields} == fields


def default_text(value: object) -> str:
    if dataclasses.is_dataclass(value):
        # What is inside has defaults of its own; later fields may come in there.
        assert value == type(value)()
        return f"{type(value).__name__}()"
    return str(value)


def model_kinds(kind: type) -> list[type]:
    found: list[type] = []

    def visit(item: object) -> None:
        for inner in typing.get_args(item):
            visit(inner)
        if dataclasses.is_dataclass(item) and item not in found:
            found.append(item)
            for hint in typing.get_type_hints(item).values():
                visit(hint)

    visit(kind)
    return found


def test_no_field_has_a_default_that_is_made_anew():
    assert all(
        field.default_factory is dataclasses.MISSING
        for kind in model_kinds(Film)
        for field in dataclasses.fields(kind)
    )


def test_what_is_written_is_indented_ordered_and_leaves_defaults_out():
    data = encode(dataclasses.replace(SMALLEST, scenes=(Scene(id="scene-1", number="1"),)), PATH)
    assert data.decode() == (
        '{\n  "format": 1,\n  "written_by": "assembly-desk 0.1.0",\n  "film": {\n    "title": "Untitled",\n'
        '    "rate": "25",\n    "size": {\n      "width": 1280,\n      "height": 720\n    },\n'
        '    "start_frames": 90000,\n    "scenes": [\n      {\n        "id": "scene-1",\n'
        '        "number": "1"\n      }\n    ]\n  }\n}\n'
    )


def test_the_same_film_gives_the_same_bytes_after_reading():
    data = encode(EVERY_FIELD, PATH)
    assert encode(decode(data, PATH).film, PATH) == data


def test_exact_numbers_are_text_and_not_decimals():
    tree = tree_of(EVERY_FIELD)
    assert tree["film"]["rate"] == "30000/1001"
    assert tree["film"]["scenes"][0]["content"]["clips"][0]["in_seconds"] == "1001/30000"


# ---- random films survive: the form alone, whatever the values

TEXT = st.text(st.characters(exclude_categories=("Cs",)), max_size=12)


def values(kind: object) -> st.SearchStrategy:
    if isinstance(kind, types.UnionType):
        return st.one_of([values(item) for item in typing.get_args(kind)])
    if typing.get_origin(kind) is tuple:
        inner = typing.get_args(kind)
        if inner[-1] is Ellipsis:
            return st.lists(values(inner[0]), max_size=2).map(tuple)
        return st.tuples(*map(values, inner))
    if kind is Rate:
        return st.sampled_from(FILM_RATES) | st.builds(Rate, st.integers(1, 10**9), st.integers(1, 10**9))
    if dataclasses.is_dataclass(kind):
        hints = typing.get_type_hints(kind)
        return st.builds(kind, **{name: values(hint) for name, hint in hints.items()})
    if isinstance(kind, type) and issubclass(kind, Enum):
        return st.sampled_from(list(kind))
    plain: dict[object, st.SearchStrategy] = {
        str: TEXT,
        bool: st.booleans(),
        int: st.integers(-LARGEST_INT, LARGEST_INT),
        float: st.floats(allow_nan=False, allow_infinity=False),
        Fraction: st.fractions(),
        types.NoneType: st.none(),
    }
    return plain[kind]


@settings(
    max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large]
)
@given(values(Film))
@example(EVERY_FIELD)
def test_any_film_survives_the_form(film):
    reading = decode(encode(film, PATH), PATH, check=lambda _: ())
    assert reading == Reading(film=film)


@settings(max_examples=60, deadline=None)
@given(
    st.lists(
        st.builds(
            Clip,
            id=st.just(""),
            source=st.sampled_from(["a.mov", "é #1?%20.mov", "sub/ -x.mp4"]),
            in_seconds=st.fractions(0, 1000, max_denominator=90_000),
            length_frames=st.integers(1, 100_000),
            speed=st.fractions(Fraction(1, 10), 10, max_denominator=1001),
            sound=st.builds(ClipSound, gain_db=st.floats(-96, 24), fade_in_frames=st.integers(0, 1)),
            note=st.text('abc\n"\\é\u2028😀/', max_size=20),
        ),
        max_size=4,
    ),
    st.sampled_from(FILM_RATES),
)
def test_any_legal_film_survives_saving_and_opening(clips, rate):
    named = tuple(dataclasses.replace(clip, id=f"clip-{number}") for number, clip in enumerate(clips, 1))
    scene = Scene(id="scene-9", number="1", content=SceneContent(clips=named))
    order = (Placement(entry="scene-9"),)
    film = dataclasses.replace(SMALLEST, rate=rate, scenes=(scene,), order=order, next_id=10)
    assert decode(encode(film, PATH), PATH).film == film


# ---- bad input


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (("title", 3), "film.title must be text, not a whole number"),
        (("title", None), "film.title must be text, not null"),
        (("start_frames", "0"), "film.start_frames must be a whole number, not text"),
        (("start_frames", True), "film.start_frames must be a whole number, not true or false"),
        (("start_frames", 1.5), "film.start_frames must be a whole number, not a decimal number"),
        (("start_frames", 2**53 + 1), "film.start_frames holds 9007199254740993, and whole numbers end at"),
        (("start_frames", 10**30), "film.start_frames holds 1000000000000000000000000000000, and whole"),
        (("drop_frame", 1), "film.drop_frame must be true or false, not a whole number"),
        (("scenes", {}), "film.scenes must be a list, not an object"),
        (("scenes", None), "film.scenes must be a list, not null"),
        (("size", [1, 2]), "film.size must be an object, not a list"),
        (("rate", 25), "film.rate must be a fraction written as text"),
        (("rate", {"numerator": 25}), "film.rate must be a fraction written as text"),
        (("rate", [25]), "film.rate must be a fraction written as text"),
        (("rate", "29.97"), "film.rate must be a frame rate such as “30000/1001”, not “29.97”"),
        (("rate", "0"), "film.rate must be a frame rate"),
        (("rate", "25/0"), "film.rate must be a frame rate"),
        (("rate", "-25"), "film.rate must be a frame rate"),
        (("rate", "1e400000000"), "film.rate must be a frame rate"),
    ],
)
def test_a_wrong_type_is_named_with_its_place(change, said):
    tree = tree_of(SMALLEST)
    tree["film"][change[0]] = change[1]
    assert said in refusal(bytes_of(tree)).message


@pytest.mark.parametrize(
    ("field", "value", "said"),
    [
        ("length_frames", "48", "length_frames must be a whole number, not text"),
        ("length_frames", -4, "length_frames"),
        ("length_frames", 0, "length_frames"),
        ("in_seconds", 1.5, "in_seconds must be a fraction"),
        ("in_seconds", "1/0", "in_seconds must be a fraction such as “7/2”, not “1/0”"),
        ("in_seconds", "٣/٤", "in_seconds must be a fraction"),
        ("in_seconds", "1" * 5000, "in_seconds must be a fraction"),
        ("speed", [1, 4], "speed must be"),
        ("framing", "fit", "framing must be an object, not text"),
        ("framing", {"fit": "stretch"}, "framing.fit must be one of “fit”, “fill”, not “stretch”"),
        ("framing", {"fit": 7}, "framing.fit must be text, not a whole number"),
        ("sound", {"gain_db": "loud"}, "sound.gain_db must be a number, not text"),
        ("sound", {"gain_db": 10**17}, "sound.gain_db holds 100000000000000000, and whole numbers end at"),
        ("note", "half \ud83d", "note holds half of a surrogate pair"),
        ("length_frames", "\ud83d", "length_frames holds half of a surrogate pair"),
        ("framing", {"fit": "\ud83d"}, "framing.fit holds half of a surrogate pair"),
    ],
)
def test_a_wrong_clip_is_named_with_its_place(field, value, said):
    tree = tree_of(EVERY_FIELD)
    tree["film"]["scenes"][0]["content"]["clips"][0][field] = value
    assert f"film.scenes[0].content.clips[0].{said}" in refusal(bytes_of(tree)).message


def test_a_missing_field_and_a_short_list_are_named():
    tree = tree_of(EVERY_FIELD)
    del tree["film"]["scenes"][1]["number"]
    assert "film.scenes[1].number is missing" in refusal(bytes_of(tree)).message
    tree = tree_of(EVERY_FIELD)
    tree["film"]["scenes"][0]["content"]["grade"]["slope"] = [1, 1]
    assert (
        "film.scenes[0].content.grade.slope must be a list of 3, not of 2" in refusal(bytes_of(tree)).message
    )


@pytest.mark.parametrize("number", ["NaN", "Infinity", "-Infinity", "1e400"])
def test_no_number_that_is_not_finite(number):
    data = encode(EVERY_FIELD, PATH).replace(b'"gain_db": -3.5', b'"gain_db": ' + number.encode())
    said = f"film.scenes[0].content.clips[0].sound.gain_db holds {number}, which is no finite number"
    assert said in refusal(data).message


def test_an_endless_number_is_refused_without_reading_it():
    data = encode(SMALLEST, PATH).replace(b"90000", b"9" * 1_000_000)
    assert "film.start_frames holds 9999" in refusal(data).message


def test_ids_that_stand_twice_or_name_nothing_are_refused():
    tree = tree_of(EVERY_FIELD)
    tree["film"]["scenes"][1]["id"] = "scene-1"
    assert "film.scenes[1].id" in refusal(bytes_of(tree)).message
    tree = tree_of(EVERY_FIELD)
    tree["film"]["order"][0]["entry"] = "scene-99"
    assert "film.order[0].entry" in refusal(bytes_of(tree)).message


def test_the_first_illegal_value_is_told_with_how_many_more_there_are():
    tree = tree_of(EVERY_FIELD)
    clips = tree["film"]["scenes"][0]["content"]["clips"]
    clips[0]["length_frames"] = -1
    clips.append({"id": "clip-90", "source": "b.mov", "length_frames": -1})
    assert "clips[0].length_frames (and 1 more): The length of clip 1 in scene 4A must be 1 to" in (
        refusal(bytes_of(tree)).message
    )


def test_a_field_that_stands_twice_is_refused():
    data = encode(SMALLEST, PATH)
    twice = data.replace(b'"rate": "25"', b'"rate": "25", "rate": "24"')
    assert "film.rate stands twice" in refusal(twice).message
    twice = data.replace(b'"format": 1', b'"format": 1, "format": 1')
    assert "format stands twice" in refusal(twice).message


def test_a_file_that_is_cut_off_is_told_where():
    data = encode(EVERY_FIELD, PATH)
    for length in range(1, len(data) - 2, 37):
        message = refusal(data[:length].rstrip()).message
        assert any(said in message for said in ("breaks off", "not JSON", "not UTF-8 text"))
    assert "breaks off at line 5, column 14" in refusal(data[: data.index(b"The Ticket") - 1]).message


def test_a_fault_of_syntax_is_told_with_line_and_column():
    data = encode(SMALLEST, PATH).replace(b'"Untitled",', b'"Untitled"')
    assert "is not JSON at line 6, column 5" in refusal(data).message


def test_bytes_that_are_no_text_are_told_with_line_and_column():
    data = encode(SMALLEST, PATH).replace(b"Untitled", b"Unt\xfftled")
    assert "holds bytes that are not UTF-8 text at line 5, column 18" in refusal(data).message


@pytest.mark.parametrize("data", [b"", b" \n\t ", b"\xef\xbb\xbf"])
def test_an_empty_file_is_told(data):
    assert "empty" in refusal(data).message


@pytest.mark.parametrize("data", [b"[]", b"3", b'"film"', b"null", b"{}", b'{"format": 1}', b'{"a": {}}'])
def test_json_that_is_no_film_is_told(data):
    assert "no film" in refusal(data).message


@pytest.mark.parametrize("number", [0, -1, "1", None, 1.0, True, 10**40])
def test_a_format_number_that_is_none_is_told(number):
    tree = {**tree_of(SMALLEST), "format": number}
    assert "format must be a whole number from 1" in refusal(bytes_of(tree)).message


@pytest.mark.parametrize("film", [None, [], 3, "film", {}, True])
def test_a_film_that_is_none_is_told(film):
    assert "film" in refusal(bytes_of({"format": 1, "film": film})).message


@pytest.mark.parametrize("opening", [b"[", b'{"a":'])
def test_deep_nesting_is_told(opening):
    assert "nested more deeply" in refusal(opening * 200_000).message
    inside = b'{"format": 1, "film": {"scenes": ' + opening * 200_000
    assert "nested more deeply" in refusal(inside).message


def test_what_a_message_quotes_is_one_line_and_short():
    tree = tree_of(SMALLEST)
    tree["film"]["rate"] = "\x1b[2J\n" + "x" * 10_000
    error = refusal(bytes_of(tree))
    assert "\x1b" not in error.message
    assert len(error.message) < 300


def test_a_byte_order_mark_is_passed_over():
    assert decode(b"\xef\xbb\xbf" + encode(EVERY_FIELD, PATH), PATH).film == EVERY_FIELD


# ---- newer versions


def test_unknown_fields_are_noted_with_their_places():
    tree = tree_of(EVERY_FIELD)
    tree["base"] = "of a journal, and not of a film file"
    tree["film"]["weather"] = {"deep": [[[]]]}
    tree["film"]["scenes"][0]["content"]["clips"][0]["sound"]["phase"] = "inverted"
    reading = decode(bytes_of(tree), PATH)
    assert reading.film == EVERY_FIELD
    assert set(reading.unknown) == {"base", "film.weather", "film.scenes[0].content.clips[0].sound.phase"}


def test_a_newer_format_that_can_be_read_is_read_and_told():
    tree = {**tree_of(EVERY_FIELD), "format": 7, "written_by": "assembly-desk 9.0.0"}
    reading = decode(bytes_of(tree), PATH)
    assert (reading.film, reading.newer) == (EVERY_FIELD, "assembly-desk 9.0.0")


@pytest.mark.parametrize("film", [[], {"title": 3}, {"acts": []}, None])
def test_a_newer_format_that_can_not_be_read_is_told_as_such(film):
    error = refusal(bytes_of({"format": 7, "written_by": "assembly-desk 9.0.0", "film": film}))
    assert "written by assembly-desk 9.0.0 in film format 7" in error.message
    assert error.code == "film.newer"


# ---- what can't be written


def test_text_that_no_file_can_hold_is_refused_with_its_place():
    clip = Clip(id="clip-1", source="A001 \udce9.mov", length_frames=1)
    scene = Scene(id="scene-2", number="1", content=SceneContent(clips=(clip,)))
    with pytest.raises(FilmFileError, match=r"film\.scenes\[0\]\.content\.clips\[0\]\.source") as caught:
        encode(dataclasses.replace(SMALLEST, scenes=(scene,)), PATH)
    assert caught.value.code == "film.unwritable"
    with pytest.raises(FilmFileError, match=r"film\.delivery\.review_height"):
        encode(dataclasses.replace(SMALLEST, delivery=Delivery(review_height=10**30)), PATH)


def test_a_film_that_would_be_too_large_to_open_is_not_written():
    clips = tuple(
        Clip(id=f"clip-{number}", source="a.mov", length_frames=1, note="x" * 10_000)
        for number in range(3400)
    )
    scene = Scene(id="scene-1", number="1", content=SceneContent(clips=clips))
    film = dataclasses.replace(SMALLEST, scenes=(scene,), order=(Placement(entry="scene-1"),))
    with pytest.raises(FilmFileError, match=r"larger than a film file can be \(32 MB\)"):
        encode(film, PATH)


def test_a_value_that_is_no_part_of_a_film_is_our_own_fault():
    with pytest.raises(TypeError):
        encode(dataclasses.replace(titled("x"), scenes=[]), PATH)
