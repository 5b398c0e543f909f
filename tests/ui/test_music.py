"""The Music and effects part: what it shows; each edit done, undone and done again."""

import dataclasses
from fractions import Fraction

import pytest
from PySide6.QtCore import QMimeData, Qt, QUrl
from PySide6.QtWidgets import QAbstractButton, QComboBox, QLabel, QLineEdit, QPlainTextEdit

from desk.film.edits import lock
from desk.film.locking import Part
from desk.film.model import Cue, Duck, Rights, SceneContent
from desk.ui.music.sound_drops import dropped_sounds
from desk.ui.scene.music import MusicBody
from desk.ui.scene.tab_order import tab_within
from tests.film.films import facts, locked_media, small_film
from tests.ui.music_parts import CONTENT, content, there_and_back
from tests.ui.scene_parts import MISSING, focus_chain, scene_with, with_media


@pytest.fixture
def show(make_bench, qtbot):
    """Shows the part of scene 2 as the sheet does: again after each change."""

    def show_it(film, known=None, width=620):
        bench = with_media(make_bench(film), known)
        body = MusicBody(bench)
        qtbot.addWidget(body)
        bench.session.changed.connect(lambda film, change: body.show_scene(film.scene("s2")))
        body.resize(width, 900)
        body.show_scene(bench.session.film.scene("s2"))
        body.show()
        return body

    return show_it


@pytest.fixture
def film():
    return scene_with(CONTENT)[0]


@pytest.fixture
def chosen_film():
    cue = dataclasses.replace(CONTENT.cues[0], chosen="a61")
    return scene_with(dataclasses.replace(CONTENT, cues=(cue,)))[0]


def chosen_name(body, cue=0):
    return next(button.full_text for button in body.music.cues[cue].buttons if button.isChecked())


def typed(field, text, qtbot):
    """Type into a field and press Return."""
    field.edit.setFocus()
    field.edit.selectAll()
    qtbot.keyClicks(field.edit, text)
    qtbot.keyClick(field.edit, Qt.Key.Key_Return)


