"""Films for the tests of the store."""

import dataclasses
from fractions import Fraction

from desk.film.model import (
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
    Delivery,
    Duck,
    Film,
    Fit,
    FootageMark,
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
    ReviewCopy,
    Rights,
    Scene,
    SceneContent,
    Size,
    SoundKind,
    Spot,
    Voice,
    VoiceChain,
)
from desk.film.rates import Rate

FOLD = "0123456789abcdef" * 2
WHOLE = "0123456789abcdef" * 4

RIGHTS = Rights(
    title="Slack Water",
    author="Ines Tollgate",
    source="https://example.org/slack-water",
    licence="CC BY 4.0",
    licence_link="https://creativecommons.org/licenses/by/4.0/",
    required_credit="“Slack Water” by Ines Tollgate, CC BY 4.0",
)
GRADE = Grade(slope=(1.1, 1.0, 0.9), offset=(0.01, 0.0, -0.01), power=(1.0, 1.05, 1.1), saturation=0.85)
CONTENT = SceneContent(
    clips=(
        Clip(
            id="clip-4",
            source="footage/01 kiosk/A001 #1.mov",
            in_seconds=Fraction(1001, 30000),
            length_frames=48,
            speed=Fraction(1, 4),
            framing=Framing(fit=Fit.FILL, scale=1.25, x=-0.1, y=0.05),
            sound=ClipSound(
                kind=SoundKind.SEPARATE,
                file="sound/01 é.wav",
                offset_seconds=Fraction(-7, 2),
                gain_db=-3.5,
                lead_frames=6,
                lag_frames=4,
                fade_in_frames=2,
                fade_out_frames=3,
            ),
            camera="look-1",
            note="her hand stays in the frame",
        ),
    ),
    cues=(
        Cue(
            id="cue-5",
            label="m1",
            start_frames=-12,
            length_frames=60,
            candidates=(
                Candidate(
                    id="candidate-6",
                    file="music/slack water.flac",
                    rights=RIGHTS,
                    in_seconds=Fraction(3, 2),
                    gain_db=-18.0,
                    fade_in_frames=12,
                    fade_out_frames=24,
                ),
            ),
            chosen="candidate-6",
        ),
    ),
    no_music=False,
    spots=(
        Spot(
            id="spot-7",
            file="effects/horn.wav",
            label="horn",
            start_frames=10,
            length_frames=30,
            in_seconds=Fraction(1, 3),
            gain_db=-6.0,
            fade_in_frames=1,
            fade_out_frames=5,
            rights=RIGHTS,
        ),
    ),
    voices_levelled=True,
    grade=GRADE,
    grade_note="cold window, warm lamp",
)
LOCK = Lock(
    version=2,
    date="2026-11-20",
    content=FOLD,
    media=(
        LockedMedia(
            path="footage/01 kiosk/A001 #1.mov", size_bytes=5_000_000_000, sample_hash=FOLD, sha256=WHOLE
        ),
    ),
    reason="the horn is a stand-in",
)

