"""The picture at a frame of a reel, as the assembly has it: from its piece, or directly where none is made.

What is shown directly is the same frame at the same place in the same colours, scaled once instead of coded
and scaled again.
"""

import collections
import contextlib
import dataclasses
from collections.abc import Callable
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction
from pathlib import Path
from types import TracebackType
from typing import Self

import av
import numpy as np
from av.video.frame import VideoFrame
from av.video.reformatter import VideoReformatter

from desk.errors import DeskError
from desk.film.media import PictureFacts
from desk.film.model import Framing, Size
from desk.film.rates import Rate
from desk.footage.frame_reader import CACHE_BYTES
from desk.footage.pixels import BGRX, SMALLER, Pixels
from desk.render.encoding import track_clock
from desk.render.inputs import drawn_input
from desk.render.kit import Kit
from desk.render.near import NearPictures
from desk.render.open_footage import OpenFile, View
from desk.render.plan import Black, CardPicture, Footage, Missing, Mix, Piece, Shot, SlatePicture
from desk.render.reel import Reel
from desk.render.run import key_of

_MOST_READERS = 6
_OTHERS_BYTES = 64 << 20
"""What the kept frames of a file may take that is not the one looked at now."""

_AT_HAND_FRAMES = 2
"""What is so few frames further on is decoded rather than bridged."""

_MOST_DRAWINGS = 6
_MOST_KEYS = 10_000
_MIX_STEPS = 256


class Origin(StrEnum):
    """Where a picture comes from."""

    PIECE = "piece"
    FOOTAGE = "footage"
    PROXY = "proxy"
    DRAWING = "drawing"
    MISSING = "missing"
    NEAR = "near frame, while the exact one is made"


@dataclass(frozen=True, slots=True, kw_only=True)
class Shown:
    """A picture.

    Attributes:
        pixels: Rows of blue, green, red and 255.
        origin: Where it comes from; black and cards are drawings, a mix is what its lesser side is.
        note: What is missing, as a sentence, or "".
    """

    pixels: Pixels
    origin: Origin
    note: str = ""


