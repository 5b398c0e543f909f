"""All keys of the window, taken from the actions themselves."""

from collections.abc import Sequence

from PySide6.QtCore import (
    QKeyCombination,
    QModelIndex,
    QObject,
    QPersistentModelIndex,
    QRect,
    QSize,
    QSortFilterProxyModel,
    Qt,
)
from PySide6.QtGui import QAction, QFontMetrics, QKeySequence, QPainter, QStandardItem, QStandardItemModel
from PySide6.QtWidgets import (
    QDialog,
    QDialogButtonBox,
    QHeaderView,
    QLabel,
    QLineEdit,
    QMenu,
    QStackedWidget,
    QStyledItemDelegate,
    QStyleOptionViewItem,
    QTreeView,
    QVBoxLayout,
    QWidget,
)

from desk.ui.actions import WITHIN
from desk.ui.look.icons import icon
from desk.ui.look.theme import Theme
from desk.ui.look.type import SMALL_PX, TITLE_PX, sans, serif

_Index = QModelIndex | QPersistentModelIndex

_FIRST_SIZE_PX = (700, 640)
_KEYS_PX = 372
_ROW_PX = 28
_CAP_PX = 20
_OTHERS = "Other"


def plain_text(text: str) -> str:
    """Return a menu's or an action's text without its mnemonic."""
    return text.replace("&&", "\0").replace("&", "").replace("\0", "&")


def keys_by_menu(actions: Sequence[QAction]) -> dict[str, list[tuple[str, tuple[str, ...]]]]:
    """Return what every action with a key is called and its keys, by menu, in the order given.

    A submenu is named after its menu: `Cut – Hold`.

    Args:
        actions: The actions; those without a key are left out.
    """
    groups: dict[str, list[tuple[str, tuple[str, ...]]]] = {}
    for action in actions:
        keys = _keys_of(action)
        if keys:
            groups.setdefault(_heading_of(action), []).append((plain_text(action.text()), keys))
    return groups