AS_FORMAT_1_BEGAN = Film(
    title="The Ticket Not Yet Printed",
    rate=Rate(30000, 1001),
    size=Size(1920, 1080),
    start_frames=107_892,
    drop_frame=True,
    footage="footage",
    scenes=(
        Scene(
            id="scene-1",
            number="4A",
            slugline="INT. TICKET KIOSK - DUSK",
            purpose="She sees that the ticket has tomorrow's date.",
            synopsis="A passenger hands back a ticket.\nNobody sold it.",
            tension=4,
            reference_picture="pictures/kiosk.png",
            folder="footage/01 kiosk",
            planned_frames=240,
            content=CONTENT,
            proofs=(Proof(date="2026-11-19", by="Maren", remark="horn too loud", content=FOLD),),
            lock=LOCK,
            history=(
                LockedVersion(
                    lock=Lock(version=1, date="2026-11-01", content=FOLD),
                    content=SceneContent(no_music=True),
                    unlocked="2026-11-02",
                    reason="the horn was missing",
                ),
            ),
        ),
        Scene(id="scene-2", number="5"),
    ),
    cards=(
        Card(
            id="card-3",
            kind=CardKind.CREDITS,
            name="End credits",
            lines=("The Ticket Not Yet Printed",),
            credits=(
                CreditBlock(heading="Cast", rows=(CreditRow(role="The passenger", names=("Odile", "Bø")),)),
            ),
            motion=Motion.ROLL,
            roll_px=2,
            length_frames=300,
            background="#101418",
            ink="#f0e8d8",
            picture="pictures/pier.png",
        ),
    ),
    order=(
        Placement(entry="scene-1", join=Join(kind=JoinKind.THROUGH_BLACK, before_frames=12, after_frames=12)),
        Placement(entry="card-3"),
    ),
    aside=(
        Aside(
            entry="scene-2",
            after=("scene-1",),
            join=Join(kind=JoinKind.DISSOLVE, before_frames=5, after_frames=6),
            reason="says nothing that 4A does not",
        ),
    ),
    fade_in_frames=24,
    fade_out_frames=48,
    people=(Person(name="Maren", roles=("director", "camera")),),
    camera_looks=(
        CameraLook(id="look-1", name="Harbour camera", grade=GRADE, note="greener than the other"),
    ),
    delivery=Delivery(review_height=540, integrated_lufs=-23.0, true_peak_dbtp=-2.0, proofs_needed=2),
    review_copies=(
        ReviewCopy(number=1, date="2026-11-21", file="out/ticket-review-001.mp4", frames=360, include="all"),
    ),
    next_id=8,
)
"""A legal film with each field that there was at the beginning away from its default somewhere."""


def _with_later_fields(film: Film) -> Film:
    first, *others = film.scenes
    content = first.content
    clip, cue, spot = content.clips[0], content.cues[0], content.spots[0]
    clip = dataclasses.replace(clip, gap_frames=7, sound=dataclasses.replace(clip.sound, voice="voice-9"))
    part = MusicPart(in_seconds=Fraction(7, 3), length_seconds=Fraction(41, 2))
    candidate = dataclasses.replace(cue.candidates[0], under_voices_lu=14.5, parts=(part,))
    duck = Duck(depth_db=6.0, attack_ms=80.0, release_ms=900.0)
    cue = dataclasses.replace(cue, candidates=(candidate, *cue.candidates[1:]), duck=duck)
    chain = VoiceChain(
        voice="voice-9",
        on=False,
        low_cut_hz=80.0,
        bands=(Band(frequency_hz=3200.0, gain_db=2.5, q=0.7),),
        compression=Compression.GENTLE,
    )
    content = dataclasses.replace(
        content,
        clips=(clip, *content.clips[1:]),
        cues=(cue, *content.cues[1:]),
        spots=(dataclasses.replace(spot, repeats=2, every_frames=40), *content.spots[1:]),
        voice_chains=(chain,),
        voices_offset_lu=-2.0,
    )
    card = film.cards[0]
    card = dataclasses.replace(card, credits=(*card.credits, CreditBlock(heading="Music", fills="music")))
    return dataclasses.replace(
        film,
        scenes=(
            dataclasses.replace(first, content=content, more_footage=("../disk/spray.mov",)),
            *others,
        ),
        cards=(card, *film.cards[1:]),
        footage_marks=(
            FootageMark(
                source="footage/01 kiosk/spray.mov", in_seconds=Fraction(3, 2), out_seconds=Fraction(5)
            ),
        ),
        voices=(Voice(id="voice-9", name="The passenger", note="close, soft"),),
        delivery=dataclasses.replace(film.delivery, voices_lufs=-25.0, compression=Compression.FIRM),
    )


EVERY_FIELD = _with_later_fields(AS_FORMAT_1_BEGAN)
"""A legal film that holds every kind of value, each field away from its default somewhere."""

SMALLEST = Film(title="Untitled", rate=Rate(25), size=Size(1280, 720), start_frames=90_000)
"""A film with nothing in it."""


def titled(title: str) -> Film:
    """Return the small film under another title."""
    return dataclasses.replace(SMALLEST, title=title)
