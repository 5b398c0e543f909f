"""The film on paper: scenes, clips, lines, cues, effects. Everything else follows from here."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

FILM_RATE = 25
FILM_SIZE = (2048, 1080)
TITLE = "The Unprinted Ticket"


@dataclass(frozen=True, slots=True)
class Camera:
    """A camera: picture size, how it writes time and colour, and its sound.

    Attributes:
        name: what the crew calls it.
        size: picture size in px.
        rate: nominal frames a second, as a fraction in text.
        full_range: True when black is 0 and white 255 in the file.
        sound: sample rate and channels, or None.
        tint, lift, saturation, contrast: how its pictures differ from camera A's.
        note: words about it.
    """

    name: str
    size: tuple[int, int]
    rate: str
    full_range: bool
    sound: tuple[int, int] | None
    tint: tuple[float, float, float] = (1.0, 1.0, 1.0)
    lift: float = 0.0
    saturation: float = 1.0
    contrast: float = 1.0
    note: str = ""

    @property
    def frames_a_second(self) -> Fraction:
        """The nominal rate as a number."""
        return Fraction(self.rate)


CAMERAS = {
    "A": Camera(
        "camera A", (1024, 540), "25", False, (48000, 2), note="25p, half of 2048x1080, bt709 limited range"
    ),
    "B": Camera(
        "camera B",
        (960, 540),
        "100",
        False,
        None,
        (1.0, 1.0, 1.0),
        0.020,
        0.90,
        0.97,
        "100 frames a second for slow motion, no sound; blacks a little raised, colours a little pale",
    ),
    "P": Camera(
        "phone",
        (960, 540),
        "30000/1001",
        True,
        (44100, 1),
        (1.025, 1.0, 0.965),
        0.0,
        1.07,
        1.04,
        "variable frame rate (steps of 1001/30000 s and 1001/24000 s), full range, warmer and more contrast",
    ),
}


@dataclass(frozen=True, slots=True)
class Line:
    """Something said: who, what, from when, for how long at most (seconds), how loud, seen or not."""

    who: str
    text: str
    start: float
    seconds: float
    gain_db: float = 0.0
    seen: bool = True


@dataclass(frozen=True, slots=True)
class Noise:
    """An effect in a clip's own sound: name, start in seconds, gain."""

    name: str
    start: float
    gain_db: float = 0.0


@dataclass(frozen=True, slots=True)
class Use:
    """How the film might use a clip: in point (source seconds), length (film frames), speed, framing."""

    order: int
    in_seconds: float
    length_frames: int
    speed: str = "1"
    fit: str = "fill"
    scale: float = 1.0
    x: float = 0.0
    y: float = 0.0
    lead_frames: int = 0
    lag_frames: int = 0
    sound: str = "own"
    gain_db: float = 0.0


@dataclass(frozen=True, slots=True)
class ClipPlan:
    """A clip to be made."""

    name: str
    camera: str
    shot: str
    seconds: float
    seen: str
    use: Use
    tone: str = ""
    lines: tuple[Line, ...] = ()
    noises: tuple[Noise, ...] = ()
    rotation: int = 0
    missing: bool = False
    separate: str = ""
    separate_offset_seconds: float = 0.0


@dataclass(frozen=True, slots=True)
class CuePlan:
    """A cue: where it starts and how long it is (film frames), and what was tried for it."""

    label: str
    start_frames: int
    length_frames: int
    candidates: tuple[str, ...]
    chosen: str = ""
    gain_db: float = -9.0
    fade_in_frames: int = 12
    fade_out_frames: int = 25


@dataclass(frozen=True, slots=True)
class SpotPlan:
    """An effect laid in the scene: file, place in film frames, gain."""

    effect: str
    start_frames: int
    length_frames: int
    gain_db: float


@dataclass(frozen=True, slots=True)
class ScenePlan:
    """A scene."""

    number: str
    folder: str
    slugline: str
    purpose: str
    synopsis: str
    tension: int
    grade_note: str
    grade: dict[str, object]
    clips: tuple[ClipPlan, ...]
    cue: CuePlan | None = None
    spots: tuple[SpotPlan, ...] = ()
    aside: bool = False
    aside_reason: str = ""


