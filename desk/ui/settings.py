"""What is remembered of the window itself, apart from any film: appearance, places, recent films."""

from PySide6.QtCore import QSettings


def settings() -> QSettings:
    """Return the settings of the person, in an INI file of the platform's place for such files."""
    return QSettings(QSettings.Format.IniFormat, QSettings.Scope.UserScope, "assembly-desk", "assembly-desk")
