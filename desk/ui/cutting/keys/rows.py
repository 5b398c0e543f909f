"""What can be done to a cut by key and menu, as a table.

The keys follow two ideas. The playhead goes as a cursor goes in a text: an arrow is a frame, as it is a
letter; with Ctrl it is a cut, as it is a word; Home and End are the scene's. Return splits a clip as it
splits a line, Delete takes out and closes up, Backspace takes out and leaves black; copying, cutting out and
pasting are what they are in a text.

And a letter takes hold of a part by its name: Head, Tail, X for the cut, where two clips cross, S for what is
shown, Place; of the sound E where it comes early, R where it runs on, F where it fades in, D where it dies
away. Then the arrows move what is held, and Return lets go. With Shift the same letter brings the same part
to the playhead at once. Signs say what they look like: + and - louder and quieter, = a gain, % a speed, 0 no
sound, 8 round and round. G closes a gap, N is a number.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

from desk.ui.cutting.keys.aim import Kind
from desk.ui.cutting.keys.grips import OF_CLIPS, Grip
from desk.ui.cutting.keys.keyed_edits import CutEdits

PLACE = "lanes and viewer"
"""Where the keys act; text fields keep theirs."""

HOLD, TO_PLAYHEAD, SOUND, GO, SELECT, LOOP = (
    "&Hold",
    "To the pla&yhead",
    "S&ound",
    "&Go",
    "&Select",
    "Playbac&k",
)

_CLIPS = frozenset({Kind.CLIP})
_ALL = frozenset(Kind)


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One thing that can be done to a cut.

    Attributes:
        id: A stable name.
        text: What it does; the menu's mnemonic is Qt's `&`.
        key: Its key.
        call: Does it.
        group: The submenu that it stands in, or "" for the menu itself.
        kinds: For which things it stands in the context menu.
        anywhere: Whether it stands in the context menu where nothing is.
        starts_group: Whether a line stands above it.
        icon: Name of its icon, or "".
    """

    id: str
    text: str
    key: str
    call: Callable[[CutEdits], object]
    group: str = ""
    kinds: frozenset[Kind] = frozenset()
    anywhere: bool = False
    starts_group: bool = False
    icon: str = ""


def rows() -> Sequence[Row]:
    """Return all that can be done to a cut, in the order of its menu."""
    return (*_changes(), *_copies(), *_holds(), *_to_playhead(), *_sound(), *_go(), *_select(), *_loop())


def _changes() -> Iterator[Row]:
    yield Row(
        id="cut-split",
        text="Spl&it at the playhead",
        key="Return",
        call=lambda edits: edits.split(),
        kinds=_CLIPS,
    )
    yield Row(
        id="cut-remove",
        text="&Remove and close the gap",
        key="Del",
        call=lambda edits: edits.remove(),
        kinds=_ALL,
        icon="delete",
    )
    yield Row(
        id="cut-remove-black",
        text="Remove and leave &black",
        key="Backspace",
        call=lambda edits: edits.remove_leaving_black(),
        kinds=_CLIPS,
    )
    yield Row(
        id="cut-close-gap",
        text="C&lose the black",
        key="G",
        call=lambda edits: edits.close_gap(),
        kinds=_CLIPS,
        anywhere=True,
    )
    yield Row(
        id="cut-earlier",
        text="One place &earlier",
        key="Ctrl+Shift+Left",
        call=lambda edits: edits.nudges.nudge(Grip.PLACE, -1),
        kinds=_CLIPS,
        starts_group=True,
    )
    yield Row(
        id="cut-later",
        text="One place la&ter",
        key="Ctrl+Shift+Right",
        call=lambda edits: edits.nudges.nudge(Grip.PLACE, 1),
        kinds=_CLIPS,
    )
    yield Row(
        id="cut-speed",
        text="Spee&d…",
        key="%",
        call=lambda edits: edits.asks.speed(),
        kinds=_CLIPS,
    )


def _copies() -> Iterator[Row]:
    yield Row(
        id="cut-copy",
        text="&Copy",
        key="Ctrl+C",
        call=lambda edits: edits.copy(),
        kinds=_CLIPS,
        starts_group=True,
    )
    yield Row(id="cut-out", text="C&ut out", key="Ctrl+X", call=lambda edits: edits.cut_out(), kinds=_CLIPS)
    yield Row(
        id="cut-paste",
        text="&Paste at the playhead",
        key="Ctrl+V",
        call=lambda edits: edits.paste(),
        kinds=_CLIPS,
        anywhere=True,
    )
    yield Row(
        id="cut-paste-after",
        text="Paste &after the selection",
        key="Ctrl+Shift+V",
        call=lambda edits: edits.paste_after(),
        kinds=_CLIPS,
    )
    yield Row(
        id="cut-add-spot",
        text="Add a spot at the playhead…",
        key="Ctrl+E",
        call=lambda edits: edits.asks.add_spot(),
        anywhere=True,
        starts_group=True,
        icon="sound",
    )
    yield Row(
        id="cut-add-cue",
        text="Add a cue…",
        key="Ctrl+U",
        call=lambda edits: edits.asks.add_cue(),
        anywhere=True,
        icon="music",
    )


_GRIPS = (
    (Grip.HEAD, "H", "&Head"),
    (Grip.TAIL, "T", "&Tail"),
    (Grip.CUT, "X", "The cut nearest the playhead"),
    (Grip.SHOWN, "S", "What is &shown"),
    (Grip.PLACE, "P", "&Place"),
    (Grip.LEAD, "E", "Where the sound comes &early"),
    (Grip.LAG, "R", "Where the sound &runs on"),
    (Grip.FADE_IN, "F", "&Fade in"),
    (Grip.FADE_OUT, "D", "Fa&de out"),
)
_STARTS = (Grip.LEAD, Grip.FADE_IN)


