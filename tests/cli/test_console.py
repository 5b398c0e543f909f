"""What is printed, on terminals of any width, in files, down pipes, in any encoding."""

import pytest

from desk.cli.console import Head, Words, plain
from desk.errors import EditError, OutputError
from desk.jobs import Progress


@pytest.fixture
def terminal(monkeypatch):
    """Makes both streams a terminal of some columns."""

    def of(columns):
        monkeypatch.setenv("TTY_COMPATIBLE", "1")
        monkeypatch.setenv("FORCE_COLOR", "1")
        monkeypatch.setenv("NO_COLOR", "1")
        monkeypatch.setenv("TERM", "xterm")
        monkeypatch.setenv("COLUMNS", str(columns))
        return Words()

    return of


@pytest.fixture
def pipe(monkeypatch):
    for name in ("COLUMNS", "FORCE_COLOR", "TTY_COMPATIBLE"):
        monkeypatch.delenv(name, raising=False)
    return Words()


SENTENCE = "Scene 1 is not ready to be locked: its voices are not called level; it has no grade note."


def shown(text):
    """Return the lines of an output without what styles it."""
    return text.replace("\x1b[1m", "").replace("\x1b[2m", "").replace("\x1b[0m", "").splitlines()


class TestSentences:
    def test_are_one_line_down_a_pipe(self, pipe, capsys):
        pipe.say(SENTENCE)
        pipe.note(SENTENCE)
        pipe.fault(EditError(SENTENCE, advice="Settle this."))
        said = capsys.readouterr()
        assert said.out == f"{SENTENCE}\n"
        assert said.err == f"{SENTENCE}\ndesk: {SENTENCE}\n      Settle this.\n"

    @pytest.mark.parametrize("columns", [30, 40, 80])
    def test_are_broken_at_words_on_a_terminal(self, terminal, capsys, columns):
        terminal(columns).fault(EditError(SENTENCE, advice="Settle this."))
        lines = shown(capsys.readouterr().err)
        assert all(len(line) <= columns for line in lines)
        assert " ".join(line.strip() for line in lines) == f"desk: {SENTENCE} Settle this."
        assert all(line.startswith("      ") for line in lines[1:])

    def test_a_terminal_of_no_width_is_no_reason_to_stop(self, terminal, capsys):
        terminal(1).fault(EditError(SENTENCE))
        assert len(shown(capsys.readouterr().err)) > 3

    def test_a_path_is_never_broken(self, terminal, capsys):
        path = "copies/" + "a long name with spaces " * 8 + ".mp4"
        terminal(40).line(path)
        assert capsys.readouterr().out == f"{path}\n"

    def test_an_advice_that_several_faults_share_is_said_once(self, pipe, capsys):
        pipe.faults([EditError("One.", advice="Do it."), EditError("Two.", advice="Do it.")], "And more.")
        assert capsys.readouterr().err == "desk: One.\ndesk: Two.\n      Do it.\n      And more.\n"

    @pytest.mark.parametrize(
        ("text", "expected"),
        [
            ("a\x1b[31mb", r"a\x1b[31mb"),
            ("a\nb\rc\td", r"a\nb\rc\td"),
            ("a\u202eb\u2028c", r"a\u202eb\u2028c"),
            ("é 渡 🚢 “x”", "é 渡 🚢 “x”"),
            ("[bold]not markup[/bold]", "[bold]not markup[/bold]"),
        ],
    )
    def test_control_characters_are_shown_and_not_obeyed(self, pipe, capsys, text, expected):
        assert plain(text) == expected
        pipe.say(text)
        assert capsys.readouterr().out == f"{expected}\n"


class TestTable:
    HEADS = (
        Head("No."),
        Head("Scene or card", is_flexible=True),
        Head("Length", is_number=True),
        Head("Then"),
    )
    ROWS = (
        (
            ["1", "BOATHOUSE BY THE OLD HARBOUR WALL AT DUSK", "0:00:22", ""],
            "open: story, dialogue, music, grade",
        ),
        (["渡4A", "é", "1:10:00", "dissolve 18"], ""),
    )

    def test_is_never_broken_down_a_pipe(self, pipe, capsys):
        pipe.table(self.HEADS, self.ROWS)
        assert capsys.readouterr().out.splitlines() == [
            "No.   Scene or card                               Length  Then",
            "1     BOATHOUSE BY THE OLD HARBOUR WALL AT DUSK  0:00:22",
            "      open: story, dialogue, music, grade",
            "渡4A  é                                          1:10:00  dissolve 18",
        ]

    def test_breaks_what_may_be_broken_where_a_terminal_is_narrow(self, terminal, capsys):
        terminal(50).table(self.HEADS, self.ROWS)
        lines = shown(capsys.readouterr().out)
        assert lines[1] == "1     BOATHOUSE BY THE OLD    0:00:22"
        assert [line.strip() for line in lines[2:4]] == [
            "HARBOUR WALL AT DUSK",
            "open: story, dialogue, music, grade",
        ]
        assert max(map(len, lines)) <= 50

    def test_keeps_a_name_readable_on_the_narrowest(self, terminal, capsys):
        terminal(20).table(self.HEADS, self.ROWS)
        assert any("BOATHOUSE BY" in line for line in shown(capsys.readouterr().out))


