"""Films to test with: a small one told by hand, and random ones that have no faults."""

from collections.abc import Sequence
from fractions import Fraction
from random import Random

from hypothesis import strategies as st

from desk.film.fingerprint import fingerprint
from desk.film.media import MediaFacts, PictureFacts, SoundFacts
from desk.film.model import (
    CUT,
    Aside,
    Band,
    CameraLook,
    Candidate,
    Card,
    CardKind,
    Clip,
    ClipSound,
    Compression,
    CreditBlock,
    CreditRow,
    Cue,
    Duck,
    Film,
    Fit,
    Framing,
    Grade,
    Join,
    JoinKind,
    Lock,
    LockedMedia,
    LockedVersion,
    Motion,
    MusicPart,
    Person,
    Placement,
    Proof,
    Rights,
    Scene,
    SceneContent,
    Size,
    SoundKind,
    Spot,
    Voice,
    VoiceChain,
)
from desk.film.paths import content_paths
from desk.film.rates import FILM_RATES, Rate
from desk.film.timecode import has_drop_frame

RATE = Rate(24)
VOICES = ("v910", "v911")
PART = MusicPart(in_seconds=Fraction(7, 3), length_seconds=Fraction(1, 2))
HASH, SHA256 = "0" * 32, "0" * 64


def locked_media(content: SceneContent) -> tuple[LockedMedia, ...]:
    """What a lock keeps of the files of a content, each as if it were the same small file."""
    return tuple(
        LockedMedia(path=path, size_bytes=9, sample_hash=HASH, sha256=SHA256)
        for path in content_paths(content)
    )


def facts(
    seconds: object = 100, *, sound: object = 100, width: int = 1920, height: int = 1080, **picture
) -> MediaFacts:
    """What was read of a file; `seconds` or `sound` None for one without picture or sound."""
    tags = {"matrix": "bt709", "primaries": "bt709", "transfer": "bt709"}
    return MediaFacts(
        size_bytes=9,
        sample_hash=HASH,
        picture=None
        if seconds is None
        else PictureFacts(
            **{
                **tags,
                "width": width,
                "height": height,
                "rate": RATE,
                "frames": 2400,
                "seconds": Fraction(seconds),
                "time_base": Fraction(1, 24000),
                **picture,
            }
        ),
        sound=None
        if sound is None
        else SoundFacts(sample_rate_hz=48000, channels=2, seconds=Fraction(sound)),
    )


def small_film() -> Film:
    """Two sisters run the ticket kiosk of an island ferry: scenes 1, 2 and 4, scene 3 aside, title and
    credits."""
    return Film(
        title="The Late Ferry",
        rate=RATE,
        size=Size(1920, 1080),
        start_frames=86400,
        scenes=(
            Scene(
                id="s1",
                number="1",
                slugline="EXT. QUAY - DAWN",
                purpose="The kiosk opens.",
                tension=0,
                content=SceneContent(
                    clips=(
                        Clip(id="c1", source="footage/1/quay.mov", in_seconds=Fraction(2), length_frames=48),
                        Clip(id="c2", source="footage/1/kiosk.mov", in_seconds=Fraction(1), length_frames=72),
                    ),
                    cues=(
                        Cue(
                            id="m1",
                            label="m1",
                            length_frames=100,
                            candidates=(
                                Candidate(
                                    id="a1", file="music/tide.wav", rights=Rights(licence="own recording")
                                ),
                                Candidate(id="a2", file="music/fog.wav"),
                            ),
                            chosen="a1",
                        ),
                    ),
                    spots=(
                        Spot(
                            id="f1", file="effects/horn.wav", label="horn", start_frames=10, length_frames=24
                        ),
                    ),
                ),
            ),
            Scene(
                id="s2",
                number="2",
                slugline="INT. KIOSK - DAY",
                purpose="A ticket comes back that has not been printed yet.",
                tension=3,
                content=SceneContent(
                    clips=(
                        Clip(
                            id="c3", source="footage/2/ticket.mov", in_seconds=Fraction(3), length_frames=96
                        ),
                    )
                ),
            ),
            Scene(id="s3", number="3", slugline="EXT. FERRY - DAY"),
            Scene(
                id="s4",
                number="4",
                slugline="INT. KIOSK - NIGHT",
                content=SceneContent(
                    clips=(
                        Clip(id="c4", source="footage/4/lamp.mov", in_seconds=Fraction(1), length_frames=60),
                    )
                ),
            ),
        ),
        cards=(
            Card(id="k1", name="Title", lines=("The Late Ferry",)),
            Card(
                id="k2",
                kind=CardKind.CREDITS,
                name="Credits",
                credits=(CreditBlock(heading="Crew", rows=(CreditRow(role="Camera", names=("Ida Holm",)),)),),
            ),
        ),
        order=(
            Placement(entry="k1"),
            Placement(entry="s1", join=Join(kind=JoinKind.DISSOLVE, before_frames=12, after_frames=12)),
            Placement(entry="s2"),
            Placement(entry="s4", join=Join(kind=JoinKind.THROUGH_BLACK, before_frames=10, after_frames=10)),
            Placement(entry="k2"),
        ),
        aside=(Aside(entry="s3", after=("s2", "s1", "k1")),),
        next_id=20,
    )


