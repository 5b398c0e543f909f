"""What the lanes say in words: of what stands in them, and of where the playhead and the selection are."""

from desk.film.model import Clip, Cue, Film, Scene, SoundKind, Spot
from desk.film.rates import Rate
from desk.film.timecode import format_length
from desk.film.timing import clip_starts
from desk.film.wording import counted
from desk.ui.cutting.cut import Cut
from desk.ui.cutting.lanes.layout import Box, Row, Thing
from desk.ui.scene.clip_facts import file_name, gain_text


def dialogue_words(clip: Clip) -> str:
    """Return what stands on a clip's sound: nothing for plain sound of its own."""
    parts = [file_name(clip.sound.file)] if clip.sound.kind is SoundKind.SEPARATE else []
    if clip.sound.gain_db:
        parts.append(gain_text(clip.sound.gain_db))
    return ", ".join(parts)


def spot_words(spot: Spot) -> str:
    """Return what stands on a spot."""
    return spot.label or file_name(spot.file)


def cue_words(cue: Cue) -> str:
    """Return what stands on a cue: its label and the music that is chosen."""
    label = cue.label or cue.id
    if cue.choice is None:
        return f"{label}, no music chosen"
    return f"{label} “{cue.choice.rights.title or file_name(cue.choice.file)}”"


def label_words(box: Box) -> str:
    """Return what stands on a sound in the lanes."""
    thing = box.thing
    if isinstance(thing, Clip):
        return dialogue_words(thing)
    words = spot_words(thing) if isinstance(thing, Spot) else cue_words(thing)
    gain = thing_gain_db(thing)
    return f"{words}, {gain_text(gain)}" if gain else words


def thing_gain_db(thing: Thing) -> float:
    """Return the gain of a clip's sound, of a spot, or of the music of a cue; 0 where it has none."""
    if isinstance(thing, Clip):
        return thing.sound.gain_db
    if isinstance(thing, Spot):
        return thing.gain_db
    return thing.choice.gain_db if thing.choice else 0.0


def box_words(box: Box, scene: Scene, film: Film) -> str:
    """Return what something in a lane is, for a tool tip."""
    rate, thing = film.rate, box.thing
    length = format_length(box.length_frames, rate)
    if isinstance(thing, Clip):
        number = next((place for place, item in enumerate(scene.content.clips, 1) if item.id == box.owner), 0)
        if box.row is Row.PICTURE:
            black = f", {counted(thing.gap_frames, 'frame')} of black before it" if thing.gap_frames else ""
            return f"Clip {number}: {file_name(thing.source)}, {length}{black}"
        heard = file_name(box.span.file) if box.span else ""
        lead = f", lead {thing.sound.lead_frames}, lag {thing.sound.lag_frames}"
        return f"Sound of clip {number}: {heard}, {gain_text(thing.sound.gain_db)}{lead}"
    if isinstance(thing, Spot):
        heard = f"{file_name(thing.file)}, {length}, {gain_text(thing.gain_db)}"
        return f"Effect {spot_words(thing)}: {heard}"
    gain = f", {gain_text(thing.choice.gain_db)}" if thing.choice else ""
    duck = f", goes down by {thing.duck.depth_db:g} dB while somebody speaks" if thing.duck else ""
    return f"Cue {cue_words(thing)}, {length}{gain}{duck}"


def told_of(cut: Cut, rate: Rate) -> str:
    """Return where the playhead is, what is selected and what plays again and again, for a screen reader."""
    content = cut.content
    parts = [_told_of_main(cut, rate), f"Playhead at {format_length(cut.frame, rate)}."]
    if len(cut.selection) > 1:
        parts.insert(1, f"{len(cut.selection)} things are selected.")
    if cut.loop is not None:
        loop = f"{format_length(cut.loop.first, rate)} to {format_length(cut.loop.end, rate)}"
        parts.append(f"Plays {loop} again and again.")
    if content.clips:
        parts.append("Left and Right go clip by clip, with Shift frame by frame.")
    return " ".join(part for part in parts if part)


def _told_of_main(cut: Cut, rate: Rate) -> str:
    content = cut.content
    for number, (clip, start) in enumerate(zip(content.clips, clip_starts(content), strict=True), 1):
        if clip.id == cut.main:
            at, length = format_length(start, rate), format_length(clip.length_frames, rate)
            told = f"Clip {number} of {len(content.clips)}, {file_name(clip.source)}, at {at}, {length} long"
            return f"{told}, selected."
    things: tuple[Spot | Cue, ...] = (*content.spots, *content.cues)
    for thing in things:
        if thing.id == cut.main:
            words = spot_words(thing) if isinstance(thing, Spot) else cue_words(thing)
            at = format_length(thing.start_frames, rate)
            return f"{'Effect' if isinstance(thing, Spot) else 'Cue'} {words}, at {at}, selected."
    return "Nothing is selected."
