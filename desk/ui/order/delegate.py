"""Paints the rows of the running order, and edits a slugline in its place."""

from PySide6.QtCore import (
    QAbstractItemModel,
    QEvent,
    QModelIndex,
    QObject,
    QPersistentModelIndex,
    QPoint,
    QRect,
    QSize,
    Qt,
)
from PySide6.QtGui import QHelpEvent, QPainter
from PySide6.QtWidgets import (
    QAbstractItemView,
    QLineEdit,
    QStyle,
    QStyledItemDelegate,
    QStyleOptionViewItem,
    QToolTip,
    QWidget,
)

from desk.ui.bench import Bench
from desk.ui.look.marks import paint_mark, paint_tension
from desk.ui.look.type import LARGE_PX, SMALL_PX, TEXT_PX, sans, serif, typewriter
from desk.ui.order.entry_list import Index
from desk.ui.order.facts import NO_PURPOSE, NO_SLUGLINE
from desk.ui.order.gap_paint import mark_rect, paint_gap
from desk.ui.order.gaps import join_sentence
from desk.ui.order.ink import Ink, Side, Words
from desk.ui.order.model import OrderModel
from desk.ui.order.row_layout import BAR_PX, Part, RowLayout, item_height, lay_out_row
from desk.ui.order.rows import Row

_SHARE_OF_OPEN = 0.5
"""How much of the third line the words about what is open may take."""

_PICTURES = {0: (), 1: (1,), 2: (0, 2), 3: (0, 1, 2)}
"""Which of three moments are shown where there is room for fewer."""


