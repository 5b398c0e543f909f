"""Does the whole job in a real window; started by `test_whole_job.py` on a screen of its own."""

import sys
from pathlib import Path

from PySide6.QtCore import QPoint
from PySide6.QtWidgets import QLineEdit, QPlainTextEdit, QPushButton

from desk.app import build_window, make_application
from desk.film.model import Scene
from desk.ui.film_view import FilmView
from desk.ui.look.theme import Theme
from desk.ui.messages import Messages
from desk.ui.window import MainWindow
from tests.ui.driving import Driver, start_driving


class Job:
    """The job, step by step."""

    def __init__(self, window: MainWindow, driver: Driver, rushes: Path, project: Path) -> None:
        self.window = window
        self.driver = driver
        self.rushes = rushes
        self.project = project

    def do(self) -> None:
        self.make_the_film()
        self.reorder()
        self.set_aside()
        self.add_a_card()
        for number in ("3", "1"):
            self.lock(number)
        self.assemble()

    @property
    def view(self) -> FilmView:
        return self.driver.ask(self.window.shown)

    def order(self) -> list[str]:
        film = self.window.shown().bench.session.film
        entries = [film.entry(item.entry) for item in film.order]
        return [entry.number if isinstance(entry, Scene) else "card" for entry in entries]

    def make_the_film(self) -> None:
        driver = self.driver
        driver.click(driver.find(QPushButton, "New film from a folder of footage…"))
        self.fill("Footage folder", str(self.rushes))
        self.fill("Project folder", str(self.project))
        self.fill("Title of the film", "The Unprinted Ticket")
        make = driver.find(QPushButton, "Make the film")
        driver.wait("a film to make", make.isEnabled)
        driver.click(make)
        driver.wait("the film to open", lambda: self.window.view is not None)
        driver.wait("five rows", lambda: self.order() == ["card", "1", "2", "3", "4A", "card"])

    def fill(self, name: str, text: str) -> None:
        field = self.driver.find(QLineEdit, name)
        self.driver.click(field)
        self.driver.press("ctrl+a")
        self.driver.write(text)
        self.driver.press("Tab")

    def reorder(self) -> None:
        """Drag scene 3 above scene 1; what it would do is said on the way."""
        view, driver = self.view, self.driver
        ledger = view.order.order
        seen: list[str] = []
        view.order.effect_previewed.connect(seen.append)
        target = driver.ask(lambda: ledger.layout_at(1).row)
        driver.drag(
            ledger.viewport(),
            lambda: ledger.layout_at(3).row.center(),
            ledger.viewport(),
            lambda: QPoint(target.center().x(), target.top() + 4),
        )
        driver.wait("scene 3 above scene 1", lambda: self.order() == ["card", "3", "1", "2", "4A", "card"])
        assert any("Running time" in text for text in seen)
        driver.press("ctrl+z")
        driver.wait("the move undone", lambda: self.order()[1] == "1")
        driver.press("ctrl+shift+z")
        driver.wait("the move done again", lambda: self.order()[1] == "3")

    def set_aside(self) -> None:
        """Drag scene 2 onto the shelf."""
        view, driver = self.view, self.driver
        ledger, shelf = view.order.order, view.order.shelf
        driver.drag(
            ledger.viewport(), lambda: ledger.layout_at(3).row.center(), shelf, lambda: shelf.rect().center()
        )
        driver.wait("scene 2 aside", lambda: self.order() == ["card", "3", "1", "4A", "card"])

    def add_a_card(self) -> None:
        """Add a title card after scene 1, and write on it."""
        driver = self.driver
        self.choose("1")
        driver.press("ctrl+shift+t")
        driver.wait("a card after scene 1", lambda: self.order() == ["card", "3", "1", "card", "4A", "card"])
        text = driver.find(QPlainTextEdit, "Text of the card")
        driver.click(text)
        driver.press("ctrl+a")
        driver.write("Meanwhile")
        driver.press("Tab")
        driver.wait(
            "words on the card",
            lambda: any(
                card.lines == ("Meanwhile",) for card in self.window.shown().bench.session.film.cards
            ),
        )

    def choose(self, number: str) -> None:
        driver, ledger = self.driver, self.view.order.order
        row = driver.ask(lambda: self.order().index(number))
        driver.click(ledger.viewport(), lambda: ledger.layout_at(row).row.center())
        driver.wait(
            f"scene {number} chosen",
            lambda: (scene := self.window.shown().chosen_scene()) is not None and scene.number == number,
        )

    def lock(self, number: str) -> None:
        driver = self.driver
        self.choose(number)
        driver.press("ctrl+l")
        reason = driver.find(QLineEdit, "Reason for locking it anyway")
        driver.click(reason)
        driver.write("a trial")
        driver.click(driver.find(QPushButton, "Lock anyway"))
        driver.wait(
            f"scene {number} locked",
            lambda: (scene := self.window.shown().chosen_scene()) is not None and scene.lock is not None,
        )

    def assemble(self) -> None:
        driver = self.driver
        driver.click(driver.find(QPushButton, "Assemble the film"))
        button = driver.find(QPushButton, "Assemble")
        driver.wait("something to assemble", button.isEnabled)
        driver.click(button)
        driver.wait(
            "the review copy", lambda: bool(self.window.shown().bench.session.film.review_copies), seconds=180
        )
        driver.find(QPushButton, "Play the review copy")


def main(rushes: Path, project: Path) -> int:
    """Do the job; returns the exit code."""
    application = make_application()
    theme = Theme()
    theme.apply_to(application)
    window = build_window(theme, Messages(application))
    window.resize(1400, 860)
    window.move(10, 10)
    window.show()
    faults = start_driving(lambda driver: Job(window, driver, rushes, project).do())
    application.exec()
    for fault in faults:
        raise fault
    return 0


if __name__ == "__main__":
    sys.exit(main(Path(sys.argv[1]), Path(sys.argv[2])))
