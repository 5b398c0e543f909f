"""Which paths a film may hold, and which files it uses.

A path is relative to the project folder, with `/`. Anything that a program could take for a network address,
a pipe or another machine is refused, so that a film file from a stranger can only name local files.
"""

import re
from collections.abc import Iterator

from desk.film.model import Film, SceneContent, SoundKind

LONGEST_PATH = 4096
"""Most characters of a path."""

_ADDRESS = re.compile(r"[A-Za-z0-9+.\-]*:|subfile,.*:", re.DOTALL)
"""What FFmpeg takes for a protocol at the start of a name: a scheme, or `subfile` with its options."""

_HALF_CHARACTER = re.compile("[\ud800-\udfff]")


def path_fault(path: str, *, required: bool = True) -> str:
    """Return what is wrong with a path, as the rest of a sentence about it; "" for an allowed one.

    Whether the file is there is not looked at. `..` is allowed: footage may lie beside the project folder.

    Args:
        path: Relative to the project folder.
        required: Whether there has to be one.
    """
    if not path:
        return "must name a file" if required else ""
    if path.startswith("//"):
        return "must be a local file, not one on a server (“//…”)"
    if path.startswith("/"):
        return "must be relative to the project folder, such as “footage/a.mov”"
    if "\\" in path:
        return "must be written with “/”, without backslashes"
    if "\0" in path or _HALF_CHARACTER.search(path):
        return "must be text that a file name can hold"
    if _ADDRESS.match(path):
        return "must be a local file, not an address; a file whose name has a colon is written “./name”"
    if len(path) > LONGEST_PATH:
        return f"must have at most {LONGEST_PATH} characters, not {len(path)}"
    return ""


def content_paths(content: SceneContent, *, every_candidate: bool = False) -> tuple[str, ...]:
    """Return the files that decide a scene's picture and sound, each once, in the order of its lanes.

    Args:
        content: The scene's content.
        every_candidate: Whether music counts that was tried and not chosen.
    """
    return tuple(dict.fromkeys(_content_paths(content, every_candidate)))


def film_paths(film: Film) -> tuple[str, ...]:
    """Return every file that a film names, in the film or aside, each once."""
    found = dict.fromkeys(
        path for scene in film.scenes for path in _content_paths(scene.content, every_candidate=True)
    )
    found.update(dict.fromkeys(scene.reference_picture for scene in film.scenes if scene.reference_picture))
    found.update(dict.fromkeys(card.picture for card in film.cards if card.picture))
    return tuple(found)


def _content_paths(content: SceneContent, every_candidate: bool) -> Iterator[str]:
    for clip in content.clips:
        yield clip.source
        if clip.sound.kind is SoundKind.SEPARATE and clip.sound.file:
            yield clip.sound.file
    for cue in content.cues:
        for candidate in cue.candidates:
            if every_candidate or candidate.id == cue.chosen:
                yield candidate.file
    for spot in content.spots:
        yield spot.file
