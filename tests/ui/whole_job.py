"""Does the whole job in a real window; started by `test_whole_job.py` on a screen of its own."""

import sys
from pathlib import Path

from PySide6.QtCore import QPoint
from PySide6.QtWidgets import QLineEdit, QPlainTextEdit, QPushButton

from desk.ui.window import MainWindow
from tests.ui.driving import Driver
from tests.ui.window_job import WindowJob, do_in_window


class Job(WindowJob):
    """The job, step by step."""

    def __init__(self, window: MainWindow, driver: Driver, rushes: Path, project: Path) -> None:
        super().__init__(window, driver)
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


def main(rushes: Path, project: Path) -> int:
    """Do the job; returns the exit code."""
    return do_in_window(lambda window, driver: Job(window, driver, rushes, project).do())


if __name__ == "__main__":
    sys.exit(main(Path(sys.argv[1]), Path(sys.argv[2])))
