"""What makes sound heard: the system's sound device, where there is one."""

import logging
from typing import TYPE_CHECKING, Protocol

import numpy as np
from PySide6.QtCore import QIODevice, QObject
from PySide6.QtGui import QGuiApplication

from desk.film.rates import SAMPLE_RATE_HZ
from desk.sound.reading import Samples

if TYPE_CHECKING:
    from PySide6.QtMultimedia import QAudioDevice, QAudioFormat

HELD_SECONDS = 0.3
"""So much is given to the device at once: the window may be busy for so long without a gap."""

_CHANNELS = 2
_WITHOUT_PERSON = {"offscreen", "minimal"}

_log = logging.getLogger(__name__)


class SoundOutput(Protocol):
    """A sound device that is open."""

    @property
    def heard_samples(self) -> int:
        """How many of the samples that were given since the start were heard."""

    @property
    def is_lost(self) -> bool:
        """Whether the device is gone or has stopped by itself."""

    @property
    def is_outdated(self) -> bool:
        """Whether sound is meant to come from another device by now, such as headphones."""

    def start(self) -> None:
        """Begin anew, with nothing given."""

    def stop(self) -> None:
        """Be silent at once, and drop what was given."""

    def room_samples(self) -> int:
        """Return how many samples it takes now."""

    def give(self, samples: Samples) -> None:
        """Give the next samples, no more than there is room for."""

    def set_gain(self, gain: float) -> None:
        """Make all louder or softer, at once; 1.0 is as it is."""

    def close(self) -> None:
        """Let the device go."""


def open_output(parent: QObject | None = None) -> SoundOutput | None:
    """Return the system's sound device, or None where there is none, or none that takes 48 kHz stereo.

    Args:
        parent: Who owns it.
    """
    if QGuiApplication.platformName() in _WITHOUT_PERSON:
        return None
    try:
        # The system's sound takes a while to load, and a film may be looked at without it.
        from PySide6.QtMultimedia import QMediaDevices
    except ImportError as error:
        _log.warning("there is no sound: %s", error)
        return None
    device = QMediaDevices.defaultAudioOutput()
    wanted = None if device.isNull() else _format_of(device)
    return None if wanted is None else _DeviceOutput(device, wanted, parent)


def _format_of(device: "QAudioDevice") -> "QAudioFormat | None":
    from PySide6.QtMultimedia import QAudioFormat

    for kind in (QAudioFormat.SampleFormat.Float, QAudioFormat.SampleFormat.Int16):
        wanted = QAudioFormat()
        wanted.setSampleRate(SAMPLE_RATE_HZ)
        wanted.setChannelCount(_CHANNELS)
        wanted.setSampleFormat(kind)
        if device.isFormatSupported(wanted):
            return wanted
    _log.warning("“%s” does not take 48 kHz stereo: there is no sound", device.description())
    return None


class _DeviceOutput(QObject):
    """A device of the system, used in the window's thread."""

    def __init__(self, device: "QAudioDevice", wanted: "QAudioFormat", parent: QObject | None) -> None:
        super().__init__(parent)
        from PySide6.QtMultimedia import QAudioFormat, QAudioSink

        self._sink = QAudioSink(device, wanted, self)
        self._device_id = device.id()
        self._sample_bytes = wanted.bytesPerFrame()
        self._is_float = wanted.sampleFormat() == QAudioFormat.SampleFormat.Float
        self._sink.setBufferSize(round(HELD_SECONDS * SAMPLE_RATE_HZ) * self._sample_bytes)
        self._stream: QIODevice | None = None

    @property
    def heard_samples(self) -> int:
        return self._sink.processedUSecs() * SAMPLE_RATE_HZ // 1_000_000

    @property
    def is_lost(self) -> bool:
        from PySide6.QtMultimedia import QtAudio

        return self._stream is None or self._sink.state() == QtAudio.State.StoppedState

    @property
    def is_outdated(self) -> bool:
        from PySide6.QtMultimedia import QMediaDevices

        return QMediaDevices.defaultAudioOutput().id() != self._device_id

    def start(self) -> None:
        self._stream = self._sink.start()

    def stop(self) -> None:
        self._sink.reset()
        self._stream = None

    def room_samples(self) -> int:
        return self._sink.bytesFree() // self._sample_bytes if self._stream is not None else 0

    def give(self, samples: Samples) -> None:
        if self._stream is None:
            return
        if self._is_float:
            data = samples.astype("<f4").tobytes()
        else:
            data = (np.clip(samples, -1, 1) * 32767).astype("<i2").tobytes()
        self._stream.write(data)

    def set_gain(self, gain: float) -> None:
        self._sink.setVolume(gain)

    def close(self) -> None:
        self._sink.reset()
        self._stream = None
        self.deleteLater()
