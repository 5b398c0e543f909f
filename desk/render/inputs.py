"""What the shots of a piece read: frames of footage, and drawings, which are made when they are not there."""

from collections.abc import Callable
from pathlib import Path

from desk.film.fingerprint import fingerprint
from desk.film.model import Size
from desk.film.rates import Rate
from desk.footage.frame_times import shown_times
from desk.render.frame_map import map_constant, map_variable
from desk.render.graph import Input
from desk.render.kit import Kit
from desk.render.plan import Black, CardPicture, Footage, Mix, Piece, Shot, SlatePicture
from desk.render.seeking import jump_seconds


def piece_inputs(piece: Piece, *, rate: Rate, size: Size, kit: Kit) -> list[Input | None]:
    """Return what each shot of a piece reads, in order; None for black.

    Args:
        piece: The piece.
        rate: The film's rate.
        size: Frame size of the copy.
        kit: What to work with.

    Raises:
        MediaError: when footage or a picture can't be read.
        OutputError: when a drawing can't be written.
        AssemblyError: when a card's text does not fit.
    """
    shots: tuple[Shot, ...] = (piece.outgoing, piece.incoming) if isinstance(piece, Mix) else (piece,)
    return [_input(shot, rate, size, kit) for shot in shots]


def drawn_input(shot: CardPicture | SlatePicture, *, size: Size, kit: Kit) -> Input:
    """Return the drawing that a shot shows, and what stands behind it; drawn now when it is not there.

    Args:
        shot: The shot.
        size: Frame size of the copy.
        kit: What to work with.

    Raises:
        MediaError: when the picture behind a card can't be read.
        OutputError: when a drawing can't be written.
        AssemblyError: when a card's text does not fit.
    """
    if isinstance(shot, CardPicture):
        return _card(shot, size, kit)
    return Input(_slate(shot, size, kit))


def describe(piece: Piece) -> str:
    """Return what a sentence calls a piece."""
    match piece:
        case Footage():
            return f"a piece of “{piece.source}”"
        case Mix():
            return f"the join from {describe(piece.outgoing)} to {describe(piece.incoming)}"
        case CardPicture():
            return f"card “{piece.card.name}”"
        case SlatePicture():
            return f"the slate of scene {piece.number}"
        case Black():
            return "black"


def _input(shot: Shot, rate: Rate, size: Size, kit: Kit) -> Input | None:
    match shot:
        case Black():
            return None
        case Footage():
            return _footage(shot, rate, kit)
        case CardPicture() | SlatePicture():
            return drawn_input(shot, size=size, kit=kit)


def _footage(shot: Footage, rate: Rate, kit: Kit) -> Input:
    facts, path = shot.media.picture, kit.files[shot.source]
    if facts is None:
        raise ValueError(f"“{shot.source}” has no picture")
    if facts.variable:
        end_seconds = shot.in_seconds + shot.frames * shot.speed / rate.fraction
        times = shown_times(path, facts, shot.in_seconds, end_seconds)
        frame_map = map_variable(facts, times, rate, shot.in_seconds, shot.speed, shot.frames)
    else:
        frame_map = map_constant(facts, rate, shot.in_seconds, shot.speed, shot.frames)
    # Of two fields a frame is made with the help of the one before it.
    key_seconds = frame_map.key_seconds - (facts.rate.seconds(1) if facts.interlaced else 0)
    return Input(path, frame_map, jump_seconds(path, facts, key_seconds))


def _card(shot: CardPicture, size: Size, kit: Kit) -> Input:
    card, picture, drawer = shot.card, kit.files.get(shot.card.picture), kit.drawer
    shown: list[object] = [card, shot.roll, shot.picture]
    drawn = _drawing(
        ["card", *shown],
        size,
        kit,
        lambda part: drawer.draw_card(card, film_size=kit.film_size, size=size, target=part, picture=picture),
    )
    if shot.roll is None or picture is None:
        return Input(drawn)
    behind = _drawing(
        ["backdrop", *shown],
        size,
        kit,
        lambda part: drawer.draw_backdrop(card, size=size, target=part, picture=picture),
    )
    return Input(drawn, behind=behind)


def _slate(shot: SlatePicture, size: Size, kit: Kit) -> Path:
    return _drawing(
        ["slate", shot.number, shot.slugline, shot.note],
        size,
        kit,
        lambda part: kit.drawer.draw_slate(
            number=shot.number, slugline=shot.slugline, note=shot.note, size=size, target=part
        ),
    )


def _drawing(shown: list[object], size: Size, kit: Kit, draw: Callable[[Path], None]) -> Path:
    key = fingerprint(["drawing", kit.drawer.DRAWING_VERSION, str(size), shown])
    return kit.store.find(key) or kit.store.make(key, ".png", draw)