class TestProgress:
    def test_is_quiet_down_a_pipe(self, pipe, capsys):
        with pipe.progress() as progress:
            progress(Progress("pieces", "Making pieces", 0.5))
        assert capsys.readouterr() == ("", "")

    def test_shows_no_bar_for_what_is_done_at_once(self, terminal, capsys):
        with terminal(80).progress() as progress:
            progress(Progress("pieces", "Making pieces", 0.5))
        assert capsys.readouterr() == ("", "")

    @pytest.mark.parametrize("columns", [30, 80, 160])
    def test_draws_a_bar_with_the_time_left(self, terminal, capsys, monkeypatch, columns):
        monkeypatch.setattr("desk.cli.console._BAR_DELAY_SECONDS", -1)
        with terminal(columns).progress() as progress:
            progress(Progress("probe", "Reading footage: [bold]\x1b a very long name of a file.mov", 0.25))
        said = capsys.readouterr()
        assert said.out == ""
        assert "25%" in said.err
        assert "left" in said.err
        assert "Reading" in said.err
        # It takes no more than one line, and is wiped at the end.
        assert said.err.count("\n") == 1

    def test_a_late_report_does_not_bring_it_back(self, terminal, capsys, monkeypatch):
        monkeypatch.setattr("desk.cli.console._BAR_DELAY_SECONDS", -1)
        with terminal(80).progress() as progress:
            progress(Progress("pieces", "Making pieces", 0.5))
        capsys.readouterr()
        progress(Progress("pieces", "Making pieces", 0.6))
        assert capsys.readouterr() == ("", "")


class TestStreams:
    """`capsysbinary` would hide the encoding, so files stand in for the streams."""

    @pytest.mark.parametrize(
        ("encoding", "expected"),
        [
            ("ascii", b'"Kiosk" ... ? ?\n'),
            ("latin-1", b'"Kiosk" ... \xe9 ?\n'),
            ("cp1252", b"\x93Kiosk\x94 \x85 \xe9 ?\n"),
            ("utf-8", "“Kiosk” … é 渡\n".encode()),
        ],
    )
    def test_signs_that_an_encoding_lacks(self, tmp_path, monkeypatch, encoding, expected):
        with (tmp_path / "out").open("w", encoding=encoding, newline="\n") as stream:
            monkeypatch.setattr("sys.stdout", stream)
            Words().say("“Kiosk” … é 渡")
        assert (tmp_path / "out").read_bytes() == expected

    def test_json_loses_nothing_in_any_encoding(self, tmp_path, monkeypatch):
        with (tmp_path / "out").open("w", encoding="ascii") as stream:
            monkeypatch.setattr("sys.stdout", stream)
            Words().json({"title": "渡 “x”\u2028"})
        assert (tmp_path / "out").read_text() == '{\n "title": "\\u6e21 \\u201cx\\u201d\\u2028"\n}\n'

    def test_names_that_are_not_unicode(self, tmp_path, monkeypatch):
        with (tmp_path / "out").open("w", encoding="utf-8") as stream:
            monkeypatch.setattr("sys.stdout", stream)
            Words().say("a\udcffb")
        assert (tmp_path / "out").read_bytes() == b"a?b\n"

    def test_a_full_disk_is_told(self, monkeypatch):
        try:
            stream = open("/dev/full", "w", encoding="utf-8")  # noqa: PTH123, SIM115
        except OSError:
            pytest.skip("there is no /dev/full here")
        with stream:
            monkeypatch.setattr("sys.stdout", stream)
            words = Words()
            with pytest.raises(OutputError, match="could not be written"):
                words.say("Done.")
            words.say("This goes nowhere, and that is no fault.")

    def test_streams_that_are_closed(self, monkeypatch):
        monkeypatch.setattr("sys.stdout", None)
        monkeypatch.setattr("sys.stderr", None)
        words = Words()
        words.say("Done.")
        words.json([])
        words.fault(EditError("No."))
