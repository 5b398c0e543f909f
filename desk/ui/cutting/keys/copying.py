"""Copied clips on the system's clipboard, so that they outlive the scene that they came from.

They lie there as a small film file of our own kind, read with all the checks of one, with the project folder
that its paths are relative to.
"""

from pathlib import Path

from PySide6.QtCore import QMimeData
from PySide6.QtGui import QGuiApplication

from desk.errors import EditError, FilmFileError
from desk.film.edits import CopiedClips
from desk.film.model import Film, Placement, Scene, SceneContent
from desk.film.wording import counted
from desk.store.format import decode, encode

CLIPS_TYPE = "application/x-assembly-desk-clips"
FOLDER_TYPE = "application/x-assembly-desk-folder"

_NAME = Path("clipboard")
_SCENE = "s1"

_FORGETS = "clips-are-forgotten-at-the-end"


def put_on_clipboard(copied: CopiedClips, film: Film, folder: Path) -> None:
    """Put clips on the clipboard.

    Args:
        copied: The clips.
        film: The film that they are from.
        folder: Its project folder.

    Raises:
        FilmFileError: when they can't be written as a film.
    """
    used = {item for clip in copied.clips for item in (clip.camera, clip.sound.voice)}
    holder = Film(
        title=film.title,
        rate=film.rate,
        size=film.size,
        start_frames=0,
        scenes=(Scene(id=_SCENE, number="1", content=SceneContent(clips=copied.clips)),),
        order=(Placement(entry=_SCENE),),
        camera_looks=tuple(look for look in film.camera_looks if look.id in used),
        voices=tuple(voice for voice in film.voices if voice.id in used),
        next_id=film.next_id,
    )
    data = QMimeData()
    data.setData(CLIPS_TYPE, encode(holder, _NAME))
    data.setData(FOLDER_TYPE, str(folder.resolve()).encode())
    data.setText("\n".join(clip.source for clip in copied.clips))
    QGuiApplication.clipboard().setMimeData(data)
    _forget_at_the_end()


def has_clips() -> bool:
    """Return whether clips are on the clipboard."""
    return CLIPS_TYPE in _formats(QGuiApplication.clipboard().mimeData())


def clips_of_clipboard(film: Film, folder: Path) -> CopiedClips:
    """Return the clips on the clipboard.

    Args:
        film: The film that they go into.
        folder: Its project folder.

    Raises:
        EditError: when there are none, they can't be read, or they are from another film.
    """
    data = QGuiApplication.clipboard().mimeData()
    if CLIPS_TYPE not in _formats(data):
        raise EditError(
            "There are no clips on the clipboard.",
            advice="Select clips and copy them first.",
            code="edit.paste",
        )
    try:
        held = decode(bytes(data.data(CLIPS_TYPE).data()), _NAME).film
        clips = held.scenes[0].content.clips
    except (FilmFileError, IndexError) as error:
        raise EditError(
            "What is on the clipboard can't be read as clips.",
            advice="Copy them again.",
            code="edit.paste",
            detail=str(error),
        ) from error
    told = f"The {counted(len(clips), 'clip')} on the clipboard"
    if bytes(data.data(FOLDER_TYPE).data()) != str(folder.resolve()).encode():
        raise EditError(
            f"{told} can't be pasted here: their footage is that of another film, “{held.title}”.",
            advice="Add the footage to this film instead.",
            code="edit.paste",
        )
    if held.rate != film.rate:
        raise EditError(
            f"{told} were copied at {held.rate} frames a second, and the film has {film.rate} now.",
            advice="Copy them again.",
            code="edit.paste",
        )
    return CopiedClips(clips)


def _formats(data: QMimeData | None) -> list[str]:
    """Return what kinds of data a clipboard holds; an empty one may have no data at all."""
    return data.formats() if data is not None else []


def _forget_at_the_end() -> None:
    """Empty the clipboard before the program ends: Qt would let go of the clips after Python, in a crash."""
    application = QGuiApplication.instance()
    if application is not None and not application.property(_FORGETS):
        application.setProperty(_FORGETS, True)
        application.aboutToQuit.connect(_forget)


def _forget() -> None:
    if has_clips():
        QGuiApplication.clipboard().clear()