class OrderDelegate(QStyledItemDelegate):
    """Paints a row as a strip of the ledger, with the gap after it."""

    def __init__(self, bench: Bench, model: OrderModel, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._bench = bench
        self._model = model
        self._number = Words(typewriter(LARGE_PX))
        self._slugline = Words(typewriter(LARGE_PX - 1))
        self._name = Words(sans(TEXT_PX, strong=True))
        self._line = Words(sans(TEXT_PX))
        self._small = Words(sans(SMALL_PX + 1))
        self._note = Words(sans(SMALL_PX + 1, italic=True))
        self._title = Words(serif(LARGE_PX + 2, italic=True))
        self._label = Words(sans(SMALL_PX))
        self.hovered_gap: tuple[int, Part] | None = None

    def layout_of(self, rect: QRect, row: Row) -> RowLayout:
        """Return where everything stands in a row's item."""
        size = self._bench.session.film.size
        return lay_out_row(rect, row, size.width / size.height)

    def is_mark(self, layout: RowLayout, row: Row, point: QPoint) -> bool:
        """Return whether a point is on the mark or the words of a join or fade beside a row."""
        return any(
            mark_rect(self._label, rect, gap).contains(point)
            for rect, gap in ((layout.gap, row.gap), (layout.lead, row.lead))
        )

    def tip_at(self, layout: RowLayout, row: int, part: Part, *, is_mark: bool = False) -> str:
        """Return the tool tip of a part of a row.

        Args:
            layout: Where everything stands in the row.
            row: Its place.
            part: What the pointer is over.
            is_mark: Whether that is the mark or the words of a join or fade, which one click opens.
        """
        listed = self._model.row_at(row)
        how = "Click" if is_mark else "Double-click"
        if part is Part.LEAD:
            told = (
                f"The film begins with {listed.lead.words}."
                if listed.lead.words
                else "The film begins at once."
            )
            return f"{told} {how} to change its fades."
        if part is Part.GAP and listed.is_last:
            told = f"The film ends with {listed.gap.words}." if listed.gap.words else "The film ends at once."
            return f"{told} {how} to change its fades."
        if part is Part.GAP:
            return f"{join_sentence(listed.gap)} {how} to change the join."
        return self._model.tip_at(row)

    def _paint_row(self, ink: Ink, layout: RowLayout, index: int, *, is_lit: bool, is_chosen: bool) -> None:
        listed = self._model.row_at(index)
        facts = listed.facts
        ink.painter.fillRect(layout.row, ink.colour("row_chosen" if is_lit else "row"))
        if is_chosen:
            bar = QRect(layout.row.left(), layout.row.top(), BAR_PX, layout.row.height())
            ink.painter.fillRect(bar, ink.colour("pencil"))
        paint_mark(ink.painter, layout.mark.toRectF(), self._model.mark_at(index), ink.look)
        self._name.draw(ink, layout.length, facts.length, "ink", Side.RIGHT)
        self._label.draw(ink, layout.start, listed.start, "dim", Side.RIGHT)
        if listed.scene is None:
            self._paint_card(ink, layout, listed)
        else:
            self._paint_scene(ink, layout, listed, index)

    def _paint_card(self, ink: Ink, layout: RowLayout, listed: Row) -> None:
        facts, rect = listed.facts, layout.title
        used = self._name.draw(ink, rect, facts.title, "ink")
        rest = rect.adjusted(max(52, used + 16), 0, 0, 0)
        if facts.length_frames:
            self._title.draw(ink, rest, facts.detail, "dim")
        else:
            self._small.draw(ink, rest, "empty, left out", "pencil_text")

    def _paint_scene(self, ink: Ink, layout: RowLayout, listed: Row, index: int) -> None:
        facts, scene = listed.facts, listed.scene
        assert scene is not None
        self._number.draw(ink, layout.number, facts.number, "ink", Side.MIDDLE)
        paint_tension(ink.painter, layout.tension.toRectF(), scene.tension, ink.look)
        self._slugline.draw(ink, layout.title, facts.title or NO_SLUGLINE, "ink" if facts.title else "dim")
        if facts.detail:
            self._line.draw(ink, layout.detail, facts.detail, "ink")
        else:
            self._line.draw(ink, layout.detail, NO_PURPOSE, "pencil_text")
        self._paint_foot(ink, layout.foot, listed, index)
        moments = facts.moments
        for rect, at in zip(layout.thumbnails, _PICTURES[len(layout.thumbnails)], strict=True):
            moment = moments[min(at, len(moments) - 1)]
            ink.picture(rect, self._bench.thumbnails.picture(moment.source, moment.seconds))

    def _paint_foot(self, ink: Ink, rect: QRect, listed: Row, index: int) -> None:
        """Paint the third line: music, grade note, and at the right what is open."""
        facts = listed.facts
        open_words, colour = self.open_words(index)
        taken = 0
        if open_words:
            most = rect.adjusted(round(rect.width() * (1 - _SHARE_OF_OPEN)), 0, 0, 0)
            taken = self._small.draw(ink, most, open_words, colour, Side.RIGHT) + 12
        rest = rect.adjusted(0, 0, -taken, 0)
        used = 0
        if facts.cues:
            colour = "pencil_text" if facts.cues_are_open else "dim"
            used = self._small.draw(ink, rest, facts.cues, colour) + 16
        if facts.note and rest.width() - used > 24:
            self._note.draw(ink, rest.adjusted(used, 0, 0, 0), facts.note, "dim")

    def open_words(self, index: int) -> tuple[str, str]:
        """Return what is open in a row in a few words, and their colour in the palette."""
        status = self._model.status_at(index)
        scene = self._model.row_at(index).scene
        if status is None or scene is None:
            return "", ""
        if status.broken:
            return "lock broken", "broken_text"
        if scene.lock:
            return "", ""
        parts = dict.fromkeys(item.part.value for item in status.open)
        if not parts:
            return "ready to lock", "locked"
        return f"open: {', '.join(parts)}", "pencil_text"

    def paint(self, painter: QPainter, option: QStyleOptionViewItem, index: Index) -> None:
        row = index.row()
        listed = self._model.row_at(row)
        rect: QRect = option.rect
        state: QStyle.StateFlag = option.state
        layout = self.layout_of(rect, listed)
        ink = Ink(painter, self._bench.theme.palette)
        is_chosen = bool(state & QStyle.StateFlag.State_Selected)
        is_hovered = bool(state & QStyle.StateFlag.State_MouseOver) and self.hovered_gap is None
        self._paint_row(ink, layout, row, is_lit=is_chosen or is_hovered, is_chosen=is_chosen)
        if state & QStyle.StateFlag.State_HasFocus:
            ink.frame(layout.row, "pencil")
        hovered = self.hovered_gap[1] if self.hovered_gap and self.hovered_gap[0] == row else None
        paint_gap(ink, self._label, layout.gap, listed.gap, is_hovered=hovered is Part.GAP)
        if listed.is_first:
            paint_gap(ink, self._label, layout.lead, listed.lead, is_hovered=hovered is Part.LEAD)

    def sizeHint(self, option: QStyleOptionViewItem, index: Index) -> QSize:
        return QSize(120, item_height(self._model.row_at(index.row())))

    def createEditor(self, parent: QWidget, option: QStyleOptionViewItem, index: Index) -> QWidget:
        listed = self._model.row_at(index.row())
        editor = QLineEdit(parent)
        editor.setFont(self._name.font if listed.scene is None else self._slugline.font)
        name = "Name of the card" if listed.scene is None else f"Slugline of scene {listed.facts.number}"
        editor.setAccessibleName(name)
        return editor

    def setEditorData(self, editor: QWidget, index: Index) -> None:
        assert isinstance(editor, QLineEdit)
        editor.setText(index.data(Qt.ItemDataRole.EditRole))
        editor.selectAll()

    def setModelData(self, editor: QWidget, model: QAbstractItemModel, index: Index) -> None:
        assert isinstance(editor, QLineEdit)
        model.setData(index, editor.text(), Qt.ItemDataRole.EditRole)

    def updateEditorGeometry(self, editor: QWidget, option: QStyleOptionViewItem, index: Index) -> None:
        rect: QRect = option.rect
        title = self.layout_of(rect, self._model.row_at(index.row())).title
        height = max(28, editor.sizeHint().height())
        editor.setGeometry(title.left() - 8, title.center().y() - height // 2, title.width() + 12, height)

    def helpEvent(
        self,
        event: QHelpEvent,
        view: QAbstractItemView,
        option: QStyleOptionViewItem,
        index: QModelIndex | QPersistentModelIndex,
    ) -> bool:
        if event.type() != QEvent.Type.ToolTip or not index.isValid():
            return super().helpEvent(event, view, option, index)
        rect: QRect = option.rect
        layout = self.layout_of(rect, self._model.row_at(index.row()))
        part = layout.part_at(event.pos())
        is_mark = self.is_mark(layout, self._model.row_at(index.row()), event.pos())
        where = layout.gap if part is Part.GAP else layout.lead if part is Part.LEAD else layout.row
        QToolTip.showText(
            event.globalPos(), self.tip_at(layout, index.row(), part, is_mark=is_mark), view, where
        )
        return True
