"""One line that tells how far the proxies are; hidden when there is nothing to make."""

from PySide6.QtWidgets import QFrame, QHBoxLayout, QProgressBar, QPushButton, QWidget

from desk.ui.elided import ElidedLabel
from desk.ui.proxies import Proxies, ProxyState

_STEPS = 1000
_LEAST_BAR_PX, _BAR_PX = 64, 160
_WHAT = (
    "Small copies of footage that takes long to decode, for moving in it freely. Cutting does not wait for "
    "them, and what is sent out is made of the footage itself."
)


class ProxyLine(QFrame):
    """Tells which proxy is being made and how far all of them are, and holds the work."""

    def __init__(self, proxies: Proxies, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._proxies = proxies
        self.words = ElidedLabel(parent=self)
        self.progress = QProgressBar(self)
        self.hold_button = QPushButton(self)
        self.setAccessibleName("Proxies")
        self.words.setProperty("kind", "dim")
        self.progress.setRange(0, _STEPS)
        self.progress.setTextVisible(False)
        self.progress.setMinimumWidth(_LEAST_BAR_PX)
        self.progress.setMaximumWidth(_BAR_PX)
        self.progress.setAccessibleName("How far the proxies are")
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(12)
        row.addWidget(self.words, 4)
        row.addWidget(self.progress, 1)
        row.addWidget(self.hold_button)
        self._is_shown = True
        self.hold_button.clicked.connect(self._hold_or_go_on)
        proxies.changed.connect(self._show)
        self._show(proxies.state)

    def _show(self, state: ProxyState) -> None:
        stands = state.is_held or bool(state.obstacle)
        self.words.say(_words(state), more=_WHAT)
        self.progress.setValue(_steps(state))
        self.hold_button.setText("Go on" if stands else "Hold")
        self.hold_button.setAccessibleName("Go on making proxies" if stands else "Hold the making of proxies")
        is_shown = state.is_on and state.left > 0
        if is_shown != self._is_shown:
            self._is_shown = is_shown
            self.setVisible(is_shown)

    def _hold_or_go_on(self) -> None:
        state = self._proxies.state
        if state.is_held or state.obstacle:
            self._proxies.go_on()
        else:
            self._proxies.hold()


def _words(state: ProxyState) -> str:
    count = f"{min(state.total - state.left + 1, state.total):,} of {state.total:,}"
    if state.obstacle:
        return f"Proxies stopped: {state.obstacle}"
    if state.is_held:
        return f"Proxies held: {count}"
    if state.is_waiting:
        return f"Proxies wait for the assembly: {count}"
    if state.near_source:
        return f"Key frames before proxies: {state.near_source.rpartition('/')[2]}"
    name = state.source.rpartition("/")[2]
    return f"Proxies: {count}, {name}" if name else f"Proxies: {count}"


def _steps(state: ProxyState) -> int:
    return round(_STEPS * (state.total - state.left + state.fraction) / max(1, state.total))
