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

from desk.errors import DeskError, MediaError
from desk.film.media import PictureFacts
from desk.film.model import Framing, Size
from desk.film.rates import Rate
from desk.footage.frame_reader import CACHE_BYTES, FrameReader
from desk.footage.pixels import BGRX, SMALLER, Part, Pixels, deinterlaced, to_pixels
from desk.render.encoding import track_clock
from desk.render.inputs import drawn_input
from desk.render.kit import Kit
from desk.render.placing import place
from desk.render.plan import Black, CardPicture, Footage, Missing, Mix, Piece, Shot, SlatePicture
from desk.render.reel import Reel
from desk.render.run import key_of

_MOST_READERS = 6
_OTHERS_BYTES = 64 << 20
"""What the kept frames of a file may take that is not the one looked at now."""

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
        cache_bytes: int = CACHE_BYTES,
        check: Callable[[], None] | None = None,
    ) -> None:
        """Open nothing yet.

        Args:
            kit: What an assembly of this size and coding is made with.
            proxy: Tells the proxy of a source, by its path in the film, or None where there is none.
            cache_bytes: What decoded frames around the one looked at may take.
            check: Called for every packet on the way to a frame; by raising it breaks the way off, as when
                another frame is wanted by now. `picture` can be called again then.
        """
        self._kit = kit
        self._proxy = proxy
        self._cache_bytes = cache_bytes
        self._check = check
        self._readers: collections.OrderedDict[Path, _Open] = collections.OrderedDict()
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
        piece, view = placed.piece, _View(reel, width_px, height_px, quick)
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

    def _of_piece(self, path: Path, piece: Piece, at: int, view: "_View") -> Shown:
        facts = _piece_facts(piece.frames, view.reel)
        opened = self._open(path, facts)
        pixels = opened.pixels(view.reel.rate.seconds(at), view.whole, view.whole, view)
        return Shown(pixels=pixels, origin=Origin.PIECE)

    # -- shots

    def _direct(self, piece: Piece, at: int, view: "_View") -> Shown:
        if isinstance(piece, Mix):
            outgoing, incoming = self._shot(piece.outgoing, at, view), self._shot(piece.incoming, at, view)
            share = Fraction(piece.first + at + 1, piece.passage_frames + 1)
            lesser = max(outgoing, incoming, key=lambda shown: list(Origin).index(shown.origin))
            if isinstance(piece.outgoing, Black):
                lesser = incoming
            elif isinstance(piece.incoming, Black):
                lesser = outgoing
            return dataclasses.replace(lesser, pixels=_mixed(outgoing.pixels, incoming.pixels, share))
        return self._shot(piece, at, view)

    def _shot(self, shot: Shot, at: int, view: "_View") -> Shown:
        match shot:
            case Black():
                return Shown(pixels=view.black(), origin=Origin.DRAWING)
            case Footage():
                return self._footage(shot, at, view)
            case CardPicture() | SlatePicture():
                return self._drawn(shot, at, view)

    def _footage(self, shot: Footage, at: int, view: "_View") -> Shown:
        facts = shot.media.picture
        if facts is None:
            return _missing(view, f"“{shot.source}” has no picture.")
        seconds = shot.in_seconds + at * shot.speed / view.reel.rate.fraction
        path, proxy = self._kit.files.get(shot.source, Path(shot.source)), self._proxy(shot.source)
        if proxy is not None:
            with contextlib.suppress(DeskError):
                # A proxy has no fields any more.
                whole_frames = dataclasses.replace(facts, interlaced=False)
                pixels = self._framed(proxy, whole_frames, seconds, shot.framing, view)
                return Shown(pixels=pixels, origin=Origin.PROXY)
        pixels = self._framed(path, facts, seconds, shot.framing, view)
        return Shown(pixels=pixels, origin=Origin.FOOTAGE)

    def _framed(
        self, path: Path, facts: PictureFacts, seconds: Fraction, framing: Framing, view: "_View"
    ) -> Pixels:
        placing = place(framing, facts.upright_size, view.reel.size)
        crop_left, crop_top, width, height = placing.crop
        left, top = placing.at
        box = view.box(left - crop_left, top - crop_top, placing.scaled.width, placing.scaled.height)
        seen = view.box(left, top, width, height)
        opened = self._open(path, facts)
        part = opened.pixels(seconds, box, seen, view)
        if seen == view.whole:
            return np.ascontiguousarray(part)
        pixels = view.black()
        pixels[seen.top : seen.bottom, seen.left : seen.right] = part
        return pixels

    def _drawn(self, shot: CardPicture | SlatePicture, at: int, view: "_View") -> Shown:
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

    def _open(self, path: Path, facts: PictureFacts) -> "_Open":
        opened = self._readers.pop(path, None)
        if opened is not None and opened.facts != facts:
            opened.reader.close()
            opened = None
        if opened is None:
            opened = _Open(path, facts, self._cache_bytes, self._check)
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


class _Open:
    """A file that is open, and what scales its frames."""

    def __init__(
        self, path: Path, facts: PictureFacts, cache_bytes: int, check: Callable[[], None] | None
    ) -> None:
        self.facts = facts
        self._path = path
        self.reader = FrameReader(path, facts, cache_bytes=cache_bytes, check=check)
        self._scaler = VideoReformatter()

    def pixels(self, seconds: Fraction, whole: "_Box", seen: "_Box", view: "_View") -> Pixels:
        """Return what is seen of the frame at a place.

        Args:
            seconds: The place.
            whole: Where the frame is in the picture.
            seen: Which part of the picture it fills.
            view: The picture.
        """
        frame = self.reader.frame_at(seconds)
        if frame is None:
            raise MediaError(
                f"“{self._path}” is damaged here: no frame can be decoded.",
                advice="Copy it again from the card.",
                code="media.damaged",
                path=self._path,
            )
        if self.facts.interlaced:
            step = self.facts.rate.seconds(1)
            before, after = self.reader.frame_at(seconds - step), self.reader.frame_at(seconds + step)
            # At the file's ends the same one is held.
            frame = deinterlaced(
                None if before is None or before.pts == frame.pts else before,
                frame,
                None if after is None or after.pts == frame.pts else after,
            )
        return to_pixels(
            frame,
            self.facts,
            whole.width,
            whole.height,
            part=Part(seen.left - whole.left, seen.top - whole.top, seen.width, seen.height),
            quick=view.quick,
            scaler=self._scaler,
        )


@dataclass(frozen=True, slots=True)
class _Box:
    left: int
    top: int
    right: int
    bottom: int

    @property
    def width(self) -> int:
        return self.right - self.left

    @property
    def height(self) -> int:
        return self.bottom - self.top


@dataclass(frozen=True, slots=True)
class _View:
    """The picture that is asked for, and whose frame it shows."""

    reel: Reel
    width: int
    height: int
    quick: bool

    @property
    def whole(self) -> _Box:
        return _Box(0, 0, self.width, self.height)

    def black(self) -> Pixels:
        pixels = np.zeros((self.height, self.width, 4), dtype=np.uint8)
        pixels[..., 3] = 255
        return pixels

    def box(self, left: int, top: int, width: int, height: int) -> _Box:
        """Return where a part of the frame is in the picture; never without a pixel."""
        size = self.reel.size
        across, down = Fraction(self.width, size.width), Fraction(self.height, size.height)
        first, above = round(left * across), round(top * down)
        return _Box(
            first,
            above,
            max(first + 1, round((left + width) * across)),
            max(above + 1, round((top + height) * down)),
        )


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


def _missing(view: _View, sentence: str) -> Shown:
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
