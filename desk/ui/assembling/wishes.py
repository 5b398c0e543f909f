"""What the person wants of an assembly, remembered for each project as view state."""

import hashlib
from dataclasses import dataclass
from pathlib import Path

from desk.film.model import Film
from desk.film.timing import Include
from desk.ui.settings import settings

DEFAULT_OUT = "review"
"""Where copies go unless told otherwise: a folder of this name beside the film file."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Wishes:
    """What the person wants of an assembly.

    Attributes:
        out: Where the files go.
        include: Which scenes.
        full: The film's own size and finer encoding, rather than a review copy's.
        flat: Write the timeline file without nesting.
        bundle: Write the timeline file also as a bundle with its media.
        stems: Write dialogue, music and effects of the whole film too.
    """

    out: Path
    include: Include = Include.LOCKED
    full: bool = False
    flat: bool = False
    bundle: bool = False
    stems: bool = False


def last_wishes(folder: Path, film: Film) -> Wishes:
    """Return what was last wanted for a project; the first time, what suits the film.

    A film without a locked scene is looked at with its drafts: a copy of locked scenes would be empty.

    Args:
        folder: The project folder.
        film: The film.
    """
    store, group = settings(), _group(folder)
    none_locked = not any(scene.lock for scene in film.scenes)
    include = Include.ALL if none_locked else Include.LOCKED
    kept = store.value(f"{group}/include")
    if kept in {way.value for way in Include}:
        include = Include(kept)
    out = store.value(f"{group}/out")
    return Wishes(
        out=Path(out) if isinstance(out, str) and out else folder / DEFAULT_OUT,
        include=include,
        full=store.value(f"{group}/size") == "full",
    )


def remember(folder: Path, wishes: Wishes) -> None:
    """Keep which scenes, which size and which folder for the next time."""
    store, group = settings(), _group(folder)
    store.setValue(f"{group}/include", wishes.include.value)
    store.setValue(f"{group}/size", "full" if wishes.full else "review")
    store.setValue(f"{group}/out", str(wishes.out))


def _group(folder: Path) -> str:
    """Return the name of a project's settings; its path has signs that such names can't have."""
    name = str(folder.absolute()).encode(errors="surrogateescape")
    return f"assembling/{hashlib.blake2b(name, digest_size=8).hexdigest()}"
