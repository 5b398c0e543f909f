"""The picture to remember a scene by."""

import functools
from pathlib import Path, PurePosixPath

from PySide6.QtCore import QRectF, QSize, Qt, QUrl, Signal
from PySide6.QtGui import (
    QDragEnterEvent,
    QDragLeaveEvent,
    QDropEvent,
    QImage,
    QImageReader,
    QPainter,
    QPaintEvent,
    QPen,
)
from PySide6.QtWidgets import QFileDialog, QHBoxLayout, QPushButton, QSizePolicy, QVBoxLayout, QWidget

from desk.errors import MediaError
from desk.film.wording import quoted
from desk.footage.first_film import film_path_of
from desk.jobs import CancelToken, ProgressListener
from desk.ui.bench import Bench
from desk.ui.labels import label
from desk.ui.look.type import sans

_WELL_PX = QSize(192, 108)
_EMPTY_WELL_PX = QSize(192, 56)
_MOST_PX = QSize(768, 432)


class ReferencePicture(QWidget):
    """Shows the reference picture of a scene, and takes another one.

    Signals:
        picked: Another picture was picked and can be read: the scene's id, and its path as the film has it.
        removed: It is to be taken away.
    """

    picked = Signal(str, str)
    removed = Signal()

    def __init__(self, bench: Bench, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._bench = bench
        self._scene_id = ""
        self._path = ""
        self._asked = ""
        self.well = PictureWell(bench, self)
        self.well.dropped.connect(self.take)
        self.choose = QPushButton("Choose…", self)
        self.choose.setAccessibleName("Choose a reference picture")
        self.choose.clicked.connect(self._on_choose)
        self.remove = QPushButton("Remove", self)
        self.remove.setAccessibleName("Remove the reference picture")
        self.remove.clicked.connect(self.removed)
        self.name = label("", self, kind="small", wraps=True)
        self.fault = label("", self, kind="fault", wraps=True)
        self.fault.hide()
        buttons = QHBoxLayout()
        buttons.setSpacing(8)
        buttons.addWidget(self.choose)
        buttons.addWidget(self.remove)
        buttons.addStretch(1)
        side = QVBoxLayout()
        side.setSpacing(8)
        side.addLayout(buttons)
        side.addWidget(self.name)
        side.addWidget(self.fault)
        side.addStretch(1)
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(12)
        row.addWidget(self.well, 0, Qt.AlignmentFlag.AlignTop)
        row.addLayout(side, 1)

    def show_picture(self, scene_id: str, path: str) -> None:
        """Show a scene's picture; it is read beside the window.

        Args:
            scene_id: The scene.
            path: The picture as the film names it, or "".
        """
        if scene_id != self._scene_id:
            self._say("")
        if path != self._path:
            self.well.show_image(None, "")
        self._scene_id, self._path = scene_id, path
        self.name.setText(PurePosixPath(path).name)
        self.name.setToolTip(path)
        self.remove.setVisible(bool(path))
        self._load()

    def take(self, url: QUrl) -> None:
        """Take a picture that was chosen or dropped, when it can be read; else say why not."""
        self._say("")
        if not url.isLocalFile():
            self._say(
                f"{quoted(url.toDisplayString())} is an address. Save the picture beside the film first."
            )
            return
        file = Path(url.toLocalFile())
        try:
            path = film_path_of(file, file.parent, self._bench.session.folder)
        except MediaError as error:
            self._say(str(error))
            return
        job = self._bench.jobs.start(
            "look at a picture", functools.partial(_read, file, (self._scene_id, path))
        )
        job.succeeded.connect(self._on_taken)

    def set_editable(self, editable: bool, why_not: str) -> None:
        """Allow another picture, or say in the tool tips why not."""
        for button in (self.choose, self.remove):
            button.setEnabled(editable)
            button.setToolTip("" if editable else why_not)
        self.well.setAcceptDrops(editable)

    def _say(self, sentence: str) -> None:
        self.fault.setText(sentence)
        self.fault.setVisible(bool(sentence))

    def _load(self) -> None:
        if not self._path:
            self._asked = ""
            self.well.show_image(None, "Drop a picture here.")
            return
        # The same path may hold another picture by now, which the look at the media tells.
        facts = self._bench.media.facts.get(self._path)
        asked = f"{self._path}\n{facts}"
        if asked == self._asked:
            return
        self._asked = asked
        file = self._bench.session.folder / self._path
        job = self._bench.jobs.start("read a picture", functools.partial(_read, file, (asked, "")))
        job.succeeded.connect(self._on_loaded)

    def _on_loaded(self, result: object) -> None:
        assert isinstance(result, tuple)
        (asked, _), image, _ = result
        if asked != self._asked:
            return
        if image is None:
            self.well.show_image(None, "This picture is missing or can't be read.", is_fault=True)
        else:
            self.well.show_image(image, "")

    def _on_taken(self, result: object) -> None:
        assert isinstance(result, tuple)
        (scene_id, path), image, file = result
        if image is not None:
            self.picked.emit(scene_id, path)
        elif scene_id == self._scene_id:
            self._say(f"{quoted(file.name)} is not a picture that can be read. Choose a JPEG or PNG.")

    def _on_choose(self) -> None:
        folder = self._bench.session.folder
        start = (folder / self._path).parent if self._path else folder
        dialog = QFileDialog(self, "Choose a reference picture", str(start))
        dialog.setFileMode(QFileDialog.FileMode.ExistingFile)
        kinds = " ".join(f"*.{bytes(kind.data()).decode()}" for kind in QImageReader.supportedImageFormats())
        dialog.setNameFilters([f"Pictures ({kinds})", "All files (*)"])
        dialog.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        dialog.urlSelected.connect(self.take)
        dialog.open()


class PictureWell(QWidget):
    """Where a picture is shown and dropped.

    Signals:
        dropped: What was dropped, as a `QUrl`.
    """

    dropped = Signal(QUrl)

    def __init__(self, bench: Bench, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._theme = bench.theme
        self._image: QImage | None = None
        self._is_fault = False
        self._is_under_drag = False
        self.words = ""
        self.setAcceptDrops(True)
        self.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Fixed)
        self.setFixedSize(_EMPTY_WELL_PX)
        self.setAccessibleName("Reference picture")
        bench.theme.changed.connect(self.update)

    @property
    def has_image(self) -> bool:
        """Whether a picture is shown."""
        return self._image is not None

    def show_image(self, image: QImage | None, words: str, *, is_fault: bool = False) -> None:
        """Show a picture, or words in its place."""
        self._image, self.words, self._is_fault = image, words, is_fault
        self.setAccessibleDescription(words or "shown")
        # A picture that is being read has its room already.
        self.setFixedSize(_EMPTY_WELL_PX if words else _WELL_PX)
        self.update()

    def paintEvent(self, _: QPaintEvent) -> None:
        colour = self._theme.colour
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setRenderHint(QPainter.RenderHint.SmoothPixmapTransform)
        frame = QRectF(self.rect()).adjusted(0.5, 0.5, -0.5, -0.5)
        if self._image is not None:
            size = QSize(self._image.size()).scaled(self.size(), Qt.AspectRatioMode.KeepAspectRatio)
            target = QRectF(0, 0, size.width(), size.height())
            target.moveCenter(frame.center())
            painter.drawImage(target, self._image)
        else:
            pen = QPen(colour("outline"), 1, Qt.PenStyle.DashLine)
            painter.setPen(pen)
            painter.setBrush(colour("field"))
            painter.drawRoundedRect(frame, 3, 3)
            painter.setPen(colour("broken_text" if self._is_fault else "dim"))
            painter.setFont(sans())
            box = frame.adjusted(8, 8, -8, -8)
            painter.drawText(box, Qt.AlignmentFlag.AlignCenter | Qt.TextFlag.TextWordWrap, self.words)
        if self._is_under_drag:
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.setPen(QPen(colour("pencil"), 2))
            painter.drawRoundedRect(frame.adjusted(0.5, 0.5, -0.5, -0.5), 3, 3)

    def dragEnterEvent(self, event: QDragEnterEvent) -> None:
        if event.mimeData().hasUrls():
            event.acceptProposedAction()
            self._is_under_drag = True
            self.update()

    def dragLeaveEvent(self, event: QDragLeaveEvent) -> None:
        self._is_under_drag = False
        self.update()

    def dropEvent(self, event: QDropEvent) -> None:
        self._is_under_drag = False
        self.update()
        event.acceptProposedAction()
        if urls := event.mimeData().urls():
            self.dropped.emit(urls[0])


_Asked = tuple[str, str]


def _read(
    file: Path, asked: _Asked, _: ProgressListener, __: CancelToken
) -> tuple[_Asked, QImage | None, Path]:
    """Return what was asked for with a picture, no larger than is shown, or with None where it is none."""
    if not file.is_file():
        return asked, None, file
    reader = QImageReader(str(file))
    reader.setAutoTransform(True)
    size = reader.size()
    if size.width() > _MOST_PX.width() or size.height() > _MOST_PX.height():
        reader.setScaledSize(size.scaled(_MOST_PX, Qt.AspectRatioMode.KeepAspectRatio))
    image = reader.read()
    return asked, None if image.isNull() else image, file
