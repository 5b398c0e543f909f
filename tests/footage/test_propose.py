"""Rate and size that footage proposes. Names of sizes: DCI specification and FFmpeg's list of size names."""

from fractions import Fraction

import pytest

from desk.errors import MediaError
from desk.film.media import MediaFacts
from desk.film.model import Size
from desk.film.rates import FILM_RATES, Rate
from desk.footage.propose import propose_format, size_name
from tests.footage.facts import clip, sound_alone

NTSC = Rate(30000, 1001)


def phone(seconds: int, rate: Rate = Rate(29_870, 1000)) -> MediaFacts:  # noqa: B008 - a frozen value
    return clip(seconds, rate=rate, variable=True)


RATES = [
    ("all alike", [clip(), clip()], Rate(25)),
    ("most seconds, not most clips", [clip(3), clip(3), clip(20, rate=Rate(24))], Rate(24)),
    ("a high rate has no say", [clip(10), clip(500, rate=Rate(100))], Rate(25)),
    ("100 alone", [clip(rate=Rate(100))], Rate(25)),
    ("120 alone", [clip(rate=Rate(120))], Rate(30)),
    ("120000/1001 alone", [clip(rate=Rate(120000, 1001))], NTSC),
    ("240 alone", [clip(rate=Rate(240))], Rate(30)),
    ("96 alone", [clip(rate=Rate(96))], Rate(24)),
    ("200 alone", [clip(rate=Rate(200))], Rate(25)),
    ("50 is a rate of films", [clip(rate=Rate(50))], Rate(50)),
    ("a phone", [phone(10)], NTSC),
    ("a phone in low light", [phone(10, Rate(2890, 100))], NTSC),
    ("a phone at 24", [phone(10, Rate(2399, 100))], Rate(24)),
    ("a phone and a camera", [phone(10), clip(11)], Rate(25)),
    ("12", [clip(rate=Rate(12))], Rate(24)),
    ("12.5", [clip(rate=Rate(25, 2))], Rate(25)),
    ("15", [clip(rate=Rate(15))], Rate(30)),
    ("15000/1001", [clip(rate=Rate(15000, 1001))], NTSC),
    ("10", [clip(rate=Rate(10))], Rate(30)),
    ("29.97 as written", [clip(rate=Rate(2997, 100))], NTSC),
    ("22", [clip(rate=Rate(22))], Rate(24000, 1001)),
]


@pytest.mark.parametrize(("facts", "rate"), [case[1:] for case in RATES], ids=[case[0] for case in RATES])
def test_rates(facts: list[MediaFacts], rate: Rate) -> None:
    proposal = propose_format(facts)
    assert proposal.rate == rate
    assert proposal.rate in FILM_RATES


HD, UHD, DCI, PORTRAIT = (1920, 1080), (3840, 2160), (4096, 2160), (1080, 1920)
SIZES = [
    ("all alike", [clip(size=DCI)], DCI),
    ("most seconds", [clip(3, size=HD), clip(4, size=UHD), clip(2, size=HD)], HD),
    ("anamorphic", [clip(size=(1440, 1080), pixel_aspect=Fraction(4, 3))], HD),
    ("a size that is odd", [clip(size=(853, 479))], (852, 480)),
    ("turned back upright", [clip(size=PORTRAIT, rotation_degrees=90)], HD),
    ("some upright", [clip(10, size=HD), clip(9, size=HD, rotation_degrees=90)], HD),
    (
        "upright in one size, wide in many",
        [clip(6, size=HD, rotation_degrees=90), clip(4, size=HD), clip(5, size=UHD)],
        UHD,
    ),
    ("most upright", [clip(10, size=HD), clip(11, size=HD, rotation_degrees=270)], PORTRAIT),
    ("proxies of half the size", [clip(size=(960, 540))], (960, 540)),
    ("square", [clip(size=(1080, 1080))], (1080, 1080)),
    ("high rate has a say in the size", [clip(10, size=HD), clip(20, size=UHD, rate=Rate(100))], UHD),
]


@pytest.mark.parametrize(("facts", "size"), [case[1:] for case in SIZES], ids=[case[0] for case in SIZES])
def test_sizes(facts: list[MediaFacts], size: tuple[int, int]) -> None:
    assert propose_format(facts).size == Size(*size)


@pytest.mark.parametrize(
    ("size", "name"),
    [
        ((4096, 2160), "DCI 4K"),
        ((2048, 1080), "DCI 2K"),
        ((3996, 2160), "DCI 4K flat"),
        ((1998, 1080), "DCI 2K flat"),
        ((4096, 1716), "DCI 4K scope"),
        ((2048, 858), "DCI 2K scope"),
        ((3840, 2160), "UHD"),
        ((1920, 1080), "HD"),
        ((1080, 1920), "HD upright"),
        ((1234, 568), ""),
    ],
)
def test_names_of_sizes(size: tuple[int, int], name: str) -> None:
    assert size_name(Size(*size)) == name


def test_the_reason() -> None:
    facts = [
        *(clip(60, size=DCI) for _ in range(12)),
        clip(30, size=UHD, rate=Rate(24)),
        clip(30, size=UHD, rate=Rate(100)),
        clip(10, size=HD, rotation_degrees=90),
    ]
    assert propose_format(facts).why == (
        "13 of 14 clips (12:10 of 12:40) are at 25 frames a second (1 at a high rate not counted). "
        "12 of 15 clips (12:00 of 13:10) are in 4096x2160 (DCI 4K, not UHD 3840x2160). "
        "1 clip shot upright will stand between bars."
    )


def test_the_reason_for_one_clip() -> None:
    assert propose_format([clip(size=UHD)]).why == (
        "The one clip is at 25 frames a second. The one clip is in 3840x2160 (UHD, not DCI 4K 4096x2160)."
    )


def test_the_reason_for_high_and_for_odd_rates() -> None:
    assert "slow motion" in propose_format([clip(rate=Rate(100))]).why
    assert "nearest" in propose_format([phone(10)]).why


def test_sound_alone_proposes_nothing() -> None:
    assert propose_format([sound_alone(999), clip(3, rate=Rate(24))]).rate == Rate(24)
    for facts in ([], [sound_alone()]):
        with pytest.raises(MediaError) as caught:
            propose_format(facts)
        assert caught.value.code == "media.no-picture"
        assert "--rate" in caught.value.advice
