"""A credit card whose music fills itself: through the card's sheet, and as the card then looks."""

import dataclasses
from pathlib import Path

import pytest

from desk.cli.listing import whole as whole_listing
from desk.film import edits
from desk.film.effects import Figures
from desk.film.model import Candidate, Card, CardKind, CreditBlock, CreditRow, Cue, Rights, Size
from desk.film.rights import credit_line
from desk.film.timing import Include, entry_frames, lay_out
from desk.ui.card.sheet import CardSheet
from desk.ui.order.facts import FactsCache
from desk.ui.order.gaps import lengths_of
from desk.ui.sheet.credits import credits_of_rows, rows_of_credits, with_filling
from desk.ui.sheet.rows import Row
from tests.film.films import small_film

CREW = CreditBlock(heading="Crew", rows=(CreditRow(role="Camera", names=("Ida Holm",)),))
MUSIC = CreditBlock(heading="Music", fills="music")


def film_with_music():
    """The small film with music by Ada Reed in scene 1, and without a name in scene 2."""
    film = small_film()
    named = Candidate(id="a91", file="music/a.wav", rights=Rights(title="Tide", author="Ada Reed"))
    bare = Candidate(id="a92", file="music/b.wav")
    cues = {
        scene: (Cue(id=f"m9{scene}", length_frames=9, candidates=(choice,), chosen=choice.id),)
        for scene, choice in (("s1", named), ("s2", bare))
    }
    scenes = tuple(
        dataclasses.replace(scene, content=dataclasses.replace(scene.content, cues=cues.get(scene.id, ())))
        for scene in film.scenes
    )
    card = dataclasses.replace(film.cards[0], kind=CardKind.CREDITS, lines=(), credits=(CREW,))
    return dataclasses.replace(film, size=Size(320, 180), scenes=scenes, cards=(card, film.cards[1]))


@pytest.fixture
def sheet(make_bench, qtbot):
    bench = make_bench(film_with_music())
    made = CardSheet(bench)
    qtbot.addWidget(made)
    made.bench = bench
    made.resize(620, 900)
    made.show_card("k1")
    made.show()
    qtbot.waitUntil(lambda: made.preview.is_current, timeout=20_000)
    yield made
    # What waits for a pause would otherwise begin after the end.
    bench.saving.save_now()
    bench.media.look()


def card_of(sheet) -> Card:
    return sheet.bench.session.film.cards[0]


def shown_of(sheet, qtbot) -> Card:
    """The card as the preview has drawn it."""
    qtbot.waitUntil(lambda: sheet.preview.is_current, timeout=20_000)
    return sheet.preview.shown.sitting.card


def test_the_music_is_added_by_itself_and_the_preview_shows_it(sheet, qtbot):
    assert not sheet.credits.fills.isChecked()
    sheet.credits.fills.click()

    def after():
        # The film keeps what is written; the card that is shown has the music.
        assert card_of(sheet).credits == (CREW, MUSIC)
        assert sheet.credits.fills.isChecked()
        rows = (CreditRow(role="“Tide”", names=("Ada Reed",)),)
        assert shown_of(sheet, qtbot).credits == (CREW, CreditBlock(heading="Music", rows=rows))

    def before():
        assert card_of(sheet).credits == (CREW,)
        assert not sheet.credits.fills.isChecked()
        assert shown_of(sheet, qtbot).credits == (CREW,)

    after()
    sheet.bench.session.stack.undo()
    before()
    sheet.bench.session.stack.redo()
    after()
    sheet.credits.fills.click()
    before()