class Showing:
    """Makes pictures of frames. One thread owns it and its files; others make pieces into its store."""

    def __init__(
        self,
        kit: Kit,
        *,
        proxy: Callable[[str], Path | None],
        key_pictures: Callable[[str], Path | None] = lambda source: None,
        cache_bytes: int = CACHE_BYTES,
        check: Callable[[], None] | None = None,
    ) -> None:
        """Open nothing yet.

        Args:
            kit: What an assembly of this size and coding is made with.
            proxy: Tells the proxy of a source, by its path in the film, or None where there is none.
            key_pictures: Tells the key pictures of a source in the same way.
            cache_bytes: What decoded frames around the one looked at may take.
            check: Called for every packet on the way to a frame; by raising it breaks the way off, as when
                another frame is wanted by now. `picture` can be called again then.
        """
        self._kit = kit
        self._proxy = proxy
        self._near = NearPictures(key_pictures)
        self._cache_bytes = cache_bytes
        self._check = check
        self._readers: collections.OrderedDict[Path, OpenFile] = collections.OrderedDict()
        self._keys: dict[tuple[Piece, Rate, Size], str] = {}
        self._pieces: dict[str, Path] = {}
        self._drawings: collections.OrderedDict[Path, Pixels] = collections.OrderedDict()
        self._scaler = VideoReformatter()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        traceback: TracebackType | None,
    ) -> None:
        self.close()

    def close(self) -> None:
        """Close all files."""
        self._near.close()
        while self._readers:
            self._readers.popitem()[1].reader.close()
        self._drawings.clear()

    def renew(self, kit: Kit) -> None:
        """Work with another kit from now on, as after the media were read again; files stay open.

        Args:
            kit: What an assembly is made with now.
        """
        self._kit = kit
        self._keys.clear()
        self._pieces.clear()

    def picture(self, reel: Reel, frame: int, width_px: int, height_px: int, *, quick: bool = False) -> Shown:
        """Return the picture at a frame, filling the size asked for; black with a note for what is missing.

        Args:
            reel: What is on.
            frame: Which of its frames.
            width_px: Pixels across, 1 or more; of the film's shape, or the picture is stretched.
            height_px: Lines, 1 or more.
            quick: Whether colours may be up to 3 levels off, for a quarter of the time that scaling takes.

        Raises:
            IndexError: for a frame outside of the reel.
        """
        placed, at = reel.at(frame)
        piece, view = placed.piece, View(reel, width_px, height_px, quick)
        if isinstance(piece, Missing):
            return _missing(view, piece.sentence)
        if not isinstance(piece, Black):
            made = self._made(piece, reel)
            if made is not None:
                with contextlib.suppress(DeskError):
                    return self._of_piece(made, piece, at, view)
                # Damaged or gone since: what it was made of is still there.
                self._pieces.pop(self._key(piece, reel), None)
        try:
            return self._direct(piece, at, view)
        except DeskError as error:
            return _missing(view, error.message)

    def near(
        self, reel: Reel, frame: int, width_px: int, height_px: int, *, on: int | None = None
    ) -> Shown | None:
        """Return a picture of nearly the same place in a few milliseconds, to be on while `picture` works.

        It is that of the last frame before the place of which a small picture is kept, or which is decoded.
        None where there is none; where what `picture` returns is at hand; and where what is on is nearer.

        Args:
            reel: What is on.
            frame: Which of its frames.
            width_px: Pixels across, as for `picture`.
            height_px: Lines, as for `picture`.
            on: Which frame of the reel is on the screen now, or None for another picture.

        Raises:
            IndexError: for a frame outside of the reel.
        """
        placed, at = reel.at(frame)
        piece, view = placed.piece, View(reel, width_px, height_px, quick=True)
        if isinstance(piece, Missing | Black) or self._made(piece, reel) is not None:
            return None
        within = None
        if on is not None and 0 <= on < reel.frames and reel.at(on)[0] is placed:
            within = abs(frame - on)
        shots = (piece.outgoing, piece.incoming) if isinstance(piece, Mix) else (piece,)
        if all(self._is_at_hand(shot, at, view) for shot in shots):
            return None
        pixels: list[Pixels] = []
        for shot in shots:
            found = self._near_shot(shot, at, view, within)
            if found is None:
                return None
            pixels.append(found)
        if isinstance(piece, Mix):
            return Shown(pixels=_mixed(pixels[0], pixels[1], _share(piece, at)), origin=Origin.NEAR)
        return Shown(pixels=pixels[0], origin=Origin.NEAR)

    def _is_at_hand(self, shot: Shot, at: int, view: View) -> bool:
        """Return whether a shot's picture is made about as quickly as one near it."""
        facts = shot.media.picture if isinstance(shot, Footage) else None
        if not isinstance(shot, Footage) or facts is None or self._proxy(shot.source) is not None:
            return True
        opened = self._readers.get(self._path(shot))
        if opened is None or opened.facts != facts:
            return False
        away = opened.reader.frames_to(_seconds(shot, at, view))
        return away is not None and away <= _AT_HAND_FRAMES

    def _near_shot(self, shot: Shot, at: int, view: View, within: int | None) -> Pixels | None:
        """Return a shot's picture where it is at hand, else one fewer frames off than `within`, or None."""
        try:
            if self._is_at_hand(shot, at, view) or not isinstance(shot, Footage):
                return self._shot(shot, at, view).pixels
        except DeskError:
            return None
        seconds, facts = _seconds(shot, at, view), shot.media.picture
        assert facts is not None
        found = self._near.find(shot.source, facts, seconds, self._readers.get(self._path(shot)))
        if found is None:
            return None
        off_frames = abs(seconds - found.seconds) * view.reel.rate.fraction / shot.speed
        if within is not None and off_frames >= within:
            return None
        return found.file.framed(found.frame, shot.framing, view)

    # -- pieces

    def _key(self, piece: Piece, reel: Reel) -> str:
        asked = (piece, reel.rate, reel.size)
        if asked not in self._keys:
            if len(self._keys) >= _MOST_KEYS:
                self._keys.clear()
            self._keys[asked] = key_of(*asked, self._kit)
        return self._keys[asked]

    def _made(self, piece: Piece, reel: Reel) -> Path | None:
        key = self._key(piece, reel)
        if key not in self._pieces:
            found = self._kit.store.find(key)
            if found is None:
                return None
            self._pieces[key] = found
        return self._pieces[key]

    def _of_piece(self, path: Path, piece: Piece, at: int, view: View) -> Shown:
        facts = _piece_facts(piece.frames, view.reel)
        opened = self._open(path, facts)
        frame = opened.frame_at(view.reel.rate.seconds(at))
        pixels = opened.pixels(frame, view.whole, view.whole, view)
        return Shown(pixels=pixels, origin=Origin.PIECE)

    # -- shots

    def _direct(self, piece: Piece, at: int, view: View) -> Shown:
        if isinstance(piece, Mix):
            outgoing, incoming = self._shot(piece.outgoing, at, view), self._shot(piece.incoming, at, view)
            lesser = max(outgoing, incoming, key=lambda shown: list(Origin).index(shown.origin))
            if isinstance(piece.outgoing, Black):
                lesser = incoming
            elif isinstance(piece.incoming, Black):
                lesser = outgoing
            return dataclasses.replace(
                lesser, pixels=_mixed(outgoing.pixels, incoming.pixels, _share(piece, at))
            )
        return self._shot(piece, at, view)

    def _shot(self, shot: Shot, at: int, view: View) -> Shown:
        match shot:
            case Black():
                return Shown(pixels=view.black(), origin=Origin.DRAWING)
            case Footage():
                return self._footage(shot, at, view)
            case CardPicture() | SlatePicture():
                return self._drawn(shot, at, view)

    def _footage(self, shot: Footage, at: int, view: View) -> Shown:
        facts = shot.media.picture
        if facts is None:
            return _missing(view, f"“{shot.source}” has no picture.")
        seconds, proxy = _seconds(shot, at, view), self._proxy(shot.source)
        if proxy is not None:
            with contextlib.suppress(DeskError):
                # A proxy has no fields any more.
                whole_frames = dataclasses.replace(facts, interlaced=False)
                pixels = self._framed(proxy, whole_frames, seconds, shot.framing, view)
                return Shown(pixels=pixels, origin=Origin.PROXY)
        pixels = self._framed(self._path(shot), facts, seconds, shot.framing, view)
        return Shown(pixels=pixels, origin=Origin.FOOTAGE)

    def _framed(
        self, path: Path, facts: PictureFacts, seconds: Fraction, framing: Framing, view: View
    ) -> Pixels:
        opened = self._open(path, facts)
        return opened.framed(opened.frame_at(seconds), framing, view)

    def _drawn(self, shot: CardPicture | SlatePicture, at: int, view: View) -> Shown:
        source = drawn_input(shot, size=view.reel.size, kit=self._kit)
        layer = self._drawing(source.path)
        roll = shot.roll if isinstance(shot, CardPicture) else None
        size = view.reel.size
        if roll is not None and isinstance(shot, CardPicture):
            top = min(max((at + shot.first_frame) * roll.px_per_frame, 0), roll.list_px + size.height)
            layer = layer[top : top + size.height]
            if source.behind is not None:
                layer = _over(layer, self._drawing(source.behind))
        drawing = VideoFrame.from_ndarray(np.ascontiguousarray(layer[..., :3]), format="rgb24")
        scaled = self._scaler.reformat(
            drawing, width=view.width, height=view.height, format=BGRX, interpolation=SMALLER, threads=1
        )
        return Shown(pixels=np.asarray(scaled.to_ndarray(), dtype=np.uint8), origin=Origin.DRAWING)

    # -- files

    def _path(self, shot: Footage) -> Path:
        return self._kit.files.get(shot.source, Path(shot.source))

    def _open(self, path: Path, facts: PictureFacts) -> OpenFile:
        opened = self._readers.pop(path, None)
        if opened is not None and opened.facts != facts:
            opened.reader.close()
            opened = None
        if opened is None:
            opened = OpenFile(path, facts, self._cache_bytes, self._check)
            for other in self._readers.values():
                other.reader.trim(_OTHERS_BYTES)
            while len(self._readers) >= _MOST_READERS:
                self._readers.popitem(last=False)[1].reader.close()
        self._readers[path] = opened
        return opened

    def _drawing(self, path: Path) -> Pixels:
        """Return the pixels of a drawing, red first."""
        drawing = self._drawings.pop(path, None)
        if drawing is None:
            with av.open(f"file:{path}", format="png_pipe") as container:
                drawing = np.asarray(next(container.decode(video=0)).to_ndarray(), dtype=np.uint8)
            while len(self._drawings) >= _MOST_DRAWINGS:
                self._drawings.popitem(last=False)
        self._drawings[path] = drawing
        return drawing


