"""What is not allowed in a film value, wherever it came from.

`faults` looks at everything and is the guard of the film file; the edits use the `find_in_…` functions on
what they change. Whether files are there, and whether joins have the footage that they need, is not a fault
but a problem: see `desk.film.checks`.
"""

import re
from datetime import date, datetime

from desk.film.content_faults import (
    DAY_SECONDS,
    LONGEST_TEXT,
    Fault,
    Findings,
    find_in_content,
    find_in_look,
)
from desk.film.filling import FILLS
from desk.film.model import (
    Card,
    Delivery,
    Film,
    FootageMark,
    Join,
    JoinKind,
    Lock,
    Person,
    ReviewCopy,
    Scene,
    Voice,
)
from desk.film.rates import FILM_RATES
from desk.film.reading import roll_lines
from desk.film.timecode import frames_per_day, has_drop_frame
from desk.film.timing import Include
from desk.film.wording import entry_name, join_name, listed, quoted, shown_number

__all__ = [
    "LONGEST_TEXT",
    "MOST_SIDE_PX",
    "Fault",
    "Findings",
    "faults",
    "find_in_card",
    "find_in_delivery",
    "find_in_frame",
    "find_in_join",
    "find_in_lock",
    "find_in_mark",
    "find_in_people",
    "find_in_proofs",
    "find_in_review_copies",
    "find_in_story",
    "find_in_voice",
    "is_date",
]

LEAST_SIDE_PX, MOST_SIDE_PX = 16, 8192
"""Ends of a picture's width and height."""

MOST_TENSION = 5

MOST_CARD_LINES = 1000
MOST_ROLL_PX = 1000
MOST_COPY_FRAMES = 60 * DAY_SECONDS

_NUMBER = re.compile(r"[^\W_][\w.\-]{0,15}")
_COLOUR = re.compile(r"#[0-9a-fA-F]{6}")
_SHA256 = re.compile(r"[0-9a-f]{64}")
_WAYS = tuple(item.value for item in Include)


def faults(film: Film) -> tuple[Fault, ...]:
    """Return everything in a film that is not allowed; none for a film that the program can work with."""
    findings = Findings.of(film)
    findings.line(film.title, "title", "the title of the film")
    find_in_frame(findings, film)
    findings.path(film.footage, "footage", "the footage folder of the film", required=False)
    for name in ("fade_in_frames", "fade_out_frames"):
        findings.number(film, name, 0, None, "", "the film")
    for index, look in enumerate(film.camera_looks):
        find_in_look(findings, look, f"camera_looks[{index}]")
    for index, voice in enumerate(film.voices):
        find_in_voice(findings, voice, f"voices[{index}]")
    for index, scene in enumerate(film.scenes):
        _find_in_scene(findings, scene, f"scenes[{index}]")
    for index, card in enumerate(film.cards):
        findings.id(card.id, f"cards[{index}]", entry_name(card))
        find_in_card(findings, card, f"cards[{index}]")
    _find_in_history(findings, film)
    _find_in_numbers(findings, film)
    _find_in_order(findings, film)
    find_in_people(findings, film.people)
    find_in_delivery(findings, film.delivery)
    find_in_review_copies(findings, film.review_copies)
    for index, mark in enumerate(film.footage_marks):
        find_in_mark(findings, mark, f"footage_marks[{index}]")
    if len({mark.source for mark in film.footage_marks}) < len(film.footage_marks):
        findings.add("footage_marks", "what is marked of footage", "must name each file once")
    findings.number(film, "next_id", 1, 10**15, "", "the film")
    return tuple(findings.found)


def find_in_mark(findings: Findings, mark: FootageMark, place: str) -> None:
    """Look at what is marked of a file."""
    findings.path(mark.source, f"{place}.source", "a file of which a part is marked")
    owner = f"what is marked of {quoted(mark.source)}"
    findings.seconds(mark, "in_seconds", 0, place, owner)
    findings.seconds(mark, "out_seconds", 0, place, owner)
    if mark.out_seconds <= mark.in_seconds:
        findings.add(f"{place}.out_seconds", f"the end of {owner}", "must come after its start")


