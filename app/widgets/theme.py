"""Light and dark: the palettes of the drawing put on Qt's widgets. Sizes follow the system font."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtGui import QColor, QGuiApplication, QPalette
from PySide6.QtWidgets import QApplication

from app.pens import DARK, LIGHT, Palette

Role = QPalette.ColorRole
STYLED = "wetside_styled"


def chosen(look: str) -> Palette:
    """The palette for a choice of look; "system" asks the desktop."""
    if look == "system":
        dark = QGuiApplication.styleHints().colorScheme() == Qt.ColorScheme.Dark
        return DARK if dark else LIGHT
    return DARK if look == "dark" else LIGHT


def put_on(application: QApplication, palette: Palette) -> None:
    """Fusion draws the same on every desktop; colours come from the palette alone."""
    if application.property(STYLED) is None:  # asking for the style's name gives nothing once a sheet is on
        application.setStyle("Fusion")
        application.setProperty(STYLED, True)
    sheet = _sheet(palette)
    if application.styleSheet() != sheet:  # costs a pass over every widget
        application.setPalette(qt_palette(palette))
        application.setStyleSheet(sheet)


def qt_palette(palette: Palette) -> QPalette:
    out = QPalette(palette.panel)
    roles = {
        Role.Window: palette.panel,
        Role.WindowText: palette.ink,
        Role.Base: palette.field,
        Role.AlternateBase: palette.panel,
        Role.Text: palette.ink,
        Role.PlaceholderText: palette.soft,
        Role.Button: palette.panel,
        Role.ButtonText: palette.ink,
        Role.ToolTipBase: palette.field,
        Role.ToolTipText: palette.ink,
        Role.Highlight: palette.accent,
        Role.HighlightedText: palette.field,
        Role.Link: palette.accent,
        Role.Mid: palette.rule,
        Role.Midlight: palette.faint,
        Role.Dark: palette.edge,
        Role.Light: palette.field,
        Role.Shadow: palette.edge,
        Role.Accent: palette.accent,
    }
    for role, colour in roles.items():
        out.setColor(role, colour)
    for role in (Role.WindowText, Role.Text, Role.ButtonText):
        out.setColor(QPalette.ColorGroup.Disabled, role, palette.edge)
    return out


def _sheet(p: Palette) -> str:
    def c(colour: QColor) -> str:
        return colour.name()

    return f"""
    QToolTip {{ color: {c(p.ink)}; background: {c(p.field)}; border: 1px solid {c(p.edge)}; padding: 3px; }}
    QLabel#soft {{ color: {c(p.soft)}; }}
    QLabel#heading {{ font-weight: bold; }}
    QLabel#title {{ font-weight: bold; }}
    QFrame#rule {{ background: {c(p.rule)}; border: none; }}
    QFrame#messageBar {{ background: {c(p.field)}; border: 2px solid {c(p.ink)}; }}
    QLineEdit, QPlainTextEdit, QComboBox {{
        background: {c(p.field)}; color: {c(p.ink)}; border: 1px solid {c(p.edge)}; padding: 2px 4px;
        selection-background-color: {c(p.accent)}; selection-color: {c(p.field)}; }}
    QLineEdit:focus, QPlainTextEdit:focus, QComboBox:focus {{
        border: 2px solid {c(p.accent)}; padding: 1px 3px; }}
    QLineEdit[wrong="true"], QPlainTextEdit[wrong="true"] {{
        border: 2px solid {c(p.ink)}; padding: 1px 3px; }}
    QLineEdit[readOnly="true"] {{ background: {c(p.panel)}; color: {c(p.soft)}; }}
    QComboBox::drop-down {{ border: none; width: 18px; }}
    QComboBox::down-arrow {{ image: none; }}
    QComboBox QAbstractItemView {{ background: {c(p.field)}; border: 1px solid {c(p.edge)}; }}
    QPushButton {{ background: {c(p.field)}; border: 1px solid {c(p.edge)}; padding: 4px 10px; }}
    QPushButton:hover {{ border-color: {c(p.ink)}; }}
    QPushButton:pressed {{ background: {c(p.panel)}; }}
    QPushButton:focus {{ border: 2px solid {c(p.accent)}; padding: 3px 9px; }}
    QPushButton:disabled {{ color: {c(p.edge)}; }}
    QToolButton {{ border: 1px solid transparent; padding: 2px 5px; background: transparent; }}
    QToolButton:hover {{ border-color: {c(p.edge)}; }}
    QToolButton#figure {{
        padding: 0 2px; border: 1px solid transparent; border-bottom: 1px dotted {c(p.edge)}; }}
    QToolButton#figure:hover {{ border-color: {c(p.edge)}; }}
    QToolButton#figure:focus {{ border: 2px solid {c(p.accent)}; padding: 0 1px; }}
    QPushButton#step {{ text-align: left; background: transparent; border: 2px solid transparent;
        padding: 2px 4px; }}
    QPushButton#step:hover, QPushButton#step:focus {{ border: 2px solid {c(p.accent)}; padding: 2px 4px; }}
    QPushButton#step:checked {{ font-weight: bold; }}
    QToolButton#close {{ padding: 2px 1px; }}
    QToolButton#close:focus {{ border: 2px solid {c(p.accent)}; padding: 1px 0; }}
    QToolButton:checked {{ font-weight: bold; }}
    QCheckBox {{ border: 2px solid transparent; padding: 1px; }}
    QCheckBox:focus {{ border: 2px solid {c(p.accent)}; }}
    QToolButton:focus {{ border: 2px solid {c(p.accent)}; padding: 1px 4px; }}
    """ + _lists_and_menus(p)


def _lists_and_menus(p: Palette) -> str:
    def c(colour: QColor) -> str:
        return colour.name()

    return f"""
    QGraphicsView {{ border: 1px solid transparent; }}
    QGraphicsView:focus {{ border: 1px solid {c(p.accent)}; }}
    QTreeWidget {{ background: transparent; border: 1px solid transparent; }}
    QTreeWidget:focus {{ border: 1px solid {c(p.accent)}; }}
    QTreeWidget::item {{ padding: 3px 4px; color: {c(p.ink)}; }}
    QTreeWidget::item:selected {{ background: {c(p.field)}; color: {c(p.ink)}; }}
    QTreeWidget::indicator {{ width: 11px; height: 11px; border: 1px solid {c(p.edge)};
        background: {c(p.field)}; }}
    QTreeWidget::indicator:checked {{ background: {c(p.accent)}; }}
    QTreeWidget::indicator:focus {{ border-color: {c(p.accent)}; }}
    QHeaderView {{ background: transparent; }}
    QHeaderView::section {{ background: transparent; color: {c(p.soft)}; border: none;
        border-bottom: 1px solid {c(p.rule)}; padding: 2px 4px; }}
    QListWidget {{ background: transparent; border: 1px solid transparent; }}
    QListWidget:focus {{ border: 1px solid {c(p.accent)}; }}
    QListWidget::item {{ border: 1px solid transparent; padding: 2px; color: {c(p.ink)}; }}
    QListWidget::item:hover {{ border-color: {c(p.edge)}; }}
    QListWidget::item:selected {{
        background: {c(p.field)}; color: {c(p.ink)}; border: 1px solid {c(p.edge)}; }}
    QListWidget::item:selected:focus {{ border: 2px solid {c(p.accent)}; }}
    QMenuBar {{ background: {c(p.panel)}; }}
    QMenuBar::item {{ padding: 4px 9px; background: transparent; }}
    QMenuBar::item:selected {{ background: {c(p.field)}; }}
    QMenu {{ background: {c(p.field)}; border: 1px solid {c(p.edge)}; padding: 4px 0; }}
    QMenu::item {{ padding: 4px 28px 4px 26px; color: {c(p.ink)}; }}
    QMenu::item:selected {{ background: {c(p.accent)}; color: {c(p.field)}; }}
    QMenu::item:disabled {{ color: {c(p.edge)}; }}
    QMenu::separator {{ height: 1px; background: {c(p.faint)}; margin: 4px 8px; }}
    QSplitter::handle {{ background: {c(p.rule)}; }}
    QSplitter::handle:horizontal {{ width: 1px; }}
    QSplitter::handle:vertical {{ height: 1px; }}
    QStatusBar {{ border-top: 1px solid {c(p.rule)}; }}
    QStatusBar::item {{ border: none; }}
    QScrollBar:vertical {{ background: transparent; width: 9px; margin: 0; }}
    QScrollBar:horizontal {{ background: transparent; height: 9px; margin: 0; }}
    QScrollBar::handle {{ background: {c(p.rule)}; border-radius: 3px;
        min-height: 24px; min-width: 24px; margin: 1px; }}
    QScrollBar::add-line, QScrollBar::sub-line {{ width: 0; height: 0; }}
    QScrollBar::add-page, QScrollBar::sub-page {{ background: transparent; }}
    """
