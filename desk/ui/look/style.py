"""The style of controls, from the palette: 4 px grid, corners 3 px, lines 1 px, focus always visible."""

from PySide6.QtCore import QDir

from desk.cards.fonts import resource_folder
from desk.ui.look.palette import Palette
from desk.ui.look.type import SMALL_PX

_DRAWN = "controls"


def style_sheet(look: Palette) -> str:
    """Return Qt's style sheet for a palette.

    Widgets ask for a role with the property `kind`: buttons `main` (the one thing to do here), `plain`
    (without a frame) and `danger`; labels `heading`, `dim`, `small`, `open`, `fault`; frames `panel`, `part`,
    `shelf`, `bar`; lists `plain` (without a frame, for rows that draw themselves). The property `large` makes
    a button one of the few on a page. Ticks and arrows are drawn in `resources/icons/controls`, a set for
    each palette.
    """
    QDir.setSearchPaths(_DRAWN, [str(resource_folder() / "icons" / "controls")])

    def drawn(name: str) -> str:
        return f"url({_DRAWN}:{name}-{look.name}.svg)"

    return f"""
* {{ color: {look.ink}; }}
*:disabled {{ color: {look.outline}; }}
QMainWindow, QDialog, QMessageBox {{ background: {look.bench}; }}
QDialogButtonBox {{ dialogbuttonbox-buttons-have-icons: 0; }}
QMessageBox {{ messagebox-warning-icon: {drawn("warning")}; }}
QToolTip {{
    background: {look.row_chosen}; color: {look.ink}; border: 1px solid {look.outline}; padding: 4px;
}}
QLabel {{ background: transparent; }}
QLabel[kind="heading"] {{
    color: {look.dim}; font-size: {SMALL_PX}px; font-weight: 600; letter-spacing: 1px;
}}
QLabel[kind="dim"] {{ color: {look.dim}; }}
QLabel[kind="small"] {{ color: {look.dim}; font-size: {SMALL_PX}px; }}
QLabel[kind="open"] {{ color: {look.pencil_text}; }}
QLabel[kind="fault"] {{ color: {look.broken_text}; }}
QFrame[kind="panel"] {{ background: {look.panel}; border-radius: 3px; }}
QFrame[kind="part"] {{ background: {look.row}; border-radius: 3px; }}
QFrame[kind="bar"] {{ background: {look.panel}; }}
QFrame[kind="shelf"] {{ background: transparent; border: 1px solid {look.line}; border-radius: 3px; }}
QScrollArea, QScrollArea > QWidget > QWidget {{ background: transparent; border: none; }}

QPushButton, QToolButton {{
    background: {look.row}; border: 1px solid {look.outline}; border-radius: 3px; padding: 4px 12px;
    min-height: 20px;
}}
QPushButton:hover, QToolButton:hover {{ background: {look.row_chosen}; }}
QPushButton:pressed, QToolButton:pressed {{ background: {look.bench}; }}
QPushButton:disabled, QToolButton:disabled {{ color: {look.outline}; border-color: {look.line}; }}
QPushButton:focus, QToolButton:focus {{ border: 2px solid {look.pencil}; padding: 3px 11px; }}
QPushButton[kind="main"] {{
    background: {look.pencil}; color: {look.on_pencil}; border-color: {look.pencil}; font-weight: 600;
}}
QPushButton[kind="main"]:hover {{ background: {look.pencil}; border-color: {look.ink}; }}
QPushButton[kind="main"]:focus {{ border: 3px double {look.on_pencil}; border-radius: 0; padding: 2px 10px; }}
QPushButton[kind="main"]:disabled {{
    background: {look.row}; color: {look.outline}; border-color: {look.line};
}}
QPushButton[kind="danger"] {{ color: {look.broken_text}; border-color: {look.broken}; }}
QPushButton[kind="danger"]:focus {{ border-color: {look.pencil}; }}
QPushButton[kind="plain"], QToolButton[kind="plain"] {{
    background: transparent; border-color: transparent;
}}
QPushButton[kind="plain"]:hover, QToolButton[kind="plain"]:hover {{ background: {look.row_chosen}; }}
QPushButton[kind="plain"]:focus, QToolButton[kind="plain"]:focus {{ border: 2px solid {look.pencil}; }}
QToolButton {{ padding: 3px; }}
QToolButton:focus {{ padding: 2px; }}
QLineEdit QToolButton {{ background: transparent; border: none; padding: 0; min-height: 0; }}
QPushButton:checked, QToolButton:checked {{ background: {look.row_chosen}; border-color: {look.ink}; }}
QToolButton[kind="plain"]:checked {{ background: {look.row_chosen}; border-color: {look.ink}; }}
QPushButton:checked:focus, QToolButton:checked:focus {{ border: 2px solid {look.pencil}; }}
QPushButton[large="true"] {{ min-height: 32px; padding: 4px 16px; text-align: left; }}
QPushButton[large="true"]:focus {{ padding: 3px 15px; }}
QPushButton[kind="main"][large="true"]:focus {{ padding: 2px 14px; }}

QLineEdit, QPlainTextEdit, QTextEdit, QSpinBox, QDoubleSpinBox, QComboBox, QDateEdit {{
    background: {look.field}; border: 1px solid {look.outline}; border-radius: 3px; padding: 3px 5px;
    selection-background-color: {look.pencil}; selection-color: {look.on_pencil};
}}
QLineEdit, QPlainTextEdit, QTextEdit {{ placeholder-text-color: {look.dim}; }}
QLineEdit:focus, QPlainTextEdit:focus, QTextEdit:focus, QSpinBox:focus, QDoubleSpinBox:focus, QComboBox:focus,
QDateEdit:focus {{ border: 2px solid {look.pencil}; padding: 2px 4px; }}
QLineEdit:read-only, QPlainTextEdit:read-only {{ background: transparent; border-color: {look.line}; }}
QLineEdit:disabled, QPlainTextEdit:disabled, QSpinBox:disabled, QComboBox:disabled {{
    color: {look.outline}; border-color: {look.line};
}}
QDateEdit:disabled, QDoubleSpinBox:disabled, QTextEdit:disabled {{
    color: {look.outline}; border-color: {look.line};
}}
QComboBox::drop-down, QDateEdit::drop-down {{
    subcontrol-origin: border; subcontrol-position: right center; width: 24px; border: none;
}}
QComboBox::down-arrow, QDateEdit::down-arrow {{ image: {drawn("down")}; width: 12px; height: 12px; }}
QComboBox {{ combobox-popup: 0; }}
QComboBox QAbstractItemView {{
    background: {look.field}; border: 1px solid {look.outline}; border-radius: 0; padding: 2px;
}}
QComboBox QAbstractItemView::item {{ min-height: 24px; padding: 0 6px; }}
QComboBox QAbstractItemView::item:selected {{ background: {look.pencil}; color: {look.on_pencil}; }}
QSpinBox, QDoubleSpinBox {{ padding-right: 22px; }}
QSpinBox::up-button, QDoubleSpinBox::up-button {{
    subcontrol-origin: border; subcontrol-position: top right; width: 20px; height: 12px; border: none;
}}
QSpinBox::down-button, QDoubleSpinBox::down-button {{
    subcontrol-origin: border; subcontrol-position: bottom right; width: 20px; height: 12px; border: none;
}}
QSpinBox::up-arrow, QDoubleSpinBox::up-arrow {{ image: {drawn("up")}; width: 12px; height: 12px; }}
QSpinBox::down-arrow, QDoubleSpinBox::down-arrow {{ image: {drawn("down")}; width: 12px; height: 12px; }}

QCheckBox, QRadioButton {{ spacing: 8px; padding: 2px; border: 1px solid transparent; border-radius: 3px; }}
QCheckBox:focus, QRadioButton:focus {{ border-color: {look.pencil}; }}
QCheckBox::indicator, QRadioButton::indicator, QAbstractItemView::indicator {{
    width: 14px; height: 14px; border: 1px solid {look.outline}; background: {look.field};
}}
QCheckBox::indicator, QAbstractItemView::indicator {{ border-radius: 2px; }}
QRadioButton::indicator {{ border-radius: 8px; }}
QCheckBox::indicator:hover, QRadioButton::indicator:hover {{ border-color: {look.ink}; }}
QCheckBox::indicator:checked, QAbstractItemView::indicator:checked {{
    background: {look.pencil}; border-color: {look.pencil}; image: {drawn("tick")};
}}
QCheckBox::indicator:indeterminate {{
    background: qlineargradient(x1:0, y1:0, x2:0, y2:1, stop:0.39 {look.field}, stop:0.4 {look.pencil},
        stop:0.6 {look.pencil}, stop:0.61 {look.field});
}}
QRadioButton::indicator:checked {{
    border-color: {look.pencil};
    background: qradialgradient(cx:0.5, cy:0.5, radius:0.5, fx:0.5, fy:0.5, stop:0.5 {look.pencil},
        stop:0.6 {look.field});
}}
QCheckBox::indicator:disabled, QRadioButton::indicator:disabled {{
    background: transparent; border-color: {look.line};
}}
QCheckBox::indicator:checked:disabled {{ image: {drawn("tick-off")}; }}
QRadioButton::indicator:checked:disabled {{
    background: qradialgradient(cx:0.5, cy:0.5, radius:0.5, fx:0.5, fy:0.5, stop:0.5 {look.outline},
        stop:0.6 transparent);
}}

QListView, QTreeView, QTableView {{
    background: {look.bench}; border: 1px solid {look.line}; border-radius: 3px; outline: none;
    alternate-background-color: {look.row};
}}
QListView:focus, QTreeView:focus, QTableView:focus {{ border: 1px solid {look.pencil}; }}
QListView::item:selected, QTreeView::item:selected, QTableView::item:selected {{
    background: {look.row_chosen}; color: {look.ink};
}}
QListView[kind="plain"] {{ background: transparent; border: none; }}
QTableView::item {{ padding: 0 3px; }}
QListView:disabled, QTreeView:disabled, QTableView:disabled {{ color: {look.outline}; }}
QTreeView::branch:closed:has-children {{ image: {drawn("right")}; }}
QTreeView::branch:open:has-children {{ image: {drawn("down")}; }}
QTableView QTableCornerButton::section {{ background: {look.panel}; border: none; }}
QHeaderView {{ background: {look.panel}; }}
QHeaderView::section {{
    background: {look.panel}; color: {look.dim}; border: none; border-bottom: 1px solid {look.line};
    padding: 4px 6px; font-size: {SMALL_PX}px;
}}

QMenuBar {{ background: {look.panel}; }}
QMenuBar::item {{ padding: 4px 8px; background: transparent; }}
QMenuBar::item:selected {{ background: {look.row_chosen}; border-radius: 3px; }}
QMenu {{ background: {look.panel}; border: 1px solid {look.outline}; padding: 4px; }}
QMenu::item {{ padding: 4px 24px 4px 12px; border-radius: 3px; }}
QMenu::item:selected {{ background: {look.row_chosen}; }}
QMenu::item:disabled {{ color: {look.outline}; }}
QMenu::icon {{ padding-left: 8px; }}
QMenu::indicator {{ width: 14px; height: 14px; left: 8px; }}
QMenu::indicator:non-exclusive:checked {{ image: {drawn("done")}; }}
QMenu::indicator:exclusive:checked {{ image: {drawn("dot")}; }}
QMenu::right-arrow {{ image: {drawn("right")}; width: 12px; height: 12px; right: 8px; }}
QMenu::separator {{ height: 1px; background: {look.line}; margin: 4px 8px; }}

QProgressBar {{
    background: {look.field}; border: 1px solid {look.outline}; border-radius: 3px; min-height: 8px;
    max-height: 16px; text-align: center; font-size: {SMALL_PX}px;
}}
QProgressBar::chunk {{ background: {look.pencil}; border-radius: 2px; }}
QSlider::groove:horizontal {{ height: 4px; background: {look.line}; border-radius: 2px; }}
QSlider::sub-page:horizontal {{ background: {look.outline}; border-radius: 2px; }}
QSlider::handle:horizontal {{
    background: {look.ink}; border: 1px solid {look.bench}; width: 12px; margin: -5px 0; border-radius: 7px;
}}
QSlider::handle:horizontal:focus {{ background: {look.pencil}; border: 1px solid {look.ink}; }}
QSlider::handle:horizontal:disabled {{ background: {look.outline}; }}
QGroupBox {{
    border: 1px solid {look.line}; border-radius: 3px; margin-top: 12px; padding: 8px;
}}
QGroupBox::title {{ subcontrol-origin: margin; left: 8px; color: {look.dim}; }}
QSplitter::handle {{ background: {look.bench}; }}
QSplitter::handle:hover {{ background: {look.line}; }}
QScrollBar:vertical {{ background: transparent; width: 12px; margin: 0; }}
QScrollBar:horizontal {{ background: transparent; height: 12px; margin: 0; }}
QScrollBar::handle {{ background: {look.outline}; border-radius: 4px; margin: 2px; }}
QScrollBar::handle:vertical {{ min-height: 32px; }}
QScrollBar::handle:horizontal {{ min-width: 32px; }}
QScrollBar::handle:hover {{ background: {look.dim}; }}
QScrollBar::add-line, QScrollBar::sub-line {{ width: 0; height: 0; }}
QScrollBar::add-page, QScrollBar::sub-page {{ background: transparent; }}
"""
