"""The program's own fonts, and Qt without a window."""

import os
import shutil
import subprocess
import sys
import textwrap
import tomllib
import unicodedata
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest
from PySide6.QtGui import QFontDatabase, QRawFont

import desk
from desk.cards import fonts
from desk.cards.drawing import draw_card, draw_slate, missing_characters
from desk.cards.fonts import prepare_drawing, resource_folder
from desk.errors import DeskError
from desk.film.model import Card, CreditBlock, CreditRow, Size

REPOSITORY = Path(__file__).parents[2]
SIZE = Size(640, 336)
CARD = Card(
    id="c1",
    lines=("The Unprinted Ticket",),
    credits=(CreditBlock(heading="Crew", rows=(CreditRow(role="Deckhand", names=("Ida Å. Bø",)),)),),
)


def run(code: str, folder: Path, **environment: str) -> subprocess.CompletedProcess[str]:
    """Run a program in a bare environment: no display, no run-time folder."""
    bare = {key: value for key, value in os.environ.items() if key in ("PATH", "HOME", "SYSTEMROOT")}
    bare["PYTHONPATH"] = str(REPOSITORY)
    command = [sys.executable, "-c", textwrap.dedent(code)]
    return subprocess.run(
        command, cwd=folder, env=bare | environment, capture_output=True, text=True, check=False, timeout=120
    )


def test_each_font_comes_with_its_licence_and_they_are_small():
    folder = resource_folder() / "fonts"
    sizes = [path.stat().st_size for path in folder.glob("*.otf")]
    assert len(sizes) == 7
    assert sum(sizes) < 3_000_000
    for name in ("EB-Garamond", "Inter", "Courier-Prime"):
        text = (folder / f"OFL-{name}.txt").read_text()
        assert text.startswith("Copyright")
        assert "SIL OPEN FONT LICENSE Version 1.1 - 26 February 2007" in text
        assert "PERMISSION & CONDITIONS" in text


@pytest.mark.parametrize(
    "path", sorted((REPOSITORY / "resources/fonts").glob("*.otf")), ids=lambda path: path.stem
)
def test_no_font_promises_a_character_that_it_draws_blank(path):
    prepare_drawing()
    font = QRawFont(str(path), 64)
    # Basic Latin to Latin Extended-A: Western, Central and Northern European languages (Unicode blocks).
    for code in range(0x20, 0x180):
        sign = chr(code)
        if unicodedata.category(sign)[0] in "ZC" or not font.supportsCharacter(sign):
            continue
        (glyph,) = font.glyphIndexesForString(sign)
        assert not font.pathForGlyph(glyph).isEmpty(), sign


def test_every_face_is_there_and_is_ours():
    prepare_drawing()
    styles = {
        family: set(QFontDatabase.styles(family)) for family in QFontDatabase.families() if "Desk" in family
    }
    assert styles[fonts.SERIF] == {"Regular", "Italic"}
    assert styles[fonts.SERIF_SMALL] == {"Regular"}
    assert {"Regular", "SemiBold"} <= styles[fonts.SANS]
    assert styles[fonts.TYPEWRITER] == {"Regular", "Bold"}


def test_drawing_without_a_display_prints_nothing(tmp_path):
    code = f"""
        from pathlib import Path
        from desk.cards.drawing import draw_slate
        from desk.film.model import Size
        draw_slate(number="1", slugline="INT. KIOSK - DAY", note="not locked", size=Size(640, 336),
                   target=Path({str(tmp_path / "there.png")!r}))
    """
    outcome = run(code, tmp_path)
    assert (outcome.returncode, outcome.stdout, outcome.stderr) == (0, "", "")
    draw_slate(
        number="1",
        slugline="INT. KIOSK - DAY",
        note="not locked",
        size=Size(640, 336),
        target=tmp_path / "here.png",
    )
    assert (tmp_path / "there.png").read_bytes() == (tmp_path / "here.png").read_bytes()


def test_numbers_are_still_written_with_a_point(tmp_path):
    # Qt sets the process to the person's locale; ffmpeg's libraries read numbers with it.
    code = """
        import locale
        from desk.cards.fonts import prepare_drawing
        before = locale.setlocale(locale.LC_NUMERIC)
        prepare_drawing()
        print(before == locale.setlocale(locale.LC_NUMERIC) == "C")
    """
    assert run(code, tmp_path, LC_ALL="C.UTF-8").stdout == "True\n"