def find_in_frame(findings: Findings, film: Film) -> None:
    """Look at a film's rate, size and timecode start."""
    if film.rate not in FILM_RATES:
        allowed = listed([str(rate) for rate in FILM_RATES], most=len(FILM_RATES))
        findings.add("rate", "the rate of the film", f"must be one of {allowed}, not {film.rate}")
    for name in ("width", "height"):
        value = getattr(film.size, name)
        if not LEAST_SIDE_PX <= value <= MOST_SIDE_PX or value % 2:
            finding = f"must be an even number of pixels, {LEAST_SIDE_PX} to {MOST_SIDE_PX}"
            findings.add(f"size.{name}", f"the {name} of the film", f"{finding}, not {shown_number(value)}")
    drop_frame = film.drop_frame and has_drop_frame(film.rate)
    if film.drop_frame and not drop_frame:
        finding = f"must be off: it exists at 30000/1001 and 60000/1001 only, not at {film.rate}"
        findings.add("drop_frame", "drop-frame timecode", finding)
    most = frames_per_day(film.rate, drop_frame=drop_frame) - 1
    if not 0 <= film.start_frames <= most:
        finding = f"must be 0 to {most:,}, within a day, not {shown_number(film.start_frames)}"
        findings.add("start_frames", "the timecode start of the film", finding)


def find_in_story(findings: Findings, scene: Scene, place: str) -> None:
    """Look at the words of a scene and all else that a lock does not close over."""
    owner = entry_name(scene)
    if not _NUMBER.fullmatch(scene.number):
        finding = (
            f"must be 1 to 16 letters, digits, “.”, “-” or “_” and begin with a letter or digit, not "
            f"{quoted(scene.number)}"
        )
        findings.add(f"{place}.number", "the number of a scene", finding)
    findings.line(scene.slugline, f"{place}.slugline", f"the slugline of {owner}")
    findings.text(scene.purpose, f"{place}.purpose", f"the purpose of {owner}")
    findings.text(scene.synopsis, f"{place}.synopsis", f"the synopsis of {owner}")
    if scene.tension is not None and not 0 <= scene.tension <= MOST_TENSION:
        finding = f"must be 0 (light) to {MOST_TENSION} (dread), not {shown_number(scene.tension)}"
        findings.add(f"{place}.tension", f"the tension of {owner}", finding)
    for name, words in (("reference_picture", "reference picture"), ("folder", "folder")):
        subject = f"the {words} of {owner}"
        findings.path(getattr(scene, name), f"{place}.{name}", subject, required=False)
    for index, path in enumerate(scene.more_footage):
        findings.path(path, f"{place}.more_footage[{index}]", f"a file listed with {owner}")
    if not 0 <= scene.planned_frames <= findings.day_frames:
        finding = f"must be 0 to {findings.day_frames:,} frames, not {shown_number(scene.planned_frames)}"
        findings.add(f"{place}.planned_frames", f"the planned length of {owner}", finding)


def find_in_card(findings: Findings, card: Card, place: str) -> None:
    """Look at a card, all but its id."""
    owner = entry_name(card)
    findings.line(card.name, f"{place}.name", f"the name of {owner}")
    for index, line in enumerate(card.lines):
        findings.line(line, f"{place}.lines[{index}]", f"line {index + 1} of {owner}")
    for index, block in enumerate(card.credits):
        inner = f"{place}.credits[{index}]"
        findings.line(block.heading, f"{inner}.heading", f"heading {index + 1} of {owner}")
        if block.fills not in FILLS:
            finding = f"must be “music”, “effects” or nothing, not {quoted(block.fills)}"
            findings.add(f"{inner}.fills", f"what fills part {index + 1} of {owner}", finding)
        for at, row in enumerate(block.rows):
            for text in (row.role, *row.names):
                findings.line(
                    text, f"{inner}.rows[{at}]", f"row {at + 1} under heading {index + 1} of {owner}"
                )
    if (lines := roll_lines(card)) > MOST_CARD_LINES:
        finding = (
            f"must have at most {MOST_CARD_LINES:,} lines, not {lines:,}; the rest can go on another card"
        )
        findings.add(f"{place}.credits", owner, finding)
    findings.number(card, "roll_px", 1, MOST_ROLL_PX, place, owner)
    if card.length_frames is not None:
        findings.number(card, "length_frames", 1, None, place, owner)
    for name in ("background", "ink"):
        if not _COLOUR.fullmatch(value := getattr(card, name)):
            finding = f"must be a colour such as “#e9e6dd”, not {quoted(value)}"
            findings.add(f"{place}.{name}", f"the {name} of {owner}", finding)
    findings.path(card.picture, f"{place}.picture", f"the picture of {owner}", required=False)


