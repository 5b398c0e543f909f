"""Rights of music as they are entered, what follows from them, and the credits that fill themselves.

What Creative Commons' licences ask for is told by `desk.film.rights`, which names its sources; here it is
checked that it reaches the person, and that the credit is title, author, source and licence as in Creative
Commons' recommended practice for attribution (https://wiki.creativecommons.org/wiki/Best_practices_for_attribution).
"""

import dataclasses

import pytest

from desk.film.model import Candidate, Cue, Rights
from desk.film.rights import NO_LEGAL_ADVICE
from desk.ui.music.rights_part import licence_kind, receipt_of
from desk.ui.music.words import credited
from desk.ui.scene.music import MusicBody
from tests.ui.music_parts import CONTENT, content, there_and_back
from tests.ui.scene_parts import scene_with, with_media


@pytest.fixture
def show(make_bench, qtbot):
    """Shows the part of scene 2, whose cue has one piece with the rights given."""

    def show_it(rights=None):
        candidate = Candidate(id="a60", file="music/tide.wav", rights=rights or Rights())
        cue = Cue(id="m60", label="m2", length_frames=48, candidates=(candidate,), chosen="a60")
        film, _ = scene_with(dataclasses.replace(CONTENT, cues=(cue,)))
        bench = with_media(make_bench(film))
        body = MusicBody(bench)
        qtbot.addWidget(body)
        bench.session.changed.connect(lambda film, change: body.show_scene(film.scene("s2")))
        body.resize(640, 900)
        body.show_scene(bench.session.film.scene("s2"))
        body.show()
        return body

    return show_it


def rights_of(body):
    return content(body).cues[0].choice.rights


def pick(field, text):
    """Pick a licence as a person does."""
    at = field.findText(text)
    assert at >= 0
    field.setCurrentIndex(at)
    field.activated.emit(at)


class TestEntering:
    def test_all_fields_in_one_step_each(self, show, qtbot):
        body = show()
        part = body.music.details.rights
        for field, text in (
            (part.title, "Tide Table"),
            (part.author, "Wenke Aldous"),
            (part.source, "Kiosk Tapes"),
            (part.credit, "Music: Wenke Aldous"),
        ):
            field.edit.setFocus()
            qtbot.keyClicks(field.edit, text)
            field.edit.clearFocus()
        pick(part.licence, "CC BY-SA 4.0")
        assert rights_of(body) == Rights(
            title="Tide Table",
            author="Wenke Aldous",
            source="Kiosk Tapes",
            licence="CC BY-SA 4.0",
            licence_link="https://creativecommons.org/licenses/by-sa/4.0/",
            required_credit="Music: Wenke Aldous",
        )
        stack = body.bench.session.stack
        assert stack.count() == 5
        for _ in range(5):
            stack.undo()
        assert rights_of(body) == Rights()
        assert part.title.edit.text() == ""

    def test_what_a_licence_asks_for(self, show):
        body = show(Rights(title="Tide Table", author="Wenke Aldous", source="Kiosk Tapes"))
        part = body.music.details.rights
        assert "without permission it may not be used" in part.asked.text()
        assert part.lacking.text() == "Not entered yet: licence."
        pick(part.licence, "CC BY-NC-SA 4.0")

        def after():
            assert "Credit it" in part.asked.text()
            assert "whole film has to be given out under the same licence" in part.asked.text()
            assert "nothing may be earned" in part.asked.text()
            assert not part.lacking.isVisible()
            line = part.line.text()
            assert line.startswith(
                'In the credits: "Tide Table" by Wenke Aldous (Kiosk Tapes), licensed under'
            )
            assert "CC BY-NC-SA 4.0" in line

        def before():
            assert part.lacking.text() == "Not entered yet: licence."
            assert part.licence.currentText() == "not entered"

        there_and_back(body, before, after)
        assert part.caution.text() == NO_LEGAL_ADVICE
        pick(part.licence, "CC BY-ND 4.0")
        assert "music set to picture is an adaptation" in part.asked.text()
        # The link that came with the other licence went with it.
        assert rights_of(body).licence_link == "https://creativecommons.org/licenses/by-nd/4.0/"

    def test_a_link_of_ones_own_stays(self, show):
        body = show(Rights(licence="CC BY 4.0", licence_link="https://example.org/terms"))
        pick(body.music.details.rights.licence, "CC BY-SA 4.0")
        assert rights_of(body).licence_link == "https://example.org/terms"

    def test_bought_with_a_receipt(self, show, qtbot):
        body = show()
        part = body.music.details.rights
        assert not part.receipt.isVisible()
        pick(part.licence, "bought, with a receipt")
        assert part.receipt.isVisible()
        part.receipt.edit.setFocus()
        qtbot.keyClicks(part.receipt.edit, "A-17")
        assert rights_of(body).licence == "bought, receipt A-17"
        assert part.receipt.edit.text() == "A-17"
        body.bench.session.stack.undo()
        assert rights_of(body).licence == "bought"
        body.bench.session.stack.undo()
        assert rights_of(body).licence == ""
        assert not part.receipt.isVisible()

    def test_other_terms_in_words(self, show, qtbot):
        body = show()
        part = body.music.details.rights
        pick(part.licence, "other terms")
        assert part.other.isVisible()
        part.other.edit.setFocus()
        # On the way, “own” alone would be a licence that is offered.
        qtbot.keyClicks(part.other.edit, "own terms of the choir")
        assert part.other.isVisible()
        assert part.other.edit.text() == "own terms of the choir"
        assert rights_of(body).licence == "own terms of the choir"
        assert "read whether they allow music set to picture" in part.asked.text()

    def test_own_work_asks_for_nothing(self, show):
        body = show()
        pick(body.music.details.rights.licence, "own work")
        assert not body.music.details.rights.lacking.isVisible()
        assert "nothing is asked for" in body.music.details.rights.asked.text()

    def test_rights_stay_with_their_candidate(self, show):
        body = show(Rights(title="Tide"))
        body.music.add_music("m60", ("music/fog.wav",))
        body.music.cues[0].buttons[1].click()
        assert body.music.details.rights.title.edit.text() == ""
        body.music.cues[0].buttons[0].click()
        assert body.music.details.rights.title.edit.text() == "Tide"


class TestWords:
    @pytest.mark.parametrize(
        ("licence", "kind"),
        [
            ("", ""),
            ("CC BY 4.0", "CC BY 4.0"),
            ("CC BY 3.0", "other"),
            ("CC0 1.0", "CC0 1.0"),
            ("public domain", "public domain"),
            ("my own music", "own work"),
            ("bought", "bought"),
            ("bought, receipt 12", "bought"),
            ("CC BY 4.0, but ask first", "other"),
        ],
    )
    def test_which_licence_is_shown(self, licence, kind):
        assert licence_kind(Rights(licence=licence)) == kind

    def test_receipts(self):
        assert receipt_of(Rights(licence="bought, receipt 12")) == "12"
        assert receipt_of(Rights(licence="bought")) == ""

    def test_a_credit_is_title_author_source_and_licence(self):
        rights = Rights(title="Tide Table", author="Wenke Aldous", source="Kiosk Tapes", licence="CC BY 4.0")
        line = credited(Candidate(id="a", file="a.wav", rights=rights))
        places = [line.index(part) for part in ("Tide Table", "Wenke Aldous", "Kiosk Tapes", "CC BY 4.0")]
        assert places == sorted(places)
        assert "https://creativecommons.org/licenses/by/4.0/" in line
