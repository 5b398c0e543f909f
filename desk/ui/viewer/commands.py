"""What can be done with the viewer by key and menu."""

from collections.abc import Callable, Sequence

from desk.ui.actions import Command
from desk.ui.viewer.viewer import Viewer

Now = Callable[[], Viewer]
"""Gives the viewer of the film that is open."""


def viewer_commands(
    menu: str, now: Now, enabled: Callable[[], bool], *, group: str = "", within: str = ""
) -> Sequence[Command]:
    """Return what can be done with the viewer as commands.

    Frames and cuts are gone to with the commands of the cut.

    Args:
        menu: The menu that they stand in.
        now: Gives the viewer of the film that is open at that time.
        enabled: Says whether a film is open that can be looked at.
        group: The submenu that they stand in, or "".
        within: The part of the window that their keys act in; text fields keep theirs.
    """
    rows: tuple[tuple[str, str, str, str, Callable[[Viewer], object]], ...] = (
        ("play", "&Play or pause", "Space", "play", lambda viewer: viewer.player.toggle()),
        (
            "around",
            "Play &around the playhead",
            "Shift+Space",
            "around",
            lambda viewer: viewer.player.play_around(),
        ),
        ("looping", "L&oop on or off", "Ctrl+Space", "loop", _toggle_loop),
        ("sound", "&Sound on or off", "Alt+0", "sound-off", _toggle_sound),
        (
            "whole-film",
            "&Whole film or scene",
            "Ctrl+Shift+Space",
            "film",
            lambda viewer: viewer.toggle_whole_film(),
        ),
        ("full-view", "&Full view", "Shift+F11", "full-view", lambda viewer: viewer.toggle_full_view()),
    )
    return tuple(
        Command(
            id=f"viewer-{name}",
            menu=menu,
            text=text,
            call=_of(now, call),
            key=key,
            enabled=enabled,
            icon=icon,
            starts_group=name == "whole-film",
            group=group,
            within=within,
        )
        for name, text, key, icon, call in rows
    )


def _of(now: Now, call: Callable[[Viewer], object]) -> Callable[[], object]:
    def run() -> object:
        return call(now())

    return run


def _toggle_loop(viewer: Viewer) -> None:
    viewer.player.set_looping(not viewer.player.is_looping)


def _toggle_sound(viewer: Viewer) -> None:
    viewer.player.set_muted(not viewer.player.playing.is_muted)
