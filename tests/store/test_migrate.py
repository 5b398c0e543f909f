"""Steps from format to format, on a table of steps that stands in for those of later versions."""

import pytest

from desk.errors import FilmFileError
from desk.store.migrate import FORMAT, STEPS, migrate

TABLE = {
    1: lambda tree: {**tree, "film": {**tree["film"], "title": tree["film"]["name"]}},
    2: lambda tree: {**tree, "film": {key: item for key, item in tree["film"].items() if key != "name"}},
    3: lambda tree: {**tree, "film": {**tree["film"], "title": tree["film"]["title"].upper()}},
}


@pytest.mark.parametrize(
    ("start", "film"),
    [
        (1, {"name": "Ferry"}),
        (2, {"name": "", "title": "Ferry"}),
        (3, {"title": "Ferry"}),
        (4, {"title": "FERRY"}),
    ],
)
def test_steps_run_one_by_one_from_any_format(start, film):
    tree = {"format": start, "written_by": "x", "film": film}
    assert migrate(tree, steps=TABLE, target=4) == {
        "format": 4,
        "written_by": "x",
        "film": {"title": "FERRY"},
    }


def test_the_tree_given_is_left_as_it_was():
    tree = {"format": 1, "film": {"name": "Ferry"}}
    migrate(tree, steps=TABLE, target=4)
    assert tree == {"format": 1, "film": {"name": "Ferry"}}


def test_a_format_that_no_step_leads_on_from_is_refused():
    with pytest.raises(FilmFileError, match="Film format 2 is not known"):
        migrate({"format": 1, "film": {"name": "x"}}, steps={1: TABLE[1]}, target=3)


@pytest.mark.parametrize("film", [{}, None, [], {"name": 3}, "name"])
def test_a_step_that_meets_a_damaged_film_gives_a_sentence(film):
    with pytest.raises(FilmFileError, match=r"from format \d to \d"):
        migrate({"format": 1, "film": film}, steps=TABLE, target=4)


def test_there_is_a_step_from_every_format_there_was():
    assert set(STEPS) == set(range(1, FORMAT))