# Random films, each from one number: drawing every value by itself would take most of the time.

LINES = ("", "Low water", "The ticket, again.", "Überfahrt – no. 7", "渡し船", " ")
PATHS = ("a.mov", "b c.mov", "../shared/d#é.wav", "./x:y.mp4", "music/one.flac")
SPEEDS = (Fraction(1), Fraction(1, 4), Fraction(2), Fraction(24, 25), Fraction(1001, 1000))


def random_join(random: Random) -> Join:
    """A cut, or a dissolve or fade of up to 60 frames."""
    kind = random.choice(list(JoinKind))
    if kind is JoinKind.CUT:
        return CUT
    return Join(kind=kind, before_frames=random.randint(0, 30), after_frames=random.randint(1, 30))


def random_grade(random: Random) -> Grade:
    def channels() -> tuple[float, float, float]:
        return random.uniform(0.2, 3), random.uniform(0.2, 3), random.uniform(0.2, 3)

    if random.random() < 0.5:
        return Grade()
    return Grade(slope=channels(), offset=channels(), power=channels(), saturation=random.uniform(0, 2))


def random_clip(
    random: Random, clip_id: str, cameras: Sequence[str] = (), voices: Sequence[str] = ()
) -> Clip:
    kind = random.choice(list(SoundKind))
    return Clip(
        id=clip_id,
        source=random.choice(PATHS),
        in_seconds=Fraction(random.randint(0, 1000), random.choice([1, 24, 25, 30000, 1001])),
        length_frames=random.randint(1, 200),
        gap_frames=random.choice([0, 0, 0, random.randint(1, 40)]),
        speed=random.choice(SPEEDS),
        framing=Framing(fit=random.choice(list(Fit)), scale=random.uniform(0.1, 4), x=random.uniform(-1, 1)),
        sound=ClipSound(
            kind=kind,
            file=random.choice(PATHS) if kind is SoundKind.SEPARATE else "",
            gain_db=random.choice([0, -3, 2.5, -96.0, random.uniform(-96, 24)]),
            lead_frames=random.randint(0, 30),
            lag_frames=random.randint(0, 30),
            fade_in_frames=random.randint(0, 30),
            voice=random.choice(("", *voices)),
        ),
        camera=random.choice(("", *cameras)),
        note=random.choice(LINES),
    )