def find_in_join(findings: Findings, join: Join, place: str, owner: str) -> None:
    """Look at a join; whether there is footage for it is not looked at."""
    subject = f"the join after {owner}"
    for name in ("before_frames", "after_frames"):
        value = getattr(join, name)
        if not 0 <= value <= findings.day_frames:
            finding = f"must have 0 to {findings.day_frames:,} frames on each side of the cut"
            findings.add(f"{place}.{name}", subject, f"{finding}, not {shown_number(value)}")
            return
    if join.kind is JoinKind.CUT and join.length_frames:
        findings.add(
            place, subject, f"must have no frames as it is a cut, not {shown_number(join.length_frames)}"
        )
    elif join.kind is not JoinKind.CUT and not join.length_frames:
        findings.add(place, subject, f"must have 1 frame or more as it is a {join_name(join)}, not 0")


def find_in_lock(findings: Findings, lock: Lock, place: str, owner: str, version: int) -> None:
    """Look at a lock, which has to have the version that is its turn."""
    if lock.version != version:
        finding = f"must be {version}, as locks count from 1, not {shown_number(lock.version)}"
        findings.add(f"{place}.version", f"the version of a lock of {owner}", finding)
    _date(findings, lock.date, f"{place}.date", f"the date of a lock of {owner}")
    findings.fingerprint(lock.content, f"{place}.content", f"the locked fingerprint of {owner}")
    findings.text(lock.reason, f"{place}.reason", f"the reason for the lock of {owner}")
    for index, media in enumerate(lock.media):
        inner = f"{place}.media[{index}]"
        findings.path(media.path, f"{inner}.path", f"a locked file of {owner}")
        if not 0 <= media.size_bytes <= 2**53:
            finding = f"must be 0 to 2^53 bytes, not {shown_number(media.size_bytes)}"
            findings.add(f"{inner}.size_bytes", f"the size of a locked file of {owner}", finding)
        findings.fingerprint(
            media.sample_hash, f"{inner}.sample_hash", f"the hash of a locked file of {owner}"
        )
        if not _SHA256.fullmatch(media.sha256):
            finding = f"must be 64 hexadecimal digits, not {quoted(media.sha256)}"
            findings.add(f"{inner}.sha256", f"the hash of a locked file of {owner}", finding)


def find_in_proofs(findings: Findings, scene: Scene, place: str) -> None:
    """Look at a scene's proofs."""
    owner = entry_name(scene)
    for index, proof in enumerate(scene.proofs):
        inner, subject = f"{place}.proofs[{index}]", f"proof {index + 1} of {owner}"
        _date(findings, proof.date, f"{inner}.date", f"the date of {subject}")
        findings.line(proof.by, f"{inner}.by", f"the name at {subject}")
        findings.text(proof.remark, f"{inner}.remark", f"the remark at {subject}")
        findings.fingerprint(
            proof.content, f"{inner}.content", f"the fingerprint of {subject}", required=False
        )


def find_in_voice(findings: Findings, voice: Voice, place: str) -> None:
    """Look at a voice."""
    owner = f"voice {quoted(voice.name)}"
    findings.id(voice.id, place, owner)
    findings.line(voice.name, f"{place}.name", f"the name of {owner}")
    if not voice.name.strip():
        findings.add(f"{place}.name", f"the name of {owner}", "must not be empty")
    findings.text(voice.note, f"{place}.note", f"the note of {owner}")


def find_in_people(findings: Findings, people: tuple[Person, ...]) -> None:
    """Look at the people of a film."""
    for index, person in enumerate(people):
        subject = f"the name of person {index + 1}"
        findings.line(person.name, f"people[{index}].name", subject)
        if not person.name.strip():
            findings.add(f"people[{index}].name", subject, "must not be empty")
        for at, role in enumerate(person.roles):
            findings.line(role, f"people[{index}].roles[{at}]", f"role {at + 1} of {quoted(person.name)}")


def find_in_delivery(findings: Findings, delivery: Delivery) -> None:
    """Look at what goes out."""
    place, owner = "delivery", "the film"
    height = delivery.review_height
    if not LEAST_SIDE_PX <= height <= MOST_SIDE_PX or height % 2:
        finding = (
            f"must be an even number of lines, {LEAST_SIDE_PX} to {MOST_SIDE_PX}, not {shown_number(height)}"
        )
        findings.add(f"{place}.review_height", "the height of review copies", finding)
    findings.number(delivery, "integrated_lufs", -70, 0, place, owner)
    findings.number(delivery, "true_peak_dbtp", -24, 0, place, owner)
    findings.number(delivery, "voices_lufs", -70, 0, place, owner)
    findings.number(delivery, "proofs_needed", 0, 100, place, owner)


