"""The film as frozen values.

Times in the film are whole frames at the film's rate; places in a source are exact seconds from its first
picture (or, where there is none, its first sample). Paths are relative to the project folder, with `/`.
Nothing here checks: `desk.film.faults` says what is not allowed, `desk.film.edits` makes allowed changes.
Every field but names and ids has a default, so that a later field needs no new file format.
"""

from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction

from desk.film.rates import Rate


class State(StrEnum):
    """What a scene is."""

    DRAFT = "draft"
    LOCKED = "locked"


class JoinKind(StrEnum):
    """How an entry meets the next."""

    CUT = "cut"
    DISSOLVE = "dissolve"
    THROUGH_BLACK = "through black"


class SoundKind(StrEnum):
    """Where a clip's sound comes from."""

    OWN = "own"
    SILENCE = "silence"
    SEPARATE = "separate"


class Fit(StrEnum):
    """How a picture of another shape meets the film's frame."""

    FIT = "fit"
    FILL = "fill"


class CardKind(StrEnum):
    """What a card is for."""

    TITLE = "title"
    CREDITS = "credits"


class Motion(StrEnum):
    """Whether a card stands or rolls."""

    HOLD = "hold"
    ROLL = "roll"


class Compression(StrEnum):
    """How far loud and soft are brought together."""

    OFF = "off"
    GENTLE = "gentle"
    FIRM = "firm"


@dataclass(frozen=True, slots=True)
class Size:
    """A picture's size in pixels; both even."""

    width: int
    height: int

    def __str__(self) -> str:
        return f"{self.width}x{self.height}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Rights:
    """What is known of a piece of music or an effect that somebody made."""

    title: str = ""
    author: str = ""
    source: str = ""
    licence: str = ""
    licence_link: str = ""
    required_credit: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Framing:
    """How a clip's picture sits in the film's frame.

    Attributes:
        fit: Whole picture inside the frame, or frame filled and the rest cut off.
        scale: Times the size that `fit` gives, above 0.
        x: Shift to the right, in frame widths.
        y: Shift down, in frame heights.
    """

    fit: Fit = Fit.FIT
    scale: float = 1.0
    x: float = 0.0
    y: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class ClipSound:
    """A clip's own sound.

    Attributes:
        kind: The source's own sound, silence, or a separately recorded file.
        file: The separate recording, for `separate`.
        offset_seconds: Place in the separate recording that belongs to the source's second 0.
        gain_db: Gain, -96 to 24 dB.
        lead_frames: Frames by which the sound starts before the picture.
        lag_frames: Frames by which it runs on after the picture.
        fade_in_frames: Length of the fade at its start.
        fade_out_frames: Length of the fade at its end.
        voice: Id of the voice that speaks, or "".
    """

    kind: SoundKind = SoundKind.OWN
    file: str = ""
    offset_seconds: Fraction = Fraction(0)
    gain_db: float = 0.0
    lead_frames: int = 0
    lag_frames: int = 0
    fade_in_frames: int = 0
    fade_out_frames: int = 0
    voice: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Clip:
    """One use of a piece of footage. Frame k shows the source at in_seconds + k · speed / film rate.

    Attributes:
        id: Unique in the film.
        source: The footage.
        in_seconds: In point in the source.
        length_frames: Film frames, 1 or more.
        gap_frames: Frames of black before it, where something was taken out.
        speed: Source seconds for each film second, above 0.
        framing: Place in the frame.
        sound: Its own sound.
        camera: Id of the camera look, or "".
        note: Words about it.
    """

    id: str
    source: str
    in_seconds: Fraction = Fraction(0)
    length_frames: int
    gap_frames: int = 0
    speed: Fraction = Fraction(1)
    framing: Framing = Framing()
    sound: ClipSound = ClipSound()
    camera: str = ""
    note: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class MusicPart:
    """A stretch of a piece of music.

    Attributes:
        in_seconds: Place in the file that sounds first.
        length_seconds: How long, above 0.
    """

    in_seconds: Fraction
    length_seconds: Fraction