def random_content(
    random: Random, tag: str, cameras: Sequence[str] = (), voices: Sequence[str] = ()
) -> SceneContent:
    """A scene's content; `tag` makes its ids unlike those of others."""
    cues = []
    for index in range(random.randint(0, 2)):
        candidates = tuple(
            Candidate(
                id=f"a{tag}{index}{at}",
                file=random.choice(PATHS),
                gain_db=random.randint(-20, 6),
                under_voices_lu=random.choice([None, 0, 12.5]),
                parts=(MusicPart(in_seconds=Fraction(7, 3), length_seconds=Fraction(1, 2)),)
                * random.randint(0, 2),
            )
            for at in range(random.randint(0, 2))
        )
        cues.append(
            Cue(
                id=f"m{tag}{index}",
                start_frames=random.randint(-50, 50),
                length_frames=random.randint(1, 300),
                candidates=candidates,
                chosen=random.choice(("", *(item.id for item in candidates))),
                duck=random.choice([None, Duck(), Duck(depth_db=4, attack_ms=0, release_ms=1000)]),
            )
        )
    return SceneContent(
        clips=tuple(
            random_clip(random, f"c{tag}{index}", cameras, voices) for index in range(random.randint(0, 3))
        ),
        cues=tuple(cues),
        spots=tuple(
            Spot(
                id=f"f{tag}{index}",
                file=random.choice(PATHS),
                start_frames=random.randint(-5, 90),
                length_frames=random.randint(1, 50),
                repeats=random.choice([0, 0, 3]),
                every_frames=random.randint(1, 40),
            )
            for index in range(random.randint(0, 2))
        ),
        voice_chains=tuple(
            VoiceChain(
                voice=voice,
                on=random.random() < 0.5,
                low_cut_hz=random.choice([0, 80]),
                bands=(Band(frequency_hz=3000, gain_db=random.uniform(-6, 6)),) * random.randint(0, 3),
                compression=random.choice(list(Compression)),
            )
            for voice in voices
            if random.random() < 0.5
        ),
        voices_offset_lu=random.choice([0, -3, 2.5]),
        no_music=random.random() < 0.5,
        voices_levelled=random.random() < 0.5,
        grade=random_grade(random),
        grade_note=random.choice(LINES),
    )


def random_scene(random: Random, index: int, cameras: Sequence[str]) -> Scene:
    """A scene with all that it may have been through."""
    content = random_content(random, f"{index}_", cameras, VOICES)
    history = []
    for version in range(random.randint(0, 2)):
        past = random_content(random, f"{index}_", cameras, VOICES)
        lock = Lock(
            version=version + 1, date="2026-03-01", content=fingerprint(past), media=locked_media(past)
        )
        history.append(LockedVersion(lock=lock, content=past, unlocked="2026-03-02"))
    now = fingerprint(content)
    lock = Lock(version=len(history) + 1, date="2026-03-03", content=now, media=locked_media(content))
    return Scene(
        id=f"s{index}",
        number=str(index + 1),
        slugline=random.choice(LINES),
        purpose=random.choice(LINES),
        tension=random.choice([None, 0, 3, 5]),
        planned_frames=random.randint(0, 500),
        content=content,
        proofs=(Proof(date="2026-02-28", content=now),) if random.random() < 0.5 else (),
        lock=lock if random.random() < 0.5 else None,
        history=tuple(history),
    )


def random_film(seed: int) -> Film:
    """A film without faults; a small number makes a small film."""
    random = Random(seed)
    rate = random.choice(FILM_RATES)
    cameras = ("l900", "l901")[: random.randint(0, 2)]
    scenes = tuple(random_scene(random, index, cameras) for index in range(min(seed, random.randint(0, 4))))
    cards = tuple(
        Card(
            id=f"k{index}",
            lines=tuple(random.choices(LINES, k=random.randint(0, 2))),
            motion=random.choice(list(Motion)),
            length_frames=random.choice([None, 1, 48, 300]),
        )
        for index in range(min(seed, random.randint(0, 2)))
    )
    ids = [entry.id for entry in scenes] + [card.id for card in cards]
    random.shuffle(ids)
    split = random.randint(0, len(ids))
    return Film(
        title=random.choice(LINES),
        rate=rate,
        size=random.choice([Size(1920, 1080), Size(2048, 858)]),
        start_frames=3600 * rate.nominal,
        drop_frame=has_drop_frame(rate) and random.random() < 0.5,
        scenes=scenes,
        cards=cards,
        order=tuple(Placement(entry=item, join=random_join(random)) for item in ids[:split]),
        aside=tuple(
            Aside(entry=item, join=random_join(random), after=tuple(ids[:2])) for item in ids[split:]
        ),
        fade_in_frames=random.randint(0, 30),
        people=(Person(name="Ida Holm", roles=("Camera",)),),
        camera_looks=tuple(CameraLook(id=item, name=item) for item in cameras),
        voices=tuple(Voice(id=item, name=item) for item in VOICES),
        next_id=random.randint(1, 12),
    )


def films() -> st.SearchStrategy[Film]:
    """Films without faults."""
    return st.integers(0, 2**32).map(random_film)