def _piece_facts(frames: int, reel: Reel) -> PictureFacts:
    """Return what is known of every piece."""
    return PictureFacts(
        width=reel.size.width,
        height=reel.size.height,
        rate=reel.rate,
        frames=frames,
        seconds=reel.rate.seconds(frames),
        time_base=Fraction(1, track_clock(reel.rate)),
        codec="h264",
        pixel_format="yuv420p",
        matrix="bt709",
        primaries="bt709",
        transfer="bt709",
    )


def _seconds(shot: Footage, at: int, view: View) -> Fraction:
    """Return which place of its source a shot shows."""
    return shot.in_seconds + at * shot.speed / view.reel.rate.fraction


def _share(piece: Mix, at: int) -> Fraction:
    """Return how much of a mix is the incoming picture."""
    return Fraction(piece.first + at + 1, piece.passage_frames + 1)


def _missing(view: View, sentence: str) -> Shown:
    return Shown(pixels=view.black(), origin=Origin.MISSING, note=sentence)


def _mixed(outgoing: Pixels, incoming: Pixels, share: Fraction) -> Pixels:
    """Return a mix of two pictures; `share` of it is the incoming one."""
    part = round(share * _MIX_STEPS)
    mixed = outgoing.astype(np.uint16) * np.uint16(_MIX_STEPS - part)
    mixed += incoming.astype(np.uint16) * np.uint16(part)
    mixed += np.uint16(_MIX_STEPS // 2)
    mixed //= np.uint16(_MIX_STEPS)
    return mixed.astype(np.uint8)


def _over(layer: Pixels, behind: Pixels) -> Pixels:
    """Return a layer with alpha, not premultiplied, over a picture."""
    alpha = layer[..., 3:].astype(np.uint16)
    mixed = layer[..., :3] * alpha + behind[..., :3] * (np.uint16(255) - alpha) + np.uint16(127)
    return (mixed // np.uint16(255)).astype(np.uint8)