@dataclass(frozen=True, slots=True, kw_only=True)
class Candidate:
    """One piece of music tried for a cue.

    Attributes:
        id: Unique in the film.
        file: The music.
        rights: Who made it and on what terms.
        in_seconds: Place in the file that sounds first.
        gain_db: Gain, -96 to 24 dB.
        fade_in_frames: Length of the fade at the start.
        fade_out_frames: Length of the fade at the end.
        under_voices_lu: How far it is meant to lie below the scene's voices, from which levelling finds the
            gain, or None where the gain was set by ear.
        parts: Stretches that follow each other, where it was made longer or shorter; none for the file as it
            is from `in_seconds` on.
    """

    id: str
    file: str
    rights: Rights = Rights()
    in_seconds: Fraction = Fraction(0)
    gain_db: float = 0.0
    fade_in_frames: int = 0
    fade_out_frames: int = 0
    under_voices_lu: float | None = None
    parts: tuple[MusicPart, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Duck:
    """How music goes down while somebody speaks.

    Attributes:
        depth_db: By how much, above 0.
        attack_ms: How long it takes to go down.
        release_ms: How long it takes to come back.
    """

    depth_db: float = 8.0
    attack_ms: float = 150.0
    release_ms: float = 500.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Cue:
    """A piece of music in a scene. It may run on past the end of the scene.

    Attributes:
        id: Unique in the film.
        label: Name such as `m1`.
        start_frames: From the scene's start; may be before it.
        length_frames: 1 or more.
        candidates: All that were tried.
        chosen: Id of the chosen candidate, or "".
        duck: How it goes down under speech, or None where it does not.
    """

    id: str
    label: str = ""
    start_frames: int = 0
    length_frames: int
    candidates: tuple[Candidate, ...] = ()
    chosen: str = ""
    duck: Duck | None = None

    @property
    def choice(self) -> Candidate | None:
        """The chosen candidate."""
        return next((item for item in self.candidates if item.id == self.chosen), None)


@dataclass(frozen=True, slots=True, kw_only=True)
class Spot:
    """A sound effect at a place in a scene.

    Attributes:
        id: Unique in the film.
        file: The sound.
        label: Name such as `horn`.
        start_frames: From the scene's start; may be before it.
        length_frames: 1 or more.
        in_seconds: Place in the file that sounds first.
        gain_db: Gain, -96 to 24 dB.
        fade_in_frames: Length of the fade at the start.
        fade_out_frames: Length of the fade at the end.
        rights: Who made it and on what terms.
        repeats: How many times more it sounds.
        every_frames: From the start of one time to that of the next; with repeats, 1 or more.
    """

    id: str
    file: str
    label: str = ""
    start_frames: int
    length_frames: int
    in_seconds: Fraction = Fraction(0)
    gain_db: float = 0.0
    fade_in_frames: int = 0
    fade_out_frames: int = 0
    rights: Rights = Rights()
    repeats: int = 0
    every_frames: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Grade:
    """The numbers of a look, as in the ASC CDL v1.2: slope, offset and power for R, G, B, then saturation.

    Slope and saturation are 0 or more, power above 0.
    """

    slope: tuple[float, float, float] = (1.0, 1.0, 1.0)
    offset: tuple[float, float, float] = (0.0, 0.0, 0.0)
    power: tuple[float, float, float] = (1.0, 1.0, 1.0)
    saturation: float = 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class CameraLook:
    """What makes one camera match the others, before a scene's grade."""

    id: str
    name: str
    grade: Grade = Grade()
    note: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Band:
    """A bell of an equaliser.

    Attributes:
        frequency_hz: Its middle, 20 to 20,000 Hz.
        gain_db: Gain there, -24 to 24 dB.
        q: How narrow it is, 0.1 to 20.
    """

    frequency_hz: float
    gain_db: float
    q: float = 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class VoiceChain:
    """What is done to a voice in a scene, in this order.

    Attributes:
        voice: Id of the voice.
        on: Whether it is heard.
        low_cut_hz: What lies below is taken off; 0 for none, else 20 to 400 Hz.
        bands: Bells, 3 at most.
        compression: How far loud and soft are brought together.
    """

    voice: str
    on: bool = True
    low_cut_hz: float = 0.0
    bands: tuple[Band, ...] = ()
    compression: Compression = Compression.OFF


@dataclass(frozen=True, slots=True, kw_only=True)
class SceneContent:
    """All of a scene that a lock closes over: what decides its picture and sound.

    Attributes:
        clips: The Picture lane, one after the other, with their sound (the Dialogue lane) and the black
            before them.
        cues: The Music lane.
        no_music: Declared to have none.
        spots: The Effects lane.
        voices_levelled: The maker calls the voices level.
        voice_chains: What is done to its voices, at most once for each.
        voices_offset_lu: By how much its voices are meant to be louder than the film's, or softer.
        grade: The numbers.
        grade_note: The words.
    """

    clips: tuple[Clip, ...] = ()
    cues: tuple[Cue, ...] = ()
    no_music: bool = False
    spots: tuple[Spot, ...] = ()
    voices_levelled: bool = False
    voice_chains: tuple[VoiceChain, ...] = ()
    voices_offset_lu: float = 0.0
    grade: Grade = Grade()
    grade_note: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Proof:
    """One careful viewing of a scene.

    Attributes:
        date: ISO 8601, `2026-11-25`.
        by: Who looked.
        remark: What was seen.
        content: Fingerprint of the content that was seen.
    """

    date: str
    by: str = ""
    remark: str = ""
    content: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class LockedMedia:
    """A file as it was when a scene was locked.

    Attributes:
        path: The file.
        size_bytes: Its size.
        sample_hash: Hash of its size, head, middle and tail.
        sha256: Hash of the whole file.
    """

    path: str
    size_bytes: int
    sample_hash: str
    sha256: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Lock:
    """That a scene is proofed and closed.

    Attributes:
        version: 1 for the first lock of a scene, then 2, 3 …
        date: ISO 8601.
        content: Fingerprint of the content.
        media: Every file it uses.
        reason: Why it was locked although something was open, or "".
    """

    version: int
    date: str
    content: str
    media: tuple[LockedMedia, ...] = ()
    reason: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class LockedVersion:
    """A lock that was opened again, with all that was locked."""

    lock: Lock
    content: SceneContent
    unlocked: str
    reason: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Scene:
    """A small timeline of its own.

    Attributes:
        id: Unique in the film; never changes.
        number: Label such as `4A`; stays when the order changes.
        slugline: `INT. BOATHOUSE - NIGHT`.
        purpose: What changes in the story because of it.
        synopsis: What happens.
        tension: 0 (light) to 5 (dread), or None where the maker has not said.
        reference_picture: A picture to remember it by, or "".
        folder: Where its footage is, or "".
        more_footage: Files from elsewhere that are listed with its footage, used or not.
        planned_frames: How long it is meant to be while it has no clips.
        content: Picture, sound and grade.
        proofs: Viewings, oldest first.
        lock: The lock, or None for a draft.
        history: Earlier locks, oldest first.
    """

    id: str
    number: str
    slugline: str = ""
    purpose: str = ""
    synopsis: str = ""
    tension: int | None = None
    reference_picture: str = ""
    folder: str = ""
    more_footage: tuple[str, ...] = ()
    planned_frames: int = 0
    content: SceneContent = SceneContent()
    proofs: tuple[Proof, ...] = ()
    lock: Lock | None = None
    history: tuple[LockedVersion, ...] = ()

    @property
    def state(self) -> State:
        """Draft or locked."""
        return State.LOCKED if self.lock else State.DRAFT


@dataclass(frozen=True, slots=True, kw_only=True)
class CreditRow:
    """A line of a credit list: what was done, and by whom."""

    role: str = ""
    names: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class CreditBlock:
    """Lines under one heading.

    Attributes:
        heading: What stands above them, or "".
        rows: The lines.
        fills: What else is put in when the card is shown: `music` for the music that is in the film,
            `effects` for its effects that have to be credited, or "".
    """

    heading: str = ""
    rows: tuple[CreditRow, ...] = ()
    fills: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Card:
    """A title or credit card.

    Attributes:
        id: Unique in the film; never changes.
        kind: Title or credits.
        name: What the running order calls it.
        lines: Text, one line each; the first is the largest. For a credit card, what stands above the list.
        credits: The list, in two columns.
        motion: Hold, or roll upwards.
        roll_px: Whole pixels a frame, at the film's size.
        length_frames: How long, or None for as long as reading takes.
        background: `#rrggbb`.
        ink: `#rrggbb`.
        picture: A picture behind the text, or "".
    """

    id: str
    kind: CardKind = CardKind.TITLE
    name: str = ""
    lines: tuple[str, ...] = ()
    credits: tuple[CreditBlock, ...] = ()
    motion: Motion = Motion.HOLD
    roll_px: int = 3
    length_frames: int | None = None
    background: str = "#000000"
    ink: str = "#e9e6dd"
    picture: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Join:
    """How an entry meets the next.

    Attributes:
        kind: Cut, dissolve or fade through black.
        before_frames: Frames of it before the cut (OpenTimelineIO's in_offset).
        after_frames: Frames of it after the cut (out_offset).
    """

    kind: JoinKind = JoinKind.CUT
    before_frames: int = 0
    after_frames: int = 0

    @property
    def length_frames(self) -> int:
        """Its whole length."""
        return self.before_frames + self.after_frames


CUT = Join()


@dataclass(frozen=True, slots=True, kw_only=True)
class Placement:
    """An entry's place in the running order, and how it meets what follows. The join travels with it."""

    entry: str
    join: Join = CUT


@dataclass(frozen=True, slots=True, kw_only=True)
class Aside:
    """An entry out of the film, with where it was.

    Attributes:
        entry: Id of the scene or card.
        after: Ids of the entries before it when it was set aside, nearest first.
        join: How it met the next.
        reason: Why it was dropped, or "".
    """

    entry: str
    after: tuple[str, ...] = ()
    join: Join = CUT
    reason: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Person:
    """Somebody who worked on the film."""

    name: str
    roles: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Voice:
    """Somebody who speaks in the film.

    Attributes:
        id: Unique in the film.
        name: Whose voice it is.
        note: Words about it.
    """

    id: str
    name: str
    note: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Delivery:
    """What goes out.

    Attributes:
        review_height: Most lines of a review copy; 720 and 1280 columns is the usual box.
        integrated_lufs: Loudness target of the master.
        true_peak_dbtp: True-peak ceiling of the master.
        voices_lufs: How loud speech is in the mix, before the master.
        compression: How far the master brings loud and soft together.
        proofs_needed: Proofs since the last change that a lock asks for.
    """

    review_height: int = 720
    integrated_lufs: float = -14.0
    true_peak_dbtp: float = -1.0
    voices_lufs: float = -23.0
    compression: Compression = Compression.OFF
    proofs_needed: int = 1


@dataclass(frozen=True, slots=True, kw_only=True)
class ReviewCopy:
    """A numbered copy that was made for other people's eyes."""

    number: int
    date: str
    file: str
    frames: int
    include: str = "locked"


@dataclass(frozen=True, slots=True, kw_only=True)
class FootageMark:
    """The part of a file that the maker marked as wanted, before it is used.

    Attributes:
        source: The file.
        in_seconds: Where it begins.
        out_seconds: Where it ends; later.
    """

    source: str
    in_seconds: Fraction
    out_seconds: Fraction


@dataclass(frozen=True, slots=True, kw_only=True)
class Film:
    """The whole piece.

    Attributes:
        title: Its name.
        rate: Frames a second.
        size: Frame size.
        start_frames: Timecode of the first frame, as a count; one hour unless told otherwise.
        drop_frame: Whether its timecode is drop-frame.
        footage: Folder with the scene folders, or "".
        scenes: All scenes, in the film or aside, in no order.
        cards: All cards, in the film or aside, in no order.
        order: The running order.
        aside: What is set aside, in the order in which it was.
        fade_in_frames: Fade up from black at the start.
        fade_out_frames: Fade to black at the end.
        people: Who worked on it.
        camera_looks: One for each camera.
        voices: Who speaks.
        delivery: What goes out.
        review_copies: Those made so far.
        footage_marks: What is marked of footage, a part of each file at most.
        next_id: Number for the next new id; only grows, so that no id is used twice.
    """

    title: str
    rate: Rate
    size: Size
    start_frames: int
    drop_frame: bool = False
    footage: str = ""
    scenes: tuple[Scene, ...] = ()
    cards: tuple[Card, ...] = ()
    order: tuple[Placement, ...] = ()
    aside: tuple[Aside, ...] = ()
    fade_in_frames: int = 0
    fade_out_frames: int = 0
    people: tuple[Person, ...] = ()
    camera_looks: tuple[CameraLook, ...] = ()
    voices: tuple[Voice, ...] = ()
    delivery: Delivery = Delivery()
    review_copies: tuple[ReviewCopy, ...] = ()
    footage_marks: tuple[FootageMark, ...] = ()
    next_id: int = 1

    def entry(self, entry_id: str) -> Scene | Card:
        """Return the scene or card with this id.

        Raises:
            KeyError: when there is none.
        """
        return self.entries()[entry_id]

    def entries(self) -> dict[str, Scene | Card]:
        """Return all scenes and cards by id."""
        found: dict[str, Scene | Card] = {scene.id: scene for scene in self.scenes}
        found.update((card.id, card) for card in self.cards)
        return found

    def scene(self, scene_id: str) -> Scene:
        """Return the scene with this id.

        Raises:
            KeyError: when there is none.
        """
        for scene in self.scenes:
            if scene.id == scene_id:
                return scene
        raise KeyError(scene_id)