class TestCues:
    def test_cues_and_candidates(self, show, film):
        body = show(film)
        assert (body.part, body.title) == (Part.MUSIC, "Music and effects")
        (cue,) = body.music.cues
        assert cue.heading.text() == "m2: from 0:01:00, 0:06:00 long, 0:01:00 of it after the scene's end"
        # Scene 1 lasts 120 frames at 24 a second and a dissolve may overlap; scene 2 begins after it.
        assert cue.place.text().startswith("film 01:00:0")
        assert [button.full_text for button in cue.buttons] == [
            "Twice (b), by Wenke Aldous",
            "own & old.wav",
            "None of them",
        ]
        assert chosen_name(body) == "None of them"
        assert not cue.untried.isVisible()
        assert [row.sound.text() for row in cue.rows] == [
            "in at 0 s · 0 dB · 1:40:00 in all",
            "in at 2.5 s · −6 dB · fades 4 / 12 · 1:40:00 in all",
        ]
        assert [row.licence.text() for row in cue.rows] == ["CC BY 4.0", "no licence entered"]
        assert cue.rows[1].licence.property("kind") == "open"
        assert body.summary(film.scene("s2")) == "m2 has 2 candidates, none chosen · 2 spots"

    def test_it_runs_on_into_the_next_scene_in_words(self, show, film):
        body = show(film)
        told = body.music.cues[0].runs_on.text()
        assert told.startswith("It runs on over the cut into scene 4")
        assert told.endswith("for 0:01:00.")

    def test_choosing(self, show, film):
        body = show(film)
        body.music.cues[0].buttons[0].click()

        def after():
            assert content(body).cues[0].chosen == "a60"
            assert chosen_name(body) == "Twice (b), by Wenke Aldous"
            assert body.music.details.gain.isVisible()

        def before():
            assert content(body).cues[0].chosen == ""
            assert chosen_name(body) == "None of them"
            assert not body.music.details.gain.isVisible()
            assert "Choose music for it" in body.music.details.none.text()

        there_and_back(body, before, after)
        summary = body.summary(body.bench.session.film.scene("s2"))
        assert summary == "m2 “Twice (b)”, chosen of 2 · 2 spots"
        body.music.cues[0].buttons[2].click()
        before()

    def test_declaring_none(self, show):
        body = show(scene_with(dataclasses.replace(CONTENT, cues=()))[0])
        assert body.no_cues.isVisible()
        body.no_music.click()

        def after():
            assert content(body).no_music
            assert body.no_music.isChecked()
            assert not body.no_cues.isVisible()

        def before():
            assert not content(body).no_music
            assert not body.no_music.isChecked()

        there_and_back(body, before, after)
        assert body.summary(body.bench.session.film.scene("s2")) == "no music, as declared · 2 spots"

    def test_none_can_not_be_declared_over_a_choice(self, show, film, qtbot):
        body = show(film)
        body.music.cues[0].buttons[0].click()
        with qtbot.waitSignal(body.bench.session.refused) as told:
            body.no_music.click()
        assert "has music chosen for cue m2" in told.args[0].message
        assert not body.no_music.isChecked()

    def test_adding_a_cue_from_the_playhead_to_the_end(self, show, qtbot):
        body = show(scene_with(dataclasses.replace(CONTENT, cues=()))[0])
        body.bench.cut.open("s2")
        body.bench.cut.go_to(40)
        body.add_cue.click()

        def after():
            (cue,) = content(body).cues
            assert (cue.start_frames, cue.length_frames, cue.candidates) == (40, 104, ())
            assert body.music.cues[0].untried.isVisible()

        def before():
            assert content(body).cues == ()
            assert body.music.cues == ()
            assert not body.music.details.isVisible()

        there_and_back(body, before, after)

    def test_adding_music_and_what_is_known_of_it(self, show, film):
        """A file that the film has elsewhere brings its rights along; the first of all is chosen."""
        again = Cue(id="m70", label="m3", length_frames=24)
        body = show(scene_with(dataclasses.replace(CONTENT, cues=(*CONTENT.cues, again)))[0])
        body.music.add_music("m70", ("music/twice b.opus", "music/new.wav"))

        def after():
            one, two = content(body).cues[1].candidates
            assert one.rights.title == "Twice (b)"
            assert (two.file, two.rights) == ("music/new.wav", Rights())
            assert content(body).cues[1].chosen == one.id
            assert body.music.current == "m70"

        def before():
            assert content(body).cues[1].candidates == ()

        there_and_back(body, before, after)

    def test_the_same_file_is_tried_once(self, show, film, qtbot):
        body = show(film)
        with qtbot.waitSignal(body.bench.session.refused) as told:
            body.music.add_music("m60", ("music/twice b.opus",))
        assert "tried for cue m2 already" in told.args[0].message

    def test_a_chosen_file_is_named_as_the_film_names_it(self, show, film):
        body = show(film)
        file = body.bench.session.folder / "music" / "slow.wav"
        body.music.ask_for_music("m60")
        body.music.dialog.filesSelected.emit([str(file)])
        body.music.dialog.close()
        assert content(body).cues[0].candidates[-1].file == "music/slow.wav"

    def test_taking_music_off_and_the_cue_out(self, show, film):
        body = show(film)
        body.music.cues[0].rows[1].take_off.click()
        assert [item.id for item in content(body).cues[0].candidates] == ["a60"]
        body.bench.session.stack.undo()
        assert [row.radio.full_text for row in body.music.cues[0].rows][1] == "own & old.wav"
        body.music.cues[0].remove.click()

        def after():
            assert content(body).cues == ()
            assert body.music.cues == ()

        def before():
            assert len(content(body).cues) == 1
            assert len(body.music.cues) == 1

        there_and_back(body, before, after)

    def test_dropped_sounds(self, show, film):
        body = show(film)
        data = QMimeData()
        folder = body.bench.session.folder
        data.setUrls([QUrl.fromLocalFile(str(folder / name)) for name in ("a.wav", "notes.txt")])
        assert dropped_sounds(data) == (str(folder / "a.wav"),)
        body.music.cues[0].dropped.emit("m60", dropped_sounds(data))
        assert content(body).cues[0].candidates[-1].file == "a.wav"

    def test_label_place_and_length(self, show, film, qtbot):
        body = show(film)
        place = body.music.details.place
        place.label.edit.end(False)
        qtbot.keyClicks(place.label.edit, "x")
        typed(place.start, "-0:00:12", qtbot)
        typed(place.length, "0:02:00", qtbot)
        cue = content(body).cues[0]
        assert (cue.label, cue.start_frames, cue.length_frames) == ("m2x", -12, 48)
        assert not body.music.cues[0].runs_on.isVisible()
        for _ in range(3):
            body.bench.session.stack.undo()
        assert content(body) == CONTENT
        assert place.label.edit.text() == "m2"

    def test_each_candidate_keeps_its_own(self, show, chosen_film, qtbot):
        body = show(chosen_film)
        gain = body.music.details.gain
        assert gain.in_point.edit.text() == "2.5 s"
        assert gain.gain.edit.text() == "-6"
        typed(gain.gain, "-14.5", qtbot)
        typed(gain.fade_in, "10", qtbot)
        typed(gain.in_point, "1 s", qtbot)
        body.music.cues[0].buttons[0].click()
        assert gain.gain.edit.text() == "0"
        one, two = content(body).cues[0].candidates
        assert (one.gain_db, one.in_seconds, one.fade_in_frames) == (0.0, 0, 0)
        assert (two.gain_db, two.in_seconds, two.fade_in_frames) == (-14.5, Fraction(1), 10)
        assert body.music.cues[0].rows[1].sound.text().startswith("in at 1 s · −14.5 dB · fades 10 / 12")

    def test_other_scenes_have_other_cues(self, show, film):
        body = show(film)
        body.show_scene(film.scene("s1"))
        assert [button.full_text for button in body.music.cues[0].buttons] == [
            "tide.wav",
            "fog.wav",
            "None of them",
        ]
        assert chosen_name(body) == "tide.wav"
        body.show_scene(film.scene("s4"))
        assert body.music.cues == ()
        body.show_scene(film.scene("s2"))
        assert chosen_name(body) == "None of them"

    def test_missing_files_can_be_found_here_too(self, show, film):
        body = show(film, {"music/own & old.wav": MISSING, "effects/horn.wav": MISSING})
        words = [label.accessibleName() for label in body.troubles.findChildren(QLabel)]
        told = "is missing. Connect its disk, or say where it is now."
        assert f"“music/own & old.wav” {told}" in words
        assert f"“effects/horn.wav” {told}" in words
        assert body.music.cues[0].rows[1].licence.text() == "file missing; no licence entered"

    def test_the_cue_that_is_selected_in_the_lanes(self, show, film, qtbot):
        second = Cue(id="m70", label="m3", length_frames=24)
        body = show(scene_with(dataclasses.replace(CONTENT, cues=(*CONTENT.cues, second)))[0])
        assert body.music.current == "m60"
        body.bench.cut.open("s2")
        body.bench.cut.select(["m70"])
        assert body.music.current == "m70"
        assert body.music.details.place.label.edit.text() == "m3"
        # Its fields stand right below it.
        qtbot.waitUntil(lambda: body.music.cues[1].geometry().bottom() < body.music.details.geometry().top())