def test_another_thread_can_not_be_the_first(tmp_path):
    code = """
        import threading
        from desk.cards.fonts import prepare_drawing
        def first():
            try:
                prepare_drawing()
            except RuntimeError as error:
                print(error)
        thread = threading.Thread(target=first)
        thread.start()
        thread.join()
        prepare_drawing()
    """
    outcome = run(code, tmp_path)
    assert (outcome.returncode, outcome.stderr) == (0, "")
    assert "in the main thread" in outcome.stdout


def test_a_running_application_is_used_as_it_is(tmp_path):
    code = """
        from PySide6.QtCore import QCoreApplication
        from PySide6.QtGui import QGuiApplication
        own = QGuiApplication(["window", "-platform", "offscreen"])
        own.setApplicationName("window")
        from desk.cards.fonts import prepare_drawing
        prepare_drawing()
        print(QCoreApplication.instance() is own, own.applicationName())
    """
    assert run(code, tmp_path).stdout == "True window\n"


def test_an_application_that_can_not_draw_is_told(tmp_path):
    code = """
        from PySide6.QtCore import QCoreApplication
        own = QCoreApplication([])
        from desk.cards.fonts import prepare_drawing
        prepare_drawing()
    """
    assert "RuntimeError: a QCoreApplication runs here" in run(code, tmp_path).stderr


def test_the_same_card_gives_the_same_bytes_in_every_thread(tmp_path):
    prepare_drawing()

    def draw(number: int) -> bytes:
        target = tmp_path / f"{number}.png"
        draw_card(CARD, film_size=SIZE, size=SIZE, target=target)
        return target.read_bytes()

    first = draw(0)
    with ThreadPoolExecutor(4) as pool:
        assert set(pool.map(draw, range(1, 17))) == {first}


def test_characters_without_a_font_are_named():
    # U+10FFFD is for private use, so that no font should have it (Unicode, chapter 23.5).
    assert missing_characters(CARD) == ""
    assert missing_characters(Card(id="c1", lines=("a\U0010fffdb",))) == "\U0010fffd"


def test_fonts_are_found_beside_an_installed_package(tmp_path):
    # The places of a wheel: resources/ is the package desk.resources.
    for source, target in (("desk", "desk"), ("resources", "desk/resources")):
        shutil.copytree(REPOSITORY / source, tmp_path / target, ignore=shutil.ignore_patterns("__pycache__"))
    code = """
        from desk.cards.fonts import prepare_drawing, resource_folder
        prepare_drawing()
        print(resource_folder())
    """
    outcome = run(code, tmp_path, PYTHONPATH=str(tmp_path))
    assert (outcome.stdout.strip(), outcome.stderr) == (str(tmp_path / "desk/resources"), "")


def test_every_room_is_packed_into_the_wheel():
    settings = tomllib.loads((REPOSITORY / "pyproject.toml").read_text())["tool"]["setuptools"]
    rooms = {
        ".".join(path.parent.relative_to(REPOSITORY).parts)
        for path in (REPOSITORY / "desk").rglob("__init__.py")
    }
    assert set(settings["packages"]) == rooms | {"desk.resources"}, (
        "name the new room under [tool.setuptools]"
    )
    assert settings["package-dir"] == {"desk.resources": "resources"}


def test_missing_fonts_are_told(tmp_path, monkeypatch):
    monkeypatch.setattr(desk, "__file__", str(tmp_path / "desk/__init__.py"))
    with pytest.raises(DeskError, match="own fonts are missing") as caught:
        resource_folder()
    assert caught.value.advice == "Install the program again."


def test_a_damaged_font_is_told(tmp_path):
    for source, target in (("desk", "desk"), ("resources", "resources")):
        shutil.copytree(REPOSITORY / source, tmp_path / target, ignore=shutil.ignore_patterns("__pycache__"))
    (tmp_path / "resources/fonts/desk-sans-regular.otf").write_bytes(b"no font")
    code = """
        from desk.cards.fonts import prepare_drawing
        from desk.errors import DeskError
        try:
            prepare_drawing()
        except DeskError as error:
            print(error)
    """
    outcome = run(code, tmp_path, PYTHONPATH=str(tmp_path))
    assert "“desk-sans-regular.otf” can't be read" in outcome.stdout
    assert outcome.stderr == ""
