"""Fingerprints change with the value, and with nothing else."""

import dataclasses
import json
from dataclasses import dataclass, field
from fractions import Fraction

import pytest

from desk.film.fingerprint import canonical, fingerprint
from desk.film.model import Clip, ClipSound, Framing, SceneContent


@dataclass(frozen=True, slots=True, kw_only=True)
class Grown:
    """A clip of a later version, with a field more."""

    id: str
    source: str
    in_seconds: Fraction = Fraction(0)
    length_frames: int
    speed: Fraction = Fraction(1)
    new_field: str = ""
    listed: tuple[str, ...] = ()


def test_a_field_added_later_changes_no_fingerprint():
    old = Clip(id="c1", source="a.mov", length_frames=4)
    grown = Grown(id="c1", source="a.mov", length_frames=4)
    assert fingerprint(old) == fingerprint(grown)
    assert fingerprint(dataclasses.replace(grown, new_field="x")) != fingerprint(grown)


def test_a_whole_number_is_the_same_as_3_and_as_3_0():
    """A gain given as 3 comes back from the film file as 3.0; the lock must not be broken by that."""
    given = Clip(id="c1", source="a", length_frames=1, sound=ClipSound(gain_db=3), framing=Framing(scale=2))
    read = Clip(
        id="c1", source="a", length_frames=1, sound=ClipSound(gain_db=3.0), framing=Framing(scale=2.0)
    )
    assert given == read
    assert fingerprint(given) == fingerprint(read)


def test_every_bit_of_a_float_counts():
    first, second = (ClipSound(gain_db=value) for value in (0.1, 0.1 + 2**-56))
    assert fingerprint(first) != fingerprint(second)


def test_order_counts():
    one, two = (Clip(id=name, source="a", length_frames=1) for name in ("c1", "c2"))
    assert fingerprint(SceneContent(clips=(one, two))) != fingerprint(SceneContent(clips=(two, one)))


def test_the_form_is_fixed():
    """Locks in film files depend on it: this value may not change with a version of the program."""
    content = SceneContent(
        clips=(Clip(id="c1", source="a.mov", in_seconds=Fraction(7, 2), length_frames=48),), grade_note="cold"
    )
    form = {
        "clips": [{"id": "c1", "source": "a.mov", "in_seconds": "7/2", "length_frames": 48}],
        "grade_note": "cold",
    }
    assert canonical(content) == form
    assert json.loads(json.dumps(canonical(content))) == form
    assert fingerprint(content) == "c116682d1ec50d4174859e400ee30ea6"


def test_black_before_a_clip_changes_a_fingerprint_and_none_of_it_does_not():
    """Locks of before there was any still hold."""
    clip = Clip(id="c1", source="a.mov", in_seconds=Fraction(7, 2), length_frames=48)
    content = SceneContent(clips=(dataclasses.replace(clip, gap_frames=0),), grade_note="cold")
    assert fingerprint(content) == "c116682d1ec50d4174859e400ee30ea6"
    black = dataclasses.replace(content, clips=(dataclasses.replace(clip, gap_frames=1),))
    assert fingerprint(black) != fingerprint(content)


def test_a_value_without_a_form_is_refused():
    @dataclass
    class Odd:
        thing: object = field(default=None)

    with pytest.raises(TypeError, match="object"):
        fingerprint(Odd(object()))