class KeySheet(QDialog):
    """Lists all keys, by menu. Typing looks for a word or a key."""

    def __init__(self, actions: Sequence[QAction], theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self.setWindowTitle("Keys")
        self.resize(*_FIRST_SIZE_PX)
        self.search = QLineEdit()
        self.tree = QTreeView()
        self.nothing = QLabel()
        self._stack = QStackedWidget()
        self._model = _made_model(actions, self)
        self._found = QSortFilterProxyModel(self)
        self._found.setSourceModel(self._model)
        self._found.setRecursiveFilteringEnabled(True)
        self._found.setAutoAcceptChildRows(True)
        self._found.setFilterKeyColumn(-1)
        self._found.setFilterCaseSensitivity(Qt.CaseSensitivity.CaseInsensitive)
        self._arrange(theme)
        self.search.textChanged.connect(self._on_searched)

    def shown(self) -> list[tuple[str, str, str]]:
        """Return menu, text and keys of what is shown now."""
        rows = []
        for group in range(self._found.rowCount()):
            parent = self._found.index(group, 0)
            rows += [
                (
                    str(parent.data()),
                    str(self._found.index(row, 0, parent).data()),
                    str(self._found.index(row, 1, parent).data()),
                )
                for row in range(self._found.rowCount(parent))
            ]
        return rows

    def _on_searched(self, text: str) -> None:
        self._found.setFilterFixedString(text.strip())
        self.tree.expandAll()
        self._span_headings()
        is_found = self._found.rowCount() > 0
        self.nothing.setText(
            f"No key has to do with “{text.strip()}”. Try another word, or a key such as Ctrl."
        )
        self._stack.setCurrentIndex(0 if is_found else 1)

    def _span_headings(self) -> None:
        for group in range(self._found.rowCount()):
            self.tree.setFirstColumnSpanned(group, QModelIndex(), True)

    def _arrange(self, theme: Theme) -> None:
        heading = QLabel("Keys")
        heading.setFont(serif(TITLE_PX))
        self.search.setPlaceholderText("Search what a key does, or the key")
        self.search.setAccessibleName("Search the keys")
        self.search.setClearButtonEnabled(True)
        self.search.addAction(icon("search", theme, colour="dim"), QLineEdit.ActionPosition.LeadingPosition)
        self.tree.setModel(self._found)
        self.tree.setAccessibleName("Keys by menu")
        self.tree.setHeaderHidden(True)
        self.tree.setRootIsDecorated(False)
        self.tree.setItemsExpandable(False)
        self.tree.setIndentation(0)
        self.tree.setUniformRowHeights(True)
        self.tree.setItemDelegate(_RowDelegate(theme, self.tree))
        self.tree.setItemDelegateForColumn(1, _KeyDelegate(theme, self.tree))
        self.tree.setEditTriggers(QTreeView.EditTrigger.NoEditTriggers)
        header = self.tree.header()
        header.setStretchLastSection(False)
        header.setSectionResizeMode(0, QHeaderView.ResizeMode.Stretch)
        header.setSectionResizeMode(1, QHeaderView.ResizeMode.Fixed)
        header.resizeSection(1, _KEYS_PX)
        self.tree.expandAll()
        self._span_headings()
        self.nothing.setWordWrap(True)
        self.nothing.setProperty("kind", "dim")
        self.nothing.setAlignment(Qt.AlignmentFlag.AlignTop | Qt.AlignmentFlag.AlignLeft)
        self._stack.addWidget(self.tree)
        self._stack.addWidget(self.nothing)
        buttons = QDialogButtonBox(QDialogButtonBox.StandardButton.Close)
        buttons.rejected.connect(self.reject)
        page = QVBoxLayout(self)
        page.setContentsMargins(24, 20, 24, 16)
        page.setSpacing(12)
        page.addWidget(heading)
        page.addWidget(self.search)
        page.addWidget(self._stack, 1)
        page.addWidget(buttons)


class _RowDelegate(QStyledItemDelegate):
    """Rows of one height; menus are headings."""

    def __init__(self, theme: Theme, parent: QObject) -> None:
        super().__init__(parent)
        self._theme = theme

    def paint(self, painter: QPainter, option: QStyleOptionViewItem, index: _Index) -> None:
        if index.parent().isValid():
            super().paint(painter, option, index)
            return
        rect: QRect = option.rect.adjusted(4, 0, -4, -4)
        font = sans(SMALL_PX, strong=True)
        painter.save()
        painter.setFont(font)
        painter.setPen(self._theme.colour("dim"))
        text = str(index.data()).upper()
        painter.drawText(rect, Qt.AlignmentFlag.AlignBottom | Qt.AlignmentFlag.AlignLeft, text)
        painter.restore()

    def sizeHint(self, option: QStyleOptionViewItem, index: _Index) -> QSize:
        return QSize(super().sizeHint(option, index).width(), _ROW_PX)


class _KeyDelegate(_RowDelegate):
    """Draws keys as caps."""

    def paint(self, painter: QPainter, option: QStyleOptionViewItem, index: _Index) -> None:
        rect: QRect = option.rect
        keys = index.data(Qt.ItemDataRole.UserRole) or ()
        font = sans(SMALL_PX)
        metrics = QFontMetrics(font)
        painter.save()
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setFont(font)
        left, top = rect.left() + 4, rect.center().y() - _CAP_PX // 2
        for number, key in enumerate(keys):
            if number:
                left = (
                    self._write(painter, QRect(left, top, metrics.horizontalAdvance("or"), _CAP_PX), "or") + 8
                )
            for cap in _caps(key):
                width = max(_CAP_PX, metrics.horizontalAdvance(cap) + 12)
                place = QRect(left, top, width, _CAP_PX)
                painter.setPen(self._theme.colour("outline"))
                painter.setBrush(self._theme.colour("row"))
                painter.drawRoundedRect(place.toRectF().adjusted(0.5, 0.5, -0.5, -0.5), 3, 3)
                left = self._write(painter, place, cap) + 4
            left += 4
        painter.restore()

    def _write(self, painter: QPainter, place: QRect, text: str) -> int:
        painter.setPen(self._theme.colour("ink"))
        painter.drawText(place, Qt.AlignmentFlag.AlignCenter, text)
        return place.right() + 1


def _made_model(actions: Sequence[QAction], parent: QObject) -> QStandardItemModel:
    model = QStandardItemModel(0, 2, parent)
    for name, rows in keys_by_menu(actions).items():
        heading = QStandardItem(name)
        heading.setFlags(Qt.ItemFlag.ItemIsEnabled)
        for text, keys in rows:
            shown = QStandardItem(" or ".join(keys))
            shown.setData(keys, Qt.ItemDataRole.UserRole)
            shown.setToolTip(shown.text())
            heading.appendRow([QStandardItem(text), shown])
        model.appendRow(heading)
    return model


def _menu_of(action: QAction) -> str:
    for owner in action.associatedObjects():
        # A menu bar has a menu without a name for what there is no room for.
        if isinstance(owner, QMenu) and owner.title():
            above = _menu_of(owner.menuAction())
            title = plain_text(owner.title())
            return title if above == _OTHERS else f"{above} – {title}"
    return _OTHERS


def _heading_of(action: QAction) -> str:
    """Return what stands above an action's key: its menu, and the part of the window where the key acts."""
    within, menu = action.property(WITHIN), _menu_of(action)
    if not within:
        return menu
    return f"In the {within}" if menu == _OTHERS else f"{menu}, in the {within}"


def _keys_of(action: QAction) -> tuple[str, ...]:
    """Return an action's keys as text; keys that only few keyboards have stand back behind the others."""
    keys = [key for key in action.shortcuts() if not key.isEmpty()]
    usual = [key for key in keys if not _is_rare(key)]
    return tuple(key.toString(QKeySequence.SequenceFormat.NativeText) for key in usual or keys)


def _is_rare(key: QKeySequence) -> bool:
    """Return whether a key is one that ordinary keyboards lack: F13 and on, or one with a word on it."""
    first: QKeyCombination = key[0]  # type: ignore[index]
    return bool(Qt.Key.Key_F13 <= first.key() <= Qt.Key.Key_F35 or first.key() > Qt.Key.Key_Direction_R)


def _caps(key: str) -> list[str]:
    """Return the caps of a key as text: `Ctrl+Shift++` has `Ctrl`, `Shift` and `+`."""
    caps = [part for part in key.split("+") if part]
    return [*caps, "+"] if key.endswith("+") else caps