class TestUnderSpeech:
    def test_on_and_off_with_its_numbers(self, show, chosen_film, qtbot):
        body = show(chosen_film)
        duck = body.music.details.duck
        assert not duck.depth_field.isVisible()
        duck.is_on.click()

        def after():
            assert content(body).cues[0].duck == Duck()
            assert duck.is_on.isChecked()
            assert (duck.depth_field.edit.text(), duck.attack.edit.text(), duck.release.edit.text()) == (
                "8",
                "150",
                "500",
            )

        def before():
            assert content(body).cues[0].duck is None
            assert not duck.is_on.isChecked()
            assert not duck.depth_field.isVisible()

        there_and_back(body, before, after)
        typed(duck.depth_field, "11", qtbot)
        typed(duck.attack, "200", qtbot)
        typed(duck.release, "700", qtbot)
        assert content(body).cues[0].duck == Duck(depth_db=11, attack_ms=200, release_ms=700)

    def test_a_depth_below_zero(self, show, chosen_film, qtbot):
        body = show(chosen_film)
        body.music.details.duck.is_on.click()
        typed(body.music.details.duck.depth_field, "-3", qtbot)
        assert body.music.details.duck.depth_field.fault.text()
        assert content(body).cues[0].duck == Duck()


class TestEffects:
    def test_rows_and_the_one_that_is_selected(self, show, film):
        body = show(film)
        table = body.effects.spots.sounds
        rows = [[table.index(row, column).data() for column in range(6)] for row in range(2)]
        assert rows[0] == ["horn", "horn.wav", "0:01:06", "0:01:00", "−12 dB", "1"]
        assert body.effects.spot_id == "f60"
        body.effects.spots.selectRow(1)
        assert body.effects.spot_id == "f61"
        assert body.effects.details.spot.label.edit.text() == "gulls"
        selected = body.effects.spots.selectionModel().selectedRows()
        assert [index.row() for index in selected] == [1]

    def test_repeats_and_the_time_between(self, show, film, qtbot):
        body = show(film)
        spot = body.effects.details.spot
        assert not spot.every.isVisible()
        typed(spot.repeats, "3", qtbot)

        def after():
            found = content(body).spots[0]
            assert (found.repeats, found.every_frames) == (3, 24)
            assert spot.told.text() == "It sounds 4 times, every 0:01:00."
            assert body.effects.spots.sounds.index(0, 5).data() == "4"

        def before():
            assert content(body).spots[0].repeats == 0
            assert not spot.every.isVisible()

        there_and_back(body, before, after)
        typed(spot.every, "0:02:00", qtbot)
        typed(spot.gain, "-3", qtbot)
        found = content(body).spots[0]
        assert (found.every_frames, found.gain_db) == (48, -3)

    def test_delete_takes_it_out(self, show, film, qtbot):
        body = show(film)
        body.effects.spots.setFocus()
        qtbot.keyClick(body.effects.spots, Qt.Key.Key_Delete)

        def after():
            assert [spot.id for spot in content(body).spots] == ["f61"]
            assert body.effects.spot_id == "f61"

        def before():
            assert len(content(body).spots) == 2

        there_and_back(body, before, after)

    def test_a_scene_with_neither(self, show):
        body = show(scene_with(SceneContent())[0])
        assert body.music.cues == ()
        assert body.no_cues.isVisible()
        assert body.effects.heading.text() == "NO EFFECTS"
        assert not body.effects.spots.isVisible()
        assert not body.effects.details.isVisible()
        assert body.summary(body.bench.session.film.scene("s2")) == "no music yet · no effects"

    def test_rights_of_an_effect(self, show, film, qtbot):
        body = show(film)
        rights = body.effects.details.rights
        rights.licence.setCurrentIndex(1)
        rights.licence.activated.emit(1)
        qtbot.keyClicks(rights.author.edit, "Mirre Oland")
        found = content(body).spots[0].rights
        assert (found.licence, found.author) == ("CC BY 4.0", "Mirre Oland")
        assert rights.lacking.text() == "Not entered yet: title and source."
        assert "Mirre Oland" in rights.line.text()


