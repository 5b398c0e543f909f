"""The style of controls, from the palette: 4 px grid, corners 3 px, lines 1 px, focus always visible."""

from desk.ui.look.palette import Palette
from desk.ui.look.type import SMALL_PX, TEXT_PX


def style_sheet(look: Palette) -> str:
    """Return Qt's style sheet for a palette.

    Widgets ask for a role with the property `kind`: buttons `main` (the one thing to do here), `plain`
    (without a frame) and `danger`; labels `heading`, `dim`, `small`, `open`, `fault`; frames `panel`, `part`,
    `shelf`, `bar`.
    """
    return f"""
* {{ font-size: {TEXT_PX}px; color: {look.ink}; }}
QMainWindow, QDialog, QMessageBox {{ background: {look.bench}; }}
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
QPushButton[kind="main"]:focus {{ border: 2px solid {look.ink}; }}
QPushButton[kind="main"]:disabled {{
    background: {look.row}; color: {look.outline}; border-color: {look.line};
}}
QPushButton[kind="danger"] {{ color: {look.broken_text}; border-color: {look.broken}; }}
QPushButton[kind="plain"], QToolButton[kind="plain"] {{
    background: transparent; border-color: transparent;
}}
QPushButton[kind="plain"]:hover, QToolButton[kind="plain"]:hover {{ background: {look.row_chosen}; }}
QPushButton[kind="plain"]:focus, QToolButton[kind="plain"]:focus {{ border: 2px solid {look.pencil}; }}
QToolButton {{ padding: 3px; }}
QToolButton:focus {{ padding: 2px; }}

QLineEdit, QPlainTextEdit, QTextEdit, QSpinBox, QDoubleSpinBox, QComboBox, QDateEdit {{
    background: {look.field}; border: 1px solid {look.outline}; border-radius: 3px; padding: 3px 5px;
    selection-background-color: {look.pencil}; selection-color: {look.on_pencil};
}}
QLineEdit:focus, QPlainTextEdit:focus, QTextEdit:focus, QSpinBox:focus, QDoubleSpinBox:focus, QComboBox:focus,
QDateEdit:focus {{ border: 2px solid {look.pencil}; padding: 2px 4px; }}
QLineEdit:read-only, QPlainTextEdit:read-only {{ background: transparent; border-color: {look.line}; }}
QLineEdit:disabled, QPlainTextEdit:disabled, QSpinBox:disabled, QComboBox:disabled {{
    color: {look.outline}; border-color: {look.line};
}}
QComboBox QAbstractItemView {{ background: {look.field}; border: 1px solid {look.outline}; }}

QCheckBox, QRadioButton {{ spacing: 8px; padding: 2px; }}
QCheckBox:focus, QRadioButton:focus {{ border: 1px solid {look.pencil}; border-radius: 3px; padding: 1px; }}
QCheckBox:disabled, QRadioButton:disabled {{ color: {look.outline}; }}
QCheckBox::indicator, QRadioButton::indicator {{
    width: 14px; height: 14px; border: 1px solid {look.outline}; background: {look.field};
}}
QCheckBox::indicator {{ border-radius: 2px; }}
QRadioButton::indicator {{ border-radius: 8px; }}
QCheckBox::indicator:checked, QRadioButton::indicator:checked {{
    border: 4px solid {look.field}; background: {look.pencil}; outline: 1px solid {look.outline};
    width: 8px; height: 8px;
}}

QListView, QTreeView, QTableView {{
    background: {look.bench}; border: 1px solid {look.line}; border-radius: 3px; outline: none;
    alternate-background-color: {look.row};
}}
QListView:focus, QTreeView:focus, QTableView:focus {{ border: 1px solid {look.pencil}; }}
QListView::item:selected, QTreeView::item:selected, QTableView::item:selected {{
    background: {look.row_chosen}; color: {look.ink};
}}
QHeaderView::section {{
    background: {look.panel}; color: {look.dim}; border: none; border-bottom: 1px solid {look.line};
    padding: 4px; font-size: {SMALL_PX}px;
}}

QMenuBar {{ background: {look.panel}; }}
QMenuBar::item {{ padding: 4px 8px; background: transparent; }}
QMenuBar::item:selected {{ background: {look.row_chosen}; border-radius: 3px; }}
QMenu {{ background: {look.panel}; border: 1px solid {look.outline}; padding: 4px; }}
QMenu::item {{ padding: 4px 24px 4px 12px; border-radius: 3px; }}
QMenu::item:selected {{ background: {look.row_chosen}; }}
QMenu::item:disabled {{ color: {look.outline}; }}
QMenu::separator {{ height: 1px; background: {look.line}; margin: 4px 8px; }}

QProgressBar {{
    background: {look.field}; border: 1px solid {look.outline}; border-radius: 3px; min-height: 8px;
    max-height: 16px; text-align: center; font-size: {SMALL_PX}px;
}}
QProgressBar::chunk {{ background: {look.pencil}; border-radius: 2px; }}
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