def _holds() -> Iterator[Row]:
    for grip, key, text in _GRIPS:
        yield Row(
            id=f"cut-hold-{grip.name.lower().replace('_', '-')}",
            text=text,
            key=key,
            call=_hold(grip),
            group=HOLD,
            kinds=_CLIPS if grip in OF_CLIPS else _ALL,
            starts_group=grip in _STARTS,
        )
    yield Row(
        id="cut-number",
        text="Move it by a &number, or the playhead to a place…",
        key="N",
        call=lambda edits: edits.asks.number(),
        group=HOLD,
        starts_group=True,
    )
    yield Row(
        id="cut-leave",
        text="&Let go, or select nothing",
        key="Esc",
        call=lambda edits: edits.steps.leave(),
        group=HOLD,
    )


def _to_playhead() -> Iterator[Row]:
    for grip, key, text in _GRIPS:
        if grip is Grip.SHOWN:
            continue
        yield Row(
            id=f"cut-bring-{grip.name.lower().replace('_', '-')}",
            text=text,
            key=f"Shift+{key}",
            call=_bring(grip),
            group=TO_PLAYHEAD,
            starts_group=grip in _STARTS,
        )


def _sound() -> Iterator[Row]:
    yield Row(
        id="cut-louder",
        text="&Louder by 1 dB",
        key="+",
        call=lambda edits: edits.change_gain(1),
        group=SOUND,
        kinds=_ALL,
    )
    yield Row(
        id="cut-quieter",
        text="&Quieter by 1 dB",
        key="-",
        call=lambda edits: edits.change_gain(-1),
        group=SOUND,
        kinds=_ALL,
    )
    yield Row(
        id="cut-gain", text="&Gain…", key="=", call=lambda edits: edits.asks.gain(), group=SOUND, kinds=_ALL
    )
    yield Row(
        id="cut-silence",
        text="&Silence, or give the sound back",
        key="0",
        call=lambda edits: edits.silence(),
        group=SOUND,
        kinds=_CLIPS,
    )


def _go() -> Iterator[Row]:
    moves: tuple[tuple[str, str, str, Callable[[CutEdits], object]], ...] = (
        ("frame-later", "A frame later", "Right", lambda edits: edits.steps.by_frames(1)),
        ("frame-earlier", "A frame earlier", "Left", lambda edits: edits.steps.by_frames(-1)),
        ("second-later", "A second later", "Shift+Right", lambda edits: edits.steps.by_seconds(1)),
        ("second-earlier", "A second earlier", "Shift+Left", lambda edits: edits.steps.by_seconds(-1)),
        ("next-cut", "Next cut", "Ctrl+Right", lambda edits: edits.steps.by_cuts(1)),
        ("previous-cut", "Previous cut", "Ctrl+Left", lambda edits: edits.steps.by_cuts(-1)),
        ("to-head", "First frame", "Home", lambda edits: edits.steps.to_head()),
        ("to-tail", "Last frame", "End", lambda edits: edits.steps.to_tail()),
        (
            "to-selected-head",
            "First frame of what is selected",
            "Shift+Home",
            lambda edits: edits.steps.to_head_of_selection(),
        ),
        (
            "to-selected-tail",
            "Last frame of what is selected",
            "Shift+End",
            lambda edits: edits.steps.to_tail_of_selection(),
        ),
    )
    for name, text, key, call in moves:
        yield Row(
            id=f"cut-{name}",
            text=text,
            key=key,
            call=call,
            group=GO,
            starts_group=name in ("next-cut", "to-head"),
        )


def _select() -> Iterator[Row]:
    yield Row(
        id="cut-select-all",
        text="&All",
        key="Ctrl+A",
        call=lambda edits: edits.steps.select_all(),
        group=SELECT,
        anywhere=True,
    )
    moves: tuple[tuple[str, str, str, Callable[[CutEdits], object]], ...] = (
        ("next", "&Next in the lane", "PgDown", lambda edits: edits.steps.to_thing(1)),
        ("previous", "&Previous in the lane", "PgUp", lambda edits: edits.steps.to_thing(-1)),
        ("and-next", "The next as well", "Shift+PgDown", lambda edits: edits.steps.to_thing(1, extend=True)),
        (
            "and-previous",
            "The previous as well",
            "Shift+PgUp",
            lambda edits: edits.steps.to_thing(-1, extend=True),
        ),
        ("lane-above", "In the lane a&bove", "Up", lambda edits: edits.steps.to_lane(-1)),
        ("lane-below", "In the lane be&low", "Down", lambda edits: edits.steps.to_lane(1)),
    )
    for name, text, key, call in moves:
        yield Row(
            id=f"cut-select-{name}",
            text=text,
            key=key,
            call=call,
            group=SELECT,
            starts_group=name == "next",
        )


def _loop() -> Iterator[Row]:
    yield Row(
        id="cut-loop",
        text="&Loop over what is selected",
        key="8",
        call=lambda edits: edits.loop_selection(),
        group=LOOP,
        kinds=_ALL,
    )
    yield Row(
        id="cut-clear-loop",
        text="&Clear the loop",
        key="Ctrl+8",
        call=lambda edits: edits.clear_loop(),
        group=LOOP,
        anywhere=True,
    )


def _hold(grip: Grip) -> Callable[[CutEdits], object]:
    def call(edits: CutEdits) -> None:
        edits.nudges.take_hold(grip)

    return call


def _bring(grip: Grip) -> Callable[[CutEdits], object]:
    def call(edits: CutEdits) -> None:
        edits.nudges.to_playhead(grip)

    return call