class TestRefusals:
    def test_a_locked_scene(self, show, chosen_film, qtbot):
        content_then = chosen_film.scene("s2").content
        locked = lock(chosen_film, "s2", "2026-03-01", locked_media(content_then), "trial").after
        body = show(locked)
        told = "Scene 2 is locked. Unlock it to change its music and effects."
        assert not body.no_music.isEnabled()
        assert not any(button.isEnabled() for button in body.music.cues[0].buttons)
        assert body.music.cues[0].add.toolTip() == told
        assert body.music.cues[0].rows[0].listen.isEnabled()
        for field in (
            body.music.details.gain.gain,
            body.music.details.rights.title,
            body.effects.details.spot.label,
        ):
            assert field.edit.isReadOnly()
            assert field.edit.toolTip() == told
        with qtbot.waitSignal(body.bench.session.refused):
            body.music.try_music(1)
        assert content(body) == content_then

    def test_a_film_that_is_open_for_reading_only(self, show, chosen_film, qtbot):
        body = show(chosen_film)
        body.bench.session.read_only = "It is open elsewhere."
        body.show_scene(chosen_film.scene("s2"))
        assert not body.add_cue.isEnabled()
        assert body.music.details.rights.title.edit.isReadOnly()
        with qtbot.waitSignal(body.bench.session.refused) as told:
            body.music.try_music(1)
        assert "It is open elsewhere." in told.args[0].message

    def test_trying_where_there_is_nothing_to_try(self, show):
        body = show(scene_with(SceneContent())[0])
        body.music.try_music(1)
        assert content(body) == SceneContent()