def find_in_review_copies(findings: Findings, copies: tuple[ReviewCopy, ...]) -> None:
    """Look at the review copies made so far, whose numbers only rise."""
    least = 1
    for index, copy in enumerate(copies):
        place, owner = f"review_copies[{index}]", f"review copy {index + 1}"
        if not least <= copy.number <= 10**6:
            finding = (
                f"must be {least:,} to 1,000,000, above those before it, not {shown_number(copy.number)}"
            )
            findings.add(f"{place}.number", f"the number of {owner}", finding)
        least = max(least, copy.number + 1)
        _date(findings, copy.date, f"{place}.date", f"the date of {owner}")
        findings.path(copy.file, f"{place}.file", f"the file of {owner}")
        if not 0 <= copy.frames <= MOST_COPY_FRAMES:
            finding = f"must be 0 to {MOST_COPY_FRAMES:,}, not {shown_number(copy.frames)}"
            findings.add(f"{place}.frames", f"the frames of {owner}", finding)
        if copy.include not in _WAYS:
            finding = f"must be one of {listed(_WAYS)}, not {quoted(copy.include)}"
            findings.add(f"{place}.include", f"what went into {owner}", finding)


def is_date(text: str) -> bool:
    """Return whether a text is an ISO 8601 date, such as `2026-11-25`, with or without a time of day."""
    for read in (date.fromisoformat, datetime.fromisoformat):
        try:
            read(text)
        except ValueError:
            continue
        return True
    return False


def _date(findings: Findings, text: str, place: str, subject: str) -> None:
    if not is_date(text):
        findings.add(place, subject, f"must be written as 2026-11-25, not {quoted(text)}")


def _find_in_scene(findings: Findings, scene: Scene, place: str) -> None:
    owner = entry_name(scene)
    findings.id(scene.id, place, owner)
    find_in_story(findings, scene, place)
    find_in_content(findings, scene.content, f"{place}.content", owner)
    find_in_proofs(findings, scene, place)
    if scene.lock:
        find_in_lock(findings, scene.lock, f"{place}.lock", owner, len(scene.history) + 1)


def _find_in_history(findings: Findings, film: Film) -> None:
    """Look at earlier versions; the scene's present content grew from them and may have the same ids."""
    present = findings.ids
    for index, scene in enumerate(film.scenes):
        for at, past in enumerate(scene.history):
            place, owner = f"scenes[{index}].history[{at}]", f"version {at + 1} of {entry_name(scene)}"
            find_in_lock(findings, past.lock, f"{place}.lock", owner, at + 1)
            _date(findings, past.unlocked, f"{place}.unlocked", f"the date of unlocking of {owner}")
            findings.text(past.reason, f"{place}.reason", f"the reason for unlocking {owner}")
            findings.ids = {}
            find_in_content(findings, past.content, f"{place}.content", owner, past=True)
    findings.ids = present


def _find_in_numbers(findings: Findings, film: Film) -> None:
    first: dict[str, int] = {}
    for index, scene in enumerate(film.scenes):
        other = first.setdefault(scene.number.casefold(), index)
        if other != index:
            finding = f"must be its own, and {quoted(scene.number)} is also the number at scenes[{other}]"
            findings.add(f"scenes[{index}].number", "the number of a scene", finding)


def _find_in_order(findings: Findings, film: Film) -> None:
    """Look at the running order and what is set aside: each entry stands in one of them, once."""
    entries = film.entries()
    placed: dict[str, str] = {}
    places = [(f"order[{index}]", item.entry, item.join) for index, item in enumerate(film.order)]
    places += [(f"aside[{index}]", item.entry, item.join) for index, item in enumerate(film.aside)]
    for place, entry_id, join in places:
        if entry_id not in entries:
            finding = f"must be the id of a scene or card of the film, not {quoted(entry_id)}"
            findings.add(f"{place}.entry", "an entry", finding)
            continue
        name = entry_name(entries[entry_id])
        if entry_id in placed:
            findings.add(f"{place}.entry", name, f"must stand once, and stands at {placed[entry_id]} too")
        placed[entry_id] = place
        find_in_join(findings, join, f"{place}.join", name)
    for index, aside in enumerate(film.aside):
        findings.text(aside.reason, f"aside[{index}].reason", "the reason for setting an entry aside")
    for entry_id, entry in entries.items():
        if entry_id not in placed:
            finding = "must stand in the running order or be set aside"
            findings.add(findings.ids.get(entry_id, "order"), entry_name(entry), finding)