def _grade(
    slope: tuple[float, float, float],
    offset: tuple[float, float, float] = (0, 0, 0),
    power: tuple[float, float, float] = (1, 1, 1),
    saturation: float = 1.0,
) -> dict[str, object]:
    return {"slope": list(slope), "offset": list(offset), "power": list(power), "saturation": saturation}


SLOW = "1/4"

SCENES: tuple[ScenePlan, ...] = (
    ScenePlan(
        "1",
        "01 ferry kiosk dawn",
        "INT. FERRY KIOSK - DAWN",
        "An ordinary morning is set, so that there is something to disturb",
        (
            "Maren rolls up the shutter. Ilse lights the lamp. A new roll of tickets goes into the "
            "machine. It is ten to six."
        ),
        0,
        "plain, a little cool",
        _grade((0.99, 1.0, 1.02)),
        (
            ClipPlan(
                "A001_C001.mp4",
                "A",
                "kiosk dawn wide",
                5.0,
                (
                    "Wide: the kiosk on the quay at dawn; the shutter rolls up, light falls out, Ilse "
                    "walks up from the right; the ferry far off."
                ),
                Use(1, 0.40, 76),
                "dawn",
                noises=(Noise("shutter", 0.85, -3),),
            ),
            ClipPlan(
                "A001_C002.mp4",
                "A",
                "looking out dawn",
                4.8,
                "From inside, over the counter to the sea: Ilse lights the lamp; Maren does not look up.",
                Use(3, 0.72, 84),
                "kiosk",
                (Line("ILSE", "Ten to six. Lamp's on.", 1.75, 2.2, -1.5),),
            ),
            ClipPlan(
                "A001_C003.mp4",
                "A",
                "clock dawn",
                3.2,
                "Insert: the wall clock, ten to six; keys on a hook.",
                Use(2, 0.60, 44),
                "kiosk",
                noises=tuple(Noise("tick", k + 0.02, -13) for k in range(4)),
            ),
            ClipPlan(
                "A001_C004.mp4",
                "A",
                "roll dawn",
                3.4,
                "Insert: the new roll runs into the machine, numbers 0380 and up; Maren's hand on the crank.",
                Use(4, 0.60, 58),
                "kiosk",
                (Line("MAREN", "Roll's in.", 1.45, 1.1, -4, False),),
                tuple(Noise("ratchet", 0.05 + 0.72 * k, -7) for k in range(5)),
            ),
        ),
        CuePlan("m1", 10, 252, ("shutters.opus",), "shutters.opus", -8.0),
        (SpotPlan("water lapping.opus", 0, 140, -14.0),),
    ),
    ScenePlan(
        "2",
        "02 slipway day",
        "EXT. SLIPWAY - DAY",
        "The ticket comes into the sisters' hands",
        (
            "A passenger in a long coat comes up the slipway. He hands Ilse a ticket that has been "
            "used already, and says that he came from the other side."
        ),
        1,
        "plain, warm haze",
        _grade((1.01, 1.0, 0.98)),
        (
            ClipPlan(
                "A002_C001.mp4",
                "A",
                "slipway day wide",
                5.2,
                (
                    "Wide: the slipway at noon, the ferry alongside; the passenger walks up to Ilse "
                    "and holds out his hand."
                ),
                Use(1, 0.80, 80),
                "shore",
                noises=(Noise("gulls", 1.2, -16),),
            ),
            ClipPlan(
                "A002_C002.mp4",
                "A",
                "slipway day two",
                5.2,
                "Two: Ilse left, the passenger right, the ticket between them.",
                Use(3, 0.52, 106),
                "shore",
                (
                    Line("PASSENGER", "I think this is yours.", 0.75, 1.9, -6),
                    Line("ILSE", "You keep that until the other side.", 2.75, 2.05, 1.0),
                ),
            ),
            ClipPlan(
                "B0012.mp4",
                "B",
                "gulls slow",
                1.8,
                "Gulls over the headland, slow.",
                Use(2, 0.40, 48, SLOW, y=0.0, sound="silence"),
            ),
            ClipPlan(
                "P0041.mp4",
                "P",
                "ticket day phone",
                3.8,
                "Insert, by hand: the passenger's hand with the ticket; TUESDAY 1 DECEMBER.",
                Use(4, 0.70, 66),
                "shore",
                (Line("PASSENGER", "I came from the other side.", 0.95, 2.1, -3, False),),
            ),
        ),
        CuePlan("m2", 0, 300, ("low water.opus", "shutters.opus"), "low water.opus", -10.0),
        (SpotPlan("gulls.opus", 76, 75, -15.0), SpotPlan("water lapping.opus", 0, 150, -15.0)),
    ),
    ScenePlan(
        "3",
        "03 ferry deck day",
        "EXT. FERRY DECK - DAY",
        "",
        "The passenger at the rail, the island going by. It says nothing that scene 2 has not said.",
        1,
        "plain",
        _grade((1.0, 1.0, 1.0)),
        (
            ClipPlan(
                "A003_C001.mp4",
                "A",
                "deck day",
                4.2,
                "The passenger in profile at the rail; sea and island go by.",
                Use(1, 0.60, 80),
                "deck",
                (Line("PASSENGER", "Is it always this calm?", 1.1, 2.0, -2),),
            ),
            ClipPlan(
                "P0044.mp4",
                "P",
                "wake portrait",
                2.4,
                "The wake and the island; the phone was held upright (rotation in the file).",
                Use(2, 0.32, 42, fit="fit"),
                "deck",
                rotation=90,
            ),
        ),
        None,
        (),
        True,
        "No purpose could be written for it; the plot does not miss it",
    ),
    ScenePlan(
        "4",
        "04 ferry kiosk day",
        "INT. FERRY KIOSK - DAY",
        "They see that the ticket has not been printed yet",
        (
            "The sisters read the ticket over the counter. Its number is 0413; the roll stands at "
            "0397. And it is dated next Tuesday."
        ),
        2,
        "plain, print stock warm",
        _grade((1.02, 1.0, 0.97), saturation=0.96),
        (
            ClipPlan(
                "A004_C001.mp4",
                "A",
                "looking in day",
                5.0,
                "From outside, through the counter window: both sisters, the ticket between them.",
                Use(1, 0.40, 94),
                "kiosk",
                (
                    Line("MAREN", "What is the number?", 0.6, 1.4, -3),
                    Line("ILSE", "Four thirteen.", 2.45, 1.0, 0.5),
                ),
            ),
            ClipPlan(
                "A004_C002.mp4",
                "A",
                "ticket counter day",
                5.0,
                "Insert: the ticket on the counter; Ilse's hand moves it straight and goes.",
                Use(2, 1.40, 84),
                "kiosk",
                (
                    Line("ILSE", "And it is dated Tuesday.", 1.55, 1.7, 0, False),
                    Line("MAREN", "Today is Wednesday.", 3.3, 1.5, -3.5, False),
                ),
                (Noise("paper", 0.6, -12),),
            ),
            ClipPlan(
                "A004_C003.mp4",
                "A",
                "maren day close",
                4.2,
                (
                    "Close: Maren in the light of the window. A knock on the counter at 0.30 s serves "
                    "to find the separate recording."
                ),
                Use(4, 0.70, 74, sound="separate"),
                "kiosk",
                (Line("MAREN", "We are only on three ninety-seven.", 0.95, 2.3, -5),),
                (Noise("knock", 0.30, -12),),
                separate="R0004.flac",
                separate_offset_seconds=2.34,
            ),
            ClipPlan(
                "A004_C004.mp4",
                "A",
                "machine day",
                3.0,
                "Insert: the next ticket of the roll, 0397, not printed.",
                Use(3, 0.40, 44),
                "kiosk",
                noises=(Noise("ratchet", 0.48, -6), Noise("ratchet", 1.08, -6)),
            ),
        ),
        None,
        (SpotPlan("clock tick.flac", 0, 90, -16.0),),
    ),
    ScenePlan(
        "4A",
        "4A slipway dusk",
        "EXT. SLIPWAY - DUSK",
        "The same boat leaves twice: time is not in order for anyone",
        (
            "The sisters watch the last ferry leave. Ilse waves. A little later it leaves again, with "
            "the same man at the rail."
        ),
        3,
        "colder, blacks raised",
        _grade((0.95, 0.98, 1.06), (0.012, 0.012, 0.018), saturation=0.92),
        (
            ClipPlan(
                "A004_C006.mp4",
                "A",
                "slipway dusk first",
                5.0,
                "Wide at dusk: the ferry leaves with lit windows; Ilse waves.",
                Use(1, 0.40, 92),
                "shore",
                (Line("ILSE", "There she goes.", 0.75, 1.0, -1),),
            ),
            ClipPlan(
                "A004_C007.mp4",
                "A",
                "slipway dusk second",
                5.4,
                "The same frame, darker: the ferry leaves again; nobody waves.",
                Use(3, 0.40, 112),
                "shore",
                (
                    Line("MAREN", "She left already.", 0.9, 1.4, -3),
                    Line("ILSE", "I know. I waved.", 2.7, 1.7, -0.5),
                ),
            ),
            ClipPlan(
                "B0017.mp4",
                "B",
                "lapping dusk",
                1.8,
                "Water runs up the stone, slow.",
                Use(2, 0.44, 52, SLOW, y=0.02, sound="silence"),
            ),
            ClipPlan(
                "P0052.mp4",
                "P",
                "ferry dusk phone",
                3.8,
                "By hand: the ferry's lit windows, a man in a coat at the rail.",
                Use(4, 0.60, 52, scale=1.06),
                "shore",
            ),
        ),
        CuePlan(
            "m3", 20, 288, ("twice a.opus", "twice b.opus", "counting.opus"), "twice a.opus", -9.0, 25, 50
        ),
        (
            SpotPlan("ferry horn.opus", 34, 90, -12.0),
            SpotPlan("ferry horn.opus", 240, 68, -12.0),
            SpotPlan("water lapping.opus", 86, 80, -11.0),
        ),
    ),
    ScenePlan(
        "5",
        "05 back room night",
        "INT. BACK ROOM - NIGHT",
        "The roll proves it: the ticket is missing before it was sold",
        (
            "They unwind the roll and count. 0411, 0412, 0414. One is missing that nobody has torn "
            "off. Maren says who has it."
        ),
        4,
        "one lamp, the rest let go",
        _grade((1.03, 0.98, 0.92), (-0.006, -0.006, -0.004), (1.05, 1.05, 1.05), 0.94),
        (
            ClipPlan(
                "A005_C001.mp4",
                "A",
                "back room wide",
                5.0,
                "Wide: lamp, table, the sisters on both sides, the roll unwound.",
                Use(1, 0.32, 104),
                "room",
                (
                    Line("MAREN", "Four eleven. Four twelve.", 0.6, 2.45, -4),
                    Line("ILSE", "Go on.", 3.55, 0.8, 0),
                ),
            ),
            ClipPlan(
                "A005_C002.mp4",
                "A",
                "strip night",
                4.6,
                "Insert: the strip is drawn past, 0410, 0411, 0412, and stops at 0414.",
                Use(2, 1.40, 74),
                "room",
                (Line("MAREN", "Four fourteen.", 2.85, 1.25, -4, False),),
                tuple(Noise("paper", 0.1 + k, -10) for k in range(3)),
            ),
            ClipPlan(
                "A005_C003.mp4",
                "A",
                "maren night close",
                4.6,
                "Close: Maren under the lamp looks up.",
                Use(4, 0.60, 92),
                "room",
                (
                    Line("ILSE", "Where is thirteen?", 0.85, 1.2, -2, False),
                    Line("MAREN", "He has it.", 3.0, 1.1, -3),
                ),
            ),
            ClipPlan(
                "A005_C004.mp4",
                "A",
                "",
                3.0,
                "Close: Ilse looks up from the roll. (Missing: to be looked for on the card.)",
                Use(3, 0.48, 46),
                missing=True,
            ),
            ClipPlan(
                "B0021.mp4",
                "B",
                "ticket falls",
                1.8,
                "The ticket falls through the lamp's light and lies on the table, slow.",
                Use(5, 0.62, 80, SLOW, y=0.0, sound="silence"),
            ),
        ),
        CuePlan("m4", 0, 396, ("counting.opus", "twice b.opus", "counterfoil.opus"), "", -11.0, 25, 50),
        (SpotPlan("clock tick.flac", 0, 100, -14.0),),
    ),
    ScenePlan(
        "6",
        "06 car park night",
        "EXT. CAR PARK - NIGHT",
        "",
        (
            "The sisters look for the passenger's car with a torch. The car park is empty. It "
            "explains what is better not explained."
        ),
        3,
        "cold, low",
        _grade((0.95, 0.98, 1.04)),
        (
            ClipPlan(
                "A006_C001.mp4",
                "A",
                "car park",
                4.6,
                "Wide: one lamp, empty bays, moon; the sisters come with a torch.",
                Use(1, 0.60, 88),
                "night",
                (Line("ILSE", "There is no car.", 2.9, 1.1, -2),),
            ),
            ClipPlan(
                "A006_C002.mp4",
                "A",
                "puddle",
                3.0,
                "Insert: the lamp in a puddle; drops fall.",
                Use(2, 0.32, 56),
                "night",
            ),
        ),
        None,
        (),
        True,
        "It explains too much; scene 5 and scene 7 meet better without it",
    ),
    ScenePlan(
        "7",
        "07 quay night",
        "EXT. QUAY - NIGHT",
        "Ilse makes the ticket real by printing it",
        (
            "Ilse has carried the machine out under the lamps. Maren asks her not to. Out at sea a "
            "boat with lit windows passes that should not be there. Ilse prints 0413."
        ),
        4,
        "cold, low; the lamps stay warm",
        _grade((0.96, 0.98, 1.03), (0.004, 0.005, 0.010), (1.02, 1.02, 1.0), 0.95),
        (
            ClipPlan(
                "A007_C001.mp4",
                "A",
                "quay night wide",
                5.0,
                (
                    "Wide: lamps along the quay and moonlight; Ilse at the machine, Maren comes up; a "
                    "lit boat far out."
                ),
                Use(1, 1.20, 88),
                "night",
                (Line("MAREN", "Don't print it.", 3.1, 1.3, -4),),
            ),
            ClipPlan(
                "A007_C002.mp4",
                "A",
                "quay night close",
                4.0,
                "Close: Ilse in the lamp's light.",
                Use(2, 0.72, 66),
                "night",
                (Line("ILSE", "Then who will?", 1.5, 1.05, 0.5),),
            ),
            ClipPlan(
                "A007_C003.mp4",
                "A",
                "printing night",
                4.2,
                "Insert: the machine prints TUESDAY 1 DECEMBER, 0413, in five clicks.",
                Use(4, 0.32, 88),
                "night",
                noises=tuple(Noise("ratchet", 0.44 + 0.42 * k, -4) for k in range(5)),
            ),
            ClipPlan(
                "B0026.mp4",
                "B",
                "night water",
                1.6,
                "Lamp light breaks on black water, slow.",
                Use(3, 0.40, 50, SLOW, y=-0.02, sound="silence"),
            ),
        ),
        CuePlan("m5", 40, 300, ("counterfoil.opus", "twice b.opus"), "counterfoil.opus", -9.0, 25, 50),
        (
            SpotPlan("ferry horn.opus", 10, 90, -18.0),
            SpotPlan("ticket printer.flac", 207, 60, -9.0),
            SpotPlan("water lapping.opus", 140, 80, -13.0),
        ),
    ),
    ScenePlan(
        "8",
        "08 ferry kiosk morning",
        "INT. FERRY KIOSK - MORNING",
        "The circle closes, and opens a second time: now it is theirs",
        (
            "Next Tuesday, in very clean light. The passenger buys a single. Maren gives him 0413. He "
            "thanks her and leaves a ticket on the counter, dated the Tuesday after."
        ),
        5,
        "clear, a little too clean",
        _grade((1.02, 1.02, 1.03), (0.0, 0.0, 0.004), saturation=1.04),
        (
            ClipPlan(
                "A008_C001.mp4",
                "A",
                "looking out morning",
                4.8,
                "From inside: the passenger at the counter window, Maren from behind.",
                Use(1, 0.60, 84),
                "kiosk",
                (Line("PASSENGER", "One single, please.", 1.3, 2.1, -6),),
            ),
            ClipPlan(
                "A008_C002.mp4",
                "A",
                "maren morning close",
                4.2,
                "Close: Maren looks up.",
                Use(2, 0.80, 66),
                "kiosk",
                (Line("MAREN", "That is four thirteen.", 1.3, 1.6, -3),),
            ),
            ClipPlan(
                "A008_C003.mp4",
                "A",
                "second ticket morning",
                5.0,
                "Insert: another ticket, TUESDAY 8 DECEMBER, 0432; the passenger's shadow leaves it.",
                Use(4, 0.32, 92),
                "kiosk",
                (Line("PASSENGER", "And this one is yours.", 0.6, 1.9, -4, False),),
            ),
            ClipPlan(
                "A008_C004.mp4",
                "A",
                "kiosk morning wide",
                4.8,
                "Wide: the kiosk in clean light, the sisters in the window, an empty quay; the ferry leaves.",
                Use(5, 0.40, 75),
                "dawn",
            ),
            ClipPlan(
                "P0063.mp4",
                "P",
                "hands morning phone",
                3.8,
                "Insert, by hand: Maren gives him the ticket over the counter.",
                Use(3, 0.60, 68, scale=1.04),
                "kiosk",
                (Line("PASSENGER", "Thank you.", 2.1, 1.1, -5, False),),
                (Noise("paper", 1.7, -12),),
            ),
        ),
        CuePlan("m6", 150, 330, ("shutters.opus", "counterfoil.opus"), "shutters.opus", -9.0, 12, 75),
        (SpotPlan("ferry horn.opus", 312, 73, -12.0), SpotPlan("shutter.opus", 335, 50, -12.0)),
    ),
)