def test_a_card_that_only_fills_itself_counts_with_the_music_of_drafts():
    film = film_with_music()
    film = edits.edit_card(film, "k1", credits=(MUSIC,)).after
    entries = [film.entry(placement.entry) for placement in film.order]
    whole = sum(entry_frames(entry, film) for entry in entries)
    assert lay_out(film, Include.ALL).length_frames == whole
    assert (Figures.of(film).cards, Figures.of(film).frames) == (2, whole)
    assert sum(lengths_of(film)) == whole
    told = whole_listing(film, Path())
    assert (told["frames"], told["running_order"][0]["open"]) == (whole, [])
    cache = FactsCache()
    facts = cache.of(film.entry("k1"), film)
    assert facts.length_frames == entry_frames(film.entry("k1"), film) > 0
    assert "tide" in facts.searched
    bare = edits.remove_cues(film, "s1", ["m9s1"]).after
    assert bare.entry("k1") is film.entry("k1")
    assert cache.of(bare.entry("k1"), bare).length_frames == 0
    assert Figures.of(bare).cards == 1


def test_effects_that_have_to_be_credited_are_added_by_themselves_too(sheet, qtbot):
    box = sheet.credits.fills_effects
    box.click()
    assert "No effect in the film has to be credited" in sheet.credits.filled_effects.text()
    scene = sheet.bench.session.film.scenes[0]
    rights = Rights(title="Bell", author="D. Ohm", licence="CC BY 4.0", source="https://example.org/bell")
    sheet.bench.session.do(lambda film: edits.add_spot(film, scene.id, "bell.wav", 0, 9))
    spot = sheet.bench.session.film.scene(scene.id).content.spots[-1]
    sheet.bench.session.do(lambda film: edits.edit_spot(film, scene.id, spot.id, rights=rights))
    sheet.show_card("k1")
    assert sheet.credits.filled_effects.text() == "It names 1 effect now: see the picture above."
    line = credit_line(rights, "set to picture")
    filled = CreditBlock(heading="Effects", rows=(CreditRow(names=(line,)),))
    assert shown_of(sheet, qtbot).credits == (CREW, filled)
    assert card_of(sheet).credits == (CREW, CreditBlock(heading="Effects", fills="effects"))
    box.click()
    assert card_of(sheet).credits == (CREW,)
    sheet.bench.session.stack.undo()
    assert box.isChecked()
    # By hand, with all that the licences ask for.
    sheet.bench.session.stack.redo()
    sheet.credits.take_music()
    assert card_of(sheet).credits[-1] == filled


def test_it_says_what_it_comes_to(sheet, qtbot):
    sheet.credits.fills.click()
    told = sheet.credits.filled.text()
    assert told.startswith("It names 1 piece of music now")
    assert "1 piece without either can't be named" in told
    shown_of(sheet, qtbot)


def test_it_can_not_be_changed_in_a_film_for_reading_only(make_bench, qtbot):
    bench = make_bench(film_with_music())
    bench.session.read_only = "It is open elsewhere."
    sheet = CardSheet(bench)
    qtbot.addWidget(sheet)
    sheet.show_card("k1")
    assert not sheet.credits.fills.isEnabled()
    assert sheet.credits.fills.toolTip() == "It is open elsewhere."


def test_a_block_that_is_there_takes_it_and_keeps_its_rows():
    own = CreditBlock(heading="Music", rows=(CreditRow(role="Choir", names=("Quay Voices",)),))
    filled = with_filling((own, CREW), "music", fills=True)
    assert filled == (dataclasses.replace(own, fills="music"), CREW)
    assert with_filling(filled, "music", fills=False) == (own, CREW)
    assert with_filling((CREW, MUSIC), "music", fills=False) == (CREW,)


def test_a_heading_that_is_written_anew_goes_on_filling_itself():
    known = (CREW, MUSIC)
    rows = list(rows_of_credits(known))
    for heading in ("Musi", "Mus", "Score"):
        rows[-1] = Row(heading, is_heading=True)
        known = credits_of_rows(tuple(rows), known)
        assert [block.fills for block in known] == ["", "music"]
    assert known[-1].heading == "Score"
    # Without its block, nothing is filled.
    assert [block.fills for block in credits_of_rows(tuple(rows[:-1]), known)] == [""]
