"""One piece made alone is the piece of the assembly."""

import pytest

from desk.assembly.planning import copy_size, open_pieces, rendering_kit
from desk.assembly.survey import survey
from desk.cards import drawing
from desk.film.rates import Rate
from desk.jobs import Cancelled, CancelToken
from desk.render.reel import reel_of_scene
from desk.render.run import key_of, make_piece
from tests.render.films import clip, make_film, put, run_assembly, scene

pytestmark = pytest.mark.ffmpeg


@pytest.fixture
def alone(project, program, footage):
    """Make the only piece of a scene; returns what does it, its name and the folder of pieces."""
    film = put(project, make_film(Rate(25), scene(clip(footage["mp4 25"], 1, 40))))
    found = survey(film, project)
    size = copy_size(film, full=False)
    kit = rendering_kit(found, open_pieces(project), full=False, program=program, drawer=drawing)
    reel = reel_of_scene(film, film.scenes[0].id, found.media, size)
    ((piece),) = [placed.piece for placed in reel.placed]

    def make(**options):
        return make_piece(piece, rate=reel.rate, size=size, kit=kit, **{"cancel": CancelToken(), **options})

    return make, key_of(piece, reel.rate, size, kit), kit.store.folder


def test_it_is_made_once_and_used_by_the_assembly(project, program, alone):
    make, key, _ = alone
    told, held = [], []
    path = make(
        progress=lambda step: told.append(step.fraction),
        low_priority=True,
        is_held=lambda: bool(held.append(1)),
    )
    assert path.name.split(".")[0] == key
    assert told[-1] == 1
    assert held
    written = path.read_bytes()
    again = []
    assert make(progress=again.append) == path
    assert again == []
    made = run_assembly(project, program).made
    assert (made.pieces, made.pieces_made) == ((path,), 0)
    assert path.read_bytes() == written


def test_what_is_cancelled_leaves_nothing(alone):
    make, _, folder = alone
    cancel = CancelToken()
    cancel.set()
    with pytest.raises(Cancelled):
        make(cancel=cancel)
    assert list(folder.iterdir()) == []