class TestReach:
    def test_everything_has_a_name_and_can_be_reached(self, show, chosen_film):
        body = show(chosen_film)
        body.music.details.duck.is_on.click()
        reached = focus_chain(body)
        kinds = (QAbstractButton, QLineEdit, QComboBox, QPlainTextEdit)
        for kind in kinds:
            for control in body.findChildren(kind):
                if (
                    control.isVisible()
                    and control.isEnabled()
                    and control.focusPolicy() & Qt.FocusPolicy.TabFocus
                ):
                    assert control.accessibleName(), control
                    assert control in reached, control.accessibleName()

    def test_tab_goes_down_the_page(self, show, chosen_film):
        body = show(chosen_film, width=420)
        tab_within(body)
        names = [widget.accessibleName() for widget in focus_chain(body)]
        first = names.index("m2: Twice (b), by Wenke Aldous, CC BY 4.0")
        names = names[first:] + names[:first]
        wanted = [
            "m2: Twice (b), by Wenke Aldous, CC BY 4.0",
            "Listen to Twice (b), by Wenke Aldous",
            "Try the next music for m2 against the picture",
            "Label of the cue",
            "Gain of the music",
            "Title of the music",
            "Add a cue at the playhead",
            "Effects",
            "Label of the spot",
            "Find a sound in your own folders",
        ]
        places = [names.index(name) for name in wanted]
        assert places == sorted(places)

    @pytest.mark.parametrize("width", [432, 640])
    def test_nothing_is_wider_than_the_page(self, show, chosen_film, width):
        body = show(chosen_film, width=width)
        body.music.details.duck.is_on.click()
        body.effects.finding.click()
        assert body.minimumSizeHint().width() <= width
        for widget in (body.music.cues[0], body.music.details, body.effects):
            assert widget.geometry().right() <= width

    def test_media_that_are_learnt_later(self, show, chosen_film):
        body = show(chosen_film, {})
        assert body.music.details.fit.told.text() == "How long the music is, is not known yet."
        body.bench.media.now(**{"music/own & old.wav": facts(None, sound=20)})
        body.show_scene(chosen_film.scene("s2"))
        # 20 s less the in point of 2.5 s is 11.5 s more than a cue of 6 s.
        assert body.music.details.fit.told.text().startswith("The music is 0:11:12 longer than the cue")

    def test_small_film(self, show):
        assert show(small_film()).music.cues == ()
