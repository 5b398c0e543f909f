"""Rate and size of a film, proposed from its footage."""

from collections import Counter
from collections.abc import Hashable, Iterable
from dataclasses import dataclass
from fractions import Fraction
from typing import TypeVar

from desk.errors import MediaError
from desk.film.media import MediaFacts, PictureFacts
from desk.film.model import Size
from desk.film.rates import FILM_RATES, Rate

_HIGHEST_FILM_RATE = max(rate.fraction for rate in FILM_RATES)
_HIGHEST_SLOWED_RATE = Fraction(30)

# DCI Digital Cinema System Specification and SMPTE ST 2036-1, ST 274, ST 296: "DCI 4K" and "UHD" for what is
# loosely called 4K. Sizes of the flat and scope frames as in FFmpeg's list of size names.
_NAMES = {
    (4096, 2160): "DCI 4K",
    (2048, 1080): "DCI 2K",
    (3996, 2160): "DCI 4K flat",
    (1998, 1080): "DCI 2K flat",
    (4096, 1716): "DCI 4K scope",
    (2048, 858): "DCI 2K scope",
    (7680, 4320): "UHD 8K",
    (3840, 2160): "UHD",
    (1920, 1080): "HD",
    (1280, 720): "HD 720",
}
_MISTAKEN = {
    "DCI 4K": "UHD 3840x2160",
    "DCI 2K": "HD 1920x1080",
    "UHD": "DCI 4K 4096x2160",
    "HD": "DCI 2K 2048x1080",
}

_Key = TypeVar("_Key", bound=Hashable)


@dataclass(frozen=True, slots=True)
class Proposal:
    """A film's format, with the reason.

    Attributes:
        rate: Frames a second.
        size: Frame size.
        why: Sentences that say what it was taken from.
    """

    rate: Rate
    size: Size
    why: str


def propose_format(facts: Iterable[MediaFacts]) -> Proposal:
    """Return the rate and the size that most of the footage has, by its length.

    High-rate footage is meant for slow motion and has no say in the rate unless there is nothing else; then
    the half, quarter or eighth that a film can have is proposed. Rates that no film has count for the
    nearest one that shows each of their frames equally long, and variable rates for the nearest one. Sizes
    are taken upright and with square pixels; the film stands upright only where most of the footage does.

    Raises:
        MediaError: `media.no-picture` where no file has a picture.
    """
    pictures = [item.picture for item in facts if item.picture is not None]
    if not pictures:
        raise MediaError(
            "There is no picture among the footage to take rate and size from.",
            advice="Give them: --rate 25 --size 1920x1080.",
            code="media.no-picture",
        )
    voting = [picture for picture in pictures if not _is_high(picture)]
    rates = _by_length((_film_rate(picture), picture) for picture in voting or pictures)
    rate = rates[0][0]
    sizes = _by_length((_upright(picture), picture) for picture in pictures)
    total = sum(length for _, length, _ in sizes)
    standing = sum(length for size, length, _ in sizes if size.height > size.width)
    portrait = 2 * standing > total
    size = next(size for size, _, _ in sizes if (size.height > size.width) is portrait)
    return Proposal(rate, size, f"{_why_rate(rate, pictures, voting)} {_why_size(size, pictures, standing)}")


def size_name(size: Size) -> str:
    """Return what a size is called, such as `DCI 2K` or `UHD`; "" where it has no name."""
    name = _NAMES.get((size.width, size.height)) or _NAMES.get((size.height, size.width), "")
    return f"{name} upright" if name and size.height > size.width else name


def _is_high(picture: PictureFacts) -> bool:
    return not picture.variable and picture.rate.fraction > _HIGHEST_FILM_RATE


def _film_rate(picture: PictureFacts) -> Rate:
    """Return the film rate that a picture speaks for."""
    rate = picture.rate
    if rate in FILM_RATES:
        return rate
    if not picture.variable:
        multiples = (Rate.of(rate.fraction * times) for times in range(2, 13))
        parts = (Rate.of(rate.fraction / times) for times in (2, 4, 8))
        for other in multiples if rate.fraction < _HIGHEST_SLOWED_RATE else parts:
            if other in FILM_RATES and (other > rate or other.fraction <= _HIGHEST_SLOWED_RATE):
                return other
    return min(FILM_RATES, key=lambda film_rate: abs(film_rate.fraction / rate.fraction - 1))


def _upright(picture: PictureFacts) -> Size:
    width, height = picture.upright_size
    return Size(_even(width), _even(height))


def _even(length: Fraction) -> int:
    return max(2, 2 * round(length / 2))


def _by_length(votes: Iterable[tuple[_Key, PictureFacts]]) -> list[tuple[_Key, Fraction, int]]:
    """Return each choice with the seconds and the number of clips that it has, most seconds first."""
    seconds: dict[_Key, Fraction] = {}
    clips: Counter[_Key] = Counter()
    for choice, picture in votes:
        seconds[choice] = seconds.get(choice, Fraction(0)) + picture.seconds
        clips[choice] += 1
    return sorted(
        ((choice, length, clips[choice]) for choice, length in seconds.items()), key=lambda vote: -vote[1]
    )


def _why_rate(rate: Rate, pictures: list[PictureFacts], voting: list[PictureFacts]) -> str:
    if not voting:
        return f"All footage is shot at a high rate; {rate} frames a second shows it in slow motion."
    same = [picture for picture in voting if picture.rate == rate and not picture.variable]
    if not same:
        return f"{rate} frames a second is nearest to most of the footage."
    high = len(pictures) - len(voting)
    aside = f" ({high} at a high rate not counted)" if high else ""
    return f"{_share(same, voting)} at {rate} frames a second{aside}."


def _why_size(size: Size, pictures: list[PictureFacts], standing: Fraction | int) -> str:
    same = [picture for picture in pictures if _upright(picture) == size]
    name = size_name(size)
    called = f" ({name}, not {_MISTAKEN[name]})" if name in _MISTAKEN else f" ({name})" if name else ""
    words = f"{_share(same, pictures)} in {size}{called}."
    if standing and size.width >= size.height:
        count = sum(_upright(picture).height > _upright(picture).width for picture in pictures)
        words += f" {count} clip{'s' if count > 1 else ''} shot upright will stand between bars."
    return words


def _share(some: list[PictureFacts], every: list[PictureFacts]) -> str:
    """Return such as `12 of 14 clips (3:05 of 3:40) are`."""
    lengths = [round(sum(picture.seconds for picture in part)) for part in (some, every)]
    shown = " of ".join(f"{length // 60}:{length % 60:02}" for length in lengths)
    if len(some) == len(every):
        return f"All {len(every)} clips are" if len(every) > 1 else "The one clip is"
    return f"{len(some)} of {len(every)} clips ({shown}) {'is' if len(some) == 1 else 'are'}"
