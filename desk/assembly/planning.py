"""What an assembly is to be made of: the same plan for the outlook on one and for the making of it."""

import contextlib
import os
from dataclasses import dataclass
from pathlib import Path

from desk.assembly.survey import Survey
from desk.ffmpeg.program import Program
from desk.film.model import Film, Scene, Size
from desk.film.timing import Include, Layout, lay_out
from desk.jobs import CancelToken, ProgressListener
from desk.render.cache import PieceStore
from desk.render.encoding import FULL, REVIEW, Encoding
from desk.render.kit import CardDrawer, Kit
from desk.render.placing import review_size
from desk.render.plan import PicturePlan, plan_picture
from desk.sound.plan import SceneSound, SpeechOf, plan_sound, speech_kept, to_listen_to, unheard
from desk.sound.speech import SpeechFile, find_speech_of
from desk.store.folder import desk_folder, make_inside

_PIECES = "pieces"


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """An assembly before it is made.

    Attributes:
        layout: What is in it, and where.
        picture: The pieces of its picture.
        sounds: What sounds in each scene.
    """

    layout: Layout
    picture: PicturePlan
    sounds: tuple[SceneSound, ...]


def copy_size(film: Film, *, full: bool) -> Size:
    """Return the frame size of a copy: the film's own, or that of its review copies."""
    return film.size if full else review_size(film.size, film.delivery.review_height)


def copy_encoding(*, full: bool) -> Encoding:
    """Return how a copy's picture is encoded."""
    return FULL if full else REVIEW


def plan_assembly(found: Survey, include: Include, *, full: bool, speech_of: SpeechOf = unheard) -> Plan:
    """Return what an assembly is to be made of.

    Args:
        found: The film and its media.
        include: Which scenes.
        full: The film's own size and finer encoding, rather than a review copy's.
        speech_of: Gives what is known of a clip's speech, for music that goes down under it.

    Raises:
        AssemblyError: where a join or a clip asks for frames that are not there, which `Survey.problems`
            tells beforehand.
    """
    film = found.film
    layout = lay_out(film, include)
    size = copy_size(film, full=full)
    return Plan(
        layout=layout,
        picture=plan_picture(film, layout, found.media, size, slate_notes=_slate_notes(layout)),
        sounds=plan_sound(film, layout, speech_of),
    )


def listen_for_speech(
    found: Survey, folder: Path, include: Include, *, progress: ProgressListener, cancel: CancelToken
) -> SpeechOf:
    """Return what gives the speech of an assembly's clips, listened to where music goes down under it.

    Args:
        found: The film and its media.
        folder: Its project folder, where it is kept.
        include: Which scenes.
        progress: Told how far it is.
        cancel: Stops it.

    Raises:
        MediaError: when a file can't be read.
        Cancelled: when stopped on request.
    """
    film, kept = found.film, SpeechFile(folder)
    sounds = to_listen_to(film, lay_out(film, include))
    find_speech_of(sounds, film.rate, found.files, found.media, kept, progress=progress, cancel=cancel)
    return speech_kept(kept, film.rate, found.media)


class NamesOfPieces(PieceStore):
    """The pieces of a project that are there, by their names alone: none is read, and no folder is made.

    Quick, however many there are; so it does not promise that a piece is whole.

    Attributes:
        asked: The names that were asked for, there or not.
    """

    def __init__(self, folder: Path) -> None:
        """List them.

        Args:
            folder: The project folder.
        """
        self.folder = desk_folder(folder) / _PIECES
        self.asked: set[str] = set()
        self._found = {}
        with contextlib.suppress(OSError):
            self._found = dict(self._listed())

    def find(self, key: str) -> Path | None:
        """Return where the piece of this name is."""
        self.asked.add(key)
        return self._found.get(key)


def open_pieces(folder: Path) -> PieceStore:
    """Return the pieces of a project; their folder is made where it is missing.

    Raises:
        OutputError: when the disk refuses.
    """
    return PieceStore(make_inside(folder, ".desk", _PIECES))


def rendering_kit(
    found: Survey,
    store: PieceStore,
    *,
    full: bool,
    program: Program,
    drawer: CardDrawer,
    workers: int | None = None,
) -> Kit:
    """Return what an assembly is made with.

    Args:
        found: The film and its media.
        store: Where its pieces are kept.
        full: The film's own size and finer encoding, rather than a review copy's.
        program: Which ffmpeg.
        drawer: What draws cards.
        workers: How many pieces are made at once, or None for one a core.
    """
    return Kit(
        program=program,
        store=store,
        encoding=copy_encoding(full=full),
        drawer=drawer,
        film_size=found.film.size,
        files=found.files,
        media=found.media,
        workers=workers or os.cpu_count() or 1,
    )


def _slate_notes(layout: Layout) -> dict[str, str]:
    return {
        slot.entry.id: "not locked" if slot.entry.content.clips else "no footage yet"
        for slot in layout.slots
        if slot.slate and isinstance(slot.entry, Scene)
    }