# For the sake of the example the film names invented composers, and terms for one cue that ask for a
# credit. In truth all music here is made by music.py and dedicated like everything else (README.md).
MUSIC = {
    "shutters.opus": {
        "title": "Shutters",
        "author": "Oda Linnmark",
        "licence": "CC0-1.0",
        "required_credit": "",
        "what": "felt piano, slow, in D; 22 s",
    },
    "low water.opus": {
        "title": "Low Water",
        "author": "Oda Linnmark",
        "licence": "CC0-1.0",
        "required_credit": "",
        "what": "plucked strings over a pad, in three; 20 s",
    },
    "twice a.opus": {
        "title": "Twice (a)",
        "author": "Teodor Brask",
        "licence": "CC0-1.0",
        "required_credit": "",
        "what": "the same piano phrase twice, the second time a semitone lower; 20 s",
    },
    "twice b.opus": {
        "title": "Twice (b)",
        "author": "Wenke Aldous",
        "licence": "CC-BY-4.0",
        "required_credit": "“Twice (b)” by Wenke Aldous, licensed under CC BY 4.0",
        "what": "strings and a plucked figure, minor; 20 s",
    },
    "counting.opus": {
        "title": "Counting",
        "author": "Teodor Brask",
        "licence": "CC0-1.0",
        "required_credit": "",
        "what": "low pad, plucked notes like a clock; 22 s",
    },
    "counterfoil.opus": {
        "title": "Counterfoil",
        "author": "Oda Linnmark",
        "licence": "CC0-1.0",
        "required_credit": "",
        "what": "strings that rise and do not resolve; 24 s",
    },
}

EFFECTS = {
    "water lapping.opus": "water on stone, 7 s",
    "ferry horn.opus": "the ferry's horn, far away, 4.5 s",
    "gulls.opus": "two gulls, 4 s",
    "ticket printer.flac": "the machine's ratchet, five clicks, 2.6 s",
    "shutter.opus": "a shutter rolls up, 3 s",
    "clock tick.flac": "the wall clock, 4 s",
}
